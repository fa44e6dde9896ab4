"""The fishing part of a briefing: where to start, what to rig, the rods."""

from __future__ import annotations

import calendar
import re
from collections.abc import Sequence
from datetime import date, datetime, timedelta

import numpy as np

from briefing import units
from briefing.core.advice.boat import BoatParameters
from briefing.core.advice.measures import in_text
from briefing.core.advice.plants import PlantsNow
from briefing.core.advice.rods import first_named
from briefing.core.advice.rods.card import rod_text
from briefing.core.wind.travel import PADDLED
from briefing.core.wind.windows import Deadlines
from briefing.core.wind.words import speed_digits, speed_unit
from briefing.pipeline.advice import NEAR_RAMP_MIN, Advised, RigLater, chosen_spots
from briefing.pipeline.boat import boat_at
from briefing.pipeline.hazard import Hazards
from briefing.pipeline.inputs import MorningInputs
from briefing.pipeline.later import Later, look_later
from briefing.pipeline.say_hazards import alone_on_cool_water, out_of
from briefing.profile.model import Spot as ProfileSpot
from briefing.sections.boat import BoatWords, boat_more, boat_short, boat_text, others_text
from briefing.sections.clock import clock, rounded_down
from briefing.sections.day import HoursOut, WayHomeText
from briefing.sections.plan import PlanSection, RodText, SpotFacts, fill_plan, home_wind, rod_or_name, weight_words
from briefing.sections.words import COVER_NAME, SKY_NAME, ended, listed, listed_few, lower_first, upper_first
from briefing.vocabulary import Cover, LakeKind, Level, PlantState

NO_LEAD = "No lead on any rod, by the rules you entered."
_STANDING = frozenset({Cover.REEDS, Cover.PADS})
_GRASS = frozenset({Cover.GRASS_SPARSE, Cover.GRASS_DENSE})
#: What a first choice, a second and one for a refusal count for somebody with one rod.
ONE_ROD_PARTS = (1.0, 0.7, 0.5)
#: Less fishing than this is called short.
SHORT = timedelta(minutes=100)
#: The condition of all advice while the hours are not known.
IF_WITHIN = "Once that is known and within your limits"
#: What to do at each place of a tidal water, whose tides no source here tells.
TIDE_NOT_KNOWN = (
    "Where the water falls fish the outer edges and the mouths of drains, where it rises the inside edges and corners."
)
#: From here on a craft is carried along.
FELT_WIND_MPS = 2.5


def ramp_of(inputs: MorningInputs) -> str:
    """The ramp of the outing: the one given, else the profile's first; empty where there is none."""
    return inputs.outing.ramp or (inputs.profile.ramps[0].name if inputs.profile.ramps else "")


def short_outing(advised: Advised) -> tuple[str, ...]:
    """How little fishing there is, where it is little: worth knowing before a long drive."""
    if not advised.plan.stops:
        return ()
    fished = sum((stop.leave - stop.arrive for stop in advised.plan.stops), timedelta())
    return (f"A short outing: about {fished.total_seconds() / 60:.0f} min of fishing.",) if fished < SHORT else ()


def nothing_first(advised: Advised, out: HoursOut | None, *, iced: bool, unknown: bool) -> str:
    """Why no place is named first, for a plan without stops; where the hours are not known, which on what condition."""
    if advised.closed_season:
        return "closed season by your own note: nothing is suggested"
    if unknown and not iced and advised.later is not None and advised.later.plan.stops:
        return f"{advised.later.plan.stops[0].spot}, only {lower_first(IF_WITHIN)}"
    if out is None:
        return "no place: no hours on the water"
    if iced:
        return "no place: the water model has ice on the lake"
    if not np.nan_to_num(advised.values).any():
        return "no place: no lure fits this water and weather"
    if not advised.blocks or all(block.closed for block in advised.plan.blocks):
        return "no place can be reached and left again in these hours"
    return "no place fits these hours"


def way_home(inputs: MorningInputs, advised: Advised, hazards: Hazards) -> WayHomeText | None:
    """When to be on the way home from the last stop, and what is too far; None without stops."""
    stops, ends = advised.plan.stops, hazards.deadlines
    if not stops or ends is None or not ends.headway:
        return None
    last = stops[-1]
    at = rounded_down(last.leave)
    if advised.spots_assumed:
        return WayHomeText(at, _near_the_ramp(ends, last.spot, inputs))
    way = f"about {last.home_min} min {home_wind(last)}".rstrip()
    text = f"Home from {last.spot}: {way}, and a quarter more as reserve."
    if ends.too_far:
        text = f"{text} Too far for these hours, out and back with the reserve: {listed_few(ends.too_far, 4)}."
    return WayHomeText(at, text)


