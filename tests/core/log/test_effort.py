"""From marks to segments: minutes, blanks, and what belongs to what."""

import random
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from briefing.core.log.effort import segments_of
from briefing.core.log.parameters import LogParameters
from briefing.core.log.records import Condition, Fish, Mark, MarkKind
from briefing.vocabulary import Cover
from tests.core.log.conftest import at, mark

START = mark(1, 0, MarkKind.START, spot="North pocket", cover=Cover.PADS, presentation="spinnerbait")
END = mark(9, 300, MarkKind.END)


def test_a_blank_outing_is_one_full_segment(parameters: LogParameters) -> None:
    (only,) = segments_of([START, END], parameters.effort)
    assert (only.minutes, only.effort, only.blank) == (300.0, "clocked", True)
    assert (only.spot, only.cover, only.presentation) == ("North pocket", Cover.PADS, "spinnerbait")


def test_a_change_ends_one_segment_and_begins_the_next(parameters: LogParameters) -> None:
    first, second = segments_of([START, mark(2, 90, presentation="tube"), END], parameters.effort)
    assert (first.presentation, first.minutes, second.presentation, second.minutes) == ("spinnerbait", 90, "tube", 210)
    assert second.spot == "North pocket"


def test_a_fish_on_another_lure_changed_half_way_before(parameters: LogParameters) -> None:
    caught = mark(2, 100, presentation="tube", fish=(Fish(0.35),))
    first, second = segments_of([START, caught, END], parameters.effort)
    assert (first.minutes, second.minutes, second.effort) == (50.0, 250.0, "halfway")
    assert (first.blank, len(second.fish)) == (True, 1)


def test_since_says_when_it_changed(parameters: LogParameters) -> None:
    caught = mark(2, 100, presentation="tube", fish=(Fish(),), since=at(30))
    first, second = segments_of([START, caught, END], parameters.effort)
    assert (first.minutes, second.minutes, second.effort) == (30.0, 270.0, "stated")


def test_the_first_setup_that_is_named_counts_from_the_start(parameters: LogParameters) -> None:
    bare = mark(1, 0, MarkKind.START)
    caught = mark(2, 100, presentation="tube", cover=Cover.DOCK, fish=(Fish(),))
    (only,) = segments_of([bare, caught, END], parameters.effort)
    assert (only.presentation, only.cover, only.minutes, only.effort) == ("tube", Cover.DOCK, 300.0, "clocked")


def test_stated_minutes_stand_by_themselves(parameters: LogParameters) -> None:
    stated = mark(2, 120, presentation="tube", minutes=45.0)
    first, second, third = segments_of([START, stated, END], parameters.effort)
    assert [one.minutes for one in (first, second, third)] == [75.0, 45.0, 180.0]
    assert [one.presentation for one in (first, second, third)] == ["spinnerbait", "tube", "tube"]
    assert second.effort == "stated"


def test_a_fish_told_with_the_end_counts(parameters: LogParameters) -> None:
    (only,) = segments_of([START, replace(END, fish=(Fish(0.4),))], parameters.effort)
    assert (only.minutes, len(only.fish)) == (300.0, 1)
    first, second = segments_of([START, replace(END, fish=(Fish(0.4),), presentation="tube")], parameters.effort)
    assert (first.minutes, second.minutes, second.presentation) == (150.0, 150.0, "tube")


@pytest.mark.parametrize("after", [-30, 330])
def test_a_fish_outside_the_outings_hours_is_kept_without_effort(parameters: LogParameters, after: float) -> None:
    segments = segments_of([START, END, mark(10, after, contacts=2)], parameters.effort)
    assert sorted((one.minutes or 0.0, one.contacts) for one in segments) == [(0.0, 2), (300.0, 0)]


