"""Lines of weather as anglers type them: read whole or told, never misread, never guessed."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from briefing.core.typed.conditions import FACTS, SaidPart, read_conditions_line
from briefing.knowledge import load_condition_words

WORDS = load_condition_words()
SAID = [json.loads(line) for line in (Path(__file__).parent / "said.jsonl").read_text(encoding="utf-8").splitlines()]
MPH = 0.44704


def compact(part: SaidPart) -> dict[str, Any]:
    """A part in the units it was typed in: mph and F."""
    out: dict[str, Any] = {"from": part.from_h, "until": part.until_h}
    for name in FACTS:
        value = getattr(part, name)
        if value is None:
            continue
        if name == "wind_mps":
            out["wind_mph"] = [round(side / MPH, 1) for side in value]
        elif name == "gust_mps":
            out["gust_mph"] = round(value / MPH, 1)
        elif name == "air_c":
            out["air_f"] = [round(1.8 * side + 32.0) for side in value]
        elif name == "dew_c":
            out["dew_f"] = round(1.8 * value + 32.0)
        else:
            out[name] = value
    return out


@pytest.mark.parametrize("one", SAID, ids=[one["said"] for one in SAID])
def test_a_line_is_read_as_it_is_meant(one: dict[str, Any]) -> None:
    said = read_conditions_line(one["said"], WORDS, "us")
    assert [compact(part) for part in said.parts] == one["parts"]
    assert list(said.rest) == one.get("rest", [])
    assert list(said.open) == one.get("open", [])


def test_most_lines_are_understood_whole() -> None:
    assert len(SAID) >= 60
    assert sum("rest" not in one for one in SAID) >= 0.85 * len(SAID)


def test_what_is_not_said_stays_unsaid() -> None:
    (part,) = read_conditions_line("wind 10", WORDS, "us").parts
    assert [name for name in FACTS if getattr(part, name) is not None] == ["wind_mps"]
    assert read_conditions_line("nice out", WORDS, "us").parts == ()
    assert read_conditions_line("nice out", WORDS, "us").rest == ("nice out",)


def test_two_winds_without_hours_are_asked_and_the_stronger_counts() -> None:
    said = read_conditions_line("S 5; SW 15", WORDS, "us")
    assert said.parts[0].wind_mps is not None
    assert said.parts[0].wind_mps[1] == pytest.approx(15 * MPH)
    assert said.open == ("two winds without hours: the stronger counts",)


def test_a_metric_number_without_its_unit_is_asked() -> None:
    said = read_conditions_line("wind S 5-8; 12 to 19", WORDS, "metric")
    assert said.parts[0].wind_mps == (5.0, 8.0)
    assert any(one.startswith("the unit of the wind: taken as m/s") for one in said.open)
    assert not read_conditions_line("wind S 18 km/h", WORDS, "metric").open


def test_the_suns_own_times_are_taken_where_they_are_known() -> None:
    said = read_conditions_line("calm until sunrise", WORDS, "us", {"sunrise": 7.25})
    assert said.parts[0].until_h == 7.25
    assert said.open == ()


@pytest.mark.parametrize(
    "line", ["", ";;", "10", "7-10", "at noon", "%", "wind", "gusts", "storms? no idea", "-", "°F"]
)
def test_no_line_breaks_it(line: str) -> None:
    read_conditions_line(line, WORDS, "us")
