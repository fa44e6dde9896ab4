"""What can hurt: alerts, fetch, hour levels, launch windows and deadlines for the user's lake and hours."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from briefing.core.alerts import AlertFeed
from briefing.core.climate.normals import AirNormals
from briefing.core.freshness import is_stale
from briefing.core.hours import HourSeries
from briefing.core.log.correction import WindCorrection
from briefing.core.sky import sky_day
from briefing.core.water.observe import FLOWING_KINDS
from briefing.core.water.series import WaterSeries
from briefing.core.wind.alerts import ResolvedAlerts, resolve_alerts
from briefing.core.wind.banks import RampExposure, ramp_exposures
from briefing.core.wind.fetch import FetchTable, fetch_table
from briefing.core.wind.hour_levels import judge_hours
from briefing.core.wind.inputs import DayLight, HeadwindLeg, LevelInputs, hourly_from_days
from briefing.core.wind.level import HourLevel
from briefing.core.wind.limits import Limits, cold_band, cold_factor, limits_for
from briefing.core.wind.rules import ExcludeRules, TravelRules
from briefing.core.wind.shape import LakeShape
from briefing.core.wind.waterways import points_along, water_ways
from briefing.core.wind.waves import SeaState
from briefing.core.wind.windows import (
    SHORTEST_OUTING,
    Deadlines,
    HardLeg,
    Travel,
    Window,
    deadlines,
    first_hard_leg,
    launch_windows,
    off_water,
)
from briefing.pipeline.experience import raised, raised_series, wind_correction
from briefing.pipeline.inputs import Knowledge, MorningInputs
from briefing.pipeline.mapping import below_dam, dressed_for_immersion, own_limits
from briefing.profile.model import Flag, LakeProfile, Spot
from briefing.units import Units
from briefing.vocabulary import Level, Zone

Floats = NDArray[np.float64]

#: Open-water legs are looked at every so many metres.
LEG_STEP_M = 200.0
#: How far from its bank a spot without a position is taken to lie.
OFF_BANK_M = 40.0
#: Hours before the local day that the levels' hysteresis looks back on.
BEFORE = timedelta(hours=6)
#: From here on a lake counts as big for swell-like hazards.
BIG_LAKE_KM2 = 80.0

#: Readings from deeper down say nothing of the water that somebody falls into.
NEAR_SURFACE_M = 2.0


@dataclass(frozen=True)
class Place:
    """A ramp or spot on the water, metres east and north of the shape's origin."""

    kind: str  # ramp | spot
    id: str
    name: str
    xy_m: tuple[float, float]


@dataclass(frozen=True)
class Hazards:
    """All that the cautions, the table and the plan need to know of the day's dangers."""

    series: HourSeries  # the local day
    levels: tuple[HourLevel, ...]
    alerts: ResolvedAlerts
    limits: Limits
    units: Units  # that the user's limits are whole numbers in
    windows: tuple[Window, ...]
    launch: datetime  # as planned, or where the first window of the outing begins
    deadlines: Deadlines | None
    light: tuple[DayLight, ...]
    legs: tuple[HeadwindLeg, ...]
    travel: Travel
    places: tuple[Place, ...]
    table: FetchTable
    sea: SeaState | None  # the one that the hours are judged by; None without any water
    water_low_c: Floats
    correction: WindCorrection  # of the forecast wind, by the checks at this lake
    wind_factor: Floats  # by hour: what the forecast wind is multiplied by for the limits, 1 or more
    hard_leg: HardLeg | None
    ramps: tuple[RampExposure, ...]  # at the hour of the launch
    cold_share: float  # what the limits are multiplied by for cold water; 1 when they are not
    very_cold: bool  # the water may lie in the coldest band of the table
    zones: tuple[Zone, ...]  # the parts of the lake whose water counts
    iced: bool = False  # the water model has ice on the lake

    @property
    def limits_in_use(self) -> Limits:
        """The limits that the hours are judged by, reduced for cold water."""
        return self.limits.in_use(self.cold_share, self.units)

    def wave_ranges(self) -> dict[datetime, tuple[float, float]]:
        """Low and high significant height (m) at the worst point of the user's waters, by hour; unknown left out."""
        out: dict[datetime, tuple[float, float]] = {}
        if self.sea is None:
            return out
        for n, hour in enumerate(self.series.times):
            high = self.sea.hs_m[n]
            if np.isfinite(high).any():
                worst = int(np.nanargmax(high))
                out[hour] = (float(self.sea.hs_low_m[n, worst]), float(high[worst]))
        return out


