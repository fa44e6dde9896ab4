"""Official warnings of the US National Weather Service. A feed that can't be read in full is no proof of "none"."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from briefing.core.alerts import Alert, AlertFeed, Ring
from briefing.sources.bodies import load_json, read_instant, read_number, rows, table, text
from briefing.sources.http import Ask, Reply, Source
from briefing.sources.service_limits import SHARE_WARNINGS
from briefing.sources.shapes import read_ring
from briefing.sources.urls import degrees

SOURCE, NAME = "nws_alerts", "National Weather Service warnings"
_NOT_REAL = frozenset({"Test", "Exercise", "System", "Draft"})
#: Parameters of a message that tell of its ways, not of the hazard; all others are read as part of its words.
_UNTELLING = frozenset(
    {"AWIPSidentifier", "WMOidentifier", "BLOCKCHANNEL", "EAS-ORG", "VTEC", "eventEndingTime", "expiredReferences"}
)
_TIMES = ("sent", "effective", "onset", "expires", "ends")
#: No message is sent, begins or ends further from now: such a time is a filler, as an empty date of the year 1.
_FURTHEST = timedelta(days=400)
#: Somewhere in the country a warning begins, changes or ends at least this often; an older date is that of an old list.
_QUIET = timedelta(hours=2)
_KINDS = frozenset({"Alert", "Update", "Cancel", "Ack", "Error"})


def retrieve_at_point(source: Source, latitude: float, longitude: float) -> Reply:
    """Ask for the warnings in force at a position, unrounded as far as the service allows; never from a cache."""
    return _retrieve(source, {"point": f"{degrees(latitude)},{degrees(longitude)}"})


def retrieve_in_zones(source: Source, zones: Sequence[str]) -> Reply:
    """Ask for the warnings of whole zones (``NYZ052``); those with a polygon need a test against the lake."""
    return _retrieve(source, {"zone": ",".join(zones)})


def _retrieve(source: Source, params: Mapping[str, str]) -> Reply:
    url = f"{source.fetcher.urls.nws}/alerts/active"
    headers = {"Accept": "application/geo+json"}
    return source.get(Ask(url, params, headers, store=False, fresh=True, share_for=SHARE_WARNINGS))


def parse_alerts(body: bytes | str, checked_at: datetime) -> AlertFeed:
    """Read a list of warnings. Messages that aren't real (tests, exercises) are dropped and named.

    A message of which something that matters could not be read is kept as far as it goes and counted as damaged, so
    that the feed is not readable. Updates and cancels are kept as they are: the core resolves them.
    """
    data = load_json(body)
    features = data.get("features") if isinstance(data, dict) else None
    if not isinstance(features, list):
        return failed_feed("the answer is no list of warnings")
    alerts, dropped, damaged = [], [], 0
    for feature in features:
        read = _read_alert(feature, checked_at)
        if read is None:
            damaged += 1
            dropped.append("a message that could not be read")
        elif read.alert.status in _NOT_REAL:
            dropped.append(f"{read.alert.status}: {read.alert.event}")
        else:
            damaged += read.damaged
            alerts.append(read.alert)
    problem = "the list of warnings was not complete" if _cut_short(data, len(features)) else ""
    return AlertFeed(tuple(alerts), checked_at, SOURCE, NAME, problem=problem, dropped=tuple(dropped), damaged=damaged)


def _cut_short(data: Mapping[str, Any], count: int) -> bool:
    """Tell whether something beside the messages says that there are more, or that the answer is an error."""
    pages = data.get("pagination")
    following = pages.get("next") if isinstance(pages, dict) else pages
    matched, odd = read_number(data.get("numberMatched"))
    status = read_number(data.get("status"))[0]
    return (
        following not in (None, "", [])  # whatever form an address of more has
        or any(table(link).get("rel") == "next" for link in rows(data.get("links")))
        or odd
        or matched > count
        or status >= 400
        or _size(data.get("@graph")) > count
        or "/problems/" in text(data.get("type"))
    )


def _size(value: object) -> int:
    return len(value) if isinstance(value, list | dict) else int(value is not None)


def listed_at_point(feed: AlertFeed) -> AlertFeed:
    """Mark the messages of a list that was asked for at a point of the lake."""
    return replace(feed, alerts=tuple(replace(one, at_point=True) for one in feed.alerts))


def failed_feed(why: str) -> AlertFeed:
    """Make the feed of a request that failed: nothing is known of warnings; the reader is told when it was asked."""
    return AlertFeed((), None, SOURCE, NAME, problem=f"{why.removeprefix('NWS warnings: ').rstrip('.')}.")


def no_service_feed() -> AlertFeed:
    """Make the feed of a place that no warning service of ours covers."""
    return AlertFeed(
        (), None, SOURCE, NAME, False, "The lake lies outside every warning service that this program can read."
    )


def merge_feeds(feeds: Sequence[AlertFeed]) -> AlertFeed:
    """Join the feeds of several points and zones; one that could not be read makes the whole not readable.

    ``checked_at`` is that of the oldest reading, None when none was read. The same message counts once; two that differ
    under one id are both kept. What a point listed counts as listed at a point, whoever else lists it.
    """
    every = sorted((alert for feed in feeds for alert in feed.alerts), key=lambda alert: not alert.at_point)
    alerts = dict.fromkeys(every)
    times = [feed.checked_at for feed in feeds if feed.checked_at is not None]
    problems = list(dict.fromkeys(feed.problem for feed in feeds if feed.problem))
    return AlertFeed(
        alerts=tuple(sorted(alerts, key=lambda alert: (alert.sent, alert.id, alert.area, alert.severity))),
        checked_at=min(times) if times else None,
        source=SOURCE,
        name=NAME,
        problem=" ".join(problems),
        dropped=tuple(sorted({word for feed in feeds for word in feed.dropped})),
        damaged=max((feed.damaged for feed in feeds), default=0),
    )


def checked_time(reply: Reply) -> datetime:
    """Instant that an answer stands for: front cache, headers and the list itself may say that it is older.

    The service dates a list in ``updated`` and ``Last-Modified`` by its newest change anywhere, minutes before it is
    handed out, not by the newest message in it; a quiet hour makes such a date older, so that it counts only beyond
    `_QUIET`. A date ahead of the answer, or one that can't be read, says nothing.
    """
    now = reply.checked_at
    made = now - timedelta(seconds=reply.age_s)
    for dated in (reply.made_by, read_instant(table(load_json(reply.body)).get("updated"))):
        if dated is not None and now - dated > _QUIET:
            made = min(made, dated)
    return max(made, now - _FURTHEST)


@dataclass(frozen=True)
class _Read:
    alert: Alert
    damaged: bool


def _read_alert(feature: object, checked_at: datetime) -> _Read | None:
    properties = table(feature).get("properties")
    if not isinstance(properties, dict) or not properties:
        return None
    event = text(properties.get("event"))
    if not event and not text(properties.get("headline")):
        return None
    times = {key: _believed(key, properties.get(key), checked_at) for key in _TIMES}
    odd_time = any(times[key] is None and properties.get(key) is not None for key in times)
    endless = times["expires"] is None and times["ends"] is None
    status, kind = text(properties.get("status")), text(properties.get("messageType"))
    known = status == "Actual" or status in _NOT_REAL
    # a message that says not when it was sent can't be shown to come after another
    follows = kind in _KINDS and times["sent"] is not None
    rings, odd_shape = _rings(table(feature).get("geometry"))
    references, odd_links = _references(properties.get("references"))
    more = table(properties.get("parameters"))
    texts = {key: text(properties.get(key)) for key in ("severity", "certainty", "urgency", "headline", "response")}
    alert = Alert(
        id=text(properties.get("id")) or _made_id(properties),
        event=event or text(properties.get("headline")),
        status=status if known else "Actual",
        message_type=kind if follows else "Alert",
        severity=texts["severity"],
        certainty=texts["certainty"],
        urgency=texts["urgency"],
        sent=times["sent"] or times["effective"] or times["onset"] or checked_at,
        effective=times["effective"],
        onset=times["onset"],
        expires=times["expires"],
        ends=times["ends"],
        headline=texts["headline"],
        description=_told(properties.get("description")),
        instruction=_told(properties.get("instruction")),
        area=text(properties.get("areaDesc")),
        issued_by=text(properties.get("senderName")),
        references=references,
        rings=rings,
        event_codes=_event_codes(properties.get("eventCode")),
        response=texts["response"],
        further=" ".join(
            [_told(properties.get("note")), *(_told(more[key]) for key in more if key not in _UNTELLING)]
        ).strip(),
    )
    damaged = odd_time or endless or not (event and known and follows) or odd_shape or odd_links
    return _Read(alert, damaged)


def _believed(key: str, value: object, checked_at: datetime) -> datetime | None:
    """A time of a message; None where it can't be read or is a filler. An end is never lost: it is put at the limit."""
    found = read_instant(value)
    if found is None or abs(found - checked_at) <= _FURTHEST:
        return found
    if key not in ("ends", "expires"):
        return None
    return checked_at + (_FURTHEST if found > checked_at else -_FURTHEST)


