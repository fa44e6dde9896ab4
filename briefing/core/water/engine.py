"""The water-temperature engine for one lake: air and readings in, an ensemble of daily temperatures out."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta, tzinfo
from functools import partial

import numpy as np

from briefing.core.climate.normals import AirNormals
from briefing.core.readings import DailyAir, WaterReading
from briefing.core.water.forward import Lake, Track, begin, carry_on, courses, make_lake, trimmed
from briefing.core.water.kalman import AIR, LASTING, OFFSET, STATES
from briefing.core.water.observe import Observation, Refusal, by_day, sort_readings
from briefing.core.water.parameters import WaterParameters
from briefing.core.water.series import ReadingUse, WaterSeries
from briefing.core.water.site import WaterSite
from briefing.core.water.slab import Floats
from briefing.core.water.smooth import backward_gains, day_normals, even_normals, root, sample_back
from briefing.core.water.state import LakeLearned, SkillRow, WaterState
from briefing.core.water.weather import DayWeather, day_weather
from briefing.units import Units, show_size
from briefing.vocabulary import Zone

__all__ = ["LakeLearned", "SkillRow", "WaterResult", "WaterState", "run_water"]

DAYS_AHEAD = 10
#: A gauge that has been silent longer does not move today's estimate.
GAUGES_COUNT_FOR = timedelta(days=7)
#: The state that is kept stands this far back, so that the air of the last days may still be corrected.
STATE_AGE_DAYS = 10
SPIN_UP_DAYS = 45
LONGEST_RUN_DAYS = 800
SKILL_ROWS = 30
_KEPT_USES = 80
#: Readings looked at for standing on one side of the unread model, and when that is told.
_ONE_SIDED_OF, _ONE_SIDED_LEAST, _ONE_SIDED_C, _ONE_SIDED_SHARE = 10, 5, 1.2, 0.85


@dataclass(frozen=True)
class WaterResult:
    """Series, what was learned, the state to keep, and how good the model has been here (oldest first)."""

    series: WaterSeries
    learned: LakeLearned
    state: WaterState
    skill: tuple[SkillRow, ...]


def run_water(
    site: WaterSite,
    air: DailyAir,
    normals: AirNormals,
    readings: Sequence[WaterReading],
    parameters: WaterParameters,
    *,
    now: datetime,
    timezone: tzinfo,
    today: date | None = None,
    learned: LakeLearned | None = None,
    members: int = 64,
    seed: int = 0,
    state: WaterState | None = None,
    units: Units,
    gauges_count_for: timedelta = GAUGES_COUNT_FOR,
) -> WaterResult:
    """Estimate the surface temperature from last winter to ten days ahead.

    A person's reading counts for ever, with a weight that decays. A gauge or buoy that has been silent longer than
    ``gauges_count_for`` informs the past only: today's estimate, what is learned and the state come from a run without
    it, and the days before that time from a run with it.

    Parameters
    ----------
    site, normals, parameters
        The lake, its air normals and the pooled numbers.
    air
        Daily mean air temperature; days before its start, after its end or NaN are filled from the normals and the
        range widens. May be empty: then the series rests on normals alone.
    readings
        In any order; each is used or refused with a sentence in ``series.uses``.
    now, timezone
        Aware instant and the lake's time zone; a reading later than ``now`` is refused.
    today
        Local date the series is for; the date of ``now`` at the lake when left out.
    learned
        What earlier readings taught, for the readings no longer handed in.
    members, seed
        Size and seed of the ensemble; the same inputs give the same members.
    state
        What an earlier call returned; saves time, changes nothing.
    units
        Of sentences about readings.
    gauges_count_for
        Time after its newest reading for which a gauge moves today's estimate.
    """
    silent = silent_gauges(readings, now, gauges_count_for)
    if silent:
        again = partial(
            run_water,
            *(site, air, normals),
            parameters=parameters,
            now=now,
            timezone=timezone,
            today=today,
            learned=learned,
            members=members,
            seed=seed,
            units=units,
            gauges_count_for=timedelta.max,
        )
        counted = [one for one in readings if one.witness not in silent]
        result, past = again(readings=counted, state=state), again(readings=readings)
        gone = {one.id for one in readings if one.witness in silent}
        first = (now - gauges_count_for).astimezone(timezone).date()
        return replace(result, series=_with_past(result.series, past.series, first, gone))
    day = now.astimezone(timezone).date() if today is None else today
    first = season_start(day, site.latitude_deg)
    observations, refusals = sort_readings(site, readings, parameters.reading, now=now, timezone=timezone, units=units)
    lake = make_lake(site, normals, parameters, units)
    begun = _run_start(first, day, air)
    checkpoint = day - timedelta(days=STATE_AGE_DAYS)
    kept = _kept_track(state, first, checkpoint, site, air, normals, parameters, observations)
    weather_start = begun if kept is None else kept.day
    last = day + timedelta(days=DAYS_AHEAD)
    weather = day_weather(air, normals, weather_start, (last - weather_start).days + 2)
    groups = by_day([item for item in observations if item.day <= day])
    if kept is None:
        prior = _prior_of(learned, begun)
        kept = begin(lake, begun, float(weather.air_c[:SPIN_UP_DAYS].mean()), prior)
        kept = trimmed(carry_on(kept, lake, weather, weather_start, first, groups), first)
    middle = trimmed(carry_on(kept, lake, weather, weather_start, checkpoint, groups), first)
    tomorrow = carry_on(middle, lake, weather, weather_start, day + timedelta(days=1), groups)
    track = carry_on(tomorrow, lake, weather, weather_start, last + timedelta(days=1), {})
    series = _series(track, lake, weather, weather_start, day, members, seed, refusals, air, timezone)
    key = _key(middle.day, first, site, air, normals, parameters, observations)
    middle.uses = middle.uses[-_KEPT_USES:]
    return WaterResult(
        series=series,
        learned=_learned(tomorrow),
        state=WaterState(key, middle.day, middle.to_mapping()),
        skill=_skill(track.uses),
    )


def silent_gauges(
    readings: Sequence[WaterReading], now: datetime, count_for: timedelta = GAUGES_COUNT_FOR
) -> frozenset[tuple[str, str]]:
    """Gauges and buoys whose newest reading up to now is older than ``count_for``; a person is never silent."""
    newest: dict[tuple[str, str], datetime] = {}
    for one in readings:
        if one.source != "user" and one.time <= now:
            newest[one.witness] = max(one.time, newest.get(one.witness, one.time))
    return frozenset(witness for witness, at in newest.items() if now - at > count_for)


def _with_past(today: WaterSeries, past: WaterSeries, first: date, gone: set[str]) -> WaterSeries:
    """Days before ``first`` from the run that read silent gauges too, all others from the run that did not."""
    count = max(0, (first - today.start).days)
    members = today.members_c.copy()
    members[:, :count] = past.members_c[:, :count]
    equilibrium = today.equilibrium_c.copy()
    equilibrium[:count] = past.equilibrium_c[:count]
    told = tuple(
        replace(use, why=f"{use.why} Its gauge has been silent for long: it informs the past, not today.".strip())
        if use.used
        else use
        for use in past.uses
        if use.id in gone
    )
    uses = sorted((*told, *today.uses), key=lambda use: (use.day is not None, use.day or first))
    return replace(today, members_c=members, equilibrium_c=equilibrium, uses=tuple(uses))


def season_start(day: date, latitude_deg: float) -> date:
    """First day of the series: the first of the last winter month that began at least a month before ``day``.

    1 December in the north, 1 June in the south.
    """
    month = 12 if latitude_deg >= 0 else 6
    start = date(day.year, month, 1)
    while (day - start).days < 31:
        start = date(start.year - 1, month, 1)
    return start


def _run_start(first: date, day: date, air: DailyAir) -> date:
    begun = first - timedelta(days=SPIN_UP_DAYS)
    if air.mean_c.size:
        begun = min(begun, air.start)
    return max(begun, day - timedelta(days=LONGEST_RUN_DAYS))


def _prior_of(learned: LakeLearned | None, begun: date) -> tuple[Floats, Floats] | None:
    """What earlier readings taught, unless they are among those of this run or were learned of other numbers."""
    if learned is None or learned.until is None or learned.until >= begun or len(learned.mean) != AIR - OFFSET:
        return None
    return np.array(learned.mean), np.array(learned.covariance)


def _key(
    until: date,
    first: date,
    site: WaterSite,
    air: DailyAir,
    normals: AirNormals,
    parameters: WaterParameters,
    observations: Sequence[Observation],
) -> str:
    """Digest of what the run before ``until`` rested on, as far back as it still matters."""
    digest = hashlib.sha256(repr((site, parameters, until, first, STATES)).encode())
    stop = min(max((until - air.start).days, 0), air.mean_c.size)
    since = min(max((first - air.start).days, 0), stop)
    digest.update(np.ascontiguousarray(air.mean_c[since:stop]).tobytes())
    digest.update(np.ascontiguousarray(air.lead_days[since:stop]).tobytes())
    digest.update(normals.mean_c.tobytes() + normals.dewpoint_c.tobytes() + normals.day_sd_c.tobytes())
    for item in observations:
        if first <= item.day < until:
            digest.update(repr((item.reading, item.day)).encode())
    return digest.hexdigest()


def _kept_track(
    state: WaterState | None,
    first: date,
    checkpoint: date,
    site: WaterSite,
    air: DailyAir,
    normals: AirNormals,
    parameters: WaterParameters,
    observations: Sequence[Observation],
) -> Track | None:
    if state is None or state.day > checkpoint:
        return None
    if state.key != _key(state.day, first, site, air, normals, parameters, observations):
        return None
    return trimmed(Track.from_mapping(state.content), first)


def _learned(track: Track) -> LakeLearned:
    mean = track.belief.mean[LASTING, 0]
    covariance = track.belief.covariance[LASTING, LASTING, 0]
    return LakeLearned(
        mean=tuple(float(value) for value in mean),
        covariance=tuple(tuple(float(value) for value in row) for row in covariance),
        readings=track.readings,
        until=track.last_reading,
    )


def _skill(uses: Sequence[ReadingUse]) -> tuple[SkillRow, ...]:
    rows = []
    for use in uses[-SKILL_ROWS:]:
        error = use.predicted_c - use.corrected_c
        inside = abs(error) <= 1.2816 * float(np.hypot(use.predicted_sd_c, 0.5))
        if use.day is not None:
            rows.append(SkillRow(use.id, use.day, use.corrected_c, use.predicted_c, use.predicted_sd_c, error, inside))
    return tuple(rows)


def _series(
    track: Track,
    lake: Lake,
    weather: DayWeather,
    weather_start: date,
    day: date,
    members: int,
    seed: int,
    refusals: Sequence[Refusal],
    air: DailyAir,
    timezone: tzinfo,
) -> WaterSeries:
    outcome = np.array(track.outcome, dtype=float)
    main = _main_members(track, lake, members, seed)
    pocket = _pocket_members(lake, main, outcome, members, seed)
    today = (day - track.start).days
    since = None if track.last_reading is None else float((day - track.last_reading).days)
    refused = tuple(
        ReadingUse(
            item.reading.id,
            False,
            0.0,
            np.nan,
            np.nan,
            item.reading.temperature_c,
            item.why,
            item.reading.time.astimezone(timezone).date(),
            item.reading.name,
            item.reading.source,
        )
        for item in refusals
    )
    return WaterSeries(
        start=track.start,
        today_index=today,
        zones=(Zone.MAIN, Zone.POCKET),
        members_c=np.stack([main, pocket], axis=2),
        equilibrium_c=outcome[:, 2],
        reading_weight=_reading_weight(track, today),
        days_since_reading=since,
        uses=(*track.uses, *refused),
        notes=_notes(track, weather, weather_start, day, lake.units),
        normals_only=not bool(np.isfinite(air.mean_c).any()) if air.mean_c.size else True,
        iced=_iced(track, day),
    )


def _main_members(track: Track, lake: Lake, members: int, seed: int) -> Floats:
    filtered, covariance, transition, predicted = courses(track, lake.noise)
    gain, roots = backward_gains(covariance[:-1], transition[:-1], predicted[:-1])
    states = sample_back(
        filtered,
        np.array(track.predicted_mean, dtype=float)[:-1],
        gain,
        roots,
        root(covariance[-1:])[0],
        day_normals(track.start, filtered.shape[0], members, seed),
        even_normals(members, seed),
    )
    slopes = np.array(track.slopes, dtype=float)
    mean = np.array(track.outcome, dtype=float)[:, 0]
    moved = np.einsum("ds,dsm->dm", slopes, states - filtered[:, :, None])
    return np.asarray(np.maximum(mean[:, None] + moved, 0.0).T)


def _pocket_members(lake: Lake, main: Floats, outcome: Floats, members: int, seed: int) -> Floats:
    """Between the main lake and an isolated slab of pocket depth, each member by its own share."""
    pocket = lake.parameters.pocket
    place = even_normals(members, seed + 1)
    gap, share, share_var = outcome[:, 3], outcome[:, 4], outcome[:, 5]
    shares = np.clip(share + place[0][:, None] * np.sqrt(share_var), 0.0, 1.2)
    slow = place[1][:, None] * (pocket.spread_c + pocket.spread_share * np.abs(gap))
    return np.asarray(np.maximum(main + shares * gap + slow * (outcome[:, 0] > 0.5), 0.0))


def _reading_weight(track: Track, today: int) -> float:
    """Share of today's doubt that readings took away: 1 minus variance with readings over that without."""
    if track.last_reading is None:
        return 0.0
    with_readings, without = float(track.outcome[today][1]), float(track.outcome[today][7])
    return min(max(1 - with_readings / max(without, 1e-6), 0.0), 1.0)