def judge(inputs: MorningInputs, knowledge: Knowledge, water: WaterSeries) -> Hazards:
    """Judge every hour of the local day from the forecast, the alerts and the lake's shape."""
    profile, zone = inputs.profile, inputs.profile.zone
    start, end = _local_day(inputs.day, zone)
    series = inputs.gathered.hours.window(start, end)
    light = tuple(day_light(profile, inputs.day + timedelta(days=n)) for n in (-1, 0, 1))
    places = places_of(profile, inputs.shape)
    legs, points, labels = _legs(profile, inputs.shape, places)
    # an assumed outline does not say where the water ends: a place beyond it lies on its shore
    table = fetch_table(inputs.shape, points, labels, reach_m=np.inf if inputs.shape.assumed else 60.0)
    alerts = resolve_alerts(merged_feed(inputs, knowledge), inputs.kept.alerts, inputs.shape.lonlat_rings, inputs.now)
    limits = limits_for(
        knowledge.limits,
        profile.craft,
        profile.skill,
        alone=profile.alone,
        reentry_practised=profile.reentry_practised,
        own=own_limits(profile),
    )
    rules = replace(knowledge.rules, water=replace(knowledge.rules.water, over_water_factor=profile.over_water_factor))
    low = _water_low(water, inputs.gathered.hours.window(start - BEFORE, end), zone, zones_fished(profile))
    low = np.fmin(low, _coldest_reading_c(inputs, knowledge))
    earlier = inputs.gathered.hours.window(start - BEFORE, end)
    correction = wind_correction(inputs, knowledge)
    factor = raised(inputs, knowledge, correction, earlier)
    judged = judge_hours(
        LevelInputs(
            hours=earlier,
            alerts=alerts,
            craft=profile.craft,
            skill=profile.skill,
            limits=limits,
            limits_table=knowledge.limits,
            rules=rules,
            events=knowledge.events,
            stale=knowledge.stale,
            now=inputs.now,
            light=light,
            water_low_c=low,
            coldest_c=coldest_water_c(inputs.normals, inputs.day),
            warmest_air_c=warmest_air_c(inputs.normals, inputs.day, rules.exclude),
            immersion_clothing=dressed_for_immersion(profile),
            alone=profile.alone,
            fetch=table,
            mean_depth_m=_depth_for_waves_m(profile, rules.water.default_depth_m),
            winds=(*inputs.gathered.wind_now, *inputs.entered.winds),
            thunder_heard=inputs.entered.thunder_heard,
            thunder_service=inputs.gathered.thunder_service_exists,
            accepted=inputs.kept.accepted,
            wind_factor=factor,
            calm_mps=None if profile.is_guessed("speed_mps") else profile.speed_mps,
            legs=legs,
            tailwater=tuple(below_dam(profile)),
            moving_water=profile.river_fed or any(Flag.CURRENT in spot.flags for spot in profile.spots),
            big_lake=profile.area_km2 >= BIG_LAKE_KM2,
            units=inputs.reader.units,
            zone=zone,
        )
    )
    levels = tuple(one for one in judged.levels if one.hour >= series.start)
    sea = judged.sea.last(series.hours) if judged.sea is not None else None
    low, factor = low[-series.hours :], factor[-series.hours :]
    judged_series = raised_series(series, factor)
    travel = Travel(
        craft=profile.craft,
        limits=limits,
        calm_mps=None if profile.is_guessed("speed_mps") else profile.speed_mps,
        legs=legs,
        longest_arm_m=inputs.shape.longest_arm_m,
    )
    known = low[np.isfinite(low)]
    coldest = float(known.min()) if known.size else coldest_water_c(inputs.normals, inputs.day)
    windows = launch_windows(levels, light, rules.travel)
    launch = first_launch(inputs, levels, windows, light, rules.travel)
    return Hazards(
        series=series,
        levels=levels,
        alerts=alerts,
        limits=limits,
        units=inputs.reader.units,
        windows=windows,
        launch=launch,
        deadlines=deadlines(
            levels,
            judged_series,
            light,
            travel,
            rules.travel,
            launch=launch,
            planned_return=inputs.outing.back,
            planned=inputs.outing.planned,
        ),
        light=light,
        legs=legs,
        travel=travel,
        places=places,
        table=table,
        sea=sea,
        water_low_c=low,
        correction=correction,
        wind_factor=factor,
        hard_leg=first_hard_leg(
            levels,
            judged_series,
            travel,
            rules.travel,
            launch=launch,
            planned_return=inputs.outing.back,
        ),
        ramps=_ramps(inputs, judged_series, table, sea),
        cold_share=cold_factor(knowledge.limits, coldest, immersion_clothing=dressed_for_immersion(profile)),
        very_cold=cold_band(knowledge.limits, coldest) is knowledge.limits.cold_bands[-1],
        zones=zones_fished(profile),
        iced=water.iced,
    )


