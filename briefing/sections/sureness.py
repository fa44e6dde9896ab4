"""How sure each part is, because of what, and which sign at the water would change it."""

from __future__ import annotations

from typing import Literal

from briefing.sections.quantity import SectionModel


class Sureness(SectionModel):
    """One part of the briefing: high, fair or low, because; ``sign`` is what to watch for."""

    part: str
    sure: Literal["high", "fair", "low"]
    because: str
    sign: str = ""


class SurenessSection(SectionModel):
    """All parts, in the order of the briefing."""

    parts: tuple[Sureness, ...]


def wind_sureness(
    age_h: float | None, unknown_hours: int, hours: int, spread: str, sign: str, *, doubted: bool = False
) -> Sureness:
    """How sure the hour table is: from the age of the forecast and the hours without one.

    doubted: a wind that was measured blows from elsewhere, or far stronger or weaker, than forecast.
    """
    if unknown_hours:
        return Sureness(
            part="Wind and waves",
            sure="low",
            because=f"{unknown_hours} of {hours} hours are not known",
            sign=sign,
        )
    if age_h is None:
        return Sureness(part="Wind and waves", sure="low", because="the issue time is not stated", sign=sign)
    sure: Literal["high", "fair", "low"] = "fair" if age_h < 9 and not doubted else "low"
    age = "less than an hour old" if age_h < 1.0 else f"{age_h:.0f} h old"
    return Sureness(part="Wind and waves", sure=sure, because=f"the forecast is {age}{spread}", sign=sign)


def water_sureness(half_range_c: float, days_since_reading: float | None, text: str, checked: str = "") -> Sureness:
    """How sure the water temperature is: from the width of its range, the age of the last reading, earlier checks."""
    half = round(half_range_c, 1)  # as it is printed: the same range is called the same
    sure: Literal["high", "fair", "low"] = "high" if half < 0.8 else "fair" if half < 1.6 else "low"
    basis = "no reading was entered yet" if days_since_reading is None else _reading_age(days_since_reading)
    return Sureness(
        part="Water temperature",
        sure=sure,
        because=f"{basis} and the range is {text}{f'; {checked}' if checked else ''}",
        sign="a thermometer at arm's length under the surface, off the ramp",
    )


def _reading_age(days: float) -> str:
    if days < 1.0:
        return "the last reading is from the last day"
    if days < 1.5:
        return "the last reading is from yesterday"
    return f"the last reading is {days:.0f} days old"


def season_sureness(spread: float, sign: str) -> Sureness:
    """How sure the season is; ``spread`` is the widest 80 % range among the shown phases (0..1).

    Where the spring no longer matters the range closes, which says nothing of how well the rules of the rest of the
    year fit a lake: that is never called high.
    """
    if spread < 0.01:
        because = "at this time of year a plain rule of day length and water stands in, and lakes differ from it"
        return Sureness(part="Season", sure="fair", because=because, sign=sign)
    off = round(spread * 5.0)  # as it is printed: the same reason has the same grade
    sure: Literal["high", "fair", "low"] = "high" if off == 0 else "fair" if off == 1 else "low"
    because = f"the shares may be off by {off} in 10 fish either way" if off else "hardly any other share is likely"
    return Sureness(part="Season", sure=sure, because=because, sign=sign)
