"""A slice of the attack on mornings, and that it notices careless programs, hangs and dead processes."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from briefing.core.alerts import AlertFeed
from briefing.core.wind import thunder
from briefing.sources import metar, nws, nws_alerts, nws_observations, nws_text, open_meteo
from briefing.tools import attack_mornings
from briefing.tools.attack import every_kind, watch
from briefing.tools.attack.bases import MAKERS, base_of
from briefing.tools.attack.drive import _READ, drive
from briefing.tools.attack.judge import faults, says
from briefing.tools.attack.kinds import Attack, Kind, drawn
from briefing.tools.attack.run import Case, _parts, _sound, _sound_whole, run_case
from briefing.vocabulary import Level

CASES = 200  # a sixth of them here, all of them in CI, 20,000 in `make full-checks`
pytestmark = pytest.mark.long


def kind_of(identity: str) -> Kind:
    return next(one for one in every_kind() if one.id == identity)


@pytest.fixture
def forgetful() -> Any:
    """What sound mornings came to is forgotten before and after a test that changes the program."""

    def forget() -> None:
        _READ.clear()
        _sound.cache_clear()
        _sound_whole.cache_clear()

    forget()
    yield
    forget()


@pytest.mark.seeds(4, 25)
def test_a_slice_of_cases(seed: int) -> None:
    found = [run_case(number) for number in range(seed, CASES, 25)]
    assert [(one.number, one.kind, one.base, one.said, one.faults, one.trace) for one in found if one.failed] == []


@pytest.mark.parametrize("name", sorted(set(MAKERS) - {"far_north"}))
def test_one_input_carries_the_hazard_of_each_sound_morning(name: str) -> None:
    base = base_of(name, 1)
    outcome = drive(base, base.bodies, parts=_parts(base))
    stopped = {factor for levels in outcome.factors.values() for factor, level in levels.items() if level is Level.STOP}
    assert base.holder in stopped
    # A gust is never below its wind, and a strong wind alone takes the headway.
    assert stopped <= {base.holder, "headway", "waves"} | (
        {"gust"} if name in ("buoy", "cold_water", "no_gauge", "wind_text") else set()
    )


def test_a_case_repeats_and_its_bodies_are_its_own() -> None:
    for one in every_kind()[::7]:
        first, second = drawn(one, 3), drawn(one, 3)
        assert first[0] is second[0]
        assert first[1].said == second[1].said
    base, attack = drawn(kind_of("grid_layer_gone"), 1)
    assert base.part not in attack.bodies[base.route].data["properties"]
    assert base.part in base.bodies[base.route].data["properties"]


def test_every_known_fault_of_a_body_has_its_kinds() -> None:
    assert {one.fault for one in every_kind()} == set(range(13))
    assert all(one.about and one.bases for one in every_kind())
    assert all(name in MAKERS for one in every_kind() for name in one.bases)


# -- careless programs ------------------------------------------------------------------------------------------------


def damaged_as_missing(parse: Callable[..., Any]) -> Callable[..., Any]:
    """What could not be read is taken for not sent, and calm: zeros in all fields of the wind."""

    def careless(*arguments: Any, **named: Any) -> Any:
        read = parse(*arguments, **named)
        if read.series is None:
            return read
        fields = dict(read.series.fields)
        for name in ("wind_mps", "gust_mps", "thunder_pct", "weather_code", "cape_jkg"):
            if name in fields:
                value = fields[name]
                values = value.values.copy()
                values[value.damaged] = 0.0
                index = value.origin_index.copy()
                index[value.damaged] = 0
                origins = value.origins or fields["air_c"].origins
                fields[name] = replace(
                    value, values=values, damaged=value.damaged & False, origin_index=index, origins=origins
                )
        return replace(read, series=replace(read.series, fields=fields))

    return careless


def skips_what_it_cannot_read(parse: Callable[..., AlertFeed]) -> Callable[..., AlertFeed]:
    def careless(*arguments: Any) -> AlertFeed:
        feed = parse(*arguments)
        return replace(feed, damaged=0, problem="", checked_at=feed.checked_at or datetime.now(UTC))

    return careless


def says_nothing(parse: Callable[..., Any]) -> Callable[..., Any]:
    """A reading that can't be used is passed over in silence, and any other one is light."""

    def careless(*arguments: Any, **named: Any) -> Any:
        read = parse(*arguments, **named)
        light = tuple(replace(one, wind_mps=1.0, gust_mps=1.0) for one in read.readings)
        return replace(read, readings=light if read.problems else read.readings, problems=())

    return careless


