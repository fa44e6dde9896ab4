"""Where to start and what to rig, by block of the day."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from types import MappingProxyType
from zoneinfo import ZoneInfo

from briefing import units
from briefing.core.advice.choice import Choice, RetrievePick
from briefing.core.advice.measures import in_text, localised
from briefing.core.advice.plan import DayPlan, Stop, SurpriseKind
from briefing.core.advice.rods.card import depth_text
from briefing.sections.boat import BoatWords
from briefing.sections.clock import clock, rounded_down, span
from briefing.sections.quantity import SectionModel
from briefing.sections.words import ended, listed, listed_few, lower_first, upper_first
from briefing.vocabulary import Level, worst

#: Cosine from which on a way counts as into the wind or with it.
_INTO = 0.5


class ColourText(SectionModel):
    """A colour family, the same in a word or two, and why; ``id`` describes it ("olive_with_bars")."""

    id: str
    name: str
    short: str
    why: str


class ChoiceText(SectionModel):
    """One presentation solved for a spot and a block, as the reader sees it."""

    id: str
    name: str
    rank: str
    weight_oz: str | None
    weight_g: float | None
    weight_text: str
    running_depth_m: tuple[float, float] | None
    depth_text: str
    trailer: str | None
    trailer_changes: str
    trailer_check: str
    retrieve_text: str
    colours: tuple[ColourText, ...]
    flash: str | None
    setup_text: str
    owned_rod: str | None
    follow_up: tuple[str, ...]
    faults: tuple[str, ...]
    reasons: tuple[str, ...]
    cautions: tuple[str, ...]
    how_sure: str
    change: str
    how_text: str
    rig_text: str
    doubt: str
    size_text: str
    line_text: str
    brief_text: str
    rod_text: str


class StopText(SectionModel):
    """One spot of a block: when, how long at least and at most, where in it and with what.

    ``number`` is the place's in the outing, in order of the first visits: map, strip and headings share it. ``again``
    marks a later visit, for which ``where`` has been told; ``change_text`` says what has changed where one stays.
    ``short_text`` is the visit in short, ``fished_text`` the first lure of it with its retrieve.
    ``boat`` says how to hold the craft, ``boat_others`` which lures ask for another distance, ``boat_more`` what drift
    and waves have to do with it.
    """

    number: int
    spot_id: str
    spot: str
    begin: datetime
    end: datetime
    time_text: str
    travel_text: str
    heading: str
    stay_text: str
    home_text: str
    change_text: str
    where: str
    where_more: str
    where_whole: str
    look_for: str
    conditions_text: str
    boat: str
    boat_others: tuple[str, ...]
    boat_more: tuple[str, ...]
    reasons: tuple[str, ...]
    same_as: str
    short_text: str
    fished_text: str
    again: bool
    choices: tuple[ChoiceText, ...]


class BlockText(SectionModel):
    """One time block, cut to the hours on the water; ``closed`` says why there is no advice in it at all."""

    name: str
    begin: datetime
    end: datetime
    time_text: str
    level: Level
    light_text: str
    closed: str
    stops: tuple[StopText, ...]


class RodText(SectionModel):
    """One rod to rig tonight and what it is for; ``colour`` in a word or two, empty on a day without stops.

    ``rig`` is the ``lure`` with its weight, ``brief`` the same without how the lure is fished, ``owned`` the name of
    the reader's own rod, empty where ``text`` tells which to take; ``id`` is the lure's; ``reserve``: at no stop of the
    plan.
    """

    id: str
    number: int
    text: str
    owned: str
    lure: str
    rig: str
    brief: str
    colour: str
    size: str
    hook: str
    purpose: str
    in_reach: bool
    reserve: bool


class LureText(SectionModel):
    """How a lure is fished, in which colour and why, as at the first place that names it; ``faults`` with their fix.

    ``rig`` is its hooking, trailer or blade, ``why`` the strongest reason.
    What one lure's text says no other's repeats.
    """

    id: str
    name: str
    how: str
    rig: str
    colours: tuple[str, ...]
    why: str
    more: tuple[str, ...]
    faults: tuple[str, ...]


class PlanSection(SectionModel):
    """Plan A by block, plan B for the likeliest surprise, the rods.

    ``switches`` are those of all blocks in order, ``lures`` how and why of each lure, told once; ``ashore`` is what
    sends the reader in before the time, ``later`` what to rig and which day to look at where today has no stop,
    ``meanwhile`` the lures of these by name, ``rigs`` the same with weight and colour,
    ``on_condition``: they are for today if it proves within the limits,
    ``rods_rule`` what the rules entered forbid on any rod, ``first`` what is to be known before the places.
    """

    summary: str
    blocks: tuple[BlockText, ...]
    plan_b: tuple[str, ...]
    left_out: tuple[str, ...]
    mind: tuple[str, ...]
    rods: tuple[RodText, ...]
    rods_note: str
    notes: tuple[str, ...]
    lures: tuple[LureText, ...] = ()
    switches: tuple[str, ...] = ()
    ashore: str = ""
    later: tuple[str, ...] = ()
    meanwhile: tuple[str, ...] = ()
    rigs: tuple[str, ...] = ()
    on_condition: bool = False
    rods_rule: str = ""
    first: tuple[str, ...] = ()


def without_headings(plan: PlanSection) -> PlanSection:
    """The plan for what leaves the machine: with lengths and directions of the ways a spot could be found."""
    blocks = tuple(
        block.model_copy(update={"stops": tuple(stop.model_copy(update={"heading": ""}) for stop in block.stops)})
        for block in plan.blocks
    )
    return plan.model_copy(update={"blocks": blocks})


@dataclass(frozen=True)
class SpotFacts:
    """What the page says of a spot in a block beside the choices; sentences are ready."""

    where: str
    beside: str
    whole: str
    conditions: str
    wind: str


def fill_plan(
    plan: DayPlan,
    facts: Mapping[tuple[str, str], SpotFacts],
    light: Mapping[str, str],
    rods: tuple[RodText, ...],
    rods_note: str,
    *,
    ramp: str = "",
    front: str = "",
    later: tuple[str, ...] = (),
    meanwhile: tuple[str, ...] = (),
    rigs: tuple[str, ...] = (),
    on_condition: bool = False,
    rods_rule: str = "",
    first: tuple[str, ...] = (),
    asked: tuple[datetime, datetime] | None = None,
    boats: Mapping[datetime, BoatWords] = MappingProxyType({}),
    summary_notes: tuple[str, ...],
    zone: ZoneInfo,
    day: date,
    system: units.Units,
) -> PlanSection:
    """Put the plan into words. ``facts`` is by (spot id, block id), ``light`` by block id; ``ramp`` is where it ends,
    ``boats`` how to hold the craft by the arrival at a stop, ``asked`` the hours asked for.

    ``front`` says where the morning stands to a front; it leads where the plan itself says nothing of it.
    """
    shown: dict[tuple[object, ...], str] = {}
    order = list(dict.fromkeys(stop.spot_id for stop in plan.stops))
    blocks = tuple(
        BlockText(
            name=block.block.title,
            begin=block.block.start,
            end=block.block.end,
            time_text=span(block.block.start, block.block.end, zone, day),
            level=block.level,
            light_text=light.get(block.block.id, ""),
            closed=block.closed,
            stops=tuple(
                _stop(
                    stop,
                    facts,
                    shown,
                    zone,
                    day,
                    system,
                    number=order.index(stop.spot_id) + 1,
                    home=(ramp or "the ramp") if stop is plan.stops[-1] else "",
                    boat=boats.get(stop.arrive, BoatWords()),
                )
                for stop in block.stops
            ),
        )
        for block in plan.blocks
    )
    return PlanSection(
        summary=_summary(plan, front, system),
        blocks=_on_the_water(blocks, zone, day) if plan.stops else _joined(_cut(blocks, asked, zone, day), zone, day),
        plan_b=_plan_b(plan),
        left_out=_left_out(plan) if plan.stops else (),
        mind=_mind(plan),
        rods=rods,
        rods_note=rods_note,
        notes=summary_notes,
        lures=_lures(blocks),
        switches=_in_turn(plan, system),
        ashore=_ashore(plan),
        later=later,
        meanwhile=meanwhile,
        rigs=rigs,
        on_condition=on_condition,
        rods_rule=rods_rule,
        first=first if plan.stops else (),
    )


def _on_the_water(blocks: Sequence[BlockText], zone: ZoneInfo, day: date) -> tuple[BlockText, ...]:
    """Only what is fished: the blocks that hold a stop, from its first arrival to its last leave."""
    return tuple(
        block.model_copy(
            update={
                "begin": block.stops[0].begin,
                "end": block.stops[-1].end,
                "time_text": span(block.stops[0].begin, block.stops[-1].end, zone, day),
            }
        )
        for block in blocks
        if block.stops
    )


def _in_turn(plan: DayPlan, system: units.Units) -> tuple[str, ...]:
    """The switches of the day by sign, in the order of the hours that they come up in, each told once."""
    told = dict.fromkeys(
        localised(switch.text, system)
        for block in plan.blocks
        for switch in block.switches
        if not plan.stops or switch.at < plan.stops[-1].leave
    )
    return (_OTHER_DEPTH, *told) if told else ()


def _lures(blocks: Sequence[BlockText]) -> tuple[LureText, ...]:
    """How each lure is fished, in which colour and why, where it is named first."""
    found: dict[str, LureText] = {}
    once = _Once()
    for choice in (choice for block in blocks for stop in block.stops for choice in stop.choices):
        if choice.id in found:
            continue
        reasons = [ended(one) for one in choice.reasons[: 2 if choice.rank == "first choice" else 1]]
        colour = [
            f"{what}: {_colour(one, found.values())}. {once(one.why)}"
            for what, one in zip(("Colour", "Second"), choice.colours, strict=False)
        ]
        flash = f"Flash: {choice.flash}" if choice.flash else ""
        trailer = f"The trailer {choice.trailer_changes}. {choice.trailer_check}" if choice.trailer_changes else ""
        log = next((one for one in _log_reasons(blocks, choice.id) if one not in reasons), "")
        more = [log, *reasons[1:], trailer.strip(), flash, choice.change]
        found[choice.id] = LureText(
            id=choice.id,
            name=choice.name,
            how=choice.how_text,
            rig=choice.rig_text,
            colours=tuple(one.strip() for one in colour),
            why=once(" ".join(part for part in (*reasons[:1], choice.doubt) if part)),
            more=tuple(text for text in map(once, more) if text),
            faults=tuple(choice.faults),
        )
    return tuple(found.values())


def _log_reasons(blocks: Sequence[BlockText], lure: str) -> list[str]:
    """What the reader's own log says of a lure, at whichever place it does."""
    named = (choice for block in blocks for stop in block.stops for choice in stop.choices if choice.id == lure)
    return [ended(one) for choice in named for one in choice.reasons if one.startswith("Your log: ")]


