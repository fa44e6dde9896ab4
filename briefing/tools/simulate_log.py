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

from briefing.core.log.learning import LogLearned, learn
from briefing.core.log.parameters import LogParameters
from briefing.core.log.records import Condition, Fish, Segment
from briefing.resources import read_toml
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


if __name__ == "__main__":
    main()