def _told(value: object) -> str:
    """Words of a property: a text as it is, of a list or table the texts in it."""
    if isinstance(value, str):
        return value.strip()
    parts = list(value.values()) if isinstance(value, dict) else value if isinstance(value, list) else []
    return " ".join(word for part in parts if (word := _told(part)))


def _made_id(properties: Mapping[str, Any]) -> str:
    parts = [text(properties.get(key)) for key in ("event", "areaDesc", "effective", "expires", "headline")]
    return f"made:{hashlib.sha256('|'.join(parts).encode()).hexdigest()[:16]}"


def _references(value: object) -> tuple[tuple[str, ...], bool]:
    """Ids of the messages that this one follows, and whether the list is odd."""
    if value is None:
        return (), False
    found = [text(table(entry).get("identifier")) for entry in rows(value)]
    return tuple(word for word in found if word), not isinstance(value, list) or not all(found)


def _event_codes(value: object) -> tuple[str, ...]:
    return tuple(sorted({text(code) for codes in table(value).values() for code in rows(codes) if text(code)}))


def _rings(geometry: object) -> tuple[tuple[Ring, ...], bool]:
    """Outer rings in degrees, and whether the shape is odd. An odd shape gives no ring: it then counts everywhere."""
    if geometry is None:
        return (), False
    shape = table(geometry)
    coordinates = shape.get("coordinates")
    if shape.get("type") == "Polygon":
        parts = [coordinates]
    elif shape.get("type") == "MultiPolygon" and isinstance(coordinates, list):
        parts = coordinates
    else:
        return (), True
    rings = [ring for part in parts for ring in _outer(part)]
    if not rings or not all(rings):
        return (), True
    return tuple(ring for ring in rings if ring), False


def _outer(part: object) -> list[Ring]:
    """The outer ring of a polygon; all of them where one does not lie within the first and so is no hole in it."""
    found = [read_ring(value) for value in (part if isinstance(part, list) and part else [None])]
    if len(found) == 1 or not all(found):
        return found
    from shapely.geometry import Polygon

    return found[:1] if Polygon(found[0], found[1:]).is_valid else found
