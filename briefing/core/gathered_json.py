"""A ``Gathered`` as JSON text and back: lossless and deterministic, missing values as null."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, TypeVar

import numpy as np

from briefing.core.alerts import Alert, AlertFeed
from briefing.core.gathered import Gathered, Problem, RequestRecord, SeenBody, SourceMemory
from briefing.core.hours import HourField, HourSeries, Origin
from briefing.core.readings import DailyAir, LevelReading, WaterReading, WindReading
from briefing.vocabulary import Zone

SCHEMA = 1
T = TypeVar("T")


def to_json(gathered: Gathered) -> str:
    """Write ``gathered`` as compact JSON with sorted keys; the same input gives the same bytes."""
    body = {
        "schema": SCHEMA,
        "hours": _series_out(gathered.hours),
        "raw": {name: _series_out(series) for name, series in gathered.raw.items()},
        "air": _air_out(gathered.air),
        "alerts": _plain(gathered.alerts),
        "wind_now": [_plain(reading) for reading in gathered.wind_now],
        "water": [_plain(reading) for reading in gathered.water],
        "level": [_plain(reading) for reading in gathered.level],
        "problems": [_plain(problem) for problem in gathered.problems],
        "credits": list(gathered.credits),
        "requests": [_plain(record) for record in gathered.requests],
        "retrieved_at": gathered.retrieved_at.isoformat(),
        "thunder_service_exists": gathered.thunder_service_exists,
        "memory": _plain(gathered.memory),
        "notes": list(gathered.notes),
    }
    return json.dumps(body, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)


def from_json(text: str) -> Gathered:
    """Read what ``to_json`` wrote; raises ValueError when it is something else or of another schema."""
    try:
        body = json.loads(text)
        if body["schema"] != SCHEMA:
            raise ValueError(f"stored inputs have schema {body['schema']!r}, this program reads {SCHEMA}")
        return _gathered(body)
    except (KeyError, TypeError, AttributeError, IndexError) as error:
        raise ValueError(f"stored inputs could not be read: {error!r}") from error


@dataclass(frozen=True)
class Observed:
    """The part of stored inputs that later mornings check: the hours as forecast, and the winds of then."""

    hours: HourSeries
    wind_now: tuple[WindReading, ...]
    retrieved_at: datetime


def observed_from_json(text: str) -> Observed | None:
    """Read only what a check of the forecast needs; None where the text is of another schema or damaged."""
    try:
        body = json.loads(text)
        if body["schema"] != SCHEMA:
            return None
        winds = tuple(_make(WindReading, row, ("time",)) for row in body["wind_now"])
        return Observed(_series_in(body["hours"]), winds, datetime.fromisoformat(body["retrieved_at"]))
    except (ValueError, KeyError, TypeError, AttributeError, IndexError):
        return None


def _gathered(body: Mapping[str, Any]) -> Gathered:
    return Gathered(
        hours=_series_in(body["hours"]),
        raw={name: _series_in(series) for name, series in body["raw"].items()},
        air=_air_in(body["air"]),
        alerts=_feed_in(body["alerts"]),
        wind_now=tuple(_make(WindReading, row, ("time",)) for row in body["wind_now"]),
        water=tuple(_make(WaterReading, {**row, "zone": Zone(row["zone"])}, ("time",)) for row in body["water"]),
        level=tuple(_make(LevelReading, row, ("time",)) for row in body["level"]),
        problems=tuple(_make(Problem, row) for row in body["problems"]),
        credits=tuple(body["credits"]),
        requests=tuple(_make(RequestRecord, row) for row in body["requests"]),
        retrieved_at=datetime.fromisoformat(body["retrieved_at"]),
        thunder_service_exists=bool(body["thunder_service_exists"]),
        memory=_memory_in(body["memory"]),
        notes=tuple(body["notes"]),
    )


def _memory_in(row: Mapping[str, Any]) -> SourceMemory:
    seen = tuple(_make(SeenBody, one, ("first_at",)) for one in row.get("seen", ()))
    lists = {"alert_zones": tuple(row["alert_zones"]), "seen": seen}
    return _make(SourceMemory, {**row, **lists}, ("points_at", "no_nws_at", "grid_issued"))


def _plain(value: Any) -> Any:
    """Turn a dataclass of scalars, instants and tuples into what JSON holds."""
    if hasattr(value, "__dataclass_fields__"):
        return {name: _plain(getattr(value, name)) for name in value.__dataclass_fields__}
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    return value


def _make(kind: Callable[..., T], row: Mapping[str, Any], instants: tuple[str, ...] = ()) -> T:
    times = {name: None if row[name] is None else datetime.fromisoformat(row[name]) for name in instants}
    return kind(**{**row, **times})


def _numbers_out(values: Any) -> list[float | None]:
    return [None if math.isnan(value) else value for value in values.tolist()]


def _numbers_in(values: list[float | None]) -> Any:
    return np.array([math.nan if value is None else value for value in values], dtype=float)


def _runs(values: list[int]) -> list[list[int]]:
    """Run lengths: [[value, count], ...]; origins and damage marks change rarely."""
    out: list[list[int]] = []
    for value in values:
        if out and out[-1][0] == value:
            out[-1][1] += 1
        else:
            out.append([value, 1])
    return out


def _spread(runs: list[list[int]]) -> list[int]:
    return [value for value, count in runs for _ in range(count)]


def _series_out(series: HourSeries) -> dict[str, Any]:
    fields = {
        name: {
            "values": _numbers_out(value.values),
            "origin": _runs([int(number) for number in value.origin_index]),
            "origins": [_plain(origin) for origin in value.origins],
            "damaged": _runs([int(mark) for mark in value.damaged]),
        }
        for name, value in series.fields.items()
    }
    return {"start": series.start.isoformat(), "hours": series.hours, "fields": fields}


def _series_in(body: Mapping[str, Any]) -> HourSeries:
    fields = {
        name: HourField(
            _numbers_in(value["values"]),
            np.array(_spread(value["origin"]), dtype=np.int16),
            tuple(_make(Origin, origin, ("issued", "retrieved")) for origin in value["origins"]),
            np.array(_spread(value["damaged"]), dtype=bool),
        )
        for name, value in body["fields"].items()
    }
    return HourSeries(datetime.fromisoformat(body["start"]), int(body["hours"]), fields)


def _air_out(air: DailyAir) -> dict[str, Any]:
    return {
        "start": air.start.isoformat(),
        "mean_c": _numbers_out(air.mean_c),
        "kind": list(air.kind),
        "lead_days": [int(lead) for lead in air.lead_days],
        "source": air.source,
        "name": air.name,
    }


def _air_in(body: Mapping[str, Any]) -> DailyAir:
    return DailyAir(
        date.fromisoformat(body["start"]),
        _numbers_in(body["mean_c"]),
        tuple(body["kind"]),
        np.array(body["lead_days"], dtype=np.int16),
        body["source"],
        body["name"],
    )


def _feed_in(body: Mapping[str, Any]) -> AlertFeed:
    alerts = tuple(
        _make(
            Alert,
            {
                **row,
                "references": tuple(row["references"]),
                "event_codes": tuple(row["event_codes"]),
                "rings": tuple(tuple((point[0], point[1]) for point in ring) for ring in row["rings"]),
            },
            ("sent", "effective", "onset", "expires", "ends"),
        )
        for row in body["alerts"]
    )
    return _make(AlertFeed, {**body, "alerts": alerts, "dropped": tuple(body["dropped"])}, ("checked_at",))
