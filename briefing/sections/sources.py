"""Sources with their ages and credits, the next check and how long the briefing may be used."""

from __future__ import annotations

from datetime import date, datetime
from zoneinfo import ZoneInfo

from briefing.core.advice.measures import localised
from briefing.core.gathered import Gathered
from briefing.core.hours import HourSeries, Origin
from briefing.sections.clock import age_text, clock
from briefing.sections.quantity import SectionModel
from briefing.sections.words import listed
from briefing.units import Units, show_distance


class SourceRow(SectionModel):
    """One source that was used: what it gave, when it was issued and retrieved."""

    name: str
    gave: str
    kind: str
    issued: datetime | None
    retrieved: datetime | None
    age_text: str
    note: str = ""


class SourcesSection(SectionModel):
    """Where everything comes from."""

    rows: tuple[SourceRow, ...]
    credits: tuple[str, ...]
    next_check: str
    valid_until: datetime
    valid_text: str
    reminder: str


def fill_sources(
    gathered: Gathered,
    begin: datetime,
    end: datetime,
    *,
    credits: tuple[str, ...],
    next_check: str,
    valid_until: datetime,
    zone: ZoneInfo,
    day: date,
    now: datetime,
    system: Units,
) -> SourcesSection:
    """List every origin that gave a value for the hours shown, then observations, gauges and the alerts."""
    rows = _forecast_rows(gathered.hours.window(begin, end), now, system)
    rows += [
        _reading_row(
            r.name,
            "wind now" if r.wind_mps is not None else "gust or visibility",
            r.time,
            "observed",
            now,
            _far(r.distance_km, system),
        )
        for r in gathered.wind_now
    ]
    rows += [
        _reading_row(r.name, "water temperature", r.time, "observed", now, _far(r.distance_km, system))
        for r in gathered.water[-3:]
    ]
    if gathered.alerts.checked_at is not None:
        rows.append(
            _reading_row(gathered.alerts.name, "official warnings", gathered.alerts.checked_at, "observed", now)
        )
    air_days = sum(1 for kind in gathered.air.kind if kind != "missing")
    rows.append(
        SourceRow(
            name=gathered.air.name,
            gave=f"daily air temperature, {air_days} of {len(gathered.air.kind)} days",
            kind="modelled",
            issued=None,
            retrieved=gathered.retrieved_at,
            age_text=f"retrieved {clock(gathered.retrieved_at, zone, day)}",
            note="Past days are model output, not measurements.",
        )
    )
    return SourcesSection(
        rows=tuple(rows),
        credits=credits,
        next_check=next_check,
        valid_until=valid_until,
        valid_text=f"Valid until {clock(valid_until, zone, day)}: make it again after that.",
        reminder=REMINDER,
    )


REMINDER = (
    "Forecasts miss squalls and gusts: watch sky and water before you launch and all day. "
    "Official warnings and local rules come first. Not for navigation."
)
_FIELD_WORD = {
    "wind_mps": "wind",
    "gust_mps": "gusts",
    "wind_from_deg": "wind direction",
    "air_c": "air temperature",
    "cloud_pct": "cloud",
    "thunder_pct": "thunder",
    "lightning_level": "lightning activity",
    "thunder_words_pct": "weather words",
    "precip_chance_pct": "rain chance",
    "cape_jkg": "instability",
    "visibility_m": "visibility",
    "pressure_hpa": "pressure",
}


def _forecast_rows(series: HourSeries, now: datetime, system: Units) -> list[SourceRow]:
    given: dict[Origin, list[str]] = {}
    for name, word in _FIELD_WORD.items():
        field = series[name]
        for number in sorted(set(field.origin_index.tolist()) - {-1}):
            given.setdefault(field.origins[number], []).append(word)
    rows = []
    for origin, words in given.items():
        age = None if origin.issued is None else (now - origin.issued).total_seconds() / 3600.0
        rows.append(
            SourceRow(
                name=origin.name,
                gave=listed(words),
                kind=origin.kind,
                issued=origin.issued,
                retrieved=origin.retrieved,
                age_text="issue time not stated" if age is None else f"issued {_ago(age)}",
                note=localised(origin.note, system),
            )
        )
    return rows


def _far(distance_km: float | None, system: Units) -> str:
    return "" if distance_km is None else f"{show_distance(1000.0 * distance_km, system, both=False)} from the lake."


def _reading_row(name: str, gave: str, at: datetime, kind: str, now: datetime, far: str = "") -> SourceRow:
    age = (now - at).total_seconds() / 3600.0
    return SourceRow(name=name, gave=gave, kind=kind, issued=at, retrieved=None, age_text=age_text(age), note=far)


def _ago(hours: float) -> str:
    return f"{age_text(hours).removesuffix(' old')} ago"