def _near_the_ramp(ends: Deadlines, place: str, inputs: MorningInputs) -> str:
    """The way home where no spot is known: from the shallows by the ramp, and from wherever else one goes."""
    text = f"{place} are taken to lie within {NEAR_RAMP_MIN} min of it."
    if ends.start_back_by is None:
        return text
    start = clock(rounded_down(ends.start_back_by), inputs.profile.zone, inputs.day)
    if ends.turn_round or ends.time_back_min is None:
        return f"{text} If you go farther, turn round by {start}: how far that is home is not known."
    far = f"about {ends.time_back_min:.0f} min against the wind"
    return f"{text} If you go farther, turn round by {start}: from the far end it is {far} home."


def _ways_alone(inputs: MorningInputs, hazards: Hazards) -> tuple[str, ...]:
    """How to go from place to place alone on cool water: the ways told are the shortest over water."""
    paddled = inputs.reader.craft in PADDLED and bool(inputs.profile.spots)
    if not (paddled and alone_on_cool_water(inputs.profile, hazards)):
        return ()
    return ("Alone on cool water go along the banks: the ways below are the straight ones, and shorter.",)


def later_of(inputs: MorningInputs, advised: Advised, hazards: Hazards) -> tuple[str, ...]:
    """What to rig and which later day to look at, on a morning without a stop; a closed season suggests neither."""
    if advised.later is None or hazards.iced:
        return ()
    lead = "To rig meanwhile, for a day like this one with a light wind:"
    places: list[str] = []
    if only_unknown(inputs, hazards):
        names = list(dict.fromkeys(stop.spot for stop in advised.later.plan.stops))
        places = [f"{IF_WITHIN}, places in order: {listed(names)}."] if names else []
        lead = "Rods for them:"
    rods = _to_rig(advised.later, inputs.reader.units, lead)
    return (*places, *rods, _day_to_look_at(look_later(inputs, hazards), inputs))


def only_unknown(inputs: MorningInputs, hazards: Hazards) -> bool:
    """Tell whether the hours asked for are not known, and none of them is over a limit."""
    hour, outing = timedelta(hours=1), inputs.outing
    wanted = [one.level for one in hazards.levels if one.hour + hour > outing.launch and one.hour < outing.back]
    return Level.UNKNOWN in wanted and Level.STOP not in wanted and out_of(inputs, hazards) is None


def _to_rig(later: RigLater, system: units.Units, lead: str) -> list[str]:
    return [lead, *(f"{one}." for one in _rigs(later, system))] if later.rods.picks else []


def _rigs(later: RigLater, system: units.Units) -> list[str]:
    """Each lure to rig with weight and colour."""
    named = first_named(later.plan)
    out = []
    for pick in later.rods.picks:
        choice = named.get(pick.setup.presentation) or later.reserve.get(pick.setup.presentation)
        colour = choice.colours[0].short if choice is not None and choice.colours else ""
        out.append(", ".join(part for part in (pick.setup.label_in(system), colour) if part))
    return out


def _day_to_look_at(found: Later, inputs: MorningInputs) -> str:
    system = inputs.reader.units
    if found.day is None:
        if found.known:
            return "Wind or gusts pass your stop in the same hours of every later day forecast: look again tomorrow."
        return "Which later day to look at is not known: the forecast is too old for it, or gives no wind and gusts."
    low, high = (speed_digits(value, system) for value in found.day.wind_mps)
    gust, unit = speed_digits(found.day.gust_mps, system), speed_unit(system)
    below = "caution" if found.day.easy else "stop"
    return (
        f"By wind alone look at {found.day.day:%A} {found.day.day.day} {found.day.day:%B} first: "
        f"wind {low if low == high else f'{low} to {high}'} {unit}, gusts to {gust}, below your {below} so far."
    )