def raises(parse: Callable[..., Any]) -> Callable[..., Any]:
    def careless(*arguments: Any, **named: Any) -> Any:
        read = parse(*arguments, **named)
        json.dumps(read.problems)
        return read if not read.problems else {}[read.problems[0]]

    return careless


@pytest.fixture
def read_anew() -> Any:
    """What was read of a body is forgotten after a test that changes a parser; sound mornings, read before, stay."""
    _READ.clear()
    yield
    _READ.clear()


@pytest.mark.usefixtures("read_anew")
@pytest.mark.parametrize(
    ("module", "name", "careless", "kinds", "numbers"),
    [
        (nws, "parse_grid", damaged_as_missing, ("grid_rough_spoiled", "grid_layer_null"), 5),
        (open_meteo, "parse_hours", damaged_as_missing, ("model_rough_spoiled", "model_unit_unknown"), 2),
        (nws_text, "parse_hourly", damaged_as_missing, ("text_wind_spoiled", "text_wind_forms"), 2),
        (nws_alerts, "parse_alerts", skips_what_it_cannot_read, ("alert_list_reshaped", "fault01_malformed"), 2),
        (nws_observations, "parse_observations", says_nothing, ("station_field_spoiled", "station_raw_only"), 2),
        (metar, "parse_reports", says_nothing, ("airport_field_spoiled",), 2),
    ],
)
def test_careless_programs_are_noticed(
    module: Any,
    name: str,
    careless: Callable[[Any], Any],
    kinds: tuple[str, ...],
    numbers: int,
    whole: bool,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    chosen = [(number, kind_of(one)) for one in kinds for number in range(5 if whole else numbers)]
    before = {(number, one.id) for number, one in chosen if run_case(number, one).failed}
    _READ.clear()
    monkeypatch.setattr(module, name, careless(getattr(module, name)))
    after = {(number, one.id) for number, one in chosen if run_case(number, one).failed}
    assert after - before


@pytest.mark.usefixtures("forgetful")
def test_a_traceback_is_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    def falls(*_: object) -> None:
        raise RuntimeError("composed")

    base_of("thunder_pct", 0)
    monkeypatch.setattr(thunder, "_held_up", falls)
    case = run_case(1, kind_of("grid_layer_gone"))
    assert "RuntimeError: composed" in case.trace
    assert case.failed


# -- judging ----------------------------------------------------------------------------------------------------------


def test_a_line_counts_only_when_it_is_new_and_of_the_thing_lost() -> None:
    known = "Gusts: not known in 3 of 8 hours of the table."
    assert says((), (known,), {"gust"})
    assert not says((known,), (known,), {"gust"})
    assert not says((), ("Water temperature: never measured here, not known.",), {"thunder"})
    assert not says((), ("Start at Old dock row, out of the wind.",), {"sustained_wind"})
    assert not says((), (), {"gust"})


def test_lower_levels_longer_hours_and_false_lists_are_faults() -> None:
    base = base_of("gust_grid", 2)
    sound = drive(base, base.bodies, parts=_parts(base))
    calm = replace(
        sound,
        levels=dict.fromkeys(sound.levels, Level.WITHIN_LIMITS),
        factors={hour: dict.fromkeys(found, Level.WITHIN_LIMITS) for hour, found in sound.factors.items()},
    )
    attack = Attack(base.bodies)
    assert faults(attack, sound, sound) == []
    assert "calmer and unsaid" in faults(attack, sound, calm)[0]
    said = replace(calm, top=(*calm.top, "Gusts: estimated from the wind."))
    assert faults(attack, sound, said) == []
    assert "although all was sent" in faults(Attack(base.bodies, strict=True), sound, said)[0]
    beside = replace(calm, official=("Wind Advisory: not in our list, warning.",))
    assert faults(attack, sound, beside), "a line beside a warning does not make up for hours within"
    assert "longer out" in faults(attack, sound, replace(sound, minutes=sound.minutes + 60))[0]
    unknown = Attack(base.bodies, unknown=frozenset({"thunder"}))
    assert len(faults(unknown, sound, replace(sound, thunder_shown=True))) == 2
    assert "'?'" in faults(attack, sound, replace(sound, thunder_shown=False))[0]


# -- the command ------------------------------------------------------------------------------------------------------


def test_the_command_counts_and_exits(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    assert attack_mornings.main(["--cases", "3", "--workers", "0", "--only", "grid_order,text_order"]) == 0
    assert "0 tracebacks or hangs, 0 calmer and unsaid" in capsys.readouterr().out
    bad = Case(5, "fault05_zero_gust_grid", "gust_grid.1", "0", ("calmer",))
    monkeypatch.setattr(attack_mornings, "_cases", lambda *_: [bad, replace(bad, faults=(), trace="KeyError: x")])
    assert attack_mornings.main([]) == 1
    assert "known faults that show: 5" in capsys.readouterr().out
    assert attack_mornings.main(["--json"]) == 1
    assert json.loads(capsys.readouterr().out)["kinds"][bad.kind]["tracebacks"] == 1


def test_kinds_and_what_nobody_could_notice_are_printed(capsys: pytest.CaptureFixture[str]) -> None:
    assert attack_mornings.main(["--kinds"]) == 0
    said = capsys.readouterr().out
    assert "fault10_future_remembered" in said
    assert "layer_shifted" in said


def test_bodies_of_a_case_are_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert attack_mornings.main(["--bodies", str(tmp_path), "--only", "fault10_future_remembered"]) == 0
    assert "fault10_future_remembered" in capsys.readouterr().out
    assert list(tmp_path.glob("before_*/*.changed.body"))


def test_sound_mornings_are_written_the_same_each_time(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("BRIEFING_REFERENCE_DATA", raising=False)
    for name in ("one", "two"):
        assert attack_mornings.main(["--false-alarms", str(tmp_path / name), "--mornings", "1"]) == 0
    first = (tmp_path / "one").read_text()
    assert first == (tmp_path / "two").read_text()
    assert "c000 off" in first


def script(numbers: range, body: str) -> list[str]:
    """A process that stands in for the watched one; a line of a case is ready as ``line(n)``."""
    lead = (
        "import json, os, sys, time\n"
        f"numbers = range({numbers.start}, {numbers.stop})\n"
        "def line(n): print(json.dumps(dict(number=n, kind='k', base='b', said='', faults=[], trace='', seconds=0.0)),"
        " flush=True)\n"
    )
    return [sys.executable, "-c", lead + body]


def test_a_case_that_hangs_is_found_and_the_rest_is_run() -> None:
    body = "for n in numbers:\n    if n == 12: time.sleep(600)\n    line(n)\n"
    found = list(watch.watched(range(10, 16), 1, lambda numbers: script(numbers, body), patience_s=5.0))
    assert sorted(one.number for one in found) == list(range(10, 16))
    assert [one.number for one in found if one.failed] == [12]
    assert "hangs" in next(one.trace for one in found if one.failed)


def test_a_process_that_dies_is_found_and_the_rest_is_run() -> None:
    body = "for n in numbers:\n    if n == 3: sys.stderr.write('out of memory'); os._exit(9)\n    line(n)\n"
    found = list(watch.watched(range(0, 6), 2, lambda numbers: script(numbers, body)))
    assert sorted(one.number for one in found) == list(range(6))
    assert [(one.number, "out of memory" in one.trace) for one in found if one.failed] == [(3, True)]


def test_watched_cases_are_the_same_as_those_run_here() -> None:
    found = {one.number: one for one in watch.watched(range(4, 6), 1)}
    for number, one in found.items():
        assert replace(one, seconds=0.0) == replace(run_case(number), seconds=0.0)
