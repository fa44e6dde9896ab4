"""The store: entries with history, briefings, learned numbers, upgrades, and what a full disk or a lock does."""

import multiprocessing
import sqlite3
import threading
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import text
from sqlalchemy.exc import StatementError

from briefing.core.log.checks import Check
from briefing.core.log.records import Mark, MarkKind
from briefing.errors import InputError, NewerSchemaError, NotFoundError, StoreError
from briefing.store import NewReading, NewSign, ReadingKind, Store, StoredMorning, convert, open_anyway, open_store
from briefing.store.database import STEPS
from briefing.store.ledger import Ledger
from briefing.store.ledger_records import DueItem, NewMessage, NewOuting
from briefing.store.log import LogBook
from briefing.store.records import EntryState, SentNote
from briefing.vocabulary import SignKind, WaterColour, Zone
from tests.patience import HANG_S

NOW = datetime(2026, 4, 18, 14, 0, tzinfo=UTC)
TEMPERATURE = NewReading(ReadingKind.WATER_TEMP, NOW, {"temperature_c": 16.1}, typed="61F")


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "data" / "briefing.sqlite"


@pytest.fixture
def store(path: Path) -> Iterator[Store]:
    with open_store(path, NOW) as opened:
        yield opened


def test_a_reading_comes_back_as_it_was_given(store: Store) -> None:
    new = NewReading(
        ReadingKind.WIND,
        NOW,
        {"wind_mps": 5.4, "gust_mps": 8.0, "wind_from_deg": 225.0},
        zone=Zone.POCKET,
        spot="North pocket",
        note="büro “x”",
        typed="wind 12 mph",
    )
    stored = store.add_reading("a", new, NOW)
    assert store.list_readings("a") == [stored]
    assert stored.time == NOW
    assert stored.time.tzinfo is UTC
    assert (stored.values, stored.zone, stored.spot, stored.note) == (new.values, Zone.POCKET, new.spot, new.note)
    assert (stored.state, stored.entered_at, stored.typed) == (EntryState.CURRENT, NOW, "wind 12 mph")


def test_everything_survives_closing(path: Path) -> None:
    with open_store(path, NOW) as first:
        first.add_reading("a", TEMPERATURE, NOW)
    with open_store(path, NOW) as second:
        assert [reading.values["temperature_c"] for reading in second.list_readings("a")] == [16.1]


def test_lists_are_by_time_and_by_kind_and_by_lake(store: Store) -> None:
    for hours, lake in ((2, "a"), (5, "a"), (1, "b")):
        store.add_reading(lake, NewReading(ReadingKind.THUNDER, NOW - timedelta(hours=hours), {}), NOW)
    store.add_reading("a", TEMPERATURE, NOW)
    assert [reading.time for reading in store.list_readings("a", kinds=[ReadingKind.THUNDER])] == [
        NOW - timedelta(hours=5),
        NOW - timedelta(hours=2),
    ]
    assert len(store.list_readings("a", since=NOW - timedelta(hours=3))) == 2
    assert len(store.list_readings("a", until=NOW - timedelta(hours=1))) == 2
    assert len(store.list_readings()) == 4


def test_a_correction_keeps_the_old_entry_as_history(store: Store) -> None:
    old = store.add_reading("a", TEMPERATURE, NOW)
    later = NOW + timedelta(hours=1)
    new = store.correct_reading(old.id, NewReading(ReadingKind.WATER_TEMP, NOW, {"temperature_c": 17.2}), later)
    assert store.list_readings("a") == [new]
    assert new.replaces == old.id
    before = store.reading(old.id)
    assert (before.state, before.changed_at, before.values) == (EntryState.CORRECTED, later, {"temperature_c": 16.1})
    assert [entry.id for entry in store.list_readings("a", history=True)] == [old.id, new.id]


def test_a_withdrawn_reading_counts_no_more(store: Store) -> None:
    stored = store.add_reading("a", TEMPERATURE, NOW)
    assert store.withdraw_reading(stored.id, NOW).state is EntryState.WITHDRAWN
    assert store.list_readings("a") == []
    with pytest.raises(InputError, match="was withdrawn before"):
        store.withdraw_reading(stored.id, NOW)
    with pytest.raises(InputError, match="was withdrawn before"):
        store.correct_reading(stored.id, TEMPERATURE, NOW)


