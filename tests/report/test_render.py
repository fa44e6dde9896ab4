"""What every rendering owes the reader, whatever the lake is called and whatever an alert says."""

import json
import re
from dataclasses import replace
from pathlib import Path

import jsonschema
import pytest
from jinja2 import DictLoader, Environment

from briefing.pipeline.build import build
from briefing.pipeline.made import Made, render
from briefing.pipeline.tables import load_tables
from briefing.report.mail import mail_parts
from briefing.report.render import CompiledTemplates
from briefing.report.schema import SCHEMA_FILE, schema_text
from briefing.resources import config_path
from briefing.sections.briefing import Briefing
from tests.scenarios import SCENARIOS, inputs_of

HOSTILE = 'Mud <script>alert(1)</script> & "Lake" {{ 7*7 }}\x1b[2J'


def hostile() -> Made:
    inputs = inputs_of(SCENARIOS["south_early_spring_front_coming"])
    profile = inputs.profile.model_copy(update={"name": HOSTILE})
    feed = inputs.gathered.alerts
    alert = replace(feed.alerts[0], headline=HOSTILE, description=f"</p><img src=x onerror=alert(1)>{HOSTILE}")
    gathered = replace(inputs.gathered, alerts=replace(feed, alerts=(alert,)))
    return render(build(replace(inputs, profile=profile, gathered=gathered), load_tables()), gathered)


@pytest.fixture(scope="module")
def made() -> Made:
    inputs = inputs_of(SCENARIOS["south_early_spring_front_coming"])
    return render(build(inputs, load_tables()), inputs.gathered)


def test_hostile_words_stay_words() -> None:
    found = hostile()
    assert "<script>alert" not in found.html
    assert "&lt;script&gt;" in found.html
    assert "<img src=x" not in found.html
    assert "{{ 7*7 }}" in found.text
    assert "\x1b" not in found.text
    assert json.loads(found.json)["head"]["lake"] == HOSTILE


def test_templates_that_cannot_be_kept_compiled_cost_no_page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A disk that is full when the templates are compiled first."""

    def full(*_: object, **__: object) -> object:
        raise OSError(27, "File too large")

    monkeypatch.setattr("jinja2.bccache.tempfile.NamedTemporaryFile", full)
    cached = Environment(loader=DictLoader({"a": "{{ 1 + 1 }}"}), bytecode_cache=CompiledTemplates(str(tmp_path)))
    assert cached.get_template("a").render() == "2"
    assert list(tmp_path.iterdir()) == []


def test_the_shipped_schema_is_up_to_date() -> None:
    """Renew with: python -m briefing.report.schema > config/schemas/briefing.schema.json"""
    assert config_path(SCHEMA_FILE).read_text(encoding="utf-8") == schema_text()


def test_the_json_keeps_to_its_schema(made: Made) -> None:
    jsonschema.validate(json.loads(made.json), json.loads(schema_text()))


def test_the_json_can_be_read_back(made: Made) -> None:
    assert Briefing.model_validate_json(made.json) == made.built.briefing


SECTIONS = [
    "CAUTIONS",
    "BEFORE YOU GO",
    "RODS",
    "WHERE AND WHEN",
    "FISH, WATER AND LIGHT",
    "HOW SURE, WHAT IS NOT KNOWN, WHAT CHANGED",
    "NUMBERS BY HOUR",
    "SOURCES, NEXT CHECK, VALID UNTIL",
]


def test_the_forms_keep_the_same_order(made: Made) -> None:
    text = [made.text.index(f"\n{title}\n") for title in SECTIONS]
    assert text == sorted(text)
    ids = ["day", "cautions", "rods", "plan", "season", "water", "sure"]
    html = [made.html.index(f'id="h-{key}"') for key in ids]
    assert html == sorted(html)
    mail = mail_parts(made.built.briefing, "x").html
    assert [mail.index(f'id="h-{key}"') for key in ids] == sorted(mail.index(f'id="h-{key}"') for key in ids)
    assert list(json.loads(made.json))[:4] == ["schema_version", "head", "glance", "day"]


def numbers(node: object) -> list[dict[str, object]]:
    if isinstance(node, dict):
        found = [node] if {"value", "unit", "source", "kind"} <= set(node) else []
        return found + [one for child in node.values() for one in numbers(child)]
    if isinstance(node, list):
        return [one for child in node for one in numbers(child)]
    return []


def test_every_quantity_has_unit_source_and_range_or_says_that_it_has_none(made: Made) -> None:
    found = numbers(json.loads(made.json))
    assert len(found) >= 5
    for one in found:
        assert one["unit"]
        assert one["source"]
        assert one["value"] is not None or one["note"]
        assert (one["low"] is not None and one["high"] is not None) or one["range_note"]


def test_every_quantity_stands_in_text_and_page(made: Made) -> None:
    flat = re.sub(r"\s+", " ", made.text)
    page = re.sub(r"\s+", " ", made.html)
    for one in numbers(json.loads(made.json)):
        assert str(one["text"]) in flat
        assert str(one["text"]).replace("&", "&amp;") in page
