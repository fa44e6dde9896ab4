"""Warnings: what is in force by its end, tests dropped, and a damaged feed that is no proof of "none"."""

from __future__ import annotations

import json
from collections import Counter
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from briefing.core.alerts import AlertFeed
from briefing.sources.http import Reply
from briefing.sources.nws_alerts import (
    checked_time,
    failed_feed,
    listed_at_point,
    merge_feeds,
    no_service_feed,
    parse_alerts,
)
from tests.replay import composed_alert

NOW = datetime(2026, 7, 1, 12, tzinfo=UTC)


def feed(*features: object) -> AlertFeed:
    return parse_alerts(json.dumps({"features": list(features)}), NOW)


def alert(**changed: object) -> dict[str, Any]:
    plain = composed_alert("Severe Thunderstorm Warning", NOW - timedelta(hours=1), NOW + timedelta(hours=1))
    return {**plain, "properties": {**plain["properties"], **changed}}


def test_an_empty_list_is_an_answer_and_a_failure_is_none() -> None:
    assert feed().readable
    assert feed().alerts == ()
    assert not failed_feed("no answer in time").readable
    assert failed_feed("no answer in time").problem.endswith("no answer in time.")
    assert not no_service_feed().readable
    assert not no_service_feed().service_exists


def test_the_message_may_be_over_while_the_event_goes_on() -> None:
    found = feed(alert(expires="2026-07-01T11:45:00+00:00", ends="2026-07-01T20:00:00+00:00")).alerts[0]
    assert found.expires == NOW - timedelta(minutes=15)
    assert found.ends == NOW + timedelta(hours=8)
    assert feed(alert(ends=None)).alerts[0].ends is None
    assert feed(alert(ends=None)).readable


@pytest.mark.parametrize("status", ["Test", "Exercise", "System", "Draft"])
def test_messages_that_are_not_real_are_dropped_and_named(status: str) -> None:
    found = feed(alert(status=status), alert())
    assert len(found.alerts) == 1
    assert found.dropped == (f"{status}: Severe Thunderstorm Warning",)
    assert found.readable


def test_updates_keep_their_references() -> None:
    found = feed(alert(messageType="Update", references=[{"identifier": "urn:a"}, {"identifier": "urn:b"}]))
    assert found.alerts[0].references == ("urn:a", "urn:b")
    assert found.alerts[0].message_type == "Update"


def test_unknown_events_are_kept_as_they_came() -> None:
    assert feed(alert(event="Volcano Watch")).alerts[0].event == "Volcano Watch"


@pytest.mark.parametrize(
    "body",
    [b"", b"null", b"[]", b"{}", b'{"features": null}', b'{"features": {}}', b'{"title": "error"}', b"<html>", b"\xff"],
)
def test_what_is_no_list_is_not_readable(body: bytes) -> None:
    found = parse_alerts(body, NOW)
    assert not found.readable
    assert found.problem == "the answer is no list of warnings."


DAMAGE = [
    None, 5, "x", [], {}, {"properties": None}, {"properties": []}, {"properties": {}},
    alert(event=None), alert(event=7), alert(event=""), alert(status=None), alert(status=3), alert(messageType={}),
    alert(ends="soon"), alert(expires=12), alert(expires=None, ends=None), alert(onset="2026-07-01T11:00:00"),
    alert(references="urn:a"), alert(references=[5]),
    {**alert(), "geometry": "here"}, {**alert(), "geometry": {"type": "Point", "coordinates": [1, 2]}},
    {**alert(), "geometry": {"type": "Polygon", "coordinates": [[[1, 2], [3, "x"], [4, 5], [1, 2]]]}},
    {**alert(), "geometry": {"type": "Polygon", "coordinates": []}},
]  # fmt: skip


@pytest.mark.parametrize("feature", DAMAGE)
def test_a_damaged_message_makes_the_feed_not_readable_and_stays_where_it_can(feature: Any) -> None:
    found = feed(feature, alert(id="urn:other"))
    assert not found.readable
    assert found.damaged == 1
    assert "urn:other" in {one.id for one in found.alerts}
    if isinstance(feature, dict) and feature.get("geometry"):
        assert all(one.rings == () for one in found.alerts)  # it then counts everywhere


def test_a_list_that_goes_on_elsewhere_is_not_complete() -> None:
    found = parse_alerts(json.dumps({"features": [], "pagination": {"next": "https://x/y"}}), NOW)
    assert not found.readable


def test_polygons() -> None:
    ring = [[-93, 45], [-92, 45], [-92, 46], [-93, 45]]
    hole = [[-92.4, 45.2], [-92.2, 45.2], [-92.2, 45.4], [-92.4, 45.2]]
    found = feed({**alert(), "geometry": {"type": "MultiPolygon", "coordinates": [[ring], [ring, hole]]}})
    assert found.readable
    assert found.alerts[0].rings == (((-93.0, 45.0), (-92.0, 45.0), (-92.0, 46.0), (-93.0, 45.0)),) * 2


