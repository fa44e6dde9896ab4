"""What ``briefing advise`` was given, and its answer: JSON for programs, one screen of 80 columns for people."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import TYPE_CHECKING, Any

from briefing.core.advice.measures import in_text, localised
from briefing.units import (
    Units,
    show_depth,
    show_temperature,
    show_visibility,
    show_wind,
)
from briefing.vocabulary import (
    BaitEvent,
    Bottom,
    Cover,
    Craft,
    Flow,
    Forage,
    LakeKind,
    Mood,
    Phase,
    Sky,
    Tide,
    WaterColour,
)

if TYPE_CHECKING:
    from briefing.core.advice.choice import Choice, SetupPick
    from briefing.core.advice.conditions import Conditions, Spot, TackleBox
    from briefing.core.advice.knowledge import AdviceKnowledge

WIDTH = 80
SCREEN_LINES = 24
USUAL_WIND_MPS = 2.5
#: Below this the first minute in the water is a fight for breath (National Weather Service, cold water hazards), C.
_COLD_WATER_C = 15.56
_SMALL_CRAFT = frozenset({Craft.KAYAK, Craft.CANOE})
#: Sustained wind in which most people are sheltered or ashore, whatever their skill (15 mph in small craft).
_MOST_ASHORE_MPS = {Craft.KAYAK: 6.7, Craft.CANOE: 6.7, Craft.JON_BOAT: 11.2, Craft.BASS_BOAT: 11.2}
_SKY_WORDS = {
    Sky.BRIGHT: "bright sun",
    Sky.BROKEN: "broken cloud",
    Sky.OVERCAST: "overcast",
    Sky.LOW_SUN: "low sun",
    Sky.NIGHT: "night",
}


@dataclass
class Given:
    """What was typed or asked, in SI, and what had to be assumed, in words."""

    units: Units
    day: date
    latitude_deg: float | None = None
    species: str = "largemouth"
    phases: Mapping[Phase, float] = field(default_factory=dict)
    water_temp_c: float | None = None
    trend_3d_c: float | None = None
    secchi_m: float | None = None
    water_colour: WaterColour | None = None
    sky: Sky = Sky.BROKEN
    wind_mps: float = USUAL_WIND_MPS
    cover: tuple[Cover, ...] = ()
    depth_m: float = 0.0
    cover_top_m: float | None = None
    bottom: Bottom | None = None
    mood: Mood | None = None
    forage: tuple[Forage, ...] = ()
    kind: LakeKind | None = None
    owned: frozenset[str] = frozenset()
    front: str | None = None
    flow: Flow | None = None
    tide: Tide | None = None
    bait: BaitEvent | None = None
    craft: Craft = Craft.KAYAK
    fished_yesterday: bool = False
    assumed: list[str] = field(default_factory=list)


def as_contract(
    choices: Sequence[Choice], given: Given, conditions: Conditions, spot: Spot, knowledge: AdviceKnowledge
) -> dict[str, Any]:
    """The JSON for programs: the full order, without internal numbers."""
    return {
        "phase": {phase.value: round(share, 3) for phase, share in given.phases.items()},
        "assumed": given.assumed,
        "notes": place_notes(given, conditions, spot, knowledge),
        "cautions": craft_cautions(given),
        "choices": [
            {**_choice_json(one, given.units), "boat": boat_sentence(one, given, conditions, spot, knowledge)}
            for one in choices
        ],
    }


def place_notes(given: Given, conditions: Conditions, spot: Spot, knowledge: AdviceKnowledge) -> list[str]:
    """What the day brings, a sentence each for the place."""
    from briefing.core.advice.moments import moments_now

    return [localised(one.place, given.units) for one in moments_now(conditions, spot, knowledge.moments)]


def craft_cautions(given: Given) -> list[str]:
    """What can hurt whoever goes there: wind over the craft's limits, cold water, darkness, a strong current."""
    out = _wind_caution(given)
    if given.water_temp_c is not None and given.water_temp_c < _COLD_WATER_C:
        said = show_temperature(given.water_temp_c, given.units, both=False)
        out.append(f"Water {said}: dress for immersion, life jacket on, not alone.")
    if given.sky is Sky.NIGHT:
        out.append("Night: show a white light, life jacket on, tell somebody where.")
    if given.flow is Flow.STRONG and given.craft in _SMALL_CRAFT:
        out.append("Strong current: anchor by bow or stern alone, clear of limbs, knife at hand.")
    return out


