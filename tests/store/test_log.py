"""The log book: outings keep together through corrections and withdrawals."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from briefing.core.log.records import Fish, Mark, MarkKind
from briefing.errors import InputError, NotFoundError
from briefing.store import Store, open_store
from briefing.store.log import LogBook

NOW = datetime(2026, 4, 18, 14, tzinfo=UTC)
HOUR = timedelta(hours=1)


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return open_store(tmp_path / "briefing.sqlite", NOW)


@pytest.fixture
def book(store: Store) -> LogBook:
    return LogBook(store)


def outing(book: LogBook) -> list[int]:
    """A start, a fish and an end; returns their numbers."""
    start = book.add("a", Mark(MarkKind.START, NOW, spot="Edge"), "", NOW).mark.id
    fish = book.add("a", Mark(MarkKind.MARK, NOW + HOUR, outing=start, fish=(Fish(0.4),)), "1 fish", NOW).mark.id
    end = book.add("a", Mark(MarkKind.END, NOW + 2 * HOUR, outing=start), "", NOW).mark.id
    return [start, fish, end]


def test_a_corrected_start_keeps_its_outing(book: LogBook) -> None:
    start, fish, end = outing(book)
    new = book.correct(start, Mark(MarkKind.START, NOW - HOUR, spot="Edge"), "", NOW)
    assert new.replaces == start
    entries = {entry.mark.id: entry for entry in book.entries("a")}
    assert set(entries) == {new.mark.id, fish, end}
    assert {entries[number].mark.outing for number in (fish, end)} == {new.mark.id}


def test_a_corrected_mark_stays_in_its_outing(book: LogBook) -> None:
    start, fish, _ = outing(book)
    new = book.correct(fish, Mark(MarkKind.MARK, NOW + HOUR, fish=(Fish(), Fish())), "2 fish", NOW)
    assert new.mark.outing == start
    with pytest.raises(InputError, match="was corrected before"):
        book.correct(fish, new.mark, "", NOW)


def test_a_withdrawn_start_takes_the_outing_and_leaves_others(book: LogBook) -> None:
    first, second = outing(book), outing(book)
    book.withdraw(first[0], NOW + HOUR)
    assert [entry.mark.id for entry in book.entries("a")] == second
    assert {entry.state.value for entry in book.entries("a", history=True)[:1]} == {"withdrawn"}
    assert len(book.entries("a", history=True)) == 6


def test_an_outing_runs_until_its_end_counts(book: LogBook) -> None:
    assert book.running("a") is None
    start, _, end = outing(book)
    assert book.running("a") is None
    book.withdraw(end, NOW)
    running = book.running("a")
    assert running is not None
    assert running.mark.id == start
    assert book.running("b") is None


def test_many_entries_come_all_or_none(book: LogBook) -> None:
    good = Mark(MarkKind.MARK, NOW, presentation="tube")
    naive = Mark(MarkKind.MARK, NOW.replace(tzinfo=None), presentation="tube")
    with pytest.raises(Exception, match="time zone"):
        book.add_all("a", [good, naive], "", NOW)
    assert book.entries("a") == []
    assert book.add_all("a", [], "", NOW) == 0
    assert book.add_all("a", [good, good], "import", NOW) == 2
    assert [entry.typed for entry in book.entries("a")] == ["import"] * 2


def test_an_entry_that_is_not_there(book: LogBook) -> None:
    with pytest.raises(NotFoundError, match="no log entry 3"):
        book.entry(3)


def test_stored_inputs_of_a_span_newest_kept(book: LogBook, store: Store) -> None:
    for n in range(5):
        store.save_gathered("a", NOW + n * HOUR, f"text {n}")
    store.save_gathered("b", NOW, "other")
    found = book.gathered_between("a", NOW + HOUR, NOW + 4 * HOUR, 2)
    assert [one.text for one in found] == ["text 2", "text 3"]
    store.save_briefing("a", NOW.date(), NOW, "{}")
    assert [one.text for one in book.briefings_between("a", NOW, NOW + HOUR, 9)] == ["{}"]
