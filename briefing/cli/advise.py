"""``briefing advise``: what to tie on here and now, without a lake file and without a network."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING, Annotated, TypeVar

import typer

from briefing.app.when import read_day
from briefing.cli.advise_text import USUAL_WIND_MPS, Given, as_contract, screen
from briefing.cli.common import app_context, ask, complete_lake, echo, echo_json
from briefing.errors import InputError
from briefing.units import (
    Units,
    parse_depth,
    parse_speed,
    parse_temperature,
    parse_temperature_difference,
    parse_visibility,
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
    SpeciesForm,
    Tide,
    WaterColour,
)

if TYPE_CHECKING:
    from briefing.app.advise import HourAtSpot
    from briefing.core.advice.conditions import Conditions, Spot, TackleBox
    from briefing.core.advice.knowledge import AdviceKnowledge

SPECIES = ("largemouth", "smallmouth", *SpeciesForm)
FRONTS = ("approaching", "day1", "day2")
T = TypeVar("T")


def advise(
    ctx: typer.Context,
    lake: Annotated[
        str | None,
        typer.Option("--lake", help="At a lake of yours: what it knows fills in.", autocompletion=complete_lake),
    ] = None,
    spot: Annotated[str | None, typer.Option("--spot", help="A place of that lake; else its first.")] = None,
    clock: Annotated[str | None, typer.Option("--time", help="Hour at that lake, 08:30; now when left out.")] = None,
    day: Annotated[str | None, typer.Option("--date", help="Day: tomorrow, sat, 2026-04-18; else today.")] = None,
    lat: Annotated[float | None, typer.Option("--lat", help="Latitude in degrees, south negative.")] = None,
    species: Annotated[str | None, typer.Option(help="largemouth, smallmouth or spotted, or the id of a form.")] = None,
    water_temp: Annotated[str | None, typer.Option("--water-temp", help="Water temperature at the spot, 59F.")] = None,
    trend: Annotated[str | None, typer.Option(help="Change of the water over three days, +3F or -2F.")] = None,
    visibility: Annotated[str | None, typer.Option(help="How far down a white lure is seen, 3ft.")] = None,
    water_colour: Annotated[str | None, typer.Option("--water-colour", help=", ".join(WaterColour))] = None,
    sky: Annotated[str | None, typer.Option(help=", ".join(Sky))] = None,
    wind: Annotated[str | None, typer.Option(help="Wind at the spot, 12mph.")] = None,
    cover: Annotated[
        str | None, typer.Option(help=f"{', '.join(Cover)}; several with commas, the main one first.")
    ] = None,
    depth: Annotated[str | None, typer.Option(help="Depth of the water at the cover, 6ft.")] = None,
    cover_top: Annotated[
        str | None, typer.Option("--cover-top", help="Top of the cover below the surface, 2.5ft.")
    ] = None,
    bottom: Annotated[str | None, typer.Option(help=", ".join(Bottom))] = None,
    phase: Annotated[str | None, typer.Option(help=f"{', '.join(Phase)}; else from date, latitude and water.")] = None,
    mood: Annotated[str | None, typer.Option(help=", ".join(Mood))] = None,
    forage: Annotated[str | None, typer.Option(help="What bass eat here, with commas: shad,crawfish.")] = None,
    water: Annotated[str | None, typer.Option("--water", help=f"Kind of water: {', '.join(LakeKind)}.")] = None,
    front: Annotated[str | None, typer.Option(help=f"Cold front: {', '.join(FRONTS)}.")] = None,
    current: Annotated[str | None, typer.Option(help=f"Water moved by flow or generation: {', '.join(Flow)}.")] = None,
    tide: Annotated[str | None, typer.Option(help=", ".join(Tide))] = None,
    bait: Annotated[str | None, typer.Option(help=f"What bass gather at: {', '.join(BaitEvent)}.")] = None,
    fished_yesterday: Annotated[
        bool, typer.Option("--fished-yesterday", help="The same water was fished hard on the day before.")
    ] = False,
    craft: Annotated[str | None, typer.Option(help=f"{', '.join(Craft)}; kayak when left out.")] = None,
    owned: Annotated[str | None, typer.Option(help="Ids of the presentations you own, with commas.")] = None,
    units: Annotated[str | None, typer.Option(help="us or metric: bare numbers and the order of units.")] = None,
    why: Annotated[bool, typer.Option("--why", help="All that counted, and what does not.")] = False,
    explain: Annotated[bool, typer.Option("--explain", help="What to look at while you fish.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON for programs: the full order.")] = False,
) -> None:
    """Say what to tie on for one place and hour, without a network. What is missing is asked on a terminal.

    With --lake the weather you typed or that is stored, water, season and the place fill in what you don't say.

    \b
    briefing advise --lat 33 --water-temp 59F --visibility 3ft --sky overcast \\
        --wind 12mph --cover grass_dense --depth 6ft --cover-top 2.5ft
    briefing advise --lake quillmere-pond --spot "Long grass edge" --time 08:30 --visibility 2ft
    """
    from briefing.core.advice.ranking import rank
    from briefing.knowledge import load_advice_knowledge

    context = app_context(ctx)
    knowledge = load_advice_knowledge(context.home.knowledge_dir)
    typed = {
        **{"date": day, "lat": None if lat is None else str(lat), "species": species, "water-temp": water_temp},
        **{"trend": trend, "visibility": visibility, "water-colour": water_colour, "sky": sky, "wind": wind},
        **{"cover": cover, "depth": depth, "cover-top": cover_top, "bottom": bottom, "phase": phase, "mood": mood},
        **{"forage": forage, "water": water, "owned": owned, "front": front, "current": current, "tide": tide},
        **{"bait": bait, "craft": craft},
    }
    may_ask = can_ask() and not as_json
    here = None
    if lake or spot or clock:
        from briefing.app.advise import hour_at

        here = hour_at(context, lake, spot, day, clock)
        typed = {**here.words, **{flag: word for flag, word in typed.items() if word is not None and flag != "date"}}
    system = units_word(units) if units else here.units if here else "us"
    given = read_given(typed, system, context.now().date(), knowledge, may_ask and here is None)
    if here is not None and not as_json:
        echo(of_the_hour(here))
    given.fished_yesterday = fished_yesterday
    conditions, place = to_core(given, knowledge)
    tackle = box(given)
    choices = rank(conditions, place, knowledge, tackle, units=given.units, solve=None if as_json else 3)
    if as_json:
        echo_json(as_contract(choices, given, conditions, place, knowledge))
        return
    for line in screen(choices, given, conditions, place, tackle, knowledge, why=why, explain=explain):
        echo(line)


def of_the_hour(here: HourAtSpot) -> str:
    """Where and when the advice is for, in a line; a wind that is not known is said."""
    when = f"{here.at.astimezone(here.profile.zone):%a %H:%M}"
    place = ", ".join(part for part in (here.profile.name, here.spot) if part)
    return f"{place}, {when}." + (
        "" if "wind" in here.words else " Wind there is not known: a light breeze is assumed."
    )


def can_ask() -> bool:
    """True when input and output are a terminal, so that questions can be answered."""
    return sys.stdin.isatty() and sys.stdout.isatty()


# ---- reading ------------------------------------------------------------------------------------------------


def units_word(word: str) -> Units:
    """The units the user asked for; raises InputError."""
    if word == "us":
        return "us"
    if word == "metric":
        return "metric"
    raise InputError(f"--units takes us or metric, found {word}")


def read_given(
    typed: Mapping[str, str | None], units: Units, today: date, knowledge: AdviceKnowledge, may_ask: bool
) -> Given:
    """Turn words into values; ask for what is missing where that is possible, else assume and say so.

    Raises InputError or UnitError naming the flag; cover and depth have no default.
    """
    read = _Reader(typed, may_ask)
    given = Given(units, read.value("date", lambda text: read_day(text, today), ask_for=False) or today)
    given.species = read.value("species", _one_of(SPECIES, "--species"), "largemouth") or "largemouth"
    given.kind = read.value("water", _member(LakeKind, "--water"), ask_for=False)
    given.cover = read.must("cover", _list_of(Cover, "--cover"), ", ".join(Cover))
    given.depth_m = read.must("depth", lambda text: parse_depth(text, units), "6ft")
    top_default = "" if any(item.value.startswith(("grass", "brush")) for item in given.cover) else None
    given.cover_top_m = read.value("cover-top", lambda text: parse_depth(text, units), top_default)
    given.water_temp_c = read.value("water-temp", lambda text: parse_temperature(text, units), "")
    given.trend_3d_c = read.value("trend", lambda text: parse_temperature_difference(text, units), "")
    given.secchi_m = read.value("visibility", lambda text: parse_visibility(text, units), "")
    given.water_colour = read.value("water-colour", _member(WaterColour, "--water-colour"), "")
    given.sky = read.value("sky", _member(Sky, "--sky"), "broken") or _assume(given, "broken cloud", Sky.BROKEN)
    wind = read.value("wind", lambda text: parse_speed(text, units), "")
    given.wind_mps = _assume(given, "a light breeze", USUAL_WIND_MPS) if wind is None else wind
    given.bottom = read.value("bottom", _member(Bottom, "--bottom"), "")
    given.mood = read.value("mood", _member(Mood, "--mood"), "")
    given.forage = read.value("forage", _list_of(Forage, "--forage"), "") or ()
    if not given.forage and given.kind is not None:
        given.forage = _assume(given, "food as usual in such water", knowledge.regions[given.kind].usual_forage)
    given.front = read.value("front", _one_of(FRONTS, "--front"), ask_for=False)
    given.flow = read.value("current", _member(Flow, "--current"), ask_for=False)
    given.tide = read.value("tide", _member(Tide, "--tide"), ask_for=False)
    given.bait = read.value("bait", _member(BaitEvent, "--bait"), ask_for=False)
    given.craft = read.value("craft", _member(Craft, "--craft"), ask_for=False) or Craft.KAYAK
    given.owned = frozenset(read.value("owned", _owned(knowledge), "") or ())
    given.phases = _phases(given, read, knowledge)
    _note_assumptions(given)
    return given


class _Reader:
    """Takes a value from what was typed, else asks where it may."""

    def __init__(self, typed: Mapping[str, str | None], may_ask: bool) -> None:
        self.typed, self.may_ask = typed, may_ask

    def value(
        self, name: str, parse: Callable[[str], T], default: str | None = None, *, ask_for: bool = True
    ) -> T | None:
        """The value, or None when it was neither typed nor answered; default is offered when asking."""
        text = self.typed.get(name)
        if text is not None:
            return parse(text)
        if not self.may_ask or not ask_for or default is None:
            return None
        question = f"{_QUESTIONS[name]}{'' if default else ' (Enter to skip)'}"
        return ask(question, lambda answer: parse(answer) if answer.strip() else None, default=default)

    def must(self, name: str, parse: Callable[[str], T], hint: str) -> T:
        """The value; raises InputError when it can be neither read nor asked."""
        text = self.typed.get(name)
        if text is not None:
            return parse(text)
        if self.may_ask:
            return ask(_QUESTIONS[name], parse, hint=hint)
        raise InputError(f"--{name} is missing: {_QUESTIONS[name].lower()} ({hint})")


_QUESTIONS = {
    "species": "Species",
    "lat": "Latitude in degrees",
    "cover": "Cover at the spot",
    "depth": "Depth of the water there",
    "cover-top": "Top of the cover below the surface",
    "water-temp": "Water temperature there",
    "trend": "Change of the water over three days",
    "visibility": "How far down a white lure is seen",
    "water-colour": f"Water colour in a white cup: {', '.join(WaterColour)}",
    "sky": f"Sky: {', '.join(Sky)}",
    "wind": "Wind at the spot",
    "bottom": f"Bottom: {', '.join(Bottom)}",
    "phase": f"Phase: {', '.join(Phase)}",
    "mood": f"Mood of the fish, if you have seen any: {', '.join(Mood)}",
    "forage": "What bass eat here, with commas",
    "owned": "Ids of presentations you own, with commas",
}


def _phases(given: Given, read: _Reader, knowledge: AdviceKnowledge) -> Mapping[Phase, float]:
    from briefing.core.advice.season import phase_from_temperature
    from briefing.core.phase.forms import form_for

    given.latitude_deg = read.value("lat", _latitude, ask_for=False)
    asked = "" if given.latitude_deg is None or given.water_temp_c is None else None
    named = read.value("phase", _member(Phase, "--phase"), asked)
    if named is not None:
        return {named: 1.0}
    if given.latitude_deg is None:
        given.latitude_deg = read.value("lat", _latitude, "")
    if given.water_temp_c is None or given.latitude_deg is None:
        raise InputError(
            "The phase is open: give --phase, or --lat and --water-temp (the day is today unless --date says otherwise)"
        )
    form = form_for(given.species, given.latitude_deg, given.kind or LakeKind.LOWLAND_RESERVOIR)
    return phase_from_temperature(form, given.water_temp_c, given.day, given.latitude_deg, knowledge)


def _note_assumptions(given: Given) -> None:
    if given.water_temp_c is None:
        given.assumed.append("no water temperature")
    if given.secchi_m is None:
        given.assumed.append("the usual visibility for such water")
    if given.mood is None:
        given.assumed.append("mood by phase and weather")


def _assume(given: Given, words: str, value: T) -> T:
    given.assumed.append(words)
    return value


def _latitude(text: str) -> float:
    try:
        value = float(text)
    except ValueError as error:
        raise InputError(f"--lat takes degrees such as 33.5, found {text}") from error
    if not -60.0 <= value <= 60.0:
        raise InputError(f"--lat: no bass live at {value:g} degrees; it takes -60 to 60")
    return value


def _one_of(words: Sequence[str], flag: str) -> Callable[[str], str]:
    def read(text: str) -> str:
        word = text.strip().lower()
        if word not in words:
            raise InputError(f"{flag} takes {', '.join(words)}; found {text}")
        return word

    return read


def _member(kind: Callable[[str], T], flag: str) -> Callable[[str], T]:
    def read(text: str) -> T:
        try:
            return kind(text.strip().lower().replace("-", "_"))
        except ValueError as error:
            accepted = ", ".join(str(item) for item in kind)  # type: ignore[attr-defined]
            raise InputError(f"{flag} takes {accepted}; found {text}") from error

    return read


def _list_of(kind: Callable[[str], T], flag: str) -> Callable[[str], tuple[T, ...]]:
    one = _member(kind, flag)
    return lambda text: tuple(one(part) for part in text.split(",") if part.strip())


def _owned(knowledge: AdviceKnowledge) -> Callable[[str], tuple[str, ...]]:
    def read(text: str) -> tuple[str, ...]:
        ids = tuple(part.strip().lower() for part in text.split(",") if part.strip())
        unknown = [item for item in ids if item not in knowledge.tables.index]
        if unknown:
            raise InputError(f"--owned: {', '.join(unknown)} is unknown; it takes {', '.join(knowledge.tables.index)}")
        return ids

    return read


# ---- to the core and back -----------------------------------------------------------------------------------


def to_core(given: Given, knowledge: AdviceKnowledge) -> tuple[Conditions, Spot]:
    """Conditions and spot for the ranking."""
    from briefing.core.advice.conditions import Conditions, FrontStage, Spot
    from briefing.core.advice.moments import fed
    from briefing.core.phase.forms import form_for

    latitude = 38.0 if given.latitude_deg is None else given.latitude_deg
    conditions = Conditions(
        phases=given.phases,
        water_temp_c=given.water_temp_c,
        species={form_for(given.species, latitude, given.kind or LakeKind.LOWLAND_RESERVOIR): 1.0},
        trend_3d_c=given.trend_3d_c,
        secchi_m=given.secchi_m,
        water_colour=given.water_colour,
        sky=given.sky,
        wind_mps=given.wind_mps,
        mood=given.mood,
        forage=given.forage,
        lake_kind=given.kind,
        day=given.day,
        front_stage=None if given.front is None else FrontStage(given.front),
        craft=given.craft,
        pressured=given.fished_yesterday,
        tide=given.tide,
        bait=given.bait,
    )
    top = given.cover_top_m
    if top is not None and top > given.depth_m:
        raise InputError("--cover-top is deeper than --depth: the top of the cover lies between surface and bottom.")
    if top is None and Cover.GRASS_TOPPED in given.cover:
        top = 0.0
    spot = Spot(
        depth_m=(given.depth_m, given.depth_m),
        cover={item: 1.0 / len(given.cover) for item in given.cover},
        cover_top_m=top,
        bottom=given.bottom,
        flow=given.flow,
        current=given.flow in (Flow.SLOW, Flow.STRONG),
    )
    return fed(conditions, knowledge.moments), spot


def box(given: Given) -> TackleBox:
    """The tackle box of the ranking."""
    from briefing.core.advice.conditions import TackleBox

    return TackleBox(presentations=given.owned)
