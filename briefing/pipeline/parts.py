"""One part of a morning alone, for the commands that show it."""

from __future__ import annotations

from briefing.core.sky import sky_day
from briefing.core.water.words import describe_water
from briefing.pipeline.fish import phases_of, water_of, water_readings
from briefing.pipeline.inputs import Knowledge, MorningInputs
from briefing.sections.season import SeasonSection, fill_season
from briefing.sections.water_light import Clarity, fill_water_light
from briefing.sections.water_report import WaterReport, fill_water_report


def clarity_of(inputs: MorningInputs, knowledge: Knowledge) -> Clarity:
    """Visibility and colour in use: what was seen and is not stale, else the lake's usual."""
    profile = inputs.profile
    return Clarity.choose(
        inputs.entered.clarity,
        profile.visibility_m,
        profile.water_colour,
        profile.is_guessed("visibility_m"),
        inputs.now,
        knowledge.stale.after["visibility"],
    )


def water_report(inputs: MorningInputs, knowledge: Knowledge) -> WaterReport:
    """The water temperature in full."""
    profile = inputs.profile
    result = water_of(inputs, knowledge)
    section = fill_water_light(
        result.series,
        describe_water(result, now=inputs.now, units=inputs.reader.units),
        sky_day(profile.latitude, profile.longitude, inputs.day, profile.zone),
        clarity_of(inputs, knowledge),
        (*inputs.gathered.level, *inputs.entered.level),
        zone=profile.zone,
        now=inputs.now,
        system=inputs.reader.units,
    )
    return fill_water_report(
        profile.name, section, result, water_readings(inputs), zone=profile.zone, system=inputs.reader.units
    )


def seasons(inputs: MorningInputs, knowledge: Knowledge) -> tuple[SeasonSection, ...]:
    """The seasonal phase of every species form of the profile."""
    water = water_of(inputs, knowledge)
    phases = phases_of(inputs, knowledge, water, clarity_of(inputs, knowledge))
    return tuple(fill_season(result.shares, curve=True) for result in phases.values())
