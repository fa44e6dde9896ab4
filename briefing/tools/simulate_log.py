"""Simulated anglers and mornings: does the log find what is there, invent nothing, and do corrections help?

    python -m briefing.tools.simulate_log --seeds 200

An angler fishes outings of five hours with four presentations, at 0.3 contacts an hour on each, times a gamma day
effect (mean 1, shape 4: a good day is three times a poor one). In a *true* season one of them catches twice as much;
in a *noise* season none does. Three anglers: one *follows* and gives two fifths of the hours to the presentation that
leads by prior and log; one *divides* the hours evenly, whatever the log says; one divides all but the share of time
that the log proposes for a *trial* (``LogLearned.to_try``). Found and invented are read at the season's end; "at any
time" counts what was said after any of its outings.

The ceiling (``ceiling``). In a season divided evenly, days and the angler's own rate change how much is caught, not
which presentation caught it: given the total, the fish fall to presentations as in a lottery, and the best test of "one
of them doubles" compares the largest share with what chance gives for that total (likelihood ratio of multinomials;
Neyman and Pearson 1933, https://doi.org/10.1098/rsta.1933.0009). No rule that invents in as many noise seasons,
whatever the angler's rate, finds more: of four presentations in 200 hours at most four fifths at a tenth invented. Who
wants more must fish where the question is, as those who follow and those who take the trials do. (At one known rate a
rule may find a little more, by what the total tells; it then invents more at higher rates.)
"""

from __future__ import annotations

import argparse
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np

from briefing.core.log.checks import WIND, Check
from briefing.core.log.correction import fit_correction, mornings_of, sector_of
from briefing.core.log.learning import LogLearned, learn
from briefing.core.log.parameters import LogParameters
from briefing.core.log.records import Condition, Fish, Segment
from briefing.resources import read_toml
from briefing.units import mph_to_mps
from briefing.vocabulary import Cover

BOX = ("bladed_swim_jig", "spinnerbait", "texas_worm", "squarebill_crankbait")
GROUPS = {
    "bladed_swim_jig": "skirted_moving",
    "spinnerbait": "skirted_moving",
    "texas_worm": "bottom",
    "squarebill_crankbait": "crankbait",
}
#: Further ones for anglers who carry more.
MORE = {"jerkbait": "jerkbait", "tube": "bottom", "popper": "topwater", "drop_shot": "finesse"}
FIRST_DAY = datetime(2026, 3, 7, 11, tzinfo=UTC)
OUTING_H = 5.0
BASE_PER_H = 0.3
DAY_SHAPE = 4.0
LEAD_SHARE = 0.4
ANGLERS = {"follows": "follows the advice", "divides": "divides hours evenly", "tries": "divides, takes the trials"}


@dataclass(frozen=True)
class World:
    """What the simulated angler meets. Spots and covers matter where there are several.

    thrown: hours on each presentation where they are not alike, for anglers who divide. at_home: how often a
    presentation is thrown at a spot of its own; elsewhere and otherwise the spot is drawn anew for each outing.
    """

    box: tuple[str, ...] = BOX
    base_per_h: float = BASE_PER_H
    factor: float = 2.0
    day_shape: float = DAY_SHAPE
    outing_h: float = OUTING_H
    spots: int = 1
    spot_sd: float = 0.0
    at_home: float = 0.0
    phases: tuple[str, ...] = ("summer",)
    thrown: Mapping[str, float] = field(default_factory=dict)


PLAIN = World()
COVERS = (Cover.GRASS_DENSE, Cover.DOCK, Cover.ROCK, Cover.PADS)


@dataclass(frozen=True)
class Season:
    """One simulated season: its segments, what was learned at the end, what was ever said, and the fish landed."""

    segments: tuple[Segment, ...]
    learned: LogLearned
    ever: frozenset[tuple[str, str]]
    fish: int