def _wind_caution(given: Given) -> list[str]:
    from briefing.knowledge import load_limits
    from briefing.vocabulary import Skill

    limits = load_limits().rows[given.craft, Skill.EXPERIENCED]
    wind, craft = show_wind(given.wind_mps, given.units, both=False), given.craft.value.replace("_", " ")
    if given.wind_mps >= min(limits.sustained_stop_mps, _MOST_ASHORE_MPS[given.craft]):
        return [f"Wind {wind} is over the limit of most people in a {craft}: sheltered water only, or stay ashore."]
    if given.wind_mps >= limits.sustained_caution_mps:
        return [f"Wind {wind} calls for care in a {craft}: keep to the sheltered side, with a short way back."]
    return []


def boat_sentence(choice: Choice, given: Given, conditions: Conditions, spot: Spot, knowledge: AdviceKnowledge) -> str:
    """How to hold the craft for a choice, as the plan of a day says it."""
    from briefing.core.advice.boat import boat_control, boat_place
    from briefing.core.advice.situation import secchi_m
    from briefing.knowledge import load_boat_parameters
    from briefing.sections.boat import boat_text

    p = load_boat_parameters()
    seen = secchi_m(conditions, knowledge)
    place = boat_place(spot, choice, craft=given.craft, wind_mps=conditions.wind_mps, seen_m=seen, p=p)
    return boat_text(boat_control(place, p), given.units)


def _choice_json(choice: Choice, units: Units) -> dict[str, Any]:
    depth, retrieve, setup = choice.running_depth_m, choice.retrieve, choice.setup
    return {
        "id": choice.id,
        "name": choice.name,
        "rank": choice.rank,
        "group": choice.group,
        "pace": choice.pace,
        "weight_g": choice.weight_g,
        "weight_oz": choice.weight_oz,
        "weight_why": choice.size_why,
        "running_depth_m": 0 if depth == (0.0, 0.0) else None if depth is None else [round(d, 2) for d in depth],
        "trailer": choice.trailer,
        "retrieve": None
        if retrieve is None
        else {
            "id": retrieve.id,
            "name": retrieve.name,
            "how": retrieve.how,
            "speed_mps": None if retrieve.speed_mps is None else [round(v, 2) for v in retrieve.speed_mps],
            "turns_in_10_s": None if retrieve.reel_turns_per_10s is None else round(retrieve.reel_turns_per_10s),
        },
        "colours": [{"id": item.id, "name": item.name, "why": item.why} for item in choice.colours],
        "flash": choice.flash,
        "setup": None
        if setup is None
        else {
            "rod": localised(setup.rod, units),
            "reel": setup.reel,
            "line": localised(setup.line, units),
            "leader": None if setup.leader is None else localised(setup.leader, units),
        },
        "follow_up": list(choice.follow_up),
        "faults": list(choice.faults),
        "reasons": list(choice.reasons),
        "cautions": list(choice.cautions),
        "how_sure": choice.how_sure,
        "change": choice.change,
        "look_for": choice.look_for,
        "how": choice.how,
        "blade": choice.blade,
        "bottom_depth_m": None if choice.bottom_depth_m is None else [round(d, 2) for d in choice.bottom_depth_m],
        "fish_depth_m": None if choice.fish_depth_m is None else [round(d, 2) for d in choice.fish_depth_m],
    }


