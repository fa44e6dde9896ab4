"""What a station measured in the last hour, put together from all of its reports: for each quantity the newest value.

The gust is the highest of the hour. Of two reports of one minute the stronger counts. A value that was refused costs
only itself.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from briefing.core.freshness import is_stale
from briefing.core.plausible import Plausible
from briefing.core.readings import WindReading
from briefing.sources.bodies import Read
from briefing.sources.raw_wind import RawWind
from briefing.sources.tables import ahead, gust_rule, stale_table

HOUR = timedelta(hours=1)
#: A gust this far below its wind is more than rounding.
_BELOW_MPS = 0.5
_CLOSE_MPS = 2.6  # five knots between a field and its raw report: both rounded, minutes apart at most


@dataclass(frozen=True)
class ParsedWind:
    """Readings of wind, and what was wrong in whole sentences; ``serious`` are those of them that a level may rest on.

    Of a station there is one reading, and a second without wind where its newest gust or visibility came after it.
    """

    readings: tuple[WindReading, ...]
    problems: tuple[str, ...] = ()
    serious: tuple[str, ...] = ()


@dataclass(frozen=True)
class Observed:
    """One report, any value of it None where not known.

    ``refused`` names those that were sent and can't be used. ``raw_counts``: some field could not be used, and the raw
    text stands in for it. ``differs``: both can be used and differ, the higher wind was taken. ``doubtful_gust``: a
    gust below its own wind was sent.
    """

    reading: WindReading
    refused: frozenset[str] = frozenset()
    raw_counts: bool = False
    differs: bool = False
    doubtful_gust: bool = False


def observed(reading: WindReading, read: Mapping[str, Read], raw: RawWind | None, limits: Plausible) -> Observed:
    """Fill a report's wind, gust and direction in: the fields as read, checked against the raw text of the same body.

    Of two winds that can be true and differ widely the higher counts; a gust is the higher of both, and none where it
    is about zero beside a wind that blows.
    """
    if raw is not None and raw.wind_mps is not None and not limits.holds("wind_mps", raw.wind_mps):
        raw = None
    wind, gust, direction = (known(read[field]) for field in ("wind_mps", "gust_mps", "wind_from_deg"))
    doubtful = gust is not None and wind is not None and gust < wind - _BELOW_MPS
    refused = {field for field in ("wind_mps", "gust_mps") if read[field][1]}
    unseen = {"visibility_m"} if read.get("visibility_m", (0.0, False))[1] else set()
    differs, raw_counts = False, raw is not None and bool(refused)
    if raw is not None:
        told = raw.wind_mps
        differs = wind is not None and told is not None and abs(wind - told) > _CLOSE_MPS
        if told is not None and (wind is None or (differs and told > wind)):
            direction = raw.wind_from_deg if raw.wind_from_deg is not None or wind is None else direction
            wind = told
        gusts = [value for value in (gust, raw.gust_mps) if value is not None and limits.holds("gust_mps", value)]
        refused = {"gust_mps"} if raw.gust_mps is not None and not gusts else set()
        gust = max(gusts, default=None)
    gust = gust_rule().measured(gust, wind)
    filled = replace(reading, wind_mps=wind, gust_mps=gust, wind_from_deg=None if wind == 0.0 else direction)
    return Observed(filled, frozenset(refused | unseen), raw_counts, differs, doubtful)


def known(read: Read) -> float | None:
    """Return a value that was read, None where it is missing or damaged."""
    return None if read[0] != read[0] else read[0]


def of_last_hour(
    reports: Sequence[Observed], name: str, now: datetime | None, *, gust_expected: bool = False
) -> ParsedWind:
    """Put the reports of one station together; with ``now`` those that are too old or ahead of it are left out.

    One ahead of it is told: it may be the newest, and the strongest. gust_expected: it reports a gust with every wind,
    so that its absence is told.
    """
    fresh = [one for one in reports if now is None or not is_stale("observation", one.reading.time, now, stale_table())]
    late = now is not None and any(ahead(one.reading.time, now) for one in reports)
    unused = (f"{name}: a report is dated ahead of now and was not used.",) if late else ()
    if not fresh:
        old = () if now is None else _age_said(reports, name, now)
        return ParsedWind((), (*unused, *old), unused)
    newest = max(one.reading.time for one in fresh)
    near = [one for one in fresh if newest - one.reading.time <= HOUR]
    readings = _joined([one.reading for one in near])
    blew = max((one.reading.time for one in near if one.reading.wind_mps is not None), default=None)
    serious = list(unused)
    for field, word in (("wind_mps", "wind"), ("visibility_m", "visibility")):
        if _refused_last(near, field):
            serious.append(f"{name}: its {word} can't be true or read and was refused.")
    if any("gust_mps" in one.refused for one in near):
        serious.append(f"{name}: a gust of its last hour can't be true or read and was refused.")
    if gust_expected and blew is not None and all(one.reading.gust_mps is None for one in near):
        serious.append(f"{name}: its gusts are missing.")
    if any(one.doubtful_gust for one in near):
        serious.append(f"{name}: its gust is below its own wind: in doubt, not believed.")
    said = (
        [f"{name}: its wind differs from its raw report, the higher is used."] if any(o.differs for o in near) else []
    )
    if any(one.raw_counts for one in near):
        said.append(f"{name}: its wind or gust can't be true or read, its raw report is used.")
    if blew is None:
        said.append(f"{name}: its reports of the last hour have no usable wind.")
    return ParsedWind(readings, (*serious, *said), tuple(serious))


def _refused_last(near: Sequence[Observed], field: str) -> bool:
    """Tell whether a value was refused that no newer one stands for."""
    known_at = max((one.reading.time for one in near if getattr(one.reading, field) is not None), default=None)
    return any(field in one.refused and (known_at is None or one.reading.time >= known_at) for one in near)


def _age_said(reports: Sequence[Observed], name: str, now: datetime) -> tuple[str, ...]:
    past = [one.reading.time for one in reports if not ahead(one.reading.time, now)]
    return (f"{name}: its newest wind is {(now - max(past)) / HOUR:.1f} h old, not used.",) if past else ()


def _joined(readings: Sequence[WindReading]) -> tuple[WindReading, ...]:
    wind = _newest(readings, "wind_mps", highest=True)
    gusts = [one for one in readings if one.gust_mps is not None]
    gust = max(gusts, key=lambda one: (one.gust_mps or 0.0, one.time), default=None)
    sight = _newest(readings, "visibility_m", highest=False)
    later = [one for one in (gust, sight) if one is not None and (wind is None or one.time > wind.time)]
    out = [] if wind is None else [_completed(wind, gust, sight, readings)]
    if later:
        last = max(later, key=lambda one: one.time)
        out.append(
            replace(
                last,
                wind_mps=None,
                wind_from_deg=None,
                gust_mps=gust.gust_mps if gust in later and gust is not None else None,
                visibility_m=sight.visibility_m if sight in later and sight is not None else None,
            )
        )
    return tuple(out)


def _completed(
    wind: WindReading, gust: WindReading | None, sight: WindReading | None, readings: Sequence[WindReading]
) -> WindReading:
    """The newest wind with the other values of its hour."""
    way = wind if wind.wind_from_deg is not None else _newest(readings, "wind_from_deg", highest=True)
    air = _newest(readings, "air_c", highest=True)
    pressure = _newest(readings, "pressure_hpa", highest=False)
    peak = None if gust is None or (gust.gust_mps or 0.0) < (wind.wind_mps or 0.0) else gust.gust_mps
    return replace(
        wind,
        gust_mps=peak,
        wind_from_deg=None if way is None or wind.wind_mps == 0.0 else way.wind_from_deg,
        air_c=None if air is None else air.air_c,
        pressure_hpa=None if pressure is None else pressure.pressure_hpa,
        visibility_m=None if sight is None else sight.visibility_m,
    )


def _newest(readings: Sequence[WindReading], field: str, *, highest: bool) -> WindReading | None:
    """The report with the newest value of a field; of one minute the one with the highest or the lowest."""
    sign = 1.0 if highest else -1.0
    having = [one for one in readings if getattr(one, field) is not None]
    return max(
        having,
        key=lambda one: (one.time.replace(second=0, microsecond=0), sign * getattr(one, field), one.time),
        default=None,
    )