def _colour(colour: ColourText, lures: Iterable[LureText]) -> str:
    """A colour in full where it is named first, else in short."""
    told = any(colour.name in text for one in lures for text in one.colours)
    return f"{colour.short} again" if told else colour.name


class _Once:
    """Texts without the sentences that it was given before."""

    def __init__(self) -> None:
        self.told: set[str] = set()

    def __call__(self, text: str) -> str:
        """The text less what was told; short sentences may come again."""
        kept = [one for one in _SENTENCE_ENDS.split(text) if one not in self.told]
        self.told.update(one for one in kept if len(one.split()) >= _REPEAT_WORDS)
        return " ".join(kept)


def _left_out(plan: DayPlan) -> tuple[str, ...]:
    """Places not in the plan, those with one reason in one line."""
    by_reason: dict[str, list[str]] = {}
    for left in plan.left_out:
        by_reason.setdefault(left.why, []).append(left.spot)
    return tuple(f"{listed_few(names)}: {lower_first(why)}" for why, names in by_reason.items())


def _cut(
    blocks: Sequence[BlockText], asked: tuple[datetime, datetime] | None, zone: ZoneInfo, day: date
) -> list[BlockText]:
    """Blocks of the hours asked for alone."""
    if asked is None:
        return list(blocks)
    out = []
    for one in blocks:
        begin, end = max(one.begin, asked[0]), min(one.end, asked[1])
        if end > begin:
            out.append(one.model_copy(update={"begin": begin, "end": end, "time_text": span(begin, end, zone, day)}))
    return out


