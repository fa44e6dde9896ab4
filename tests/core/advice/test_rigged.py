"""What the stops say of the rods: numbers in the order of use, purposes read off the plan, few knots on the water."""

import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace
from zoneinfo import ZoneInfo

import pytest

from briefing.core.advice.choice import Choice, ColourPick, SetupPick
from briefing.core.advice.conditions import TackleBox
from briefing.core.advice.plan import DayPlan, Stop
from briefing.core.advice.plan.types import Block, BlockName, BlockPlan
from briefing.core.advice.rods.types import RigSetup, RodPick, RodPlan
from briefing.core.advice.rods.use import by_use, rigged_first
from briefing.knowledge import load_advice_knowledge, load_rod_parameters
from briefing.pipeline.rigging import on_the_rods
from briefing.sections.plan import _home, choice_text
from briefing.vocabulary import Level

SIX = datetime(2026, 5, 2, 11, tzinfo=UTC)


def choice(key: str, score: float = 1.0, rank: str = "") -> Choice:
    return Choice(
        id=key, name=key, rank=rank, group=key, pace="search", score=score, weight_g=None, weight_oz=None,
        running_depth_m=None, trailer=None, retrieve=None, colours=(), flash=None, setup=None, follow_up=(), faults=(),
        reasons=(), cautions=(), how_sure="open",
    )  # fmt: skip


def pick(number: int, key: str, pace: str = "search") -> RodPick:
    setup = RigSetup(key, key, key, pace, "0", 0.0, ())
    return RodPick(number, setup, None, None, "covers", (), "", False, 1.0 / number)


def day(*stops: tuple[str, ...]) -> DayPlan:
    ranks = ("first choice", "second", "if refused")
    made = tuple(
        Stop(f"s{n}", f"Spot {n}", "b", SIX, SIX + timedelta(hours=1), 5, 100.0, 20, 60, False, "",
             tuple(choice(key, rank=rank) for key, rank in zip(keys, ranks, strict=False)), ())
        for n, keys in enumerate(stops)
    )  # fmt: skip
    block = Block("b", BlockName.EARLY, "Early", SIX, SIX + timedelta(hours=5), (5.0, 30.0), "")
    return DayPlan((BlockPlan(block, Level.WITHIN_LIMITS, "", made, (), "", ()),), None, (), None, None, 0.0, ())


def test_rods_are_numbered_by_first_use_and_say_where() -> None:
    rods = RodPlan((pick(1, "frog"), pick(2, "worm", "slow"), pick(3, "jig")), (), None, (), (), 1.0)
    found = by_use(rods, day(("jig", "frog"), ("frog", "jig")))
    assert [(one.number, one.setup.presentation) for one in found.picks] == [(1, "jig"), (2, "frog"), (3, "worm")]
    assert found.picks[0].purpose == "First choice at Spot 0. Second at Spot 1."
    assert found.picks[2].purpose == "In reserve: for fish that don't move for the others."
    assert by_use(rods, day()) == rods


def test_a_stop_names_what_is_tied_on() -> None:
    free = (choice("a", 1.0), choice("b", 0.9), choice("c", 0.8))
    rigged = (choice("b", 0.9), choice("d", 0.7), choice("e", 0.5))
    found = rigged_first(rigged, free, 0.7, 0.35, always)
    assert [(one.id, one.rank) for one in found] == [("b", "first choice"), ("d", "second"), ("e", "if refused")]


def test_a_much_better_lure_leads_all_the_same_and_is_the_only_knot() -> None:
    free = (choice("a", 1.0), choice("b", 0.9), choice("c", 0.8))
    rigged = (choice("d", 0.6), choice("e", 0.5), choice("f", 0.4))
    assert [one.id for one in rigged_first(rigged, free, 0.7, 0.35, always)] == ["a", "d", "e"]
    # no rod aboard can carry it: what is tied on stays
    assert [one.id for one in rigged_first(rigged, free, 0.7, 0.35, lambda _: False)] == ["d", "e", "f"]


def test_what_hardly_serves_is_not_named_and_no_knot_takes_its_place() -> None:
    free = (choice("a", 1.0), choice("b", 0.9), choice("c", 0.8))
    rigged = (choice("a", 1.0), choice("d", 0.2), choice("e", 0.1))
    assert [one.id for one in rigged_first(rigged, free, 0.7, 0.35, always)] == ["a"]
    assert rigged_first((), (), 0.7, 0.35, always) == ()
    assert [one.id for one in rigged_first((), replace_first(free), 0.7, 0.35, always)] == ["a"]


def always(_: Choice) -> bool:
    return True


def replace_first(free: tuple[Choice, ...]) -> tuple[Choice, ...]:
    return (replace(free[0], rank="first choice"), *free[1:])


def test_a_lure_on_no_rod_is_told_with_weight_colour_and_the_rod_to_tie_it_on() -> None:
    setup = SetupPick("rod", "reel", "line", None, rod_number=2, retie=True)
    colour = ColourPick(id="x", name="black and blue", short="black and blue", why="")
    jig = replace(
        choice("flipping jig", rank="first choice"), weight_g=14.2, weight_oz="1/2", setup=setup, colours=(colour,)
    )
    assert choice_text(jig, "us").line_text.startswith("First flipping jig, 1/2 oz, black and blue, new knot on rod 2:")
    assert choice_text(replace(jig, setup=replace(setup, retie=False)), "us").line_text.startswith("First rod 2:")


@pytest.mark.parametrize(
    ("head", "words"), [(1.0, " upwind"), (0.0, " crosswind"), (-1.0, " downwind"), (math.nan, "")]
)
def test_the_way_home_speaks_of_the_wind_where_its_direction_is_known(head: float, words: str) -> None:
    stop = replace(day(("jig",)).stops[0], home_head=head, home_by=SIX, home_min=7)
    assert _home(stop, ZoneInfo("UTC"), SIX.date(), last=False).startswith(f"Home: 7 min{words}. Latest")


def test_a_stop_that_the_rods_serve_badly_is_led_by_the_best_that_they_can_carry() -> None:
    gear = load_advice_knowledge().presentation("shaky_head").setups
    rods = RodPlan((pick(1, "tube"),), (), None, (), (), 1.0)
    able = tuple(RigSetup(key, key, key, "slow", "0", 0.0, gear) for key in ("tube", "shaky"))
    problem = SimpleNamespace(setups=(*able, RigSetup("worm", "worm", "worm", "slow", "0", 0.0, ())), longest_ft=None)
    scores = {"worm": 1.0, "jig": 0.9, "spinner": 0.85, "shaky": 0.7, "tube": 0.1}

    def ranked(_key: tuple[str, str], box: TackleBox) -> tuple[Choice, ...]:
        return tuple(choice(key, worth) for key, worth in scores.items() if box.owns(key))[:3]

    key = ("timber", "early")
    asked = (rods, problem, TackleBox(presentations=frozenset(scores)), ranked, load_rod_parameters())
    (lead, *rest) = on_the_rods({key: ranked(key, TackleBox())}, *asked)[key]
    assert (lead.id, [one.id for one in rest]) == ("shaky", []), "no rod carries the worm, and the tube hangs up there"
    scores["tube"] = 0.6
    assert [one.id for one in on_the_rods({key: ranked(key, TackleBox())}, *asked)[key]] == ["tube"]