def test_a_correction_of_another_kind_changes_nothing(store: Store) -> None:
    stored = store.add_reading("a", TEMPERATURE, NOW)
    with pytest.raises(InputError, match="is of kind water_temp"):
        store.correct_reading(stored.id, NewReading(ReadingKind.THUNDER, NOW, {}), NOW)
    assert store.list_readings("a") == [stored]


def test_an_unknown_number_says_how_to_list(store: Store) -> None:
    with pytest.raises(NotFoundError, match="no reading 7; see them with: briefing reading list"):
        store.withdraw_reading(7, NOW)
    with pytest.raises(NotFoundError, match="no sign 7; see them with: briefing sign list"):
        store.sign(7)


def test_numbers_are_never_used_twice(store: Store) -> None:
    first = store.add_reading("a", TEMPERATURE, NOW)
    store.forget("a")
    assert store.add_reading("a", TEMPERATURE, NOW).id > first.id


def test_signs_have_the_same_life(store: Store) -> None:
    old = store.add_sign("a", NewSign(SignKind.BEDS_WITH_FISH, NOW, Zone.POCKET, hours_looked=2.0, count=5), NOW)
    new = store.correct_sign(old.id, NewSign(SignKind.BEDS_WITH_FISH, NOW, Zone.POCKET, count=6, secchi_m=1.5), NOW)
    assert store.list_signs("a") == [new]
    assert (new.count, new.secchi_m, new.replaces) == (6, 1.5, old.id)
    store.withdraw_sign(new.id, NOW)
    assert store.list_signs("a") == []
    assert [entry.state for entry in store.list_signs("a", history=True)] == [
        EntryState.CORRECTED,
        EntryState.WITHDRAWN,
    ]


def test_the_newest_briefing_and_its_inputs(store: Store) -> None:
    assert store.last_briefing("a") is None
    assert store.last_gathered("a") is None
    for hours in (0, 24):
        made = NOW + timedelta(hours=hours)
        store.save_briefing("a", made.date(), made, f'{{"hours": {hours}}}')
        store.save_gathered("a", made, f'{{"hours": {hours}}}')
    newest = store.last_briefing("a")
    assert newest is not None
    assert (newest.day, newest.text) == (date(2026, 4, 19), '{"hours": 24}')
    earlier = store.last_briefing("a", before=newest.made_at)
    assert earlier is not None
    assert earlier.text == '{"hours": 0}'
    gathered = store.last_gathered("a")
    assert gathered is not None
    assert gathered.text == '{"hours": 24}'
    assert store.last_briefing("b") is None


def test_the_newest_morning_for_a_day_by_its_record_or_its_page(store: Store) -> None:
    day, later = NOW.date(), NOW + timedelta(hours=3)
    assert store.last_morning("a", day, later) is None
    store.save_briefing("a", day, NOW, "page")
    assert store.last_morning("a", day, later) == StoredMorning(None, "page")
    store.save_briefing("a", day, NOW + timedelta(hours=1), "page", "record")
    store.save_briefing("a", day + timedelta(days=1), NOW + timedelta(hours=2), "other", "other")
    assert store.last_morning("a", day, later) == StoredMorning("record", None)
    assert store.last_morning("a", day, NOW + timedelta(hours=1)) == StoredMorning(None, "page")
    assert store.last_morning("b", day, later) is None


def test_a_damaged_page_costs_no_morning(store: Store, path: Path) -> None:
    store.save_briefing("a", NOW.date(), NOW, "page")
    with sqlite3.connect(path) as other:
        other.execute("UPDATE briefings SET body = X'1f8b0000'")
    other.close()
    assert store.last_morning("a", NOW.date(), NOW + timedelta(hours=1)) == StoredMorning(None, "")


def test_a_record_goes_with_its_briefing(store: Store) -> None:
    for hours in (0, 24, 48):
        made = NOW + timedelta(hours=hours)
        store.save_briefing("a", made.date(), made, "page", "record")
    Ledger(store).prune("a", gathered=NOW, briefings=NOW + timedelta(hours=30), ledger=NOW)
    assert len(store.export("a")["morning_records"]) == len(store.export("a")["briefings"]) == 1


def test_learned_numbers_are_kept_by_lake_and_name(store: Store) -> None:
    store.set_learned("a", "offset", {"mean": 0.4, "sd": 0.2}, NOW)
    store.set_learned("a", "offset", {"mean": 0.5, "sd": 0.1}, NOW)
    assert store.learned("a", "offset") == {"mean": 0.5, "sd": 0.1}
    assert store.learned("a", "other") is None
    assert store.learned("b", "offset") is None


