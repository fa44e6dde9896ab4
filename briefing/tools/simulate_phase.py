"""Checks the seasonal phase estimator against seasons made up by its own model: coverage, width, what signs teach.

    python -m briefing.tools.simulate_phase [--seasons N] [--particles N] [--signs N]

A truth draws its parameters from the prior and its weather from the climate; twelve visits look for beds for an hour or
handle a female, and what they find is drawn from the truth. The estimator sees the water with an error, a week of
forecast, and the finds. Then the truths are moved outside the prior: the lake's fish spawn 1.5 C warmer and the cohorts
lie half as far apart. Two more rows are about what signs teach: how far one clear report of beds with fish moves the
median of seasons whose prior sd is near 8 days, and how well twelve signs of one season fix the lake's own offset.
"""

from __future__ import annotations

import argparse
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from briefing.core.climate import AirNormals, NormalsTable, normals_at
from briefing.core.phase import PhaseParameters, PhaseResult, PhaseSite, run_phase
from briefing.core.phase.chain import Record, chain_setup, empty_record, run_chain, start_boxes
from briefing.core.phase.dates import EVENTS, crossing_days, moments, weighted_quantiles
from briefing.core.phase.hazards import drive_for
from briefing.core.phase.parameters import SignRate
from briefing.core.phase.particles import Particles, draw_particles
from briefing.core.phase.season import Season, season_for
from briefing.core.phase.signs import clarity_of, expected_count, generating_share, ripe_share
from briefing.core.phase.water_year import climate_water_c, nest_water
from briefing.core.readings import Sign
from briefing.core.water.series import WaterSeries
from briefing.evaluate.rows import text_table
from briefing.resources import read_arrays, read_toml
from briefing.vocabulary import LakeKind, SignKind, SpeciesForm, Zone

Floats = NDArray[np.float64]

FORM = SpeciesForm.LARGEMOUTH_NORTHERN
SITES = (
    PhaseSite(33.0, -88.0, LakeKind.LOWLAND_RESERVOIR, 80.0),
    PhaseSite(37.0, -86.5, LakeKind.LOWLAND_RESERVOIR, 180.0),
    PhaseSite(44.5, -90.0, LakeKind.NORTHERN_NATURAL, 350.0),
)
YEAR = 2015
MEMBERS = 64
FORECAST_DAYS = 7
HISTORY_DAYS = 150
#: Error of the water estimate: sd today in C, daily persistence, growth a day of forecast.
WATER_ERROR_C = 0.6
ERROR_KEEP = 0.9
FORECAST_GROWTH_C = 0.25
OUTSIDE_OFFSET_C = 1.5
OUTSIDE_WAVE = 0.5
VISIT_HOURS = 1.0
#: What one report moves is told for seasons with a prior sd in this range, in days.
NEAR_8_DAYS = (7.0, 9.0)
_LOOKS = (True, True, False)  # two visits look for beds, the third handles a female


@dataclass(frozen=True)
class World:
    """Truths of one site: a season each, as columns of a record."""

    site: PhaseSite
    normals: AirNormals
    season: Season
    surface_c: Floats  # (days, truths)
    record: Record
    particles: Particles
    events: dict[str, Floats]


@dataclass(frozen=True)
class Outcome:
    """One season: the truth and the estimate of each event, in days, and the lake's offset."""

    truth: dict[str, float]
    span: dict[str, tuple[float, float, float]]
    sd: dict[str, float]
    offset_sd_c: float


def load() -> tuple[PhaseParameters, NormalsTable]:
    """Read what the simulation needs."""
    return PhaseParameters.from_mapping(read_toml("phase.toml")), NormalsTable.from_mapping(
        read_arrays("air_normals.npz")
    )