def plan_of(inputs: MorningInputs, advised: Advised, hazards: Hazards, boat: BoatParameters) -> PlanSection:
    """The plan in words."""
    profile = inputs.profile
    facts = {
        (stop.spot_id, stop.block_id): _spot_facts(stop.spot_id, stop.block_id, inputs, advised)
        for stop in advised.plan.stops
    }
    light = {block.id: _light_text(block.id, advised) for block in advised.blocks}
    notes = [advised.like_before] if advised.like_before else []
    if advised.trial:
        notes.append(advised.trial)
    if advised.spots_assumed:
        notes.append("The profile holds no spots: the plan stands on the cover usual for this kind of water.")
    if chosen := chosen_spots(inputs):
        notes.append(f"Only the spots you chose for this outing: {', '.join(spot.name for spot in chosen)}.")
    if advised.nesting:
        notes.append("Nests are left out of the plan: don't cast at fish on beds.")
    return fill_plan(
        advised.plan,
        facts,
        light,
        *_rods(advised, inputs.reader.units),
        ramp=ramp_of(inputs),
        front=advised.front.text,
        later=later_of(inputs, advised, hazards),
        first=(
            *_ways_alone(inputs, hazards),
            *([advised.bait] if advised.bait and advised.plan.stops else []),
            *([TIDE_NOT_KNOWN] if profile.kind is LakeKind.TIDAL_RIVER and advised.plan.stops else []),
        ),
        rods_rule=NO_LEAD if advised.tackle.legal.get("lead_tackle") is False else "",
        meanwhile=() if advised.later is None else tuple(pick.setup.name for pick in advised.later.rods.picks),
        rigs=() if advised.later is None else tuple(map(in_text, _rigs(advised.later, inputs.reader.units))),
        on_condition=only_unknown(inputs, hazards),
        asked=(inputs.outing.launch, inputs.outing.back),
        boats=_boats(inputs, advised, hazards, boat),
        summary_notes=tuple(notes),
        zone=profile.zone,
        day=inputs.day,
        system=inputs.reader.units,
    )


def _boats(inputs: MorningInputs, advised: Advised, hazards: Hazards, p: BoatParameters) -> dict[datetime, BoatWords]:
    """How to hold the craft, by the arrival at a stop."""
    system = inputs.reader.units
    out = {}
    for stop in advised.plan.stops:
        pick, others = boat_at(stop, inputs, advised, hazards, p)
        names = [rod_or_name(choice, system) for choice in stop.choices]
        out[stop.arrive] = BoatWords(
            boat_text(pick, system),
            boat_short(pick, system),
            others_text(others, names, system),
            boat_more(pick, system, p.edge_m),
        )
    return out


def _rods(advised: Advised, system: units.Units) -> tuple[tuple[RodText, ...], str]:
    looks = [_looks(pick.setup.presentation, advised) for pick in advised.rods.picks]
    rows = tuple(
        RodText(
            id=pick.setup.presentation,
            number=pick.number,
            text=upper_first(rod_text(pick, system)),
            owned="" if pick.rod is None else pick.rod.name or pick.rod.id.replace("_", " "),
            lure=pick.setup.name,
            rig=pick.setup.label_in(system),
            # what follows the comma of a name is how the lure is fished
            brief=pick.setup.label_in(system).replace(pick.setup.name, pick.setup.name.partition(",")[0]),
            colour=colour,
            size=size,
            hook=hook,
            purpose=" ".join([pick.purpose, *pick.mismatch]),
            in_reach=pick.in_reach,
            reserve=pick.reserve,
        )
        for pick, (colour, size, hook) in zip(advised.rods.picks, looks, strict=True)
    )
    rows = _each_once(rows)
    gap = [advised.rods.gap.text] if advised.rods.gap else []
    return rows, " ".join(
        [*_to_tie(advised, system), *_only_one(advised), *advised.rods.notes, *advised.rods.unmet, *gap]
    )


def _to_tie(advised: Advised, system: units.Units) -> tuple[str, ...]:
    """The lures that the plan ties on afloat, with their rods and places: they must be aboard."""
    places: dict[str, dict[str, None]] = {}
    for stop in advised.plan.stops:
        for choice in stop.choices:
            setup = choice.setup
            if setup is None or setup.rod_number is None or not (setup.retie or setup.new_weight):
                continue
            colour = choice.colours[0].short if choice.colours else ""
            named = "" if setup.new_weight else in_text(choice.name)
            what = ", ".join(part for part in (named, weight_words(choice, system), colour) if part)
            places.setdefault(f"{what}, on rod {setup.rod_number}", {})[stop.spot] = None
    return tuple(f"To tie on afloat at {listed(list(names))}: {what}." for what, names in places.items())