def screen(
    choices: Sequence[Choice],
    given: Given,
    conditions: Conditions,
    spot: Spot,
    tackle: TackleBox,
    knowledge: AdviceKnowledge,
    *,
    why: bool,
    explain: bool,
) -> list[str]:
    """The lines of the screen, 80 columns: the situation, three choices, cautions.

    With three choices it is made to fit 24 lines: what can be done without is left out first; ``why`` tells all.
    """
    from briefing.core.advice.explain import FOLKLORE
    from briefing.core.advice.ranking import factors_in_words, shown_three

    shown = shown_three(choices)
    warned = [line for note in craft_cautions(given) for line in _wrap(note, "! ", "  ")]
    notes = [_wrap(note) for note in place_notes(given, conditions, spot, knowledge)]
    top = [*warned, *_wrap(_situation(given, knowledge))]
    head = [*top, *(line for note in notes for line in note)]
    target = [] if given.bait is not None else _wrap(_target(given, knowledge))  # what they gather at is the target
    if not shown:
        nothing = "Nothing in the box fits this place and hour: change the place, or the time of day."
        return [*head, *target, "", *_wrap(nothing)]
    boat = boat_sentence(shown[0], given, conditions, spot, knowledge)
    assumed = _wrap(f"Assumed: {', '.join(given.assumed)}.") if given.assumed else []
    if why or explain:
        lines = [*head, *target, *_wrap(boat)]
        lines += _season_lines(given, knowledge) if explain else []
        lines.append("")
        for choice in shown:
            lines += _choice_lines(choice, _FULL, given.units)
            if explain:
                lines += _lure_lines(choice, given, knowledge)
            lines += _wrap(f"Size: {choice.size_why}", "  ") if choice.size_why else []
            if why:
                factors = factors_in_words(conditions, spot, knowledge, choice, tackle, units=given.units)
                lines += [line for text in factors for line in _wrap(text, "  - ", "    ")]
                lines += _wrap(choice.change, "  ") if choice.change else []
            lines.append("")
        if why:
            lines += _rungs(shown[0], given, conditions, spot, knowledge)
            rivals = [choice.name for choice in choices if not choice.rank][:4]
            lines += _wrap(f"Close behind: {', '.join(rivals)}.") if rivals else []
        lines += _lessons(knowledge) if explain else []
        lines += [*_cautions(shown, all_of_them=True), *assumed]
        return [*lines, "", *_wrap(FOLKLORE)] if why else lines
    lines = []
    for level in (_FULL, _SHORT, _SHORTER, _SHORTEST, _BARE, _BAREST, _LEAST, _JOINED, _TIGHT, _TIGHTEST, _LAST):
        lines = [*top, *(line for note in notes[: level.most_notes] for line in note)]
        lines += target if level.target else []
        lines += _wrap(boat) if level.boat else []
        lines += [line for choice in shown for line in _choice_lines(choice, level, given.units)]
        lines += _cautions(shown, all_of_them=level.cautions, most=level.most_notes)
        lines += assumed
        if len(lines) <= SCREEN_LINES:
            break
    return lines


def _rungs(choice: Choice, given: Given, conditions: Conditions, spot: Spot, knowledge: AdviceKnowledge) -> list[str]:
    """On fish that saw the lure yesterday: what to change with it in turn."""
    from briefing.core.advice.moments import moments_now, rungs_below

    own = [one.id for one in knowledge.presentation(choice.id).retrieves]
    now = "" if choice.retrieve is None else choice.retrieve.id
    below = [
        rung
        for one in moments_now(conditions, spot, knowledge.moments)
        for rung in rungs_below(one, choice.group, own, now)
    ]
    if not below:
        return []
    return _wrap(f"Next with the {in_text(choice.name)}: {localised('; then '.join(below), given.units)}.")


def _season_lines(given: Given, knowledge: AdviceKnowledge) -> list[str]:
    """What fish do in this season and place, and what people get wrong then."""
    phase = max(given.phases, key=lambda key: given.phases[key])
    info, kind, cover = knowledge.phases[phase], given.kind, knowledge.covers[given.cover[0]]
    texts = [f"{cover.name.capitalize()}: {cover.looks}.", info.summary, f"Best hours: {info.time_of_day}."]
    if kind is not None:
        habit, region = info.habits[kind], knowledge.regions[kind]
        texts += [region.character, region.find, f"Usual months here: {info.months[kind]}."]
        texts += [f"Fish hold by {habit.hold}; bank: {habit.bank}."]
    if given.front in ("day1", "day2"):
        change = info.changes["cold_front"]
        texts += [f"Behind a front: {change.cover}, {change.pace}. {change.note}"]
    texts += [f"Signs: {'; '.join(info.look_for)}.", f"Mistakes: {'; '.join(info.mistakes)}.", *info.ethics]
    return [line for text in texts for line in _wrap(localised(text, given.units))]


def _lessons(knowledge: AdviceKnowledge) -> list[str]:
    """The order in which to learn the lures, for whoever begins."""
    found = sorted((item.lesson, item.name) for item in knowledge.presentations if item.lesson is not None)
    return _wrap(f"To learn in this order: {', '.join(f'{number} {in_text(name)}' for number, name in found)}.")


