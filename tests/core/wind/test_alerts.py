from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from briefing.core.alerts import AlertFeed, typed_alert
from briefing.core.wind.alerts import resolve_alerts, rings_touch

T0 = datetime(2026, 6, 3, 10, tzinfo=UTC)
NOW = T0 + timedelta(minutes=5)
LAKE = (((-90.0, 40.0), (-89.8, 40.0), (-89.8, 40.1), (-90.0, 40.1)),)


def feed(*alerts, **changes) -> AlertFeed:
    return replace(AlertFeed(alerts, NOW, "alerts", "alert service"), **changes)


def active_ids(result) -> list[str]:
    return [one.alert.id for one in result.active]


def test_in_force_by_ends_though_the_message_expired(alert) -> None:
    one = alert(expires=NOW - timedelta(minutes=15), ends=NOW + timedelta(hours=8))
    result = resolve_alerts(feed(one), None, LAKE, NOW)
    assert result.active[0].end == one.ends
    assert result.active[0].expired_text


def test_an_event_goes_on_after_its_message_has_expired(alert) -> None:
    """The message of ten o'clock is good for three hours, the wind that it tells of blows for four."""
    one = alert(onset=T0, expires=T0 + timedelta(hours=3), ends=T0 + timedelta(hours=4))
    for minutes in (5, 179, 181, 239):
        (active,) = resolve_alerts(feed(one), None, LAKE, T0 + timedelta(minutes=minutes)).active
        assert active.end == one.ends
        assert active.overlaps(T0 + timedelta(hours=3), T0 + timedelta(hours=4))
    assert resolve_alerts(feed(one), None, LAKE, T0 + timedelta(minutes=240)).active == ()


def test_without_ends_the_expiry_counts(alert) -> None:
    assert resolve_alerts(feed(alert(ends=None, expires=NOW)), None, LAKE, NOW).active == ()
    later = alert(ends=None, expires=NOW + timedelta(minutes=1))
    assert active_ids(resolve_alerts(feed(later), None, LAKE, NOW)) == ["a1"]
    assert active_ids(resolve_alerts(feed(alert(ends=None, expires=None)), None, LAKE, NOW)) == ["a1"]


def test_an_update_replaces_and_a_cancel_takes_back(alert) -> None:
    first = alert(id="a1")
    second = alert(id="a2", message_type="Update", references=("https://alerts.example/alerts/a1",))
    cancel = alert(id="a3", message_type="Cancel", references=("sender,a2,2026-06-03T09:00:00Z",))
    assert active_ids(resolve_alerts(feed(first, second), None, LAKE, NOW)) == ["a2"]
    assert resolve_alerts(feed(first, second, cancel), None, LAKE, NOW).active == ()


def test_messages_that_are_not_actual_are_dropped_and_counted(alert) -> None:
    result = resolve_alerts(feed(alert(id="t", status="Test", event="Tsunami Warning"), alert()), None, LAKE, NOW)
    assert active_ids(result) == ["a1"]
    assert result.tests_dropped == 1


def test_a_test_cancel_takes_nothing_back(alert) -> None:
    fake = alert(id="t", status="Test", message_type="Cancel", references=("a1",))
    assert active_ids(resolve_alerts(feed(alert(), fake), None, LAKE, NOW)) == ["a1"]


def test_polygon_over_the_far_end_of_the_lake_counts(alert) -> None:
    far_end = ((-89.85, 40.05), (-89.7, 40.05), (-89.7, 40.2), (-89.85, 40.2))
    next_lake = ((-88.0, 40.0), (-87.9, 40.0), (-87.9, 40.1))
    assert active_ids(resolve_alerts(feed(alert(rings=(far_end,))), None, LAKE, NOW)) == ["a1"]
    missed = resolve_alerts(feed(alert(rings=(next_lake,))), None, LAKE, NOW)
    assert (missed.active, missed.elsewhere) == ((), 1)
    assert active_ids(resolve_alerts(feed(alert(rings=(next_lake,))), None, (), NOW)) == ["a1"]


