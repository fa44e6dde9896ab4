"""Draws situations evenly over season, water, cover and weather, and counts contradictions in what advice shows.

Month, latitude, kind of water, cover, depth, visibility, wind and sky are drawn evenly; the water temperature comes
from a band of that month and latitude. ``python -m briefing.tools.sweep_advice --seeds 2000`` prints the counts of each
kind of contradiction, how often three choices were shown, and which lures came first or were shown too often.
"""

from __future__ import annotations

import argparse
import math
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from random import Random

from briefing.core.advice.choice import Choice
from briefing.core.advice.conditions import Conditions, Spot
from briefing.core.advice.knowledge import AdviceKnowledge
from briefing.core.advice.presentation import Presentation
from briefing.core.advice.ranking import rank, shown_three
from briefing.core.advice.season import phase_from_temperature
from briefing.core.advice.situation import GRASS, main_cover, situation_words
from briefing.core.advice.weight import rule_g
from briefing.core.phase.forms import form_for
from briefing.knowledge import load_advice_knowledge
from briefing.vocabulary import Cover, Forage, LakeKind, Mood, Phase, Sky, SpeciesForm, WaterColour

_THICK = (Cover.GRASS_DENSE, Cover.GRASS_TOPPED, Cover.PADS, Cover.REEDS)
_STEMS = (Cover.GRASS_TOPPED, Cover.PADS, Cover.REEDS)
_HARD_WIND_MPS, _SURFACE_FROM_C, _NESTS_FROM_C = 6.7, 12.8, 7.2
_CLEAR_M, _LEAST_WEIGHT, _MOST_WEIGHT = 2.2, 0.65, 3.3
_DEEP_IN_M = 0.5
#: What only the order can avoid: such a lure may stand far down, but is never among the three.
OF_THE_ORDER = frozenset(
    {
        *("surface lure in the cold", "trebles in a roof or pads", "weightless bait in hard wind"),
        *("metal in shallow wood", "finesse in mud"),
    }
)
_FIRST_SHARE, _SHOWN_SHARE = 0.15, 0.30
_COVERS = {
    LakeKind.SOUTHERN_GRASS: "grass_sparse grass_dense grass_topped pads reeds dock bare",
    LakeKind.HIGHLAND_RESERVOIR: "rock bare dock brush laydown",
    LakeKind.LOWLAND_RESERVOIR: "grass_sparse grass_dense laydown brush dock rock bare reeds",
    LakeKind.NORTHERN_NATURAL: "grass_sparse grass_dense reeds pads rock bare dock",
    LakeKind.FARM_POND: "grass_sparse grass_topped pads laydown dock bare reeds",
    LakeKind.TIDAL_RIVER: "grass_sparse grass_dense pads reeds laydown dock rock",
}
_DEEPEST_M = {
    **{LakeKind.SOUTHERN_GRASS: 3.0, LakeKind.HIGHLAND_RESERVOIR: 11.0, LakeKind.LOWLAND_RESERVOIR: 7.0},
    **{LakeKind.NORTHERN_NATURAL: 9.0, LakeKind.FARM_POND: 3.5, LakeKind.TIDAL_RIVER: 3.5},
}
_SEEN_M = {
    **{LakeKind.SOUTHERN_GRASS: (0.5, 2.0), LakeKind.HIGHLAND_RESERVOIR: (1.0, 5.0)},
    **{LakeKind.LOWLAND_RESERVOIR: (0.3, 2.0), LakeKind.NORTHERN_NATURAL: (1.0, 6.0)},
    **{LakeKind.FARM_POND: (0.3, 1.5), LakeKind.TIDAL_RIVER: (0.3, 1.2)},
}
_FORAGE = {
    LakeKind.SOUTHERN_GRASS: "shiner bluegill shad",
    LakeKind.HIGHLAND_RESERVOIR: "shad herring crawfish",
    LakeKind.LOWLAND_RESERVOIR: "shad crawfish bluegill",
    LakeKind.NORTHERN_NATURAL: "perch crawfish bluegill goby",
    LakeKind.FARM_POND: "bluegill crawfish frog",
    LakeKind.TIDAL_RIVER: "shad bluegill crawfish",
}
_SHALLOW = (Cover.PADS, Cover.REEDS, Cover.GRASS_TOPPED, Cover.LAYDOWN)


@dataclass(frozen=True)
class Situation:
    """One drawn situation."""

    conditions: Conditions
    spot: Spot

    def words(self) -> str:
        """Few words to find it again."""
        c, s = self.conditions, self.spot
        phase = max(c.phases, key=lambda key: c.phases[key])
        place = f"{main_cover(s)} {s.depth_m[1]:.1f} m, top {s.cover_top_m}"
        water = f"{phase} {c.water_temp_c:.0f} C, {c.lake_kind}, {place}, sees {c.secchi_m:.1f} m"
        return f"{water}, {c.wind_mps:.0f} m/s, {c.sky}"