@pytest.mark.parametrize("minutes", [None, 30.0])
def test_a_new_spot_and_lure_bring_their_own_cover_and_weight(parameters: LogParameters, minutes: float | None) -> None:
    start = replace(START, weight_g=10.0, depth_m=2.0, prior=0.9, planned=True)
    change = mark(2, 60, spot="Far bank", presentation="tube", minutes=minutes)
    changed = segments_of([start, change, END], parameters.effort)[1]
    assert (changed.spot, changed.presentation) == ("Far bank", "tube")
    assert (changed.cover, changed.depth_m, changed.weight_g, changed.prior, changed.planned) == (None,) * 5


def test_without_an_end_the_clock_stops_at_the_last_mark(parameters: LogParameters) -> None:
    (only,) = segments_of([START, mark(2, 60, fish=(Fish(),))], parameters.effort)
    assert only.minutes == 60.0


def test_a_forgotten_clock_is_cut(parameters: LogParameters) -> None:
    (only,) = segments_of([START, mark(9, 1100, MarkKind.END)], parameters.effort)
    assert only.minutes == parameters.effort.longest_segment_min


def test_a_fish_alone_has_no_effort(parameters: LogParameters) -> None:
    (only,) = segments_of([mark(5, 10, outing=None, presentation="tube", fish=(Fish(0.3),))], parameters.effort)
    assert (only.minutes, only.effort, len(only.fish)) == (None, "unknown", 1)


def test_a_blank_alone_with_minutes_is_a_full_record(parameters: LogParameters) -> None:
    (only,) = segments_of([mark(5, 60, outing=None, presentation="tube", minutes=40.0)], parameters.effort)
    assert (only.minutes, only.blank, only.start) == (40.0, True, at(20))


def test_the_first_conditions_of_a_segment_stand(parameters: LogParameters) -> None:
    first = {"wind_mps": Condition(2.0, "observed", "you")}
    later = {"wind_mps": Condition(6.0, "forecast", "x"), "air_c": Condition(20.0, "forecast", "x")}
    marks = [replace(START, conditions=first), mark(2, 30, conditions=later, contacts=1), END]
    (only,) = segments_of(marks, parameters.effort)
    assert only.conditions == {"wind_mps": first["wind_mps"], "air_c": later["air_c"]}


def test_marks_of_a_start_that_is_gone_stand_alone(parameters: LogParameters) -> None:
    segments = segments_of([mark(2, 30, fish=(Fish(),), presentation="tube"), END], parameters.effort)
    assert [one.minutes for one in segments] == [None]


Row = tuple[int, str, Cover | None, int, float | None]
MARKS = st.lists(
    st.builds(
        lambda minutes, lure, cover, fish, stated: (minutes, lure, cover, fish, stated),
        st.integers(1, 400),
        st.sampled_from(["", "tube", "spinnerbait"]),
        st.sampled_from([None, Cover.DOCK, Cover.PADS]),
        st.integers(0, 2),
        st.sampled_from([None, None, 20.0]),
    ),
    max_size=8,
)


@settings(max_examples=100, deadline=None, derandomize=True)
@given(MARKS, st.integers(0, 10_000))
def test_minutes_and_fish_are_neither_lost_nor_doubled(
    rows: list[tuple[int, str, Cover | None, int, float | None]], seed: int
) -> None:
    from briefing.knowledge import load_log_parameters

    effort = load_log_parameters().effort
    marks: list[Mark] = [START, mark(99, 420, MarkKind.END)]
    for number, (minutes, lure, cover, fish, stated) in enumerate(rows, start=2):
        marks.append(mark(number, minutes, presentation=lure, cover=cover, fish=(Fish(),) * fish, minutes=stated))
    expected = segments_of(marks, effort)
    shuffled = marks[:]
    random.Random(seed).shuffle(shuffled)
    assert segments_of(shuffled, effort) == expected
    assert sum(len(one.fish) for one in expected) == sum(row[3] for row in rows)
    assert all(a.end <= b.start for a, b in pairwise(expected))
    clocked = sum(one.minutes or 0.0 for one in expected)
    assert clocked <= 420.0 + 1e-6
    longest = max((one.end - one.start).total_seconds() / 60.0 for one in expected)
    assert longest > effort.longest_segment_min or clocked == pytest.approx(420.0)
