"""Whole briefings against golden files. ``make goldens`` renews them; read the difference before you commit it."""

import difflib
import os
from pathlib import Path

import pytest

from briefing.pipeline.build import build
from briefing.pipeline.demo import demo_inputs
from briefing.pipeline.made import Made, render
from briefing.pipeline.tables import load_tables
from tests.mornings import MORNINGS

pytestmark = [pytest.mark.long, pytest.mark.usefixtures("all_particles", "remembered")]

GOLDENS = Path(__file__).resolve().parents[2] / "fixtures" / "goldens"
NAMES = list(MORNINGS)


@pytest.fixture(scope="module")
def made(all_particles: None, remembered: None) -> dict[str, Made]:
    out = {}
    for name in NAMES:
        inputs = MORNINGS[name]()
        out[name] = render(build(inputs, load_tables()), inputs.gathered)
    return out


def compare(path: Path, text: str) -> None:
    if os.environ.get("BRIEFING_RENEW_GOLDENS"):
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
        return
    assert path.is_file(), f"no golden file {path.name}; make it with: make goldens"
    old = path.read_text(encoding="utf-8")
    if old != text:
        lines = list(difflib.unified_diff(old.splitlines(), text.splitlines(), "golden", "now", lineterm="", n=1))
        pytest.fail(f"{path.name} changed (renew with: make goldens)\n" + "\n".join(lines[:60]))


@pytest.mark.parametrize("name", NAMES)
def test_the_text_is_the_golden_one(made: dict[str, Made], name: str) -> None:
    compare(GOLDENS / f"{name.replace(' ', '_')}.txt", made[name].text)


@pytest.mark.parametrize("name", ["demo"])
def test_the_page_is_the_golden_one(made: dict[str, Made], name: str) -> None:
    compare(GOLDENS / f"{name}.html", made[name].html)


@pytest.mark.parametrize("name", NAMES)
def test_the_text_keeps_to_72_columns(made: dict[str, Made], name: str) -> None:
    assert [line for line in made[name].text.splitlines() if len(line) > 72] == []


def test_the_same_inputs_give_the_same_bytes(made: dict[str, Made]) -> None:
    inputs = demo_inputs()
    again = render(build(inputs, load_tables()), inputs.gathered)
    assert (again.text, again.html, again.json) == (made["demo"].text, made["demo"].html, made["demo"].json)
