"""From stored entries to the core's types."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime

from briefing.core.alerts import AlertFeed, typed_alert
from briefing.core.readings import ClarityReading, LevelReading, PlantReading, Sign, WaterReading, WindReading
from briefing.store.records import Reading, ReadingKind, SignEntry
from briefing.vocabulary import PlantDensity, PlantState, WaterColour


def water_readings(readings: Iterable[Reading]) -> tuple[WaterReading, ...]:
    """Water temperatures, in the order given."""
    return tuple(
        WaterReading(
            id=f"reading-{reading.id}",
            time=reading.time,
            temperature_c=float(reading.values["temperature_c"]),
            zone=reading.zone,
            kind=reading.method,
            depth_m=reading.values.get("depth_m"),
            hour_known=reading.hour_known,
            name=f"your reading at {reading.spot}" if reading.spot else "your reading",
        )
        for reading in readings
        if reading.kind is ReadingKind.WATER_TEMP
    )


def wind_readings(readings: Iterable[Reading]) -> tuple[WindReading, ...]:
    """Wind as seen."""
    return tuple(
        WindReading(
            time=reading.time,
            wind_mps=reading.values.get("wind_mps"),
            gust_mps=reading.values.get("gust_mps"),
            wind_from_deg=reading.values.get("wind_from_deg"),
            source="user",
            name=f"wind you saw at {reading.spot}" if reading.spot else "wind you saw",
        )
        for reading in readings
        if reading.kind is ReadingKind.WIND
    )


def clarity_readings(readings: Iterable[Reading]) -> tuple[ClarityReading, ...]:
    """Visibility and colour; each entry gives one of the two."""
    out = []
    for reading in readings:
        if reading.kind is ReadingKind.VISIBILITY:
            out.append(ClarityReading(reading.time, float(reading.values["visibility_m"]), None))
        elif reading.kind is ReadingKind.COLOUR:
            out.append(ClarityReading(reading.time, None, WaterColour(reading.values["colour"])))
    return tuple(out)


def level_readings(readings: Iterable[Reading]) -> tuple[LevelReading, ...]:
    """Water level or its trend as seen."""
    return tuple(
        LevelReading(
            time=reading.time,
            level_m=reading.values.get("level_m"),
            trend=reading.values.get("trend"),
            source="user",
            name="level you saw",
        )
        for reading in readings
        if reading.kind is ReadingKind.LEVEL
    )


def plant_readings(readings: Iterable[Reading]) -> tuple[PlantReading, ...]:
    """Plants as seen."""
    return tuple(
        PlantReading(
            time=reading.time,
            spot=reading.spot,
            top_m=reading.values.get("top_m"),
            density=PlantDensity(reading.values["density"]) if reading.values.get("density") else None,
            state=PlantState(reading.values.get("state", PlantState.GROWING)),
        )
        for reading in readings
        if reading.kind is ReadingKind.PLANTS
    )


def thunder_times(readings: Iterable[Reading]) -> tuple[datetime, ...]:
    """Instants at which thunder was heard."""
    return tuple(reading.time for reading in readings if reading.kind is ReadingKind.THUNDER)


def typed_conditions(readings: Iterable[Reading], day: date) -> tuple[tuple[str, datetime], ...]:
    """Lines of weather typed for a day with when each was read, the newest first."""
    wanted = day.isoformat()
    lines = [one for one in readings if one.kind is ReadingKind.CONDITIONS and one.values["day"] == wanted]
    newest_first = sorted(lines, key=lambda one: (one.time, one.id), reverse=True)
    return tuple((one.values["text"], one.time) for one in newest_first)


def alert_feed(readings: Iterable[Reading]) -> AlertFeed | None:
    """The newest alerts the user read elsewhere and typed, or None when there are none.

    An event typed without an end stays in force by its own time of reading; how long that counts is for the rules on
    stale data to say.
    """
    typed = [reading for reading in readings if reading.kind is ReadingKind.ALERTS]
    if not typed:
        return None
    newest = max(typed, key=lambda reading: (reading.time, reading.id))
    until = newest.values.get("until")
    ends = datetime.fromisoformat(until) if until else None
    alerts = tuple(
        typed_alert(f"reading-{newest.id}-{number}", event, newest.time, ends, newest.note)
        for number, event in enumerate(newest.values["events"])
    )
    return AlertFeed(alerts, newest.time, "user", "alerts you read", entered=True)


def signs(entries: Iterable[SignEntry]) -> tuple[Sign, ...]:
    """Field signs, in the order given."""
    return tuple(
        Sign(
            id=f"sign-{entry.id}",
            time=entry.time,
            kind=entry.kind,
            zone=entry.zone,
            hours_looked=entry.hours_looked,
            count=entry.count,
            secchi_m=entry.secchi_m,
        )
        for entry in entries
    )
