"""A reader's page holds one system of units; the other stands only in what was typed or issued so, and on tackle."""

import re
from dataclasses import replace
from pathlib import Path

import pytest

from briefing.core.gathered import Problem
from briefing.pipeline.build import build
from briefing.pipeline.demo import demo_inputs
from briefing.pipeline.made import render
from briefing.pipeline.tables import load_tables, reader_of
from briefing.sources.open_meteo import _cell, height_problem
from briefing.units import Units
from tests.mornings import MORNINGS
from tests.scenarios import SCENARIOS, inputs_of

pytestmark = pytest.mark.long

GOLDENS = Path(__file__).resolve().parents[2] / "fixtures" / "goldens"
METRIC = r"km/h|km2|km|m/s|metres?|m|cm|mm|°?C|g|kg|ha|hectares"
#: "5 in 10" and "9 in 10 in summer places" are shares.
US = r"mph|°?F|ft|feet|foot|miles?|mi|yards?|yd|inch(?:es)?|acres|in(?! (?:\d|summer|winter|autumn|late|early|post))"
#: Rods, lines, hooks and weights go by the marks of the trade, which are ounces, pounds and feet everywhere.
TACKLE = (
    re.compile(r"\d+ ft(?: \d+ in)?(?: to \d+ ft(?: \d+ in)?)?, [a-z-]+ power"),
    re.compile(r"\d oz \([\d.]+ g\)"),
    re.compile(r"lb [a-z]+ \([\d.-]+ mm\)"),
)
#: A foot that is no measure, and a user's or an office's own words.
OTHER = (re.compile(r"Stumps stand to within a foot"), re.compile(r"within a minute"))


def stray(text: str, system: Units, own_words: tuple[str, ...] = ()) -> list[str]:
    """Measures of the other system in a text, with what stands around them."""
    flat = re.sub(r"\s+", " ", text)
    for words in own_words:
        flat = flat.replace(re.sub(r"\s+", " ", words), "")
    for pattern in (*TACKLE, *OTHER):
        flat = pattern.sub("", flat)
    other = METRIC if system == "us" else US
    found = re.finditer(rf"\d ?(?:{other})(?![\w/])", flat)
    return [flat[max(0, one.start() - 40) : one.end() + 15] for one in found]


def system_of(name: str) -> Units:
    return MORNINGS[name.replace("_", " ") if name.replace("_", " ") in MORNINGS else name]().reader.units


@pytest.mark.parametrize("path", sorted(GOLDENS.glob("*.txt")), ids=lambda path: path.stem)
def test_a_golden_holds_the_units_of_its_reader(path: Path) -> None:
    assert stray(path.read_text(encoding="utf-8"), system_of(path.stem)) == []


@pytest.mark.parametrize("name", ["demo", *SCENARIOS])
def test_the_same_morning_for_a_reader_of_the_other_system(name: str) -> None:
    inputs = demo_inputs() if name == "demo" else inputs_of(SCENARIOS[name])
    other: Units = "metric" if inputs.reader.units == "us" else "us"
    profile = inputs.profile.model_copy(update={"units": other})
    inputs = replace(inputs, profile=profile, reader=reader_of(profile))
    built = build(inputs, load_tables())
    page = built.briefing
    own = [text for alert in page.cautions.official for text in (alert.description, alert.instruction) if text]
    own += [spot.notes for spot in profile.spots if spot.notes] + [spot.hazard for spot in profile.spots if spot.hazard]
    made = render(built, inputs.gathered)
    assert stray(made.text, other, tuple(own)) == []
    html = re.sub(r"<style>.*?</style>|<[^>]+>", " ", made.html, flags=re.S)
    assert stray(html, other, tuple(own)) == []
    assert not re.search(r"\{[^{}]*\|[^{}]*\}", made.text + html), "a measure was not told in either system"


HIGH = b'{"latitude": 30.0, "longitude": -83.0, "elevation": 500.0}'


def test_a_model_cell_far_away_is_told_in_miles_or_kilometres() -> None:
    inputs = inputs_of(SCENARIOS["south_early_spring_front_coming"])
    said, _ = _cell({"latitude": 31.0, "longitude": -83.0, "elevation": 60.0}, (30.0, -83.0))
    problems = (Problem("open_meteo", said[0], ""), Problem("open_meteo", height_problem(HIGH, 10.0), ""))
    inputs = replace(inputs, gathered=replace(inputs.gathered, problems=problems))
    told = " ".join(item.what for item in build(inputs, load_tables()).briefing.unknown.items)
    assert "a cell 69 mi away" in told
    assert "its cell lies 1608 ft above the lake" in told