def water_c(month: int, latitude_deg: float) -> float:
    """Middle of the band of water temperature of a month and latitude, C; plain fit for drawing situations."""
    mean = 24.0 - 0.72 * (latitude_deg - 27.0)
    swing = 6.5 + 0.36 * (latitude_deg - 27.0)
    return max(mean + swing * math.cos(2.0 * math.pi * (month - 7.7) / 12.0), 3.5)


def draw(seed: int, knowledge: AdviceKnowledge) -> Situation:
    """One situation by its seed."""
    random = Random(seed)
    month, latitude = random.randint(1, 12), random.uniform(26.5, 46.0)
    kinds = [kind for kind in LakeKind if _lies(kind, latitude)]
    kind = random.choice(kinds)
    names = ["largemouth", "largemouth"]
    names += ["spotted", "smallmouth"] if kind is LakeKind.HIGHLAND_RESERVOIR else []
    names += ["smallmouth"] if kind is LakeKind.NORTHERN_NATURAL else []
    form: SpeciesForm = form_for(random.choice(names), latitude, kind)
    temp = max(water_c(month, latitude) + random.uniform(-3.0, 3.0), 3.0)
    day = date(2026, month, random.randint(1, 28))
    cover = Cover(random.choice(_COVERS[kind].split()))
    deepest = min(
        _DEEPEST_M[kind], 1.8 if cover in _SHALLOW else 4.5 if cover in GRASS or cover is Cover.DOCK else 99.0
    )
    depth = random.uniform(0.6, deepest)
    top = None
    if cover is Cover.GRASS_TOPPED:
        top = 0.0
    elif cover in GRASS or cover is Cover.BRUSH:
        top = random.uniform(0.15, 0.8) * depth
    low, high = _SEEN_M[kind]
    seen = math.exp(random.uniform(math.log(low), math.log(high)))
    colour = WaterColour.CLEAR if seen > 2.0 else WaterColour.MUDDY if seen < 0.4 else WaterColour.GREEN
    if kind is LakeKind.SOUTHERN_GRASS and random.random() < 0.5:
        colour = WaterColour.TANNIC
    foods = _FORAGE[kind].split()
    random.shuffle(foods)
    conditions = Conditions(
        phases=phase_from_temperature(form, temp, day, latitude, knowledge),
        water_temp_c=temp,
        species={form: 1.0},
        secchi_m=seen,
        water_colour=colour,
        sky=random.choice(list(Sky)),
        wind_mps=random.uniform(0.0, 8.5),
        mood=random.choice([None, *Mood]),
        forage=tuple(Forage(food) for food in foods[:2]),
        lake_kind=kind,
        day=day,
    )
    return Situation(conditions, Spot(depth_m=(depth, depth), cover={cover: 1.0}, cover_top_m=top))


def _lies(kind: LakeKind, latitude: float) -> bool:
    south = {LakeKind.SOUTHERN_GRASS: latitude < 33.0, LakeKind.NORTHERN_NATURAL: latitude > 40.0}
    return south.get(kind, latitude < 40.0 if kind is not LakeKind.FARM_POND else True)


# ---- what contradicts ----------------------------------------------------------------------------------------------


def faults_of(choice: Choice, situation: Situation, knowledge: AdviceKnowledge) -> Iterator[str]:
    """Kinds of contradiction in one shown choice."""
    item = knowledge.presentation(choice.id)
    yield from _weight_faults(choice, item, situation)
    yield from _depth_faults(choice, item, situation)
    yield from _gear_faults(choice, item, situation)
    yield from _retrieve_faults(choice, situation, knowledge)
    yield from _colour_faults(choice, item, situation, knowledge)
    yield from _misfits(choice, item, situation)


def _weight_faults(choice: Choice, item: Presentation, situation: Situation) -> Iterator[str]:
    if not item.weight_by_depth or choice.weight_g is None:
        return
    depth = situation.spot.depth_m[1]
    if "bottom" not in item.traits and choice.running_depth_m is not None:
        depth = min(sum(choice.running_depth_m) / 2, depth, situation.spot.cover_top_m or depth)
    if "crowns" in choice.depth_text and situation.spot.cover_top_m is not None:
        depth = min(depth, situation.spot.cover_top_m)  # fished there, not at their foot
    rule = rule_g(item, depth)
    cold = (situation.conditions.water_temp_c or 99.0) < 10.0 and "bottom" in item.traits
    steps = [step.grams for step in item.weights]
    least = _LEAST_WEIGHT * rule * (0.75 if cold else 1.0)
    if choice.weight_g < least and choice.weight_g < steps[-1] and not choice.depth_text.startswith("just under"):
        yield "weight a step light"
    if choice.weight_g > max(_MOST_WEIGHT * rule, steps[0] + 0.1):
        yield "weight far too heavy"
    windy = situation.conditions.wind_mps > 5.5 and "bottom" in item.traits
    if windy and choice.weight_g < min(0.95 * rule * (0.75 if cold else 1.0), steps[-1]):
        yield "wind not reckoned"