def _joined(blocks: Sequence[BlockText], zone: ZoneInfo, day: date) -> tuple[BlockText, ...]:
    """Blocks without advice that follow each other become one."""
    out: list[BlockText] = []
    for block in blocks:
        if out and out[-1].closed and block.closed:
            text = span(out[-1].begin, block.end, zone, day)
            level = worst([out[-1].level, block.level])
            out[-1] = out[-1].model_copy(
                update={"end": block.end, "time_text": text, "level": level, "name": "No fishing", "light_text": ""}
            )
        else:
            out.append(block)
    return tuple(out)


def _summary(plan: DayPlan, front: str, system: units.Units) -> str:
    stops = plan.stops
    if not stops:
        return ""  # each block says why
    lead = f"{plan.front or front} ".lstrip()
    way = f"{units.show_distance(plan.total_m, system, both=False)} in all." if plan.total_m >= 50.0 else ""
    return " ".join(text for text in (f"{lead}{way}".strip(), *plan.reasons) if text)


def _mind(plan: DayPlan) -> tuple[str, ...]:
    """Each caution once, with the lures that it is about; what holds for all of them stands alone."""
    lures: dict[str, dict[str, None]] = {}
    named = {choice.name for stop in plan.stops for choice in stop.choices}
    for choice in (choice for stop in plan.stops for choice in stop.choices):
        for note in choice.cautions:
            lures.setdefault(note, {})[choice.name] = None
    out = []
    for note, names in lures.items():
        general = len(names) > 1 and len(names) == len(named)
        about = "" if general else f"{_sentence(listed_few([in_text(name) for name in names], 3))}: "
        out.append(f"{about}{note}")
    return tuple(out)


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}"


