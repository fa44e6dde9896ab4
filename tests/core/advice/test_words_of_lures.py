"""How lures are spoken of: no "it" or "its" stands for one, and no sentence is long."""

import re

import pytest
import tomli

from briefing.core.advice.measures import localised
from briefing.knowledge import load_advice_knowledge
from briefing.resources import config_path
from tests.reading import sentences, words

FILES = [*sorted(config_path("presentations").glob("*.toml")), config_path("retrieves.toml")]
PRONOUN = re.compile(r"\bits?\b", re.IGNORECASE)
SENTENCE_WORDS = 25


def texts(node, key=""):
    """Yield (key, text) of every string, the key with the names and places of what it stands in."""
    if isinstance(node, str):
        yield key, node
    elif isinstance(node, dict):
        for name, value in node.items():
            yield from texts(value, f"{key}.{name}" if key else name)
    elif isinstance(node, list):
        for place, value in enumerate(node):
            yield from texts(value, f"{key}[{place}]")


def read(path):
    return tuple(texts(tomli.loads(path.read_text(encoding="utf-8"))))


def told(path, found):
    return "\n".join(f"{path.name}, {key}: {sentence}" for key, sentence in found)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_lure_is_named_or_left_out(path):
    found = [(key, one) for key, text in read(path) for one in sentences(text) if PRONOUN.search(one)]
    assert not found, told(path, found)


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_sentences_are_short(path, units):
    spoken = [(key, one) for key, text in read(path) for one in sentences(localised(text, units))]
    found = [(key, one) for key, one in spoken if len(words(one)) > SENTENCE_WORDS]
    assert not found, told(path, found)


def test_pronouns_are_found_within_lists():
    node = {"faults": [{"fix": "Lower it."}], "look_for": "A line that jumps."}
    found = [(key, text) for key, text in texts(node) if PRONOUN.search(text)]
    assert found == [("faults[0].fix", "Lower it.")]
    assert PRONOUN.search("Its beat.")
    assert not PRONOUN.search("With itself, a bite, and a twitch.")


@pytest.mark.parametrize("units", ["us", "metric"])
def test_a_switch_is_read_in_one_breath(units: str) -> None:
    for switch in load_advice_knowledge().switches:
        said = localised(f"{switch.when}: {switch.then}", units)
        assert len(said.split()) <= 25, said