def _depth_faults(choice: Choice, item: Presentation, situation: Situation) -> Iterator[str]:
    bottom = situation.spot.depth_m[1]
    if choice.running_depth_m is None:
        return
    low, high = choice.running_depth_m
    if not 0.0 <= low <= high <= bottom + 1e-6:
        yield "depth outside the water"
    if choice.depth_text.startswith("on the bottom") and high < 0.95 * bottom:
        yield "bottom where it is not"
    top = situation.spot.cover_top_m
    swims = item.fall is not None and item.fall.swim_drag_area_m2 is not None and "bottom" not in item.traits
    reeled = choice.retrieve is not None and choice.retrieve.id in ("steady", "rip_free", "over_top", "stutter", "burn")
    tall = top is not None and main_cover(situation.spot) in GRASS and bottom - top > _DEEP_IN_M
    lipped = item.group in ("crankbait", "jerkbait")
    named = bool(choice.out_of_season)  # what is said to be the least bad
    if (
        not named
        and (lipped or (swims and reeled))
        and tall
        and top is not None
        and (low + high) / 2 > top + _DEEP_IN_M
    ):
        yield "reeled deep inside the grass"
    if item.surface and high > 0.0:
        yield "surface lure below the surface"


def _gear_faults(choice: Choice, item: Presentation, situation: Situation) -> Iterator[str]:
    setup = choice.setup
    if setup is None or choice.weight_g is None:
        yield "no gear"
        return
    cover, power = main_cover(situation.spot), setup.rod.split(", ")[0].split()[-1]
    pounds = [float(number) for number in re.findall(r"\d+(?:\.\d+)?", setup.line.split(" lb")[0])]
    weedless = not item.trebles and not item.traits & {"thin_line", "finesse"}
    if cover in _THICK and weedless and item.cover[cover].fit >= 0.3:
        if "braid" not in setup.line or pounds[-1] < 40.0:
            yield "no strong braid in thick plants"
        if setup.leader is not None:
            yield "leader in thick plants"
    if 0.0 < choice.weight_g < 4.5 and not item.surface and power in ("heavy", "extra-heavy"):
        yield "light lure on a heavy rod"
    if choice.weight_g > 25.0 and power in ("medium", "medium-light", "light"):
        yield "heavy lure on a light rod"
    if choice.weight_g > 40.0 and pounds[-1] < 17.0:
        yield "heavy lure on thin line"
    ratio = [float(number) for number in re.findall(r"\d+(?:\.\d+)?", setup.reel.split(":")[0])]
    fast = choice.retrieve is not None and choice.retrieve.id == "burn" and "baitcast" in setup.reel
    if fast and ratio[-1] < 7.0 and item.group != "crankbait":
        yield "fast retrieve on a slow reel"


def _retrieve_faults(choice: Choice, situation: Situation, knowledge: AdviceKnowledge) -> Iterator[str]:
    retrieve = choice.retrieve
    if retrieve is None:
        yield "no retrieve"
        return
    known = knowledge.paces.retrieves[retrieve.id]
    words = situation_words(situation.conditions, situation.spot, knowledge, 0.0)
    if known.needs and not known.needs & words:
        yield f"{retrieve.id} where there is nothing for it"
    if known.layer == "level" and choice.depth_text.startswith("on the bottom"):
        yield "held at a level on the bottom"
    if known.layer == "ground" and choice.depth_text.startswith("just under"):
        yield "bottom retrieve under the surface"
    if retrieve.reel_turns_per_10s is not None and retrieve.id == "burn" and retrieve.reel_turns_per_10s < 17:
        yield "fast retrieve at few turns"
    if retrieve.reel_turns_per_10s is not None and retrieve.reel_turns_per_10s > 40:
        yield "more turns than a hand makes"
    if not choice.how or len(choice.how.split()) > 60:
        yield "how missing or too long"


