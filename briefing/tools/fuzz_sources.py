"""Structural fuzzing of the body parsers: ``python -m briefing.tools.fuzz_sources --seeds 100000``.

Each seed takes one composed body, changes its structure, types, units, sentinels or length in one to three places, and
parses it. No change turns one plausible value into another. It fails when a parser raises, or when the damaged body
shows less of a hazard than the sound one: a value must stay, rise, or become missing; a gust that vanished while its
wind stayed must be marked damaged unless it was plainly left out; a list of warnings that lost anything must not be
readable.
"""

from __future__ import annotations

import argparse
import json
import random
import sys
from collections.abc import Callable, Sequence
from copy import deepcopy
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np

from briefing.core.alerts import AlertFeed
from briefing.core.hours import HourSeries
from briefing.sources import metar, ndbc, nws, nws_alerts, nws_observations, nws_text, open_meteo, usgs
from briefing.sources.bodies import plausible_limits
from briefing.sources.observed import ParsedWind

NOW = datetime(2026, 7, 1, 12, tzinfo=UTC)
PLACE = (45.0, -93.0)
HAZARDS = ("wind_mps", "gust_mps", "thunder_pct", "lightning_level", "thunder_words_pct", "weather_code")
_JUNK: tuple[Any, ...] = (
    "x",
    True,
    [],
    {},
    [[]],
    10**40,
    "1e999",
    "12 parsecs",
    -999999,
    "-999999",
    99999,
    "MM",
    "NaN",
)
_SENTINELS: tuple[Any, ...] = (-999999, "-999999", 99999, "MM", -9999.0)
_UNIT_KEYS = frozenset({"uom", "unitCode", "unit_of_measure", "temperatureUnit"})
_LEFT_OUT = frozenset({"remove", "null", "rename"})
#: Text that no parser can check: any string there is as plausible as another.
_FREE_TEXT = frozenset({"id", "stationName", "name", "event", "headline", "rawMessage"})
_EPS = 1e-9


@dataclass
class Mutant:
    """A changed body and what was done to it: (kind, path) of each change."""

    body: bytes
    changes: list[tuple[str, tuple[Any, ...]]] = field(default_factory=list)

    def left_out(self, *words: str) -> bool:
        """Tell whether something under any of ``words`` was plainly left out, not damaged."""
        return any(kind in _LEFT_OUT and set(words) & set(map(str, path)) for kind, path in self.changes)


def mutate(body: bytes, rng: random.Random, is_json: bool) -> Mutant:
    """Change a body in one to three places; now and then cut or spoil its bytes instead."""
    if not is_json or rng.random() < 0.08:
        return _spoil_bytes(body, rng)
    data = json.loads(body)
    mutant = Mutant(b"")
    for _ in range(rng.choice((1, 1, 1, 2, 3))):
        paths = _paths(data)
        if not paths:
            break
        path = rng.choice(paths)
        kind = rng.choice(
            ("remove", "null", "type", "type", "sentinel", "unit", "insert", "repeat", "rename", "wrap", "unwrap")
        )
        if _change(data, path, kind, rng):
            mutant.changes.append((kind, path))
    mutant.body = json.dumps(data).encode()
    return mutant


def _spoil_bytes(body: bytes, rng: random.Random) -> Mutant:
    at = rng.randrange(len(body))
    kind = rng.choice(("cut", "cut", "page", "letter", "empty"))
    spoiled = {
        "cut": body[:at],
        "page": b"<html><body>Bad Gateway</body></html>",
        "letter": body[:at] + b"\xff\xfe" + body[at:],
        "empty": b"",
    }[kind]
    return Mutant(spoiled, [(kind, (at,))])