def test_rings_that_are_no_holes_are_areas_of_their_own() -> None:
    ring = [[-93, 45], [-92, 45], [-92, 46], [-93, 45]]
    other = [[-80, 40], [-79, 40], [-79, 41], [-80, 40]]
    for rings in ([ring, other], [other, ring], [ring, ring]):
        found = feed({**alert(), "geometry": {"type": "Polygon", "coordinates": rings}})
        assert len(found.alerts[0].rings) == 2
    assert not feed({**alert(), "geometry": {"type": "Polygon", "coordinates": [ring, [[-80, 40]]]}}).readable


@pytest.mark.parametrize("filler", ["0001-01-01T00:00:00Z", "0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-12:00",
                                    "9999-12-31T23:59:59Z", "1900-01-01T00:00:00Z"])  # fmt: skip
def test_a_filler_in_place_of_a_time_dates_nothing_and_ends_nothing_early(filler: str) -> None:
    for key in ("sent", "effective", "onset"):
        found = feed(alert(**{key: filler}))
        assert getattr(found.alerts[0], key) != datetime.fromisoformat(filler)
        assert not found.readable
    for key in ("expires", "ends"):
        kept = getattr(feed(alert(**{key: filler})).alerts[0], key)
        assert kept is None or abs(kept - NOW) <= timedelta(days=400)


def test_merging_points_counts_a_message_once_and_needs_every_point() -> None:
    first, second = feed(alert(id="urn:1")), feed(alert(id="urn:1"), alert(id="urn:2"))
    assert {one.id for one in merge_feeds([first, second]).alerts} == {"urn:1", "urn:2"}
    assert merge_feeds([first, second]).readable
    broken = merge_feeds([first, failed_feed("gone")])
    assert not broken.readable
    assert len(broken.alerts) == 1
    assert not merge_feeds([]).readable


def test_the_recorded_set(reference_data: Path) -> None:
    at = datetime(2026, 7, 15, 20, 0, 44, tzinfo=UTC)
    body = (reference_data / "samples/nws/alerts_active_subset_20260715.json").read_bytes()
    found = parse_alerts(body, at)
    assert found.readable
    assert len(found.alerts) == 30
    assert sum(one.expires is not None and one.expires > at for one in found.alerts) == 26
    ends = [one.ends or one.expires for one in found.alerts]
    assert sum(end is not None and end > at for end in ends) == 30
    begun = [one for one in found.alerts if (one.onset or one.effective or one.sent) <= at]
    assert len(begun) == 23
    assert sum(not one.rings for one in found.alerts) == 19
    assert Counter(one.event for one in found.alerts)["Small Craft Advisory"] == 6


def test_recorded_small_sets(reference_data: Path) -> None:
    folder = reference_data / "samples/nws"
    assert parse_alerts((folder / "linecast_alerts_empty.json").read_bytes(), NOW).readable
    found = parse_alerts((folder / "linecast_alerts_with_test_status.json").read_bytes(), NOW)
    assert [one.event for one in found.alerts] == ["Heat Advisory"]
    assert found.dropped == ("Test: Tsunami Warning",)
    for name in ("pynws_alerts_active_zone.json", "pynws_alerts_active_zone_second.json"):
        assert parse_alerts((folder / name).read_bytes(), NOW).alerts


def test_messages_that_differ_under_one_id_are_both_kept() -> None:
    strong, ended = alert(id="urn:1"), alert(id="urn:1", ends="2026-07-01T11:00:00+00:00")
    merged = merge_feeds([feed(strong), feed(ended), feed(strong)])
    assert len(merged.alerts) == 2
    assert len(feed(alert(id=None), alert(id=None, severity="Minor")).alerts) == 2


def test_a_message_that_says_not_when_it_was_sent_replaces_none_and_is_told() -> None:
    found = feed(alert(sent=None, messageType="Cancel", references=[{"identifier": "urn:a"}]))
    assert found.damaged == 1
    assert found.alerts[0].message_type == "Alert"


def test_what_a_point_listed_counts_as_listed_there_whoever_else_lists_it() -> None:
    zone, point = feed(alert(id="urn:1"), alert(id="urn:2")), listed_at_point(feed(alert(id="urn:1")))
    for feeds in ([zone, point], [point, zone]):
        assert {one.id: one.at_point for one in merge_feeds(feeds).alerts} == {"urn:1": True, "urn:2": False}


