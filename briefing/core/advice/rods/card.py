"""The rigging list as plain text, to print and tick off the night before."""

from __future__ import annotations

from collections.abc import Mapping
from textwrap import wrap

from briefing.core.advice.choice import Choice
from briefing.core.advice.gear_words import length_words, line_words, ratio_words
from briefing.core.advice.measures import localised
from briefing.core.advice.presentation import Setup
from briefing.core.advice.rods.types import RodPick, RodPlan
from briefing.units import Units, show_depth_range

WIDTH = 72
_INDENT = " " * 7
_CHECKS = (
    "Re-tie every knot; run the last {3 ft|metre} of line through your fingers.",
    "Touch up the points; bend the barbs down if you go alone.",
    "Pliers, cutter, net and glasses where a hand finds them.",
    "Charge lights and electronics; tell someone where you go.",
)


def rig_card(
    plan: RodPlan,
    heading: str,
    choices: Mapping[str, Choice] | None = None,
    *,
    boxes: bool = True,
    units: Units = "us",
) -> str:
    """Rods in order with gear, lure and purpose, at most 72 columns, ending in a newline.

    ``choices`` by presentation id adds depth, trailer, retrieve and colour as solved for the plan's first stop with it
    (:func:`briefing.core.advice.rods.first_named`).
    ``boxes`` puts a box to tick before every rod and the checks of the evening at the end, for a printed card.
    """
    lines = ["RIGGING LIST", *wrap(heading, WIDTH), "-" * WIDTH]
    if not plan.picks:
        lines += _wrapped(" ".join(plan.notes))
    for pick in plan.picks:
        lines += _pick_lines(pick, (choices or {}).get(pick.setup.presentation), "[ ] " if boxes else "", units)
    extras = [*plan.unmet, *plan.notes, *plan.aboard, *([plan.gap.text] if plan.gap else [])]
    if plan.picks and extras:
        lines += ["-" * WIDTH, *(line for text in extras for line in _wrapped(text))]
    if boxes:
        lines += ["-" * WIDTH, *(line for text in _CHECKS for line in _ticked(localised(text, units)))]
    return "\n".join(lines) + "\n"


def gear_text(gear: Setup, units: Units) -> str:
    """A set-up in one line as the trade prints it: rod, reel, line, leader."""
    rod = f"{length_words(gear.length_ft, units)}, {_word(gear.power)} power, {_word(gear.action)} action"
    leader = f", leader {line_words(gear.leader, units)}" if gear.leader else ""
    return f"{rod}, {gear.reel} {ratio_words(gear)}, {line_words(gear.line, units)}{leader}"


def rod_text(pick: RodPick, units: Units) -> str:
    """The user's own rod with what is on it, or the set-up the lure asks for."""
    rod = pick.rod
    if rod is None:
        return gear_text(pick.gear, units) if pick.gear else "any rod"
    name = rod.name or rod.id.replace("_", " ")
    length = length_words((rod.length_ft, rod.length_ft), units)
    parts = [f"{name}: {length}, {_word(rod.power)} power, {_word(rod.action)} action"]
    parts.append(f"{rod.reel} {rod.ratio:g}:1" if rod.ratio else rod.reel)
    if rod.line and rod.line_lb:
        size = f"{rod.line_mm:.2f} mm" if rod.line_mm and units != "us" else f"{rod.line_lb:g} lb"
        parts.append(f"{size} {rod.line}")
    if pick.gear is not None and pick.gear.leader is not None:
        parts.append(f"leader {line_words(pick.gear.leader, units)}")
    return ", ".join(parts)


def _pick_lines(pick: RodPick, choice: Choice | None, box: str, units: Units) -> list[str]:
    reach = ", within reach" if pick.in_reach else ""
    lines = wrap(f"{box}{pick.number}  {pick.setup.label_in(units)}{reach}", WIDTH, subsequent_indent=_INDENT)
    lines += _wrapped(rod_text(pick, units))
    if choice is not None:
        lines += _wrapped(_lure_text(choice, units))
    lines += _wrapped(pick.purpose)
    for text in (*pick.mismatch, pick.retie):
        lines += _wrapped(text)
    return lines


def depth_text(choice: Choice, units: Units) -> str:
    """Where in the water a solved choice works."""
    if choice.depth_text:
        return choice.depth_text
    if choice.running_depth_m is None:
        return "depth by feel"
    low, high = choice.running_depth_m
    if high <= 0.0:
        return "at the surface"
    return f"running {show_depth_range(low, high, units, both=False)} down"


def _lure_text(choice: Choice, units: Units) -> str:
    """Depth, trailer, colour, flash and retrieve of a solved choice, those that there are."""
    parts = [f"Depth: {depth_text(choice, units)}."]
    parts += [f"Trailer: {choice.trailer}." if choice.trailer else "", choice.trailer_check]
    parts += [f"Colour: {choice.colours[0].name}." if choice.colours else ""]
    parts += [f"Flash: {choice.flash}." if choice.flash else ""]
    parts += [f"Retrieve: {choice.retrieve.name}." if choice.retrieve else ""]
    return " ".join(part for part in parts if part)


def _wrapped(text: str) -> list[str]:
    return wrap(text, WIDTH, initial_indent=_INDENT, subsequent_indent=_INDENT) if text else []


def _ticked(text: str) -> list[str]:
    return wrap(f"[ ] {text}", WIDTH, subsequent_indent="    ")


def _word(text: str) -> str:
    return text.replace("_", "-")