#: Between sentences, and the least words of one that stands only once.
_SENTENCE_ENDS = re.compile(r"(?<=[.!?])\s+")
_REPEAT_WORDS = 6
#: The first thing to change where nothing bites.
_OTHER_DEPTH = "Before you change the lure, make one pass shallower and one deeper."
#: Said on every day with a plan, first: the surprise that hurts.
_WIND_EARLY = "Whitecaps or a steady push on the craft earlier than forecast"
_WIND_SIGNS = ("whitecaps", "a steady push on the craft")
_THEN_BACK = "start back while it is easy. If you make no way, land on the nearest bank you can."


def _ashore(plan: DayPlan) -> str:
    """The signs that end the outing before its time, without what to do at each."""
    if not plan.stops:
        return ""
    if plan.plan_b is not None and plan.plan_b.kind is SurpriseKind.FRONT:
        return f"What sends you in: {', '.join(_WIND_SIGNS)}, {lower_first(plan.plan_b.sign.rstrip('.'))}."
    return f"What sends you in: {' or '.join(_WIND_SIGNS)}."


def _plan_b(plan: DayPlan) -> tuple[str, ...]:
    """What to do when the wind comes early, then the likeliest other surprise."""
    found, other = [f"{_WIND_EARLY}: {_THEN_BACK}"] if plan.stops else [], plan.plan_b
    if other is None:
        return tuple(found)
    if other.kind is SurpriseKind.WIND_UP:
        found = []
    near = "Close to the ramp and in the lee" if other.kind is SurpriseKind.WIND_SHIFT else "Then"
    spots = f" {near}: {listed(other.spots)}." if other.spots and other.kind is not SurpriseKind.WIND_UP else ""
    return (*found, f"{other.sign.rstrip('.')}: {lower_first(other.do)}{spots}")


