"""Carries one lake's filter through the days, in three columns: lake, isolated shallow pocket, lake without readings.

The pocket's slab shares the weather, the flux error and the lasting numbers of the main lake; real pockets lie
between the two, by a share that their own readings teach. The third column never reads: against it the worth of the
readings is told.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field, fields, replace
from datetime import date, timedelta
from typing import Any

import numpy as np

from briefing.core.climate.normals import AirNormals
from briefing.core.water.kalman import (
    AIR,
    AIR_ERROR_DECAY,
    FLUX,
    LASTING,
    LN_DEPTH,
    STATES,
    TEMPERATURE,
    Belief,
    Day,
    Noise,
    advance,
    kept_under_ice,
    look,
    noise_for,
    prior,
    read,
    thawed,
)
from briefing.core.water.observe import Observation, joined
from briefing.core.water.parameters import WaterParameters
from briefing.core.water.series import ReadingUse
from briefing.core.water.site import WaterSite
from briefing.core.water.slab import Columns, Floats, columns_for, forcing_for, top_of_air_w_m2
from briefing.core.water.state import pack, unpack
from briefing.core.water.weather import DayWeather
from briefing.units import Units, show_size
from briefing.vocabulary import Zone

#: Days within which a second odd reading bears out the first, and the gap in C within which it does.
COLUMNS = 3
_LOWER = np.tril_indices(STATES)
_BORNE_OUT_DAYS, _BORNE_OUT_C = 21, 2.5
_RECORDS = ("filtered", "covariance", "predicted_mean", "predicted", "carried", "slopes", "outcome")


@dataclass(frozen=True)
class Lake:
    """What stays the same over the run of one lake."""

    site: WaterSite
    columns: Columns
    noise: Noise
    parameters: WaterParameters
    units: Units  # of sentences about readings


@dataclass
class Track:
    """The run so far: belief at the start of ``day``, and a record of each day since ``start``.

    Records are kept in single precision, so that a run from the store and one from scratch agree.
    outcome holds mean, variance, equilibrium, pocket gap, pocket share, its variance, ice,
    and variance and mean without readings.
    """

    start: date
    day: date
    belief: Belief
    share: float
    share_var: float
    filtered: list[Floats] = field(default_factory=list)
    covariance: list[Floats] = field(default_factory=list)
    predicted_mean: list[Floats] = field(default_factory=list)
    predicted: list[Floats] = field(default_factory=list)
    carried: list[Floats] = field(default_factory=list)
    slopes: list[Floats] = field(default_factory=list)
    outcome: list[Floats] = field(default_factory=list)
    uses: list[ReadingUse] = field(default_factory=list)
    odd: tuple[date, float] | None = None  # last reading beyond the gate: its day and gap
    last_reading: date | None = None
    readings: int = 0

    def copy(self) -> Track:
        """Return a track that can be carried on without touching this one."""
        lists: dict[str, Any] = {name: list(getattr(self, name)) for name in (*_RECORDS, "uses")}
        return replace(self, **lists)

    def to_mapping(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return {
            "start": self.start.isoformat(),
            "day": self.day.isoformat(),
            "belief": [pack(part) for part in (getattr(self.belief, item.name) for item in fields(self.belief))],
            "share": [self.share, self.share_var],
            "records": {name: pack(np.array(getattr(self, name), dtype=np.float32)) for name in _RECORDS},
            "uses": [_use_values(use) for use in self.uses],
            "odd": None if self.odd is None else [self.odd[0].isoformat(), self.odd[1]],
            "last_reading": None if self.last_reading is None else self.last_reading.isoformat(),
            "readings": self.readings,
        }

    @classmethod
    def from_mapping(cls, content: Mapping[str, Any]) -> Track:
        """Read what ``to_mapping`` wrote."""
        odd, last = content["odd"], content["last_reading"]
        return cls(
            start=date.fromisoformat(content["start"]),
            day=date.fromisoformat(content["day"]),
            belief=Belief(*(unpack(part) for part in content["belief"])),
            share=float(content["share"][0]),
            share_var=float(content["share"][1]),
            **{name: list(unpack(content["records"][name])) for name in _RECORDS},
            uses=[_use_of(values) for values in content["uses"]],
            odd=None if odd is None else (date.fromisoformat(odd[0]), float(odd[1])),
            last_reading=None if last is None else date.fromisoformat(last),
            readings=int(content["readings"]),
        )


def _use_values(use: ReadingUse) -> dict[str, Any]:
    return asdict(use) | {"day": None if use.day is None else use.day.isoformat()}


def _use_of(values: Mapping[str, Any]) -> ReadingUse:
    day = values["day"]
    return ReadingUse(**{**values, "day": None if day is None else date.fromisoformat(day)})


def make_lake(site: WaterSite, normals: AirNormals, parameters: WaterParameters, units: Units) -> Lake:
    """Constants of the main lake and its pocket."""
    depth = min(site.pocket_depth_m, site.depth_m)
    pocket = replace(site, mean_depth_m=depth, max_depth_m=None, area_km2=min(site.size_km2, 0.05))
    sites = [site, pocket, site]
    columns = columns_for(sites, np.full(COLUMNS, float(normals.mean_c.min())), parameters.slab)
    return Lake(site, columns, noise_for(sites, columns, parameters.filter), parameters, units)


def begin(lake: Lake, start: date, air_c: float, learned: tuple[Floats, Floats] | None) -> Track:
    """Start a run on a day with a first guess from the air of its month."""
    belief = prior(np.full(COLUMNS, air_c), lake.noise)
    if learned is not None:
        mean, covariance = belief.mean.copy(), belief.covariance.copy()
        mean[LASTING] = learned[0][:, None]
        covariance[LASTING, LASTING] = learned[1][:, :, None]
        belief = replace(belief, mean=mean, covariance=covariance)
    pocket = lake.parameters.pocket
    return Track(start, start, belief, pocket.share, pocket.share_sd**2)


def carry_on(
    track: Track,
    lake: Lake,
    weather: DayWeather,
    first: date,
    until: date,
    groups: Mapping[date, list[list[Observation]]],
) -> Track:
    """Run to the start of ``until``; ``weather`` begins on ``first`` and reaches a day past ``until``."""
    track = track.copy()
    offset = (track.day - first).days
    span = slice(offset, (until - first).days + 1)

    def two(values: Floats) -> Floats:
        return np.repeat(values[span, None], COLUMNS, axis=1)

    sun = top_of_air_w_m2(
        np.full(COLUMNS, lake.site.latitude_deg), np.asarray(weather.day_of_year[span] + 1, dtype=np.float64)
    )
    air = two(weather.air_c)
    forcing = forcing_for(air, two(weather.depression_c), sun, lake.parameters.slab)
    cosine, sine = (values[span] for values in weather.season)
    spread = two(weather.air_sd_c)
    belief = _with_air_spread(track.belief, spread[0]) if not track.filtered else track.belief
    for number in range((until - track.day).days):
        today = track.day + timedelta(days=number)
        heat, exchange = forcing.radiation_w_m2[number], forcing.exchange_hpa[number]
        day = look(belief, heat, exchange, (cosine[number], sine[number]), lake.columns)
        pocket_gap = float(day.mean_c[1] - day.mean_c[0])
        belief, day = _take_readings(track, lake, belief, day, groups.get(today, []), today, pocket_gap)
        following = advance(belief, day, air[number], sun[number], spread[number + 1], lake.columns, lake.noise)
        _record(track, lake, belief, day, following, pocket_gap)
        belief = _pocket_like_main(following)
        _fade_share(track, lake)
    track.belief, track.day = belief, until
    return track


def _with_air_spread(belief: Belief, spread: Floats) -> Belief:
    covariance = belief.covariance.copy()
    covariance[AIR, AIR] = spread**2
    return replace(belief, covariance=covariance, air_sd_c=spread)


def _pocket_like_main(belief: Belief) -> Belief:
    mean, covariance = belief.mean.copy(), belief.covariance.copy()
    mean[FLUX:, 1] = mean[FLUX:, 0]
    mean[LN_DEPTH, 1] = 0.0
    covariance[FLUX:, FLUX:, 1] = covariance[FLUX:, FLUX:, 0]
    return replace(belief, mean=mean, covariance=covariance)


def _fade_share(track: Track, lake: Lake) -> None:
    pocket = lake.parameters.pocket
    kept = float(np.exp(-1 / pocket.share_days))
    track.share = pocket.share + kept * (track.share - pocket.share)
    track.share_var = kept**2 * track.share_var + (1 - kept**2) * pocket.share_sd**2


def _take_readings(
    track: Track,
    lake: Lake,
    belief: Belief,
    day: Day,
    groups: Sequence[Sequence[Observation]],
    today: date,
    pocket_gap: float,
) -> tuple[Belief, Day]:
    for group in groups:
        value, variance = joined(group)
        in_pocket = group[0].reading.zone == Zone.POCKET
        predicted, spread = float(day.mean_c[0]), float(np.sqrt(day.var_c2[0]))
        if in_pocket:
            predicted += track.share * pocket_gap
            spread = float(np.sqrt(spread**2 + track.share_var * pocket_gap**2 + lake.parameters.pocket.spread_c**2))
        gap = value - predicted
        iced = belief.ice_m[0] > 0
        belief, day = thawed(belief, day, np.array([value, value, np.nan]))
        opened = bool(iced and belief.ice_m[0] == 0)
        if opened:
            _forget_ice(track)
        doubt = max(spread**2, float(day.var_c2[0]))
        total = np.sqrt(doubt + variance + lake.noise.reading_var_c2)
        odd = abs(gap) > lake.noise.gate_sd * total
        borne_out = odd and _borne_out(track, today, gap)
        main_value, main_var = value, variance
        if in_pocket:
            main_value = value - track.share * pocket_gap
            main_var = variance + lake.parameters.reading.pocket_sd_c**2 + track.share_var * pocket_gap**2
            _teach_share(track, lake, gap, pocket_gap, variance + float(day.var_c2[0]))
        noise = lake.noise.ungated() if borne_out else lake.noise
        beside = value if opened else np.nan  # the pockets are open at least as far
        belief, day, weight = read(
            belief, day, np.array([main_value, beside, np.nan]), np.array([main_var, variance, 1.0]), noise
        )
        if odd:
            track.odd = (today, gap)
        track.last_reading = today
        track.readings += len(group)
        off = show_size(gap, lake.units)
        side = f"{off} {'above' if gap > 0 else 'below'}"
        why = _why(group[0].remark, side, in_pocket=in_pocket, odd=odd, borne_out=borne_out, opened=opened)
        track.uses += [
            ReadingUse(
                item.reading.id,
                True,
                float(weight[0]),
                predicted,
                spread,
                item.value_c,
                why,
                today,
                item.reading.name,
                item.reading.source,
            )
            for item in group
        ]
    return belief, day


def _forget_ice(track: Track) -> None:
    """Cut the record before a day whose reading denied the ice: what is read now says nothing of the water under it."""
    if track.carried:
        last = track.carried[-1].copy()
        last[:STATES] = 0.0
        track.carried[-1] = last


def _borne_out(track: Track, today: date, gap: float) -> bool:
    if track.odd is None:
        return False
    day, earlier = track.odd
    return (today - day).days <= _BORNE_OUT_DAYS and day < today and abs(gap - earlier) <= _BORNE_OUT_C


def _teach_share(track: Track, lake: Lake, gap: float, pocket_gap: float, variance: float) -> None:
    pocket = lake.parameters.pocket
    total = track.share_var * pocket_gap**2 + variance + pocket.spread_c**2
    gain = track.share_var * pocket_gap / total
    track.share = float(np.clip(track.share + gain * gap, 0.0, 1.2))
    track.share_var *= 1 - gain * pocket_gap


def _why(remark: str, side: str, *, in_pocket: bool, odd: bool, borne_out: bool, opened: bool) -> str:
    if borne_out:
        text = f"{side} what the model expects, as the reading before it: used in full."
    elif odd:
        text = (
            f"This reading looks wrong: {side} what the model expects. It counts little until a "
            "second one bears it out."
        )
    elif opened:
        text = "Used: the ice that the model had is gone."
    elif in_pocket:
        text = "Used: it sets the pockets, and counts a little for the main lake."
    else:
        text = "Used."
    return f"{text} {remark}".strip()


def _record(track: Track, lake: Lake, belief: Belief, day: Day, following: Belief, pocket_gap: float) -> None:
    frozen = bool(following.ice_m[0] > 0 or belief.ice_m[0] > 0)
    air_ratio = AIR_ERROR_DECAY * following.air_sd_c[0] / belief.air_sd_c[0] if belief.air_sd_c[0] > 0 else 0.0
    carried = day.end_slopes[:, 0]
    if frozen:
        kept = float(kept_under_ice(belief.ice_m, following.ice_m, lake.noise)[0])
        carried = kept * np.eye(STATES)[TEMPERATURE]
    outcome = (
        day.mean_c[0],
        day.var_c2[0],
        day.equilibrium_c[0],
        pocket_gap,
        track.share,
        track.share_var,
        float(belief.ice_m[0]),
        day.var_c2[2],
        day.mean_c[2],
    )
    for name, values in (
        ("filtered", belief.mean[:, 0]),
        ("covariance", belief.covariance[:, :, 0][_LOWER]),
        ("predicted_mean", following.mean[:, 0]),
        ("predicted", following.covariance[:, :, 0][_LOWER]),
        ("carried", np.append(carried, air_ratio)),
        ("slopes", day.slopes[:, 0]),
        ("outcome", np.array(outcome)),
    ):
        getattr(track, name).append(values.astype(np.float32))


def courses(track: Track, noise: Noise) -> tuple[Floats, Floats, Floats, Floats]:
    """The record as arrays for backward sampling.

    Returns means after readings (days, states), their covariance (days, states, states), the transition to the next
    day and the covariance expected there, both (days, states, states).
    """
    days = len(track.filtered)
    covariance, predicted = (_square(np.array(rows, dtype=float)) for rows in (track.covariance, track.predicted))
    carried = np.array(track.carried, dtype=float)
    transition = np.zeros((days, STATES, STATES))
    transition[:, TEMPERATURE] = carried[:, :STATES]
    transition[:, FLUX, FLUX] = noise.flux_decay[0]
    lasting = np.arange(LASTING.start, LASTING.stop)
    transition[:, lasting, lasting] = noise.lasting_decay
    transition[:, AIR, AIR] = carried[:, STATES]
    return np.array(track.filtered, dtype=float), covariance, transition, predicted


def _square(lower: Floats) -> Floats:
    out = np.empty((lower.shape[0], STATES, STATES))
    out[:, _LOWER[0], _LOWER[1]] = lower
    out[:, _LOWER[1], _LOWER[0]] = lower
    return out


def trimmed(track: Track, start: date) -> Track:
    """Drop the records of days before ``start``."""
    drop = (start - track.start).days
    if drop <= 0:
        return track
    return replace(track, start=start, **{name: getattr(track, name)[drop:] for name in _RECORDS})
