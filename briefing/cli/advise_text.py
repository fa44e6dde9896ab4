"""What ``briefing advise`` was given, and its answer: JSON for programs, one screen of 80 columns for people."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, Any

from briefing.core.advice.measures import localised
from briefing.units import (
    Units,
    show_depth,
    show_temperature,
    show_visibility,
    show_wind,
)
from briefing.vocabulary import Bottom, Cover, Forage, LakeKind, Mood, Phase, Sky, WaterColour

if TYPE_CHECKING:
    from briefing.core.advice.choice import Choice
    from briefing.core.advice.conditions import Conditions, Spot, TackleBox
    from briefing.core.advice.knowledge import AdviceKnowledge

WIDTH = 80
USUAL_WIND_MPS = 2.5
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
    assumed: list[str] = field(default_factory=list)


def as_contract(choices: Sequence[Choice], given: Given) -> dict[str, Any]:
    """The JSON for programs: the full order, without internal numbers."""
    return {
        "phase": {phase.value: round(share, 3) for phase, share in given.phases.items()},
        "assumed": given.assumed,
        "choices": [_choice_json(choice) for choice in choices],
    }


def _choice_json(choice: Choice) -> dict[str, Any]:
    depth, retrieve, setup = choice.running_depth_m, choice.retrieve, choice.setup
    return {
        "id": choice.id,
        "name": choice.name,
        "rank": choice.rank,
        "group": choice.group,
        "pace": choice.pace,
        "weight_g": choice.weight_g,
        "weight_oz": choice.weight_oz,
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
        else {"rod": setup.rod, "reel": setup.reel, "line": setup.line, "leader": setup.leader},
        "follow_up": list(choice.follow_up),
        "faults": list(choice.faults),
        "reasons": list(choice.reasons),
        "cautions": list(choice.cautions),
        "how_sure": choice.how_sure,
        "change": choice.change,
        "look_for": choice.look_for,
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
    """The lines of the screen, 80 columns: the situation, three choices, cautions."""
    from briefing.core.advice.explain import FOLKLORE
    from briefing.core.advice.ranking import factors_in_words, shown_three

    shown = shown_three(choices)
    target = localised(knowledge.covers[given.cover[0]].target, given.units)
    lines = [*_wrap(_situation(given, knowledge)), *_wrap(f"Cast first at {target}."), ""]
    if not shown:
        return [*lines, *_wrap("Nothing in the box fits this place and hour: change the place, or the time of day.")]
    for choice in shown:
        lines += [*_choice_lines(choice), ""]
        if explain:
            lines += [
                *_wrap(f"Look at: {choice.look_for}", "  "),
                *_wrap(f"If it goes wrong: {'; '.join(choice.faults)}", "  "),
            ]
            lines.append("")
        if why:
            factors = factors_in_words(conditions, spot, knowledge, choice, tackle, units=given.units)
            lines += [*(line for text in factors for line in _wrap(text, "  - ", "    ")), ""]
    notes = list(dict.fromkeys(note for choice in shown for note in choice.cautions))
    lines += [line for note in notes for line in _wrap(note, "! ", "  ")]
    if given.assumed:
        lines += _wrap(f"Assumed: {', '.join(given.assumed)}.")
    if why:
        lines += ["", *_wrap(FOLKLORE)]
    return lines


def _situation(given: Given, knowledge: AdviceKnowledge) -> str:
    order = sorted(given.phases, key=lambda phase: -given.phases[phase])
    names = [knowledge.phases[phase].name for phase in order if given.phases[phase] >= 0.2] or [order[0].value]
    seen = [
        knowledge.covers[item].plural
        + (f", tops {show_depth(given.cover_top_m, given.units)} down" if given.cover_top_m else "")
        for item in given.cover
    ]
    parts = [
        f"{' or '.join(names)}, {given.species.replace('_', ' ')}",
        f"{' and '.join(seen)} in {show_depth(given.depth_m, given.units)}",
    ]
    if given.water_temp_c is not None:
        parts.append(f"water {show_temperature(given.water_temp_c, given.units)}")
    if given.secchi_m is not None:
        parts.append(f"visibility {show_visibility(given.secchi_m, given.units)}")
    parts += [f"wind {show_wind(given.wind_mps, given.units)}", _SKY_WORDS[given.sky]]
    return f"{parts[0]}: {', '.join(parts[1:])}."


def _choice_lines(choice: Choice) -> list[str]:
    size = weight_text(choice)
    head = f"{choice.rank.upper()}: {choice.name}{f', {size}' if size else ''}"
    lines = [f"{head}{choice.how_sure.rjust(max(WIDTH - len(head), 2 + len(choice.how_sure)))}"]
    how = []
    if choice.depth_text:
        how.append(choice.depth_text)
    if choice.trailer:
        how.append(choice.trailer.split(":")[0])
    retrieve = choice.retrieve
    if retrieve is not None:
        turns = retrieve.reel_turns_per_10s
        how.append(f"{retrieve.name}{f', about {turns:.0f} turns in 10 s' if turns else ''}")
    lines += _wrap("; ".join(how), "  ")
    if choice.colours:
        colours = " or ".join(item.name for item in choice.colours)
        flash = f"; blade: {choice.flash.split(':')[0]}" if choice.flash else ""
        lines += _wrap(f"Colour: {colours}{flash}", "  ")
    if choice.setup is not None:
        leader = f", leader {choice.setup.leader}" if choice.setup.leader else ""
        lines += _wrap(f"{choice.setup.rod}; {choice.setup.line}{leader}", "  ")
    lines += _wrap(" ".join(choice.reasons[:2]), "  ")
    if choice.change and not choice.change.startswith("Little"):
        lines += _wrap(choice.change, "  ")
    return lines


def weight_text(choice: Choice) -> str:
    """A weight as the trade prints it, with grams: ``3/8 oz (10.6 g)``."""
    if choice.weight_oz is None or choice.weight_g is None:
        return ""
    if choice.weight_oz == "0":
        return "no weight"
    return f"{choice.weight_oz} oz ({choice.weight_g:g} g)"


def _wrap(text: str, first: str = "", rest: str | None = None) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=first if rest is None else rest)
