"""Choosing and rigging rods: search against trying every set, exact matching, needs, gaps and the card."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from briefing.core.advice.choice import Choice, ColourPick
from briefing.core.advice.conditions import Case, OwnedRod, TackleBox
from briefing.core.advice.presentation import LineSpec, Presentation, Setup
from briefing.core.advice.ranking import score
from briefing.core.advice.rods import (
    Cell,
    Demand,
    Need,
    RigSetup,
    RodInputs,
    choose_rods,
    natural_depths_m,
    rig_card,
    rod_inputs,
)
from briefing.core.advice.rods.demand import demand_cells, layer_of
from briefing.core.advice.rods.match import assign, cost_table, free_costs, mismatch
from briefing.core.advice.rods.search import coverage, objective, pose, search_set, with_each
from briefing.core.advice.rods.types import LAYERS
from briefing.knowledge import load_advice_knowledge, load_physics, load_rod_parameters
from briefing.resources import config_path, read_toml
from briefing.vocabulary import Cover

P = load_rod_parameters()
POWERS = ("medium_light", "medium", "medium_heavy", "heavy")
ACTIONS = ("moderate", "moderate_fast", "fast")


def gear(power: str = "medium_heavy", action: str = "fast", reel: str = "baitcast", kind: str = "fluoro") -> Setup:
    line = LineSpec(kind, (15.0, 17.0), (0.35, 0.38))
    return Setup("default", ("default",), (7.0, 7.33), power, action, reel, (6.3, 7.1), line)


def rod(number: int, **changes: object) -> OwnedRod:
    base = OwnedRod(
        f"rod{number}", 7.0, "medium_heavy", "fast", "baitcast", 7.1, line="fluoro", line_lb=15.0, line_mm=0.35
    )
    return replace(base, **changes)  # type: ignore[arg-type]


def setup(number: int, **changes: object) -> RigSetup:
    base = RigSetup(f"lure{number}", f"Lure {number}", f"group{number % 4}", "medium", "3/8", 10.6, (gear(),))
    return replace(base, **changes)  # type: ignore[arg-type]


def random_problem(seed: int, n: int, m: int, rods: int, k: int) -> RodInputs:
    rng = np.random.default_rng(seed)
    weights = rng.random(m)
    setups = tuple(
        setup(
            i,
            pace=str(rng.choice(["search", "medium", "slow"])),
            setups=(gear(str(rng.choice(POWERS)), str(rng.choice(ACTIONS))),),
            follow_up=tuple(f"lure{j}" for j in rng.choice(n, 2)),
            trebles=bool(rng.random() < 0.4),
            weedless=bool(rng.random() < 0.3),
            layer=LAYERS[int(rng.integers(0, 3))],
        )
        for i in range(n)
    )
    owned = tuple(rod(i, power=str(rng.choice(POWERS)), action=str(rng.choice(ACTIONS))) for i in range(rods))
    cells = tuple(
        Cell(f"spot{i % 5}", "early", 1.0, Cover.ROCK, "medium", float(w))
        for i, w in enumerate(weights / weights.sum())
    )
    quality = rng.random((n, m)) ** 2
    return RodInputs(setups, cells, quality, owned, k, frozenset({Need.SEARCH, Need.SLOW, *LAYERS, Need.WEEDLESS}))


# --- search ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(20))
@pytest.mark.parametrize("rods", [0, 5])
def test_search_is_within_a_hundredth_of_trying_every_set(seed: int, rods: int) -> None:
    problem = pose(random_problem(seed, n=11, m=20, rods=rods, k=4), P)
    found = search_set(problem)
    best = max(objective(problem, chosen) for chosen in combinations(range(11), problem.k))
    assert found.worth == pytest.approx(objective(problem, found.chosen), abs=1e-9)
    assert found.worth >= 0.99 * best


def slow_objective(inputs: RodInputs, chosen: tuple[int, ...]) -> float:
    """The objective written out term by term for one set, rods matched by trying every order."""
    setups = [inputs.setups[i] for i in chosen]
    covered = 0.0
    for cell, qualities in zip(inputs.cells, inputs.quality.T, strict=True):
        missed = 1.0
        for i in chosen:
            missed *= 1.0 - qualities[i]
        covered += cell.weight * (1.0 - missed)
    searching = [s for s in setups if s.pace == "search"]
    pairs = sum(any(o.presentation in s.follow_up for o in setups if o is not s) for s in searching)
    follow = pairs / len(searching) if searching else 0.0
    variety = len({s.group for s in setups}) / len(setups)
    trebles = max(sum(s.trebles for s in setups) - 2, 0)
    alike = 0
    for a, b in combinations(chosen, 2):
        qa, qb = inputs.quality[a], inputs.quality[b]
        alike += qa @ qb / (np.linalg.norm(qa) * np.linalg.norm(qb)) > P.aim.overlap_cosine
    unmet = int(not searching) + int(all(s.pace != "slow" for s in setups)) + int(not any(s.weedless for s in setups))
    layers = sum(all(s.layer is not need for s in setups) for need in LAYERS)
    steps = 0.0
    if inputs.rods:
        costs = cost_table(setups, inputs.rods, P.mismatch, None)
        orders = permutations(range(len(inputs.rods)), len(setups))
        steps = min(sum(costs[row, column] for row, column in enumerate(order)) for order in orders)
    aim = P.aim
    return (
        covered
        + aim.follow_up * follow
        + aim.variety * variety
        - aim.extra_treble * trebles
        - aim.overlap * alike
        - aim.unmet * unmet
        - aim.layer * layers
        - aim.mismatch * steps
    )


@pytest.mark.parametrize("seed", range(8))
def test_the_vectorised_objective_is_the_written_one(seed: int) -> None:
    inputs = random_problem(seed, n=8, m=12, rods=5, k=3)
    problem = pose(inputs, P)
    for chosen in combinations(range(8), 3):
        expected = slow_objective(inputs, chosen)
        if np.isfinite(expected):
            assert objective(problem, chosen) == pytest.approx(expected, abs=1e-9)
        else:
            assert objective(problem, chosen) == -np.inf


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.integers(0, 10_000), st.data())
def test_coverage_is_monotone_and_submodular(seed: int, data: st.DataObject) -> None:
    problem = pose(random_problem(seed, n=8, m=10, rods=0, k=3), P)
    members = st.sets(st.integers(0, 6), max_size=5)
    small = data.draw(members)
    large = small | data.draw(members)
    gain_small = coverage(problem, [*small, 7]) - coverage(problem, list(small))
    gain_large = coverage(problem, [*large, 7]) - coverage(problem, list(large))
    assert gain_small >= gain_large - 1e-12
    assert gain_large >= -1e-12


def test_a_chosen_lure_is_not_chosen_twice() -> None:
    problem = pose(random_problem(1, n=5, m=6, rods=0, k=3), P)
    assert with_each(problem, np.array([[2]]))[0, 2] == -np.inf


# --- matching -------------------------------------------------------------------------------------------------------


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.integers(0, 10_000), st.integers(1, 4), st.integers(1, 6))
def test_assignment_is_exact(seed: int, k: int, r: int) -> None:
    rng = np.random.default_rng(seed)
    costs = np.where(rng.random((k, r)) < 0.2, np.inf, rng.random((k, r)))
    orders = list(permutations(range(r), k))
    best = min((sum(costs[i, c] for i, c in enumerate(order)) for order in orders), default=np.inf)
    cost, columns = assign(costs)
    assert cost == pytest.approx(best)
    if np.isfinite(best):
        assert len(set(columns)) == k
        assert sum(costs[i, c] for i, c in enumerate(columns)) == pytest.approx(best)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.integers(0, 10_000), st.integers(0, 3), st.integers(1, 6))
def test_free_costs_leave_each_rod_out_in_turn(seed: int, k: int, r: int) -> None:
    rng = np.random.default_rng(seed)
    costs = np.where(rng.random((k, r)) < 0.2, np.inf, rng.random((k, r)))
    expected = [assign(np.delete(costs, c, axis=1))[0] for c in range(r)]
    assert free_costs(costs[None])[0] == pytest.approx(expected)


def test_steps_between_rod_and_lure() -> None:
    wanted = gear("medium_heavy", "moderate_fast")
    assert mismatch(rod(0, action="moderate_fast"), wanted, P.mismatch) == 0.0
    assert mismatch(rod(0, power="heavy"), wanted, P.mismatch) == pytest.approx(1.5)
    assert mismatch(rod(0, action="moderate_fast", line="braid"), wanted, P.mismatch) == 1.0
    assert mismatch(rod(0, action="moderate_fast", line_mm=0.55), wanted, P.mismatch) == 0.5
    assert mismatch(rod(0, action="moderate_fast", reel="spinning"), wanted, P.mismatch) == 1.0
    assert mismatch(rod(0, action="moderate_fast", length_ft=8.0), wanted, P.mismatch, 7.33) == 0.5
    assert mismatch(rod(0, action="moderate_fast", line=None, line_mm=None), wanted, P.mismatch) == 0.0


def test_a_rod_too_far_off_is_never_used() -> None:
    inputs = replace(random_problem(2, n=4, m=6, rods=0, k=2), rods=(rod(0, power="ultralight", reel="spinning"),))
    plan = choose_rods(inputs, P)
    assert plan.picks == ()
    assert "None of your rods" in plan.notes[0]


# --- plans ----------------------------------------------------------------------------------------------------------


def test_every_rod_is_used_once_and_says_what_it_is_for() -> None:
    plan = choose_rods(random_problem(4, n=12, m=25, rods=6, k=6), P)
    assert [pick.number for pick in plan.picks] == list(range(1, len(plan.picks) + 1))
    assert len({pick.rod.id for pick in plan.picks if pick.rod}) == len(plan.picks)
    assert all(pick.purpose.endswith(".") for pick in plan.picks)
    assert sum(pick.in_reach for pick in plan.picks) == 2
    adds = [pick.adds for pick in plan.picks]
    assert adds == sorted(adds, reverse=True)


def test_the_follow_up_of_the_search_lure_lies_within_reach() -> None:
    inputs = random_problem(9, n=10, m=25, rods=0, k=5)
    plan = choose_rods(inputs, P)
    reach = [pick.setup for pick in plan.picks if pick.in_reach]
    searching = next(s for s in (p.setup for p in plan.picks) if s.pace == "search")
    rigged = {pick.setup.presentation for pick in plan.picks}
    assert searching in reach
    if set(searching.follow_up) & rigged:
        assert any(s.presentation in searching.follow_up for s in reach)


def test_more_rods_are_never_worth_less() -> None:
    base = random_problem(5, n=14, m=30, rods=0, k=1)
    problems = [pose(replace(base, k=k), P) for k in range(1, 7)]
    covered = [coverage(problem, search_set(problem).chosen) for problem in problems]
    assert (np.diff(covered) > -0.02).all()
    assert covered[-1] > covered[0]


def test_what_is_missing_is_said() -> None:
    slow_only = tuple(setup(i, pace="slow") for i in range(4))
    inputs = replace(random_problem(6, n=4, m=8, rods=0, k=3), setups=slow_only)
    unmet = choose_rods(inputs, P).unmet
    assert any("No search lure" in text for text in unmet)
    assert any("weedless" in text for text in unmet)
    assert any("for the surface" in text for text in unmet)
    assert any("for the bottom" in text for text in unmet)
    assert not any("between surface and bottom" in text for text in unmet)


def test_the_gap_is_the_lure_that_covers_what_nothing_owned_does() -> None:
    inputs = random_problem(7, n=6, m=10, rods=0, k=2)
    quality = np.full((6, 10), 0.05)
    quality[0, :4], quality[1, :4] = 0.9, 0.8
    quality[5, 4:] = 1.0
    setups = tuple(replace(s, owned=i < 5) for i, s in enumerate(inputs.setups))
    plan = choose_rods(replace(inputs, setups=setups, quality=quality), P)
    assert "lure5" not in {pick.setup.presentation for pick in plan.picks}
    assert plan.gap is not None
    assert plan.gap.kind == "lure"
    assert plan.gap.what == "lure5"
    assert plan.gap.gain > 0.2


def test_the_gap_is_a_rod_when_the_lure_is_owned_and_no_rod_takes_it() -> None:
    quality = np.zeros((3, 6))
    quality[0, :2], quality[1, 2:4], quality[2, 4:] = 1.0, 1.0, 1.0
    setups = (setup(0), setup(1), setup(2, setups=(gear("ultralight", "slow", "spinning", "mono"),)))
    cells = tuple(Cell(f"spot{i}", "early", 1.0, Cover.ROCK, "medium", 1 / 6) for i in range(6))
    plan = choose_rods(RodInputs(setups, cells, quality, (rod(0), rod(1)), 3, frozenset()), P)
    assert plan.gap is not None
    assert plan.gap.kind == "rod"
    assert plan.gap.what == "lure2"
    assert "spinning reel" in plan.gap.text


def test_each_lure_is_offered_for_retying_once_and_on_a_rod_that_takes_it() -> None:
    inputs = random_problem(3, n=14, m=40, rods=4, k=3)
    plan = choose_rods(inputs, P)
    offered = [pick.retie for pick in plan.picks if pick.retie]
    assert offered
    assert len(set(offered)) == len(offered)
    for pick in plan.picks:
        for other in plan.picks:
            assert other.setup.name.lower() + "," not in pick.retie.lower()


def test_a_lure_that_is_excluded_everywhere_is_never_rigged_nor_advised() -> None:
    inputs = random_problem(8, n=6, m=10, rods=0, k=4)
    quality = inputs.quality.copy()
    quality[2:] = 0.0
    setups = tuple(
        replace(s, owned=i != 5, layer=Need.TOP if i == 4 else Need.MIDDLE, weedless=i == 5)
        for i, s in enumerate(inputs.setups)
    )
    needs = frozenset({Need.TOP, Need.WEEDLESS})
    plan = choose_rods(replace(inputs, quality=quality, setups=setups, needs=needs), P)
    assert {pick.setup.presentation for pick in plan.picks} == {"lure0", "lure1"}
    assert plan.gap is None
    assert len(plan.unmet) == 2


def test_nothing_to_rig_for() -> None:
    plan = choose_rods(RodInputs((), (), np.zeros((0, 0))), P)
    assert plan.picks == ()
    assert "no plan" in plan.notes[0]


def test_bad_inputs_are_refused() -> None:
    inputs = random_problem(1, n=4, m=5, rods=0, k=2)
    with pytest.raises(ValueError, match="quality"):
        choose_rods(replace(inputs, quality=np.zeros((2, 2))), P)
    with pytest.raises(ValueError, match="k must"):
        choose_rods(replace(inputs, k=7), P)


# --- from the trade's files -----------------------------------------------------------------------------------------

PRESENTATIONS = tuple(
    Presentation.from_mapping(read_toml(f"presentations/{path.name}"))
    for path in sorted(config_path("presentations").glob("*.toml"))
)
PHYSICS = load_physics()
INDEX = {p.id: i for i, p in enumerate(PRESENTATIONS)}


def demand(spot: str, cover: Cover, depth_m: float, mood: float = 0.2, **changes: object) -> Demand:
    scores = np.array([p.cover[cover].fit * p.depth_m.value(depth_m) for p in PRESENTATIONS])
    base = Demand(spot, "early", 30.0, depth_m, cover, mood, scores)
    return replace(base, **changes)  # type: ignore[arg-type]


DAY = (
    demand("Grass", Cover.GRASS_SPARSE, 1.2),
    demand("Docks", Cover.DOCK, 1.5),
    demand("Rock", Cover.ROCK, 3.0),
    demand("Laydowns", Cover.LAYDOWN, 0.9, -0.4),
)


def test_weights_of_a_lure_are_told_apart_by_depth() -> None:
    for p, depths in zip(PRESENTATIONS, natural_depths_m(PRESENTATIONS, PHYSICS), strict=True):
        assert len(depths) == len(p.weights)
        assert all(z == 0 for z in depths) if p.surface else list(depths) == sorted(depths)


def test_deeper_places_get_heavier_weights() -> None:
    def weight(depth_m: float) -> float:
        inputs = rod_inputs((demand("Edge", Cover.GRASS_SPARSE, depth_m),), PRESENTATIONS, TackleBox(), PHYSICS, P, k=2)
        rows = [i for i, s in enumerate(inputs.setups) if s.presentation == "swim_jig"]
        return inputs.setups[max(rows, key=lambda i: inputs.quality[i].max())].weight_g

    assert weight(0.6) < weight(2.4)


def test_a_solved_weight_decides() -> None:
    solved = np.full(len(PRESENTATIONS), np.nan)
    solved[INDEX["swim_jig"]] = 14.2
    spot = demand("Edge", Cover.GRASS_SPARSE, 0.6, weights_g=solved)
    inputs = rod_inputs((spot,), PRESENTATIONS, TackleBox(), PHYSICS, P, k=2)
    rows = [i for i, s in enumerate(inputs.setups) if s.presentation == "swim_jig"]
    assert inputs.setups[max(rows, key=lambda i: inputs.quality[i].max())].weight_g == pytest.approx(14.2)


def test_cells_sum_to_one_and_contingencies_hold_their_share() -> None:
    extra = demand("Cove", Cover.PADS, 0.5, contingency=True, minutes=1.0)
    cells, _ = demand_cells((*DAY, extra), P.demand)
    assert sum(cell.weight for cell in cells) == pytest.approx(1.0)
    assert sum(cell.weight for cell in cells if cell.contingency) == pytest.approx(P.demand.contingency)
    slow = [sum(c.weight for c in demand_cells(day, P.demand)[0] if c.pace == "slow") for day in (DAY, (*DAY, extra))]
    assert slow[0] > slow[1]


def test_active_fish_ask_for_search_lures() -> None:
    def share(mood: float) -> float:
        cells, _ = demand_cells((demand("Grass", Cover.GRASS_SPARSE, 1.2, mood),), P.demand)
        return sum(cell.weight for cell in cells if cell.pace == "search")

    assert share(1.0) > share(0.0) > share(-1.0)


def test_layers() -> None:
    by_id = {p.id: p for p in PRESENTATIONS}
    layers = {name: layer_of(by_id[name], 10.0, P.demand) for name in ("popper", "spinnerbait", "football_jig")}
    assert layers == {"popper": Need.TOP, "spinnerbait": Need.MIDDLE, "football_jig": Need.BOTTOM}
    assert layer_of(by_id["weightless_stick_worm"], 0.0, P.demand) is Need.MIDDLE


def test_a_choice_from_everything_meets_the_plans_needs() -> None:
    inputs = rod_inputs(DAY, PRESENTATIONS, TackleBox(), PHYSICS, P, k=5, shy_fish=True)
    plan = choose_rods(inputs, P)
    assert plan.unmet == ()
    assert plan.gap is None
    assert len(plan.picks) == 5
    assert Need.WEEDLESS in inputs.needs
    assert Need.SPINNING in inputs.needs


def test_an_owned_box_is_kept_to() -> None:
    box = TackleBox(presentations=frozenset({"swim_jig", "wacky_rig", "texas_worm"}), weights_oz={"swim_jig": ("1/4",)})
    plan = choose_rods(rod_inputs(DAY, PRESENTATIONS, box, PHYSICS, P, k=4), P)
    assert {pick.setup.presentation for pick in plan.picks} <= box.presentations
    assert all(p.setup.weight_oz == "1/4" for p in plan.picks if p.setup.presentation == "swim_jig")
    assert plan.gap is not None


def test_heavy_line_is_for_roofs_only() -> None:
    open_day = (demand("Rock", Cover.ROCK, 3.0),)
    roof_day = (demand("Mats", Cover.GRASS_TOPPED, 0.5),)
    of = [
        {s.presentation for s in rod_inputs(d, PRESENTATIONS, TackleBox(), PHYSICS, P, k=3).setups}
        for d in (open_day, roof_day)
    ]
    assert "punch_rig" not in of[0]
    assert "punch_rig" in of[1]


def test_line_for_plants_stays_off_a_lure_of_open_water() -> None:
    """A day of clear rock and a reed bed: what is thrown at the rock keeps its thin line, at the reeds it is braid."""
    open_words, thick_words = frozenset({"clear", "rock", "hard"}), frozenset({"clear", "reeds", "roof"})
    soft = next(i for i, p in enumerate(PRESENTATIONS) if p.id == "soft_jerkbait")
    rocks, reeds = demand("Rock", Cover.ROCK, 0.8), demand("Reeds", Cover.REEDS, 0.8)

    def lines_lb(at_the_reeds: float) -> set[float]:
        worth = reeds.scores.copy()
        worth[soft] = at_the_reeds * rocks.scores[soft]
        day = (replace(rocks, words=open_words), replace(reeds, words=thick_words, scores=worth))
        inputs = rod_inputs(day, PRESENTATIONS, TackleBox(), PHYSICS, P, k=4)
        mine = [setup for setup in inputs.setups if setup.presentation == "soft_jerkbait"]
        return {gear.line.lb[0] for setup in mine for gear in setup.setups}

    assert max(lines_lb(0.2)) < 30
    assert max(lines_lb(0.9)) >= 40


#: Typical choices of four rods in six situations: the hour, (cover, depth in m, top of the cover) of the places, lures
#: of which the trade would rig most.
TYPICAL = {
    "southern grass before the spawn": (
        {"phase": "late_prespawn", "water_temp_c": 17.0, "secchi_m": 1.2, "sky": "overcast", "wave": "chop"},
        (("grass_dense", 1.8, 0.9), ("grass_sparse", 1.5, 0.8), ("pads", 0.9, None), ("reeds", 0.8, None)),
        {"bladed_swim_jig", "swimbait_weedless", "weightless_stick_worm", "flipping_jig", "texas_creature"},
    ),
    "rocky reservoir at winter's end": (
        {"phase": {"winter": 0.5, "early_prespawn": 0.5}, "water_temp_c": 9.0, "secchi_m": 3.0, "species": "spotted"},
        (("rock", 3.0, None), ("rock", 5.0, None), ("bare", 7.0, None), ("dock", 4.0, None)),
        {"suspending_jerkbait", "flat_sided_crankbait", "finesse_jig", "football_jig", "jighead_minnow", "drop_shot"},
    ),
    "northern lake in early summer": (
        {"phase": "summer", "water_temp_c": 21.0, "secchi_m": 3.0, "species": {"smallmouth": 0.5, "largemouth": 0.5}},
        (("rock", 2.5, None), ("grass_sparse", 2.5, 1.2), ("reeds", 1.0, None), ("bare", 4.0, None)),
        {"walking_topwater", "swim_jig", "drop_shot", "mushroom_head_finesse", "tube", "spinnerbait"},
    ),
    "warm farm pond at dawn": (
        {"phase": "summer", "water_temp_c": 27.0, "secchi_m": 0.7, "sky": "low_sun", "wave": "flat"},
        (("laydown", 1.2, None), ("grass_sparse", 1.2, 0.4), ("bare", 1.5, None)),
        {"buzzbait", "popper", "squarebill_crankbait", "texas_creature", "wacky_rig"},
    ),
    "tidal river in summer": (
        {"phase": "summer", "water_temp_c": 28.0, "secchi_m": 0.6, "wave": "ripple"},
        (("pads", 0.8, None), ("grass_topped", 0.8, 0.0), ("laydown", 1.2, None), ("grass_sparse", 1.3, 0.5)),
        {"hollow_body_frog", "squarebill_crankbait", "bladed_swim_jig", "texas_creature", "weightless_stick_worm"},
    ),
    "ledges of a reservoir in summer": (
        {"phase": "summer", "water_temp_c": 28.0, "secchi_m": 1.2, "sky": "bright", "forage": ["shad"]},
        (("bare", 5.0, None), ("brush", 5.0, None), ("rock", 6.0, None)),
        {"deep_diving_crankbait", "swimbait_jighead", "football_jig", "drop_shot", "walking_topwater"},
    ),
}


def rigged_for(hour: dict[str, object], places: tuple[tuple[str, float, float | None], ...]) -> set[str]:
    """Lures that are rigged on four rods from everything, with the ranking's own scores."""
    knowledge = load_advice_knowledge()
    demands = []
    for cover, depth_m, top_m in places:
        top = {} if top_m is None else {"cover_top_m": top_m}
        case = Case.from_mapping({**hour, "cover": cover, "depth_m": depth_m, **top})
        scores = score(case.conditions, case.spot, knowledge)
        work_m = max(top_m - 0.1, 0.0) if top_m else depth_m
        demands.append(Demand(cover, "early", 30.0, work_m, Cover(cover), scores.mood, scores.total))
    problem = rod_inputs(demands, knowledge.presentations, TackleBox(), PHYSICS, P, k=4)
    return {pick.setup.presentation for pick in choose_rods(problem, P).picks}


