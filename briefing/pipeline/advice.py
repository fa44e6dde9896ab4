"""From conditions and phase to the plan of the day: blocks, worth of each spot, what to rig, rods."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from briefing.core.advice.choice import Choice
from briefing.core.advice.conditions import Conditions, FrontStage, Spot, TackleBox
from briefing.core.advice.front import Front, front_stage
from briefing.core.advice.moments import fed
from briefing.core.advice.places import place_reasons, place_worth
from briefing.core.advice.plan import (
    Block,
    BlockName,
    DayPlan,
    NestRules,
    PlanHour,
    PlanInputs,
    PlanSpot,
    SurpriseKind,
    as_rigged,
    build_plan,
    cut_blocks,
    is_open,
    joined_stays,
    likeliest_surprise,
    with_choices,
)
from briefing.core.advice.plants import PlantsNow
from briefing.core.advice.ranking import rank, score, score_lake, shown_three
from briefing.core.advice.rods import RodInputs, RodPlan, by_use, choose_rods, with_rods
from briefing.core.advice.season import phase_from_temperature
from briefing.core.advice.situation import front_quiet, front_weight, shade_share, situation_words
from briefing.core.log.learning import LogLearned
from briefing.core.phase.model import PhaseResult
from briefing.core.sky import sun_elevation_deg
from briefing.core.sky.day import local_day
from briefing.core.water.series import WaterSeries
from briefing.core.wind.banks import bank_sides
from briefing.core.wind.shape import LakeShape
from briefing.core.wind.waterways import water_ways
from briefing.core.wind.windows import Deadlines
from briefing.pipeline.bait import bait_at, bait_words
from briefing.pipeline.experience import (
    block_factors,
    learned_of,
    spot_factors,
    trade_scores,
    trial_of,
    with_log_words,
)
from briefing.pipeline.hazard import Hazards, Place
from briefing.pipeline.inputs import Knowledge, MorningInputs
from briefing.pipeline.later import calmer, stops_to_rig_for
from briefing.pipeline.like_before import like_before
from briefing.pipeline.mapping import closed_season, closed_to_all, fishing_spot, tackle_box
from briefing.pipeline.plants import moved_plants, with_plants
from briefing.pipeline.rigging import Ranker, in_reserve, knot_at_the_first, on_the_rods
from briefing.pipeline.rods import rods_problem
from briefing.profile.model import Flag, LakeProfile
from briefing.profile.model import Spot as ProfileSpot
from briefing.sections.day import hours_out
from briefing.sections.water_light import Clarity
from briefing.units import show_temperature
from briefing.vocabulary import Cover, LakeKind, Level, Phase, Sky, SpeciesForm, Zone

Floats = NDArray[np.float64]

#: The sun's height is sampled at this step to cut the day.
SUN_STEP_MIN = 5
#: Nothing is advised where fish nest while at least this share is spawning.
SPAWNING_SHARE = 0.05
#: From this share of the fish on beds on, the page says that nests are left alone.
NESTING_SHARE = 0.005
#: A spot is worth the mean of its so many best scores.
BEST_OF = 3
#: Below this fish take their time: few places, long stays, and rock in the sun late in the day.
COLD_WATER_C = 10.0
#: How far west of its highest place the afternoon sun stands in winter, and what a hard bank that faces it gains then
#: and loses before (judgement).
AFTERNOON_DEG = 35.0
SUNNY_LATE, SUNNY_EARLY = 1.2, 0.85
LATE_BLOCKS = (BlockName.HIGH, BlockName.LATE)
#: A spot without a shoreline near it counts as neither wind-blown nor sheltered.
NEAR_SHORE_M = 250.0
#: Minutes home, with the reserve, that the shallows by the ramp are taken to lie within where no spot is known.
NEAR_RAMP_MIN = 15
#: What makes an hour at caution rough, as against dark, cold or foggy.
ROUGH_FACTORS = ("sustained_wind", "gust", "waves")
#: Light under the surprises that plan B may be for.
SURPRISE_SKY = {SurpriseKind.SUN_OUT: Sky.BRIGHT, SurpriseKind.CLOUD_IN: Sky.OVERCAST}


#: Why there is no plan where hours are not known and none is over a limit.
TOO_MUCH_UNKNOWN = "Too much is not known for a plan by the clock."


@dataclass(frozen=True)
class RigLater:
    """Rods for a later morning like this one in a light wind, and the places and lures that they were chosen for."""

    rods: RodPlan
    plan: DayPlan
    reserve: Mapping[str, Choice]  # lures on rods that no place names


@dataclass(frozen=True)
class Advised:
    """The plan with everything that the page shows beside it."""

    plan: DayPlan
    blocks: tuple[Block, ...]
    conditions: Mapping[str, Conditions]  # by block id
    spots: Mapping[tuple[str, str], Spot]  # by (spot id, block id)
    front: Front
    tackle: TackleBox
    values: Floats  # (spots, blocks)
    trade_scores: Mapping[str, Mapping[str, float]]  # by spot and presentation, 0..1, without the log
    rods: RodPlan
    reserve: Mapping[str, Choice]  # lures on rods that no stop names
    rods_problem: RodInputs  # to choose again for another number of rods
    closed_season: str
    spots_assumed: bool
    nesting: bool  # some fish may be on beds, or their season isn't known
    mood: float  # of the fish over the day, -1 to 1
    plants: Mapping[str, PlantsNow] = field(default_factory=dict)  # moved from a reading, by spot id
    trial: str = ""  # a trial for the log, as a sentence
    bait: str = ""  # what bass gather at in some hours of the day, as a sentence for the place
    later: RigLater | None = None  # what to rig where today has no stop
    like_before: str = ""  # the log's morning most like this one, as a sentence


def chosen_spots(inputs: MorningInputs) -> tuple[ProfileSpot, ...]:
    """Spots the user chose for this outing, in the profile's order; a name that it no longer holds drops out."""
    wanted = [inputs.profile.spot(name) for name in inputs.outing.spots]
    return tuple(spot for spot in inputs.profile.spots if spot in wanted)


