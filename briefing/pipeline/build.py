"""``build``: from the inputs of a morning to the briefing. Pure: same inputs, same briefing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, timedelta

import numpy as np

from briefing import units
from briefing.core.advice.measures import localised
from briefing.core.log.checks import Check
from briefing.core.phase.model import PhaseResult
from briefing.core.record import MorningRecord
from briefing.core.sky import sky_day
from briefing.core.water.engine import WaterResult
from briefing.core.water.words import describe_water
from briefing.core.wind.banks import bank_words
from briefing.core.wind.level import HourLevel
from briefing.core.wind.note import WATCH_AFTER
from briefing.core.wind.waterways import water_ways
from briefing.core.wind.words import speed_digits, speed_unit
from briefing.pipeline.advice import Advised, advise_day
from briefing.pipeline.fish import phases_of, water_of
from briefing.pipeline.hazard import Hazards, judge
from briefing.pipeline.inputs import Knowledge, MorningInputs
from briefing.pipeline.mapping import with_known_tackle
from briefing.pipeline.morning_record import record_of
from briefing.pipeline.parts import clarity_of
from briefing.pipeline.say_hazards import (
    answer_of,
    before_all,
    cautions_of,
    hours_of,
    keeps_off_tailwater,
    names_of,
    on_the_water,
    out_of,
)
from briefing.pipeline.say_plan import nothing_first, only_unknown, plan_of, ramp_of, short_outing, way_home
from briefing.pipeline.say_trust import doubts_of, sources_of, sureness_of, unknown_of, water_doubts
from briefing.profile.model import Flag, LakeProfile
from briefing.sections.briefing import Briefing
from briefing.sections.changes import fill_changes
from briefing.sections.clock import clock, day_text, span
from briefing.sections.day import fill_day, is_over
from briefing.sections.glance import Setting, fill_glance
from briefing.sections.head import HeadSection
from briefing.sections.hours import held_ashore
from briefing.sections.lake_map import MapPlace, MapSection, outline
from briefing.sections.plan import PlanSection
from briefing.sections.season import fill_seasons
from briefing.sections.water_light import Clarity, WaterLightSection, fill_water_light
from briefing.sections.words import CRAFT_NAME, CRAFT_SHORT
from briefing.vocabulary import LakeKind, Skill, SpeciesForm


@dataclass(frozen=True)
class Built:
    """A briefing and what is worth keeping for the next one."""

    briefing: Briefing
    record: MorningRecord
    hazards: Hazards
    water: WaterResult
    phases: Mapping[SpeciesForm, PhaseResult]
    advised: Advised
    checks: tuple[Check, ...] = ()  # of earlier forecasts, stored and new


def build(inputs: MorningInputs, knowledge: Knowledge) -> Built:
    """Compute everything and compose the briefing."""
    inputs = with_known_tackle(inputs, knowledge)
    zone, now = inputs.profile.zone, inputs.now
    clarity = clarity_of(inputs, knowledge)
    water = water_of(inputs, knowledge)
    phases = phases_of(inputs, knowledge, water, clarity)
    hazards = judge(inputs, knowledge, water.series)
    advised = advise_day(inputs, knowledge, hazards, water.series, phases, clarity)
    shown = _shown_levels(inputs, hazards)
    day = fill_day(
        hazards.levels,
        hazards.windows,
        hazards.deadlines,
        launch=inputs.outing.launch,
        back=inputs.outing.back,
        fixed_launch=inputs.outing.fixed_launch,
        now=now,
        zone=zone,
        day=inputs.day,
        first=before_all(inputs, knowledge, hazards, advised),
        system=inputs.reader.units,
        last=(*on_the_water(inputs, hazards), *short_outing(advised)),
        names=names_of(inputs.profile, hazards, advised),
        answer=answer_of(inputs.profile, hazards, inputs.reader.units),
        way_home=way_home(inputs, advised, hazards),
    )
    cautions = cautions_of(inputs, knowledge, hazards, advised, shown)
    hours = hours_of(inputs, knowledge, hazards, shown)
    record = record_of(inputs, day, cautions.official, hours.rows, water.series)
    if day.condition:
        hours = held_ashore(hours)
    changes = fill_changes(
        inputs.kept.earlier,
        record,
        zone=zone,
        units=inputs.reader.units,
        gust_limits_mps=hours.gust_limits_mps,
        because=day.because,
        over=day.begin is None and is_over(hazards.deadlines, inputs.outing.launch, inputs.outing.back, now),
    )
    season = fill_seasons(result.shares for result in phases.values())
    plan = plan_of(inputs, advised, hazards, knowledge.boat)
    away = keeps_off_tailwater(inputs.profile, advised)
    unknown = unknown_of(inputs, knowledge, hazards.alerts, shown, keeps_off_tailwater=away)
    briefing = Briefing(
        head=_head(inputs, hazards, water),
        glance=fill_glance(
            _setting(inputs, hazards),
            day,
            hours,
            plan,
            season,
            changes,
            unknown,
            nothing_first(
                *(advised, out_of(inputs, hazards)), iced=hazards.iced, unknown=only_unknown(inputs, hazards)
            ),
        ),
        day=day,
        cautions=cautions,
        changes=changes,
        hours=hours,
        season=season,
        plan=plan,
        water=_water_light(inputs, water, clarity),
        sureness=sureness_of(inputs, shown, water, phases),
        unknown=unknown,
        sources=sources_of(inputs, knowledge, shown, hazards.alerts),
        map=_map(inputs, hazards, plan),
    )
    return Built(briefing, record, hazards, water, phases, advised, inputs.kept.checks)


def _shown_levels(inputs: MorningInputs, hazards: Hazards) -> tuple[HourLevel, ...]:
    """Hours of the table: an hour before the launch to an hour after the return, without those already past."""
    begin, end = inputs.outing.launch - timedelta(hours=1), inputs.outing.back + timedelta(hours=1)
    hour = timedelta(hours=1)
    return tuple(one for one in hazards.levels if one.hour + hour > max(begin, inputs.now) and one.hour < end)


def _head(inputs: MorningInputs, hazards: Hazards, water: WaterResult) -> HeadSection:
    profile = inputs.profile
    return HeadSection(
        lake=profile.name,
        lake_id=profile.id,
        language=inputs.reader.language,
        units=inputs.reader.units,
        country=inputs.reader.country.code or None,
        ramp=ramp_of(inputs) or None,
        day=inputs.day,
        day_text=day_text(inputs.day),
        zone=profile.time_zone,
        craft=CRAFT_NAME[inputs.reader.craft],
        row=localised(_row_text(hazards, profile), inputs.reader.units),
        prepared_at=inputs.now,
        outing=_outing_text(inputs),
        guessed=tuple(sorted(profile.guessed)),
        demo=inputs.demo,
        remarks=tuple(inputs.remarks),
        doubts=(
            *doubts_of(inputs.gathered.problems, inputs.reader.units),
            *water_doubts(water.series.uses, inputs.day, inputs.reader.units),
        ),
    )


def _setting(inputs: MorningInputs, hazards: Hazards) -> Setting:
    """Where and when the glance is read."""
    profile, day = inputs.profile, inputs.day
    ramp = ramp_of(inputs)
    made = clock(inputs.now, profile.zone, day)
    when = f"{day:%a} {day.day} {day:%b}, {CRAFT_SHORT[inputs.reader.craft]}, made {made}"
    return Setting(
        place=f"{profile.name}{f', {ramp}' if ramp else ''}. {when}",
        lake=profile.name,
        day=day,
        zone=profile.zone,
        system=inputs.reader.units,
        light=hazards.light[1],
        back=inputs.outing.back,
        demo=inputs.demo,
    )


def _row_text(hazards: Hazards, profile: LakeProfile) -> str:
    limits = hazards.limits
    text = f"Limits in use: {limits.row}."
    if limits.why and not limits.own and limits.row.endswith(Skill.NOVICE.value):
        chosen = profile.skill is Skill.NOVICE
        text = (
            f"Limits in use: {limits.row}."
            if chosen
            else f"Limits in use: {limits.row}; you are held to a novice's limits because {limits.why}."
        )
    if not profile.limits.confirmed:
        text += " You have not confirmed them yet: see `briefing lake check`."
    return text


def _outing_text(inputs: MorningInputs) -> str:
    zone, outing = inputs.profile.zone, inputs.outing
    hours = span(outing.launch, outing.back, zone, inputs.day)
    if outing.planned:
        text = f"Planned hours {hours} ({outing.lead})."
        if outing.weigh_in is not None:
            text += f" Weigh-in at {clock(outing.weigh_in, zone, inputs.day)}."
        if inputs.notes_come:
            until = clock(outing.back + WATCH_AFTER, zone, inputs.day)
            text += f" Wind notes come when the forecast crosses your limits or is lost, until {until}."
        return text
    return f"No outing is planned, so no wind notes will come; looked at {hours} ({outing.lead})."


def _water_light(inputs: MorningInputs, water: WaterResult, clarity: Clarity) -> WaterLightSection:
    profile = inputs.profile
    sky = sky_day(profile.latitude, profile.longitude, inputs.day, profile.zone)
    level = (*inputs.gathered.level, *inputs.entered.level)
    return fill_water_light(
        water.series,
        describe_water(water, now=inputs.now, units=inputs.reader.units),
        sky,
        clarity,
        level,
        zone=profile.zone,
        now=inputs.now,
        system=inputs.reader.units,
        tidal=profile.kind is LakeKind.TIDAL_RIVER,
    )


def _map(inputs: MorningInputs, hazards: Hazards, plan: PlanSection) -> MapSection:
    """The lake for the hour out with the strongest forecast wind; nest areas that the plan leaves alone are not marked.

    An hour after the time to be ashore would mark banks that nobody meets; without hours out no bank is marked.
    """
    profile, out = inputs.profile, out_of(inputs, hazards)
    window = hazards.series.window(inputs.outing.launch, inputs.outing.back)
    if out is not None:
        window = hazards.series.window(out.begin, out.off)
    wind, direction = window.values("wind_mps"), window.values("wind_from_deg")
    both = np.isfinite(wind) & np.isfinite(direction)
    hour = int(np.argmax(np.where(both, wind, -1.0))) if out is not None and both.any() else None
    nests = {spot.id for spot in profile.spots if Flag.NEST_AREA in spot.flags}
    text = inputs.shape.note or "Shoreline from the profile's file."
    label, wind_text = "", "The wind's direction is not known: no bank is marked."
    if out is None:
        wind_text = "There are no hours out today: no bank is marked."
    if hour is not None:
        blown, sheltered = bank_words(float(direction[hour]))
        at = clock(window.times[hour], profile.zone, inputs.day)
        wind_text = f"At {at}, the strongest wind of your hours: {blown} bank wind-blown, {sheltered} bank sheltered."
        low, high = (speed_digits(float(v), inputs.reader.units) for v in (np.nanmin(wind), np.nanmax(wind)))
        blows = units.compass_point(float(direction[hour]))
        force = low if low == high else f"{low} to {high}"
        label = f"wind {blows}, {force} {speed_unit(inputs.reader.units)}"
    numbers = {stop.spot_id: stop.number for block in plan.blocks for stop in block.stops}
    places = tuple(
        MapPlace(
            name=place.name,
            kind=place.kind,
            number=numbers.get(place.id),
            x_m=round(place.xy_m[0], 1),
            y_m=round(place.xy_m[1], 1),
        )
        for place in hazards.places
        if place.id not in nests or place.id in numbers
    )
    start = next((place for place in places if place.kind == "ramp" and place.name == ramp_of(inputs)), None)
    way_out, way_home = _route(inputs, places, start)
    return MapSection(
        rings_m=outline([np.asarray(ring, float) for ring in inputs.shape.rings]),
        assumed=inputs.shape.assumed,
        places=places,
        start=start if numbers else None,
        way_out_m=way_out,
        way_home_m=way_home,
        wind_from_deg=None if hour is None else float(direction[hour]),
        wind_hour=None if hour is None else window.times[hour].astimezone(UTC),
        wind_label=label,
        wind_text=wind_text,
        text=f"{text[:1].upper()}{text[1:].rstrip('.')}. {wind_text}",
    )


Way = tuple[tuple[float, float], ...]


def _route(inputs: MorningInputs, places: Sequence[MapPlace], start: MapPlace | None) -> tuple[Way, Way]:
    """The way from the ramp over water through the places in order, and the way home; nothing without an outing."""
    stops = sorted((place for place in places if place.number), key=lambda one: one.number or 0)
    if start is None or not stops:
        return (), ()
    points = [(one.x_m, one.y_m) for one in (start, *stops)]
    ways = water_ways(inputs.shape, points)
    last = len(stops)
    out = np.concatenate([ways.paths[n, n + 1] for n in range(last)])
    return tuple(map(_rounded, out.tolist())), tuple(map(_rounded, ways.paths[last, 0].tolist()))


def _rounded(xy_m: Sequence[float]) -> tuple[float, float]:
    return round(xy_m[0], 1), round(xy_m[1], 1)