def first_launch(
    inputs: MorningInputs,
    levels: Sequence[HourLevel],
    windows: Sequence[Window],
    light: Sequence[DayLight],
    rules: TravelRules,
) -> datetime:
    """The planned launch; where its hour is over the limits or not known, the beginning of the next window.

    Where what is left of a window is too short for an outing, it is the next one that is not. The deadlines are counted
    from there: an hour that nobody spends on the water does not end the outing. A launch that can't be moved stays, and
    so does one that is over and was within the limits: who is out already must come in before the first such hour.
    """
    outing, now = inputs.outing, inputs.now
    hour = timedelta(hours=1)
    closed = any(one.hour <= outing.launch < one.hour + hour and one.level.rank >= Level.UNKNOWN.rank for one in levels)
    if outing.fixed_launch or (now >= outing.launch and not closed):
        return outing.launch
    ahead = [w for w in windows if w.end > max(outing.launch, now) and w.begin < outing.back]
    begins = [max(outing.launch, now, one.begin) for one in ahead]
    for begin in begins:
        for launch in (begin,) if closed else (outing.launch, begin):
            if off_water(levels, light, rules, launch, outing.back)[0] - begin >= SHORTEST_OUTING:
                return launch
    return min(begins, default=outing.launch) if closed else outing.launch


def _ramps(
    inputs: MorningInputs, series: HourSeries, table: FetchTable, sea: SeaState | None
) -> tuple[RampExposure, ...]:
    hour = series.index_of(inputs.outing.launch)
    if sea is None or not 0 <= hour < series.hours or not np.isfinite(series.values("wind_from_deg")[hour]):
        return ()
    wind = float(series.values("wind_from_deg")[hour])
    return ramp_exposures(inputs.shape, table, sea.hs_m[hour], wind, units=inputs.reader.units)


def merged_feed(inputs: MorningInputs, knowledge: Knowledge) -> AlertFeed:
    """Alerts of the service, with those the user read and typed.

    What the user typed adds to a readable feed. Where the service could not be read, or does not exist, it stands in as
    long as it is fresh; it never takes an alert away. Too old to prove that there is no other, a warning that was read
    still counts until its own end.
    """
    feed, typed = inputs.gathered.alerts, inputs.entered.alerts
    if typed is None:
        return feed
    never_asked = feed.service_exists and not feed.problem and feed.checked_at is None
    old = is_stale("alerts_typed", typed.checked_at, inputs.now, knowledge.stale)
    stands_in = never_asked if old else typed.readable and not feed.readable
    return replace(typed if stands_in else feed, alerts=feed.alerts + typed.alerts)


def alerts_stale(alerts: ResolvedAlerts, knowledge: Knowledge, now: datetime) -> bool:
    """Tell whether warnings were read too long ago to go by; those never read count too."""
    return is_stale("alerts_typed" if alerts.entered else "alerts", alerts.checked_at, now, knowledge.stale)


def coldest_water_c(normals: AirNormals, day: date) -> float:
    """Coldest plausible surface water for the date: the normal air of the three weeks before, less its spread.

    Water trails the air by weeks in spring, so the coldest of air now and three weeks ago less two spreads between
    years is a bound, not an estimate; never below freezing.
    """
    index = day.timetuple().tm_yday - 1
    back = [(index - n) % 366 for n in range(22)]
    low = normals.mean_c[back] - 2.0 * normals.year_sd_c[back]
    return max(0.0, float(low.min()) - normals.error_c)


def warmest_air_c(normals: AirNormals, day: date, rules: ExcludeRules) -> float:
    """Warmest plausible air of the date in C: normal mean, spreads of single days, and the warmest hour above it."""
    index = day.timetuple().tm_yday - 1
    spread = rules.heat_spreads * float(normals.day_sd_c[index])
    return float(normals.mean_c[index]) + spread + normals.error_c + rules.heat_above_mean_c


def _depth_for_waves_m(profile: LakeProfile, usual_m: float) -> float:
    """The lake's mean depth; a guess counts only where it is deeper than the usual, for waves grow with depth."""
    return max(profile.mean_depth_m, usual_m) if profile.is_guessed("mean_depth_m") else profile.mean_depth_m


def day_light(profile: LakeProfile, day: date) -> DayLight:
    """Dawn, sunrise, sunset and dusk of a local day: the first of what opens it and the last of what ends it."""
    sky = sky_day(profile.latitude, profile.longitude, day, profile.zone)
    return DayLight(
        dawn=_first(sky.civil_dawn),
        sunrise=_first(sky.sunrise),
        sunset=_last(sky.sunset),
        dusk=_last(sky.civil_dusk),
    )


def _first(instants: Sequence[datetime]) -> datetime | None:
    return instants[0] if instants else None