def advise_day(
    inputs: MorningInputs,
    knowledge: Knowledge,
    hazards: Hazards,
    water: WaterSeries,
    phases: Mapping[SpeciesForm, PhaseResult],
    clarity: Clarity,
) -> Advised:
    """Cut the day into blocks, rank presentations at every spot, and lay the route."""
    profile = inputs.profile
    spots = chosen_spots(inputs) or profile.spots or (whole_lake_spot(profile),)
    plants = moved_plants(spots, inputs, water, knowledge)
    spots = with_plants(spots, plants)
    times, sun = _sun(inputs)
    hours = _plan_hours(hazards)
    blocks = cut_blocks(times, sun, hours, knowledge.plan)
    front = front_stage(inputs.gathered.hours, inputs.outing.launch, knowledge.front, south=profile.latitude < 0.0)
    tackle = tackle_box(profile, inputs.day)
    conditions = {
        block.id: _conditions(block, inputs, knowledge, hazards, water, phases, clarity, front, Zone.MAIN)
        for block in blocks
    }
    placed = _placed(hazards)
    fishing = {
        (spot.id, block.id): fishing_spot(
            spot, exposed_to(inputs.shape, placed.get(spot.id), spot, block, hazards, inputs.shape.assumed)
        )
        for spot in spots
        for block in blocks
    }
    learned = learned_of(inputs, knowledge)
    scores = _scores(blocks, spots, conditions, fishing, knowledge, tackle, learned)
    places = _places(inputs, spots, placed, blocks, conditions, fishing, knowledge)
    values = _worth(scores) * places
    why = {
        (spot.id, block.id): place_reasons(
            *(conditions[block.id], fishing[spot.id, block.id], knowledge.advice, inputs.reader.units),
            sunny=_warmed(inputs, spot, placed.get(spot.id), block, conditions[block.id]),
        )
        for spot in spots
        for block in blocks
    }
    plan_inputs = _plan_inputs(inputs, knowledge, hazards, spots, placed, blocks, hours, values, front.stage, phases)
    plan_inputs = _coolest(plan_inputs, inputs, knowledge, hazards, conditions)
    plan_inputs = _completed(
        replace(plan_inputs, why=why), spots, blocks, conditions, fishing, places, knowledge, tackle, learned
    )
    first = build_plan(plan_inputs, knowledge.plan)
    ranked = _ranker(first, inputs, hazards, water, phases, clarity, front, spots, fishing, knowledge, learned, tackle)
    free = {key: ranked(key, tackle) for key in dict.fromkeys((stop.spot_id, stop.block_id) for stop in first.stops)}
    plan = with_choices(first, replace(plan_inputs, choices=free))
    moods = np.array(
        [score(conditions[one.id], fishing[spots[0].id, one.id], knowledge.advice, tackle).mood for one in blocks]
    )
    mood = float(moods.mean()) if moods.size else -1.0

    def problem_of(day: DayPlan, worth: Floats) -> RodInputs:
        return rods_problem(
            *(day, worth, moods, spots, blocks, conditions, profile, tackle),
            *(knowledge.advice, knowledge.physics, knowledge.rods, knowledge.craft),
            {spot.id: spot.words for spot in plan_inputs.spots},
        )

    problem = problem_of(plan, scores)
    rods = choose_rods(problem, knowledge.rods)
    later = None
    if not plan.stops and not closed_to_all(profile, inputs.day):
        calm = {key: calmer(at) for key, at in conditions.items()}
        calm_scores = _scores(blocks, spots, calm, fishing, knowledge, tackle, learned)
        meant = frozenset(spot.id for spot in plan_inputs.spots) - {out.spot_id for out in plan.left_out if out.nests}
        rig_for = stops_to_rig_for(
            plan, inputs, spots, meant, _worth(calm_scores) * places, calm, fishing, knowledge, tackle
        )
        if rig_for.stops:
            problem = problem_of(rig_for, calm_scores)
            later_rods = by_use(choose_rods(problem, knowledge.rods), rig_for)
            stops = {(stop.spot_id, stop.block_id): stop.choices for stop in rig_for.stops}

            def in_calm(key: tuple[str, str], box: TackleBox) -> tuple[Choice, ...]:
                return rank(calm[key[1]], fishing[key], knowledge.advice, box, solve=1, units=inputs.reader.units)

            later = RigLater(later_rods, rig_for, in_reserve(stops, later_rods, tackle, in_calm))
    rigged = on_the_rods(free, rods, problem, tackle, ranked, knowledge.rods)
    if begin := knot_at_the_first(rigged, rods):
        problem = replace(problem, first=begin)
        rods = choose_rods(problem, knowledge.rods)
        rigged = on_the_rods(free, rods, problem, tackle, ranked, knowledge.rods)
    plan = joined_stays(with_choices(plan, replace(plan_inputs, choices=rigged)), knowledge.plan)
    named = {(stop.spot_id, stop.block_id): stop.choices for stop in plan.stops}
    reserve = in_reserve(named, rods, tackle, ranked)
    rods = by_use(rods, plan)
    plan = replace(plan, plan_b=as_rigged(plan.plan_b, search=any(one.setup.pace == "search" for one in rods.picks)))
    return Advised(
        rods=rods,
        reserve=reserve,
        rods_problem=problem,
        later=later,
        plan=with_rods(plan, rods, problem, knowledge.rods),
        blocks=blocks,
        conditions=conditions,
        spots=fishing,
        front=front,
        tackle=tackle,
        values=values,
        trade_scores=trade_scores(scores, blocks, spots, conditions, learned, knowledge),
        closed_season=closed_season(profile, inputs.day),
        spots_assumed=not profile.spots,
        nesting=_nesting(phases),
        plants=plants,
        mood=mood,
        trial=trial_of(learned, plan, mood),
        bait=bait_words((conditions[block.id].bait for block in blocks), knowledge),
        like_before=like_before(
            inputs, conditions, {one.id: one.name for one in knowledge.advice.presentations}, knowledge.log.like
        ),
    )