@pytest.mark.parametrize(
    ("ring", "touches"),
    [
        (((-90.5, 39.5), (-89.0, 39.5), (-89.0, 40.5), (-90.5, 40.5)), True),  # holds the lake
        (((-89.95, 40.02), (-89.9, 40.02), (-89.9, 40.05)), True),  # inside the lake
        (((-89.9, 39.0), (-89.89, 39.0), (-89.89, 41.0), (-89.9, 41.0)), True),  # a band across it, no vertex inside
        (((-91.0, 40.0), (-90.5, 40.0), (-90.5, 40.1)), False),
        (((float("nan"), 40.0), (-90.5, 40.0), (-90.5, 40.1)), True),  # unreadable rules nothing out
        (((-91.0, 40.0), (-90.5, 40.0)), True),
    ],
)
def test_touching(ring, touches) -> None:
    assert rings_touch((ring,), LAKE) is touches


def test_a_lake_known_by_its_position_only(alert) -> None:
    around = ((-91.0, 39.0), (-89.0, 39.0), (-89.0, 41.0), (-91.0, 41.0))
    assert rings_touch((around,), (((-90.0, 40.0),),))
    assert not rings_touch((around,), (((-80.0, 40.0),),))


def test_a_warning_that_vanished_without_a_cancel_stays_until_its_end(alert) -> None:
    before = resolve_alerts(feed(alert()), None, LAKE, NOW)
    after = resolve_alerts(feed(), before, LAKE, NOW + timedelta(minutes=30))
    assert after.active[0].vanished
    again = resolve_alerts(feed(), after, LAKE, NOW + timedelta(hours=3, minutes=50))
    assert active_ids(again) == ["a1"]
    assert resolve_alerts(feed(), again, LAKE, T0 + timedelta(hours=4)).active == ()


def test_a_cancelled_one_does_not_come_back(alert) -> None:
    before = resolve_alerts(feed(alert()), None, LAKE, NOW)
    cancel = alert(id="c", message_type="Cancel", references=("a1",))
    assert resolve_alerts(feed(cancel), before, LAKE, NOW).active == ()


def test_could_not_be_checked_is_a_state_of_its_own(alert) -> None:
    before = resolve_alerts(feed(alert()), None, LAKE, NOW)
    lost = resolve_alerts(AlertFeed((), None, "a", "a", problem="no answer"), before, LAKE, NOW)
    assert not lost.readable
    assert lost.checked_at == before.checked_at
    assert active_ids(lost) == ["a1"]
    assert resolve_alerts(feed(), None, LAKE, NOW).readable


def test_one_warning_in_several_messages_is_shown_once(alert) -> None:
    parts = [alert(id=f"p{n}", area=f"Area {n}") for n in range(4)]
    result = resolve_alerts(feed(*parts, alert(id="other", event="Dense Fog Advisory")), None, LAKE, NOW)
    assert len(result.active) == 2
    joined = next(one for one in result.active if one.alert.event == "Lake Wind Advisory")
    assert joined.areas == ("Area 0", "Area 1", "Area 2", "Area 3")
    assert len(joined.merged_ids) == 4


def test_an_impossible_start_counts_from_now(alert) -> None:
    odd = alert(onset=T0 + timedelta(hours=9))
    one = resolve_alerts(feed(odd), None, LAKE, NOW).active[0]
    assert one.overlaps(NOW, NOW + timedelta(hours=1))


def test_worst_comes_first(alert) -> None:
    mild, grave = alert(id="m", severity="Minor"), alert(id="g", event="Tornado Warning", severity="Extreme")
    assert active_ids(resolve_alerts(feed(mild, grave), None, LAKE, NOW)) == ["g", "m"]