def _lure_lines(choice: Choice, given: Given, knowledge: AdviceKnowledge) -> list[str]:
    """What a lure passes for, how its depth is set, its hooks, other ways to work it, and faults with their cures."""
    from briefing.sections.words import listed

    item = knowledge.presentation(choice.id)
    sizes = [f"{step.oz} oz: {step.use}" for step in item.weights if step.oz == choice.weight_oz and step.oz != "0"]
    own = "" if choice.retrieve is None else choice.retrieve.id
    ways = [f"{knowledge.paces.name(one.id).split(':')[0]}: {one.when}" for one in item.retrieves if one.id != own]
    parts = [(localised(one.text, given.units), one.when) for one in (*item.blades, *item.trailers)]
    others = [f"{text.split(':')[0]}: {when}" for text, when in parts]
    gear = [one.when for one in item.setups]
    follows = [in_text(knowledge.presentation(one).name) for one in item.follow_up]
    texts = [
        f"Trailer {choice.trailer_changes}. {choice.trailer_check}".strip() if choice.trailer_changes else "",
        f"Look at: {choice.look_for}",
        f"Lesson {item.lesson}: {item.teaches}." if item.lesson is not None else "",
        f"If it goes wrong: {'; '.join(choice.faults)}",
        f"Thrown back at a miss: {listed(follows, 'or')}." if follows else "",
        f"Passes for: {item.imitates_as}",
        f"Depth: {item.depth_by}",
        f"Hooks: {item.hooks}",
        *(f"Size {text}." for text in sizes),
        f"Other ways: {'; '.join(dict.fromkeys(ways))}." if ways else "",
        f"Other trailers and blades: {'; '.join(dict.fromkeys(others))}." if others else "",
        f"Gear differs for: {'; '.join(dict.fromkeys(gear))}." if len(gear) > 1 else "",
    ]
    return [line for text in texts if text for line in _wrap(localised(text, given.units), "  ")]


@dataclass(frozen=True, slots=True)
class _Level:
    """How much is told of each choice."""

    how: int  # words
    reasons: bool
    target: bool
    cautions: bool
    trailer: bool
    boat: bool
    second: bool = True  # the second colour
    joined: bool = False  # colour and gear in one line
    most_notes: int = 9  # of the place, and of the cautions
    first_how: bool = False  # how it is worked is told of the first choice alone


_FULL = _Level(60, True, True, True, True, True)
_SHORT = _Level(25, True, True, False, True, True)
_SHORTER = _Level(25, False, True, False, True, True)
_SHORTEST = _Level(25, False, True, False, False, True)
_BARE = _Level(25, False, False, False, False, True)
_BAREST = _Level(25, False, False, False, False, False)
_LEAST = _Level(25, False, False, False, False, False, second=False)
_JOINED = _Level(25, False, False, False, False, False, second=False, joined=True)
_TIGHT = _Level(14, False, False, False, False, False, second=False, joined=True, most_notes=1)
_TIGHTEST = _Level(14, False, False, False, False, False, second=False, joined=True, most_notes=1, first_how=True)
_LAST = replace(_TIGHTEST, most_notes=0)


def _target(given: Given, knowledge: AdviceKnowledge) -> str:
    """What to cast at first: where two kinds of cover meet, else what the one has."""
    first = localised(knowledge.covers[given.cover[0]].target, given.units)
    if len(given.cover) < 2:
        return f"Cast first at {first}."
    one, other = (knowledge.covers[cover].plural for cover in given.cover[:2])
    return f"Cast first where {one} and {other} meet, then at {first}."


def _cautions(shown: Sequence[Choice], *, all_of_them: bool, most: int = 9) -> list[str]:
    """The cautions of the choices; the hooks and metals of single lures only where there is room."""
    notes = list(dict.fromkeys(note for choice in shown for note in choice.cautions))
    if not all_of_them:
        every = [note for note in notes if all(note in choice.cautions for choice in shown)]
        notes = [note for note in every if not note.startswith("Lead ")]
    return [line for note in notes[:most] for line in _wrap(note, "! ", "  ")]


def _situation(given: Given, knowledge: AdviceKnowledge) -> str:
    from briefing.sections.words import listed

    order = sorted(given.phases, key=lambda phase: -given.phases[phase])
    names = [knowledge.phases[phase].name for phase in order if given.phases[phase] >= 0.2] or [order[0].value]
    seen = [
        knowledge.covers[item].plural
        + (f", tops {show_depth(given.cover_top_m, given.units, both=False)} down" if given.cover_top_m else "")
        for item in given.cover
    ]
    parts = [
        f"{listed([names[0], *map(str.lower, names[1:])], 'or')}, {given.species.replace('_', ' ')}",
        f"{' and '.join(seen)} in {show_depth(given.depth_m, given.units, both=False)}",
    ]
    if given.water_temp_c is not None:
        parts.append(f"water {show_temperature(given.water_temp_c, given.units, both=False)}")
    if given.secchi_m is not None:
        parts.append(f"visibility {show_visibility(given.secchi_m, given.units, both=False)}")
    parts += [f"wind {show_wind(given.wind_mps, given.units, both=False)}", _SKY_WORDS[given.sky]]
    return f"{parts[0]}: {', '.join(parts[1:])}."