def whole_lake_spot(profile: LakeProfile) -> ProfileSpot:
    """Stand-in where the profile holds no spot: the shallows, with the cover usual for the kind of water."""
    usual = {
        LakeKind.SOUTHERN_GRASS: {Cover.GRASS_DENSE: 0.6, Cover.PADS: 0.2, Cover.GRASS_SPARSE: 0.2},
        LakeKind.HIGHLAND_RESERVOIR: {Cover.ROCK: 0.7, Cover.DOCK: 0.15, Cover.LAYDOWN: 0.15},
        LakeKind.LOWLAND_RESERVOIR: {Cover.LAYDOWN: 0.4, Cover.DOCK: 0.3, Cover.ROCK: 0.3},
        LakeKind.NORTHERN_NATURAL: {Cover.GRASS_DENSE: 0.5, Cover.REEDS: 0.25, Cover.DOCK: 0.25},
        LakeKind.FARM_POND: {Cover.GRASS_SPARSE: 0.5, Cover.LAYDOWN: 0.25, Cover.BARE: 0.25},
        LakeKind.TIDAL_RIVER: {Cover.GRASS_SPARSE: 0.4, Cover.LAYDOWN: 0.3, Cover.DOCK: 0.3},
    }[profile.kind]
    return ProfileSpot.model_validate(
        {
            "name": "The shallows near the ramp",
            "bank": "N",
            "depth": ["3 ft", f"{min(8.0, max(3.0, profile.mean_depth_m / 0.3048)):.0f} ft"],
            "cover": {cover.value: share for cover, share in usual.items()},
        }
    )


