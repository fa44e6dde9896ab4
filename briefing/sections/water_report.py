"""The water temperature in full: state, week ahead, readings used and refused, and how good the model has been here."""

from __future__ import annotations

from datetime import date
from zoneinfo import ZoneInfo

from briefing import units
from briefing.core.readings import WaterReading
from briefing.core.water.engine import WaterResult
from briefing.sections.clock import clock, short_date
from briefing.sections.quantity import SectionModel
from briefing.sections.water_light import WaterLightSection

#: Water temperatures whose passing matters to the angler (C).
THRESHOLDS_C = (10.0, 13.0, 15.0, 18.0, 21.0)


_WHEN = {None: "not within ten days", 0: "today", 1: "tomorrow"}
#: Readings that it takes to say how good the model has been.
FEW = 5


class ReadingRow(SectionModel):
    """One reading and what became of it."""

    id: str
    when: str
    typed_c: float
    used: bool
    weight: float
    predicted_c: float
    text: str


class PassingRow(SectionModel):
    """Chance that the main lake is above a threshold, by day ahead."""

    threshold_c: float
    days: tuple[date, ...]
    chance: tuple[float, ...]
    text: str


class SkillSummary(SectionModel):
    """How the last readings compare with what the model said before it saw them."""

    readings: int
    mean_abs_c: float | None
    bias_c: float | None
    inside80: float | None
    text: str


class WaterReport(SectionModel):
    """Everything `briefing water` shows."""

    lake: str
    water: WaterLightSection
    readings: tuple[ReadingRow, ...]
    passing: tuple[PassingRow, ...]
    skill: SkillSummary
    notes: tuple[str, ...]


def fill_water_report(
    lake: str,
    water: WaterLightSection,
    result: WaterResult,
    readings: tuple[WaterReading, ...],
    *,
    zone: ZoneInfo,
    system: units.Units,
) -> WaterReport:
    """Put the engine's answer and its treatment of every reading into words, newest reading first."""
    by_id = {reading.id: reading for reading in readings}
    rows = []
    for use in reversed(result.series.uses):
        reading = by_id.get(use.id)
        if reading is None:
            continue
        local = reading.time.astimezone(zone)
        when = f"{short_date(local.date())} {clock(reading.time, zone) if reading.hour_known else ''}".strip()
        value = units.show_temperature(reading.temperature_c, system, both=False)
        text = f"{when}: {value}, {reading.name}. "
        if use.used:
            said = units.show_temperature(use.predicted_c, system, both=False)
            text += f"It counts {use.weight:.0%}; the model said {said} before it. "
        text += use.why.removeprefix("Used.").strip()
        rows.append(
            ReadingRow(
                id=use.id,
                when=when,
                typed_c=reading.temperature_c,
                used=use.used,
                weight=round(use.weight, 3),
                predicted_c=round(use.predicted_c, 2),
                text=text.strip(),
            )
        )
    return WaterReport(
        lake=lake,
        water=water,
        readings=tuple(rows),
        passing=_passing(result, system),
        skill=_skill(result, system),
        notes=result.series.notes,
    )


def _passing(result: WaterResult, system: units.Units) -> tuple[PassingRow, ...]:
    series = result.series
    first, last = series.today_index, min(series.days, series.today_index + 11)
    rows = []
    for threshold in THRESHOLDS_C:
        chance = series.chance_above(threshold)[first:last]
        if chance.max() < 0.02 or chance.min() > 0.98:
            continue
        name = units.show_temperature(threshold, system, both=False)
        half = next((n for n, one in enumerate(chance) if one >= 0.5), None)
        span = f"{chance[0]:.0%} today, {chance[-1]:.0%} in {len(chance) - 1} days"
        text = f"Above {name}: {span}; more likely than not {_WHEN.get(half, f'in {half} days')}."
        rows.append(
            PassingRow(
                threshold_c=threshold,
                days=tuple(series.date_at(n) for n in range(first, last)),
                chance=tuple(round(float(one), 3) for one in chance),
                text=text,
            )
        )
    return tuple(rows)


def _skill(result: WaterResult, system: units.Units) -> SkillSummary:
    rows = result.skill[-30:]
    if not rows:
        return SkillSummary(
            readings=0,
            mean_abs_c=None,
            bias_c=None,
            inside80=None,
            text="How good it has been here: no reading to tell.",
        )
    errors = [row.error_c for row in rows]
    mean_abs, bias = sum(abs(e) for e in errors) / len(errors), sum(errors) / len(errors)
    inside = sum(row.inside80 for row in rows) / len(rows)
    size = units.show_size(mean_abs, system)
    lean = "too warm" if bias > 0 else "too cold"
    by = units.show_size(bias, system)
    if len(rows) < FEW:
        many = "One reading" if len(rows) == 1 else f"{len(rows)} readings"
        mean = "" if len(rows) == 1 else " on average"
        text = f"{many} so far: too few to tell how good the model is here. It was {by} {lean}{mean}."
    else:
        text = (
            f"The last {len(rows)} readings were predicted before they were seen: {size} off on average, {by} {lean}. "
            f"{inside:.0%} fell inside the 8-in-10 range."
        )
    return SkillSummary(
        readings=len(rows), mean_abs_c=round(mean_abs, 2), bias_c=round(bias, 2), inside80=round(inside, 2), text=text
    )