def _paths(data: Any, above: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    items = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    out: list[tuple[Any, ...]] = []
    for key, value in items:
        out += [(*above, key), *_paths(value, (*above, key))]
    return out


def _change(data: Any, path: tuple[Any, ...], kind: str, rng: random.Random) -> bool:
    """Make one change in place; False when it does not apply there or would make another plausible body."""
    holder = data
    for key in path[:-1]:
        holder = holder[key]
    key, value = path[-1], holder[path[-1]]
    in_list = isinstance(holder, list)
    if path == ("features",) and kind in ("type", "sentinel"):
        holder[key] = rng.choice(("x", 5, True, {}))  # an empty list would be a sound answer
    elif kind == "remove":
        if in_list and path[0] == "features":
            return False  # one message or value less is a sound answer too
        del holder[key]
    elif kind == "null":
        holder[key] = None
    elif kind in ("type", "sentinel"):
        junk = deepcopy(rng.choice(_JUNK if kind == "type" else _SENTINELS))
        if key in _FREE_TEXT and isinstance(junk, str):
            return False
        if value == [] or (isinstance(value, list) and junk == []):
            return False
        holder[key] = junk
    elif kind == "unit":
        if key not in _UNIT_KEYS and "hourly_units" not in path:
            return False
        holder[key] = rng.choice(("furlong", "wmoUnit:furlong", "nwsUnit:km_h-1", "", 5, None))
    elif kind == "insert":
        if not isinstance(value, list):
            return False
        value.insert(rng.randint(0, len(value)), deepcopy(rng.choice(("x", None, {}, [], True))))
    elif kind == "repeat":
        if not in_list:
            return False
        holder.insert(key, deepcopy(value))
    elif kind == "rename":
        if in_list:
            return False
        holder[f"{key}_x"] = holder.pop(key)
    elif kind == "wrap":
        holder[key] = rng.choice(([value], {"value": value}))
    else:
        inner = list(value.values()) if isinstance(value, dict) else value if isinstance(value, list) else []
        if not inner:
            return False
        holder[key] = inner[0]
    return True


# -- what must hold ---------------------------------------------------------------------------------------------------


class WeakenedError(AssertionError):
    """A damaged body showed less of a hazard than the sound one."""


def _check_hours(sound: HourSeries, found: HourSeries | None, mutant: Mutant) -> None:
    if found is None:
        return
    found = found.window(sound.start, sound.start + timedelta(hours=sound.hours))
    for name in HAZARDS:
        before, after = sound.values(name), found[name]
        with np.errstate(invalid="ignore"):
            if (after.values < before - _EPS).any():
                raise WeakenedError(f"{name} fell")
        if (after.damaged & np.isfinite(after.values)).any():
            raise WeakenedError(f"{name} is damaged and has a value")
    gust, wind = found["gust_mps"], found.values("wind_mps")
    vanished = np.isfinite(sound.values("gust_mps")) & np.isnan(gust.values) & ~gust.damaged & np.isfinite(wind)
    if vanished.any() and not mutant.left_out("windGust", "wind_gusts_10m", "properties", "hourly", "periods"):
        raise WeakenedError("a gust was damaged and passes for absent")


def _check_feed(sound: AlertFeed, found: AlertFeed, mutant: Mutant) -> None:
    if not found.readable:
        return
    if len(found.alerts) < len(sound.alerts):
        raise WeakenedError("a readable feed lost a warning")
    if mutant.left_out("ends", "expires"):
        return
    lasts = [min(end for alert in feed.alerts if (end := alert.ends or alert.expires)) for feed in (sound, found)]
    if lasts[1] < lasts[0]:
        raise WeakenedError("a warning of a readable feed ends earlier")


def _check_wind(sound: ParsedWind, found: ParsedWind, mutant: Mutant) -> None:
    for before, after in zip(sound.readings, found.readings, strict=False):
        if after.wind_mps is None and not found.problems:
            raise WeakenedError("an observed wind was lost without a word")
        if after.wind_mps is not None and after.wind_mps < (before.wind_mps or 0.0) - _EPS:
            raise WeakenedError("the observed wind fell")
        if before.gust_mps is None:
            continue
        if after.gust_mps is None and not found.serious and not mutant.left_out("windGust", "wgst", "properties"):
            raise WeakenedError("an observed gust was damaged and passes for absent")
        if after.gust_mps is not None and after.gust_mps < before.gust_mps - _EPS:
            raise WeakenedError("the observed gust fell")


def _check_water(sound: usgs.ParsedWater, found: usgs.ParsedWater, _: Mutant) -> None:
    known = {round(one.temperature_c, 6) for one in sound.water}
    if any(round(one.temperature_c, 6) not in known for one in found.water):
        raise WeakenedError("a water temperature came from nowhere")
    levels = {round(one.level_m or 0.0, 6) for one in sound.level}
    if any(round(one.level_m or 0.0, 6) not in levels for one in found.level):
        raise WeakenedError("a water level came from nowhere")


# -- the parsers ------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Target:
    """A parser with its body's file and what must hold of its result."""

    file: str
    parse: Callable[[bytes], Any]
    check: Callable[[Any, Any, Mutant], None]


def _grid(body: bytes) -> HourSeries | None:
    return nws.parse_grid(body, NOW, plausible_limits()).series


def _text(body: bytes) -> HourSeries | None:
    return nws_text.parse_hourly(body, NOW, plausible_limits()).series


def _model(body: bytes) -> HourSeries | None:
    return open_meteo.parse_hours(body, NOW, PLACE, timedelta(hours=6), plausible_limits()).series


def _station(body: bytes) -> ParsedWind:
    return nws_observations.parse_observations(body, "KZZZ", PLACE, plausible_limits(), NOW)


def _airport(body: bytes) -> ParsedWind:
    return metar.parse_reports(body, PLACE, plausible_limits(), NOW)


def _buoy(body: bytes) -> ParsedWind:
    found = ndbc.parse_buoy(body, "45999", plausible_limits(), NOW)
    return ParsedWind(found.winds, found.problems, found.serious)


def _water(body: bytes) -> usgs.ParsedWater:
    values, _ = usgs.parse_values(body, ZoneInfo("America/Chicago"), plausible_limits())
    usgs.next_page(body)
    return usgs.readings_of(values, usgs.parse_sensors(body), NOW - timedelta(days=30), plausible_limits())


def _old_water(body: bytes) -> usgs.ParsedWater:
    values, sensors, _ = usgs.parse_legacy(body, ZoneInfo("America/Chicago"), plausible_limits())
    return usgs.readings_of(values, sensors, NOW - timedelta(days=30), plausible_limits())


def _no_check(sound: Any, found: Any, mutant: Mutant) -> None:
    """Nothing must hold of lists of links and names but that they don't raise."""


TARGETS = (
    Target("nws_grid.json", _grid, _check_hours),
    Target("nws_hourly.json", _text, _check_hours),
    Target("open_meteo.json", _model, _check_hours),
    Target("nws_alerts.json", lambda body: nws_alerts.parse_alerts(body, NOW), _check_feed),
    Target("nws_observation.json", _station, _check_wind),
    Target("metar.json", _airport, _check_wind),
    Target("ndbc.txt", _buoy, _check_wind),
    Target("usgs_latest.json", _water, _check_water),
    Target("usgs_daily.json", _water, _check_water),
    Target("usgs_legacy.json", _old_water, _check_water),
    Target("nws_points.json", nws.parse_points, _no_check),
    Target("nws_stations.json", nws_observations.parse_stations, _no_check),
)


@lru_cache(maxsize=64)
def _sound(path: Path, number: int) -> tuple[bytes, Any]:
    body = path.read_bytes()
    return body, TARGETS[number].parse(body)


def run_seed(seed: int, bodies: Path) -> str:
    """Run one seed; returns "" when all holds, else one line that says what went wrong."""
    rng = random.Random(seed)
    number = rng.randrange(len(TARGETS))
    target = TARGETS[number]
    body, sound = _sound(bodies / target.file, number)
    mutant = mutate(body, rng, target.file.endswith(".json"))
    try:
        target.check(sound, target.parse(mutant.body), mutant)
    except Exception as error:  # any error at all is what is looked for here
        return f"seed {seed} {target.file}: {type(error).__name__}: {error} after {mutant.changes}"
    return ""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the seeds and print what failed; the exit code is 1 when anything did."""
    parser = argparse.ArgumentParser(description="Fuzz the parsers of the data services.")
    parser.add_argument("--seeds", type=int, default=100_000, help="how many seeds to run")
    parser.add_argument("--start", type=int, default=0, help="first seed")
    parser.add_argument("--bodies", type=Path, default=Path("fixtures/sources"), help="folder of the composed bodies")
    options = parser.parse_args(arguments)
    failed = [
        line for seed in range(options.start, options.start + options.seeds) if (line := run_seed(seed, options.bodies))
    ]
    for line in failed[:50]:
        print(line)
    print(f"{options.seeds} seeds from {options.start}: {len(failed)} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
