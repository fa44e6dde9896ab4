"""Countries by the tables of the time zone database that the ``tzdata`` package carries; no network."""

from __future__ import annotations

from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path


def country_of_zone(time_zone: str) -> str | None:
    """Return the country (ISO 3166, two letters) of a time zone, None where the table names none.

    Only the names of today stand in the table. Older ones (``US/Eastern``, ``EST``) are not followed to what they link
    to: for some that lies in another country.
    """
    return _by_zone().get(time_zone)


def known_countries() -> frozenset[str]:
    """The two-letter codes of ISO 3166."""
    return frozenset(row[0] for row in _rows("iso3166.tab"))


@lru_cache(maxsize=1)
def _by_zone() -> dict[str, str]:
    return {row[2]: row[0] for row in _rows("zone.tab")}


@lru_cache(maxsize=2)
def _rows(name: str) -> tuple[list[str], ...]:
    """Rows of a table of the database; none where a system's own package comes without it."""
    package = find_spec("tzdata")
    folders = [Path(one) / "zoneinfo" for one in (package.submodule_search_locations or () if package else ())]
    for folder in (*folders, Path("/usr/share/zoneinfo")):
        try:
            lines = (folder / name).read_text(encoding="utf-8").splitlines()
        except OSError:
            continue
        return tuple(line.split("\t") for line in lines if line and not line.startswith("#"))
    return ()
