"""Colour: from visibility and water colour over the light at the lure to tone, flash and hue families, with reasons.

Place and depth, speed and size, dark or light, and flash matter more than hue; so two families of different tone are
offered, never hue against hue. Scores are added up inside. Adult largemouth bass have cones that peak near 535 and
614 nm and none for blue (Mitchem et al. 2019, "Seeing red: color vision in the largemouth bass", Current Zoology 65),
so contrast is reckoned in a green and a red band; yellow-green and white count as one brightness, blue and black as
one darkness.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from briefing.core.advice.choice import ColourPick
from briefing.core.advice.knowledge import ColourFamily, ColourKnowledge
from briefing.core.advice.moments import Moment
from briefing.core.advice.options import best_option, fit_of
from briefing.vocabulary import Cover, Forage, Phase, Sky, WaterColour

_LIGHT_GROUP = {Sky.NIGHT: "dim", Sky.LOW_SUN: "dim", Sky.OVERCAST: "grey", Sky.BROKEN: "sun", Sky.BRIGHT: "sun"}
_WATER_WORD = {WaterColour.CLEAR: "clear_water", WaterColour.MUDDY: "muddy_water"}
#: Brightness of the water behind a lure over the light that falls on it, level to slightly upward view; judgement.
_VEIL = {WaterColour.CLEAR: 0.15, WaterColour.GREEN: 0.20, WaterColour.TANNIC: 0.15, WaterColour.MUDDY: 0.40}
_HUE_GONE = 0.5  # share of hue lost from which only tone is spoken of
_CONTRAST_WEIGHT = 0.08  # judgement: what a doubling of contrast is worth once hue is gone
_OWNED_GAP = 0.3
_OTHER_FOOD = -0.35  # judgement: the bars of a fish that bass eat here less than another which the lure passes for
_LESS_FOOD = 0.5  # each next food of the list counts so much of the one before
#: When to take which of two colours, by the tones of the first and of the other.
_WHEN = {
    ("dark", "mid"): "the first in low light, shade and murk, the other once the sun is on the water",
    ("dark", "light"): "the dark one in low light, shade and murk, the pale one once the sun is on the water",
    ("mid", "dark"): "the first while the light is good, the dark one in shade, at dusk or in murkier water",
    ("mid", "light"): "the first as a rule, the pale one under cloud or when they chase small fish",
    ("light", "mid"): "the pale one while small fish are about, the other when they only look",
    ("light", "dark"): "the pale one in good light, the dark one in shade, at dusk or in murkier water",
    ("dark", "dark"): "the first as a rule, the other after a refusal",
    ("mid", "mid"): "the first as a rule, the other after a refusal",
    ("light", "light"): "the first as a rule, the other in cloud or a stain, or when they only follow",
}
#: The change that the second colour answers, by the tones of the first and the second.
_SECOND_WHEN = {
    ("dark", "mid"): "once the sun is on the water",
    ("dark", "light"): "once the sun is on the water",
    ("mid", "dark"): "in shade, dusk or murk",
    ("mid", "light"): "under cloud or over small fish",
    ("light", "mid"): "when they only look",
    ("light", "dark"): "in shade, dusk or murk",
    ("dark", "dark"): "when the first was refused",
    ("mid", "mid"): "when the first was refused",
    ("light", "light"): "when they only follow",
}
#: Families that are one colour to whoever opens a box.
_WHITES = frozenset({"white_shad", "shad_chartreuse_flank", "bone"})
_BAITFISH = frozenset({Forage.SHAD, Forage.HERRING})
_MOVING = frozenset({"skirted_moving", "hard_moving", "soft_swim"})
_REDS_IN = (Phase.WINTER, Phase.EARLY_PRESPAWN, Phase.LATE_PRESPAWN)
ROOFS = frozenset({Cover.GRASS_TOPPED, Cover.PADS})
_NO_DARK_FROM_M = 2.2  # sun and so much visibility: no black
#: What low light gives a dark hard bait below the surface: it is no outline against the sky there (judgement).
_SUNK_HARD, _DARK_HARD = "hard_moving", 0.05
_NIGHT_SEE_THROUGH = -0.3  # judgement: a see-through or mirrored body has no outline at night


@dataclass(frozen=True, slots=True)
class ColourQuestion:
    """What decides a colour: the lure's role, the water, the light, the food, the phase, the cover and the depth.

    lure_depth_m is None where it does not matter; shade is True under a roof or a dock; owned holds the ids of owned
    families, empty for all;
    imitates is what the lure copies, empty where that isn't known; slim is True for a worm without claws or fins.
    """

    role: str
    secchi_m: float
    water: WaterColour
    sky: Sky
    forage: tuple[Forage, ...] = ()
    phases: Mapping[Phase, float] = field(default_factory=dict)
    cover: Cover | None = None
    shade: bool = False
    lure_depth_m: float | None = None
    ripple: bool = False
    owned: tuple[str, ...] = ()
    imitates: frozenset[Forage] = frozenset()
    slim: bool = False
    moments: tuple[Moment, ...] = ()
    species: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class ColourAnswer:
    """Two families of different tone, the finish of blades and plates, and what the box lacks."""

    picks: tuple[ColourPick, ...]
    flash: str
    gap: str = ""


@dataclass(frozen=True, slots=True)
class BandLight:
    """Light left at a depth in the green and the red band, as a share of that under the surface."""

    green: float
    red: float


def band_light(depth_m: float, secchi_m: float, water: WaterColour, colours: ColourKnowledge) -> BandLight:
    """Beer's law with ``Kd = k / Secchi`` in the green band and ``Kd`` plus the colour's extra loss in the red.

    k is 1.7 in clear and green, 2.5 in tannic and 1.3 in muddy water (range 1.3-2.8). Estimate.
    """
    green = colours.attenuation[water] / secchi_m
    red = max(green + colours.red_loss_per_m[water], 0.2 * green)
    return BandLight(math.exp(-green * depth_m), math.exp(-red * depth_m))


def contrast(family: ColourFamily, light: BandLight, water: WaterColour) -> float:
    """Contrast against the water behind: absolute logarithm (base 2) of the ratio of brightness, both cone bands."""
    lure = family.reflect[0] * light.green + family.reflect[1] * light.red
    behind = _VEIL[water] * (light.green + light.red)
    return abs(math.log2((lure + 1e-9) / (behind + 1e-9)))


def _hue_lost(question: ColourQuestion) -> float:
    """0 where hue is seen to 1 where only dark or light is left: from 0.7 to 1.5 Secchi depths down."""
    if question.lure_depth_m is None:
        return 0.0
    return min(max((question.lure_depth_m / question.secchi_m - 0.7) / 0.8, 0.0), 1.0)


def family_score(family: ColourFamily, question: ColourQuestion, colours: ColourKnowledge) -> float:
    """Sum of the family's parts for this question; internal."""
    sky = Sky.LOW_SUN if question.shade and _LIGHT_GROUP[question.sky] == "sun" else question.sky
    light_part = family.light[sky]
    if question.role == _SUNK_HARD and family.tone == "dark" and question.sky is not Sky.NIGHT:
        light_part = min(light_part, _DARK_HARD)
    total = family.base[colours.clarity(question.secchi_m)] + family.water[question.water] + light_part
    foods = _foods(question)
    total += max((family.forage.get(item, 0.0) * _LESS_FOOD**n for n, item in enumerate(foods)), default=0.0)
    total += _OTHER_FOOD if _copies_other(family, question, foods) else 0.0
    total += sum(share * family.phase.get(phase, 0.0) for phase, share in question.phases.items())
    total += family.cover.get(question.cover, 0.0) if question.cover else 0.0
    if question.sky is Sky.NIGHT and family.opacity in ("translucent", "mirror"):
        total += _NIGHT_SEE_THROUGH
    total += sum(moment.colours.get(family.id, 0.0) for moment in question.moments)
    lost = _hue_lost(question)
    if lost > 0.0 and question.lure_depth_m is not None:
        light = band_light(question.lure_depth_m, question.secchi_m, question.water, colours)
        seen = min(contrast(family, light, question.water), 3.0)
        total += lost * (family.deeper_than_secchi + _CONTRAST_WEIGHT * (seen - 1.0))
    return total


