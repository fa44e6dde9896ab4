"""Weather as a person types it: read it back, keep it for a lake and day, list it, take it back."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from typing import Any

from briefing.app.assembly import App
from briefing.app.when import parse_when, read_day
from briefing.core.typed.conditions import DAY_END, SaidConditions, read_conditions_line
from briefing.errors import InputError
from briefing.knowledge import load_condition_words
from briefing.pipeline.typed_weather import understood
from briefing.profile.model import LakeProfile
from briefing.store import NewReading, Reading, ReadingKind
from briefing.units import Units

EXAMPLE = "wind S 8-15, gusts 24 from 10; 52 to 66 F; cloud 60%; storms after 2 pm"


@dataclass(frozen=True)
class TypedDay:
    """What a line was understood as, for which day and in whose units; the lake is None where none was needed."""

    text: str
    day: date
    said: SaidConditions
    units: Units
    profile: LakeProfile | None


def read_conditions_text(app: App, lake: str | None, text: str, day: str | None) -> TypedDay:
    """What a line would be understood as; nothing is stored. Without any lake numbers are in US units."""
    text = _line(text)
    if lake is None and len(app.lake_files()) != 1:
        here = app.now().date()
        said = read_conditions_line(text, load_condition_words(), "us")
        return TypedDay(text, read_day(day, here) if day else here, said, "us", None)
    profile = app.lake(lake)
    here = app.now().astimezone(profile.zone).date()
    wanted = read_day(day, here) if day else here
    return TypedDay(text, wanted, understood(text, profile, wanted, load_condition_words()), profile.units, profile)


def add_conditions(
    app: App, lake: str | None, text: str, day: str | None, read: str | None
) -> tuple[TypedDay, Reading]:
    """Keep a line of weather for a lake and day. Raises InputError where nothing in it could be read."""
    profile = app.lake(lake)
    typed = read_conditions_text(app, profile.id, text, day)
    if not typed.said.parts:
        raise InputError(f"Nothing in {text.strip()!r} could be read as weather; write it such as: {EXAMPLE}")
    seen, hour_known = parse_when(read or "now", profile.zone, app.now())
    values = {"day": typed.day.isoformat(), "text": typed.text}
    new = NewReading(kind=ReadingKind.CONDITIONS, time=seen, values=values, hour_known=hour_known, typed=typed.text)
    with app.store() as store:
        return typed, store.add_reading(profile.id, new, app.now())


#: Parts of the day that are asked for one by one, hours of the clock.
_PARTS = ((5, 9), (9, 12), (12, 16), (16, 21))
#: What is asked for the whole day: the question, how its answer is led in, an example, and what must be understood.
DAY_QUESTIONS = (
    ("Air, low and high", "", "52 to 66 F", ("air_c",)),
    ("Thunder", "thunder", "none, possible, likely, likely after 2 pm", ("thunder",)),
    ("Rain", "rain", "none, possible, likely", ("rain",)),
    ("Cloud", "cloud", "60%", ("cloud_pct",)),
)


def spans_to_ask(*, hourly: bool) -> list[tuple[str, str]]:
    """Begin and end of the parts of the day that the wind is asked for, or of its hours."""
    first, last = _PARTS[0][0], _PARTS[-1][1]
    parts = [(hour, hour + 1) for hour in range(first, last)] if hourly else list(_PARTS)
    return [(clock(begin), clock(end)) for begin, end in parts]


def answer_of(lead: str, units: Units, wanted: Sequence[str]) -> Callable[[str], str]:
    """A reader of one answer: led in by its hours or its subject it is a clause of the line; empty stays empty.

    The reader raises InputError where the answer does not say what is asked, or holds more than can be understood.
    """

    def read(answer: str) -> str:
        answer = answer.strip()
        if not answer:
            return ""
        clause = f"{lead} {answer}".strip()
        said = read_conditions_line(clause, load_condition_words(), units)
        if said.rest or not any(getattr(part, name) is not None for part in said.parts for name in wanted):
            left = f" ({', '.join(said.rest)})" if said.rest else ""
            raise InputError(f"{answer!r} could not be read{left}; Enter alone says that it is not known.")
        return clause

    return read


def conditions_of(app: App, lake: str | None, day: str | None) -> tuple[LakeProfile, list[Reading]]:
    """Lines of weather kept for a lake, of one day where one is given, oldest first."""
    profile = app.lake(lake)
    wanted = None if day is None else read_day(day, app.now().astimezone(profile.zone).date()).isoformat()
    with app.store() as store:
        found = store.list_readings(profile.id, kinds=[ReadingKind.CONDITIONS])
    return profile, [one for one in found if wanted is None or one.values["day"] == wanted]


def as_read(typed: TypedDay) -> dict[str, Any]:
    """What a line says, in SI and on the day's clock, for programs."""
    parts = []
    for one in typed.said.parts:
        part: dict[str, Any] = {"from": clock(one.from_h), "until": clock(one.until_h)}
        part["wind_mps"] = None if one.wind_mps is None else [round(side, 2) for side in one.wind_mps]
        part["gust_mps"] = None if one.gust_mps is None else round(one.gust_mps, 2)
        part["wind_from_deg"] = one.wind_from_deg
        part["air_c"] = None if one.air_c is None else [round(side, 1) for side in one.air_c]
        part |= {"cloud_pct": one.cloud_pct, "thunder": one.thunder, "thunder_pct": one.thunder_pct}
        part |= {"rain": one.rain, "rain_pct": one.rain_pct, "visibility_m": one.sight_m}
        part["dewpoint_c"] = None if one.dew_c is None else round(one.dew_c, 1)
        parts.append(part)
    said = typed.said
    return {"date": typed.day.isoformat(), "parts": parts, "open": list(said.open), "rest": list(said.rest)}


def example_file(app: App, lake: str | None, day: str | None) -> str:
    """A file of a morning's weather as it is typed, read now, for a day at a lake; every field it may have."""
    zone = UTC if lake is None and len(app.lake_files()) != 1 else app.lake(lake).zone
    now = app.now().astimezone(zone).replace(second=0, microsecond=0)
    wanted = read_day(day, now.date()) if day else now.date()
    until = datetime.combine(wanted, time(18), tzinfo=zone)
    return f"""\
# Weather for {wanted:%A} {wanted.day} {wanted:%B}, as you read it. What you leave out is missing, never calm.
read_at = "{now.isoformat()}"          # when you read the forecast

[[hours]]                               # clock times at the lake
from = "05:00"
to = "09:00"
wind = "8 mph"
gust = "12 mph"
direction = "SE"                        # where it comes from
thunder = 10                            # chance in per cent
cloud = 40
rain = 20
air = "61F"
dewpoint = "55F"
visibility = "6 miles"

[[hours]]
from = "09:00"
to = "14:00"
wind = "14 mph"
gust = "22 mph"
direction = "S"
thunder = 20
cloud = 60
rain = 30
air = "70F"
dewpoint = "58F"
visibility = "6 miles"

[alerts]                                # leave it out where you read none
read_at = "{now.isoformat()}"
events = []                             # such as ["Wind Advisory"]; empty when none is in force
until = "{until.isoformat()}"
"""


def clock(hours: float) -> str:
    """Hours of the day as a clock time; its end is 24:00."""
    minutes = round(60 * min(hours, DAY_END))
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def _line(text: str) -> str:
    line = text.strip()
    if not line:
        raise InputError(f"There is no weather in it; write it such as: {EXAMPLE}")
    return line
