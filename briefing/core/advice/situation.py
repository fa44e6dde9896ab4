"""What the conditions mean at a spot: expected mood, the depth of the fish, weight of a front, and situation words."""

from __future__ import annotations

from collections.abc import Mapping

from briefing.core.advice.conditions import Conditions, FrontStage, Spot, WaveClass, wave_class
from briefing.core.advice.knowledge import AdviceKnowledge
from briefing.core.advice.moments import moments_now
from briefing.core.advice.pace import Pace
from briefing.core.advice.presentation import SPECIES
from briefing.vocabulary import Bottom, Cover, Forage, LakeKind, Mood, Phase, Sky, SpeciesForm, WaterColour

#: Every word by which options and switches may be chosen; see ``situation_words``.
WORDS = frozenset(
    {
        *("default", "cold", "cool", "warm", "hot", "very_clear", "clear", "moderate", "stained", "dirty", "muddy"),
        *("clear_water", "green", "tannic", "muddy_water", "active", "neutral", "negative"),
        *("grass", "roof", "shade", "wood", "hard", "open", "calm", "ripple", "wind", "waves", "calm_bright"),
        *(
            "sun",
            "grey",
            "dim",
            "shallow",
            "mid",
            "deep",
            "high_tops",
            "near_tops",
            "post_front",
            "warming",
            "pressured",
        ),
        *("current", "seated", "burns", "heavy", *SPECIES),
        *(f"on_{item.value}" for item in Bottom),
        *(f"at_{item.value}" for item in Pace),
        *(item.value for kind in (Cover, Forage, Phase, Sky) for item in kind),
    }
)
GRASS = frozenset({Cover.GRASS_SPARSE, Cover.GRASS_DENSE, Cover.GRASS_TOPPED})
_USUAL_SECCHI_M = 1.2
#: Plants whose tops lie deeper than this are sunk to, not skimmed over, with a lure that has no weight.
_NEAR_TOPS_M = 1.0
_MOOD_VALUE = {Mood.NEGATIVE: -1.0, Mood.NEUTRAL: 0.0, Mood.ACTIVE: 1.0}
_LIGHT_SHIFT = {Sky.BRIGHT: 1.0, Sky.BROKEN: 0.3, Sky.OVERCAST: -1.0, Sky.LOW_SUN: -1.0, Sky.NIGHT: -1.4}


def ramp(value: float, span: tuple[float, float]) -> float:
    """0 below the first, 1 above the second number, a straight line between."""
    low, high = span
    return min(max((value - low) / (high - low), 0.0), 1.0)


def phase_shares(conditions: Conditions) -> dict[Phase, float]:
    """Shares scaled to sum to one; raises ValueError when all are zero."""
    total = sum(conditions.phases.values())
    if total <= 0.0:
        raise ValueError("phases must hold a share above 0")
    return {phase: share / total for phase, share in conditions.phases.items()}


def species_shares(conditions: Conditions, knowledge: AdviceKnowledge) -> dict[str, float]:
    """Shares by column of the presentation fits; largemouth when none is given."""
    out: dict[str, float] = {}
    for form, share in (conditions.species or {SpeciesForm.LARGEMOUTH_NORTHERN: 1.0}).items():
        column = knowledge.species[form].column
        out[column] = out.get(column, 0.0) + share
    total = sum(out.values())
    return {column: share / total for column, share in out.items()}


def secchi_m(conditions: Conditions, knowledge: AdviceKnowledge) -> float:
    """Secchi depth, or what is usual for this kind of water."""
    if conditions.secchi_m is not None:
        return conditions.secchi_m
    kind = conditions.lake_kind
    return knowledge.regions[kind].usual_secchi_m if kind else _USUAL_SECCHI_M


def water_colour(conditions: Conditions, knowledge: AdviceKnowledge) -> WaterColour:
    """Water colour, or what is usual for this kind of water, or what goes with the visibility."""
    if conditions.water_colour is not None:
        return conditions.water_colour
    if conditions.lake_kind is not None and conditions.secchi_m is None:
        return knowledge.regions[conditions.lake_kind].usual_colour
    depth = secchi_m(conditions, knowledge)
    return WaterColour.CLEAR if depth >= 2.0 else WaterColour.GREEN if depth >= 0.5 else WaterColour.MUDDY