def test_ends_before_the_begin_leave_the_later_end(alert) -> None:
    for changes in (
        {"ends": T0 - timedelta(hours=1), "expires": NOW + timedelta(hours=3)},  # before onset
        {"ends": T0 - timedelta(hours=3), "expires": NOW + timedelta(hours=3), "onset": None, "effective": None},
        {"ends": T0 + timedelta(hours=4), "onset": T0 + timedelta(hours=9), "expires": T0 + timedelta(hours=3)},
        {"ends": T0 - timedelta(hours=1), "expires": T0 - timedelta(hours=2)},  # no end of it can be true
    ):
        one = resolve_alerts(feed(alert(**changes)), None, LAKE, NOW).active[0]
        assert one.odd_times
        assert one.overlaps(NOW, NOW + timedelta(hours=1))
        assert one.end is None or one.end == max(alert(**changes).ends, alert(**changes).expires)
    assert resolve_alerts(feed(alert(ends=NOW, expires=NOW)), None, LAKE, NOW).active == ()


def test_two_messages_of_one_id_both_count(alert) -> None:
    far = ((-91.0, 40.0), (-90.9, 40.0), (-90.9, 40.1), (-91.0, 40.1))
    over = alert(severity="Severe")
    for twin in (
        alert(ends=NOW - timedelta(minutes=1), expires=NOW - timedelta(minutes=1)),
        alert(event="Frost Advisory"),
        alert(rings=(far,)),
        alert(severity="Minor", description="weaker"),
    ):
        for pair in ((over, twin), (twin, over)):
            result = resolve_alerts(feed(*pair), None, LAKE, NOW)
            assert over in [one.alert for one in result.active]
    both = resolve_alerts(feed(over, alert(event="Frost Advisory")), None, LAKE, NOW).active
    assert [one.twin for one in both] == [True, True]


def test_a_statement_is_not_merged_with_one_that_says_more(alert) -> None:
    plain = alert("Special Weather Statement", id="p", severity="Severe", description="Dense fog.")
    thunder = alert("Special Weather Statement", id="t", description="Thunderstorms with gusts.")
    assert len(resolve_alerts(feed(plain, thunder), None, LAKE, NOW).active) == 2


def test_an_earlier_alert_is_kept_when_its_id_comes_to_stand_for_something_else(alert) -> None:
    before = resolve_alerts(feed(alert()), None, LAKE, NOW)
    again = resolve_alerts(feed(alert()), before, LAKE, NOW)
    assert [one.vanished for one in again.active] == [False]
    changed = alert(ends=NOW - timedelta(minutes=1), expires=NOW - timedelta(minutes=1))
    assert active_ids(resolve_alerts(feed(changed), before, LAKE, NOW)) == ["a1"]


WIDE = ((-91.0, 39.0), (-89.0, 39.0), (-89.0, 41.0), (-91.0, 41.0))


@pytest.mark.parametrize(
    "broken",
    [
        lambda ring: tuple((x + 360.0, y) for x, y in ring),  # 0 to 360
        lambda ring: tuple((-x, y) for x, y in ring),  # a lost minus
        lambda ring: tuple((y, x) for x, y in ring),  # swapped
        lambda ring: (ring[0],) * 5,  # no area
        lambda ring: (ring[0], ring[1], ring[0], ring[1]),  # a line
        lambda ring: ((-ring[0][0], ring[0][1]), *ring[1:]),  # one corner without its minus
        lambda ring: (ring[0], ring[2], ring[1], ring[3]),  # crosses itself
        lambda ring: tuple((x * 10.0, y * 10.0) for x, y in ring),  # a lost decimal point
    ],
)
def test_an_area_that_cannot_be_true_is_here(alert, broken) -> None:
    assert active_ids(resolve_alerts(feed(alert(rings=(broken(WIDE),))), None, LAKE, NOW)) == ["a1"]


@given(
    west=st.floats(-120.0, -70.0),
    south=st.floats(26.0, 48.0),
    width=st.floats(0.01, 3.0),
    height=st.floats(0.01, 3.0),
    share=st.floats(0.05, 0.95),
    shift=st.sampled_from([0.0, 360.0]),
)
def test_an_area_over_the_lake_is_never_elsewhere(west, south, width, height, share, shift) -> None:
    lake = (((west + share * width, south + share * height),),)
    corners = ((west, south), (west + width, south), (west + width, south + height), (west, south + height))
    assert rings_touch((tuple((x + shift, y) for x, y in corners),), lake)