def _copies_other(family: ColourFamily, question: ColourQuestion, foods: list[Forage]) -> bool:
    """True for the bars of a fish where the lure passes first for another food of this water."""
    return bool(question.imitates and foods and family.only_as) and foods[0] not in family.only_as


def _foods(question: ColourQuestion) -> list[Forage]:
    """What bass eat here that the lure can pass for, most likely first."""
    return [item for item in question.forage if not question.imitates or item in question.imitates]


def family_order(question: ColourQuestion, colours: ColourKnowledge) -> list[ColourFamily]:
    """Families made for this role, best first."""
    made = [family for family in colours.families if question.role in family.roles and _suits_shape(family, question)]
    right = [family for family in made if _right(family, question, colours)] or _least_wrong(made, question)
    return sorted(right, key=lambda family: -family_score(family, question, colours))


def _least_wrong(made: list[ColourFamily], question: ColourQuestion) -> list[ColourFamily]:
    """Where no family of a role is right: at night and in mud the darkest, else all."""
    if question.sky is Sky.NIGHT:
        darkest = min(sum(family.reflect) for family in made)
        return [family for family in made if sum(family.reflect) <= darkest + 1e-9]
    return made


def _right(family: ColourFamily, question: ColourQuestion, colours: ColourKnowledge) -> bool:
    """False for a colour that nobody ties on in this light, water, season or beside this food."""
    if any(moment.tone and moment.tone != family.tone for moment in question.moments):
        return False
    if question.sky is Sky.NIGHT:
        return family.tone == "dark"
    clarity, foods = colours.clarity(question.secchi_m), _foods(question)
    sunny = question.sky in (Sky.BRIGHT, Sky.BROKEN) and not question.shade
    if clarity == "muddy" and (family.tone == "mid" or family.opacity != "opaque"):
        return False
    if clarity in ("muddy", "dirty") and family.opacity == "translucent":
        return False
    if family.id.startswith("chartreuse") and clarity in ("clear", "very_clear"):
        windy = question.ripple and bool(question.species & {"smallmouth", "spotted"})
        return not sunny or windy
    if family.tone == "dark" and sunny and question.secchi_m >= _NO_DARK_FROM_M and question.cover not in ROOFS:
        return False
    if family.id == "red_craw":
        season = sum(question.phases.get(phase, 0.0) for phase in _REDS_IN)
        return season >= 0.5 and Forage.CRAWFISH in question.forage
    shad = bool(foods) and foods[0] in _BAITFISH and question.role in _MOVING
    return not (shad and family.only_as and not family.only_as & frozenset(foods[1:2]))


