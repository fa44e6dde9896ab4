"""Readings as anglers say them: none misread, nearly all understood whole, the rest asked back in a sentence."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from briefing.app.assembly import App
from briefing.app.entries import Extras, TypedReading, reading_of
from briefing.app.lakes import add_lake
from briefing.errors import BriefingError
from briefing.profile.paths import Home
from briefing.store import NewReading

NOW = datetime(2026, 4, 18, 16, 40, tzinfo=UTC)  # 12:40 at the lake
RISING, FALLING, STEADY = {"trend": 1}, {"trend": -1}, {"trend": 0}
GROWING = {"state": "growing"}
#: What is said, the kind, the values in SI, and when it was seen in UTC where that was said.
SAID: list[tuple[str, str, dict[str, Any], str]] = [
    ("61F", "water_temp", {"temperature_c": 16.11}, ""),
    ("water 61", "water_temp", {"temperature_c": 16.11}, ""),
    ("water 61F at 7:40", "water_temp", {"temperature_c": 16.11}, "18 11:40"),
    ("water temp 61.5", "water_temp", {"temperature_c": 16.39}, ""),
    ("surface 62 this morning", "water_temp", {"temperature_c": 16.67}, ""),
    ("16 C", "water_temp", {"temperature_c": 16.0}, ""),
    ("61F yesterday 6pm", "water_temp", {"temperature_c": 16.11}, "17 22:00"),
    ("water 61F 6:40 am", "water_temp", {"temperature_c": 16.11}, "18 10:40"),
    ("the water is 58 degrees", "water_temp", {"temperature_c": 14.44}, ""),
    ("clarity 3 ft", "visibility", {"visibility_m": 0.914}, ""),
    ("visibility 3ft", "visibility", {"visibility_m": 0.914}, ""),
    ("vis 18 inches", "visibility", {"visibility_m": 0.457}, ""),
    ("I can see down 2 feet", "visibility", {"visibility_m": 0.61}, ""),
    ("clear to 6 ft", "visibility", {"visibility_m": 1.829}, ""),
    ("can see my lure at 3 ft", "visibility", {"visibility_m": 0.914}, ""),
    ("stained", "visibility", {"visibility_m": 1.0}, ""),
    ("colour stained", "visibility", {"visibility_m": 1.0}, ""),
    ("muddy", "colour", {"colour": "muddy"}, ""),
    ("water is tannic", "colour", {"colour": "tannic"}, ""),
    ("green water", "colour", {"colour": "green"}, ""),
    ("gin clear", "colour", {"colour": "clear"}, ""),
    ("level up 4 inches", "level", RISING, ""),
    ("level +4in", "level", RISING, ""),
    ("rising", "level", RISING, ""),
    ("water is falling", "level", FALLING, ""),
    ("lake is down a foot", "level", FALLING, ""),
    ("pool steady", "level", STEADY, ""),
    ("up 2 ft since friday", "level", RISING, ""),
    ("wind calm", "wind", {"wind_mps": 0.0}, ""),
    ("no wind", "wind", {"wind_mps": 0.0}, ""),
    ("wind 12", "wind", {"wind_mps": 5.364}, ""),
    ("wind SW 12 gusting 18", "wind", {"wind_mps": 5.364, "gust_mps": 8.047, "wind_from_deg": 225.0}, ""),
    ("wind 10-15 from the south", "wind", {"wind_mps": 6.706, "wind_from_deg": 180.0}, ""),
    ("blowing 20 out of the west", "wind", {"wind_mps": 8.941, "wind_from_deg": 270.0}, ""),
    ("thunder", "thunder", {}, ""),
    ("heard thunder 10 min ago", "thunder", {}, "18 16:30"),
    ("lightning to the west", "thunder", {}, ""),
    ("no warnings", "alerts", {"events": []}, ""),
    ("alerts none", "alerts", {"events": []}, ""),
    ("Lake Wind Advisory until 6pm", "alerts", {"events": ["Lake Wind Advisory"]}, ""),
    ("small craft advisory", "alerts", {"events": ["small craft advisory"]}, ""),
    ("hydrilla 2 ft down dense", "plants", {**GROWING, "density": "dense", "top_m": 0.61}, ""),
    ("grass topped out", "plants", {**GROWING, "density": "topped"}, ""),
    ("plants sprayed", "plants", {"state": "sprayed"}, ""),
    ("weeds at 3 ft", "plants", {**GROWING, "top_m": 0.914}, ""),
    ("pads dying", "plants", {"state": "dying"}, ""),
]
#: What says too little, or something else: it is asked back.
ASKED = (
    ("61", "61F or 61C"),
    ("sixty one", "61F or 61C"),
    ("61 degrees", "61F or 61C"),
    ("gusts to 25", "how strong is the wind"),
    ("no thunder", ""),
    ("not muddy", ""),
    ("not rising", ""),
    ("banana", "is not a kind of reading"),
)


@pytest.fixture
def app(tmp_path: Path) -> App:
    made = App(home=Home.from_environment({"BRIEFING_HOME": str(tmp_path)}), clock=lambda: NOW)
    add_lake(made, {"name": "Quill Pond", "latitude": 30.31, "longitude": -83.22, "craft": "kayak"}, None, "")
    return made


def _read(app: App, said: str) -> NewReading:
    kind, *words = said.split()
    extras = Extras(None, None, None, None)
    return reading_of(
        app, app.lake(None), TypedReading(kind, tuple(words), None, None, False, False, False, extras, "")
    )


@pytest.mark.parametrize(("said", "kind", "values", "seen"), SAID)
def test_a_reading_is_taken_as_it_is_said(app: App, said: str, kind: str, values: dict[str, Any], seen: str) -> None:
    found = _read(app, said)
    assert found.kind.value == kind
    kept = {name: value for name, value in found.values.items() if name != "until"}
    assert kept == {
        name: pytest.approx(value, abs=0.01) if isinstance(value, float) else value for name, value in values.items()
    }
    if seen:
        assert f"{found.time:%d %H:%M}" == seen
    if "until" in said:
        assert found.values["until"] == "2026-04-18T22:00:00+00:00"


@pytest.mark.parametrize(("said", "asked"), ASKED)
def test_what_says_too_little_is_asked_back(app: App, said: str, asked: str) -> None:
    with pytest.raises(BriefingError) as told:
        _read(app, said)
    assert asked in str(told.value)


def test_enough_of_them() -> None:
    assert len(SAID) >= 40