def _each_once(rows: Sequence[RodText]) -> tuple[RodText, ...]:
    """Gear that two lures ask for alike is told with the first."""
    first: dict[str, int] = {}
    for row in rows:
        first.setdefault(row.text, row.number)
    return tuple(
        row if first[row.text] == row.number else row.model_copy(update={"text": f"Set up as rod {first[row.text]}"})
        for row in rows
    )


def _looks(presentation: str, advised: Advised) -> tuple[str, str, str]:
    """Colour, size and hook of a lure at the first stop that names it, else as it would be fished at the first."""
    found = first_named(advised.plan).get(presentation) or advised.reserve.get(presentation)
    if found is None:
        return "", "", ""
    return (found.colours[0].short if found.colours else ""), found.size or "", found.hook or ""


def _only_one(advised: Advised) -> list[str]:
    """The lure for somebody with one rod: named at most of the stops, first choices for more than the others."""
    worth: dict[str, float] = {}
    for stop in advised.plan.stops:
        time = (stop.leave - stop.arrive).total_seconds()
        for choice, part in zip(stop.choices, ONE_ROD_PARTS, strict=False):
            worth[choice.name] = worth.get(choice.name, 0.0) + part * time
    if not worth or len(advised.rods.picks) < 2:
        return []
    return [f"With one rod only: the {in_text(max(worth, key=lambda key: worth[key]))}."]


def _spot_facts(spot_id: str, block_id: str, inputs: MorningInputs, advised: Advised) -> SpotFacts:
    fishing = advised.spots[spot_id, block_id]
    system = inputs.reader.units
    spot = inputs.profile.spot(spot_id)
    cover = listed([COVER_NAME[kind] for kind in sorted(fishing.cover, key=lambda kind: -fishing.cover[kind])])
    more = [f"in {units.show_depth_range(*fishing.depth_m, system, both=False)}"]
    top = fishing.cover_top_m
    if top is not None and (top > 0 or Cover.GRASS_TOPPED not in fishing.cover):
        what = "grass top" if fishing.cover.keys() & _STANDING and fishing.cover.keys() & _GRASS else "top"
        deep = units.show_depth(top, system, both=False)
        if top <= 0:
            more.append("top at the surface")
        elif what == "grass top" or not fishing.cover.keys() & _STANDING:
            more.append(f"{what} {deep} down")
    if fishing.bottom is not None:
        more.append(f"over {fishing.bottom.value}")
    felt = advised.conditions[block_id].wind_mps >= FELT_WIND_MPS
    wind = {
        True: "Wind-blown bank.",
        False: "Sheltered from this wind.",
        None: "Open to this wind." if felt and not inputs.shape.assumed else "",
    }[fishing.exposed]
    beside = f"{upper_first(', '.join(more))}." if more else ""
    notes = " ".join(
        part for part in (_plants(advised.plants.get(spot_id), system), _spot_notes(spot, inputs.day)) if part
    )
    whole = f"{upper_first(' '.join((cover, ', '.join(more))))}."
    return SpotFacts(where=f"{upper_first(cover)}.", beside=beside, whole=whole, conditions=notes, wind=wind)


def _plants(plants: PlantsNow | None, system: units.Units) -> str:
    """What the plants rest on, where a reading of earlier moved them."""
    if plants is None or plants.days == 0:
        return ""
    if plants.reading.state is not PlantState.GROWING:
        return f"You saw the plants {plants.reading.state.value} {plants.days} days ago; how far they sank is judged."
    if plants.top_m is None or plants.reading.top_m is None:
        return f"Plants as you saw them {plants.days} days ago."
    was = units.show_depth(plants.reading.top_m, system, both=False)
    return f"You saw the tops {was} down {plants.days} days ago; growth since is judged by the water's warmth."


#: A month that a note speaks of: "first in February", "late May".
_MONTHS = tuple(calendar.month_name[1:])
_IN_MONTH = re.compile(rf"\b(?:in|early|late|mid|from|to|until|through|and|or)[ -]({'|'.join(_MONTHS)})\b")


def _spot_notes(spot: ProfileSpot | None, day: date) -> str:
    """The user's note of a place; one that names other months of the year alone is for those."""
    if spot is None or not spot.notes:
        return ""
    months = {_MONTHS.index(name) for name in _IN_MONTH.findall(spot.notes)}
    near = {(day.month - 1 + step) % 12 for step in (-1, 0, 1)}
    return f"Your note: {ended(spot.notes)}" if not months or months & near else ""


def _light_text(block_id: str, advised: Advised) -> str:
    return SKY_NAME[advised.conditions[block_id].sky]
