"""Invented lakes and weather for the tests of the seasonal phases."""

from datetime import UTC, date, datetime, timedelta

import numpy as np

from briefing.core.climate.normals import AirNormals
from briefing.core.phase import PhaseParameters, PhaseResult, PhaseSite, run_phase
from briefing.core.phase.season import season_for
from briefing.core.phase.water_year import climate_water_c
from briefing.core.readings import Sign
from briefing.core.water.series import WaterSeries
from briefing.resources import read_toml
from briefing.vocabulary import LakeKind, SignKind, SpeciesForm, Zone

PARAMETERS = PhaseParameters.from_mapping(read_toml("phase.toml"))
SITE = PhaseSite(37.0, -86.5, LakeKind.LOWLAND_RESERVOIR, 180.0)
NORTHERN = SpeciesForm.LARGEMOUTH_NORTHERN


def normals(mean_c=14.0, swing_c=12.0, latitude_deg=37.0, spread_c=4.0):
    """A plain yearly air curve: coldest in mid-January (mid-July in the south)."""
    phase = 2 * np.pi * (np.arange(366) - 16) / 366.0
    sign = -1.0 if latitude_deg >= 0 else 1.0
    mean = mean_c + sign * swing_c * np.cos(phase)
    flat = np.full(366, spread_c)
    return AirNormals(latitude_deg, -86.5, 180.0, mean, flat, np.full(366, 1.7), mean - 5.0, 1.0)


def water(air, today, site=SITE, members=16, back=120, ahead=10, anomaly_c=0.0, seed=3, spread_c=0.5):
    """A series about the climate of the place: a steady anomaly, members spread about it."""
    curve = climate_water_c(air, PARAMETERS.climate.usual_depth_m, PARAMETERS.climate)
    start = today - timedelta(days=back)
    days = [(start + timedelta(days=n)).timetuple().tm_yday - 1 for n in range(back + ahead + 1)]
    rng = np.random.default_rng(seed)
    values = curve[days] + anomaly_c + spread_c * rng.standard_normal((members, 1))
    values = np.maximum(values, 0.0)[:, :, None]
    return WaterSeries(start, back, (Zone.MAIN,), values, curve[days], 0.5, 3.0)


def run(today, *signs, form=NORTHERN, site=SITE, air=None, series=None, particles=300, **more) -> PhaseResult:
    """Run the estimator with what a test leaves out filled in."""
    air = air or normals(latitude_deg=site.latitude_deg)
    series = series or water(air, today, site)
    return run_phase(
        site,
        series,
        form,
        signs,
        PARAMETERS,
        today=today,
        normals=air,
        seed=5,
        particles=particles,
        **{"units": "us", **more},
    )


def sign(day, kind=SignKind.BEDS_WITH_FISH, zone=Zone.MAIN, number=0, **more):
    """A sign seen at noon."""
    return Sign(
        f"sign-{number}-{day}",
        datetime.combine(day, datetime.min.time(), UTC) + timedelta(hours=12),
        kind,
        zone,
        **more,
    )


def middle(result):
    """Median day of the middle of the nests."""
    timing = result.timing
    days = timing.days["nest_middle"]
    order = np.argsort(days)
    return days[order][np.searchsorted(np.cumsum(timing.weights[order]), 0.5)]


def season_day(today, index, latitude_deg=37.0):
    """Date of a day of the season."""
    return season_for(today, latitude_deg).date_at(index)


SPRING = date(2026, 4, 20)
