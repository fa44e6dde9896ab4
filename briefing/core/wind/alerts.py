"""Official alerts: which are in force over the lake, now or later.

Alerts are read, never recomputed from thresholds. "Could not be checked" is a state of its own, and a warning that
vanished without a cancel stays until its end. What can't be matched, dated or placed is kept: a message only takes
another away that it can be shown to follow, and an area only rules a lake out that it can be shown to miss.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from math import isfinite
from typing import Any

from briefing.core.alerts import Alert, AlertFeed, Ring
from briefing.core.geo import LocalPlane
from briefing.core.wind.events import plain_words

#: A message without any end counts this long after it was sent, once it is no longer listed.
ENDLESS = timedelta(hours=24)
#: An area further from the lake than this, or wider, has wrong coordinates: only warnings for the lake's own points and
#: zones are asked for, and none of their polygons is that large.
FAR_DEG = 2.0
WIDE_DEG = 20.0
#: What lies nearer than this may have been drawn to miss the lake. A polygon further off contradicts a list that was
#: asked for at the lake's own point, and an update for such an area says nothing of the lake.
NEAR_KM = 25.0
#: An area smaller than this (about 0.1 km2) is none: no office draws one.
LEAST_DEG2 = 1e-5
#: A message sent further ahead of now than clocks differ has a wrong time.
AHEAD = timedelta(minutes=10)
_SEVERITY = ("unknown", "minor", "moderate", "severe", "extreme")


@dataclass(frozen=True)
class ActiveAlert:
    """An alert in force now or later over the lake.

    begin is ``onset``, else ``effective``, else ``sent``; end is ``ends``, else ``expires``, None when neither is
    given. areas joins the areas of merged duplicates, merged_ids their ids. vanished: no longer listed though never
    cancelled, so it stays until its end. expired_text: the message's life is over, the event's is not. odd_times: its
    times contradict each other, so it counts until the later end. twin: another message under its id says otherwise.
    """

    alert: Alert
    begin: datetime
    end: datetime | None
    areas: tuple[str, ...]
    merged_ids: tuple[str, ...]
    vanished: bool = False
    expired_text: bool = False
    odd_times: bool = False
    twin: bool = False

    def overlaps(self, begin: datetime, end: datetime) -> bool:
        """Tell whether the event touches [begin, end)."""
        return self.begin < end and (self.end is None or self.end > begin)


@dataclass(frozen=True)
class ResolvedAlerts:
    """Alerts that count for the lake, worst severity first, and whether they could be read.

    checked_at is the instant of the last reading that succeeded (None: never). problem says why this reading failed;
    empty when it did not. tests_dropped counts messages that were not Actual, elsewhere those whose polygon misses
    the lake.
    """

    active: tuple[ActiveAlert, ...]
    checked_at: datetime | None
    source: str
    name: str
    service_exists: bool = True
    problem: str = ""
    entered: bool = False
    damaged: int = 0
    tests_dropped: int = 0
    elsewhere: int = 0

    @property
    def readable(self) -> bool:
        """True when this reading succeeded and no message in it was damaged."""
        return self.checked_at is not None and not self.problem and not self.damaged


def resolve_alerts(
    feed: AlertFeed, previous: ResolvedAlerts | None, lake_rings: Sequence[Ring], now: datetime
) -> ResolvedAlerts:
    """Decide which alerts count.

    lake_rings: outer rings of the lake as (longitude, latitude); a ring of one point stands for a lake without a
    shoreline; empty: nothing can be ruled out. previous is the last result for this lake, or None.
    """
    actual = [alert for alert in feed.alerts if _is(alert.status, "actual")]
    sent = [alert for alert in actual if alert.sent <= now + AHEAD]  # one from the future can't be shown to follow any
    gone = _replaced(sent, [*actual, *_earlier(previous)], _joined(previous), lake_rings)
    live = [a for a in actual if a not in gone and not _is(a.message_type, "cancel")]
    here = [a for a in live if not _elsewhere(a, lake_rings)]
    active = _merged([_active(alert, here, now) for alert in here if _counts(alert, now)])
    active += _kept(previous, live, gone, now)
    return ResolvedAlerts(
        active=tuple(sorted(active, key=lambda a: (-_severity(a.alert), a.begin, a.alert.id))),
        checked_at=feed.checked_at if feed.checked_at or previous is None else previous.checked_at,
        source=feed.source,
        name=feed.name,
        service_exists=feed.service_exists,
        problem=feed.problem,
        entered=feed.entered,
        damaged=feed.damaged,
        tests_dropped=len(feed.alerts) - len(actual) + sum("test" in text.casefold() for text in feed.dropped),
        elsewhere=len(live) - len(here),
    )


def _is(value: str, word: str) -> bool:
    return value.strip().casefold() == word


def _severity(alert: Alert) -> int:
    word = alert.severity.strip().casefold()
    return _SEVERITY.index(word) if word in _SEVERITY else 0


def _references(alert: Alert) -> set[str]:
    """Ids an alert replaces: plain ids, addresses that end in the id, or "sender,id,time" triples."""
    parts = {part for text in alert.references for part in text.replace(",", " ").split()}
    return parts | {part.rsplit("/", 1)[-1] for part in parts}


def _earlier(previous: ResolvedAlerts | None) -> list[Alert]:
    """Alerts of the last reading."""
    return [old.alert for old in (previous.active if previous else ())]


def _joined(previous: ResolvedAlerts | None) -> list[Alert]:
    """Messages of the last reading that were joined with others, by their own ids; their own areas are not known."""
    return [
        replace(old.alert, id=one, area="")
        for old in (previous.active if previous else ())
        for one in old.merged_ids
        if one != old.alert.id
    ]


def _replaced(
    chains: Sequence[Alert], others: Sequence[Alert], joined: Sequence[Alert], lake_rings: Sequence[Ring]
) -> set[Alert]:
    """Messages that an update or a cancel takes away.

    It must name them by another id than its own, be of the same event and not have been sent before them. An update or
    a cancel must be for their whole area; an update for a part of it is enough where it counts here and for as long. A
    cancel with a polygon must be surely over the lake. Otherwise the one it names stays.

    ``joined``: messages that were listed as one with others, whose own areas
    are not known any more. Messages that name each other in a circle all stay.
    """
    known = list(dict.fromkeys([*others, *joined]))
    apart = set(joined) - set(others)
    named = {alert: _references(alert) for alert in known}
    gone = set()
    for chained in chains:
        cancel = _is(chained.message_type, "cancel")
        in_place = _surely_over if cancel else _within_reach
        if not _follows(chained) or not in_place(chained.rings, lake_rings):
            continue
        kind = plain_words(chained.event)
        for other in known:
            wide = _covers(chained, other) or (not cancel and _carries_on(chained, other, lake_rings))
            if other not in apart and not wide:
                continue
            same = other.id in named[chained] and other.id != chained.id and plain_words(other.event) == kind
            if same and other.sent <= chained.sent and not _leads(other, chained, named):
                gone.add(other)
    return gone


def _areas(alert: Alert) -> set[tuple[str, ...]]:
    return {words for part in alert.area.split(";") if (words := plain_words(part))}


def _covers(chained: Alert, other: Alert) -> bool:
    """Whether a message is for the whole area of another; one without an area can't be shown to be."""
    return _areas(other) <= _areas(chained) if _areas(other) else not _areas(chained)