def test_chains_take_away_only_what_they_can_be_shown_to_replace(alert) -> None:
    first = alert(id="a1")
    for chained in (
        alert(id="c", message_type="Cancel", references=("a1",), sent=first.sent - timedelta(minutes=1)),
        alert(id="c", message_type="Cancel", references=("a1",), event="Frost Advisory"),
        alert(
            id="c", message_type="Cancel", references=("a1",), rings=(((-91.0, 40.0), (-90.5, 40.0), (-90.5, 40.1)),)
        ),
    ):
        assert "a1" in active_ids(resolve_alerts(feed(first, chained), None, LAKE, NOW))
        before = resolve_alerts(feed(first), None, LAKE, NOW)
        assert "a1" in active_ids(resolve_alerts(feed(chained), before, LAKE, NOW))
    late = alert(id="u", message_type="Update", references=("a1",), event="Frost Advisory", sent=NOW)
    assert set(active_ids(resolve_alerts(feed(first, late), None, LAKE, NOW))) == {"a1", "u"}


@given(st.lists(st.tuples(st.integers(0, 5), st.integers(0, 5), st.integers(0, 2)), max_size=10))
def test_updates_alone_never_empty_the_list(links) -> None:
    """Whatever six updates say of each other, in whatever order of time, one of them is left."""
    ids = [f"a{n}" for n in range(6)]
    updates = []
    for n, id_ in enumerate(ids):
        refs = tuple(ids[to] for one, to, _ in links if one == n)
        sent = NOW - timedelta(minutes=sum(minute for one, _, minute in links if one == n))
        base = typed_alert(id_, "Lake Wind Advisory", sent, NOW + timedelta(hours=5))
        updates.append(replace(base, message_type="Update", references=refs))
    assert resolve_alerts(feed(*updates), None, LAKE, NOW).active


def test_a_circle_of_messages_takes_none_away_whenever_they_were_sent(alert) -> None:
    over = NOW - timedelta(minutes=1)
    for kind in ("Update", "Cancel"):
        first = alert(id="a1", references=("c",))
        other = alert(id="c", message_type=kind, references=("a1",), sent=first.sent + timedelta(minutes=5), ends=over)
        assert "a1" in active_ids(resolve_alerts(feed(first, other), None, LAKE, NOW))


def test_a_cancel_takes_away_only_what_it_is_surely_for(alert) -> None:
    first = alert(id="a1", area="County A; County B")
    swapped = ((40.0, -90.0), (40.1, -90.0), (40.1, -89.0))
    for changes in (
        {"area": "County B"},
        {"area": first.area, "rings": (swapped,)},
        {"sent": NOW + timedelta(hours=48)},
    ):
        cancel = alert(id="c", message_type="Cancel", references=("a1",), **changes)
        assert "a1" in active_ids(resolve_alerts(feed(first, cancel), None, LAKE, NOW))
        before = resolve_alerts(feed(first), None, LAKE, NOW)
        assert "a1" in active_ids(resolve_alerts(feed(cancel), before, LAKE, NOW))


def test_an_update_takes_away_only_where_it_shares_an_area(alert) -> None:
    """Named, of the same event and later, but for another county, or for none that is told: both count."""
    for area, other in (("Lake County", "Desert County"), ("Lake County", ""), ("", "Desert County")):
        first = alert(id="a1", area=area)
        update = alert(id="u", message_type="Update", references=("a1",), area=other, sent=NOW)
        found = resolve_alerts(feed(first, update), None, LAKE, NOW).active
        assert {name for one in found for name in one.merged_ids} == {"a1", "u"}
    for area, other in (("Lake County; X", "X"), ("X", "X; Y"), ("", "")):
        first = alert(id="a1", area=area)
        update = alert(id="u", message_type="Update", references=("a1",), area=other, sent=NOW)
        found = resolve_alerts(feed(first, update), None, LAKE, NOW).active
        assert [one.merged_ids for one in found] == [("u",)]