def _sun(inputs: MorningInputs) -> tuple[list[datetime], Floats]:
    start, end = local_day(inputs.day, inputs.profile.zone)
    count = int((end - start).total_seconds() // (SUN_STEP_MIN * 60)) + 1
    times = [start + timedelta(minutes=SUN_STEP_MIN * n) for n in range(count)]
    epoch = np.array([time.timestamp() for time in times])
    return times, sun_elevation_deg(inputs.profile.latitude, inputs.profile.longitude, epoch)


def _plan_hours(hazards: Hazards) -> tuple[PlanHour, ...]:
    series = hazards.series
    wind, direction = series.values("wind_mps"), series.values("wind_from_deg")
    gust, cloud = series.values("gust_mps"), series.values("cloud_pct") / 100.0
    out = []
    for level in hazards.levels:
        n = series.index_of(level.hour)
        out.append(
            PlanHour(
                start=level.hour,
                wind_mps=float(wind[n]),
                wind_from_deg=float(direction[n]),
                gust_mps=float(gust[n]),
                cloud_fraction=float(cloud[n]),
                level=level.level,
                open=is_open(level),
                rough=level.level is Level.CAUTION and any(one.name in ROUGH_FACTORS for one in level.deciding),
            )
        )
    return tuple(out)


def _block_mean(block: Block, hazards: Hazards, name: str) -> float:
    series = hazards.series
    first = max(0, series.index_of(block.start))
    last = max(first + 1, series.index_of(block.end - timedelta(seconds=1)) + 1)
    values = series.values(name)[first:last]
    known = values[np.isfinite(values)]
    return float(known.mean()) if known.size else float("nan")


def _block_wind_from(block: Block, hazards: Hazards) -> float:
    series = hazards.series
    first = max(0, series.index_of(block.start))
    last = max(first + 1, series.index_of(block.end - timedelta(seconds=1)) + 1)
    turn = np.exp(1j * np.radians(series.values("wind_from_deg")[first:last]))
    known = turn[np.isfinite(turn.real)]
    return float(np.degrees(np.angle(known.sum())) % 360.0) if known.size else float("nan")


def sky_class(cloud_pct: float, sun_deg: float) -> Sky:
    """Light class from cloud and the sun's height; unknown cloud counts as broken by day."""
    if sun_deg < -6.0:
        return Sky.NIGHT
    if sun_deg < 15.0:
        return Sky.LOW_SUN
    if np.isnan(cloud_pct):
        return Sky.BROKEN
    if cloud_pct >= 75.0:
        return Sky.OVERCAST
    if cloud_pct >= 25.0 or sun_deg < 35.0:
        return Sky.BROKEN
    return Sky.BRIGHT


def _conditions(
    block: Block,
    inputs: MorningInputs,
    knowledge: Knowledge,
    hazards: Hazards,
    water: WaterSeries,
    phases: Mapping[SpeciesForm, PhaseResult],
    clarity: Clarity,
    front: Front,
    where: Zone,
) -> Conditions:
    profile = inputs.profile
    wind = _block_mean(block, hazards, "wind_mps")
    form = profile.species[0]
    shares = phases[form].shares
    zone = where if where in water.zones else Zone.MAIN
    main = water.mean_c(zone)
    today = water.today_index
    shown = {} if shares.refused else shares.shown(zone=zone if zone in shares.zones else None)
    spread = _phase_spread(shown)
    sky = sky_class(_block_mean(block, hazards, "cloud_pct"), float(np.mean(block.sun_deg)))
    out = Conditions(
        phases={phase: mean for phase, (mean, _, _) in shown.items()}
        or _phases_unknown(form, float(main[today]), inputs, knowledge),
        water_temp_c=float(main[today]),
        species={one: 1.0 / (2.0**n) for n, one in enumerate(profile.species)},
        trend_3d_c=float(main[today] - main[max(0, today - 3)]),
        drop_24h_c=float(main[max(0, today - 1)] - main[today]),
        secchi_m=clarity.secchi_m,
        water_colour=clarity.colour,
        sky=sky,
        wind_mps=0.0 if np.isnan(wind) else wind,
        front_stage=front.stage,
        front_age_h=_front_age_h(front, max(block.start, inputs.outing.launch)),
        forage=profile.forage,
        lake_kind=profile.kind,
        craft=profile.craft,
        day=inputs.day,
        phase_spread=spread,
        bait=bait_at(inputs, knowledge, block.start, sky),
    )
    return fed(out, knowledge.advice.moments)


def _phases_unknown(
    form: SpeciesForm, water_c: float, inputs: MorningInputs, knowledge: Knowledge
) -> dict[Phase, float]:
    """Shares where the season is not known: by water temperature and date; all alike without a temperature."""
    if not np.isfinite(water_c):
        return {phase: 1.0 / len(Phase) for phase in Phase}
    return phase_from_temperature(form, water_c, inputs.day, inputs.profile.latitude, knowledge.advice)


def _front_age_h(front: Front, at: datetime) -> float | None:
    return None if front.passage is None or front.passage > at else (at - front.passage) / timedelta(hours=1)


def _phase_spread(shown: Mapping[Phase, tuple[float, float, float]]) -> float | None:
    """0 when one phase holds nearly all fish, towards 1 when two are as likely."""
    if not shown:
        return 1.0
    means = sorted((mean for mean, _, _ in shown.values()), reverse=True)
    return float(min(1.0, means[1] / means[0])) if means[0] > 0 else 1.0


def _placed(hazards: Hazards) -> dict[str, Place]:
    return {place.id: place for place in hazards.places if place.kind == "spot"}


def exposed_to(
    shape: LakeShape, place: Place | None, spot: ProfileSpot, block: Block, hazards: Hazards, assumed: bool
) -> bool | None:
    """True where the block's wind blows onto the bank the spot lies on, False in its lee, None in between."""
    wind = _block_wind_from(block, hazards)
    if np.isnan(wind):
        return None
    if any(abs((wind - side + 180.0) % 360.0 - 180.0) <= 30.0 for side in spot.shelter_deg):
        return False
    side = bank_side(shape, place, wind, assumed)
    return None if side == 0 else side > 0


def bank_side(shape: LakeShape, place: Place | None, from_deg: float, assumed: bool) -> int:
    """1 where the bank near a place faces what comes from a direction, -1 where it turns its back, 0 in between."""
    if place is None or assumed:
        return 0
    distance, _, edge = shape.nearest_shore(np.array(place.xy_m))
    return 0 if distance > NEAR_SHORE_M else int(np.sign(bank_sides(shape, from_deg)[edge]))


def _scores(
    blocks: Sequence[Block],
    spots: Sequence[ProfileSpot],
    conditions: Mapping[str, Conditions],
    fishing: Mapping[tuple[str, str], Spot],
    knowledge: Knowledge,
    tackle: TackleBox,
    learned: LogLearned,
) -> Floats:
    """Scores of every presentation; shape (blocks, spots, presentations)."""
    rows = [
        score_lake(
            [conditions[block.id]],
            [fishing[spot.id, block.id] for spot in spots],
            knowledge.advice,
            tackle,
            block_factors(learned, conditions[block.id], knowledge.log),
        )[0]
        for block in blocks
    ]
    return np.array(rows) if rows else np.zeros((0, len(spots), len(knowledge.advice.presentations)))


def _worth(scores: Floats) -> Floats:
    """Worth of each spot in each block, (spots, blocks): the mean of its best scores."""
    return np.asarray(np.sort(scores, axis=2)[:, :, -BEST_OF:].mean(axis=2).T, float)


def _places(
    inputs: MorningInputs,
    spots: Sequence[ProfileSpot],
    placed: Mapping[str, Place],
    blocks: Sequence[Block],
    conditions: Mapping[str, Conditions],
    fishing: Mapping[tuple[str, str], Spot],
    knowledge: Knowledge,
) -> Floats:
    """Factor on the worth of each spot by its depth in this phase, and by the sun on hard banks in cold water."""
    out = np.ones((len(spots), len(blocks)))
    for column, block in enumerate(blocks):
        at = conditions[block.id]
        for row, spot in enumerate(spots if at.phases else ()):
            out[row, column] = place_worth(at, fishing[spot.id, block.id], knowledge.advice)
            cold = at.water_temp_c is not None and at.water_temp_c < COLD_WATER_C
            if cold and _sunny_rock(inputs, spot, placed.get(spot.id)):
                out[row, column] *= SUNNY_LATE if block.name in LATE_BLOCKS else SUNNY_EARLY
    return out


def _warmed(inputs: MorningInputs, spot: ProfileSpot, place: Place | None, block: Block, at: Conditions) -> bool:
    """True for rock that the afternoon sun warms in cold water."""
    cold = at.water_temp_c is not None and at.water_temp_c < COLD_WATER_C and at.sky in (Sky.BRIGHT, Sky.BROKEN)
    return cold and block.name in LATE_BLOCKS and _sunny_rock(inputs, spot, place)


def afternoon_sun_deg(latitude_deg: float) -> float:
    """Where the afternoon sun of winter stands: past south, in the southern hemisphere past north."""
    return 180.0 + AFTERNOON_DEG if latitude_deg >= 0.0 else 360.0 - AFTERNOON_DEG


def _sunny_rock(inputs: MorningInputs, spot: ProfileSpot, place: Place | None) -> bool:
    """True for rock on a bank that faces the afternoon sun."""
    sun_deg = afternoon_sun_deg(inputs.profile.latitude)
    rock = spot.cover.get(Cover.ROCK, 0.0) >= 0.5 * sum(spot.cover.values())
    return rock and bank_side(inputs.shape, place, sun_deg, inputs.shape.assumed) == 1


def _completed(
    plan_inputs: PlanInputs,
    spots: Sequence[ProfileSpot],
    blocks: Sequence[Block],
    conditions: Mapping[str, Conditions],
    fishing: Mapping[tuple[str, str], Spot],
    places: Floats,
    knowledge: Knowledge,
    tackle: TackleBox,
    learned: LogLearned,
) -> PlanInputs:
    """Add the weight of the front, the words that hold at every spot, and its worth should the light turn."""
    middle = blocks[len(blocks) // 2].id if blocks else ""
    at = conditions.get(middle)
    if at is None or not at.phases:
        return plan_inputs
    words = {spot.id: situation_words(at, fishing[spot.id, middle], knowledge.advice, 0.0) for spot in spots}
    kind = likeliest_surprise(plan_inputs, knowledge.plan)
    values_if = {}
    if kind in SURPRISE_SKY:
        other = {key: replace(one, sky=SURPRISE_SKY[kind]) for key, one in conditions.items()}
        values_if[kind] = _worth(_scores(blocks, spots, other, fishing, knowledge, tackle, learned)) * places
    named = tuple(
        replace(
            spot,
            words=words[spot.id],
            shaded=shade_share(fishing[spot.id, middle], knowledge.advice) >= 0.5,
        )
        for spot in plan_inputs.spots
    )
    strength = max(
        front_weight(at, None, knowledge.advice),
        *(front_quiet(one, None, knowledge.advice) for one in conditions.values()),
    )
    cold = at.water_temp_c is not None and at.water_temp_c < COLD_WATER_C
    return replace(plan_inputs, spots=named, values_if=values_if, front_strength=strength, cold_water=cold)


def _plan_inputs(
    inputs: MorningInputs,
    knowledge: Knowledge,
    hazards: Hazards,
    spots: Sequence[ProfileSpot],
    placed: Mapping[str, Place],
    blocks: tuple[Block, ...],
    hours: tuple[PlanHour, ...],
    values: Floats,
    front: FrontStage,
    phases: Mapping[SpeciesForm, PhaseResult],
) -> PlanInputs:
    profile = inputs.profile
    points = [_home(hazards), *(_point(placed.get(spot.id), hazards) for spot in spots)]
    ways = water_ways(inputs.shape, points)
    window = next(
        (w for w in hazards.windows if w.end > max(inputs.outing.launch, inputs.now) and w.begin < inputs.outing.back),
        None,
    )
    out = hours_out(
        hazards.levels,
        hazards.windows,
        hazards.deadlines,
        launch=inputs.outing.launch,
        back=inputs.outing.back,
        fixed_launch=inputs.outing.fixed_launch,
        now=inputs.now,
    )
    window = None if out is None else window
    why_none = "" if window is not None else _no_hours(inputs, hazards)
    if closed_to_all(profile, inputs.day):
        window, why_none = None, "Closed season by your own note: nothing is suggested."
    launch = None if window is None else max(window.begin, inputs.outing.launch, inputs.now)
    ends = hazards.deadlines
    return PlanInputs(
        blocks=blocks,
        hours=hours,
        spots=tuple(_plan_spot(spot, hazards) for spot in spots),
        values=values,
        exceeds=_exceeds(hazards, spots, len(hours)),
        distance_m=ways.length_m,
        bearing_deg=ways.bearing_deg,
        speed_mps=profile.speed_mps,
        launch_from=launch,
        off_water_by=None if window is None or ends is None else min(ends.off_water_by, window.end),
        start_back_by=None if window is None or ends is None else ends.start_back_by,
        leave_by=() if ends is None else _leave_by(ends, spots, hazards.launch, near=not profile.spots),
        way_home_min=() if ends is None else _way_home_min(ends, spots, near=not profile.spots),
        closed_reason=why_none,
        nests=NestRules(
            closed=True if closed_season(profile, inputs.day) else (False if profile.rules else None),
            spawning=_spawning(phases),
        ),
        switches=tuple(knowledge.advice.switches),
        front=front,
        south=profile.latitude < 0.0,
        warm_half=inputs.normals.mean_c[inputs.day.timetuple().tm_yday - 1] >= float(inputs.normals.mean_c.mean()),
    )


def _no_hours(inputs: MorningInputs, hazards: Hazards) -> str:
    """Why there is no plan without hours out: they are over a limit, or can't be given since too much is not known."""
    hour, outing = timedelta(hours=1), inputs.outing
    levels = {one.level for one in hazards.levels if one.hour + hour > outing.launch and one.hour < outing.back}
    if Level.UNKNOWN in levels and Level.STOP not in levels:
        return TOO_MUCH_UNKNOWN
    return "Ashore in these hours: no fishing advice."


def _coolest(
    plan: PlanInputs,
    inputs: MorningInputs,
    knowledge: Knowledge,
    hazards: Hazards,
    conditions: Mapping[str, Conditions],
) -> PlanInputs:
    """The plan of hot water: only its coolest hours are fished, for the sake of what is released."""
    rules, begin, end = knowledge.plan.hot, plan.launch_from, plan.off_water_by
    known = [at.water_temp_c for at in conditions.values() if at.water_temp_c is not None]
    length = timedelta(hours=rules.fished_h)
    if begin is None or end is None or end - begin <= length or not known or min(known) < rules.water_c:
        return plan
    air = hazards.series.values("air_c")
    step = timedelta(minutes=SUN_STEP_MIN)
    starts = [begin + n * step for n in range(int((end - length - begin) / step) + 1)]

    def warmth(start: datetime) -> float:
        held = air[hazards.series.index_of(start) : hazards.series.index_of(start + length - step) + 1]
        return float(np.nan_to_num(held, nan=np.inf).mean())

    start = min(starts, key=warmth)
    water = show_temperature(min(known), inputs.reader.units, both=False)
    why = f"The water is {water}: only the {rules.fished_h:g} coolest hours are planned, for the fish you let go."
    return replace(plan, launch_from=start, off_water_by=start + length, cut_why=why)


def _leave_by(
    ends: Deadlines, spots: Sequence[ProfileSpot], launch: datetime, *, near: bool
) -> tuple[datetime | None, ...]:
    """Last moment to start back from each spot; from one too far for the hours it is the launch: never go there.

    near: the spots are the shallows by the ramp, which no way in ``ends`` leads to.
    """
    if near:
        by = ends.off_water_by - timedelta(minutes=NEAR_RAMP_MIN)
        return (by if ends.headway else None,) * len(spots)
    known = {way.place: way.start_by for way in ends.ways} | dict.fromkeys(ends.too_far, launch)
    return tuple(known.get(spot.name) for spot in spots)


def _way_home_min(ends: Deadlines, spots: Sequence[ProfileSpot], *, near: bool) -> tuple[float | None, ...]:
    if near:
        return (float(NEAR_RAMP_MIN),) * len(spots)
    known = {way.place: way.back_min for way in ends.ways}
    return tuple(known.get(spot.name) for spot in spots)


def _home(hazards: Hazards) -> tuple[float, float]:
    ramp = next((place for place in hazards.places if place.kind == "ramp"), None)
    return ramp.xy_m if ramp is not None else (0.0, 0.0)


def _point(place: Place | None, hazards: Hazards) -> tuple[float, float]:
    return place.xy_m if place is not None else _home(hazards)


def _plan_spot(spot: ProfileSpot, hazards: Hazards) -> PlanSpot:
    rows = hazards.table.rows(f"spot: {spot.name}")
    fetch = hazards.table.wave_fetch_m[rows[0], ::45] if rows.size else np.array([])
    return PlanSpot(
        id=spot.id,
        name=spot.name,
        flat=spot.depth_m[1] - spot.depth_m[0] < 1.0 and "bare" in spot.cover,
        nest_area=Flag.NEST_AREA in spot.flags,
        fetch_m=tuple(float(value) for value in np.nan_to_num(fetch, nan=np.inf)),
        shallowest_m=spot.depth_m[0],
        deepest_m=spot.depth_m[1],
    )


def _exceeds(hazards: Hazards, spots: Sequence[ProfileSpot], hours: int) -> NDArray[np.bool_]:
    """(spots, hours): True where waves at the spot pass the stop limit or are not known."""
    out = np.zeros((len(spots), hours), bool)
    for number, spot in enumerate(spots):
        rows = hazards.table.rows(f"spot: {spot.name}")
        if not rows.size:
            continue
        height = np.full(hours, np.nan) if hazards.sea is None else hazards.sea.hs_m[:, rows[0]]
        out[number] = ~(height < hazards.limits_in_use.waves_stop_m)
    return out


def _nesting(phases: Mapping[SpeciesForm, PhaseResult]) -> bool:
    """True where some fish of any form may be on beds in any zone, or their season isn't known."""
    for result in phases.values():
        shares = result.shares
        if shares.refused:
            return True
        if any(shares.shown(zone=zone)[Phase.SPAWN][0] >= NESTING_SHARE for zone in (None, *shares.zones)):
            return True
    return not phases


def _spawning(phases: Mapping[SpeciesForm, PhaseResult]) -> bool:
    for result in phases.values():
        if result.shares.refused:
            continue
        shown = result.shares.shown()
        if shown[Phase.SPAWN][0] >= SPAWNING_SHARE:
            return True
    return False


def _ranker(
    plan: DayPlan,
    inputs: MorningInputs,
    hazards: Hazards,
    water: WaterSeries,
    phases: Mapping[SpeciesForm, PhaseResult],
    clarity: Clarity,
    front: Front,
    spots: Sequence[ProfileSpot],
    fishing: Mapping[tuple[str, str], Spot],
    knowledge: Knowledge,
    learned: LogLearned,
    box: TackleBox,
) -> Ranker:
    """Ranks a stop of the route in full, in its own hours, waves and warmth, for any part of the tackle box."""
    by_id = {spot.id: spot for spot in spots}
    blocks = {block.block.id: block.block for block in plan.blocks}
    hours: dict[tuple[str, str], tuple[datetime, datetime]] = {}
    for stop in plan.stops:
        hours.setdefault((stop.spot_id, stop.block_id), (stop.arrive, stop.leave))

    def ranked(key: tuple[str, str], tackle: TackleBox) -> tuple[Choice, ...]:
        place, block = by_id[key[0]], replace(blocks[key[1]], start=hours[key][0], end=hours[key][1])
        at = _conditions(block, inputs, knowledge, hazards, water, phases, clarity, front, place.zone)
        at = replace(at, wave_height_m=_wave_at(hazards, place, block))
        spot = fishing[key]
        factors = spot_factors(learned, at, spot, knowledge.log)
        order = rank(at, spot, knowledge.advice, tackle, factors, solve=1, units=inputs.reader.units)
        shown = shown_three(order)
        if not factors:
            return shown
        # what the log moved is told of the whole box, whatever is on the rods
        before, after = (
            [one.id for one in rank(at, spot, knowledge.advice, box, moved, solve=0, units=inputs.reader.units)]
            for moved in (None, factors)
        )
        return with_log_words(shown, before, after, learned, spot, at, knowledge.log)

    return ranked


def _wave_at(hazards: Hazards, spot: ProfileSpot, block: Block) -> float | None:
    rows = hazards.table.rows(f"spot: {spot.name}")
    if not rows.size or hazards.sea is None:
        return None
    first = max(0, hazards.series.index_of(block.start))
    last = max(first + 1, hazards.series.index_of(block.end - timedelta(seconds=1)) + 1)
    height = hazards.sea.hs_m[first:last, rows[0]]
    known = height[np.isfinite(height)]
    return float(known.max()) if known.size else None
