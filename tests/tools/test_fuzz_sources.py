"""A slice of the fuzzing of body parsers, and that it would notice careless parsers."""

from __future__ import annotations

import json
import random
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from briefing.core.alerts import AlertFeed
from briefing.core.hours import HourSeries
from briefing.sources.intervals import Piece, spread
from briefing.tools import fuzz_sources
from briefing.tools.fuzz_sources import TARGETS, main, mutate, run_seed

BODIES = Path(__file__).parents[2] / "fixtures" / "sources"


@pytest.mark.parametrize("start", range(0, 800, 100))
def test_a_slice_of_seeds(start: int) -> None:
    assert [line for seed in range(start, start + 100) if (line := run_seed(seed, BODIES))] == []


@pytest.mark.parametrize("seed", [5570, 24585, 26725, 49574, 77800, 85345, 91171, 128929])
def test_seeds_that_once_failed(seed: int) -> None:
    """A damaged heading of a buoy and an empty object passed for "no gust", a shifted column for a sound one."""
    assert run_seed(seed, BODIES) == ""


def test_the_command_reports_and_exits(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--seeds", "20", "--bodies", str(BODIES)]) == 0
    assert "20 seeds from 0: 0 failed" in capsys.readouterr().out


def test_a_seed_repeats_and_sound_bodies_pass() -> None:
    body = (BODIES / "nws_grid.json").read_bytes()
    assert mutate(body, random.Random(5), True) == mutate(body, random.Random(5), True)
    for target in TARGETS:
        sound = (BODIES / target.file).read_bytes()
        target.check(target.parse(sound), target.parse(sound), fuzz_sources.Mutant(sound))


def test_every_sound_body_holds_what_the_checks_look_at() -> None:
    found = {target.file: target.parse((BODIES / target.file).read_bytes()) for target in TARGETS}
    for name in ("wind_mps", "gust_mps", "thunder_pct", "lightning_level", "thunder_words_pct"):
        assert np.isfinite(found["nws_grid.json"].values(name)).any()
        assert not found["nws_grid.json"][name].damaged.any()
    assert np.isfinite(found["nws_hourly.json"].values("gust_mps")).all()
    assert (found["open_meteo.json"].values("weather_code") == 95).all()
    assert found["nws_alerts.json"].readable
    assert len(found["nws_alerts.json"].alerts) == 2
    assert [
        found[name].readings[0].gust_mps is not None for name in ("metar.json", "ndbc.txt", "nws_observation.json")
    ] == [True] * 3
    assert len(found["usgs_daily.json"].water) == 4
    assert found["usgs_legacy.json"].level


def zero_for_missing(body: bytes) -> HourSeries | None:
    series = fuzz_sources._grid(body)
    if series is None:
        return None
    fields = {
        name: replace(value, values=np.nan_to_num(value.values), damaged=np.zeros_like(value.damaged))
        for name, value in series.fields.items()
    }
    return replace(series, fields=fields)


def damage_as_absence(body: bytes) -> HourSeries | None:
    series = fuzz_sources._grid(body)
    if series is None:
        return None
    fields = {name: replace(value, damaged=np.zeros_like(value.damaged)) for name, value in series.fields.items()}
    return replace(series, fields=fields)


def skips_what_it_cannot_read(body: bytes) -> AlertFeed:
    feed = TARGETS[3].parse(body)
    return replace(feed, damaged=0)


def assumes_its_shape(body: bytes) -> Any:
    return json.loads(body)["properties"]["windSpeed"]["values"][0]["value"] and None


@pytest.mark.parametrize(
    ("number", "careless"),
    [(0, zero_for_missing), (0, damage_as_absence), (3, skips_what_it_cannot_read), (0, assumes_its_shape)],
)
def test_careless_parsers_are_noticed(
    number: int, careless: Callable[[bytes], Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    target = TARGETS[number]
    body = (BODIES / target.file).read_bytes()
    sound, noticed = target.parse(body), 0
    for seed in range(300):
        mutant = mutate(body, random.Random(seed), True)
        try:
            target.check(sound, careless(mutant.body), mutant)
        except Exception:  # any failure is a notice
            noticed += 1
    assert noticed > 0


def test_a_damaged_piece_hides_no_other_of_its_hour() -> None:
    """An hour shared by a sound and a damaged piece has no value to show."""
    start = fuzz_sources.NOW
    hour = fuzz_sources.timedelta(hours=1)
    values, damaged = spread(
        [Piece(start, start + hour / 2, 9.0), Piece(start + hour / 2, start + hour, np.nan, True)], start, 1, "max"
    )
    assert np.isnan(values[0])
    assert damaged[0]