@pytest.mark.parametrize("hours", [3, 24])
def test_a_listed_warning_whose_begin_lies_after_its_ends_or_ahead_counts_from_now(alert, hours: int) -> None:
    """The begin may be the next day's by mistake, or the time of another zone: what is listed now was sent before."""
    later = NOW + timedelta(hours=hours)
    turned = alert(sent=later, effective=later, onset=later, ends=NOW + timedelta(hours=2), expires=None)
    ahead = alert(sent=later, effective=later, onset=None, ends=later + timedelta(hours=4), expires=None)
    for one in (turned, ahead):
        (found,) = resolve_alerts(feed(one), None, LAKE, NOW).active
        assert found.begin <= NOW
        assert found.end is None or found.end >= NOW + timedelta(hours=2)
        assert found.odd_times
    slack = alert(sent=NOW + timedelta(minutes=5))
    assert not resolve_alerts(feed(slack), None, LAKE, NOW).active[0].odd_times


def test_an_update_for_a_part_of_the_area_makes_nothing_calmer(alert) -> None:
    """Of a warning for two counties nobody can tell here which one the lake lies in."""
    far = (((-91.0, 40.0), (-90.8, 40.0), (-90.8, 40.2), (-91.0, 40.2)),)
    first = alert(id="a1", area="Lake County; Orange County")
    part = {"id": "u", "message_type": "Update", "references": ("a1",), "area": "Orange County", "sent": NOW}
    for change in (
        {"rings": far},
        {"onset": first.onset + timedelta(hours=20), "ends": first.ends + timedelta(hours=20)},
        {"ends": first.ends - timedelta(hours=3)},
    ):
        update = alert(**{**part, **change})
        for earlier, listed in ((None, (first, update)), (resolve_alerts(feed(first), None, LAKE, NOW), (update,))):
            found = resolve_alerts(feed(*listed), earlier, LAKE, NOW).active
            assert "a1" in {name for one in found for name in one.merged_ids}, change
    longer = alert(**{**part, "ends": first.ends + timedelta(hours=1)})
    assert active_ids(resolve_alerts(feed(first, longer), None, LAKE, NOW)) == ["u"]


@pytest.mark.parametrize(
    "change",
    [
        {"headline": "Wind Advisory issued by an office"},
        {"further": "Damaging wind gusts"},
        {"urgency": "Immediate"},
    ],
)
def test_twins_that_differ_in_what_a_level_rests_on_are_both_kept(alert, change: dict[str, str]) -> None:
    strong, weak = alert("Frost Advisory", **change), alert("Frost Advisory", sent=NOW)
    found = resolve_alerts(feed(strong, weak), None, LAKE, NOW).active
    assert {one.alert for one in found} == {strong, weak}


def test_a_cancel_for_a_county_leaves_what_names_no_area(alert) -> None:
    cancel = alert(id="c", message_type="Cancel", references=("a1",), area="Other County")
    assert active_ids(resolve_alerts(feed(alert(id="a1", area=""), cancel), None, LAKE, NOW)) == ["a1"]


def test_no_message_takes_away_one_under_its_own_id(alert) -> None:
    first = alert(id="a1")
    for kind in ("Update", "Cancel"):
        twin = alert(id="a1", message_type=kind, references=("a1",), sent=NOW, ends=NOW - timedelta(minutes=1))
        assert "a1" in active_ids(resolve_alerts(feed(first, twin), None, LAKE, NOW))


def test_of_joined_messages_a_cancel_of_one_leaves_the_others(alert) -> None:
    before = resolve_alerts(feed(alert(id="a1", area="X"), alert(id="a2", area="Y")), None, LAKE, NOW)
    for id_, area in (("a1", "X"), ("a2", "Y")):
        cancel = alert(id="c", message_type="Cancel", references=(id_,), area=area)
        assert resolve_alerts(feed(cancel), before, LAKE, NOW).active


def test_an_area_of_nearly_nothing_rules_nothing_out(alert) -> None:
    line = ((-88.123, 40.301), (-87.923, 40.501), (-87.723, 40.701))
    spot = ((-88.1, 40.3), (-88.1, 40.3000001), (-88.1000001, 40.3))
    for ring in (line, spot):
        assert active_ids(resolve_alerts(feed(alert(rings=(ring,))), None, LAKE, NOW)) == ["a1"]


