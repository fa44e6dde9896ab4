"""Reasons in plain words, from the factors of the score: strongest first, with numbers and units."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from briefing.core.advice.conditions import Conditions, FrontStage, Spot, WaveClass, wave_class
from briefing.core.advice.depth_words import about_range
from briefing.core.advice.knowledge import AdviceKnowledge
from briefing.core.advice.measures import localised
from briefing.core.advice.moments import moments_now
from briefing.core.advice.presentation import Presentation
from briefing.core.advice.scoring import PLANTS, Scores
from briefing.core.advice.situation import (
    front_quiet,
    front_weight,
    main_cover,
    phase_shares,
    roof_share,
    secchi_m,
    shade_share,
)
from briefing.core.wind.travel import PADDLED
from briefing.units import (
    Units,
    show_temperature,
    show_temperature_difference,
    show_temperature_range,
    show_visibility,
    show_wind,
)
from briefing.vocabulary import Cover, Craft, Forage, Phase, Sky

MOST_REASONS, LEAST_REASONS = 4, 2
#: What a reason is worth to a reader beside its strength: season and place first, names and tables last.
_WORTH = {
    **{"phase": 1.0, "cover": 1.0, "windward": 1.0, "wind": 0.9, "light": 0.8, "temp": 0.8, "mood": 1.0},
    **{"change": 0.7, "dawn": 0.9, "pressure": 0.7, "learned": 0.7, "clarity": 0.8, "depth": 0.7, "forage": 0.6},
}
_SKY = {
    Sky.BRIGHT: "bright sun",
    Sky.BROKEN: "broken cloud",
    Sky.OVERCAST: "cloud cover",
    Sky.LOW_SUN: "low sun",
    Sky.NIGHT: "night",
}
_SURFACE = {
    WaveClass.FLAT: "flat water",
    WaveClass.RIPPLE: "a ripple",
    WaveClass.CHOP: "a chop",
    WaveClass.WAVES: "waves",
}
_CALM_LOVER, _CHOP_LOVER = 0.85, 0.85
#: From this weight on, an ounce, lead is not small tackle to the rules.
_SMALL_LEAD_G = 28.0
_GOOD_MOOD = 0.8
_GOOD_FIT = 0.75
_EVEN = 0.05
_RIVALS = 8  # a reason tells a choice from the best ones, not from what nobody would throw here
_MOVING_LEVEL_M = 0.05
_SNAGS = 0.3
_UNDER_M, _MEETS = 0.5, 0.3
_COLD_C, _WARM_C = 12.0, 24.0
_DIRTY_M, _CLEAR_M = 0.6, 2.0
_FELT_WIND_MPS = 2.0
_FELT_FRONT = 0.25
_DOUBTS = (
    "is not the best",
    "Hardly anybody",
    "not the mood",
    "at the edge; the best",
    "has a place, though",
    "Usable, and no more",
    "Less suited",
    "Copies none",
)
FOLKLORE = (
    "The moon and the reading of the barometer get no weight here: no controlled study ties either to how bass bite. "
    "A falling barometer only helps to date a front, and what counts then is light, wind and water temperature."
)


@dataclass(frozen=True)
class Told:
    """What a sentence may draw on."""

    item: Presentation
    index: int
    conditions: Conditions
    spot: Spot
    knowledge: AdviceKnowledge
    scores: Scores
    units: Units
    depth_m: tuple[float, float] | None = None  # where it works here
    short: bool = False  # it doesn't come down to the fish

    def part(self, name: str) -> float:
        """Value of a factor for this presentation."""
        return float(self.scores.factors[name][self.index])


def strengths(scores: Scores, index: int, rivals: int | None = None) -> dict[str, float]:
    """How much each factor lifts this presentation over the middle of the best so many, or of all usable ones; ln."""
    out: dict[str, float] = {}
    for name, middle in scores.middles(rivals).items():
        own = float(scores.factors[name][index])
        out[name] = math.log(own / middle) if own > 0.0 and middle > 0.0 else -math.inf
    return out


def reasons(told: Told) -> tuple[str, ...]:
    """At most four sentences, the strongest factor first; two where two speak for it, and one in any case.

    Each says what the factor does here, and stands only where that holds for this lure, place and hour.
    """
    by_strength = strengths(told.scores, told.index, _RIVALS)
    order = sorted(by_strength, key=lambda name: -_WORTH.get(name, 0.0) * by_strength[name])
    named = [name for name in order if name in _REASONS and by_strength[name] > 0.02]
    texts = list(dict.fromkeys(text for name in named if (text := _REASONS[name](told))))
    if not any(_same(text, told.item.why) for text in texts):  # what the lure does stands behind what is so here
        texts.insert(1, told.item.why)
    texts = texts[:MOST_REASONS]
    rest = [_REASONS[name](told) for name in ("mood", "light", "cover", "depth", "clarity")]
    texts += [text for text in dict.fromkeys(rest) if text and text not in texts][: max(LEAST_REASONS - len(texts), 0)]
    return tuple(texts)


def _same(text: str, why: str) -> bool:
    return text.lower().endswith(why.lower())


def _doubtful(text: str) -> bool:
    """True for a sentence that holds something back; such a one counts less than it seems."""
    return any(words in text for words in _DOUBTS)


def all_factors(told: Told) -> tuple[str, ...]:
    """Every factor in words with how it counts here, strongest first."""
    order = sorted(strengths(told.scores, told.index).items(), key=lambda pair: -pair[1])
    out = []
    for name, strength in order:
        text = _FACTS[name](told)
        if text:
            out.append(f"{_side(strength, _doubtful(text))}: {text}")
    return tuple(out)


def _side(strength: float, doubtful: bool) -> str:
    """On which side a factor counts, against the middle of what could be thrown here."""
    if abs(strength) <= _EVEN:
        return "neither way"
    if doubtful:
        return "no worse than most" if strength > 0.0 else "against"
    return "in favour" if strength > 0.0 else "less in favour than for others"


def _cover(told: Told) -> str:
    info = told.knowledge.covers[main_cover(told.spot)]
    fit = told.item.cover[info.id]
    if fit.snag <= 0.1:
        snag = "hardly ever snags there"
    elif fit.snag <= 0.3:
        snag = "snags there only now and then"
    else:
        snag = "does snag there, so expect to work free"
    if fit.fit >= _GOOD_FIT:
        return f"Made for {info.plural}: {snag}."
    return f"Usable, and no more, around {info.plural}: {snag}."


def _depth(told: Told) -> str:
    low, high = told.scores.fish_depth_m
    band = about_range(low, high, told.units)
    roof = roof_share(told.spot, told.knowledge)
    if roof >= 0.5:
        return "Fish under a roof hang just below it, and this lure is shown right there."
    return f"Fish are looked for at {band}."


def _temp(told: Told) -> str:
    temp = told.conditions.water_temp_c
    if temp is None:
        return ""
    window = told.item.water_temp_c
    best = show_temperature_range(window.best_low, window.best_high, told.units, both=False)
    here = show_temperature(temp, told.units, both=False)
    if window.best_low <= temp <= window.best_high:
        return f"Water at {here} is within the best range, {best}."
    return f"Water at {here} is at the edge; the best range is {best}."


def _clarity(told: Told) -> str:
    secchi = secchi_m(told.conditions, told.knowledge)
    seen = show_visibility(secchi, told.units, both=False)
    guess = " (usual for this water, not measured)" if told.conditions.secchi_m is None else ""
    if told.part("clarity") >= 0.95:
        return f"Visibility of {seen}{guess} suits this lure."
    return f"Visibility of {seen}{guess} is not the best for this lure."


def _phase(told: Told) -> str:
    shares = phase_shares(told.conditions)
    phase = max(shares, key=lambda key: shares[key])
    name = told.knowledge.phases[phase].name
    share = shares[phase]
    fit = told.item.phases[phase]
    holder = f"{name}" if share >= 0.85 else f"{'With most fish in' if share > 0.5 else 'First of all'} {name.lower()}"
    if fit >= 0.8:
        return f"{holder}: {told.item.why[0].lower()}{told.item.why[1:]}"
    return f"{holder}: has a place, though these are not the best weeks."


def _wind(told: Told) -> str:
    kind = wave_class(told.conditions)
    wind = show_wind(told.conditions.wind_mps, told.units, both=False)
    fit = told.item.wind[kind.value]
    surface = f"{_SURFACE[kind][0].upper()}{_SURFACE[kind][1:]} with wind at {wind}"
    if fit >= _CHOP_LOVER and kind in (WaveClass.CHOP, WaveClass.WAVES):
        return f"{surface} breaks the light and pushes bait, which this lure needs."
    if fit >= _CALM_LOVER:
        return f"{surface} suits this lure."
    return f"{surface} is not the best surface for this lure."


def _light(told: Told) -> str:
    sky = told.conditions.sky
    if shade_share(told.spot, told.knowledge) >= 0.5 and sky in (Sky.BRIGHT, Sky.BROKEN):
        return f"Under {_SKY[sky]} the fish sit in the shade, and this lure reaches them there."
    if told.item.light[sky] >= 0.85:
        return f"{_SKY[sky][0].upper()}{_SKY[sky][1:]} is the light for this lure."
    return f"{_SKY[sky][0].upper()}{_SKY[sky][1:]} is not the best light for this lure."


def _mood(told: Told) -> str:
    mood = told.scores.mood
    seen = "as you saw" if told.conditions.mood is not None else "as expected from season, weather and water"
    word = "ready to chase" if mood > 0.4 else "slow to bite" if mood < -0.4 else "willing but not chasing"
    pace = {"search": "covers water", "medium": "works each target", "slow": "stays in front of them"}[told.item.pace]
    if told.part("mood") < _GOOD_MOOD:
        return f"Fish {word}, {seen}, which is not the mood for this lure."
    return f"Fish {word}, {seen}: this one {pace}."


def _species(told: Told) -> str:
    names = [told.knowledge.species[form].name for form in told.conditions.species] or ["largemouth"]
    good = told.part("species") >= 0.95
    return f"{'Made for' if good else 'Less suited to'} {' and '.join(dict.fromkeys(names))}."


def _forage(told: Told) -> str:
    here = [item for item in told.conditions.forage if item in told.item.imitates]
    if not told.conditions.forage:
        return ""
    if here:
        return f"Passes for {here[0].value.replace('nondescript', 'something to eat')}, which bass eat here."
    return "Copies none of the food named for this water."


def _water(told: Told) -> str:
    kind = told.conditions.lake_kind
    if kind is None or abs(told.part("water") - 1.0) < 0.01:
        return ""
    name = told.knowledge.regions[kind].name
    return f"Has {'a good' if told.part('water') > 1.0 else 'a poor'} name on a {name}."


def _pressure(told: Told) -> str:
    if not told.conditions.pressured or abs(told.part("pressure") - 1.0) < 0.01:
        return ""
    return "Hard-fished water: " + (
        "quiet baits keep their pull." if told.part("pressure") > 1.0 else "loud lures wear out first."
    )


def _change(told: Told) -> str:
    if abs(told.part("change") - 1.0) < 0.02:
        return ""
    better = told.part("change") > 1.0
    if told.conditions.front_stage is FrontStage.APPROACHING:
        return "Ahead of a front fish feed and move: " + ("a moving bait gains." if better else "a slow one loses.")
    if told.conditions.front_stage in (FrontStage.DAY1, FrontStage.DAY2):
        return f"After the front this lure {'gains' if better else 'loses'}."
    level = told.conditions.level_change_24h_m or 0.0
    if abs(level) >= _MOVING_LEVEL_M and (told.conditions.trend_3d_c or 0.0) < 1.0:
        return f"With the level {'rising' if level > 0.0 else 'falling'} this lure {'gains' if better else 'loses'}."
    rise = show_temperature_difference(told.conditions.trend_3d_c or 0.0, told.units, both=False)
    return f"With the water {rise} warmer than three days ago this lure {'gains' if better else 'loses'}."


def _learned(told: Told) -> str:
    value = told.part("learned")
    return "" if abs(value - 1.0) < 0.03 else f"Your own log speaks {'for' if value > 1.0 else 'against'} this lure."


def _moment(told: Told) -> str:
    value = told.part("moment")
    if abs(value - 1.0) < 0.03:
        return ""
    return (
        f"What this day brings speaks {'for' if value > 1.0 else 'against'} this lure: current, tide, bait or bottom."
    )


def _misfit(told: Told) -> str:
    return "Hardly anybody throws this lure in such cover or wind." if told.part("misfit") < 0.95 else ""


def _dawn(told: Told) -> str:
    return "" if told.part("dawn") <= 1.01 else "Under low sun, in quiet water by plants, fish hunt at the surface."


def _windward(told: Told) -> str:
    return "" if told.part("windward") <= 1.01 else "Wind blows onto this hard cover, and bait gathers on that side."


_FACTS: Mapping[str, Callable[[Told], str]] = {
    "cover": _cover,
    "depth": _depth,
    "temp": _temp,
    "clarity": _clarity,
    "phase": _phase,
    "wind": _wind,
    "light": _light,
    "mood": _mood,
    "species": _species,
    "forage": _forage,
    "water": _water,
    "pressure": _pressure,
    "change": _change,
    "learned": _learned,
    "windward": _windward,
    "dawn": _dawn,
    "moment": _moment,
    "misfit": _misfit,
}


# ---- reasons: what a factor does here, empty where it does nothing for this lure ----------------------------------


def _snagless(told: Told) -> str:
    info = told.knowledge.covers[main_cover(told.spot)]
    fit = told.item.cover[info.id]
    if fit.fit < _GOOD_FIT or fit.snag > _SNAGS or info.id is Cover.BARE:
        return ""
    if told.item.surface and info.roof:
        return f"Slides over {info.plural}, right above fish that hang in their shade."
    word = {Cover.DOCK: "at", Cover.ROCK: "on"}.get(info.id, "in")
    where = f"{word} {info.plural}"
    often = f"Hardly ever snags {where}" if fit.snag <= 0.1 else f"Snags {where} only now and then"
    return f"{often}, so you can cast tight to cover."


def _reach(told: Told) -> str:
    low, high = told.scores.fish_depth_m
    band, depth = about_range(low, high, told.units), told.depth_m
    if told.item.surface:
        seen = secchi_m(told.conditions, told.knowledge)
        if low > _UNDER_M and seen >= low:
            return f"You can see {_seen(told)} down, so fish at {band} see the lure against the sky and can come up."
        return ""
    if (
        depth is None
        or told.short
        or min(depth[1], high) - max(depth[0], low) < _MEETS * min(max(depth[1] - depth[0], 0.1), max(high - low, 0.1))
    ):
        return ""
    if told.item.group == "vertical":
        return f"Fish are looked for at {band}: straight below the craft this one stays at their level on every lift."
    if "bottom" in told.item.traits and "lead_tackle" in told.item.legal:
        return f"Fish are looked for near the bottom at {band}, and this one stays down there however slowly you go."
    if depth[0] + depth[1] <= low + high:
        return f"Fish are looked for at {band}; this one comes by level with them or a little over, where they look."
    return ""


def _seen(told: Told) -> str:
    return show_visibility(secchi_m(told.conditions, told.knowledge), told.units, both=False)


def _cold_or_warm(told: Told) -> str:
    temp, window = told.conditions.water_temp_c, told.item.water_temp_c
    if temp is None or not window.best_low <= temp <= window.best_high:
        return ""
    here = show_temperature(temp, told.units, both=False)
    if temp < _COLD_C and told.item.pace != "search":
        return f"In water at {here} fish move little and slowly, and this one works at a crawl."
    if temp > _WARM_C and told.item.pace == "search":
        return f"In water at {here} fish are quick enough to run a lure down."
    return ""


def _sight(told: Told) -> str:
    seen, item = secchi_m(told.conditions, told.knowledge), told.item
    if told.part("clarity") < 0.95 or (item.surface and _reach(told)):
        return ""
    guess = " (usual for this water, not measured)" if told.conditions.secchi_m is None else ""
    if seen < _DIRTY_M and ("loud" in item.traits or item.felt_m > 0.0):
        return f"Visibility is {_seen(told)}{guess}: fish find this one by feel and sound before sight."
    if seen < _DIRTY_M and "pitched" in item.traits:
        return f"Visibility is {_seen(told)}{guess}: pitched within an arm's length of the fish, this one is found."
    if seen >= _CLEAR_M and "finesse" in item.traits:
        return f"Visibility is {_seen(told)}{guess}: fish look long, and this one stands a long look."
    if seen >= _CLEAR_M and item.draw_up_secchi >= 1.0:
        return f"Visibility is {_seen(told)}{guess}: fish see this one from far off and come."
    return ""


def _season(told: Told) -> str:
    shares = phase_shares(told.conditions)
    phase = max(shares, key=lambda key: shares[key])
    if told.item.phases[phase] < 0.8:
        return ""
    name, why = told.knowledge.phases[phase].name, told.item.why
    if shares[phase] <= 0.5:
        return why
    holder = name if shares[phase] >= 0.85 else f"With most fish in {name.lower()}"
    return f"{holder}: {why[0].lower()}{why[1:]}"


def _surface(told: Told) -> str:
    kind, item = wave_class(told.conditions), told.item
    wind = show_wind(told.conditions.wind_mps, told.units, both=False)
    if item.wind[kind.value] < _CALM_LOVER or item.group == "vertical":
        return ""
    on_bottom = "bottom" in item.traits and "lead_tackle" in item.legal
    if kind is WaveClass.FLAT:
        where = f"In the lee the water is flat, with {wind} of wind outside" if _lee(told) else "The water is flat"
        if item.surface:
            return f"{where}: a small sound carries far, and a take shows."
        return "" if on_bottom or item.pace == "search" else f"{where}: your line lies still and shows a bite."
    if on_bottom or item.pace != "search":
        return ""
    if kind is WaveClass.RIPPLE:
        return f"A ripple ({wind} of wind) breaks up a lure's outline, so that fish strike before they have looked."
    if kind is WaveClass.WAVES:
        return f"Waves ({wind} of wind) break the light and push bait along."
    return f"A chop ({wind} of wind) breaks the light and pushes bait along."


def _lee(told: Told) -> bool:
    """True where the wind would make a ripple in the open."""
    return told.conditions.wind_mps >= _FELT_WIND_MPS


def _by_light(told: Told) -> str:
    sky, item = told.conditions.sky, told.item
    if item.light[sky] < 0.8:
        return ""
    if shade_share(told.spot, told.knowledge) >= 0.5 and sky in (Sky.BRIGHT, Sky.BROKEN):
        if item.pace == "search" or (item.surface and item.trebles):
            return ""
        return f"Under {_SKY[sky]} fish sit in the shade, and this one can be put in there and left."
    if sky is Sky.LOW_SUN and item.surface:
        return "In low light fish look up: a lure on top stands dark against the sky."
    if sky is Sky.LOW_SUN and item.pace == "search" and told.scores.mood > -0.4:
        return "In low light fish leave their cover a little, and this one searches the edges quickly."
    if sky is Sky.OVERCAST and item.pace == "search" and told.scores.mood > -0.4:
        return "Under cloud fish roam, and this one covers water."
    if sky is Sky.BRIGHT and item.pace == "slow":
        return "In bright sun fish hold tight to cover and bottom, and this one can lie there in front of them."
    if sky is Sky.NIGHT and (item.surface or item.felt_m > 0.0 or "loud" in item.traits):
        return "At night fish find this one by the outline above them and by the sound."
    return ""


def _willing(told: Told) -> str:
    mood, pace = told.scores.mood, told.item.pace
    if told.part("mood") < _GOOD_MOOD:
        return ""
    behind = _front_felt(told)
    if told.conditions.mood is not None:
        source = ", as you saw"
    else:
        source = ", as expected behind a front" if behind and mood <= 0.4 else ", as expected from season and weather"
    if mood > 0.4 and pace == "search":
        return f"Fish are ready to chase{source}: a quick lure passes more of them in the time you have."
    if -0.4 <= mood <= 0.4 and pace != "search":
        return f"Fish are willing but hardly chase{source}: this one stays near them long enough."
    if mood < -0.4 and pace == "slow":
        return f"Fish are slow to bite{source}: this one can stay in front of them until they take."
    return ""


def _front_felt(told: Told) -> bool:
    """True where a front that passed counts here."""
    if told.conditions.front_stage not in (FrontStage.DAY1, FrontStage.DAY2):
        return False
    parts = (told.conditions, told.spot, told.knowledge)
    return max(front_weight(*parts), front_quiet(*parts)) >= _FELT_FRONT


def _food(told: Told) -> str:
    here = [one for one in told.conditions.forage if one in told.item.imitates and one is not Forage.NONDESCRIPT]
    return f"Passes for {here[0].value}, which bass eat here." if here else ""


def _fished_hard(told: Told) -> str:
    if not told.conditions.pressured or told.part("pressure") <= 1.01:
        return ""
    return "The water was fished hard, and quiet baits keep their pull longest."


def _changed(told: Told) -> str:
    if told.part("change") <= 1.02:
        return ""
    stage, pace = told.conditions.front_stage, told.item.pace
    if stage is FrontStage.APPROACHING:
        return "Ahead of a front fish feed and move, and a moving lure meets more of them." if pace == "search" else ""
    if _front_felt(told):
        return "" if pace == "search" else "Behind a front fish hold tight to cover, and this one goes in to them."
    level = told.conditions.level_change_24h_m or 0.0
    rise = told.conditions.trend_3d_c or 0.0
    if abs(level) >= _MOVING_LEVEL_M and rise < 1.0:
        where = "into newly flooded cover" if level > 0.0 else "to the outer edge of the cover"
        return (
            f"The level is {'rising' if level > 0.0 else 'falling'}: fish move {where}, and this one goes after them."
        )
    if rise <= 0.5:
        return ""
    warmer = show_temperature_difference(rise, told.units, both=False)
    return f"The water is {warmer} warmer than three days ago, and warming fish move up and feed."


def _own_log(told: Told) -> str:
    return "Your own log speaks for this lure." if told.part("learned") > 1.03 else ""


def _at_dawn(told: Told) -> str:
    temp = told.conditions.water_temp_c
    if told.part("dawn") <= 1.15 or temp is None:
        return ""
    here = show_temperature(temp, told.units, both=False)
    if not told.item.surface:
        return "In low sun fish roam the shallows to feed, and a moving lure finds them."
    plants = " and plants at hand" if main_cover(told.spot) in PLANTS else ""
    return f"Low sun, quiet water at {here}{plants}: fish hunt at the surface for a while."


_REASONS: Mapping[str, Callable[[Told], str]] = {
    "cover": _snagless,
    "depth": _reach,
    "temp": _cold_or_warm,
    "clarity": _sight,
    "phase": _season,
    "wind": _surface,
    "light": _by_light,
    "mood": _willing,
    "forage": _food,
    "pressure": _fished_hard,
    "change": _changed,
    "learned": _own_log,
    "windward": _windward,
    "dawn": _at_dawn,
}


def cautions(
    told: Told, depth_m: tuple[float, float] | None, legal_known: Mapping[str, bool], weight_g: float = 0.0
) -> tuple[str, ...]:
    """Law, hooks and fish care that go with this presentation here; rules the user confirmed are not repeated.

    Rules on lead are about small weights: a single weight from an ounce on, ``weight_g``, is not under them.
    """
    large = weight_g >= _SMALL_LEAD_G and "heavy_rig" not in told.item.traits  # a rig holds several small heads
    flags = [flag for flag in told.item.legal if not (large and flag == "lead_tackle")]
    out = [
        told.knowledge.legal[flag].caution
        for flag in flags
        if flag in told.knowledge.legal and flag not in legal_known and told.knowledge.legal[flag].caution
    ]
    rules = [told.knowledge.legal[flag] for flag in flags if legal_known.get(flag) is False]
    out += [rule.instead for rule in rules if rule.instead]
    out += [_for_craft(text, told.conditions.craft) for text in told.item.safety]
    out += [note.caution for note in moments_now(told.conditions, told.spot, told.knowledge.moments) if note.caution]
    temp = told.conditions.water_temp_c
    shares = phase_shares(told.conditions)
    care = [rule for rule in told.knowledge.care if _applies(rule.from_temp_c, temp)]
    care = [rule for rule in care if rule.from_depth_m is None or (depth_m or (0.0, 0.0))[1] >= rule.from_depth_m]
    care = [rule for rule in care if not rule.phases or sum(shares.get(key, 0.0) for key in rule.phases) >= 0.2]
    care = [rule for rule in care if not rule.waters or told.conditions.lake_kind in rule.waters]
    temps = [rule for rule in care if rule.from_temp_c is not None]
    care = [rule for rule in care if rule.from_temp_c is None] + temps[-1:]
    return tuple(localised(text, told.units) for text in out + [rule.text for rule in care])


#: A part of a caution that is for craft that are paddled.
_PADDLED_PART = re.compile(r"\[([^\]]*)\]")


def _for_craft(text: str, craft: Craft) -> str:
    """A caution of a presentation; what stands in square brackets is for craft that are paddled."""
    told = _PADDLED_PART.sub(r"\1" if craft in PADDLED else "", text)
    return told[:1].upper() + told[1:]


def _applies(limit: float | None, value: float | None) -> bool:
    return limit is None or (value is not None and value >= limit)


def phase_text(conditions: Conditions, knowledge: AdviceKnowledge) -> str:
    """The phase in a few words for a heading."""
    shares = phase_shares(conditions)
    first: Phase = max(shares, key=lambda key: shares[key])
    return knowledge.phases[first].name.lower()
