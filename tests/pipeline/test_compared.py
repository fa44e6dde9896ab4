"""The last morning, from the store to the page: its record, else the page of an older version, or why neither."""

import json
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from briefing.core.record import MorningRecord, Uncompared
from briefing.pipeline.build import Built, build
from briefing.pipeline.inputs import MorningInputs
from briefing.pipeline.keep import keep, read_kept
from briefing.pipeline.made import render
from briefing.pipeline.tables import load_tables
from briefing.store import Store, open_store
from tests.scenarios import SCENARIOS, inputs_of

TABLES = load_tables()


@pytest.fixture(scope="module")
def morning() -> MorningInputs:
    return inputs_of(SCENARIOS["north_summer_calm"])


@pytest.fixture(scope="module")
def built(morning: MorningInputs) -> Built:
    return build(morning, TABLES)


@pytest.fixture(scope="module")
def page(morning: MorningInputs, built: Built) -> str:
    return render(built, morning.gathered).json


@pytest.fixture
def store(tmp_path: Path, morning: MorningInputs) -> Store:
    return open_store(tmp_path / "briefing.sqlite", morning.now)


def earlier(store: Store, morning: MorningInputs) -> MorningRecord | Uncompared | None:
    later = morning.now + timedelta(hours=1)
    return read_kept(store, morning.profile.id, morning.profile.species, morning.day, later)[0].earlier


def stored(store: Store, morning: MorningInputs, built: Built, text: str) -> None:
    keep(store, morning.profile.id, built, morning.gathered.memory, text, morning.now)


def test_a_stored_morning_comes_back_as_its_facts(
    store: Store, morning: MorningInputs, built: Built, page: str
) -> None:
    stored(store, morning, built, page)
    assert earlier(store, morning) == built.record


def test_a_key_of_the_page_that_moves_does_not_silence_the_comparison(
    store: Store, morning: MorningInputs, built: Built, page: str
) -> None:
    """Every part of the stored page has a new name, as after a change of the page's form."""
    stored(store, morning, built, json.dumps({f"{key}_": value for key, value in json.loads(page).items()}))
    found = earlier(store, morning)
    assert isinstance(found, MorningRecord)
    before = replace(found, gust=replace(found.gust, gust_mps=found.gust.gust_mps + 6.0) if found.gust else None)
    now = replace(
        morning,
        now=morning.now + timedelta(hours=1),
        kept=replace(morning.kept, earlier=replace(before, official=("Wind Advisory",))),
    )
    changes = build(now, TABLES).briefing.changes
    assert changes.compared_with == found.made_at
    assert any(line.startswith("Strongest gust: ") for line in changes.lines)
    assert "Wind Advisory: not listed any more. That alone is no all-clear." in changes.lines


def test_the_page_of_a_version_without_records_is_still_compared(
    store: Store, morning: MorningInputs, built: Built, page: str
) -> None:
    """No sentence of it is looked at: all its texts are gone."""
    store.save_briefing(morning.profile.id, morning.day, morning.now, json.dumps(_without_texts(json.loads(page))))
    found = earlier(store, morning)
    assert isinstance(found, MorningRecord)
    assert (found.day, found.made_at, found.level) == (built.record.day, built.record.made_at, built.record.level)
    assert (found.off_water_by, found.gust) == (built.record.off_water_by, built.record.gust)
    assert found.water is not None
    assert built.record.water is not None
    assert found.water.mean_c == pytest.approx(built.record.water.mean_c, abs=0.006)


def _without_texts(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: "" if key.endswith("text") else _without_texts(one) for key, one in value.items()}
    return [_without_texts(one) for one in value] if isinstance(value, list) else value


@pytest.mark.parametrize("lost", ["head", "day", "hours", "cautions", "water"])
def test_an_older_page_without_the_facts_says_why(store: Store, morning: MorningInputs, page: str, lost: str) -> None:
    body = json.loads(page)
    del body[lost]
    store.save_briefing(morning.profile.id, morning.day, morning.now, json.dumps(body))
    assert earlier(store, morning) is Uncompared.WITHOUT_FACTS


def test_a_gust_column_that_is_gone_is_not_taken_for_calm(store: Store, morning: MorningInputs, page: str) -> None:
    body = json.loads(page)
    for row in body["hours"]["rows"]:
        del row["gust_mps"]
    store.save_briefing(morning.profile.id, morning.day, morning.now, json.dumps(body))
    assert earlier(store, morning) is Uncompared.WITHOUT_FACTS


@pytest.mark.parametrize("record", ["{", '{"version": 1}', '{"version": 99}'])
def test_a_record_that_can_not_be_read_is_said_on_the_page(
    store: Store, morning: MorningInputs, page: str, record: str
) -> None:
    store.save_briefing(morning.profile.id, morning.day, morning.now, page, record)
    found = earlier(store, morning)
    assert isinstance(found, Uncompared)
    now = replace(morning, kept=replace(morning.kept, earlier=found))
    (line,) = build(now, TABLES).briefing.changes.lines
    assert line.startswith("Not compared with the last briefing for this day: ")


def test_a_damaged_page_is_unreadable(store: Store, morning: MorningInputs) -> None:
    store.save_briefing(morning.profile.id, morning.day, morning.now, "not json")
    assert earlier(store, morning) is Uncompared.UNREADABLE


def test_a_briefing_for_another_day_in_between_is_not_in_the_way(
    store: Store, morning: MorningInputs, built: Built, page: str
) -> None:
    stored(store, morning, built, page)
    store.save_briefing(
        morning.profile.id, morning.day + timedelta(days=1), morning.now + timedelta(minutes=5), "{}", "{}"
    )
    assert earlier(store, morning) == built.record


def test_without_a_morning_for_the_day_there_is_nothing_to_compare(store: Store, morning: MorningInputs) -> None:
    assert earlier(store, morning) is None
