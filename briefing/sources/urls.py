"""Where the services are: base addresses as settings, so that a test or a mirror can stand in for each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from urllib.parse import parse_qsl, urlencode, urlsplit, urlunsplit

from briefing.errors import InputError

_SECRET_PARAMETERS = frozenset({"apikey", "api_key", "key", "token"})


@dataclass(frozen=True)
class BaseUrls:
    """Base addresses without a final slash.

    ``usgs_legacy`` is empty unless the user wants the old water service. With ``open_meteo`` empty neither it nor its
    archive is asked.
    """

    nws: str = "https://api.weather.gov"
    open_meteo: str = "https://api.open-meteo.com/v1"
    open_meteo_archive: str = "https://archive-api.open-meteo.com/v1"
    usgs: str = "https://api.waterdata.usgs.gov/ogcapi/v1"
    metar: str = "https://aviationweather.gov/api/data"
    ndbc: str = "https://www.ndbc.noaa.gov/data/realtime2"
    usgs_legacy: str = ""
    open_meteo_key: str = field(default="", repr=False)
    usgs_key: str = field(default="", repr=False)

    @classmethod
    def from_environment(cls, environment: Mapping[str, str], *, open_meteo: bool) -> BaseUrls:
        """Take ``BRIEFING_..._URL`` and ``BRIEFING_..._KEY`` from ``environment`` where they are set.

        open_meteo: the user's setting; its free service is for non-commercial use only, so every caller must say.
        Raises InputError, naming the variable, for an address that is not http or https.
        """
        found = {}
        for name in cls.__dataclass_fields__:
            variable = variable_of(name)
            value = environment.get(variable, "").strip().rstrip("/")
            if not value:
                continue
            if not name.endswith("_key") and not _is_address(value):
                raise InputError(f"{variable} is {value!r}; it must be an address such as {cls.nws}")
            found[name] = value
        return cls(**found) if open_meteo else replace(cls(**found), open_meteo="", open_meteo_archive="")


def variable_of(name: str) -> str:
    """Return the environment variable of a field of ``BaseUrls``: ``nws`` -> ``BRIEFING_NWS_URL``."""
    return f"BRIEFING_{name.upper()}" if name.endswith("_key") else f"BRIEFING_{name.upper()}_URL"


def _is_address(value: str) -> bool:
    try:
        parts = urlsplit(value)
    except ValueError:
        return False
    return parts.scheme in ("http", "https") and bool(parts.hostname)


def without_secrets(url: str) -> str:
    """Return ``url`` as it may be printed: keys and any user name or password taken out."""
    try:
        parts = urlsplit(url)
        pairs = parse_qsl(parts.query, keep_blank_values=True)
    except ValueError:
        return "(unreadable address)"
    shown = [(key, "***" if key.lower() in _SECRET_PARAMETERS else value) for key, value in pairs]
    host = parts.netloc.rpartition("@")[2]
    return urlunsplit((parts.scheme, host, parts.path, urlencode(shown, safe="*,:"), ""))


def path_of_link(link: object) -> str:
    """Return path and query of a link found in a body, or "" when it is none.

    Links are followed below our own base address only: a body can't send the program elsewhere.
    """
    if not isinstance(link, str):
        return ""
    try:
        parts = urlsplit(link)
    except ValueError:
        return ""
    if parts.scheme not in ("http", "https", "") or not parts.path.startswith("/"):
        return ""
    return parts.path + (f"?{parts.query}" if parts.query else "")


def degrees(value: float, digits: int = 4) -> str:
    """Write a coordinate with at most ``digits`` decimals and no trailing zeros, as the US weather service demands."""
    text = f"{value:.{digits}f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text