def _suits_shape(family: ColourFamily, question: ColourQuestion) -> bool:
    """False for claws on a worm, or the bars of a fish on what never passes for one."""
    if family.bulky_only and question.slim:
        return False
    return not family.only_as or not question.imitates or bool(family.only_as & question.imitates)


def pick_colours(question: ColourQuestion, colours: ColourKnowledge) -> ColourAnswer:
    """The best family and the best of another tone, from what is owned; the finish of blades, and a gap in the box."""
    order = family_order(question, colours)
    owned = [family for family in order if not question.owned or family.id in question.owned] or order
    first = owned[0]
    second = _second(first, owned, question)
    words = _words(question, colours)
    finish, accent = best_option(colours.finishes, words), best_option(colours.accents, words)
    fits = accent is not None and fit_of(accent, words) >= 1.0 and first.opacity != "mirror"
    extra = (
        f" An accent that fits: {accent.name}, {accent.why}."
        if accent is not None and fits and _hue_lost(question) < _HUE_GONE
        else ""
    )
    told = f"{_own_why(first, question)}{_reason(question, colours)}{extra}"
    picks = [ColourPick(first.id, first.name, first.short, told)]
    if second is not None:
        when = _when(first.tone, second.tone, question.sky)
        why = f"{when[:1].upper()}{when[1:]}. {second.why}"
        picks.append(ColourPick(second.id, second.name, second.short, why))
    gain = family_score(order[0], question, colours) - family_score(first, question, colours)
    return ColourAnswer(
        tuple(picks),
        f"{finish.name}: {finish.why}" if finish else "",
        f"What your box lacks here is {order[0].name}." if gain > _OWNED_GAP else "",
    )


