"""The population on its way through the stages, day by day, for every particle, zone and size cohort at once.

    winter -> pre-spawn -> [eggs -> larvae -> guarded fry] -> post-spawn -> summer -> autumn -> winter

Eggs, larvae and fry are three boxes each that run on degree-days, so that the time spent in a stage is peaked. A box is
stepped implicitly, ``new = (old + inflow) / (1 + rate + loss)``: never negative, its mean time is exact whatever the
rate, and fish may pass several boxes in one warm day.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from briefing.core.phase.hazards import Drive, HazardBlock, hazard_block
from briefing.core.phase.parameters import CommonParameters, FormParameters
from briefing.core.phase.particles import Particles
from briefing.core.phase.season import Season
from briefing.vocabulary import Zone

Singles = NDArray[np.float32]

#: Boxes in order: winter, pre-spawn, 3 eggs, 3 larvae, 3 fry, post-spawn, summer, autumn.
BOXES = 14
WINTER, PRESPAWN, EGGS, LARVAE, FRY, POSTSPAWN, SUMMER, AUTUMN = 0, 1, 2, 5, 8, 11, 12, 13
#: First box of each stage of ``shares.STAGES``.
STAGE_STARTS = (WINTER, PRESPAWN, EGGS, LARVAE, FRY, POSTSPAWN, SUMMER, AUTUMN)
#: Channels of a record: the eight stages, then the early part of pre-spawn.
CHANNELS = 9
EARLY = 8
_BLOCK_DAYS = 10
_NONE = np.float32(1e-6)


@dataclass
class Record:
    """What is kept of the days run; filled in place.

    lake (days, channels, particles) is weighted over zones; laid and hatched (days, particles) are cumulated; ease
    (days, particles) is the main bank's answer to cold; zones maps a day to (channels, zones, particles).
    """

    lake: Singles
    laid: Singles
    hatched: Singles
    ease: Singles
    zones: dict[int, Singles]


def empty_record(days: int, particles: int) -> Record:
    """Make a record for a season."""
    return Record(
        lake=np.zeros((days, CHANNELS, particles), np.float32),
        laid=np.zeros((days, particles), np.float32),
        hatched=np.zeros((days, particles), np.float32),
        ease=np.zeros((days, particles), np.float32),
        zones={},
    )


def start_boxes(common: CommonParameters, particles: int) -> Singles:
    """Population at the start, in summer places or still resting from spawning; (boxes, cohorts, zones, n)."""
    boxes = np.zeros((BOXES, len(common.cohort_share), len(common.zones), particles), np.float32)
    share = np.asarray(common.cohort_share, np.float32)[:, None, None]
    boxes[SUMMER] = 0.9 * share
    boxes[POSTSPAWN] = 0.1 * share
    return boxes


@dataclass(frozen=True)
class ChainSetup:
    """All that a run of the chain reads and never changes."""

    season: Season
    form: FormParameters
    common: CommonParameters
    drive: Drive
    particles: Particles
    members: NDArray[np.intp]
    lake_weights: Singles  # over (cohort, zone) pairs, (cohorts * zones,)
    cohort_pull: Singles  # exp(cohort offset / spread); (cohorts, 1, particles)


def chain_setup(
    season: Season, form: FormParameters, common: CommonParameters, drive: Drive, particles: Particles, members: int
) -> ChainSetup:
    """Fix what stays the same over a run; particle ``i`` lives under ensemble member ``i modulo members``."""
    steps = np.array([-1.0, 0.0, 1.0], np.float32)[:, None, None]
    weights = np.asarray(common.zone_weight, np.float32) / np.float32(sum(common.zone_weight))
    return ChainSetup(
        season=season,
        form=form,
        common=common,
        drive=drive,
        particles=particles,
        members=np.arange(particles.count) % members,
        lake_weights=np.tile(weights, steps.size),
        cohort_pull=np.exp(steps * particles.wave_c / np.float32(form.spread_c)).astype(np.float32),
    )


def run_chain(
    setup: ChainSetup, boxes: Singles, record: Record, first: int, until: int, zone_days: Collection[int]
) -> None:
    """Run days ``first`` up to but without ``until``; ``boxes`` and ``record`` are changed in place."""
    wanted = frozenset(zone_days)
    walker = _Walker(setup, boxes, record)
    for begin in range(first - first % _BLOCK_DAYS, until, _BLOCK_DAYS):
        days = slice(max(begin, first), min(begin + _BLOCK_DAYS, until))
        block = hazard_block(setup.drive, setup.season, setup.form, setup.common, setup.particles, setup.members, days)
        record.ease[days] = block.ease[:, setup.common.zones.index(Zone.MAIN)]
        for row, day in enumerate(range(days.start, days.stop)):
            walker.step(block, row, day)
            walker.note(block.early[row], day, day in wanted)


def gather_stages(boxes: Singles, out: Singles) -> None:
    """Sum the boxes of each stage into the first eight rows of ``out``."""
    for row, first in enumerate(STAGE_STARTS):
        out[row] = boxes[first]
        if first in (EGGS, LARVAE, FRY):
            out[row] += boxes[first + 1]
            out[row] += boxes[first + 2]


class _Walker:
    """Steps the boxes, with buffers that are made once."""

    def __init__(self, setup: ChainSetup, boxes: Singles, record: Record) -> None:
        self.setup = setup
        self.boxes = boxes
        self.record = record
        self.buffer = np.empty_like(boxes[0])
        self.spare = np.empty_like(boxes[0])
        self.nesting = bool(boxes[EGGS:POSTSPAWN].max() > 0.0)

    def _lake(self, values: Singles) -> Singles:
        """Weighted sum over cohorts and zones; (particles,)."""
        return np.asarray(self.setup.lake_weights @ values.reshape(-1, values.shape[-1]))

    def _move(self, source: int, target: int, hazard: Singles) -> None:
        np.multiply(self.boxes[source], hazard, out=self.buffer)
        self.boxes[source] -= self.buffer
        self.boxes[target] += self.buffer

    def step(self, block: HazardBlock, row: int, day: int) -> None:
        """Advance every box by one day."""
        record = self.record
        if day > 0:
            record.laid[day] = record.laid[day - 1]
            record.hatched[day] = record.hatched[day - 1]
        if block.stage[row].max() > _NONE:
            self._move(WINTER, PRESPAWN, block.stage[row])
            self._move(AUTUMN, PRESPAWN, block.stage[row])
        eggs = self._laid(block, row, day)
        if eggs is not None or self.nesting:
            self._nests(block, row, day, eggs)
        if block.give_up[row].max() > _NONE:
            self._move(PRESPAWN, POSTSPAWN, block.give_up[row])
        self._move(POSTSPAWN, SUMMER, block.to_summer[row])
        if block.to_autumn[row].max() > _NONE:
            self._move(POSTSPAWN, AUTUMN, block.to_autumn[row])
            self._move(SUMMER, AUTUMN, block.to_autumn[row])
        if block.to_winter[row].max() > _NONE:
            self._move(AUTUMN, WINTER, block.to_winter[row])

    def _laid(self, block: HazardBlock, row: int, day: int) -> Singles | None:
        """Fish that make nests today; None when none does."""
        if block.gate[row].max() <= _NONE or self.boxes[PRESPAWN].max() <= _NONE:
            return None
        eggs = np.multiply(block.cold[row], self.setup.cohort_pull, out=self.spare)
        eggs += 1.0
        np.divide(block.gate[row], eggs, out=eggs)
        eggs *= self.boxes[PRESPAWN]
        self.boxes[PRESPAWN] -= eggs
        self.record.laid[day] += self._lake(eggs)
        return np.asarray(eggs)

    def _nests(self, block: HazardBlock, row: int, day: int, eggs: Singles | None) -> None:
        """Eggs, larvae and fry; lost nests send males back, some males leaving fry nest again."""
        form, common, boxes = self.setup.form, self.setup.common, self.boxes
        loss = block.loss[row]
        flow = eggs
        for first, need in ((EGGS, common.egg_degree_days), (LARVAE, form.larvae_degree_days)):
            rate = block.dev[row] * np.float32(3.0 / need)
            flow = self._boxes(first, flow, rate, 1.0 / (1.0 + rate + loss))
            if first == EGGS:
                self.record.hatched[day] += self._lake(flow)
        rate = np.float32(3.0 / form.fry_days)
        flow = self._boxes(FRY, flow, rate, np.float32(1.0 / (1.0 + rate)))
        again = flow * np.float32(form.renest)
        lost = np.add.reduce(boxes[EGGS:FRY], axis=0)
        lost *= loss
        boxes[POSTSPAWN] += flow
        boxes[POSTSPAWN] -= again
        boxes[PRESPAWN] += again
        boxes[POSTSPAWN] += np.float32(1.0 - common.lost_return) * lost
        lost *= np.float32(common.lost_return)
        boxes[PRESPAWN] += lost
        self.nesting = eggs is not None or bool(boxes[EGGS:POSTSPAWN].max() > _NONE)

    def _boxes(
        self, first: int, flow: Singles | None, rate: Singles | np.float32, kept: Singles | np.float32
    ) -> Singles:
        """Carry ``flow`` through the three boxes from ``first``; returns what leaves the last."""
        for number in range(first, first + 3):
            box = self.boxes[number]
            if flow is not None:
                box += flow
            box *= kept
            flow = np.multiply(box, rate, out=self.buffer)
        assert flow is not None
        return flow

    def note(self, early: Singles, day: int, zones: bool) -> None:
        """Keep the day's shares."""
        stacked = self.boxes.reshape(BOXES, -1, self.boxes.shape[-1])
        lake = np.matmul(self.setup.lake_weights, stacked)
        gather_stages(lake, self.record.lake[day])
        staging = self.boxes[PRESPAWN].sum(axis=0) * early
        self.record.lake[day, EARLY] = self.setup.lake_weights[: staging.shape[0]] @ staging
        if zones:
            cube = np.empty((CHANNELS, *staging.shape), np.float32)
            gather_stages(self.boxes.sum(axis=1), cube)
            cube[EARLY] = staging
            self.record.zones[day] = cube
