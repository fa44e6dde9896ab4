"""Rounds that ask the services: several lakes together, one bad answer, a clock that the services contradict."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from briefing.app.data import sent_out
from briefing.app.status import read_status, status_lines
from briefing.core.gathered import Problem
from briefing.core.gathered_json import from_json, to_json
from briefing.service.tick import run_round
from briefing.tools.compose import Weather, compose
from briefing.tools.loopback_services import LoopbackServices
from tests.service.conftest import Desk

MORE = '\n[stations]\nusgs_sites = ["{site}"]\n'


def three_lakes(desk: Desk) -> None:
    for number, place in enumerate(("30.75", "31.20")):
        path = desk.add_lake(f"lake-{number}", f"Lake {number}", MORE.format(site=f"0200000{number}"))
        path.write_text(path.read_text(encoding="utf-8").replace("30.61", place), encoding="utf-8")
    (desk.home.config_dir / "settings.toml").write_text(
        'schema_version = 1\ncontact = "tests@example.org"\n', encoding="utf-8"
    )


def morning(desk: Desk, services: LoopbackServices) -> None:
    run_round(desk.world)
    desk.world.offline = False
    desk.environment.update(services.environment())
    desk.at = services.now
    assert run_round(desk.world).made == 3


def wind_of(desk: Desk) -> dict[str, float]:
    with desk.world.store() as store:
        found = {lake: store.last_gathered(lake) for lake in ("quillmere", "lake-0", "lake-1")}
    return {
        lake: float(from_json(one.text).raw["open_meteo"].values("air_c")[0])
        for lake, one in found.items()
        if one is not None
    }


def due(desk: Desk) -> LoopbackServices:
    desk.set_clock("2026-04-18 04:46")
    services = LoopbackServices(desk.at)
    desk.set_clock("2026-04-17 20:00")
    return services


def test_lakes_due_in_one_round_are_asked_for_together_and_each_is_made(desk: Desk) -> None:
    three_lakes(desk)
    with due(desk) as services:
        morning(desk, services)
    assert services.asked["open_meteo"] == services.asked["open_meteo_archive"] == 1
    assert services.places["open_meteo"] == 3
    assert services.asked["usgs"] == 4, (
        "newest and daily values together; where each of two gauges stands, once a month"
    )
    assert len(wind_of(desk)) == 3
    (told,) = [line for line in desk.events() if line["event"] == "asked_together"]
    assert (told["lakes"], told["requests"]) == (3, 4)
    assert "failed" not in told or told["failed"] is None


def test_a_bad_item_costs_its_lake_one_request_and_no_lake_its_morning(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    three_lakes(desk)
    real = LoopbackServices._models

    def broken(self: LoopbackServices, query: Any) -> Any:
        found = real(self, query)
        if isinstance(found, list):
            found[1] = {"error": True, "reason": "no data"}
        return found

    monkeypatch.setattr(LoopbackServices, "_models", broken)
    with due(desk) as services:
        morning(desk, services)
    assert services.asked["open_meteo"] == 2
    assert len(wind_of(desk)) == 3


def test_a_fault_of_the_asking_itself_silences_no_lake(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    three_lakes(desk)

    def fails(*_: object) -> None:
        raise KeyError("ours")

    monkeypatch.setattr("briefing.service.ahead.ask_together", fails)
    with due(desk) as services:
        morning(desk, services)
    assert services.asked["open_meteo"] == 3
    assert "KeyError" in str([line for line in desk.events() if line["event"] == "not_asked_together"])


def test_status_says_that_the_clock_is_wrong_until_a_later_look_finds_it_right(desk: Desk) -> None:
    run_round(desk.world)
    lake = desk.world.lakes(desk.world.service_settings())[0]
    day = desk.at.date()
    right = compose(lake.profile, desk.world.normals(lake.profile), day, desk.at, Weather(seed=1), "composed")
    said = "This computer's clock is 14 min ahead of the clocks of 3 services."
    wrong = replace(right, problems=(*right.problems, Problem("clock", said, "Set it.", serious=True)))
    for gathered, code in ((wrong, 2), (right, 0)):
        desk.later(minutes=5)
        with desk.world.store() as store:
            store.save_gathered("quillmere", desk.at, to_json(gathered))
        status = read_status(desk.world)
        assert (said in "\n".join(status_lines(status))) is (code == 2)
        assert (status.code == 2) is (code == 2)


def test_a_service_that_the_user_forbids_is_not_asked_by_the_rounds(desk: Desk) -> None:
    """The free service is for non-commercial use only: the setting holds wherever services are asked."""
    three_lakes(desk)
    settings = desk.home.config_dir / "settings.toml"
    settings.write_text(settings.read_text(encoding="utf-8") + "open_meteo = false\n", encoding="utf-8")
    with due(desk) as services:
        morning(desk, services)
    assert services.asked["nws"]
    assert not services.asked["open_meteo"] + services.asked["open_meteo_archive"]
    assert not any("Open-Meteo" in row.service for row in sent_out(desk.world))