def _last(instants: Sequence[datetime]) -> datetime | None:
    return instants[-1] if instants else None


def places_of(profile: LakeProfile, shape: LakeShape) -> tuple[Place, ...]:
    """Ramps and spots in local metres; a spot known by its bank only lies just off that bank."""
    ramps = [Place("ramp", ramp.name, ramp.name, _xy(shape, ramp.latitude, ramp.longitude)) for ramp in profile.ramps]
    spots = [Place("spot", spot.id, spot.name, _spot_xy(shape, spot)) for spot in profile.spots]
    return tuple(ramps + spots)


def _xy(shape: LakeShape, latitude: float, longitude: float) -> tuple[float, float]:
    x, y = shape.plane.to_xy(latitude, longitude).ravel()
    return float(x), float(y)


def _spot_xy(shape: LakeShape, spot: Spot) -> tuple[float, float]:
    if spot.latitude is not None and spot.longitude is not None:
        return _xy(shape, spot.latitude, spot.longitude)
    turn = np.radians(spot.bank_deg or 0.0)
    toward = np.array([np.sin(turn), np.cos(turn)])
    foot = shape.outer_xy_m[int(np.argmax(shape.outer_xy_m @ toward))]
    x, y = foot - OFF_BANK_M * toward
    return float(x), float(y)


def _legs(
    profile: LakeProfile, shape: LakeShape, places: Sequence[Place]
) -> tuple[tuple[HeadwindLeg, ...], Floats, tuple[str, ...]]:
    """Ways from the spots back to the usual ramp, and the points whose waves count, with their labels."""
    ramps = [place for place in places if place.kind == "ramp"]
    spots = [place for place in places if place.kind == "spot"]
    points = [place.xy_m for place in places]
    labels = [f"{place.kind}: {place.name}" for place in places]
    legs: list[HeadwindLeg] = []
    if ramps:
        ways = water_ways(shape, [ramps[0].xy_m, *(spot.xy_m for spot in spots)])
        for number, spot in enumerate(spots, 1):
            length, bearing = float(ways.length_m[number, 0]), float(ways.bearing_deg[number, 0])
            if length < 1.0:
                continue
            towards = None if np.isnan(bearing) else bearing
            legs.append(HeadwindLeg(f"{spot.name} to {ramps[0].name}", towards, length, spot.name))
            for at in points_along(ways.paths[number, 0], LEG_STEP_M):
                points.append((float(at[0]), float(at[1])))
                labels.append(f"leg: {spot.name} to {ramps[0].name}")
    if not points:
        points, labels = [_xy(shape, profile.latitude, profile.longitude)], [f"lake: {profile.name}"]
    return tuple(legs), np.array(points, float), tuple(labels)


def zones_fished(profile: LakeProfile) -> tuple[Zone, ...]:
    """The main lake, which is crossed anyway, and every other part of the lake that holds a spot."""
    found = {spot.zone for spot in profile.spots}
    return (Zone.MAIN, *(zone for zone in (Zone.POCKET, Zone.EXPOSED) if zone in found))


def _water_low(water: WaterSeries, series: HourSeries, zone: ZoneInfo, zones: Sequence[Zone]) -> Floats:
    """Low end of the 80 % range by hour in the coldest of the parts of the lake that are fished or crossed."""
    low = np.min([water.range80_c(one)[0] for one in zones if one in water.zones], axis=0)
    days = [water.date_at(n) for n in range(water.days)]
    return hourly_from_days(series.start, series.hours, days, low.tolist(), zone)


def _coldest_reading_c(inputs: MorningInputs, knowledge: Knowledge) -> float:
    """The coldest water read near the surface within a gauge's hours, C; NaN without any.

    The estimate may hold a reading for wrong and count it for little: what somebody may fall into is not judged by
    less than was measured.
    """
    counted = (one for one in inputs.gathered.water if one.kind not in FLOWING_KINDS)
    fresh = [
        one.temperature_c
        for one in (*counted, *inputs.entered.water)
        if one.zone in zones_fished(inputs.profile)
        and (one.depth_m is None or one.depth_m <= NEAR_SURFACE_M)
        and one.hour_known
        and not is_stale("gauge", one.time, inputs.now, knowledge.stale)
    ]
    return min(fresh, default=float("nan"))


def _local_day(day: date, zone: ZoneInfo) -> tuple[datetime, datetime]:
    from datetime import UTC

    first = datetime(day.year, day.month, day.day, tzinfo=zone)
    after = day + timedelta(days=1)
    last = datetime(after.year, after.month, after.day, tzinfo=zone)
    begin, end = first.astimezone(UTC), last.astimezone(UTC)
    return begin.replace(minute=0, second=0, microsecond=0), end