def test_an_alert_that_is_listed_again_moved_or_weaker_is_kept_as_it_was(alert) -> None:
    before = resolve_alerts(feed(alert(description="Gusts of 50 mph.")), None, LAKE, NOW)
    away = ((-88.0, 40.0), (-87.9, 40.0), (-87.9, 40.1))
    for changed in (alert(description="Gusts of 50 mph.", rings=(away,)), alert(description="Dry and cool.")):
        kept = resolve_alerts(feed(changed), before, LAKE, NOW).active
        assert "Gusts of 50 mph." in [one.alert.description for one in kept]


# -- areas off the lake -----------------------------------------------------------------------------------------------


def box(west: float, south: float, width: float = 0.2, height: float = 0.2) -> tuple[tuple[float, float], ...]:
    return ((west, south), (west + width, south), (west + width, south + height), (west, south + height))


@pytest.mark.parametrize("kilometres", [56, 111, 166, 211])
@pytest.mark.parametrize("rings", [(), (box(-90.1, 39.9, 0.4, 0.3),)])
def test_an_update_for_another_place_leaves_the_warning_as_it_was(alert, kilometres: float, rings) -> None:
    """The area by name is the same, as where both name a wide county; the polygon lies in its far end."""
    first = alert(id="a1", area="Wide County", rings=rings)
    away = box(-90.0, 40.1 + kilometres / 111.2)
    update = alert(id="u", message_type="Update", references=("a1",), area="Wide County", sent=NOW, rings=(away,))
    assert "a1" in active_ids(resolve_alerts(feed(first, update), None, LAKE, NOW))
    before = resolve_alerts(feed(first), None, LAKE, NOW)
    assert "a1" in active_ids(resolve_alerts(feed(update), before, LAKE, NOW))


def test_an_update_that_has_shrunk_within_reach_lets_the_lake_go(alert) -> None:
    first = alert(id="a1", area="Wide County", rings=(box(-90.1, 39.9, 0.8, 0.3),))
    for rest in (box(-89.6, 40.0), box(-90.0, 40.3)):  # 17 and 22 km off
        update = alert(id="u", message_type="Update", references=("a1",), area="Wide County", sent=NOW, rings=(rest,))
        assert resolve_alerts(feed(first, update), None, LAKE, NOW).active == ()
    whole = alert(id="u", message_type="Update", references=("a1",), area="Wide County", sent=NOW)
    assert active_ids(resolve_alerts(feed(first, whole), None, LAKE, NOW)) == ["u"]


@given(st.floats(-2.5, 2.5), st.floats(-2.5, 2.5), st.booleans())
def test_no_update_off_the_lake_takes_the_last_warning_away(east: float, north: float, listed: bool) -> None:
    first = replace(typed_alert("a1", "Lake Wind Advisory", T0, NOW + timedelta(hours=5)), area="Wide County")
    ring = box(-90.0 + east, 40.0 + north, 0.1, 0.1)
    update = replace(first, id="u", message_type="Update", references=("a1",), sent=NOW, rings=(ring,))
    messages = (first, update) if listed else (update,)
    before = None if listed else resolve_alerts(feed(first), None, LAKE, NOW)
    if max(abs(east + 0.05 - 0.1) - 0.15, abs(north) - 0.1) > 0.35:  # farther than 25 km, however it is measured
        assert "a1" in active_ids(resolve_alerts(feed(*messages), before, LAKE, NOW))


@pytest.mark.parametrize(
    ("south", "counts"), [(40.15, False), (40.3, False), (40.35, True), (41.0, True), (42.0, True)]
)
def test_a_points_own_list_is_believed_before_a_polygon_further_off_than_near(
    alert, south: float, counts: bool
) -> None:
    """The service lists for a point what covers it: a polygon just beside the lake is sharper, a distant one wrong."""
    one = alert(rings=(box(-90.0, south),), at_point=True)
    assert bool(resolve_alerts(feed(one), None, LAKE, NOW).active) is counts
    # a zone's list holds what lies in its far end
    assert resolve_alerts(feed(replace(one, at_point=False)), None, LAKE, NOW).active == ()