def _colour_faults(
    choice: Choice, item: Presentation, situation: Situation, knowledge: AdviceKnowledge
) -> Iterator[str]:
    families = {family.id: family for family in knowledge.colours.families}
    tones = [families[pick.id].tone for pick in choice.colours]
    conditions = situation.conditions
    has_dark = any(one.tone == "dark" and item.colour_role in one.roles for one in families.values())
    if conditions.sky is Sky.NIGHT and has_dark and "light" in tones:
        yield "pale at night"
    sunny = conditions.sky in (Sky.BRIGHT, Sky.BROKEN) and main_cover(situation.spot) not in (*_STEMS, Cover.DOCK)
    if sunny and (conditions.secchi_m or 0.0) >= _CLEAR_M and "dark" in tones:
        yield "black in sun and clear water"
    if len(tones) == 2 and not choice.second_when:
        yield "second colour without its when"
    if "flashes" in item.traits and not choice.flash:
        yield "blade without a finish"


def _misfits(choice: Choice, item: Presentation, situation: Situation) -> Iterator[str]:
    if choice.out_of_season:
        return
    conditions, cover = situation.conditions, main_cover(situation.spot)
    if item.surface and (conditions.water_temp_c or 99.0) < _SURFACE_FROM_C:
        yield "surface lure in the cold"
    if item.trebles and cover in (Cover.GRASS_TOPPED, Cover.PADS):
        yield "trebles in a roof or pads"
    if item.traits & {"weightless"} and choice.weight_g == 0.0 and conditions.wind_mps >= _HARD_WIND_MPS:
        yield "weightless bait in hard wind"
    if item.group == "vertical" and cover in (Cover.LAYDOWN, Cover.BRUSH) and situation.spot.depth_m[1] < 2.0:
        yield "metal in shallow wood"
    if item.id in ("drop_shot", "hair_jig") and (conditions.secchi_m or 9.0) < 0.4:
        yield "finesse in mud"


def phase_faults(situation: Situation) -> Iterator[str]:
    """Shares of phases that a date and a temperature rule out."""
    shares, conditions = situation.conditions.phases, situation.conditions
    nesting = shares.get(Phase.SPAWN, 0.0) + shares.get(Phase.POSTSPAWN, 0.0)
    if (conditions.water_temp_c or 99.0) < _NESTS_FROM_C and nesting > 0.03:
        yield "nests below 45 F"
    late = conditions.day is not None and conditions.day >= date(conditions.day.year, 7, 20)
    if late and (conditions.water_temp_c or 0.0) >= 23.0 and shares.get(Phase.POSTSPAWN, 0.0) > 0.2:
        yield "post-spawn in warm water after mid-July"


@dataclass
class Tally:
    """What a sweep found."""

    situations: int
    kinds: Counter[str]
    examples: dict[str, str]
    shown: Counter[str]
    first: Counter[str]
    three: int

    def lines(self) -> list[str]:
        """The counts as text."""
        total = sum(self.kinds.values())
        out = [f"{self.situations} situations, {total} contradictions"]
        out += [f"  {count:5d}  {kind}: {self.examples[kind]}" for kind, count in self.kinds.most_common()]
        out.append(f"three choices in {self.three / self.situations:.1%}")
        for name, counter, limit in (("first", self.first, _FIRST_SHARE), ("shown", self.shown, _SHOWN_SHARE)):
            top = ", ".join(f"{key} {count / self.situations:.0%}" for key, count in counter.most_common(8))
            over = [key for key, count in counter.items() if count / self.situations > limit]
            out.append(f"{name}: {top}; over {limit:.0%}: {', '.join(over) or 'none'}")
        return out


def sweep(seeds: int, knowledge: AdviceKnowledge, start: int = 0) -> Tally:
    """Draw so many situations and count."""
    tally = Tally(seeds, Counter(), {}, Counter(), Counter(), 0)
    for seed in range(start, start + seeds):
        situation = draw(seed, knowledge)
        shown = shown_three(rank(situation.conditions, situation.spot, knowledge, solve=1, units="us"))
        tally.three += len(shown) == 3
        tally.shown.update(choice.id for choice in shown)
        tally.first.update(choice.id for choice in shown[:1])
        found = [(kind, "") for kind in phase_faults(situation)]
        found += [] if shown else [("no choice at all", "")]
        for choice in shown:
            found += [(kind, choice.id) for kind in faults_of(choice, situation, knowledge)]
        for kind, name in found:
            tally.kinds[kind] += 1
            tally.examples.setdefault(kind, f"seed {seed}, {name or 'phase'}, {situation.words()}")
    return tally


def main(words: Sequence[str] | None = None) -> int:
    """Run from the command line; status 1 when a contradiction was found."""
    parser = argparse.ArgumentParser(description="Counts contradictions in advice over drawn situations.")
    parser.add_argument("--seeds", type=int, default=2000, help="how many situations")
    parser.add_argument("--start", type=int, default=0, help="the first seed")
    given = parser.parse_args(words)
    tally = sweep(given.seeds, load_advice_knowledge(), given.start)
    print("\n".join(tally.lines()))
    return 1 if tally.kinds else 0


if __name__ == "__main__":
    raise SystemExit(main())
