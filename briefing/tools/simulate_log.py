"""Simulated anglers and mornings: does the log find what is there, invent nothing, and do corrections help?

    python -m briefing.tools.simulate_log --seeds 200

An angler fishes outings of five hours with four presentations, at 0.3 contacts an hour on each, times a gamma day
effect (mean 1, shape 4: a good day is three times a poor one). In a *true* season one of them catches twice as much;
in a *noise* season none does. An angler who *follows* gives two fifths of the hours to the presentation that leads by
prior and log, one who does not divides them evenly.
"""

from __future__ import annotations

import argparse
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

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
FIRST_DAY = datetime(2026, 3, 7, 11, tzinfo=UTC)
OUTING_H = 5.0
BASE_PER_H = 0.3
DAY_SHAPE = 4.0
LEAD_SHARE = 0.4


@dataclass(frozen=True)
class Season:
    """One simulated season: its segments, what was learned at the end, and how many fish were landed."""

    segments: tuple[Segment, ...]
    learned: LogLearned
    fish: int


def season(
    seed: int,
    parameters: LogParameters,
    *,
    doubled: str | None,
    outings: int = 40,
    follows: bool = True,
    prior: Mapping[str, float] | None = None,
) -> Season:
    """Simulate a season. prior: the trade's score by presentation (all alike when None); rates don't depend on it."""
    rng = np.random.default_rng(seed)
    score = dict.fromkeys(BOX, 1.0) | dict(prior or {})
    best = max(score.values())
    segments: list[Segment] = []
    learned = learn([], GROUPS, parameters, FIRST_DAY.date())
    for number in range(outings):
        start = FIRST_DAY + timedelta(days=5 * number)
        day = rng.gamma(DAY_SHAPE, 1.0 / DAY_SHAPE)
        shares = _shares(score, learned if follows else None)
        at = start
        for name in rng.permutation(BOX).tolist():
            hours = OUTING_H * shares[name]
            rate = BASE_PER_H * day * (2.0 if name == doubled else 1.0)
            caught = int(rng.poisson(rate * hours))
            segments.append(_segment(number, at, hours, name, caught, score[name] / best))
            at += timedelta(hours=hours)
        if follows:
            learned = learn(segments, GROUPS, parameters, at.date())
    learned = learn(segments, GROUPS, parameters, at.date())
    return Season(tuple(segments), learned, sum(len(segment.fish) for segment in segments))


def _shares(score: Mapping[str, float], learned: LogLearned | None) -> dict[str, float]:
    factors = {} if learned is None else learned.factors(Cover.GRASS_DENSE)
    leader = max(BOX, key=lambda name: score[name] * np.exp(factors.get(name, 0.0)))
    return {name: LEAD_SHARE if name == leader else (1.0 - LEAD_SHARE) / (len(BOX) - 1) for name in BOX}


def _segment(outing: int, start: datetime, hours: float, name: str, fish: int, prior: float) -> Segment:
    return Segment(
        outing=outing,
        start=start,
        end=start + timedelta(hours=hours),
        minutes=60.0 * hours,
        effort="clocked",
        spot="Long weed edge",
        cover=Cover.GRASS_DENSE,
        depth_m=1.5,
        presentation=name,
        weight_g=10.6,
        fish=tuple(Fish(0.35) for _ in range(fish)),
        contacts=0,
        follows=0,
        marks=(),
        planned=None,
        prior=prior,
        conditions={"phase": Condition("summer", "modelled", "briefing"), "secchi_m": Condition(1.0, "entered", "you")},
    )


def stated(learned: LogLearned) -> dict[str, str]:
    """Presentations that the program calls better or worse, all conditions together."""
    words = {name: learned.effect(name).stated for name in BOX}
    return {name: word for name, word in words.items() if word}


def found(seeds: Sequence[int], parameters: LogParameters, *, follows: bool = True) -> float:
    """Share of true seasons at whose end the doubled presentation is called better."""
    hits = [
        stated(season(seed, parameters, doubled=BOX[seed % len(BOX)], follows=follows).learned).get(
            BOX[seed % len(BOX)]
        )
        == "better"
        for seed in seeds
    ]
    return float(np.mean(hits))


def invented(seeds: Sequence[int], parameters: LogParameters, *, follows: bool = True) -> float:
    """Share of noise seasons at whose end anything is called better or worse."""
    return float(np.mean([bool(stated(season(s, parameters, doubled=None, follows=follows).learned)) for s in seeds]))


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
    chosen = parser.parse_args()
    parameters = LogParameters.from_mapping(read_toml("log.toml"))
    seeds = range(chosen.first, chosen.first + chosen.seeds)
    for follows in (True, False):
        who = "follows the advice" if follows else "divides hours evenly"
        print(f"found, {who}: {found(seeds, parameters, follows=follows):.3f}")
        print(f"invented, {who}: {invented(seeds, parameters, follows=follows):.3f}")
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