def _shares(chained: Alert, other: Alert) -> bool:
    """Whether two messages share an area, or neither names one."""
    return bool(_areas(other) & _areas(chained)) or not (_areas(other) or _areas(chained))


def _carries_on(update: Alert, other: Alert, lake_rings: Sequence[Ring]) -> bool:
    """Whether an update for a part of the area leaves the hours at the lake as they were, or makes them more.

    Of a warning for two counties that goes on in one of them nobody can tell here which one the lake lies in.
    """
    if (
        not _shares(update, other)
        or _misses(update.rings, lake_rings)
        or _begin(update) > max(_begin(other), update.sent)
    ):
        return False
    end, old_end = _end(update), _end(other)
    return end is None or (old_end is not None and end >= old_end)


def _follows(alert: Alert) -> bool:
    return _is(alert.message_type, "update") or _is(alert.message_type, "cancel")


def _leads(begin: Alert, end: Alert, named: Mapping[Alert, set[str]]) -> bool:
    """Tell whether the messages that ``begin`` names, and those that they name in turn, come to ``end``."""
    seen, ahead = set[Alert](), [begin]
    while ahead:
        one = ahead.pop()
        if one in seen:
            continue
        seen.add(one)
        if end.id in named[one]:
            return True
        ahead += [other for other in named if other.id in named[one]]
    return False