def make_world(
    site: PhaseSite, parameters: PhaseParameters, table: NormalsTable, truths: int, seed: int, outside: bool
) -> World:
    """Run ``truths`` seasons of one site, each with parameters and weather of its own."""
    common, form = parameters.common, parameters.forms[FORM]
    normals = normals_at(table, site.latitude_deg, site.longitude_deg, site.elevation_m or 0.0)
    season = season_for(date(YEAR, 5, 1), site.latitude_deg)
    surface = _weather(normals, season, parameters, truths, np.random.default_rng([seed, 1]))
    series = WaterSeries(season.start, 0, (Zone.MAIN,), surface.T[:, :, None], surface[:, 0], 0.0, None)
    drawn = draw_particles(form, parameters, site.latitude_deg, None, 10_000 + seed, truths)
    if outside:
        drawn = replace(
            drawn,
            centre_c=drawn.centre_c + np.float32(OUTSIDE_OFFSET_C),
            wave_c=drawn.wave_c * np.float32(OUTSIDE_WAVE),
        )
    nests = nest_water(site, season, series, normals, common, parameters.climate, seed)
    drive = drive_for(nests, season, form, common, {}, (), tropical=False)
    setup = chain_setup(season, form, common, drive, drawn, truths)
    record = empty_record(season.days, truths)
    run_chain(setup, start_boxes(common, truths), record, 0, season.days, range(200, 360))
    return World(
        site,
        normals,
        season,
        surface,
        record,
        drawn,
        {name: crossing_days(record.laid, share) for name, share in EVENTS},
    )


def _weather(
    normals: AirNormals, season: Season, parameters: PhaseParameters, count: int, rng: np.random.Generator
) -> Floats:
    """Surface water of ``count`` seasons: climate plus a slow anomaly; (days, count)."""
    common, climate = parameters.common, parameters.climate
    curve = climate_water_c(normals, climate.usual_depth_m, climate)[season.day_of_year - 1]
    spread = common.spread_ratio * normals.day_sd_c[season.day_of_year - 1]
    keep = np.exp(-1.0 / common.anomaly_days)
    anomaly = np.empty((season.days, count))
    anomaly[0] = spread[0] * rng.standard_normal(count)
    for day in range(1, season.days):
        fresh = np.sqrt(1.0 - keep**2) * spread[day] * rng.standard_normal(count)
        anomaly[day] = keep * anomaly[day - 1] + fresh
    return np.maximum(curve[:, None] + anomaly, 0.0)


def seen_water(world: World, truth: int, today: int, rng: np.random.Generator) -> WaterSeries:
    """The truth's water as an engine would give it: an ensemble of which the truth is one likely member."""
    first, last = today - HISTORY_DAYS, today + FORECAST_DAYS
    days = last - first + 1
    error = np.empty((days, MEMBERS + 1))
    error[0] = WATER_ERROR_C * rng.standard_normal(MEMBERS + 1)
    for day in range(1, days):
        growth = FORECAST_GROWTH_C if first + day > today else 0.0
        sd = np.hypot(np.sqrt(1.0 - ERROR_KEEP**2) * WATER_ERROR_C, growth)
        error[day] = ERROR_KEEP * error[day - 1] + sd * rng.standard_normal(MEMBERS + 1)
    members = world.surface_c[first : last + 1, truth, None] + error[:, 1:] - error[:, :1]
    members = np.maximum(members, 0.0).T[:, :, None]
    start = world.season.start + timedelta(days=first)
    return WaterSeries(start, HISTORY_DAYS, (Zone.MAIN,), members, members.mean((0, 2)), 0.5, 3.0)


def find_signs(
    world: World, truth: int, days: Sequence[int], parameters: PhaseParameters, rng: np.random.Generator
) -> tuple[Sign, ...]:
    """What visits on ``days`` find, drawn from the truth."""
    zones, rates, patchiness = parameters.common.zones, parameters.signs.rates, parameters.signs.patchiness
    signs = []
    for number, day in enumerate(days):
        zone = int(rng.integers(len(zones)))
        count = None
        cube = world.record.zones[day][:, :, truth : truth + 1]
        chance = rng.random()
        if _LOOKS[number % len(_LOOKS)]:
            sight = world.particles.sight[truth : truth + 1]
            rate = rates[SignKind.BEDS_WITH_FISH]
            mean = expected_count(rate, cube, zone, sight, VISIT_HOURS, clarity_of(None))[0]
            count = int(rng.poisson(mean * rng.gamma(patchiness, 1.0 / patchiness)))
            if chance < rate.false_rate:
                count = max(count, int(rng.geometric(0.5)))
            kind = SignKind.BEDS_WITH_FISH if count else SignKind.LOOKED_NONE
        else:
            ripe = chance < ripe_share(cube, zone, rates)[0]
            kind = SignKind.RIPE_FEMALES if ripe else SignKind.SPENT_FEMALES
        time = datetime.combine(world.season.start + timedelta(days=int(day)), datetime.min.time(), UTC)
        signs.append(Sign(f"s{number:02d}", time + timedelta(hours=12), kind, zones[zone], VISIT_HOURS, count or None))
    return tuple(signs)


