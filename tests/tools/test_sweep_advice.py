"""The sweep over drawn situations: nothing contradicts, three are shown, and no lure is everywhere."""

import pytest

from briefing.core.advice.ranking import rank
from briefing.knowledge import load_advice_knowledge
from briefing.tools import sweep_advice as module


@pytest.fixture(scope="module")
def knowledge():
    return load_advice_knowledge()


def test_a_sweep_finds_no_contradiction_and_no_lure_everywhere(knowledge, whole):
    tally = module.sweep(2000 if whole else 150, knowledge)
    assert not tally.kinds, tally.examples
    assert tally.three >= 0.98 * tally.situations
    most_first, most_shown = (counter.most_common(1)[0][1] / tally.situations for counter in (tally.first, tally.shown))
    assert most_first <= (0.15 if whole else 0.22)
    assert most_shown <= (0.30 if whole else 0.40)


@pytest.mark.parametrize("seed", range(40))
def test_whatever_is_offered_agrees_with_its_cover_depth_weight_and_retrieve(knowledge, seed):
    """The whole order, not only the three: gear, layer, pace, weight and colour never contradict."""
    situation = module.draw(seed, knowledge)
    for choice in rank(situation.conditions, situation.spot, knowledge, units="us"):
        if not choice.out_of_season:
            found = list(module.faults_of(choice, situation, knowledge))
            assert not [kind for kind in found if kind not in module.OF_THE_ORDER], (choice.id, situation.words())


def test_the_same_seed_draws_the_same_situation(knowledge):
    assert module.draw(7, knowledge) == module.draw(7, knowledge)


def test_the_command_counts(capsys):
    assert module.main(["--seeds", "3"]) in (0, 1)
    assert "3 situations" in capsys.readouterr().out