def _begin(alert: Alert) -> datetime:
    return alert.onset or alert.effective or alert.sent


def _end(alert: Alert) -> datetime | None:
    """End of the event; the later one where the ends given contradict the begin. None: not known."""
    end = alert.ends or alert.expires
    if end is None or not _ends_too_early(alert, end):
        return end
    later = max(one for one in (alert.ends, alert.expires) if one is not None)
    return None if _ends_too_early(alert, later) else later


def _ends_too_early(alert: Alert, end: datetime) -> bool:
    return end <= _begin(alert) or end <= alert.sent


def _odd_times(alert: Alert) -> bool:
    end = alert.ends or alert.expires
    return end is not None and _ends_too_early(alert, end)


def _counts(alert: Alert, now: datetime) -> bool:
    end = _end(alert)
    return end is None or end > now


def _active(alert: Alert, here: Sequence[Alert], now: datetime) -> ActiveAlert:
    odd = _odd_times(alert) or alert.sent > now + AHEAD  # what is listed now was not sent later
    given = [one for one in (alert.sent, alert.effective, alert.onset, alert.ends, alert.expires) if one is not None]
    begin = min(*given, now) if odd else _begin(alert)  # nobody knows when it begins: it is listed, so it counts
    areas = (alert.area,) if alert.area else ()
    twin = any(one.id == alert.id and one != alert for one in here)
    return ActiveAlert(
        alert, begin, _end(alert), areas, (alert.id,), expired_text=_text_over(alert, now), odd_times=odd, twin=twin
    )


def _text_over(alert: Alert, now: datetime) -> bool:
    return alert.expires is not None and alert.expires <= now


def _kept(previous: ResolvedAlerts | None, live: Sequence[Alert], gone: set[Alert], now: datetime) -> list[ActiveAlert]:
    """Earlier alerts that neither this reading nor their end has taken away.

    One that is listed again is judged as listed; one whose id now stands for something else is kept beside it.
    """
    taken = {(alert.id, alert.event) for alert in gone}
    again = {(alert.id, alert.event, _begin(alert), _end(alert)) for alert in live}
    listed_now = set(live)
    kept = []
    for old in previous.active if previous else ():
        end = old.end or old.alert.sent + ENDLESS
        names = [(one, old.alert.event) for one in old.merged_ids]
        joined = [name for name in names if name[0] != old.alert.id]
        listed = old.alert in listed_now or any((*one, _begin(old.alert), _end(old.alert)) in again for one in joined)
        if end > now and not listed and not all(name in taken for name in names):
            kept.append(replace(old, end=end, vanished=True, expired_text=_text_over(old.alert, now)))
    return kept


def _merged(alerts: Sequence[ActiveAlert]) -> list[ActiveAlert]:
    """Print once what came several times: all that a level can rest on is the same; the most severe, newest leads."""
    groups: dict[tuple[object, ...], list[ActiveAlert]] = {}
    for one in alerts:
        told = plain_words(f"{one.alert.description} {one.alert.instruction} {one.alert.headline} {one.alert.further}")
        kind = (plain_words(one.alert.event), one.alert.event_codes, one.alert.urgency.strip().casefold())
        key = (*kind, one.begin, one.end, one.alert.issued_by, told)
        groups.setdefault(key, []).append(one)
    out = []
    for group in groups.values():
        lead = max(group, key=lambda a: (_severity(a.alert), a.alert.sent, a.alert.id))
        areas = tuple(dict.fromkeys(area for one in group for area in one.areas))
        ids = tuple(dict.fromkeys(id_ for one in group for id_ in one.merged_ids))
        out.append(replace(lead, areas=areas, merged_ids=ids))
    return out