def _stop(
    stop: Stop,
    facts: Mapping[tuple[str, str], SpotFacts],
    shown: dict[tuple[object, ...], str],
    zone: ZoneInfo,
    day: date,
    system: units.Units,
    *,
    number: int,
    home: str,
    boat: BoatWords,
) -> StopText:
    fact = facts[stop.spot_id, stop.block_id]
    rigs = tuple((c.id, c.weight_oz, _of(c.retrieve), c.running_depth_m, _families(c)) for c in stop.choices)
    at = clock(stop.arrive, zone, day)
    same = ""
    if rigs and rigs in shown:
        alike = f"Same rigs as at {shown[rigs]}."
        same = "Same rigs again." if ("same", alike) in shown else alike
        shown.setdefault(("same", alike), at)
    visit = ("visit", stop.spot_id, *(one[:3] for one in rigs))
    same = "As on the first visit." if visit in shown else same
    shown.setdefault(visit, at)
    shown.setdefault(rigs, f"{stop.spot}, {at}")
    choices = []
    for choice in () if same else stop.choices:
        said = choice_text(choice, system)
        if choice is not stop.choices[0]:  # the whole of a place is not counted twice in numbers
            said = said.model_copy(update={"line_text": _without_depth_of(fact.beside, said.line_text)})
        if ("line", said.line_text) in shown and choice.retrieve is not None:
            line = f"{_what(choice, system)}: {choice.retrieve.short}."
            line = f"{_what(choice, system)}." if ("line", line) in shown else line
            said = said.model_copy(update={"line_text": line})
        shown.setdefault(("line", said.line_text), stop.spot)
        name = "" if choice.retrieve is None else lower_first(choice.retrieve.name)
        if ":" in name and ("retrieve", name) in shown:  # what a slow roll is has been told
            said = said.model_copy(update={"line_text": said.line_text.replace(name, name.partition(":")[0])})
        shown.setdefault(("retrieve", name), at)
        brief = _COUNT.sub("", said.line_text)
        if brief != said.line_text and ("brief", brief) in shown and choice.retrieve is not None:
            brief = f"{_what(choice, system)}: {choice.retrieve.short}."
            brief = f"{_what(choice, system)}." if ("brief", brief) in shown else brief
        shown["brief", brief] = at
        choices.append(said.model_copy(update={"brief_text": brief}))
    again = ("place", stop.spot_id) in shown
    first = rod_or_name(stop.choices[0], system) if stop.choices else ""
    how = stop.choices[0].retrieve.short if stop.choices and stop.choices[0].retrieve else ""
    fished = ", ".join(part for part in (first, how) if part)
    told_by_how = how and shown.get(("how", how)) == first  # which rod that is has been told
    shown["how", how] = first if shown.get(("how", how), first) == first else ""
    short = f"{at} {stop.spot}"
    shown.setdefault(("place", stop.spot_id), at)
    told = ("look", stop.look_for) in shown
    shown.setdefault(("look", stop.look_for), at)
    held, more = boat.text, boat.more
    others = tuple(text for text in boat.others if ("boat for", text) not in shown)
    for text in others:
        shown["boat for", text] = at
    alike, before = shown.get(("boat", held), ""), shown.get(("boat at", stop.spot_id))
    shown.setdefault(("boat", held), stop.spot)
    shown["boat at", stop.spot_id] = held
    if alike and held:
        held, more = "" if before == held else boat.short, ()
    why = tuple(text for text in stop.reasons if text and ("why", text) not in shown)
    if stop.reasons and not why:
        why = (f"Why: as at {shown['why', stop.reasons[0]]}.",) if shown["why", stop.reasons[0]] != stop.spot else ()
    for text in stop.reasons:
        shown.setdefault(("why", text), stop.spot)
    end = rounded_down(stop.leave)
    stay = _stay(stop, zone, day, home=home)
    if ("stay", stay) in shown:
        stay = f"On to {stop.then}." if stop.then else "Then on."
    shown.setdefault(("stay", stay), at)
    travel = ""
    if stop.travel_min > 0:
        travel = f"Way: {stop.travel_min} min, {units.show_distance(stop.travel_m, system, both=False)}."
    return StopText(
        number=number,
        spot_id=stop.spot_id,
        spot=stop.spot,
        begin=stop.arrive,
        end=end,
        time_text=span(stop.arrive, end, zone, day),
        travel_text=travel,
        heading="" if math.isnan(stop.travel_to_deg) else units.compass_point(stop.travel_to_deg),
        stay_text=stay,
        home_text=_home(stop, zone, day, last=bool(home)),
        change_text=f"{upper_first(stop.goes_on)}: stay, and change." if stop.goes_on else "",
        where=fact.where,
        where_more=fact.beside,
        where_whole=fact.whole,
        look_for="" if told else stop.look_for,
        conditions_text=fact.conditions,
        boat=held,
        boat_others=others,
        boat_more=more,
        reasons=(*((fact.wind,) if fact.wind else ()), *why),
        same_as=same,
        short_text=short,
        fished_text=how if told_by_how else fished,
        again=again,
        choices=tuple(choices),
    )


def _of(retrieve: RetrievePick | None) -> str:
    return "" if retrieve is None else retrieve.id


def _families(choice: Choice) -> tuple[str, ...]:
    return tuple(one.id for one in choice.colours)


#: A visit is cut short without a touch where that spares at least so many minutes.
_WORTH_SENDING_ON_MIN = 10