def main_cover(spot: Spot) -> Cover:
    """The cover class with the largest share."""
    return max(spot.cover, key=lambda key: spot.cover[key])


def roof_share(spot: Spot, knowledge: AdviceKnowledge) -> float:
    """Share of the spot under a roof of leaves or matted grass."""
    total = sum(spot.cover.values()) or 1.0
    return sum(share for key, share in spot.cover.items() if knowledge.covers[key].roof) / total


def shade_share(spot: Spot, knowledge: AdviceKnowledge) -> float:
    """Share of the spot in shade: its own, or that of the cover."""
    total = sum(spot.cover.values()) or 1.0
    by_cover = sum(share for key, share in spot.cover.items() if knowledge.covers[key].shades) / total
    return max(spot.shade, by_cover)


def front_weight(conditions: Conditions, spot: Spot | None, knowledge: AdviceKnowledge) -> float:
    """How much a front counts here: by season, water, strain, fall of the water temperature, depth and current."""
    if conditions.front_strength is not None:
        return conditions.front_strength
    rules = knowledge.rules.factors
    weight = sum(share * knowledge.phases[phase].front_weight for phase, share in phase_shares(conditions).items())
    kind = conditions.lake_kind
    if kind is not None:
        weight *= knowledge.regions[kind].front_weight
    if kind is not LakeKind.SOUTHERN_GRASS and SpeciesForm.LARGEMOUTH_FLORIDA in conditions.species:
        weight *= rules.front_florida_strain
    ahead = conditions.front_stage in (FrontStage.APPROACHING, FrontStage.PASSAGE)
    if conditions.trend_3d_c is not None and not ahead:  # ahead of it the water has not fallen yet
        weight *= min(max(-conditions.trend_3d_c, 0.0) / rules.front_full_drop_c, 1.0)
    deep = kind is LakeKind.HIGHLAND_RESERVOIR and spot is not None and spot.depth_m[0] > 5.0
    if spot is not None and (spot.current or deep):
        weight *= rules.front_deep_or_moving
    return weight


def front_quiet(conditions: Conditions, spot: Spot | None, knowledge: AdviceKnowledge) -> float:
    """0 to 1: how much of the first quiet half-day after a front is left, by season, depth and current.

    Light, wind and a sudden fall of the air work at once; the water follows later and is counted in ``front_weight``.
    """
    age = conditions.front_age_h
    if age is None or conditions.front_stage is not FrontStage.DAY1 or conditions.front_strength is not None:
        return 0.0
    rules = knowledge.rules
    left = 1.0 - ramp(age, rules.factors.front_quiet_h)
    share = sum(part * rules.quiet[phase] for phase, part in phase_shares(conditions).items())
    kind = conditions.lake_kind
    deep = kind is LakeKind.HIGHLAND_RESERVOIR and spot is not None and spot.depth_m[0] > 5.0
    held = rules.factors.front_deep_or_moving if spot is not None and (spot.current or deep) else 1.0
    return left * share * held


def expected_mood(conditions: Conditions, spot: Spot | None, knowledge: AdviceKnowledge) -> float:
    """Mood from -1 (negative) over 0 (neutral) to 1 (active): what the user saw, else phase, front, trend and wind."""
    if conditions.mood is not None:
        return _MOOD_VALUE[conditions.mood]
    rules = knowledge.rules.mood
    mood = sum(share * knowledge.phases[phase].mood for phase, share in phase_shares(conditions).items())
    mood += _front_step(conditions, spot, knowledge) + _trend_step(conditions, knowledge)
    mood += rules.pressured if conditions.pressured else 0.0
    temp = conditions.water_temp_c
    low_oxygen = (
        conditions.oxygen_floor_m is not None and spot is not None and (spot.depth_m[0] > conditions.oxygen_floor_m)
    )
    if temp is not None and temp > rules.hot_above_c:
        mood += rules.hot * (rules.hot_low_sun if conditions.sky is Sky.LOW_SUN else 1.0)
    elif low_oxygen:
        mood += rules.low_oxygen
    if conditions.sky is Sky.LOW_SUN and temp is not None and rules.low_sun_c[0] <= temp <= rules.low_sun_c[1]:
        mood += rules.low_sun
    mood += sum(moment.mood for moment in moments_now(conditions, spot, knowledge.moments))
    moving = 1.0 if spot is not None and spot.current else ramp(conditions.wind_mps, rules.fresh_wind_mps)
    return min(max(mood + rules.moving_water * moving, -1.0), 1.0)


