"""``build``: from the inputs of a morning to the briefing. Pure: same inputs, same briefing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, timedelta

import numpy as np

from briefing import units
from briefing.core.advice.rods.card import rod_text
from briefing.core.freshness import is_stale
from briefing.core.log.checks import Check
from briefing.core.log.skill import water_text
from briefing.core.phase.model import PhaseResult
from briefing.core.sky import sky_day
from briefing.core.water.engine import WaterResult
from briefing.core.water.words import describe_water
from briefing.core.wind.alerts import ActiveAlert
from briefing.core.wind.banks import bank_words
from briefing.core.wind.cautions import CautionFacts, usual_cautions
from briefing.core.wind.events import Consequence
from briefing.core.wind.level import HourLevel
from briefing.core.wind.limits import cold_band
from briefing.core.wind.note import WATCH_AFTER
from briefing.core.wind.note_text import FloatPlan, float_plan_text
from briefing.pipeline.advice import Advised, advise_day
from briefing.pipeline.experience import wind_checked, wind_notes
from briefing.pipeline.fish import phases_of, water_of
from briefing.pipeline.hazard import BIG_LAKE_KM2, Hazards, judge
from briefing.pipeline.inputs import Knowledge, MorningInputs
from briefing.pipeline.mapping import dressed_for_immersion
from briefing.pipeline.parts import clarity_of
from briefing.pipeline.times import issued_at
from briefing.profile.model import Flag, LakeProfile
from briefing.profile.model import Spot as ProfileSpot
from briefing.sections import cautions as caution_section
from briefing.sections.briefing import Briefing
from briefing.sections.changes import ComparedBriefing, fill_changes
from briefing.sections.clock import clock, day_text, span
from briefing.sections.day import fill_day
from briefing.sections.head import HeadSection
from briefing.sections.hours import HoursSection, fill_hours
from briefing.sections.lake_map import MapPlace, MapSection
from briefing.sections.plan import PlanSection, RodText, SpotFacts, fill_plan
from briefing.sections.season import fill_season
from briefing.sections.sources import SourcesSection, fill_sources
from briefing.sections.sureness import Sureness, SurenessSection, season_sureness, water_sureness, wind_sureness
from briefing.sections.unknown import UnknownSection, fill_unknown
from briefing.sections.water_light import Clarity, WaterLightSection, fill_water_light
from briefing.sections.words import COVER_NAME, CRAFT_NAME, SKY_NAME, listed
from briefing.vocabulary import Level, SpeciesForm

#: Waves below this are only nominal.
NOTABLE_WAVE_M = 0.1


@dataclass(frozen=True)
class Built:
    """A briefing and what is worth keeping for the next one."""

    briefing: Briefing
    hazards: Hazards
    water: WaterResult
    phases: Mapping[SpeciesForm, PhaseResult]
    advised: Advised
    checks: tuple[Check, ...] = ()  # of earlier forecasts, stored and new


def build(inputs: MorningInputs, knowledge: Knowledge) -> Built:
    """Compute everything and compose the briefing."""
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
        planned=inputs.outing.planned,
        fixed_launch=inputs.outing.fixed_launch,
        now=now,
        zone=zone,
        day=inputs.day,
        first=_before_all(inputs, knowledge, hazards, advised),
        last=(*_on_the_water(hazards), *_start_line(inputs, advised)),
    )
    cautions = _cautions(inputs, knowledge, hazards, shown)
    hours = _hours(inputs, knowledge, hazards, shown)
    light = _water_light(inputs, water, clarity)
    briefing = Briefing(
        head=_head(inputs, hazards),
        day=day,
        cautions=cautions,
        changes=fill_changes(
            _compared(inputs),
            day,
            hours,
            [alert.event for alert in cautions.official],
            light.temperature,
            now,
            zone,
        ),
        hours=hours,
        season=tuple(fill_season(result.shares) for result in phases.values()),
        plan=_plan(inputs, advised),
        water=light,
        sureness=_sureness(inputs, shown, water, phases),
        unknown=_unknown(inputs, knowledge),
        sources=_sources(inputs, knowledge, shown),
        map=_map(inputs, hazards),
    )
    return Built(briefing, hazards, water, phases, advised, inputs.kept.checks)


def _before_all(inputs: MorningInputs, knowledge: Knowledge, hazards: Hazards, advised: Advised) -> tuple[str, ...]:
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


def _on_the_water(hazards: Hazards) -> tuple[str, ...]:
    out = []
    if hazards.hard_leg is not None:
        out.append(f"The first way home to become hard: {hazards.hard_leg.because}.")
    out += [ramp.text for ramp in hazards.ramps[:1] if ramp.faces_waves and ramp.hs_m >= NOTABLE_WAVE_M]
    return tuple(out)


def _start_line(inputs: MorningInputs, advised: Advised) -> tuple[str, ...]:
    """Where to start and what is on the rods, in one line."""
    stops = advised.plan.stops
    if not stops:
        return ()
    first = stops[0]
    at = clock(first.arrive, inputs.profile.zone, inputs.day)
    lure = first.choices[0].name if first.choices else "the first choice below"
    rods = "; ".join(f"{pick.number} {pick.setup.label}" for pick in advised.rods.picks)
    text = f"Start at {first.spot}, {at}, with {lure[:1].lower()}{lure[1:]}."
    return (text + (f" On the rods: {rods}." if rods else ""),)


def _shown_levels(inputs: MorningInputs, hazards: Hazards) -> tuple[HourLevel, ...]:
    """Hours of the table: an hour before the launch to an hour after the return, without those already past."""
    begin, end = inputs.outing.launch - timedelta(hours=1), inputs.outing.back + timedelta(hours=1)
    hour = timedelta(hours=1)
    return tuple(one for one in hazards.levels if one.hour + hour > max(begin, inputs.now) and one.hour < end)


def _head(inputs: MorningInputs, hazards: Hazards) -> HeadSection:
    profile, zone, outing = inputs.profile, inputs.profile.zone, inputs.outing
    ramp = outing.ramp or (profile.ramps[0].name if profile.ramps else None)
    prepared = f"{clock(inputs.now, zone, inputs.day)} {inputs.now.astimezone(zone).tzname()}"
    return HeadSection(
        lake=profile.name,
        lake_id=profile.id,
        ramp=ramp,
        day=inputs.day,
        day_text=day_text(inputs.day),
        zone=profile.time_zone,
        craft=CRAFT_NAME[profile.craft],
        row=_row_text(hazards, profile),
        prepared_at=inputs.now,
        prepared_text=prepared,
        outing=_outing_text(inputs),
        guessed=tuple(sorted(profile.guessed)),
        demo=inputs.demo,
        remarks=inputs.remarks,
    )


def _row_text(hazards: Hazards, profile: LakeProfile) -> str:
    limits = hazards.limits
    because = f" ({limits.why})" if limits.why and not limits.own else ""
    text = f"Limits in use: {limits.row}{because}."
    if not profile.limits.confirmed:
        text += " You have not confirmed them yet: see `briefing lake check`."
    return text


def _outing_text(inputs: MorningInputs) -> str:
    zone, outing = inputs.profile.zone, inputs.outing
    hours = span(outing.launch, outing.back, zone, inputs.day)
    if outing.planned:
        text = f"Outing {hours} ({outing.lead})."
        if outing.weigh_in is not None:
            text += f" Weigh-in at {clock(outing.weigh_in, zone, inputs.day)}."
        if inputs.notes_come:
            until = clock(outing.back + WATCH_AFTER, zone, inputs.day)
            text += f" Wind notes come when the forecast crosses your limits or is lost, until {until}."
        return f"{text} Check the wind again just before you launch."
    return f"No outing is planned, so no wind notes will come; looked at {hours} ({outing.lead})."


def _cautions(
    inputs: MorningInputs, knowledge: Knowledge, hazards: Hazards, shown: Sequence[HourLevel]
) -> caution_section.CautionsSection:
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
            hazards.alerts, len(official), zone=zone, day=inputs.day, now=inputs.now
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
    open_window = any(w.end > inputs.outing.launch and w.begin < inputs.outing.back for w in hazards.windows)
    if ends is None or not open_window:
        return ""
    plan = FloatPlan(
        name="",
        lake=profile.name,
        craft=CRAFT_NAME[profile.craft],
        ramp=inputs.outing.ramp or (profile.ramps[0].name if profile.ramps else "the ramp"),
        launch=inputs.outing.launch,
        off_water_by=ends.off_water_by,
        call_at=ends.call_at,
        people=1 if profile.alone else 2,
    )
    return float_plan_text(plan, profile.zone)


def _hours(inputs: MorningInputs, knowledge: Knowledge, hazards: Hazards, shown: tuple[HourLevel, ...]) -> HoursSection:
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


def _water_light(inputs: MorningInputs, water: WaterResult, clarity: Clarity) -> WaterLightSection:
    profile = inputs.profile
    sky = sky_day(profile.latitude, profile.longitude, inputs.day, profile.zone)
    level = (*inputs.gathered.level, *inputs.entered.level)
    return fill_water_light(
        water.series,
        describe_water(water, now=inputs.now, units=profile.units),
        sky,
        clarity,
        level,
        zone=profile.zone,
        now=inputs.now,
        system=profile.units,
    )


def _plan(inputs: MorningInputs, advised: Advised) -> PlanSection:
    profile = inputs.profile
    facts = {
        (stop.spot_id, stop.block_id): _spot_facts(stop.spot_id, stop.block_id, inputs, advised)
        for stop in advised.plan.stops
    }
    light = {block.id: _light_text(block.id, advised) for block in advised.blocks}
    notes = [advised.front.text]
    if advised.spots_assumed:
        notes.append("The profile holds no spots: the plan stands on the cover usual for this kind of water.")
    if advised.closed_season:
        notes.append(f"Closed season noted in the profile: {advised.closed_season}. Check the rule before you fish.")
    elif not profile.rules:
        notes.append("Local rules: none noted. Check seasons, hooks and lead before fishing.")
    notes.append("Nests are left out of the plan: don't cast at fish on beds.")
    return fill_plan(
        advised.plan,
        facts,
        light,
        *_rods(advised),
        summary_notes=tuple(notes),
        zone=profile.zone,
        day=inputs.day,
        system=profile.units,
    )


def _rods(advised: Advised) -> tuple[tuple[RodText, ...], str]:
    rows = tuple(
        RodText(
            number=pick.number,
            text=rod_text(pick),
            rig=pick.setup.label,
            purpose=" ".join([pick.purpose, *pick.mismatch]),
            in_reach=pick.in_reach,
        )
        for pick in advised.rods.picks
    )
    gap = [advised.rods.gap.text] if advised.rods.gap else []
    return rows, " ".join([*advised.rods.unmet, *gap])


def _spot_facts(spot_id: str, block_id: str, inputs: MorningInputs, advised: Advised) -> SpotFacts:
    fishing = advised.spots[spot_id, block_id]
    system = inputs.profile.units
    spot = inputs.profile.spot(spot_id)
    cover = listed([COVER_NAME[kind] for kind in sorted(fishing.cover, key=lambda kind: -fishing.cover[kind])])
    where = f"{cover[:1].upper()}{cover[1:]} in {units.show_depth_range(*fishing.depth_m, system, both=False)}"
    if fishing.cover_top_m is not None:
        top = fishing.cover_top_m
        where += ", top at the surface" if top <= 0 else f", top {units.show_depth(top, system, both=False)} down"
    if fishing.bottom is not None:
        where += f", over {fishing.bottom.value}"
    wind = {
        True: "Wind-blown: it pushes you onto the bank.",
        False: "Sheltered from this wind.",
        None: "",
    }[fishing.exposed]
    return SpotFacts(where=where + ".", conditions=_spot_notes(spot), wind=wind)


def _spot_notes(spot: ProfileSpot | None) -> str:
    return "" if spot is None or not spot.notes else f"Your note: {spot.notes}"


def _light_text(block_id: str, advised: Advised) -> str:
    return SKY_NAME[advised.conditions[block_id].sky]


def _sureness(
    inputs: MorningInputs,
    shown: Sequence[HourLevel],
    water: WaterResult,
    phases: Mapping[SpeciesForm, PhaseResult],
) -> SurenessSection:
    system = inputs.profile.units
    issued = issued_at(inputs)
    age = None if issued is None else (inputs.now - issued).total_seconds() / 3600.0
    wind = ("sustained_wind", "gust", "waves", "data_age")
    unknown = sum(any(f.name in wind and f.level is Level.UNKNOWN for f in one.factors) for one in shown)
    parts: list[Sureness] = [
        wind_sureness(
            age,
            unknown,
            len(shown),
            wind_checked(inputs),
            "whitecaps or a steady lean of the reeds earlier than the table says",
        )
    ]
    series = water.series
    low, high = (float(side[series.today_index]) for side in series.range80_c())
    text = units.show_temperature_range(low, high, system)
    checked = water_text(inputs.kept.checks, system)
    parts.append(water_sureness((high - low) / 2.0, series.days_since_reading, text, checked))
    for result in phases.values():
        if result.shares.refused:
            continue
        spread = max(high - low for _, low, high in result.shares.shown().values())
        parts.append(season_sureness(spread, result.shares.best_observation.rstrip(".")))
        break
    return SurenessSection(parts=tuple(parts))


def _unknown(inputs: MorningInputs, knowledge: Knowledge) -> UnknownSection:
    profile, flags = inputs.profile, {flag for spot in inputs.profile.spots for flag in spot.flags}
    extra = []
    feed = inputs.gathered.alerts
    if feed.problem:
        extra.append(
            (f"Official warnings: {feed.problem.rstrip('.')}.", "No hour can be within your limits without them.")
        )
    elif not feed.service_exists:
        extra.append(
            ("Official warnings: no service is read here.", "Read your own weather service before you launch.")
        )
    if not inputs.gathered.thunder_service_exists:
        extra.append(
            ("Thunder: no service forecasts it here.", "Instability and weather words stand in; watch the sky.")
        )
    if Flag.TAILWATER in flags:
        extra.append(("Releases of the dam:", "not in this briefing; call the release line."))
    if not inputs.gathered.wind_now and not any(
        not is_stale("wind_seen", wind.time, inputs.now, knowledge.stale) for wind in inputs.entered.winds
    ):
        extra.append(("Wind now: no station and nobody has reported it.", "The table is forecast alone."))
    if not inputs.entered.water and not inputs.gathered.water:
        extra.append(
            ("Water temperature: never measured here.", "The model runs on air alone; one reading narrows it most.")
        )
    if clarity_of(inputs, knowledge).seen_at is None:
        extra.append(("Visibility and colour: not seen lately.", "Colours and weights stand on the lake's usual."))
    if not profile.rules:
        extra.append(("Local rules:", "none noted in the profile; check seasons, hooks and lead before fishing."))
    return fill_unknown(inputs.gathered.problems, inputs.profile.guessed, extra)


def _sources(inputs: MorningInputs, knowledge: Knowledge, shown: Sequence[HourLevel]) -> SourcesSection:
    zone = inputs.profile.zone
    begin = min((one.hour for one in shown), default=inputs.outing.launch)
    end = max((one.hour for one in shown), default=inputs.outing.back) + timedelta(hours=1)
    valid_until = min(inputs.outing.back + timedelta(hours=1), inputs.now + knowledge.stale.after["forecast"])
    return fill_sources(
        inputs.gathered,
        begin,
        end,
        credits=inputs.gathered.credits,
        next_check=_next_check(inputs, knowledge),
        valid_until=max(valid_until, inputs.now),
        zone=zone,
        day=inputs.day,
        now=inputs.now,
    )


def _next_check(inputs: MorningInputs, knowledge: Knowledge) -> str:
    feed = inputs.gathered.alerts
    if feed.checked_at is None or feed.problem:
        return "Official warnings have not been read: read them before you launch."
    recheck = clock(feed.checked_at + knowledge.stale.after["alerts"], inputs.profile.zone, inputs.day)
    return (
        f"Official warnings were read for the next 20 minutes: read them again after {recheck} and before you launch."
    )


def _compared(inputs: MorningInputs) -> ComparedBriefing | None:
    earlier = inputs.kept.briefing
    if earlier is None or earlier.head.day != inputs.day:
        return None
    return ComparedBriefing(
        made_at=earlier.head.prepared_at,
        day=earlier.day,
        hours=earlier.hours,
        official=tuple(alert.event for alert in earlier.cautions.official),
        water=earlier.water.temperature,
    )


def _map(inputs: MorningInputs, hazards: Hazards) -> MapSection:
    """The lake for the hour of the strongest forecast wind within the outing; nest areas are not marked."""
    profile = inputs.profile
    window = hazards.series.window(inputs.outing.launch, inputs.outing.back)
    wind, direction = window.values("wind_mps"), window.values("wind_from_deg")
    both = np.isfinite(wind) & np.isfinite(direction)
    hour = int(np.argmax(np.where(both, wind, -1.0))) if both.any() else None
    nests = {spot.id for spot in profile.spots if Flag.NEST_AREA in spot.flags}
    text = inputs.shape.note or "Shoreline from the profile's file."
    wind_text = "Wind direction is not known: no shore is marked."
    if hour is not None:
        blown, sheltered = bank_words(float(direction[hour]))
        at = clock(window.times[hour], profile.zone, inputs.day)
        wind_text = (
            f"At {at} the wind is strongest, from {units.direction_words(float(direction[hour]))}: "
            f"the {blown} bank is wind-blown, the {sheltered} bank sheltered."
        )
    return MapSection(
        rings_m=tuple(tuple((round(float(x), 1), round(float(y), 1)) for x, y in ring) for ring in inputs.shape.rings),
        assumed=inputs.shape.assumed,
        places=tuple(
            MapPlace(name=place.name, kind=place.kind, x_m=round(place.xy_m[0], 1), y_m=round(place.xy_m[1], 1))
            for place in hazards.places
            if place.id not in nests
        ),
        wind_from_deg=None if hour is None else float(direction[hour]),
        wind_hour=None if hour is None else window.times[hour].astimezone(UTC),
        wind_text=wind_text,
        text=f"{text[:1].upper()}{text[1:].rstrip('.')}. {wind_text}",
    )