def _notes(track: Track, weather: DayWeather, weather_start: date, day: date, units: Units) -> tuple[str, ...]:
    notes = []
    today = (day - weather_start).days
    recent = weather.known[max(today - 29, 0) : today + 1]
    missing = int((~recent).sum())
    if missing == recent.size:
        notes.append("The lake's air temperature is not known: the estimate rests on normals alone.")
    elif missing >= 3:
        notes.append(
            f"Air temperature is missing on {missing} of the last {recent.size} days; normals stand in and the range "
            "is wider."
        )
    if _iced(track, day):
        notes.append("The model has ice on the lake; a reading, or a mark that the ice is off, would correct it.")
    bias = _one_sided(track, units)
    if bias is not None:
        notes.append(bias)
    return tuple(notes)


def _iced(track: Track, day: date) -> bool:
    return bool(track.outcome[(day - track.start).days][6] > 0)


def _one_sided(track: Track, units: Units) -> str | None:
    """A sentence when the readings keep standing on one side of what air and depth alone explain."""
    recent = [use for use in track.uses[-_ONE_SIDED_OF:] if use.day is not None and use.day >= track.start]
    gaps = np.array([use.corrected_c - track.outcome[(use.day - track.start).days][8] for use in recent if use.day])
    if gaps.size < _ONE_SIDED_LEAST or abs(gaps.mean()) < _ONE_SIDED_C:
        return None
    if (np.sign(gaps) == np.sign(gaps.mean())).mean() < _ONE_SIDED_SHARE:
        return None
    side = "above" if gaps.mean() > 0 else "below"
    return (
        f"The last {gaps.size} readings stood {show_size(gaps.mean(), units)} {side} what weather and depth explain. "
        "The estimate follows them. The lake differs from most, or the thermometer does: compare it with a second one."
    )
