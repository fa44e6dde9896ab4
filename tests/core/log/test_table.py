"""The log as CSV."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from briefing.core.log.effort import segments_of
from briefing.core.log.records import Condition, Fish, Mark, MarkKind, Segment
from briefing.core.log.table import COLUMNS, read_table, write_table
from briefing.knowledge import load_log_parameters
from briefing.vocabulary import Cover

ZONE = ZoneInfo("America/New_York")
NOW = datetime(2026, 6, 1, tzinfo=UTC)
LURES = ("tube", "spinnerbait")
HEAD = "date,start,end,minutes,spot,cover,presentation,fish,lengths_cm\n"


def read(text: str) -> tuple[tuple[Mark, ...], list[tuple[int, str]]]:
    table = read_table(text, ZONE, NOW, LURES)
    return table.marks, [(one.line, one.why) for one in table.bad]


def test_a_row_is_a_segment_with_its_effort() -> None:
    (mark,), bad = read(HEAD + "2026-05-02,06:00,06:45,,Long edge,dock,tube,2,35 ?\n")
    assert bad == []
    assert (mark.time, mark.minutes) == (datetime(2026, 5, 2, 10, 45, tzinfo=UTC), 45.0)
    assert (mark.spot, mark.cover, mark.presentation) == ("Long edge", Cover.DOCK, "tube")
    assert mark.fish == (Fish(0.35), Fish(None))


def test_each_bad_line_is_told_with_its_number_and_the_good_ones_come() -> None:
    marks, bad = read(
        HEAD
        + "2026-05-02,06:00,,45,,dock,tube,0,\n"
        + "2026-13-02,06:00,,45,,dock,tube,0,\n"
        + "2026-05-02,6h,,45,,dock,tube,0,\n"
        + "2026-05-02,06:00,,soon,,dock,tube,0,\n"
        + "2026-05-02,06:00,,45,,cellar,tube,0,\n"
        + "2026-05-02,06:00,,45,,dock,spear,0,\n"
        + "2026-05-02,06:00,,45,,dock,tube,,\n"
        + "2026-05-02,06:00,,45,,dock,tube,1,350\n"
        + "2026-05-02,06:00,,45,,dock,tube,1,35 36\n"
        + "2026-05-02,06:00,,45\n"
        + "2027-05-02,06:00,,45,,dock,tube,0,\n"
        + "\n"
        + "2026-05-03,,,nan,,dock,tube,1,\n"
        + "2026-05-03,,,,,dock,tube,1,\n"
    )
    assert [mark.time.day for mark in marks] == [2, 3]
    assert [line for line, _ in bad] == [3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 14]
    why = " | ".join(text for _, text in bad)
    for part in ("no date", "no clock time", "no number", "unknown cover 'cellar'", "unknown presentation 'spear'",
                 "fish is empty", "not between 5 and 85", "more lengths", "4 cells where the head has 9", "future",
                 "not between 0.5 and 960"):  # fmt: skip
        assert part in why


@pytest.mark.parametrize(
    "text",
    ["", "a,b\n1,2\n", "date,fish,fish\n", "date,fish,colour\n", "date\n2026-05-02\n", "\x00\x01", '"date,fish\n1'],
)
def test_what_is_no_table_is_refused_in_a_sentence(text: str) -> None:
    with pytest.raises(ValueError, match=r"\."):
        read(text)


def made(rows: list[tuple[int, int, str, Cover, list[float], int, float]]) -> tuple[Segment, ...]:
    marks = [
        Mark(
            MarkKind.MARK,
            datetime(2026, 4, 1, 12, tzinfo=UTC) + timedelta(days=n, minutes=minute),
            id=n + 1,
            presentation=lure,
            cover=cover,
            spot="=Edge, north" if n % 2 else "Long edge",
            fish=tuple(Fish(round(length / 100.0, 4), 500.0 + n) for length in lengths),
            contacts=bites,
            minutes=float(minutes),
            position=(30.31, -83.22),
            conditions={
                "phase": Condition("spawn", "entered", "your table"),
                "wind_mps": Condition(wind, "entered", "your table"),
            },
        )
        for n, (minute, minutes, lure, cover, lengths, bites, wind) in enumerate(rows)
    ]
    return segments_of(marks, load_log_parameters().effort)


ROWS = st.lists(
    st.tuples(
        st.integers(0, 300),
        st.integers(5, 240),
        st.sampled_from(LURES),
        st.sampled_from(list(Cover)),
        st.lists(st.integers(100, 600).map(lambda mm: mm / 10.0), max_size=4),
        st.integers(0, 5),
        st.integers(0, 150).map(lambda tenths: tenths / 10.0),
    ),
    max_size=6,
)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(ROWS)
def test_what_is_written_is_read_back(rows: list[tuple[int, int, str, Cover, list[float], int, float]]) -> None:
    segments = made(rows)
    table = read_table(write_table(segments, ZONE), ZONE, NOW, LURES)
    assert table.bad == ()
    again = segments_of([replace(mark, id=n + 1) for n, mark in enumerate(table.marks)], load_log_parameters().effort)
    assert again == segments


def test_a_table_for_others_tells_no_place_and_no_day() -> None:
    text = write_table(made([(60, 45, "tube", Cover.DOCK, [35.0], 0, 2.0)]), ZONE, shared=True)
    assert text.splitlines()[0] == ",".join(COLUMNS)
    row = dict(zip(COLUMNS, text.splitlines()[1].split(","), strict=True))
    assert row["date"] == "2026-03-30"
    assert {name for name in ("start", "end", "spot", "latitude", "longitude", "note") if row[name]} == set()


def test_positions_are_coarse_unless_exact_ones_are_asked_for() -> None:
    (segment,) = made([(60, 45, "tube", Cover.DOCK, [], 0, 2.0)])
    exact = [replace(segment, position=(30.31234, -83.22345))]
    assert "30.31,-83.22," in write_table(exact, ZONE)
    assert "30.312340,-83.223450," in write_table(exact, ZONE, exact=True)


def test_a_cell_that_a_spreadsheet_would_run_is_quoted() -> None:
    text = write_table(made([(0, 30, "tube", Cover.DOCK, [], 0, 2.0), (0, 30, "tube", Cover.DOCK, [], 0, 2.0)]), ZONE)
    assert "'=Edge, north" in text
