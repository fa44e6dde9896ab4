"""A lint over every string of the advice: units, no verdicts, no false certainty, a reason for each choice."""

import re

import pytest
import tomli

from briefing.core.advice.conditions import Case
from briefing.core.advice.explain import FOLKLORE
from briefing.core.advice.measures import localised
from briefing.core.advice.ranking import factors_in_words, rank, shown_three
from briefing.knowledge import ADVICE_FILES, load_advice_knowledge
from briefing.resources import config_path

FILES = [
    *sorted(config_path("presentations").glob("*.toml")),
    *(config_path(f"{name}.toml") for name in ADVICE_FILES if name != "physics"),
]
VERDICTS = re.compile(r"\b(safe|safely|fine|good to go|no risk|risk-free|guarantee[ds]?|harmless)\b", re.IGNORECASE)
CERTAIN = re.compile(
    r"\b(certain|certainly|definitely|always works|never fails|surely|undoubtedly|without doubt|foolproof|100 ?%|"
    r"can't miss|cannot miss|will bite|will catch)\b",
    re.IGNORECASE,
)
MARKS = re.compile("[™®©]")
UNIT = (
    r"(?:m|cm|mm|km|s|min|h|g|kg|oz|lb|ft|in|C|F|m/s|mph|%|degrees?|turns?|days?|nights?|hours?|minutes?|weeks?|seconds?|"
    r"metres?|months?|fish|casts?|targets?|times|ring|bites?|passes|hooks?|step|head|o'clock|second|metre|fishing|heads?)"
)
#: Sizes of hooks (4/0) and ratios of gears (7.1:1) stand for themselves.
HOOK = re.compile(r"\b\d+(?:-\d+)?/0(?:\s+(?:to|or)\s+\d+/0)?|\bsize \d+ (?:to|or) \d+(?:/0)?|\bsize \d+|\b\d+:1")
DATES = re.compile(r"\b\d{4}-\d{2}-\d{2}\b|\b\d{3} and\b")
NUMBER = re.compile(
    rf"\d+(?:[.,/]\d+)?(?:\s*(?:to|-|and|or)\s*\d+(?:[.,/]\d+)?)*[\s-]*(?:\(|{UNIT}\b|%|x |times|')", re.IGNORECASE
)
BARE = re.compile(r"\d+(?:[.,/]\d+)?")
KEYS_WITHOUT_UNITS = {"id", "oz", "source", "status", "schema"}


def strings(node, key=""):
    """Yield (key, text) of every string that a reader may see."""
    if isinstance(node, str):
        yield key, node
    elif isinstance(node, dict):
        for name, value in node.items():
            if name not in ("lead_case", "out_case", "fits"):
                yield from strings(value, name)
    elif isinstance(node, list):
        for value in node:
            yield from strings(value, key)


def numbers_without_unit(text):
    """Numbers of a sentence that say nothing about what they count."""
    text = DATES.sub("", HOOK.sub("", text))
    covered = [match.span() for match in NUMBER.finditer(text)]
    return [
        found.group()
        for found in BARE.finditer(text)
        if not any(start <= found.start() < end for start, end in covered)
    ]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_strings_of_the_files(path):
    for key, raw in strings(tomli.loads(path.read_text(encoding="utf-8"))):
        text = localised(raw, "metric")
        assert "{" not in text, raw
        assert not VERDICTS.search(text), text
        assert not CERTAIN.search(text), text
        assert not MARKS.search(text), text
        if key not in KEYS_WITHOUT_UNITS:
            assert not numbers_without_unit(text), (key, text)


def situations():
    folder = config_path("presentations")
    for path in sorted(folder.glob("*.toml")):
        yield tomli.loads(path.read_text(encoding="utf-8"))["lead_case"]


@pytest.mark.parametrize("units", ["us", "metric"])
def test_spoken_choices(units):
    knowledge = load_advice_knowledge()
    for situation in situations():
        case = Case.from_mapping(situation)
        for choice in shown_three(rank(case.conditions, case.spot, knowledge, solve=0, units=units)):
            assert choice.rank in ("first choice", "second", "if refused")
        for choice in shown_three(rank(case.conditions, case.spot, knowledge, solve=1, units=units)):
            assert 1 <= len(choice.reasons) <= 4
            assert len(set(choice.reasons)) == len(choice.reasons)
            assert choice.how_sure in ("fairly sure", "open")
            texts = [*choice.reasons, *choice.cautions, *choice.faults, choice.look_for]
            texts += [choice.change] if choice.change else []
            texts += [colour.why for colour in choice.colours]
            for text in texts:
                assert text.strip()
                assert not VERDICTS.search(text), text
                assert not CERTAIN.search(text), text
                assert not numbers_without_unit(text), text
                assert "  " not in text
                assert ".." not in text


def test_all_factors_are_told_with_their_side():
    knowledge = load_advice_knowledge()
    case = Case.from_mapping(knowledge.presentation("bladed_swim_jig").lead_case)
    choice = rank(case.conditions, case.spot, knowledge, solve=0, units="us")[0]
    told = factors_in_words(case.conditions, case.spot, knowledge, choice, units="us")
    assert len(told) >= 7
    assert all(
        text.startswith(
            ("in favour: ", "against: ", "neither way: ", "no worse than most: ", "less in favour than for others: ")
        )
        for text in told
    )
    assert "moon" in FOLKLORE
    assert "barometer" in FOLKLORE
