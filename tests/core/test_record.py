"""The facts of a morning as stored, and what counts as changed between two."""

import json
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from briefing.core.record import MorningRecord, Moved, PeakGust, SurfaceWater, Uncompared, moved, read_record
from briefing.vocabulary import Level

NOW = datetime(2026, 4, 18, 9, 10, tzinfo=UTC)
RECORD = MorningRecord(
    day=date(2026, 4, 18),
    made_at=NOW,
    level=Level.CAUTION,
    off_water_by=NOW + timedelta(hours=5),
    official=("Lake Wind Advisory",),
    gust=PeakGust(9.8, NOW + timedelta(hours=4), estimated=False),
    water=SurfaceWater(16.1, 15.0, 17.2),
)
BARE = replace(RECORD, off_water_by=None, official=(), gust=None, water=None)


@pytest.mark.parametrize("record", [RECORD, BARE])
def test_a_record_comes_back_from_json_as_it_was(record: MorningRecord) -> None:
    assert read_record(json.dumps(record.to_mapping())) == record


@pytest.mark.parametrize("version", [0, 2, "1", None])
def test_another_version_is_named_as_such(version: object) -> None:
    assert read_record(json.dumps(RECORD.to_mapping() | {"version": version})) is Uncompared.OTHER_VERSION


@pytest.mark.parametrize("text", ["", "{", "[]", "7", "{}", "[" * 100_000])
def test_what_is_no_record_is_unreadable(text: str) -> None:
    assert read_record(text) is Uncompared.UNREADABLE


@pytest.mark.parametrize(
    "wrong",
    [
        {"level": "fair"},
        {"made_at": "2026-04-18T09:10:00"},
        {"off_water_by": "noon"},
        {"official": "Lake Wind Advisory"},
        {"official": [None]},
        {"gust": {"gust_mps": "9.8", "at": NOW.isoformat(), "estimated": False}},
        {"gust": {"gust_mps": float("nan"), "at": NOW.isoformat(), "estimated": False}},
        {"gust": {"gust_mps": 9.8, "at": NOW.isoformat(), "estimated": 0}},
        {"gust": {"gust_mps": 9.8}},
        {"water": {"mean_c": 16.1}},
        {"water": 16.1},
    ],
)
def test_a_damaged_value_makes_it_unreadable_and_is_never_taken_for_none(wrong: dict[str, Any]) -> None:
    assert read_record(json.dumps(RECORD.to_mapping() | wrong)) is Uncompared.UNREADABLE


@pytest.mark.parametrize("key", sorted(set(RECORD.to_mapping()) - {"version"}))
def test_a_lost_key_makes_it_unreadable(key: str) -> None:
    data = RECORD.to_mapping()
    del data[key]
    assert read_record(json.dumps(data)) is Uncompared.UNREADABLE


@pytest.mark.parametrize(
    ("new", "told"),
    [
        (RECORD, ()),
        (replace(RECORD, made_at=NOW + timedelta(hours=2)), ()),
        (replace(RECORD, level=Level.STOP), (Moved.LEVEL,)),
        (replace(RECORD, off_water_by=NOW + timedelta(hours=5, minutes=14)), ()),
        (replace(RECORD, off_water_by=NOW + timedelta(hours=4, minutes=45)), (Moved.OFF_WATER_BY,)),
        (replace(RECORD, off_water_by=None), (Moved.OFF_WATER_BY,)),
        (replace(RECORD, official=()), (Moved.OFFICIAL,)),
        (replace(RECORD, official=("Lake Wind Advisory", "Lake Wind Advisory")), ()),
        (replace(RECORD, gust=PeakGust(11.9, NOW, estimated=False)), ()),
        (replace(RECORD, gust=PeakGust(12.1, NOW, estimated=False)), (Moved.GUST,)),
        (replace(RECORD, gust=None), (Moved.GUST,)),
        (replace(RECORD, water=SurfaceWater(16.9, 16.0, 17.9)), ()),
        (replace(RECORD, water=SurfaceWater(17.2, 16.0, 18.2)), (Moved.WATER,)),
        (replace(RECORD, water=None), (Moved.WATER,)),
        (BARE, (Moved.OFF_WATER_BY, Moved.OFFICIAL, Moved.GUST, Moved.WATER)),
    ],
)
def test_what_counts_as_changed(new: MorningRecord, told: tuple[Moved, ...]) -> None:
    assert moved(RECORD, new) == told


def test_what_neither_morning_knew_has_not_changed() -> None:
    assert moved(BARE, BARE) == ()
