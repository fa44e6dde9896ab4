"""The seasonal phase estimator: population fractions, dates ahead, field signs that teach it.

A season is run for particles that carry what is not known (thresholds, the lake's own offset, the weather ahead); each
gives the shares of fish by stage in three thermal zones and three size cohorts, large fish first. Signs weigh them.
Everything is replayed from the season's start, so a sign withdrawn leaves no trace; a kept state only saves the replay.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from briefing.core.climate.normals import AirNormals
from briefing.core.phase.chain import EARLY, ChainSetup, Record, chain_setup, empty_record, run_chain, start_boxes
from briefing.core.phase.dates import EVENTS, crossing_days, date_spans, moments, pause_chance
from briefing.core.phase.hazards import drive_for
from briefing.core.phase.memory import fingerprint, keep, recall
from briefing.core.phase.model import (
    LearnedSeason,
    PhaseCurve,
    PhaseLearned,
    PhaseResult,
    PhaseSite,
    PhaseState,
    PhaseTiming,
)
from briefing.core.phase.parameters import PhaseParameters
from briefing.core.phase.particles import draw_particles
from briefing.core.phase.population import (
    DAYS_AHEAD,
    DAYS_BACK,
    PHASES,
    Curves,
    curves,
    equal_members,
    females_spent,
    zone_cube,
)
from briefing.core.phase.refusals import is_tropical, refusal
from briefing.core.phase.season import Season, season_for
from briefing.core.phase.shares import STAGES, PhaseShares
from briefing.core.phase.signs import Evidence, day_of, weigh
from briefing.core.phase.water_year import climate_water_c, nest_water
from briefing.core.phase.words import Moment, best_observation, drivers, stage_means
from briefing.core.readings import LevelReading, Sign
from briefing.core.water.series import WaterSeries
from briefing.units import Units
from briefing.vocabulary import SpeciesForm, Zone

Floats = NDArray[np.float64]


def run_phase(
    site: PhaseSite,
    water: WaterSeries,
    form: SpeciesForm,
    signs: Sequence[Sign],
    parameters: PhaseParameters,
    *,
    today: date,
    normals: AirNormals | None,
    learned: PhaseLearned | None = None,
    level_changes: Mapping[date, float] | None = None,
    storm_days: Collection[date] = (),
    seed: int = 0,
    particles: int = 1000,
    state: PhaseState | None = None,
    units: Units,
) -> PhaseResult:
    """Estimate today's shares by phase, the dates of the nests, and what moved them.

    Parameters
    ----------
    site, form, parameters
        The water, the fish, and ``knowledge.load_phase_parameters()``.
    water
        Members of daily surface water (C); particle ``i`` lives under member ``i modulo members``.
    signs
        Field signs in any order; those after ``today`` or of another season are left aside.
    today
        Local date of the estimate.
    normals
        Air climate of the place, for the days the water series does not reach; None is refused.
    learned
        What earlier seasons taught; entries of this season are not read.
    level_changes
        Change of the water level over the three days up to a date, m (see ``level_changes_from``).
    storm_days
        Days of strong onshore wind, which cost nests.
    seed, particles
        Same seed, same answer.
    state
        From an earlier run; used when the inputs of its past still agree, else the season is replayed.
    units
        Which unit leads in the sentences.

    Returns
    -------
    PhaseResult
        With ``shares.refused`` set and no curve where no estimate can be made. Shares by zone reach from a week ago to
        45 days ahead, the curve over the whole season.
    """
    season = season_for(today, site.latitude_deg)
    learned = learned or PhaseLearned()
    common = parameters.common
    coldest = (
        0.0 if normals is None else float(climate_water_c(normals, _depth(site, parameters), parameters.climate).min())
    )
    refused = refusal(site, form, water, normals, coldest, common)
    if refused or normals is None:
        return _refused(form, today, refused, learned)
    at = season.index_of(today)
    job = _Job(site, water, form, tuple(signs), parameters, season, at, learned, seed, particles, units)
    return _run(job, normals, level_changes or {}, storm_days, is_tropical(coldest, common), state)


def level_changes_from(readings: Sequence[LevelReading]) -> dict[date, float]:
    """Change of level over three days, m, by the date of each reading that has one about three days older."""
    measured = sorted(((r.time, r.level_m) for r in readings if r.level_m is not None), key=lambda pair: pair[0])
    changes: dict[date, float] = {}
    for number, (time, level) in enumerate(measured):
        older = [(abs((time - then).total_seconds() / 86400.0 - 3.0), was) for then, was in measured[:number]]
        near = min((pair for pair in older if pair[0] <= 1.0), default=None, key=lambda pair: pair[0])
        if near is not None:
            changes[time.date()] = level - near[1]
    return changes


@dataclass(frozen=True)
class _Job:
    """The inputs of one run."""

    site: PhaseSite
    water: WaterSeries
    form: SpeciesForm
    signs: tuple[Sign, ...]
    parameters: PhaseParameters
    season: Season
    today: int
    learned: PhaseLearned
    seed: int
    particles: int
    units: Units

    def sign_days(self) -> dict[str, int]:
        """Day of the season of each sign that can be used."""
        found = {sign.id: self.season.index_of(day_of(sign, self.site.longitude_deg)) for sign in self.signs}
        return {key: day for key, day in found.items() if 0 <= day <= self.today}


def _depth(site: PhaseSite, parameters: PhaseParameters) -> float:
    return site.mean_depth_m or parameters.climate.usual_depth_m


def _refused(form: SpeciesForm, today: date, why: str, learned: PhaseLearned) -> PhaseResult:
    shares = PhaseShares(
        form=form,
        start=today,
        today_index=0,
        zones=(Zone.MAIN,),
        zone_weight=np.ones(1),
        fractions=np.zeros((0, 1, len(STAGES), 1)),
        prespawn_early=np.zeros((0, 1, 1)),
        dates=(),
        pause_chance=None,
        drivers=(),
        best_observation="",
        refused=f"The season is not known here. {why} Lures go by water temperature and date alone.",
    )
    return PhaseResult(shares, None, learned, None)


def _run(
    job: _Job,
    normals: AirNormals,
    level_changes: Mapping[date, float],
    storm_days: Collection[date],
    tropical: bool,
    state: PhaseState | None,
) -> PhaseResult:
    parameters, season = job.parameters, job.season
    form, common = parameters.forms[job.form], parameters.common
    taught = job.learned.before(season.year)
    nests = nest_water(job.site, season, job.water, normals, common, parameters.climate, job.seed)
    drive = drive_for(nests, season, form, common, level_changes, storm_days, tropical)
    drawn = draw_particles(form, parameters, job.site.latitude_deg, taught, job.seed, job.particles)
    setup = chain_setup(season, form, common, drive, drawn, job.water.members_c.shape[0])
    marks = (
        job.site,
        form,
        common,
        parameters.signs,
        season.start,
        job.seed,
        job.particles,
        taught,
        job.signs,
        tropical,
    )

    def mark(last_day: int) -> str:
        return fingerprint(marks, drive, last_day)

    record, history = empty_record(season.days, job.particles), None
    if state is not None and state.last_day < job.today and state.fingerprint == mark(state.last_day):
        history = recall(state, record, job.today)
    first = 0 if history is None else history.first
    boxes = start_boxes(common, job.particles) if history is None else history.boxes
    window = range(max(job.today - DAYS_BACK, 0), min(job.today + DAYS_AHEAD + 1, season.days))
    zone_days = {*window, *job.sign_days().values()}
    # The past is run apart from what lies ahead, so that its end can be kept.
    run_chain(setup, boxes, record, first, job.today, zone_days)
    ended = boxes.copy()
    run_chain(setup, boxes, record, job.today, season.days, zone_days)
    evidence = weigh(job.signs, record, job.sign_days(), common.zones, drawn.sight, parameters.signs, job.site.secchi_m)
    members = equal_members(evidence.weights)
    past = curves(record, members, slice(first, job.today))
    if history is not None:
        past = history.joined(past)
    ahead = curves(record, members, slice(job.today, season.days))
    kept = None
    if job.today > 0:
        kept = keep(mark(job.today - 1), job.today - 1, ended, record, past, job.sign_days().values())
    return _result(job, setup, record, evidence, members, past.then(ahead), kept, window, first if history else None)


def _result(
    job: _Job,
    setup: ChainSetup,
    record: Record,
    evidence: Evidence,
    members: NDArray[np.intp],
    curve: Curves,
    kept: PhaseState | None,
    window: range,
    advanced_from: int | None,
) -> PhaseResult:
    season, weights = job.season, evidence.weights
    event_days = _event_days(record)
    zone_weight = np.asarray(job.parameters.common.zone_weight)
    stages = stage_means(record.zones[job.today], zone_weight, weights)
    offset_mean, offset_sd = moments(setup.particles.offset_c.astype(float), weights)
    learned = job.learned.without(season.year)  # signs may have been withdrawn since
    if evidence.visits:
        learned = learned.with_season(LearnedSeason(season.year, offset_mean, offset_sd, evidence.visits))
    return PhaseResult(
        shares=_shares(job, setup, record, evidence, members, window, event_days["nest_middle"], stages),
        state=kept,
        learned=learned,
        curve=_season_curve(job, setup, record, curve, weights),
        timing=PhaseTiming(season.start, event_days, weights),
        female_spent=females_spent(stages, season, job.today),
        offset_mean_c=offset_mean,
        offset_sd_c=offset_sd,
        effective_particles=evidence.effective,
        advanced_days=None if advanced_from is None else job.today - advanced_from,
    )


def _shares(
    job: _Job,
    setup: ChainSetup,
    record: Record,
    evidence: Evidence,
    members: NDArray[np.intp],
    window: range,
    middle: Floats,
    stages: dict[str, float],
) -> PhaseShares:
    """What the rest of the program reads; ``middle`` is the day of the middle of the nests by particle."""
    season, common, weights = job.season, job.parameters.common, evidence.weights
    taught = job.learned.before(season.year)
    fractions, early = zone_cube(record, members, window)
    even = np.full(job.particles, 1.0 / job.particles)
    moment = Moment(season, setup.form, common, setup.drive, setup.particles, weights, job.today, stages, job.units)
    shift = moments(middle, weights)[0] - moments(middle, even)[0]
    return PhaseShares(
        form=job.form,
        start=season.start + timedelta(days=window.start),
        today_index=job.today - window.start,
        zones=common.zones,
        zone_weight=np.asarray(common.zone_weight) / sum(common.zone_weight),
        fractions=fractions,
        prespawn_early=early,
        dates=date_spans(record.laid, weights, season, _floor_days(job)),
        pause_chance=pause_chance(record.ease, _busy(record, job.today), weights, job.today, common.pause_ratio),
        drivers=drivers(moment, shift, evidence.used, None if taught is None else taught.offset_mean_c),
        best_observation=best_observation(
            job.parameters,
            record.zones[job.today],
            setup.particles.sight,
            middle,
            weights,
            job.water.days_since_reading,
        ),
        notes=_notes(job, setup, evidence, stages, barren=float(weights[np.isfinite(middle)].sum()) < 0.5),
    )


def _floor_days(job: _Job) -> float:
    """Least sd of a date: the model's own error until a season of signs is known, more where no weather is."""
    common = job.parameters.common
    floor = common.floor_sd_days if job.learned.before(job.season.year) is None else 0.0
    return max(floor, common.floor_sd_days_no_water) if job.water.normals_only else floor