def _stay(stop: Stop, zone: ZoneInfo, day: date, *, home: str) -> str:
    """What sends one on and where to, when to leave whatever bites, and why a stay is long; ``home`` at the last."""
    on = f"go on to {stop.then}" if stop.then else "work its other side and depth"
    on += f"; {stop.long_why}" if stop.long_why else ""
    go_on = clock(stop.arrive + timedelta(minutes=stop.least_min), zone, day)
    passes = stop.most_min - stop.least_min < _WORTH_SENDING_ON_MIN
    if home:
        leave = f"Leave for {home} by {clock(rounded_down(stop.leave), zone, day)} even if they bite."
        return leave if stop.least_min >= stop.most_min else f"Without a touch by {go_on} {on}. {leave}"
    return f"Then {on}." if passes else f"Without a touch by {go_on} {on}."


def home_wind(stop: Stop) -> str:
    """What the wind does on the way home, as words behind its minutes; nothing where its direction is not known."""
    if math.isnan(stop.home_head):
        return ""
    if stop.home_head > _INTO:
        return "into the wind"
    return "with the wind" if stop.home_head < -_INTO else "across the wind"


_IN_SHORT = {"into the wind": " upwind", "with the wind": " downwind", "across the wind": " crosswind", "": ""}


def _home(stop: Stop, zone: ZoneInfo, day: date, *, last: bool) -> str:
    """The way home from here, and the last moment to begin it; from the last stop both are told elsewhere."""
    if stop.home_by is None or last:
        return ""
    by = clock(rounded_down(stop.home_by), zone, day)
    return f"Home: {stop.home_min} min{_IN_SHORT[home_wind(stop)]}. Latest start {by}."


def choice_text(choice: Choice, system: units.Units) -> ChoiceText:
    """Put one solved presentation into words."""
    return ChoiceText(
        id=choice.id,
        name=choice.name,
        rank=choice.rank,
        weight_oz=choice.weight_oz,
        weight_g=choice.weight_g,
        weight_text=weight_words(choice, system),
        running_depth_m=choice.running_depth_m,
        depth_text=depth_text(choice, system),
        trailer=choice.trailer,
        trailer_changes=choice.trailer_changes,
        trailer_check=choice.trailer_check,
        retrieve_text=_retrieve(choice),
        colours=tuple(
            ColourText(id=_described(c.short), name=c.name, short=c.short, why=c.why) for c in choice.colours
        ),
        flash=choice.flash,
        setup_text=localised(_setup(choice), system),
        owned_rod=None if choice.setup is None else choice.setup.owned_name or choice.setup.owned_id,
        size_text=", ".join(part for part in (choice.size, choice.hook) if part),
        follow_up=choice.follow_up,
        faults=choice.faults,
        reasons=choice.reasons,
        cautions=choice.cautions,
        how_sure=choice.how_sure,
        change=choice.change,
        how_text=_how(choice),
        rig_text=_rig(choice),
        doubt=_doubt(choice),
        line_text=_line(choice, system),
        brief_text="",
        rod_text=rod_or_name(choice, system),
    )


def _described(short: str) -> str:
    """An id that says what the colour looks like, for programs: "green_brown"."""
    return re.sub(r"[^a-z0-9]+", "_", short.lower()).strip("_")


_RANK_WORD = {"first choice": "First", "second": "Then", "if refused": "If refused"}


def _line(choice: Choice, system: units.Units) -> str:
    """One line a lure: its rank and rod (on none, its name and weight), retrieve and, of the first two, depth."""
    how = "" if choice.retrieve is None else _done(choice.retrieve)
    deep = "" if choice.rank == "if refused" and how else depth_text(choice, system)
    deep = deep.removeprefix("on the bottom ") if "bottom" in how else deep  # said once
    return f"{_what(choice, system)}: {', '.join(part for part in (how, deep) if part)}."


#: How long a lure is left to sink, which is told at the places told in full.
_COUNT = re.compile(r", after \d+ s of sinking|, sinks to [^.]+? in about \d+ s")
#: From so many seconds on a pause is what the retrieve is about.
_LONG_PAUSE_S = 3.0


def _done(retrieve: RetrievePick) -> str:
    """What the hands do, with the pause where it is long."""
    name = lower_first(retrieve.name)
    if retrieve.pause_s is None or retrieve.pause_s[1] < _LONG_PAUSE_S:
        return name
    if retrieve.id == "twitch_pause":
        return f"two twitches, then {_pause(retrieve.pause_s).removeprefix('pauses of ')} still"
    return f"{name}, {_pause(retrieve.pause_s)}"


_ON_THE_BOTTOM = re.compile(r"(on the bottom) in ([^,.]+)\.$")