def test_alerts_are_remembered_with_their_last_sighting(store: Store) -> None:
    store.remember_alerts("a", {"one": {"event": "x"}, "two": {"event": "y"}}, NOW)
    later = NOW + timedelta(hours=3)
    store.remember_alerts("a", {"two": {"event": "z"}}, later)
    assert store.alerts_seen("a", since=NOW) == {"one": {"event": "x"}, "two": {"event": "z"}}
    assert store.alerts_seen("a", since=later) == {"two": {"event": "z"}}


def test_notes_of_an_outing_in_order(store: Store) -> None:
    outing = date(2026, 4, 19)
    notes = [SentNote("a", outing, NOW + timedelta(hours=h), "first", {"gust": 12.0 + h}) for h in (0, 2)]
    for note in reversed(notes):
        store.save_note(note)
    assert store.notes("a", outing) == notes
    assert store.notes("a", date(2026, 4, 20)) == []


def test_forgetting_takes_one_lake_and_all_of_it(store: Store) -> None:
    for lake in ("a", "b"):
        entry = store.add_reading(lake, TEMPERATURE, NOW)
        store.withdraw_reading(entry.id, NOW)
        store.add_sign(lake, NewSign(SignKind.LOOKED_NONE, NOW), NOW)
        store.save_briefing(lake, NOW.date(), NOW, "{}", "{}")
        store.save_gathered(lake, NOW, "{}")
        store.set_learned(lake, "x", 1, NOW)
        store.remember_alerts(lake, {"1": {}}, NOW)
        store.save_note(SentNote(lake, NOW.date(), NOW, "first"))
        book = LogBook(store)
        book.add(lake, Mark(MarkKind.START, NOW), "", NOW)
        book.add_checks(lake, [Check("wind_mps", NOW, "at launch", 2.0, 3.0, 4.0, "user", "you")], NOW, NOW)
        ledger = Ledger(store)
        ledger.add_outing(lake, NewOuting(NOW.date(), NOW, NOW), NOW)
        ledger.claim(DueItem(f"{lake}|1", lake, NOW.date(), "morning", "", NOW, NOW), "me", lambda _: False, NOW)
        ledger.built(f"{lake}|1", "me", [NewMessage(f"{lake}1", "folder", "", "<1>", b"x", NOW)], {}, NOW)
    assert store.lakes() == ["a", "b"]
    assert set(store.forget("a").values()) == {1}
    assert store.lakes() == ["b"]
    assert all(not rows for rows in store.export("a").values())
    assert all(len(rows) == 1 for rows in store.export("b").values())


def test_what_was_forgotten_is_not_in_the_file_any_more(path: Path) -> None:
    with open_store(path, NOW) as store:
        new = NewReading(ReadingKind.THUNDER, NOW, {}, note="a secret place under the old bridge")
        store.add_reading("a", new, NOW)
        store.forget("a")
    with sqlite3.connect(path) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
    connection.close()
    assert b"secret place" not in path.read_bytes()


def test_an_export_holds_everything_as_text(store: Store) -> None:
    store.add_reading("a", TEMPERATURE, NOW)
    store.save_briefing("a", NOW.date(), NOW, '{"x": 1}')
    out = store.export()
    assert out["readings"][0]["time"] == "2026-04-18T14:00:00+00:00"
    assert out["readings"][0]["values"] == {"temperature_c": 16.1}
    assert out["briefings"][0]["body"] == '{"x": 1}'
    assert out["briefings"][0]["day"] == "2026-04-18"


def test_a_naive_time_is_refused_and_nothing_is_stored(store: Store) -> None:
    naive = datetime(2026, 4, 18, 14, 0)  # noqa: DTZ001
    with pytest.raises(StatementError, match="an instant needs a time zone"):
        store.add_reading("a", NewReading(ReadingKind.THUNDER, naive, {}), NOW)
    assert store.list_readings("a") == []


# --- schema ----------------------------------------------------------------------------------------------------------


def test_the_steps_are_recorded_with_their_time(path: Path) -> None:
    open_store(path, NOW).close()
    with sqlite3.connect(path) as connection:
        rows = connection.execute("SELECT step, name, applied_at FROM schema_steps ORDER BY step").fetchall()
    connection.close()
    assert [row[0] for row in rows] == [step.number for step in STEPS] == list(range(1, len(STEPS) + 1))
    assert all(row[2].startswith("2026-04-18 14:00:00") for row in rows)


