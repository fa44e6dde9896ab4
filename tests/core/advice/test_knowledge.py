"""The knowledge files: each as its schema says, no loose ends between them, open to a user's own files."""

import json
import re
from dataclasses import fields
from functools import cache
from pathlib import Path

import jsonschema
import pytest
import tomli

import briefing
from briefing.core.advice.knowledge import (
    CareRule,
    Change,
    ColourFamily,
    ColourKnowledge,
    CoverInfo,
    FlashChoice,
    Habit,
    LegalFlag,
    PhaseInfo,
    RegionInfo,
    SpeciesInfo,
    Switch,
)
from briefing.core.advice.moments import Moment
from briefing.core.advice.pace import Ceiling, Retrieve
from briefing.core.advice.presentation import CoverFit, Fall, LineSpec, LureWeight, Option, Presentation, Setup
from briefing.core.advice.situation import WORDS
from briefing.errors import InputError
from briefing.knowledge import ADVICE_FILES, load_advice_knowledge
from briefing.resources import config_path

PRESENTATIONS = sorted(config_path("presentations").glob("*.toml"))
OWN_FILES = [name for name in ADVICE_FILES if name != "physics"]


@pytest.fixture(scope="module")
def knowledge():
    return load_advice_knowledge()


def read(path):
    return tomli.loads(path.read_text(encoding="utf-8"))


def schema(name):
    return json.loads(config_path(f"schemas/{name}.json").read_text(encoding="utf-8"))


@cache
def validator(name):
    """One for all files: the schema itself is checked once."""
    jsonschema.Draft202012Validator.check_schema(schema(name))
    return jsonschema.Draft202012Validator(schema(name))


def described(node, path=""):
    """Yield the path of every field of a schema that has no sentence of its own."""
    for key, value in node.get("properties", {}).items():
        here = f"{path}.{key}"
        if not value.get("description", "").endswith("."):
            yield here
        yield from described(value, here)
        for inner in ("items", "additionalProperties"):
            if isinstance(value.get(inner), dict):
                yield from described(value[inner], here)


@pytest.mark.parametrize("path", PRESENTATIONS, ids=lambda path: path.stem)
def test_presentation_file_is_as_its_schema_says(path):
    data = read(path)
    validator("presentation").validate(data)
    assert data["id"] == path.stem


@pytest.mark.parametrize("name", OWN_FILES)
def test_file_is_as_its_schema_says(name):
    validator(name).validate(read(config_path(f"{name}.toml")))


@pytest.mark.parametrize("name", ["presentation", *OWN_FILES])
def test_schema_has_a_sentence_for_every_field(name):
    assert list(described(schema(name))) == []


def test_enough_presentations(knowledge):
    assert len(knowledge.presentations) >= 38
    assert len({item.name for item in knowledge.presentations}) == len(knowledge.presentations)


def test_every_named_presentation_exists(knowledge):
    known = set(knowledge.tables.index)
    named = {name for item in knowledge.presentations for name in item.follow_up}
    named |= {name for region in knowledge.regions.values() for name in region.factors}
    named |= {name for switch in knowledge.switches for name in switch.presentations}
    for phase in knowledge.phases.values():
        named |= {name for change in phase.changes.values() for name in (*change.raises, *change.lowers)}
    assert named <= known


def test_follow_ups_are_of_another_kind(knowledge):
    for item in knowledge.presentations:
        assert item.id not in item.follow_up
        assert item.follow_up


def test_flags_retrieves_and_colours_exist(knowledge):
    roles = {role for family in knowledge.colours.families for role in family.roles}
    for item in knowledge.presentations:
        assert set(item.legal) <= set(knowledge.legal)
        assert {option.id for option in item.retrieves} <= set(knowledge.paces.retrieves)
        assert item.colour_role in roles


def test_situation_words_are_known(knowledge):
    options = [
        option
        for item in knowledge.presentations
        for option in (*item.blades, *item.trailers, *item.retrieves, *item.setups)
    ]
    options += [*knowledge.colours.finishes, *knowledge.colours.accents, *knowledge.switches]
    words = {
        word
        for option in options
        for joined in (*option.fits, *getattr(option, "needs", ()))
        for word in joined.split("+")
    }
    assert words <= WORDS, words - WORDS