def _front_step(conditions: Conditions, spot: Spot | None, knowledge: AdviceKnowledge) -> float:
    stage = conditions.front_stage
    if stage is None or stage is FrontStage.NONE:
        return 0.0
    rules = knowledge.rules.mood
    step = {
        FrontStage.APPROACHING: rules.approaching,
        FrontStage.PASSAGE: rules.passage,
        FrontStage.DAY1: rules.day1,
        FrontStage.DAY2: rules.day2,
        FrontStage.RECOVERING: rules.recovering,
    }[stage]
    if step >= 0.0:
        return step
    return step * max(min(front_weight(conditions, spot, knowledge), 1.3), front_quiet(conditions, spot, knowledge))


def _trend_step(conditions: Conditions, knowledge: AdviceKnowledge) -> float:
    trend, temp, rules = conditions.trend_3d_c, conditions.water_temp_c, knowledge.rules.mood
    if temp is None:
        return 0.0
    cold = 1.0 - ramp(temp, (rules.cold_below_c, rules.cold_below_c + 1.0))
    fall = max(-(trend or 0.0), conditions.drop_24h_c or 0.0)
    step = rules.cooling_cold_water * ramp(fall, rules.cooling_from_c)
    step += rules.warming_cold_water * ramp(trend or 0.0, rules.warming_from_c)
    return cold * step


def feeding_up(conditions: Conditions, spot: Spot, knowledge: AdviceKnowledge) -> float:
    """How much the fish of a place come up to feed, 0 to 1: in low sun, warm water and shallows, post-spawn to autumn.

    Not in the quiet behind a front.
    """
    rules, temp = knowledge.rules.factors, conditions.water_temp_c
    if conditions.sky is not Sky.LOW_SUN or temp is None:
        return 0.0
    shares = phase_shares(conditions)
    season = sum(shares.get(phase, 0.0) for phase in (Phase.POSTSPAWN, Phase.SUMMER, Phase.AUTUMN))
    shallow = 1.0 - ramp(spot.depth_m[0], rules.dawn_shallow_m)
    return season * shallow * ramp(temp, rules.dawn_from_c) * (1.0 - front_quiet(conditions, spot, knowledge))


def fish_depth_m(conditions: Conditions, spot: Spot, knowledge: AdviceKnowledge) -> tuple[float, float]:
    """Band of depth in which the fish of this spot are looked for.

    Given one depth, they stand near the bottom, in thin water anywhere in its lower half, and in upright cover (grass,
    docks, fallen trees) over most of it. Grass whose tops are known holds its fish about them, and in the sun a tall
    wall of it down to its foot; brush from a little above its crowns to its foot. At docks in deep water they hang in
    the shade. In a spot with a range of depth the habits of the phase, a front and the light choose the part. Oxygen
    sets the floor. Bait that gathers in the upper water draws them up to it.
    """
    low, high = spot.depth_m
    upper = [one.upper_m for one in moments_now(conditions, spot, knowledge.moments) if one.upper_m is not None]
    if upper:  # what they eat is up there
        return 0.5 * min(*upper, high), min(*upper, high)
    floor = conditions.oxygen_floor_m
    if floor is not None:
        high = max(min(high, floor), 0.3)
        low = min(low, high)
    grass = sum(share for key, share in spot.cover.items() if key in GRASS) >= 0.5 * sum(spot.cover.values())
    rules = knowledge.rules.cover
    if grass and spot.cover_top_m is not None and spot.cover_top_m < high:
        top = spot.cover_top_m
        sunny = conditions.sky in (Sky.BRIGHT, Sky.BROKEN) and high - top >= rules.wall_m
        low = max(top, 0.1) if sunny else max(top - rules.over_tops_m, 0.1)
        return low, high if sunny else min(high, max(top, 0.3) + rules.into_grass_m)
    if main_cover(spot) is Cover.BRUSH and spot.cover_top_m is not None and spot.cover_top_m < high:
        return max(spot.cover_top_m - rules.over_crowns_m, 0.1), high
    if main_cover(spot) is Cover.DOCK and high >= rules.floats_from_m:
        return rules.under_floats_m[0], min(rules.under_floats_m[1], high)
    if high - low < 0.3:
        standing = sum(share for key, share in spot.cover.items() if knowledge.covers[key].upright)
        if standing >= 0.5 * sum(spot.cover.values()):
            return rules.upright_part * low, high
        return max(low - rules.over_bottom_m, 0.5 * low), high
    if conditions.lake_kind is None:
        return low, high
    return _habit_part(conditions, spot, knowledge, low, high)