def test_an_older_file_is_backed_up_and_upgraded_with_its_content(path: Path) -> None:
    with open_store(path, NOW, steps=STEPS[:1]) as old:
        old.add_reading("a", TEMPERATURE, NOW)
    later = NOW + timedelta(days=30)
    with open_store(path, later) as new:
        assert len(new.list_readings("a")) == 1
        new.remember_alerts("a", {"1": {}}, later)
    backup = path.with_name("briefing.sqlite.schema1-20260518T140000Z.bak")
    with open_store(backup, later, steps=STEPS[:1]) as kept:
        assert len(kept.list_readings("a")) == 1


def test_opening_again_makes_no_backup(path: Path) -> None:
    open_store(path, NOW).close()
    open_store(path, NOW).close()
    assert list(path.parent.glob("*.bak")) == []


def test_a_newer_file_is_refused_in_one_sentence_and_left_alone(path: Path) -> None:
    with open_store(path, NOW) as store, store._engine.begin() as connection:
        connection.execute(text("INSERT INTO schema_steps VALUES (99, 'from later', '2027-01-01 00:00:00')"))
    before = path.read_bytes()
    with pytest.raises(
        NewerSchemaError, match=rf"newer version .* \(schema 99, known {len(STEPS)}\); it is left alone"
    ):
        open_store(path, NOW)
    assert path.read_bytes() == before


