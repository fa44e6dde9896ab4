"""Nobody is told to go in without being told where: to the ramp by its name, or to shelter ashore."""

import re

import pytest

from briefing.pipeline.build import build
from briefing.pipeline.demo import demo_inputs
from briefing.pipeline.tables import load_tables
from briefing.resources import config_path
from tests.pipeline.test_missing_is_never_good_news import strings
from tests.scenarios import SCENARIOS, inputs_of

pytestmark = pytest.mark.long

WITHOUT_WHERE = re.compile(r"\b(?:go|come|be|get|way) in\b(?! to )(?=[.,;: ]|$)(?! \w+ing)", re.IGNORECASE)


@pytest.mark.parametrize("name", ["demo", *SCENARIOS])
def test_the_way_in_has_an_end(name: str) -> None:
    inputs = demo_inputs() if name == "demo" else inputs_of(SCENARIOS[name])
    page = build(inputs, load_tables()).briefing
    texts = list(strings(page.model_dump(mode="json")))
    # getting back in is into the craft, and says so
    assert [text for text in texts if WITHOUT_WHERE.search(text.replace("get back in", ""))] == []
    stops = [stop for block in page.plan.blocks for stop in block.stops]
    if stops and "Without a touch" in stops[-1].stay_text:
        assert f"Leave for {page.head.ramp} by" in stops[-1].stay_text


def test_no_advice_of_a_hazard_says_go_in_alone() -> None:
    text = config_path("actions.toml").read_text(encoding="utf-8")
    assert [line for line in text.splitlines() if WITHOUT_WHERE.search(line)] == []
