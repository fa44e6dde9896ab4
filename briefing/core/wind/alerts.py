"""Official alerts: which are in force over the lake, now or later.

Alerts are read, never recomputed from thresholds. "Could not be checked" is a state of its own, and a warning that
vanished without a cancel stays until its end.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from briefing.core.alerts import Alert, AlertFeed, Ring

#: A message without any end counts this long after it was sent, once it is no longer listed.
ENDLESS = timedelta(hours=24)
_SEVERITY = ("unknown", "minor", "moderate", "severe", "extreme")


@dataclass(frozen=True)
class ActiveAlert:
    """An alert in force now or later over the lake.

    begin is ``onset``, else ``effective``, else ``sent``; end is ``ends``, else ``expires``, None when neither is
    given. areas joins the areas of merged duplicates, merged_ids their ids. vanished: no longer listed though never
    cancelled, so it stays until its end. expired_text: the message's life is over, the event's is not.
    """

    alert: Alert
    begin: datetime
    end: datetime | None
    areas: tuple[str, ...]
    merged_ids: tuple[str, ...]
    vanished: bool = False
    expired_text: bool = False

    def overlaps(self, begin: datetime, end: datetime) -> bool:
        """Tell whether the event touches [begin, end)."""
        return self.begin < end and (self.end is None or self.end > begin)


@dataclass(frozen=True)
class ResolvedAlerts:
    """Alerts that count for the lake, worst severity first, and whether they could be read.

    checked_at is the instant of the last reading that succeeded (None: never). problem says why this reading failed;
    empty when it did not. tests_dropped counts messages that were not Actual, elsewhere those whose polygon misses
    the lake; cancelled holds the ids of alerts that an official Cancel took back.
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
    cancelled: tuple[str, ...] = ()

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
    replaced = _replaced(actual)
    live = [a for a in actual if a.id not in replaced and not _is(a.message_type, "cancel")]
    here = [a for a in live if not a.rings or not lake_rings or rings_touch(a.rings, lake_rings)]
    listed = {alert.id for alert in actual} | replaced
    kept = _kept(previous, listed, now)
    active = _merged([_active(alert, now) for alert in here if _counts(alert, now)]) + kept
    cancels = [alert for alert in actual if _is(alert.message_type, "cancel")]
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
        cancelled=tuple(sorted({ref for alert in cancels for ref in _references(alert)})),
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


def _replaced(alerts: Sequence[Alert]) -> set[str]:
    chained = [a for a in alerts if _is(a.message_type, "update") or _is(a.message_type, "cancel")]
    return {ref for alert in chained for ref in _references(alert) if ref != alert.id}


def _begin(alert: Alert) -> datetime:
    return alert.onset or alert.effective or alert.sent


def _end(alert: Alert) -> datetime | None:
    return alert.ends or alert.expires


def _counts(alert: Alert, now: datetime) -> bool:
    end = _end(alert)
    return end is None or end > now


def _active(alert: Alert, now: datetime) -> ActiveAlert:
    end, begin = _end(alert), _begin(alert)
    if end is not None and begin >= end:
        begin = min(alert.sent, now)  # an impossible start: in force until its end
    text_over = alert.expires is not None and alert.expires <= now
    return ActiveAlert(alert, begin, end, (alert.area,) if alert.area else (), (alert.id,), expired_text=text_over)


def _kept(previous: ResolvedAlerts | None, listed: set[str], now: datetime) -> list[ActiveAlert]:
    """Earlier alerts that neither this reading nor their end has taken away."""
    kept = []
    for old in previous.active if previous else ():
        end = old.end or old.alert.sent + ENDLESS
        if end > now and not listed.intersection(old.merged_ids):
            kept.append(replace(old, end=end, vanished=True, expired_text=_text_over(old, now)))
    return kept


def _text_over(old: ActiveAlert, now: datetime) -> bool:
    return old.alert.expires is not None and old.alert.expires <= now


def _merged(alerts: Sequence[ActiveAlert]) -> list[ActiveAlert]:
    """Print once what came several times: same event, times and office; the newest, most severe message leads."""
    groups: dict[tuple[object, ...], list[ActiveAlert]] = {}
    for one in alerts:
        groups.setdefault((one.alert.event.casefold(), one.begin, one.end, one.alert.issued_by), []).append(one)
    out = []
    for group in groups.values():
        lead = max(group, key=lambda a: (_severity(a.alert), a.alert.sent, a.alert.id))
        areas = tuple(dict.fromkeys(area for one in group for area in one.areas))
        ids = tuple(dict.fromkeys(id_ for one in group for id_ in one.merged_ids))
        out.append(replace(lead, areas=areas, merged_ids=ids))
    return out


def rings_touch(rings: Sequence[Ring], lake_rings: Sequence[Ring]) -> bool:
    """Tell whether any alert ring shares a point with any lake ring; both (longitude, latitude).

    Broken rings count as touching: a polygon that can't be read rules nothing out.
    """
    for ring in rings:
        area = np.asarray(ring, float)
        if len(area) < 3 or not np.isfinite(area).all():
            return True
        for lake in lake_rings:
            if _touch(area, np.asarray(lake, float)):
                return True
    return False


def _touch(area: NDArray[np.float64], lake: NDArray[np.float64]) -> bool:
    apart = (area.max(axis=0) < lake.min(axis=0)) | (area.min(axis=0) > lake.max(axis=0))
    if apart.any():
        return False
    if _holds(area, lake).any():
        return True
    return len(lake) >= 3 and (bool(_holds(lake, area).any()) or _edges_cross(area, lake))


def _holds(ring: NDArray[np.float64], points: NDArray[np.float64]) -> NDArray[np.bool_]:
    start, end = ring, np.roll(ring, -1, axis=0)
    x, y = points[:, :1], points[:, 1:]
    spans = (start[:, 1] > y) != (end[:, 1] > y)
    rise = np.where(end[:, 1] == start[:, 1], 1.0, end[:, 1] - start[:, 1])
    crossed = x < start[:, 0] + (y - start[:, 1]) * (end[:, 0] - start[:, 0]) / rise
    return np.asarray(np.count_nonzero(spans & crossed, axis=1) % 2 == 1)


def _edges_cross(one: NDArray[np.float64], two: NDArray[np.float64]) -> bool:
    a, b = one[:, None], np.roll(one, -1, axis=0)[:, None]
    c, d = two[None], np.roll(two, -1, axis=0)[None]

    def side(p: NDArray[np.float64], q: NDArray[np.float64], r: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(
            (q[..., 0] - p[..., 0]) * (r[..., 1] - p[..., 1]) - (q[..., 1] - p[..., 1]) * (r[..., 0] - p[..., 0])
        )

    return bool(((side(a, b, c) * side(a, b, d) <= 0.0) & (side(c, d, a) * side(c, d, b) <= 0.0)).any())