def _second(first: ColourFamily, order: list[ColourFamily], question: ColourQuestion) -> ColourFamily | None:
    """The colour that answers a change of light, stain or mood: over shad a second pale one, else another tone."""
    others = [family for family in order if family is not first and {family.id, first.id} - _WHITES]
    foods = _foods(question)
    if foods and foods[0] in _BAITFISH and question.role in _MOVING and first.tone == "light":
        return next((family for family in others if family.tone == "light"), others[0] if others else None)
    return next((family for family in others if family.tone != first.tone), others[0] if others else None)


def _words(question: ColourQuestion, colours: ColourKnowledge) -> frozenset[str]:
    group = "dim" if question.shade else _LIGHT_GROUP[question.sky]
    words = {colours.clarity(question.secchi_m), group, question.sky.value}
    words.add(_WATER_WORD.get(question.water, question.water.value))
    words |= {item.value for item in question.forage}
    words |= {phase.value for phase, share in question.phases.items() if share >= 0.4}
    if question.ripple:
        words |= {"ripple", "wind"}
    elif question.sky is Sky.BRIGHT:
        words.add("calm_bright")
    return frozenset(words)


def _own_why(family: ColourFamily, question: ColourQuestion) -> str:
    """The family's own reason, which speaks of hues; empty so far down that none is left."""
    return "" if _hue_lost(question) >= _HUE_GONE else f"{family.why} "


def _reason(question: ColourQuestion, colours: ColourKnowledge) -> str:
    """A sentence of the water, and one of clarity or light; where hue is gone, that alone."""
    reasons, clarity = colours.reasons, colours.clarity(question.secchi_m)
    if _hue_lost(question) >= _HUE_GONE:
        said = reasons["light"]["deep"]
        return f"{said[0].upper()}{said[1:]}."
    parts = [reasons["water"][question.water.value]]
    if question.shade:
        parts.append(reasons["light"]["shade"])
    else:
        parts.append(reasons["clarity"][clarity])
    return " ".join(f"{part[0].upper()}{part[1:]}." for part in parts)


def colour_hint(picks: tuple[ColourPick, ...], colours: ColourKnowledge) -> str:
    """When to take which of the two colours, in one line; empty for one colour."""
    tones = {family.id: family.tone for family in colours.families}
    return "" if len(picks) < 2 else _WHEN.get((tones[picks[0].id], tones[picks[1].id]), "")


def second_when(picks: tuple[ColourPick, ...], sky: Sky, colours: ColourKnowledge) -> str:
    """The change that the second colour answers, to stand behind its name; empty for one colour."""
    tones = {family.id: family.tone for family in colours.families}
    return "" if len(picks) < 2 else _when(tones[picks[0].id], tones[picks[1].id], sky)


def _when(first: str, second: str, sky: Sky) -> str:
    """A change that has not come yet: no sun where it shines, no cloud under cloud."""
    if first == "dark" and second != "dark" and sky in (Sky.BRIGHT, Sky.BROKEN):
        return "in clearer water, or when the first is refused"
    if (first, second) == ("mid", "light") and sky is Sky.OVERCAST:
        return "when they chase small fish"
    if second == "dark" and first != "dark" and sky is Sky.LOW_SUN:
        return "in murk, or when the first is refused"
    return _SECOND_WHEN[first, second]
