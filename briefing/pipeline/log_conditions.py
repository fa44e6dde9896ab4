"""Conditions at the time of a log entry, each with where it comes from, out of what is stored for the lake."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

import numpy as np

from briefing.core.gathered_json import Observed, observed_from_json
from briefing.core.log.records import Condition
from briefing.pipeline.keep import TRADE_SCORES
from briefing.profile.model import LakeProfile
from briefing.store import Store
from briefing.store.records import ReadingKind

#: A wind seen or measured counts for this long either way, a water temperature and a visibility for longer.
WIND_NEAR = timedelta(minutes=90)
WATER_NEAR = timedelta(hours=6)
VISIBILITY_NEAR = timedelta(days=3)
#: Stored inputs and briefings made up to so long after the entry still speak of its time.
MADE_AFTER = timedelta(hours=3)
#: A briefing older than this says nothing of an entry.
TOO_OLD = timedelta(hours=30)
_HOURLY = {"air_c": "air_c", "cloud_pct": "cloud_pct", "pressure_hpa": "pressure_hpa", "precip_mm": "precip_mm"}


@dataclass(frozen=True)
class Around:
    """What is known of the time of an entry.

    planned: ids of the choices that the day's briefing gave, by spot name. trade: the trade's score by spot id and
    presentation, empty when the day kept none. stop: the spot where the plan had the angler at that time.
    """

    conditions: Mapping[str, Condition] = field(default_factory=dict)
    planned: Mapping[str, frozenset[str]] = field(default_factory=dict)
    trade: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    stop: str = ""

    def prior(self, spot_id: str, presentation: str) -> float | None:
        """The trade's score at a spot (at any spot when it is not named), None where it is not known."""
        at = [self.trade[spot_id]] if spot_id in self.trade else list(self.trade.values())
        known = [scores[presentation] for scores in at if presentation in scores]
        return sum(known) / len(known) if known else None

    def was_planned(self, spot: str, presentation: str) -> bool | None:
        """True when the day's briefing chose it there; None when there was no briefing or no presentation."""
        if not self.planned or not presentation:
            return None
        return presentation in self.planned.get(spot, frozenset().union(*self.planned.values()))


def around(store: Store, profile: LakeProfile, time: datetime) -> Around:
    """Read what is stored about a time at a lake. The user's own readings win, then stations, then the forecast."""
    briefing = _briefing(store, profile, time)
    stored = store.last_gathered(profile.id, time + MADE_AFTER)
    observed = None if stored is None else observed_from_json(stored.text)
    conditions = {**_from_briefing(briefing), **_hour(observed, time), **_entered(store, profile, time)}
    planned, stop = _plan(briefing, time)
    return Around(conditions, planned, _trade(store, profile, time), stop)


def _briefing(store: Store, profile: LakeProfile, time: datetime) -> dict[str, Any]:
    stored = store.last_briefing(profile.id, time + MADE_AFTER)
    if stored is None or time - stored.made_at > TOO_OLD:
        return {}
    try:
        body = json.loads(stored.text)
    except ValueError:
        return {}
    return body if isinstance(body, dict) else {}


def _from_briefing(body: Mapping[str, Any]) -> dict[str, Condition]:
    out: dict[str, Condition] = {}
    try:
        for name, quantity in (("water_c", body["water"]["temperature"]), ("secchi_m", body["water"]["clarity"])):
            if quantity["value"] is not None:
                out[name] = Condition(float(quantity["value"]), quantity["kind"], quantity["source"])
        shares = body["season"][0]["shares"]
        if shares:
            leading = max(shares, key=lambda row: row["share"])
            out["phase"] = Condition(leading["phase"], "modelled", "the day's briefing")
    except (KeyError, TypeError, IndexError, ValueError):
        return out
    return out


def _hour(observed: Observed | None, time: datetime) -> dict[str, Condition]:
    """Hourly values of the stored forecast, and the wind of the nearest station when it was measured near the time."""
    if observed is None:
        return {}
    hours, index = observed.hours, observed.hours.index_of(time)
    names = {**_HOURLY, "wind_mps": "wind_mps", "gust_mps": "gust_mps", "wind_from_deg": "wind_from_deg"}
    out: dict[str, Condition] = {}
    for name, field_name in names.items():
        column = hours[field_name]
        if 0 <= index < hours.hours and not np.isnan(column.values[index]):
            origin = column.origin_at(index)
            if origin is not None:
                out[name] = Condition(float(column.values[index]), origin.kind, origin.name)
    for wind in reversed(observed.wind_now):  # nearest first, so the nearest is written last
        if abs(wind.time - time) <= WIND_NEAR and wind.wind_mps is not None:
            out["wind_mps"] = Condition(wind.wind_mps, "observed", wind.name)
            if wind.wind_from_deg is not None:
                out["wind_from_deg"] = Condition(wind.wind_from_deg, "observed", wind.name)
            if wind.gust_mps is not None:
                out["gust_mps"] = Condition(wind.gust_mps, "observed", wind.name)
    return out


def _entered(store: Store, profile: LakeProfile, time: datetime) -> dict[str, Condition]:
    """The user's own readings near the time; the nearest of each kind."""
    wanted = {
        ReadingKind.WIND: (
            WIND_NEAR,
            {"wind_mps": "wind_mps", "gust_mps": "gust_mps", "wind_from_deg": "wind_from_deg"},
        ),
        ReadingKind.WATER_TEMP: (WATER_NEAR, {"water_c": "temperature_c"}),
        ReadingKind.VISIBILITY: (VISIBILITY_NEAR, {"secchi_m": "visibility_m"}),
        ReadingKind.COLOUR: (VISIBILITY_NEAR, {"water_colour": "colour"}),
    }
    readings = store.list_readings(
        profile.id, kinds=list(wanted), since=time - VISIBILITY_NEAR, until=time + WATER_NEAR
    )
    out: dict[str, Condition] = {}
    for reading in sorted(readings, key=lambda one: -abs((one.time - time).total_seconds())):
        near, values = wanted[reading.kind]
        if abs(reading.time - time) > near:
            continue
        for name, key in values.items():
            if reading.values.get(key) is not None:
                out[name] = Condition(reading.values[key], "entered", "your reading")
    return out


def _plan(body: Mapping[str, Any], time: datetime) -> tuple[dict[str, frozenset[str]], str]:
    """Choices by spot name, and the spot of the stop that holds the time."""
    planned: dict[str, set[str]] = {}
    stop = ""
    try:
        for block in body["plan"]["blocks"]:
            for one in block["stops"]:
                planned.setdefault(one["spot"], set()).update(choice["id"] for choice in one["choices"])
                if datetime.fromisoformat(one["begin"]) <= time < datetime.fromisoformat(one["end"]):
                    stop = one["spot"]
    except (KeyError, TypeError, ValueError):
        return {}, ""
    return {spot: frozenset(ids) for spot, ids in planned.items()}, stop


def _trade(store: Store, profile: LakeProfile, time: datetime) -> Mapping[str, Mapping[str, float]]:
    kept = store.learned(profile.id, TRADE_SCORES)
    if not isinstance(kept, dict) or kept.get("day") != time.astimezone(profile.zone).date().isoformat():
        return {}
    spots = kept.get("spots")
    return spots if isinstance(spots, dict) else {}