def visit_days(world: World, count: int) -> list[int]:
    """Days of the visits: evenly from two weeks before the usual start of nests to two weeks after their middle."""
    first = float(np.nanmedian(world.events["nest_start"])) - 14.0
    last = float(np.nanmedian(world.events["nest_middle"])) + 14.0
    return [round(day) for day in np.linspace(first, last, count)]


def estimate(
    world: World, truth: int, parameters: PhaseParameters, signs: Sequence[Sign], today: int, particles: int, seed: int
) -> PhaseResult:
    """Run the estimator on the season of one truth."""
    water = seen_water(world, truth, today, np.random.default_rng([seed, truth, 3]))
    day = world.season.start + timedelta(days=today)
    return run_phase(
        world.site,
        water,
        FORM,
        signs,
        parameters,
        today=day,
        units="metric",
        normals=world.normals,
        seed=seed,
        particles=particles,
    )


def simulate(seasons: int, particles: int, signs: int, *, outside: bool = False, seed: int = 1) -> list[Outcome]:
    """Run ``seasons`` made-up seasons over the sites; None of a truth's seasons without nests count."""
    parameters, table = load()
    outcomes = []
    for number, site in enumerate(SITES):
        count = len(range(number, seasons, len(SITES)))
        if not count:
            continue
        world = make_world(site, parameters, table, count, seed + 100 * number, outside)
        usual = make_world(site, parameters, table, 200, 77, outside=False)
        days = visit_days(usual, max(signs, 2))
        for truth in range(count):
            truths = {name: float(values[truth]) for name, values in world.events.items()}
            if not all(np.isfinite(value) for value in truths.values()):
                continue
            rng = np.random.default_rng([seed, number, truth])
            found = find_signs(world, truth, days[:signs], parameters, rng)
            result = estimate(world, truth, parameters, found, days[-1], particles, seed + truth)
            outcomes.append(_outcome(truths, result))
    return outcomes


def one_report(world: World, parameters: PhaseParameters, truths: int, particles: int) -> list[float]:
    """Days by which one "beds with fish" moves the median of the middle, in seasons with a prior sd near 8 days."""
    day = round(float(np.nanmedian(world.events["nest_start"])))
    moves = []
    for truth in range(truths):
        report = _sign(world, 0, day, SignKind.BEDS_WITH_FISH, Zone.MAIN, None)
        medians = []
        for signs in ((), (report,)):
            timing = estimate(world, truth, parameters, signs, day, particles, 3).timing
            assert timing is not None
            days = timing.days["nest_middle"]
            if not signs and not NEAR_8_DAYS[0] <= moments(days, timing.weights)[1] <= NEAR_8_DAYS[1]:
                break
            good = np.isfinite(days)
            medians.append(float(weighted_quantiles(days[good], timing.weights[good], (0.5,))[0]))
        if len(medians) == 2:
            moves.append(medians[0] - medians[1])
    return moves


def season_of_signs(
    world: World, truth: int, rates: Mapping[SignKind, SignRate], *, counted: bool
) -> tuple[tuple[Sign, ...], int]:
    """Four hours in vain, four times beds with fish, four females handled, as that season would show them.

    ``counted``: the number of beds is told. Returns the signs and the day of the season on which all are known.
    """
    start, middle = (world.events[name][truth] for name in ("nest_start", "nest_middle"))
    plan = [
        *((start - back, SignKind.LOOKED_NONE) for back in (12, 9, 6, 3)),
        *((day, SignKind.BEDS_WITH_FISH) for day in (start + 3, start + 7, middle - 3, middle + 3)),
        *((middle - back, SignKind.RIPE_FEMALES) for back in (6, 1)),
        *((middle + on, SignKind.SPENT_FEMALES) for on in (4, 8)),
    ]
    weights = rates[SignKind.BEDS_WITH_FISH].weights
    signs = []
    for number, (day, kind) in enumerate(plan):
        count = None
        if counted and kind is SignKind.BEDS_WITH_FISH:
            cube = world.record.zones[int(day)][:, :, truth : truth + 1]
            count = max(1, round(15.0 * float(generating_share(cube, number % 2, weights)[0])))
        signs.append(_sign(world, number, int(day), kind, (Zone.MAIN, Zone.POCKET)[number % 2], count))
    return tuple(signs), int(middle + 9)