def _without_depth_of(place: str, line: str) -> str:
    """A line that says the bottom's depth, without it where that is the depth of the place itself."""
    found = _ON_THE_BOTTOM.search(line)
    return f"{line[: found.end(1)]}." if found and place.startswith(f"In {found[2]}") else line


def _what(choice: Choice, system: units.Units) -> str:
    """A lure's rank and rod, or its name and weight where it is on none."""
    return _sentence(f"{_RANK_WORD.get(choice.rank, '')} {rod_or_name(choice, system)}".strip())


def rod_or_name(choice: Choice, system: units.Units) -> str:
    """The rod that carries a lure; of one that is on none its name, weight and colour, and the rod to tie it on."""
    number = None if choice.setup is None else choice.setup.rod_number
    if number is not None and choice.setup is not None and not choice.setup.retie:
        return f"rod {number} at {weight_words(choice, system)}" if choice.setup.new_weight else f"rod {number}"
    colour = choice.colours[0].short if choice.colours and number is not None else ""
    knot = "" if number is None else f"new knot on rod {number}"
    return ", ".join(part for part in (in_text(choice.name), weight_words(choice, system), colour, knot) if part)


def _how(choice: Choice) -> str:
    """Retrieve with pause and pace."""
    if choice.retrieve is None:
        return ""
    wait = "" if choice.retrieve.pause_s is None else f", {_pause(choice.retrieve.pause_s)}"
    pace = _pace(choice.retrieve).removeprefix(", ")
    return f"{_sentence(choice.retrieve.name)}{wait}.{f' {_sentence(pace)}.' if pace else ''}"


def _rig(choice: Choice) -> str:
    """Hooking, trailer and blade."""
    named = (("Rig", choice.rig), ("Trailer", choice.trailer), ("Blade", choice.blade))
    return " ".join(f"{name}: {ended(text)}" for name, text in named if text)


def _doubt(choice: Choice) -> str:
    """What is said where the first choice is hardly ahead of the second."""
    if choice.how_sure != "open" or choice.rank != "first choice":
        return ""
    return choice.doubt or "Not sure: the second may do as well."


def weight_words(choice: Choice, system: units.Units) -> str:
    """A lure's weight as the reader buys it; empty for one without."""
    if choice.weight_oz is None or choice.weight_g is None or choice.weight_g <= 0:
        return ""
    return f"{choice.weight_oz} oz" if system == "us" else f"{choice.weight_g:g} g"


def _retrieve(choice: Choice) -> str:
    if choice.retrieve is None:
        return ""
    pace = _pace(choice.retrieve).removeprefix(", ")
    pace = f" {_sentence(pace)}." if pace else ""
    wait = "" if choice.retrieve.pause_s is None else f" Today: {_pause(choice.retrieve.pause_s)}."
    return f"{choice.retrieve.name}: {choice.retrieve.how}{wait}{pace}"


def _pace(retrieve: RetrievePick) -> str:
    """Turns of the handle for the reel in use and the same by feel, as a clause; empty without either."""
    turns, ratio = retrieve.reel_turns_per_10s, retrieve.reel_ratio
    reel = "" if ratio is None else f" on a {ratio:g}:1 reel"
    text = "" if turns is None else f", about {turns:.0f} turns in ten seconds{reel}"
    if not retrieve.feel:
        return text
    return f"{text}: {retrieve.feel}" if text else f", {retrieve.feel}"


def _pause(pause_s: tuple[float, float]) -> str:
    """Length of the pause to the half second below three and to the second above."""
    low, high = (f"{round(2 * value) / 2:g}" if value < 3.0 else f"{value:.0f}" for value in pause_s)
    return f"pauses of {low} s" if low == high else f"pauses of {low} to {high} s"


def _setup(choice: Choice) -> str:
    setup = choice.setup
    if setup is None:
        return ""
    leader = f", leader {setup.leader}" if setup.leader else ""
    name = setup.owned_name or setup.owned_id
    own = f" (your {name})" if name else ""
    if setup.retie:
        return f"On no rod: a new knot on rod {setup.rod_number}{own}, made ashore or in the lee."
    if setup.rod_number is not None:
        return f"Rod {setup.rod_number}{own}{', tied on anew at this weight' if setup.new_weight else ''}."
    return f"Rod: {setup.rod}{own}; reel {setup.reel}; line {setup.line}{leader}."