def season(
    seed: int,
    parameters: LogParameters,
    *,
    doubled: str | None,
    outings: int = 40,
    angler: str = "follows",
    prior: Mapping[str, float] | None = None,
    world: World = PLAIN,
) -> Season:
    """Simulate a season. prior: the trade's score by presentation (all alike when None); rates don't depend on it."""
    rng = np.random.default_rng(seed)
    score = dict.fromkeys(world.box, 1.0) | dict(prior or {})
    best = max(score.values())
    places = np.exp(world.spot_sd * rng.normal(size=world.spots)) if world.spots > 1 else np.ones(1)
    groups = GROUPS | MORE
    segments: list[Segment] = []
    ever: set[tuple[str, str]] = set()
    quiet = replace(parameters, learning=replace(parameters.learning, review_outings=outings + 1))
    learned = learn([], groups, parameters, FIRST_DAY.date())
    for number in range(outings):
        start = FIRST_DAY + timedelta(days=5 * number)
        day = rng.gamma(world.day_shape, 1.0 / world.day_shape)
        shares = _shares(angler, score, learned, world)
        phase = world.phases[number * len(world.phases) // outings]
        at = start
        for name in rng.permutation(world.box).tolist():
            hours = world.outing_h * shares[name]
            spot = 0
            if world.spots > 1:
                home = world.box.index(name) % world.spots
                spot = home if rng.random() < world.at_home else int(rng.integers(world.spots))
            rate = world.base_per_h * day * places[spot] * (world.factor if name == doubled else 1.0)
            caught = int(rng.poisson(rate * hours))
            segments.append(_segment(number, at, hours, name, caught, score[name] / best, spot, phase))
            at += timedelta(hours=hours)
        if (number + 1) % parameters.learning.review_outings == 0 or number + 1 == outings:
            learned = learn(segments, groups, parameters, at.date())
            ever |= set(stated(learned).items())
        elif angler != "divides":  # what is said does not change before the next review: left out, for speed
            learned = learn(segments, groups, quiet, at.date())
    return Season(tuple(segments), learned, frozenset(ever), sum(len(segment.fish) for segment in segments))


def _shares(angler: str, score: Mapping[str, float], learned: LogLearned, world: World) -> dict[str, float]:
    box = world.box
    if angler == "follows":
        factors = learned.factors(Cover.GRASS_DENSE)
        leader = max(box, key=lambda name: score[name] * np.exp(factors.get(name, 0.0)))
        lead = max(LEAD_SHARE, 1.5 / len(box))
        return {name: lead if name == leader else (1.0 - lead) / (len(box) - 1) for name in box}
    parts = {name: world.thrown.get(name, 1.0) for name in box}
    shares = {name: part / sum(parts.values()) for name, part in parts.items()}
    if angler == "tries":
        trial = learned.parameters.try_share
        tried = learned.to_try(score)
        shares = {name: (1.0 - trial) * share + trial * (name == tried) for name, share in shares.items()}
    return shares


def _segment(
    outing: int, start: datetime, hours: float, name: str, fish: int, prior: float, spot: int, phase: str
) -> Segment:
    return Segment(
        outing=outing,
        start=start,
        end=start + timedelta(hours=hours),
        minutes=60.0 * hours,
        effort="clocked",
        spot=f"Spot {spot}",
        cover=COVERS[spot % len(COVERS)],
        depth_m=1.5,
        presentation=name,
        weight_g=10.6,
        fish=tuple(Fish(0.35) for _ in range(fish)),
        contacts=0,
        follows=0,
        marks=(),
        planned=None,
        prior=prior,
        conditions={"phase": Condition(phase, "modelled", "briefing"), "secchi_m": Condition(1.0, "entered", "you")},
    )


def stated(learned: LogLearned) -> dict[str, str]:
    """Presentations that the program calls better or worse, all conditions together."""
    words = {name: learned.effect(name).stated for name in sorted(learned.tallies)}
    return {name: word for name, word in words.items() if word}


@dataclass(frozen=True, slots=True)
class Score:
    """Shares of seasons: found and invented at the end, and at any time after one of its outings.

    ``wrong`` is the share of true seasons at whose end another than the doubled presentation is called better.
    """

    found: float
    found_ever: float
    wrong: float
    invented: float
    invented_ever: float

    def __str__(self) -> str:
        return (
            f"found {self.found:.3f} (at any time {self.found_ever:.3f}, another called better {self.wrong:.3f}), "
            f"invented {self.invented:.3f} (at any time {self.invented_ever:.3f})"
        )


def score(
    seeds: Sequence[int],
    parameters: LogParameters,
    *,
    angler: str = "follows",
    world: World = PLAIN,
    which: int | None = None,
    prior: Mapping[str, float] | None = None,
    outings: int = 40,
) -> Score:
    """Found and invented over seeds. which: the place in the box of what doubles; each in turn when None."""
    found, found_ever, wrong, invented, invented_ever = 0, 0, 0, 0, 0
    for seed in seeds:
        best = world.box[seed % len(world.box) if which is None else which]
        true = season(seed, parameters, doubled=best, outings=outings, angler=angler, world=world, prior=prior)
        noise = season(seed, parameters, doubled=None, outings=outings, angler=angler, world=world, prior=prior)
        words = stated(true.learned)
        found += words.pop(best, "") == "better"
        wrong += "better" in words.values()
        found_ever += (best, "better") in true.ever
        invented += bool(stated(noise.learned))
        invented_ever += bool(noise.ever)
    return Score(*(count / len(seeds) for count in (found, found_ever, wrong, invented, invented_ever)))


def ceiling(
    level: float, presentations: int = 4, *, world: World = PLAIN, outings: int = 40, draws: int = 4000
) -> float:
    """The most of true seasons, divided evenly, that any rule can find which invents in ``level`` of noise seasons.

    The noise's largest share by total is simulated; a rule that draws lots at the very edge is allowed.
    """
    rng = np.random.default_rng(0)
    usual = world.base_per_h * world.outing_h * (presentations - 1.0 + world.factor) / presentations
    days = rng.gamma(world.day_shape, 1.0 / world.day_shape, (draws, outings))
    totals, times = np.unique(rng.poisson(usual * days.sum(axis=1)), return_counts=True)
    share = world.factor / (presentations - 1.0 + world.factor)
    power = 0.0
    for total, count in zip(totals.tolist(), times.tolist(), strict=True):
        most = rng.multinomial(total, np.full(presentations, 1.0 / presentations), draws).max(axis=1)
        above = np.bincount(most, minlength=total + 2)[::-1].cumsum()[::-1] / draws  # P(largest >= n)
        edge = int(np.argmax(above <= level))  # said from here on; just below by lot
        lot = (level - above[edge]) / (above[edge - 1] - above[edge]) if edge else 0.0
        caught = rng.binomial(total, share, draws)
        power += count * float(np.mean(caught >= edge) + lot * np.mean(caught == edge - 1))
    return power / draws


def gain(seeds: Sequence[int], parameters: LogParameters, *, doubled: bool = True) -> float:
    """Catch of those who follow prior and log over that of those who follow the prior alone, same seeds.

    The prior prefers another presentation than the doubled one by a quarter.
    """
    with_log = without = 0
    blind = replace(parameters, learning=replace(parameters.learning, least_hours=float("inf")))
    for seed in seeds:
        best = BOX[seed % len(BOX)] if doubled else None
        prior = {BOX[(seed + 1) % len(BOX)]: 1.25}
        with_log += season(seed, parameters, doubled=best, prior=prior).fish
        without += season(seed, blind, doubled=best, prior=prior).fish
    return with_log / max(without, 1)


def variants() -> dict[str, tuple[World, dict[str, Any]]]:
    """Worlds that a stranger would try, with what else ``score`` needs."""
    more = (*BOX, *MORE)
    phases = ("late_prespawn", "spawn", "postspawn", "summer", "autumn")
    return {
        **{f"{n} presentations": (World(box=more[:n]), {}) for n in (3, 5, 6, 8)},
        "0.6 an hour": (World(base_per_h=0.6), {}),
        "no day effect": (World(day_shape=1e6), {}),
        "wild days (shape 1.5)": (World(day_shape=1.5), {}),
        "four spots, drawn, spread 0.4": (World(spots=4, spot_sd=0.4), {}),
        "four spots, mostly own": (World(spots=4, spot_sd=0.4, at_home=0.8), {}),
        "mixed covers and phases": (World(spots=4, spot_sd=0.2, phases=phases), {}),
        "what doubles is thrown half as much": (World(thrown={BOX[2]: 0.5}), {"which": 2}),
        "what doubles is thrown twice as much": (World(thrown={BOX[2]: 2.0}), {"which": 2}),
        "what doubles ranks last": (World(), {"which": 2, "prior": {BOX[2]: 0.7}}),
        "what doubles ranks first": (World(), {"which": 2, "prior": {BOX[2]: 1.25}}),
        "120 outings": (World(), {"outings": 120}),
    }


@dataclass(frozen=True, slots=True)
class WindSeason:
    """Root mean square errors (m/s) over three lakes on mornings after the season, raw and as the program says it.

    ``sector_raw_mps`` and ``sector_mps`` count winds from the biased sector only.
    usable: at how many of the lakes the correction is used.
    """

    raw_mps: float
    said_mps: float
    sector_raw_mps: float
    sector_mps: float
    usable: int


def wind_season(
    seed: int, parameters: LogParameters, *, bias_mph: float, mornings: int = 60, noise_mph: float = 3.0, lakes: int = 3
) -> WindSeason:
    """Simulate forecasts and what came at three lakes, each with its own biased sector, and score mornings ahead.

    Four winds in ten come from the biased sector (the lake's prevailing one), the others evenly. Errors of a morning's
    five hours share seven tenths of their variance. What is said is the corrected wind where the correction is used,
    else the raw one.
    """
    rng = np.random.default_rng(seed)
    errors: dict[str, list[float]] = {"raw": [], "said": [], "sector_raw": [], "sector": []}
    usable = 0
    for _ in range(lakes):
        sector = int(rng.integers(8))
        past = [_wind_morning(rng, n, sector, bias_mph, noise_mph) for n in range(mornings)]
        ahead = [_wind_morning(rng, mornings + n, sector, bias_mph, noise_mph) for n in range(mornings)]
        fitted = fit_correction(mornings_of([check for one in past for check in one]), parameters.correction)
        usable += fitted.usable
        for check in (check for one in ahead for check in one):
            direction = check.from_deg if check.from_deg is not None else float("nan")
            said = fitted.expected(check.forecast, direction).mean_mps if fitted.usable else check.forecast
            errors["raw"].append(check.error)
            errors["said"].append(check.observed - said)
            if sector_of(direction) == sector:
                errors["sector_raw"].append(check.error)
                errors["sector"].append(check.observed - said)
    raw, said, sector_raw, sector_said = (float(np.sqrt(np.mean(np.square(one)))) for one in errors.values())
    return WindSeason(raw, said, sector_raw, sector_said, usable)


def _wind_morning(rng: np.random.Generator, number: int, sector: int, bias_mph: float, noise_mph: float) -> list[Check]:
    here = sector if rng.random() < 0.4 else int(rng.integers(8))
    direction = float((45.0 * here + rng.uniform(-20.0, 20.0)) % 360.0)
    base, shared = float(rng.gamma(5.0, 0.9)), float(rng.normal())
    bias = mph_to_mps(bias_mph) if here == sector else 0.0
    out = []
    for hour in range(5):
        forecast = max(0.3, base + 0.4 * hour)
        noise = mph_to_mps(noise_mph) * (0.7**0.5 * shared + 0.3**0.5 * float(rng.normal()))
        at = FIRST_DAY + timedelta(days=number, hours=hour)
        observed = max(0.0, forecast + bias + noise)
        out.append(
            Check(WIND, at, "at launch", 2.0 + hour, forecast, observed, "station", "station", from_deg=direction)
        )
    return out


def main() -> None:
    """Print the table of all bars."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seeds", type=int, default=100)
    parser.add_argument("--first", type=int, default=1000)
    parser.add_argument("--variants", action="store_true", help="other boxes, rates, spots and habits as well")
    chosen = parser.parse_args()
    parameters = LogParameters.from_mapping(read_toml("log.toml"))
    seeds = range(chosen.first, chosen.first + chosen.seeds)
    for angler, who in ANGLERS.items():
        print(f"{who}: {score(seeds, parameters, angler=angler)}")
    for level in (0.07, 0.10):
        tops = ", ".join(f"{n}: {ceiling(level, n):.2f}" for n in (3, 4, 5, 6, 8))
        print(f"hours divided evenly, no rule that invents in {level:.0%} finds more, by presentations: {tops}")
    if chosen.variants:
        for name, (world, more) in variants().items():
            for angler, who in ANGLERS.items():
                print(f"{name}, {who}: {score(seeds, parameters, angler=angler, world=world, **more)}")
    print(f"catch with the log over prior alone, one doubled: {gain(seeds, parameters):.3f}")
    print(f"catch with the log over prior alone, noise: {gain(seeds, parameters, doubled=False):.3f}")
    for bias in (3.0, 0.0):
        seasons = [wind_season(seed, parameters, bias_mph=bias) for seed in seeds]
        inside = np.array([one.sector_mps / one.sector_raw_mps for one in seasons])
        every = np.array([one.said_mps / one.raw_mps for one in seasons])
        used = np.mean([one.usable for one in seasons]) / 3.0
        print(
            f"wind error over raw, bias {bias:g} mph: that sector mean {inside.mean():.3f} worst {inside.max():.3f}, "
            f"all mean {every.mean():.3f} worst {every.max():.3f}, correction used at {used:.0%} of lakes"
        )


if __name__ == "__main__":
    main()