@pytest.mark.parametrize(
    ("beside", "whole"),
    [
        ({"status": 500, "title": "Unexpected Problem"}, False),
        ({"status": "503"}, False),
        ({"type": "https://api.weather.gov/problems/UnexpectedProblem"}, False),
        ({"@graph": [{"event": "Wind Advisory"}]}, False),
        ({"@graph": {"event": "Wind Advisory"}}, False),
        ({"numberMatched": 3, "numberReturned": 0}, False),
        ({"numberMatched": "3"}, False),
        ({"numberMatched": "many"}, False),
        ({"pagination": {"next": "https://x.invalid"}}, False),
        ({"pagination": {"next": {"href": "x"}}}, False),
        ({"pagination": {"next": 1}}, False),
        ({"pagination": {"next": ["x"]}}, False),
        ({"pagination": ["https://x.invalid"]}, False),
        ({"pagination": "https://x.invalid"}, False),
        ({"links": [{"rel": "next", "href": "x"}]}, False),
        ({"status": 200, "type": "FeatureCollection", "@graph": [], "numberMatched": 0}, True),
        ({"pagination": {"next": None}, "links": [{"rel": "self"}]}, True),
        ({"pagination": {}, "status": "ok"}, True),
        ({"pagination": None, "@graph": None, "numberMatched": None}, True),
    ],
)
def test_an_empty_list_beside_a_word_of_more_or_of_an_error_is_no_proof_of_none(
    beside: dict[str, object], whole: bool
) -> None:
    found = parse_alerts(json.dumps({"type": "FeatureCollection", "features": [], **beside}), NOW)
    assert found.readable is whole
    assert found.alerts == ()


def test_a_list_that_holds_all_that_it_counts_is_whole() -> None:
    body = {"features": [alert(id="urn:1"), alert(id="urn:2")], "numberMatched": 2, "numberReturned": 2}
    assert parse_alerts(json.dumps(body), NOW).readable
    assert not parse_alerts(json.dumps({**body, "numberMatched": 3}), NOW).readable


# -- how old a list is ------------------------------------------------------------------------------------------------


def reply(body: object, **headers: Any) -> Reply:
    return Reply("https://x.invalid", json.dumps(body).encode(), "application/geo+json", NOW, NOW, **headers)


@pytest.mark.parametrize(
    ("updated", "minutes"),
    [
        ("2026-07-01T11:57:00+00:00", 0),
        ("2026-07-01T10:01:00+00:00", 0),  # a quiet while
        ("2026-07-01T05:35:00-04:00", 145),
        ("2026-06-24T12:00:00Z", 7 * 24 * 60),
        ("2026-07-01T12:30:00+00:00", 0),  # ahead of the answer
        ("2026-07-01T11:00:00", 0),  # of which zone?
        ("an hour ago", 0),
        (1782907200, 0),
        (None, 0),
    ],
)
def test_a_list_is_as_old_as_it_says_itself(updated: object, minutes: float) -> None:
    assert checked_time(reply({"features": [], "updated": updated})) == NOW - timedelta(minutes=minutes)


def test_the_oldest_of_all_that_dates_a_list_counts() -> None:
    body = {"features": [], "updated": "2026-07-01T09:30:00+00:00"}
    assert checked_time(reply(body, age_s=600.0)) == NOW - timedelta(minutes=150)
    changed = "Wed, 01 Jul 2026 09:15:00 GMT"
    assert checked_time(reply(body, age_s=600.0, last_modified=changed)) == NOW - timedelta(minutes=165)
    assert checked_time(reply(body, last_modified="Wed, 01 Jul 2026 12:15:00 GMT")) == NOW - timedelta(minutes=150)
    assert checked_time(reply(body, last_modified="yesterday")) == NOW - timedelta(minutes=150)
    assert checked_time(reply({"features": []}, age_s=600.0)) == NOW - timedelta(minutes=10)


def test_a_list_dated_by_a_filler_is_too_old_and_no_error() -> None:
    body = {"features": [alert()], "updated": "0001-01-01T00:00:00+00:00"}
    at = checked_time(reply(body))
    assert at < NOW - timedelta(days=300)
    assert len(parse_alerts(json.dumps(body), at).alerts) == 1


def test_the_recorded_list_is_as_old_as_its_answer(reference_data: Path) -> None:
    body = (reference_data / "samples/nws/alerts_active_subset_20260715.json").read_bytes()
    at = datetime(2026, 7, 15, 20, 0, 44, tzinfo=UTC)
    assert at - checked_time(Reply("", body, "", at, at)) == timedelta(0)


@pytest.mark.parametrize("name", ["NWSheadline", "hazard", "CMAMtext", "windGust", "anything else"])
def test_whatever_a_message_tells_of_its_hazard_is_read(name: str) -> None:
    told = {name: ["lightning and gusts to 40 kt"], "VTEC": ["/O.NEW.KALY.SV.A.0001/"], "BLOCKCHANNEL": ["EAS"]}
    found = feed(alert(parameters=told)).alerts[0]
    assert found.further == "lightning and gusts to 40 kt"