def test_every_choice_has_a_default(knowledge):
    for item in knowledge.presentations:
        for options in (item.retrieves, item.setups, item.trailers):
            assert not options or any("default" in option.fits for option in options), item.id


def test_weights_rise_and_ounces_match_grams(knowledge):
    for item in knowledge.presentations:
        grams = [step.grams for step in item.weights]
        assert grams == sorted(grams), item.id
        for step in item.weights:
            assert step.grams == pytest.approx(_ounces(step.oz) * 28.35, rel=0.03, abs=0.06), (item.id, step.oz)


def _ounces(text):
    whole, _, part = text.partition("-") if "-" in text else ("0", "", text)
    top, _, bottom = part.partition("/")
    return int(whole) + int(top) / int(bottom or 1)


def test_a_users_folder_adds_and_overrides(tmp_path):
    folder = tmp_path / "presentations"
    folder.mkdir()
    ours = config_path("presentations/popper.toml").read_text(encoding="utf-8")
    (folder / "popper.toml").write_text(ours.replace('name = "Popper"', 'name = "My popper"'), encoding="utf-8")
    (folder / "spitter.toml").write_text(ours.replace('id = "popper"', 'id = "spitter"'), encoding="utf-8")
    (tmp_path / "regions.toml").write_text("[region.farm_pond.factors]\npopper = 1.3\n", encoding="utf-8")
    (tmp_path / "colours.toml").write_text("[clarity.dirty]\nfrom_m = 0.3\n", encoding="utf-8")
    knowledge = load_advice_knowledge(tmp_path)
    assert knowledge.presentation("popper").name == "My popper"
    assert knowledge.presentation("spitter").group == "topwater"
    assert len(knowledge.presentations) == len(load_advice_knowledge().presentations) + 1
    factors = next(region.factors for kind, region in knowledge.regions.items() if kind == "farm_pond")
    assert factors["popper"] == 1.3
    assert factors["buzzbait"] == 1.1
    assert knowledge.colours.clarity(0.27) == "muddy"
    assert len(knowledge.colours.families) == len(load_advice_knowledge().colours.families)


def test_a_broken_user_file_names_file_and_field(tmp_path):
    folder = tmp_path / "presentations"
    folder.mkdir()
    ours = config_path("presentations/popper.toml").read_text(encoding="utf-8")
    (folder / "broken.toml").write_text(ours.replace("colour_role", "color_role"), encoding="utf-8")
    with pytest.raises(InputError, match=r"broken\.toml.*colour_role"):
        load_advice_knowledge(tmp_path)
    (folder / "broken.toml").write_text("id = ", encoding="utf-8")
    load_advice_knowledge.cache_clear()
    with pytest.raises(InputError, match=r"broken\.toml"):
        load_advice_knowledge(tmp_path)


#: Where a number comes from, for people who look into the files, and the situations of the tests.
READ_BY_NOBODY = {"source", "status", "lead_case", "out_case"}


def test_every_field_of_the_knowledge_is_read_somewhere():
    """Written knowledge that no code reads is used or deleted."""
    source = "\n".join(path.read_text(encoding="utf-8") for path in Path(briefing.__file__).parent.rglob("*.py"))
    kinds = [
        *(Presentation, LureWeight, Option, LineSpec, Setup, Fall, CoverFit, Retrieve, Ceiling, Moment, CareRule),
        *(ColourFamily, FlashChoice, ColourKnowledge, CoverInfo, Habit, Change, PhaseInfo, SpeciesInfo, RegionInfo),
        *(Switch, LegalFlag),
    ]
    unread = [
        f"{kind.__name__}.{one.name}"
        for kind in kinds
        for one in fields(kind)
        if one.name not in READ_BY_NOBODY and not re.search(rf"\.{one.name}\b", source)
    ]
    assert not unread
