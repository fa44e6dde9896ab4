"""The ranking against written situations, and the checks that hold everywhere."""

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import tomli

from briefing.core.advice.conditions import Case, Conditions, FrontStage, Spot
from briefing.core.advice.ranking import rank, score, shown_three
from briefing.knowledge import load_advice_knowledge
from briefing.vocabulary import Cover, LakeKind, Mood, Phase, Sky, SpeciesForm

CASES = tomli.loads((Path(__file__).parent / "cases.toml").read_text())
RULING = {case["name"]: case for case in CASES["ruling"]}
WATERS = {case["name"]: case for case in CASES["water"]}
LEAD_WITHIN, OUT_WITHIN = 4, 10


@pytest.fixture(scope="module")
def knowledge():
    return load_advice_knowledge()


def order(knowledge, situation):
    case = Case.from_mapping(situation)
    return [choice.id for choice in rank(case.conditions, case.spot, knowledge, solve=0, units="us")]


@pytest.mark.parametrize("name", RULING)
def test_at_least_two_of_the_named_lead(knowledge, name):
    first = order(knowledge, RULING[name]["situation"])[:LEAD_WITHIN]
    assert len(set(first) & set(RULING[name]["lead"])) >= 2, first


@pytest.mark.parametrize("name", WATERS)
def test_two_lead_and_two_stay_out(knowledge, name):
    case = Case.from_mapping(WATERS[name]["situation"])
    choices = rank(case.conditions, case.spot, knowledge, solve=0, units="us")
    ranked = [choice.id for choice in choices]
    leading = {
        *ranked[:LEAD_WITHIN],
        *(choice.id for choice in shown_three(choices)),
    }  # at dusk four may be of one kind
    assert set(WATERS[name]["lead"]) <= leading, ranked[:OUT_WITHIN]
    assert not set(WATERS[name]["out"]) & set(ranked[:OUT_WITHIN]), ranked[:OUT_WITHIN]


def test_enough_other_waters():
    assert len(WATERS) >= 25
    assert all(len(case["lead"]) >= 2 and len(case["out"]) >= 2 for case in WATERS.values())


def test_every_presentation_leads_in_its_own_case_and_stays_out_of_the_other(knowledge):
    assert len(knowledge.presentations) >= 38
    wrong = []
    for item in knowledge.presentations:
        first = order(knowledge, item.lead_case)[:LEAD_WITHIN]
        if item.id not in first:
            wrong.append((item.id, "should lead", first))
        ten = order(knowledge, item.out_case)[:OUT_WITHIN]
        if item.id in ten:
            wrong.append((item.id, "should stay out", ten))
    assert not wrong


# ---- checks that hold in any situation, on the internal score -----------------------------------------------

SITUATIONS = [
    (phase, temp, secchi, cover, depth, sky, mood)
    for phase, temp in [(Phase.SPAWN, 18.0), (Phase.SUMMER, 27.0), (Phase.EARLY_PRESPAWN, 11.0), (Phase.AUTUMN, 16.0)]
    for secchi in (0.4, 1.2, 3.0)
    for cover, depth in [(Cover.DOCK, 1.5), (Cover.ROCK, 3.0), (Cover.GRASS_SPARSE, 1.5), (Cover.BARE, 5.0)]
    for sky, mood in [(Sky.BRIGHT, None), (Sky.NIGHT, Mood.ACTIVE)]
]

#: Every third one first: a slice is taken from all of them.
IN_TURN = (*SITUATIONS[::3], *SITUATIONS[1::3], *SITUATIONS[2::3])


def situation(phase, temp, secchi, cover, depth, sky, mood):
    conditions = Conditions(
        phases={phase: 1.0},
        water_temp_c=temp,
        species={SpeciesForm.LARGEMOUTH_NORTHERN: 1.0},
        secchi_m=secchi,
        sky=sky,
        mood=mood,
        lake_kind=LakeKind.LOWLAND_RESERVOIR,
    )
    return conditions, Spot(depth_m=(depth, depth), cover={cover: 1.0})


def value(knowledge, presentation, conditions, spot):
    return float(score(conditions, spot, knowledge).total[knowledge.tables.index[presentation]])


@pytest.mark.seeds(len(SITUATIONS) // 3, len(SITUATIONS))
def test_more_wind_never_raises_a_wacky_rig(knowledge, seed, whole):
    conditions, spot = situation(*IN_TURN[seed])
    winds = np.arange(0.0, 10.1, 0.5 if whole else 1.0)
    values = [value(knowledge, "wacky_rig", replace(conditions, wind_mps=float(wind)), spot) for wind in winds]
    assert all(later <= earlier + 1e-12 for earlier, later in pairwise(values))


@pytest.mark.seeds(len(SITUATIONS) // 3, len(SITUATIONS))
def test_lower_visibility_never_raises_a_jighead_minnow(knowledge, seed):
    conditions, spot = situation(*IN_TURN[seed])
    depths = [14, 10, 8, 6, 5, 4, 3, 2.5, 2, 1.7, 1.5, 1.3, 1.1, 1.0, 0.9, 0.7, 0.5, 0.3, 0.1]
    values = [value(knowledge, "jighead_minnow", replace(conditions, secchi_m=secchi), spot) for secchi in depths]
    assert all(later <= earlier + 1e-12 for earlier, later in pairwise(values))


@pytest.mark.seeds(len(SITUATIONS) // 3, len(SITUATIONS))
def test_denser_grass_never_raises_a_treble_lure(knowledge, seed):
    conditions, spot = situation(*IN_TURN[seed])
    for top in (None, 0.3, 1.2):
        previous = None
        for cover in (Cover.GRASS_SPARSE, Cover.GRASS_DENSE, Cover.GRASS_TOPPED):
            total = score(conditions, replace(spot, cover={cover: 1.0}, cover_top_m=top), knowledge).total
            trebles = total[knowledge.tables.trebles]
            assert previous is None or (trebles <= previous + 1e-12).all(), top
            previous = trebles


@pytest.mark.seeds(len(SITUATIONS) // 3, len(SITUATIONS))
def test_cooling_below_17_c_never_raises_a_buzzbait(knowledge, seed, whole):
    conditions, spot = situation(*IN_TURN[seed])
    for trend in (None, -2.0, 0.0, 2.0):
        warm = replace(conditions, trend_3d_c=trend)
        cooling = np.arange(17.0, 4.1, -0.25 if whole else -0.75)
        values = [value(knowledge, "buzzbait", replace(warm, water_temp_c=float(t)), spot) for t in cooling]
        assert all(later <= earlier + 1e-12 for earlier, later in pairwise(values))


@pytest.mark.seeds(len(SITUATIONS) // 3, len(SITUATIONS))
def test_day_two_of_a_front_never_puts_an_umbrella_rig_above_a_finesse_jig(knowledge, seed):
    conditions, spot = situation(*IN_TURN[seed])
    before = replace(conditions, front_stage=FrontStage.NONE)
    after = replace(conditions, front_stage=FrontStage.DAY2)
    gap = [
        value(knowledge, "umbrella_rig", c, spot) - value(knowledge, "finesse_jig", c, spot) for c in (before, after)
    ]
    assert gap[1] <= max(gap[0], 0.0) + 1e-12