def test_typical_choices_of_four_rods() -> None:
    agree = {name: len(rigged_for(hour, places) & named) for name, (hour, places, named) in TYPICAL.items()}
    assert all(count >= 1 for count in agree.values()), agree
    assert sum(count >= 2 for count in agree.values()) >= 5, agree


def test_the_card_fits_the_page_and_names_everything() -> None:
    rods = tuple(rod(i, name=f"Rod {i}", power=power) for i, power in enumerate(("medium_heavy", "heavy", "medium")))
    box = TackleBox(rods=rods)
    plan = choose_rods(rod_inputs(DAY, PRESENTATIONS, box, PHYSICS, P, k=4), P)
    first = plan.picks[0].setup
    solved = Choice(
        *(first.presentation, first.name, "first choice", first.group, first.pace, 1.0, 10.6, "3/8", (1.0, 1.3)),
        *(
            "paddle-tail",
            None,
            (ColourPick("green_pumpkin", "green-brown, opaque", "green-brown", "stained water"),),
            None,
            None,
        ),
        *((), (), (), (), "fairly sure"),
    )
    card = rig_card(plan, "Alder Lake, Friday 10 April 2026", {first.presentation: solved})
    lines = card.splitlines()
    assert max(len(line) for line in lines) <= 72
    assert card.endswith("\n")
    assert lines[0] == "RIGGING LIST"
    assert sum(line.startswith("[ ] ") for line in lines) == len(plan.picks) + 4
    flat = " ".join(card.split())
    for pick in plan.picks:
        assert pick.setup.label in flat
        assert pick.rod is not None
        assert pick.rod.name in card
        assert " ".join(pick.purpose.split()) in flat
    assert "Trailer: paddle-tail. Colour: green-brown, opaque." in flat
    assert "within reach" in card


def test_the_card_without_a_plan_says_so() -> None:
    card = rig_card(choose_rods(RodInputs((), (), np.zeros((0, 0))), P), "Alder Lake")
    assert "There is no plan for the water to rig for." in card


def test_no_lure_is_rigged_twice() -> None:
    inputs = random_problem(3, n=8, m=5, rods=0, k=4)
    pairs = tuple(replace(one, presentation=f"p{i // 2}") for i, one in enumerate(inputs.setups))
    names = [pick.setup.presentation for pick in choose_rods(replace(inputs, setups=pairs), P).picks]
    assert len(names) == 4
    assert len(set(names)) == 4
