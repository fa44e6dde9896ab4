"""Water temperature and seasonal phase of the lake this morning."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, timedelta

from briefing.core.phase.estimator import run_phase
from briefing.core.phase.model import PhaseResult
from briefing.core.readings import WaterReading
from briefing.core.water.engine import WaterResult, run_water
from briefing.pipeline.inputs import Knowledge, MorningInputs
from briefing.pipeline.mapping import phase_site, water_site
from briefing.sections.water_light import Clarity
from briefing.vocabulary import SpeciesForm


def water_of(inputs: MorningInputs, knowledge: Knowledge) -> WaterResult:
    """Run the water engine on the air so far and ahead, with the user's readings and those of gauges."""
    return run_water(
        water_site(inputs.profile),
        inputs.gathered.air,
        inputs.normals,
        water_readings(inputs),
        knowledge.water,
        now=inputs.now,
        timezone=inputs.profile.zone,
        today=inputs.day,
        learned=inputs.kept.water_learned,
        seed=inputs.seed,
        state=inputs.kept.water_state,
        units=inputs.reader.units,
        gauges_count_for=knowledge.stale.other["gauge_estimate"],
    )


def water_readings(inputs: MorningInputs) -> tuple[WaterReading, ...]:
    """The user's readings, and a gauge's newest of each day: a sensor that reports hourly is no hundred witnesses."""
    by_day: dict[tuple[tuple[str, str], str], WaterReading] = {}
    for reading in inputs.gathered.water:
        if reading.time > inputs.now:
            continue  # else it would stand for the good ones of its day
        day = reading.time.astimezone(inputs.profile.zone).date().isoformat()
        by_day[reading.witness, day] = reading
    return tuple(sorted((*inputs.entered.water, *by_day.values()), key=lambda r: (r.time, r.id)))


def phases_of(
    inputs: MorningInputs, knowledge: Knowledge, water: WaterResult, clarity: Clarity
) -> Mapping[SpeciesForm, PhaseResult]:
    """Run the phase estimator for every species form of the profile."""
    site = replace(phase_site(inputs.profile), secchi_m=clarity.secchi_m)
    return {
        form: run_phase(
            site,
            water.series,
            form,
            [one for one in inputs.entered.signs if one.kind in knowledge.phase.signs.rates],
            knowledge.phase,
            today=inputs.day,
            normals=inputs.normals,
            learned=inputs.kept.phase_learned.get(form),
            level_changes=level_changes(inputs),
            seed=inputs.seed,
            state=inputs.kept.phase_state.get(form),
            units=inputs.reader.units,
        )
        for form in inputs.profile.species
    }


def level_changes(inputs: MorningInputs) -> dict[date, float]:
    """Change of a gauge's level over the three days up to each day, in m; days without readings are left out."""
    zone = inputs.profile.zone
    newest = {
        reading.time.astimezone(zone).date(): reading.level_m
        for reading in sorted(inputs.gathered.level, key=lambda r: r.time)
        if reading.level_m is not None
    }
    changes: dict[date, float] = {}
    for day, level in newest.items():
        before = newest.get(day - timedelta(days=3))
        if level is not None and before is not None:
            changes[day] = level - before
    return changes