def _choice_lines(choice: Choice, level: _Level, units: Units) -> list[str]:
    size = weight_text(choice, units)
    head = f"{choice.rank.upper()}: {choice.name}{f', {size}' if size else ''}"
    if len(head) + 2 + len(choice.how_sure) > WIDTH:
        head = head.split(" (")[0]
    sized = f"{head}, {choice.size}" if choice.size else head  # how long it is, to be found in the box
    head = sized if len(sized) + 2 + len(choice.how_sure) <= WIDTH else head
    lines = [f"{head}{choice.how_sure.rjust(max(WIDTH - len(head), 2 + len(choice.how_sure)))}"]
    out = choice.out_of_season
    if level.joined and choice.rank != "first choice":  # what would be tied on instead stands with the first
        out = out.split(". ")[0]
    lines += _wrap(f"{out.rstrip('.')}.", "  ") if out else []
    parts = [choice.depth_text] if choice.depth_text else []
    if choice.trailer:
        parts.append(choice.trailer if level.trailer else choice.trailer.split(":")[0])
    parts += [_pace(choice) if level.second or choice.retrieve is None or choice.retrieve.reel_turns_per_10s else ""]
    lines += _wrap("; ".join(part for part in parts if part), "  ")
    if choice.rank == "first choice" or not level.first_how:
        lines += _wrap(_how(choice, level.how), "  ")
    worn = [_colour(choice, second=level.second)] if choice.colours else []
    worn += [localised(_gear(choice.setup), units)] if choice.setup is not None else []
    for text in [". ".join(worn)] if level.joined else worn:
        lines += _wrap(text, "  ")
    if level.reasons and choice.reasons:
        fits = [reason for reason in choice.reasons if len(reason) <= WIDTH - 2]
        lines += _wrap((fits or choice.reasons)[0], "  ")
    return lines


def _gear(setup: SetupPick) -> str:
    """Rod, ratio, line and leader in the fewest words."""
    rod = setup.rod.removesuffix(" action").replace(" to ", "-")
    leader = f" to {setup.leader}" if setup.leader else ""
    line = f"{setup.line}{leader}".replace("fluorocarbon", "fluoro").replace("nylon mono", "mono")
    return f"{rod}; {setup.reel.removeprefix('baitcast ')}; {line}"


def _pace(choice: Choice) -> str:
    """The retrieve with its turns for the reel that is printed, or with its pause."""
    retrieve = choice.retrieve
    if retrieve is None:
        return ""
    name = retrieve.name.split(":")[0]
    if retrieve.reel_turns_per_10s and retrieve.reel_ratio:
        return f"{name}, {retrieve.reel_turns_per_10s:.0f} turns in 10 s at {retrieve.reel_ratio:.1f}:1"
    if retrieve.pause_s is not None:
        from briefing.core.advice.weight import pause_words

        words = pause_words(retrieve.pause_s)
        return f"{name}; {words[:1].lower()}{words[1:]}"
    return name


def _how(choice: Choice, words: int) -> str:
    """How it is worked, in whole sentences of at most so many words, one in any case."""
    if words >= len(choice.how.split()):
        return choice.how
    text = "" if choice.retrieve is None else choice.retrieve.how
    kept = ""
    for sentence in re.split(r"(?<=[.;]) ", text):
        if kept and len(f"{kept} {sentence}".split()) > words:
            break
        kept = f"{kept} {sentence}".strip()
    return f"{kept.rstrip(';')}." if kept.endswith(";") else kept


def _colour(choice: Choice, *, second: bool) -> str:
    first, *rest = choice.colours
    text = f"{first.short[:1].upper()}{first.short[1:]}"
    if rest and second:
        text += f"; {rest[0].short} {choice.second_when}"
    finish = choice.blade or (choice.flash or "").split(":")[0]
    if not finish:
        return text
    return f"{text}; {finish if choice.blade else f'blade {finish}'}"


def weight_text(choice: Choice, units: Units) -> str:
    """A weight as the trade prints it there: ``3/8 oz``, ``10.6 g``."""
    if choice.weight_oz is None or choice.weight_g is None:
        return ""
    if choice.weight_oz == "0":
        return "no weight"
    return f"{choice.weight_oz} oz" if units == "us" else f"{choice.weight_g:g} g"


def _wrap(text: str, first: str = "", rest: str | None = None) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=first if rest is None else rest)
