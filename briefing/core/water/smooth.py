"""Draws whole courses of the past and the days ahead from what the filter holds.

Forward filtering, backward sampling (Carter and Kohn 1994, doi:10.1093/biomet/81.3.541; gains after Rauch, Tung and
Striebel 1965): every member is one course that is likely given all readings, so its days hang together. The normal
draws belong to the calendar day and the seed, and the last day's are spread evenly, so that a rerun on the next
morning yields nearly the same members.
"""

from __future__ import annotations

from datetime import date, timedelta
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from briefing.core.water.kalman import STATES
from briefing.core.water.slab import Floats

_JITTER = 1e-10
#: A spread under this counts as none: rounding, not water.
_SMALLEST_SD = 1e-6


def backward_gains(covariance: Floats, transition: Floats, predicted: Floats) -> tuple[Floats, Floats]:
    """Gains and roots of the leftover covariance for stepping back a day.

    covariance (days, states, states): after the day's readings; transition: to the next day; predicted: the next
    day's covariance before its readings. Returns J and L, both (days, states, states).
    """
    eye = np.eye(STATES)
    forward = np.einsum("dij,djk->dik", transition, covariance)
    gain = np.linalg.solve(predicted + _JITTER * eye, forward).transpose(0, 2, 1)
    left = covariance - np.einsum("dij,djk->dik", gain, forward)
    return gain, root(left)


def root(covariance: Floats) -> Floats:
    """The lower triangular root L with L L' = covariance, negative rounding cut off; (days, states, states).

    Cholesky's root is one and the same on every processor, while signs and order of eigenvectors are not: with a root
    made of those the same inputs would give other members on another computer. The first state, the main lake's
    temperature, rests on the first normal draw alone, so its members are spread as evenly as that draw.
    """
    out = np.zeros_like(covariance)
    for n in range(covariance.shape[-1]):
        left = covariance[:, n:, n] - np.einsum("dij,dj->di", out[:, n:, :n], out[:, n, :n])
        pivot = np.sqrt(np.maximum(left[:, 0], 0.0))
        sound = pivot > _SMALLEST_SD
        out[:, n:, n] = np.where(sound[:, None], left / np.where(sound, pivot, 1.0)[:, None], 0.0)
    return out


def even_normals(members: int, seed: int) -> Floats:
    """Normal draws (states, members), each state's spread evenly over its distribution, in a seeded order."""
    points = np.array([NormalDist().inv_cdf((k + 0.5) / members) for k in range(members)])
    points /= points.std()
    generator = np.random.default_rng([seed, members])
    return np.stack([generator.permutation(points) for _ in range(STATES)])


def day_normals(start: date, days: int, members: int, seed: int) -> Floats:
    """Normal draws (days, states, members) that depend on calendar day and seed alone.

    Over the members each day's draws have mean zero and spread one, so that the members' mean is the filter's own.
    """
    draws = np.empty((days, STATES, members))
    blocks: dict[int, NDArray[np.float64]] = {}
    for number in range(days):
        ordinal = (start + timedelta(days=number)).toordinal()
        block, place = divmod(ordinal, 64)
        if block not in blocks:
            drawn = np.random.default_rng([seed, members, block]).standard_normal((64, STATES, members))
            drawn -= drawn.mean(axis=2, keepdims=True)
            blocks[block] = drawn / drawn.std(axis=2, keepdims=True) if members > 1 else drawn
        draws[number] = blocks[block][place]
    return draws


def sample_back(
    filtered: Floats, ahead: Floats, gain: Floats, roots: Floats, last_root: Floats, draws: Floats, last: Floats
) -> Floats:
    """Draw courses of the state.

    filtered (days, states): means after readings; ahead (days - 1, states): means the next day was expected to have;
    gain, roots (days - 1, states, states); last_root (states, states); draws (days, states, members), last
    (states, members): normal draws. Returns (days, states, members).
    """
    days = filtered.shape[0]
    out = np.empty((days, STATES, draws.shape[2]))
    out[-1] = filtered[-1][:, None] + last_root @ last
    noise = roots @ draws[: days - 1]
    for day in range(days - 2, -1, -1):
        out[day] = filtered[day][:, None] + gain[day] @ (out[day + 1] - ahead[day][:, None]) + noise[day]
    return out