def test_a_failing_upgrade_leaves_the_old_schema(path: Path) -> None:
    open_store(path, NOW, steps=STEPS[:1]).close()

    def broken(connection: object) -> None:
        connection.execute(text("CREATE TABLE half (x INTEGER)"))  # type: ignore[attr-defined]
        connection.execute(text("SELECT * FROM nowhere"))  # type: ignore[attr-defined]

    with pytest.raises(StoreError):
        open_store(path, NOW, steps=(STEPS[0], type(STEPS[0])(2, "broken", broken)))
    with sqlite3.connect(path) as connection:
        names = {row[0] for row in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
    connection.close()
    assert "half" not in names
    with open_store(path, NOW) as store:
        assert store.notes("a", NOW.date()) == []


# --- when the machine says no ----------------------------------------------------------------------------------------


def test_a_file_that_is_no_database_is_left_alone(path: Path) -> None:
    path.parent.mkdir()
    path.write_text("my notes about the lake, which are no database at all")
    with pytest.raises(StoreError, match="is not a store of this program; it is left alone"):
        open_store(path, NOW)
    assert path.read_text().startswith("my notes")


def test_a_damaged_database_is_named(path: Path) -> None:
    path.parent.mkdir()
    path.write_bytes(b"SQLite format 3\x00" + b"\xff" * 4096)
    with pytest.raises(StoreError, match="is damaged; it is left alone"):
        open_store(path, NOW)


def test_a_folder_that_cannot_be_made(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("a file, not a folder")
    with pytest.raises(StoreError, match="can't be made"):
        open_store(tmp_path / "taken" / "data" / "briefing.sqlite", NOW)


def test_a_locked_database_gives_one_sentence_and_stores_nothing(path: Path) -> None:
    open_store(path, NOW).close()
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    try:
        with open_store(path, NOW, busy_timeout_s=0.05) as store:
            with pytest.raises(
                StoreError, match="in use by another process and did not come free; nothing was written"
            ):
                store.add_reading("a", TEMPERATURE, NOW)
            assert store.list_readings("a") == []  # reading waits for no one
    finally:
        other.execute("ROLLBACK")
        other.close()


def test_a_full_disk_gives_one_sentence_and_keeps_what_was_there(path: Path) -> None:
    with open_store(path, NOW) as store:
        kept = store.add_reading("a", TEMPERATURE, NOW)
        with sqlite3.connect(path) as connection:
            pages = connection.execute("PRAGMA page_count").fetchone()[0]
        connection.close()
        _limit_pages(store, pages)
        big = NewReading(ReadingKind.THUNDER, NOW, {}, note="x" * 200_000)
        with pytest.raises(StoreError, match=r"The disk with .* is full; nothing was written"):
            store.add_reading("a", big, NOW)
        assert store.list_readings("a") == [kept]


def _limit_pages(store: Store, pages: int) -> None:
    """Let SQLite itself report a full disk: no page more than there are now."""
    with store.reads() as connection:
        connection.exec_driver_sql(f"PRAGMA max_page_count = {pages}")


def test_what_is_done_together_happens_whole_or_not_at_all(path: Path) -> None:
    with open_store(path, NOW) as store:
        with store.together():
            store.save_gathered("a", NOW, "one")
            store.set_learned("a", "n", 1, NOW)
            assert store.learned("a", "n") == 1, "seen within"

        def break_off() -> None:
            with store.together():
                store.save_gathered("a", NOW, "two")
                store.set_learned("a", "n", 2, NOW)
                raise RuntimeError

        with pytest.raises(RuntimeError):
            break_off()
        assert store.learned("a", "n") == 1
        assert store.learned_of_all("n") == {"a": 1}
        gathered = store.last_gathered("a")
    assert gathered is not None
    assert gathered.text == "one"


def test_a_store_is_used_by_several_threads_at_once(path: Path) -> None:
    with open_store(path, NOW) as store:
        threads = [
            threading.Thread(target=lambda n=n: [store.set_learned("a", f"{n}-{k}", k, NOW) for k in range(10)])
            for n in range(4)
        ]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert sum(store.learned("a", f"{n}-{k}") == k for n in range(4) for k in range(10)) == 40


def _add_many(path: Path, lake: str, count: int) -> None:
    with open_store(path, NOW, busy_timeout_s=HANG_S) as store:
        for _ in range(count):
            store.add_reading(lake, TEMPERATURE, NOW)


def test_two_processes_on_a_new_store_lose_nothing(path: Path) -> None:
    context = multiprocessing.get_context("spawn")
    workers = [context.Process(target=_add_many, args=(path, lake, 10)) for lake in ("a", "b")]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join()
        assert worker.exitcode == 0
    with open_store(path, NOW) as store:
        assert (len(store.list_readings("a")), len(store.list_readings("b"))) == (10, 10)


def test_threads_that_correct_the_same_reading_make_one_correction(path: Path) -> None:
    with open_store(path, NOW) as store:
        entry = store.add_reading("a", TEMPERATURE, NOW)
        outcomes: list[str] = []

        def correct() -> None:
            try:
                store.correct_reading(entry.id, TEMPERATURE, NOW)
                outcomes.append("done")
            except InputError:
                outcomes.append("refused")

        threads = [threading.Thread(target=correct) for _ in range(4)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert sorted(outcomes) == ["done", "refused", "refused", "refused"]
        assert len(store.list_readings("a")) == 1


# --- to the core's types ---------------------------------------------------------------------------------------------


def test_entries_become_the_types_of_the_core(store: Store) -> None:
    entries = [
        NewReading(
            ReadingKind.WATER_TEMP, NOW, {"temperature_c": 16.1, "depth_m": 0.5}, hour_known=False, method="hull"
        ),
        NewReading(ReadingKind.VISIBILITY, NOW, {"visibility_m": 0.9}),
        NewReading(ReadingKind.COLOUR, NOW, {"colour": "tannic"}),
        NewReading(ReadingKind.LEVEL, NOW, {"trend": -1}),
        NewReading(ReadingKind.WIND, NOW, {"wind_mps": 5.4, "wind_from_deg": 225.0}, spot="East pads"),
        NewReading(ReadingKind.THUNDER, NOW, {}),
    ]
    for entry in entries:
        store.add_reading("a", entry, NOW)
    stored = store.list_readings("a")
    (water,) = convert.water_readings(stored)
    assert (water.temperature_c, water.depth_m, water.kind, water.hour_known) == (16.1, 0.5, "hull", False)
    visibility, colour = convert.clarity_readings(stored)
    assert (visibility.secchi_m, visibility.colour, colour.secchi_m, colour.colour) == (
        *(0.9, None),
        *(None, WaterColour.TANNIC),
    )
    assert [level.trend for level in convert.level_readings(stored)] == [-1]
    (wind,) = convert.wind_readings(stored)
    assert (wind.wind_mps, wind.gust_mps, wind.wind_from_deg) == (5.4, None, 225.0)
    assert wind.name == "wind you saw at East pads"
    assert convert.thunder_times(stored) == (NOW,)
    assert convert.alert_feed(stored) is None


def test_the_newest_alerts_the_user_read_are_a_feed_that_was_entered(store: Store) -> None:
    old = NewReading(ReadingKind.ALERTS, NOW - timedelta(hours=2), {"events": []})
    until = (NOW + timedelta(hours=4)).isoformat()
    new = NewReading(ReadingKind.ALERTS, NOW, {"events": ["Lake Wind Advisory"], "until": until})
    for entry in (new, old):
        store.add_reading("a", entry, NOW)
    feed = convert.alert_feed(store.list_readings("a"))
    assert feed is not None
    assert (feed.entered, feed.readable, feed.checked_at) == (True, True, NOW)
    assert [(alert.event, alert.ends) for alert in feed.alerts] == [("Lake Wind Advisory", NOW + timedelta(hours=4))]


def test_signs_become_the_type_of_the_core(store: Store) -> None:
    store.add_sign("a", NewSign(SignKind.FRY_CLOUDS, NOW, Zone.POCKET, hours_looked=2.0, count=3, secchi_m=1.0), NOW)
    (sign,) = convert.signs(store.list_signs("a"))
    assert (sign.kind, sign.zone, sign.hours_looked, sign.count, sign.secchi_m) == (
        *(SignKind.FRY_CLOUDS, Zone.POCKET),
        *(2.0, 3, 1.0),
    )


def _touch(path: Path) -> None:
    with open_store(path, NOW, busy_timeout_s=HANG_S) as store:
        store.set_learned("a", "touched", 1, NOW)


def _take(path: Path, taken: Any) -> None:
    with open_store(path, NOW, busy_timeout_s=HANG_S) as store:
        taken.value = Ledger(store).take("m", "other", NOW) is not None


def test_opening_the_store_again_leaves_the_locks_of_an_open_one(path: Path) -> None:
    context = multiprocessing.get_context("spawn")
    item = DueItem("k", "lake", NOW.date(), "morning", "", NOW, NOW + timedelta(hours=3))
    with open_store(path, NOW) as store:
        ledger = Ledger(store)
        ledger.claim(item, "me", lambda _: False, NOW)
        ledger.built("k", "me", [NewMessage("m", "mail", "a@b.example", "id", b"x", NOW + timedelta(hours=3))], {}, NOW)
        with open_store(path, NOW) as second:  # the other job of the service
            Ledger(second).to_hand_over(NOW)
        touch = context.Process(target=_touch, args=(path,))  # a command typed meanwhile
        touch.start()
        touch.join()
        assert ledger.take("m", "me", NOW) is not None
        theirs = context.Value("b", False)
        other = context.Process(target=_take, args=(path, theirs))
        other.start()
        other.join()
        assert not theirs.value
        assert store.learned("a", "touched") == 1


def test_a_copy_in_memory_holds_what_was_written_last(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """While another process has the store, and its log is not written back, the copy has every entry."""
    with open_store(path, NOW) as held:
        held.add_reading("a", TEMPERATURE, NOW)
        assert path.with_name(f"{path.name}-wal").stat().st_size

        def refuse(*_: object) -> None:
            raise StoreError("The disk is full.")

        monkeypatch.setattr("briefing.store.database.open_store", refuse)
        copy = open_anyway(path, NOW)
        assert copy.unwritable == "The disk is full."
        assert len(copy.list_readings("a")) == 1
        copy.add_reading("a", TEMPERATURE, NOW)
        assert len(held.list_readings("a")) == 1
        copy.close()


def test_a_copy_of_an_old_store_is_moved_forward_in_memory_only(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with open_store(path, NOW, steps=STEPS[:2]):
        pass
    before = path.read_bytes()

    def refuse(*_: object) -> None:
        raise StoreError("The store can't be written.")

    monkeypatch.setattr("briefing.store.database.open_store", refuse)
    with open_anyway(path, NOW) as copy:
        assert LogBook(copy).running("a") is None
    assert path.read_bytes() == before


def test_a_database_of_another_program_is_left_alone(path: Path) -> None:
    path.parent.mkdir(parents=True)
    with sqlite3.connect(path) as other:
        other.execute("create table fish (name text)")
    other.close()
    with pytest.raises(StoreError, match="another program"):
        open_store(path, NOW)


def test_a_new_store_leaves_no_draft_behind(path: Path) -> None:
    with open_store(path, NOW):
        pass
    assert not list(path.parent.glob("*.new"))
