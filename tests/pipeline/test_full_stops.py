"""Every sentence of the page and of a wind note has its end: what follows is not read as a part of it."""

from collections.abc import Iterator

import pytest

from briefing.pipeline.build import build
from briefing.pipeline.demo import demo_inputs
from briefing.pipeline.inputs import MorningInputs
from briefing.pipeline.tables import load_tables
from briefing.pipeline.wind_check import check_wind
from briefing.sections.briefing import Briefing
from briefing.sections.words import ended
from tests.scenarios import SCENARIOS, inputs_of

pytestmark = pytest.mark.long


def sentences(page: Briefing) -> Iterator[str]:
    """What the templates set beside other sentences."""
    yield from (*page.glance.level_lines(), *page.day.before, *page.day.sentences, *page.hours.notes, *page.plan.notes)
    yield from (page.head.row, page.head.outing, *page.head.remarks)
    for one in page.cautions.items:
        yield from (one.text, one.action)
    for block in page.plan.blocks:
        for stop in block.stops:
            yield from (stop.where, stop.conditions_text, *stop.reasons, stop.travel_text, stop.stay_text)
            yield from (stop.home_text, stop.look_for)
            yield from (text for one in stop.choices for text in (one.how_text, one.rig_text, one.doubt) if text)
    for rod in page.plan.rods:
        yield rod.purpose


def note_lines(inputs: MorningInputs) -> Iterator[str]:
    note = check_wind(inputs, load_tables(), (), (), "Check again.").text
    if note is not None:
        yield from (note.first, *(line for line in note.body.splitlines() if not line.endswith(":")))


@pytest.mark.parametrize("name", ["demo", *SCENARIOS])
def test_sentences_end(name: str) -> None:
    inputs = demo_inputs() if name == "demo" else inputs_of(SCENARIOS[name])
    found = [*sentences(build(inputs, load_tables()).briefing), *note_lines(inputs)]
    assert [text for text in found if text and not text.endswith((".", "!", "?"))] == []
    assert [text for text in found if text.endswith("..")] == []


@pytest.mark.parametrize(
    ("typed", "told"), [("grass ends at shell", "grass ends at shell."), ("deep!", "deep!"), ("two, ", "two.")]
)
def test_own_words_get_an_end(typed: str, told: str) -> None:
    assert ended(typed) == told
