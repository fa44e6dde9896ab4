"""The ladder of changes on fish that saw a lure the day before."""

import pytest

from briefing.core.advice.moments import rungs_below
from briefing.knowledge import load_advice_knowledge


@pytest.fixture(scope="module")
def fished():
    return load_advice_knowledge().moments["fished"]["yesterday"]


def test_the_ladder_of_a_lure_begins_below_what_is_shown(fished):
    from_reel = rungs_below(fished, "bladed", ["stutter", "hop", "stroke"], "stutter")
    from_hop = rungs_below(fished, "bladed", ["stutter", "hop", "stroke"], "hop")
    assert from_reel[0].startswith("hopped")
    assert from_hop == from_reel[1:]


def test_a_lure_has_only_the_rungs_that_it_can_be_worked_by(fished):
    held = rungs_below(fished, "finesse", ["hold"], "hold")
    assert not any("hopped" in rung or "stroke" in rung for rung in held)
    assert not any("quiet bait" in rung for rung in held)  # a finesse lure is that already
    assert len(held) == 2