def _sign(world: World, number: int, day: int, kind: SignKind, zone: Zone, count: int | None) -> Sign:
    time = datetime.combine(world.season.start + timedelta(days=day), datetime.min.time(), UTC) + timedelta(hours=12)
    return Sign(f"s{number:02d}", time, kind, zone, VISIT_HOURS, count)


def _teaching(seasons: int, particles: int) -> list[tuple[str, str, str, str, str, str]]:
    """Rows on what one report and twelve signs teach, over the sites."""
    parameters, table = load()
    worlds = [make_world(site, parameters, table, max(seasons, 3), 5 + n, False) for n, site in enumerate(SITES)]
    moves = [move for world in worlds for move in one_report(world, parameters, seasons, particles)]
    moved = f"{np.median(moves):.1f} days" if moves else "none near 8 days"
    rows = [("one report of beds, prior sd 7-9 days", "nest_middle", str(len(moves)), "", f"moves {moved}", "")]
    for counted in (True, False):
        spreads = []
        for world in worlds:
            for truth in range(seasons):
                if all(np.isfinite(values[truth]) for values in world.events.values()):
                    signs, day = season_of_signs(world, truth, parameters.signs.rates, counted=counted)
                    spreads.append(estimate(world, truth, parameters, signs, day, particles, 3 + truth).offset_sd_c)
        label = f"twelve signs, {'counted' if counted else 'not counted'}"
        rows.append((label, "lake offset", str(len(spreads)), "", f"sd {np.mean(spreads):.2f} C", ""))
    return rows


def _outcome(truths: dict[str, float], result: PhaseResult) -> Outcome:
    timing = result.timing
    assert timing is not None
    span, spread = {}, {}
    for name in truths:
        days, good = timing.days[name], np.isfinite(timing.days[name])
        low, middle, high = weighted_quantiles(days[good], timing.weights[good], (0.1, 0.5, 0.9))
        span[name] = (float(low), float(middle), float(high))
        spread[name] = moments(days, timing.weights)[1]
    return Outcome(truths, span, spread, result.offset_sd_c)


def scores(outcomes: Sequence[Outcome]) -> dict[str, dict[str, float]]:
    """Coverage of the 80 % interval, its mean width and the mean error of the median, by event and over all."""
    table = {}
    for name in (*(name for name, _ in EVENTS), "all"):
        names = [one for one, _ in EVENTS] if name == "all" else [name]
        inside = [o.span[n][0] <= o.truth[n] <= o.span[n][2] for o in outcomes for n in names]
        table[name] = {
            "n": float(len(inside)),
            "cover80": float(np.mean(inside)),
            "width_days": float(np.mean([o.span[n][2] - o.span[n][0] for o in outcomes for n in names])),
            "mean_abs_days": float(np.mean([abs(o.span[n][1] - o.truth[n]) for o in outcomes for n in names])),
        }
    return table


def main(argv: Sequence[str] | None = None) -> None:
    """Run the simulation and print its tables."""
    parser = argparse.ArgumentParser(prog="python -m briefing.tools.simulate_phase")
    parser.add_argument("--seasons", type=int, default=5000)
    parser.add_argument("--particles", type=int, default=1000)
    parser.add_argument("--signs", type=int, default=12)
    chosen = parser.parse_args(argv)
    rows = []
    for label, signs, outside in (
        ("prior, no signs", 0, False),
        ("prior, signs", chosen.signs, False),
        ("outside the prior, signs", chosen.signs, True),
    ):
        count = chosen.seasons if signs else max(chosen.seasons // 10, 3)
        outcomes = simulate(count, chosen.particles, signs, outside=outside)
        for event, score in scores(outcomes).items():
            rows.append((label, event, f"{score['n']:.0f}", f"{score['cover80']:.1%}", f"{score['width_days']:.1f}",
                         f"{score['mean_abs_days']:.1f}"))  # fmt: skip
        sd = float(np.mean([one.offset_sd_c for one in outcomes]))
        rows.append((label, "lake offset", str(len(outcomes)), "", f"sd {sd:.2f} C", ""))
    rows += _teaching(min(max(chosen.seasons // 50, 3), 40), chosen.particles)
    print(text_table(("truths", "event", "n", "80 % cover", "width", "mean error"), rows))


if __name__ == "__main__":
    main()