def _busy(record: Record, today: int) -> Floats:
    """Share of the fish that are on nests or about to make one; (particles,)."""
    lake = record.lake[today].astype(float)
    nests = sum(lake[STAGES.index(name)] for name in ("nest_eggs", "larvae", "guarded_fry"))
    return np.asarray(nests + np.maximum(lake[STAGES.index("prespawn")] - lake[EARLY], 0.0))


def _season_curve(job: _Job, setup: ChainSetup, record: Record, curve: Curves, weights: Floats) -> PhaseCurve:
    main = job.parameters.common.zones.index(Zone.MAIN)
    totals = np.maximum(record.laid[-1], 1e-9)
    return PhaseCurve(
        start=job.season.start,
        today_index=job.today,
        phases=PHASES,
        mean=curve.mean,
        low=curve.low,
        high=curve.high,
        nests_started=(record.laid / totals).astype(float) @ weights,
        nest_water_c=setup.drive.water.daily_c[:, main].mean(axis=1).astype(float),
    )


def _event_days(record: Record) -> dict[str, Floats]:
    days = {name: crossing_days(record.laid, share) for name, share in EVENTS}
    hatched = {name.replace("nest", "hatch"): crossing_days(record.hatched, share) for name, share in EVENTS}
    return days | hatched


def _notes(job: _Job, setup: ChainSetup, evidence: Evidence, stages: dict[str, float], barren: bool) -> tuple[str, ...]:
    notes = []
    if barren:
        notes.append("By this water most of the fish find it too cold to spawn this season, so no dates are given.")
    if stages["nest_eggs"] + stages["larvae"] + stages["guarded_fry"] > 0.05:
        notes.append("The shares follow the males, which hold the nests; females leave about two days after laying.")
    if stages["guarded_fry"] > 0.05:
        notes.append(f"About {stages['guarded_fry']:.0%} of the males still guard fry (counted as post-spawn here).")
        notes.append("Where a bass won't leave its place, or a cloud of fry shows, move on.")
    if stages["prespawn"] > 0.05 and stages["guarded_fry"] + stages["postspawn"] + stages["summer"] > 0.5:
        notes.append("Those counted as pre-spawn now are mostly males that will nest again.")
    if setup.drive.tropical:
        notes.append("No cold season here: day length and the water level set the season, and the dates are wide.")
    if job.water.normals_only:
        notes.append(
            "The lake's weather is not known to the water model: the dates rest on the climate of the place alone."
        )
    if evidence.surprises:
        notes.append("What you saw was unlikely beforehand, so the range was widened rather than moved all the way.")
    if evidence.refused:
        notes.append(f"{len(evidence.refused)} of your signs lie outside this season and were left aside.")
    return tuple(notes)