def _habit_part(
    conditions: Conditions, spot: Spot, knowledge: AdviceKnowledge, low: float, high: float
) -> tuple[float, float]:
    rules = knowledge.rules.depth
    shift = rules.light_shift_secchi * secchi_m(conditions, knowledge) * _LIGHT_SHIFT[conditions.sky]
    shift = min(max(shift, -rules.light_shift_most_m), rules.light_shift_most_m)
    wanted_low = wanted_high = 0.0
    for phase, share in phase_shares(conditions).items():
        info = knowledge.phases[phase]
        assert conditions.lake_kind is not None
        habit = info.habits[conditions.lake_kind]
        moved = (
            shift + _front_shift_m(conditions, spot, knowledge, phase) + _level_shift_m(conditions, knowledge, phase)
        )
        wanted_low += share * (habit.depth_m[0] + moved)
        wanted_high += share * (habit.depth_m[1] + moved)
    part_low, part_high = max(low, wanted_low), min(high, wanted_high)
    if part_high - part_low >= 0.3:
        band = _narrowed(part_low, part_high, (wanted_low + wanted_high) / 2, rules.most_band_m)
    else:
        third = (high - low) / 3
        band = (low, low + third) if wanted_high < (low + high) / 2 else (high - third, high)
    up = feeding_up(conditions, spot, knowledge)
    top = min(high, low + knowledge.rules.factors.dawn_band_m)
    return band[0] + up * (low - band[0]), band[1] + up * (min(band[1], top) - band[1])


def _narrowed(low: float, high: float, middle: float, most: float) -> tuple[float, float]:
    """The part of a band, at most so wide, that lies nearest to the middle of what the fish use."""
    if high - low <= most:
        return low, high
    start = min(max(middle - most / 2, low), high - most)
    return start, start + most


def level_changes(conditions: Conditions, knowledge: AdviceKnowledge) -> dict[str, float]:
    """How much a rising or falling level counts, 0 to 1 by the ids of the phase changes."""
    moved = conditions.level_change_24h_m or 0.0
    span = knowledge.rules.factors.level_change_m
    return {"rising_water": ramp(moved, span), "falling_water": ramp(-moved, span)}


def _level_shift_m(conditions: Conditions, knowledge: AdviceKnowledge, phase: Phase) -> float:
    changes = knowledge.phases[phase].changes
    counts = level_changes(conditions, knowledge)
    return sum(strength * changes[kind].depth_shift_m for kind, strength in counts.items())


def _front_shift_m(conditions: Conditions, spot: Spot, knowledge: AdviceKnowledge, phase: Phase) -> float:
    if conditions.front_stage not in (FrontStage.DAY1, FrontStage.DAY2):
        return 0.0
    weight = max(min(front_weight(conditions, spot, knowledge), 1.0), front_quiet(conditions, spot, knowledge))
    return knowledge.phases[phase].changes["cold_front"].depth_shift_m * weight


#: What is fished beside rather than over, however near to the surface it reaches.
_BESIDE = frozenset({Cover.DOCK, Cover.LAYDOWN, Cover.ROCK, Cover.BARE})


