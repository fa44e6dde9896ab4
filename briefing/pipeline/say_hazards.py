"""The parts of a briefing that can hurt: cautions, the hours, what stands before and after the day's sentence."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

import numpy as np

from briefing import units
from briefing.core.wind.alerts import ActiveAlert
from briefing.core.wind.banks import bank_words
from briefing.core.wind.cautions import CautionFacts, usual_cautions
from briefing.core.wind.events import Consequence
from briefing.core.wind.level import HourLevel
from briefing.core.wind.limits import cold_band
from briefing.core.wind.note_text import FloatPlan, float_plan_text
from briefing.pipeline.advice import Advised
from briefing.pipeline.experience import wind_notes
from briefing.pipeline.hazard import BIG_LAKE_KM2, Hazards, alerts_stale
from briefing.pipeline.inputs import Knowledge, MorningInputs
from briefing.pipeline.mapping import dressed_for_immersion
from briefing.profile.model import Flag
from briefing.sections import cautions as caution_section
from briefing.sections.clock import clock
from briefing.sections.hours import HoursSection, fill_hours
from briefing.sections.words import CRAFT_NAME
from briefing.vocabulary import Level

#: Waves below this are only nominal.
NOTABLE_WAVE_M = 0.1


def before_all(inputs: MorningInputs, knowledge: Knowledge, hazards: Hazards, advised: Advised) -> tuple[str, ...]:
    """What must be read before the hours: a closed season, and very cold water met alone without clothing for it."""
    out = []
    if advised.closed_season:
        out.append(
            f"Closed season by your own note: {advised.closed_season.rstrip('.')}. Check the rule before you fish."
        )
    low = hazards.water_low_c[np.isfinite(hazards.water_low_c)]
    band = cold_band(knowledge.limits, float(low.min()) if low.size else float("nan"))
    if inputs.profile.alone and hazards.cold_share < 1.0 and band is knowledge.limits.cold_bands[-1]:
        text = units.show_temperature(float(low.min()), inputs.profile.units, both=False) if low.size else "unknown"
        out.append(
            f"Alone, water perhaps as cold as {text}, no immersion clothing. {band.text.rstrip('.')}. "
            "Go with someone, dressed for the water, or stay ashore."
        )
    return tuple(out)


def on_the_water(hazards: Hazards) -> tuple[str, ...]:
    """The first way home to become hard, and waves onto the ramp."""
    out = []
    if hazards.hard_leg is not None:
        out.append(f"The first way home to become hard: {hazards.hard_leg.because}.")
    out += [ramp.text for ramp in hazards.ramps[:1] if ramp.faces_waves and ramp.hs_m >= NOTABLE_WAVE_M]
    return tuple(out)


def cautions_of(
    inputs: MorningInputs, knowledge: Knowledge, hazards: Hazards, shown: Sequence[HourLevel]
) -> caution_section.CautionsSection:
    """Every hazard of the outing, official alerts as issued, the usual cautions and the float plan."""
    profile, zone = inputs.profile, inputs.profile.zone
    begin = max(inputs.now, min((one.hour for one in shown), default=inputs.outing.launch))
    end = max((one.hour for one in shown), default=inputs.outing.back) + timedelta(hours=1)

    def consequence(active: ActiveAlert) -> Consequence:
        return knowledge.events.consequence(
            active.alert,
            profile.craft,
            profile.skill,
            moving_water=profile.river_fed,
            big_lake=profile.area_km2 >= BIG_LAKE_KM2,
        )

    items, more = caution_section.fill_caution_items(
        hazards.levels, begin, end, knowledge.actions, zone=zone, day=inputs.day
    )
    official = caution_section.fill_official(
        hazards.alerts, consequence, begin=begin, end=end, zone=zone, day=inputs.day
    )
    facts = _caution_facts(inputs, hazards, shown)
    return caution_section.CautionsSection(
        items=items,
        more=more,
        official=official,
        alerts_state=caution_section.alerts_state_text(
            hazards.alerts,
            len(official),
            zone=zone,
            day=inputs.day,
            now=inputs.now,
            stale=alerts_stale(hazards.alerts, knowledge, inputs.now),
        ),
        standing=tuple(dict.fromkeys(factor.text for one in shown for factor in one.factors if factor.standing)),
        checked=caution_section.checked_text(shown, knowledge.actions),
        usual=tuple(
            caution_section.UsualCaution(title=one.title, text=one.text, source=one.source)
            for one in usual_cautions(knowledge.cautions, facts)
        ),
        usual_check=knowledge.cautions.check,
        float_plan=_float_plan(inputs, hazards),
    )


def _caution_facts(inputs: MorningInputs, hazards: Hazards, shown: Sequence[HourLevel]) -> CautionFacts:
    profile = inputs.profile
    low = hazards.water_low_c[np.isfinite(hazards.water_low_c)]
    named = {factor.name for one in shown for factor in one.factors if factor.level is not Level.WITHIN_LIMITS}
    heat = [f.number for one in shown for f in one.factors if f.name == "heat" and f.number is not None]
    flags = {flag for spot in profile.spots for flag in spot.flags}
    return CautionFacts(
        craft=profile.craft,
        day=inputs.day,
        water_low_c=float(low.min()) if low.size else None,
        heat_index_max_c=max(heat, default=None),
        in_dark="darkness" in named,
        fog="visibility" in named,
        alone=profile.alone,
        thunder="thunder" in named,
        moving_water=profile.river_fed or Flag.CURRENT in flags,
        tailwater=Flag.TAILWATER in flags,
        dam=Flag.LOW_HEAD_DAM in flags,
        outing_planned=inputs.outing.planned,
    )


def _float_plan(inputs: MorningInputs, hazards: Hazards) -> str:
    profile, ends = inputs.profile, hazards.deadlines
    if ends is None or not any(w.end > hazards.launch and w.begin < ends.off_water_by for w in hazards.windows):
        return ""
    plan = FloatPlan(
        name="",
        lake=profile.name,
        craft=CRAFT_NAME[profile.craft],
        ramp=inputs.outing.ramp or (profile.ramps[0].name if profile.ramps else "the ramp"),
        launch=hazards.launch,
        off_water_by=ends.off_water_by,
        call_at=ends.call_at,
        people=1 if profile.alone else 2,
    )
    return float_plan_text(plan, profile.zone)


def hours_of(
    inputs: MorningInputs, knowledge: Knowledge, hazards: Hazards, shown: tuple[HourLevel, ...]
) -> HoursSection:
    """The hour table with its notes."""
    profile = inputs.profile
    notes = [*_wind_now(inputs), *_banks(inputs, hazards, shown)]
    if hazards.cold_share < 1.0:
        notes.append(
            f"Cold water: your limits are cut to {hazards.cold_share:.0%} of their row, by the low end of the water "
            "temperature's range, since no immersion clothing is set in the profile."
        )
    elif dressed_for_immersion(inputs.profile):
        notes.append(
            f"Limits are not cut for cold water: the profile says that you wear a {inputs.profile.clothing.value}."
        )
    if inputs.shape.assumed:
        notes.append(f"Waves: {inputs.shape.note}. A shoreline file makes them your lake's own.")
    notes.append(
        "Waves: significant height at the worst of your ramps, spots and ways between them, two published methods; "
        "a few an hour reach about twice this. Wind on the water is taken "
        f"{profile.over_water_factor:g} times the forecast for waves."
    )
    if profile.is_guessed("mean_depth_m"):
        notes.append("The lake's mean depth is not known: waves are computed for 5 m (16 ft).")
    hours = [one.hour for one in shown]
    notes += wind_notes(inputs, knowledge, hazards.correction, hazards.series, hazards.wind_factor, hours)
    return fill_hours(
        hazards.series,
        shown,
        hazards.wave_ranges(),
        hazards.limits_in_use,
        zone=profile.zone,
        day=inputs.day,
        system=profile.units,
        source_text="",
        notes=tuple(notes),
        raised=dict(zip(hazards.series.times, hazards.wind_factor.tolist(), strict=True)),
    )


def _banks(inputs: MorningInputs, hazards: Hazards, shown: Sequence[HourLevel]) -> tuple[str, ...]:
    """Which bank the wind blows onto, by runs of hours."""
    zone, runs = inputs.profile.zone, list[tuple[str, str]]()
    for one in shown:
        index = hazards.series.index_of(one.hour)
        wind = float(hazards.series.values("wind_from_deg")[index])
        bank = "not known" if np.isnan(wind) else bank_words(wind)[0]
        if not runs or runs[-1][1] != bank:
            runs.append((clock(one.hour, zone, inputs.day), bank))
    if not runs:
        return ()
    if all(bank == "not known" for _, bank in runs):
        return ("Wind direction is not known: no bank can be called sheltered.",)
    return (
        "Wind-blown bank: " + ", ".join(f"{bank} from {at}" for at, bank in runs) + "; the one across is sheltered.",
    )


def _wind_now(inputs: MorningInputs) -> tuple[str, ...]:
    """The newest wind that was seen or measured, beside what the forecast says for its hour."""
    winds = [w for w in (*inputs.gathered.wind_now, *inputs.entered.winds) if w.wind_mps is not None]
    fresh = [w for w in winds if timedelta(0) <= inputs.now - w.time <= timedelta(minutes=90)]
    newest = max(fresh, key=lambda w: w.time, default=None)
    if newest is None or newest.wind_mps is None:
        return ()
    system, zone = inputs.profile.units, inputs.profile.zone
    way = "" if newest.wind_from_deg is None else f" from {units.compass_point(newest.wind_from_deg)}"
    gust = "" if newest.gust_mps is None else f", gusts {units.show_wind(newest.gust_mps, system, both=False)}"
    hours = inputs.gathered.hours
    at = hours.index_of(newest.time)
    expected = float(hours.values("wind_mps")[at]) if 0 <= at < hours.hours else float("nan")
    said = (
        "" if np.isnan(expected) else f"; the forecast for that hour: {units.show_wind(expected, system, both=False)}"
    )
    seen = f"{units.show_wind(newest.wind_mps, system, both=False)}{way}{gust}"
    return (f"Wind at {clock(newest.time, zone, inputs.day)}: {seen} ({newest.name}){said}.",)
