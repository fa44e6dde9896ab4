from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from briefing.core.alerts import AlertFeed
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
    result = resolve_alerts(feed(first, second, cancel), None, LAKE, NOW)
    assert result.active == ()
    assert "a2" in result.cancelled


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