def situation_words(conditions: Conditions, spot: Spot, knowledge: AdviceKnowledge, mood: float) -> frozenset[str]:
    """Words for the hour and the place by which trailers, retrieves, set-ups, blades and switches are chosen.

    temperature: cold (< 12 C), cool (< 18), warm, hot (> 26); clarity: very_clear, clear, moderate, stained, dirty,
    muddy; water colour: clear_water, green, tannic, muddy_water; mood: active, neutral, negative; cover: the class and
    grass, roof, wood, hard, open; surface: calm, ripple, wind, waves; light: sun, grey, dim, night and the sky's id;
    depth: shallow (< 1.5 m), mid, deep (> 4 m); post_front, warming, pressured, current, craft, phase, forage, species.
    """
    words = _water_words(conditions, knowledge) | _surface_words(conditions, spot, knowledge)
    cover = main_cover(spot)
    info = knowledge.covers[cover]
    flags = {"grass": info.grass, "roof": info.roof, "hard": info.hard, "shade": info.shades}
    words |= {cover.value} | {name for name, on in flags.items() if on}
    words |= {"wood"} if cover in (Cover.LAYDOWN, Cover.BRUSH) else set()
    words |= {"open"} if cover is Cover.BARE else set()
    words |= {f"on_{spot.bottom.value}"} if spot.bottom is not None else set()
    words |= {"burns"} if knowledge.paces.at(conditions.water_temp_c).most is Pace.BURN else set()
    middle = sum(fish_depth_m(conditions, spot, knowledge)) / 2
    words |= {"shallow" if middle < 1.5 else "mid" if middle <= 4.0 else "deep"}
    words |= {"active" if mood > 0.4 else "negative" if mood < -0.4 else "neutral"}
    shares = phase_shares(conditions)
    words |= {max(shares, key=lambda phase: shares[phase]).value}
    words |= {item.value for item in conditions.forage}
    words |= {column for column, share in species_shares(conditions, knowledge).items() if share >= 0.4}
    flags = {
        "post_front": conditions.front_stage in (FrontStage.DAY1, FrontStage.DAY2),
        "warming": (conditions.trend_3d_c or 0.0) >= 1.0,
        "pressured": conditions.pressured,
        "current": spot.current,
        "seated": conditions.craft.value in ("kayak", "canoe"),
        "high_tops": cover not in _BESIDE and spot.cover_top_m is not None and spot.cover_top_m < 0.6,
        "near_tops": info.grass and (spot.cover_top_m is None or spot.cover_top_m < _NEAR_TOPS_M),
    }
    return frozenset(words | {name for name, on in flags.items() if on})


def _water_words(conditions: Conditions, knowledge: AdviceKnowledge) -> set[str]:
    depth, colour = secchi_m(conditions, knowledge), water_colour(conditions, knowledge)
    names = {WaterColour.CLEAR: "clear_water", WaterColour.MUDDY: "muddy_water"}
    words = {knowledge.colours.clarity(depth), names.get(colour, colour.value)}
    temp = conditions.water_temp_c
    if temp is not None:
        words.add("cold" if temp < 12.0 else "cool" if temp < 18.0 else "warm" if temp <= 26.0 else "hot")
    return words


def _surface_words(conditions: Conditions, spot: Spot, knowledge: AdviceKnowledge) -> set[str]:
    surface: Mapping[WaveClass, set[str]] = {
        WaveClass.FLAT: {"calm"},
        WaveClass.RIPPLE: {"ripple"},
        WaveClass.CHOP: {"wind"},
        WaveClass.WAVES: {"wind", "waves"},
    }
    light: Mapping[Sky, set[str]] = {
        Sky.BRIGHT: {"sun"},
        Sky.BROKEN: {"sun"},
        Sky.OVERCAST: {"grey"},
        Sky.LOW_SUN: {"dim"},
        Sky.NIGHT: {"dim"},
    }
    words = surface[wave_class(conditions)] | light[conditions.sky] | {conditions.sky.value}
    if shade_share(spot, knowledge) >= 0.5:
        words = words - {"sun"} | {"dim"}
    if "calm" in words and conditions.sky is Sky.BRIGHT:
        words.add("calm_bright")
    return words