def _misses(rings: Sequence[Ring], lake_rings: Sequence[Ring]) -> bool:
    """Tell whether an alert's area can be shown to miss the lake: it is sound, near, and touches no ring of it.

    Rings are (longitude, latitude) in degrees. An alert without an area, or a lake without a place, is never missed;
    nor does an area rule anything out that is wider than `WIDE_DEG` or further off than `FAR_DEG`.
    """
    if not rings or not lake_rings or rings_touch(rings, lake_rings):
        return False
    from shapely.geometry import MultiPoint

    lake = MultiPoint([point for ring in lake_rings for point in ring]).envelope
    for ring in rings:
        area = MultiPoint(_westward(ring)).envelope
        west, south, east, north = area.bounds
        if max(east - west, north - south) > WIDE_DEG or area.distance(lake) > FAR_DEG:
            return False
    return True


def _elsewhere(alert: Alert, lake_rings: Sequence[Ring]) -> bool:
    """Tell whether an alert can be shown to miss the lake. A point's own list is believed before a distant polygon."""
    if not _misses(alert.rings, lake_rings):
        return False
    return not alert.at_point or _within_reach(alert.rings, lake_rings)


def _within_reach(rings: Sequence[Ring], lake_rings: Sequence[Ring]) -> bool:
    """Tell whether some ring lies within `NEAR_KM` of the lake; true where no place is given or a ring is broken."""
    if not rings or not lake_rings or rings_touch(rings, lake_rings):
        return True
    from shapely.geometry import MultiPoint, Polygon

    points = [point for ring in lake_rings for point in ring]
    plane = LocalPlane(points[0][1], points[0][0])

    def flat(ring: Sequence[tuple[float, float]]) -> Any:
        return plane.to_xy([y for _, y in ring], [x for x, _ in ring])

    lake = MultiPoint(flat(points))
    return any(Polygon(flat(ring)).distance(lake) <= 1000.0 * NEAR_KM for ring in rings)


def _surely_over(rings: Sequence[Ring], lake_rings: Sequence[Ring]) -> bool:
    """Tell whether an area can be shown to be over the lake; true where none is given: it is then told by name."""
    if not rings or not lake_rings:
        return True
    areas = [_sound(ring) for ring in rings]
    if any(area is None for area in areas):
        return False
    return any(area.intersects(lake) for area in areas for lake in _waters(lake_rings) if area is not None)


def rings_touch(rings: Sequence[Ring], lake_rings: Sequence[Ring]) -> bool:
    """Tell whether any alert ring shares a point with any lake ring; both (longitude, latitude) in degrees.

    Longitudes counted from 0 to 360 are mended. A ring that is broken, crosses itself or encloses nothing counts as
    touching: a polygon that can't be read rules nothing out.
    """
    lakes = _waters(lake_rings)
    for ring in rings:
        area = _sound(ring)
        if area is None or any(area.intersects(lake) for lake in lakes):
            return True
    return False


def _waters(lake_rings: Sequence[Ring]) -> list[Any]:
    from shapely import make_valid
    from shapely.geometry import MultiPoint, Polygon

    return [make_valid(Polygon(ring)) if len(ring) > 3 else MultiPoint(ring) for ring in lake_rings]


def _sound(ring: Ring) -> Any:
    """The area of a ring; None where its numbers can't be true or it encloses nothing."""
    from shapely.geometry import Polygon

    points = _westward(ring)
    if len(set(points)) < 3 or not all(isfinite(x) and abs(x) <= 180.0 and abs(y) <= 90.0 for x, y in points):
        return None
    area = Polygon(points)
    return area if area.is_valid and area.area >= LEAST_DEG2 else None


def _westward(ring: Ring) -> list[tuple[float, float]]:
    return [(x - 360.0 if x > 180.0 else x, y) for x, y in ring]
