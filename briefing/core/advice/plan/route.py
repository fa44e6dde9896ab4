"""Orders the spots of a day: a beam search over stops on a grid of five minutes.

The worth of a route is the sum over stops of the spot's value in the blocks it is fished in, with less for every minute
longer at a place and for every visit after the first, minus a price for legs that go down-wind early or up-wind late
and for time within the window that is neither fished nor under way. Gaps that the lengths of stay leave are closed by
staying on (:func:`filled`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from briefing.core.advice.plan.types import Block, Flags, Floats, PlanHour, PlanSpot, TravelRules

SLOT_MIN = 5
_BEAM = 40
_FAR = 1_000_000  # slots: never
_VISITS = 6
Ints = NDArray[np.int64]


@dataclass(frozen=True)
class Grid:
    """A window of time in slots, with everything the search looks up. n spots, T slots (T + 1 edges), H hours.

    worth : (n, T + 1) cumulative value, value units x minutes.
    barred : (n, T + 1) cumulative count of slots in which the spot is beyond the limits.
    legs : (H, n + 1, n + 1) slots a leg takes when begun in an hour; a large number where no headway is made.
    wind_along : (H, n + 1, n + 1) cosine of the leg's angle to the wind, 1 straight into it; 0 in calm or unknown wind.
    may_leave : (n, T + 1) True where leaving then still brings the craft home in time.
    stays : (n, T + 1, k) lengths of stay by arrival, slots.
    """

    start: datetime
    slots: int
    hour_of: Ints  # (T + 1,)
    worth: Floats
    barred: Ints
    legs: Ints
    wind_along: Floats
    may_leave: Flags
    back: Ints  # (n, T + 1) slots home with reserve
    stays: Ints
    least: Ints  # (n,) slots
    rest: int
    second_visit: float  # of its worth that a place gives when its rest is just over
    fresh_slots: float  # time constant in which it comes back after that
    tire_slots: float
    wrong_way: float
    way_price: float
    price: float  # value of a slot of travel in the wrong direction
    idle: float  # price of a slot that is neither fished nor under way, in slots at the mean of the best places
    worth_it: float  # share of the mean of the best places that a stay must give to be made at all
    longest: int  # slots; what a stay is longer than that counts as idle

    def at(self, slot: int) -> datetime:
        """Instant of a slot's beginning."""
        return self.start + timedelta(minutes=SLOT_MIN * slot)


@dataclass(frozen=True, slots=True)
class Leg:
    """One stop of a route in slots: spot index, arrival, leaving, slots under way, share of its worth that it gives.

    ``second``: the place was fished before that day.
    """

    spot: int
    arrive: int
    leave: int
    travel: int
    second: bool
    share: float = 1.0


@dataclass(frozen=True, slots=True)
class Route:
    """Stops in order and the worth of the whole."""

    legs: tuple[Leg, ...]
    worth: float


def leg_times_min(
    distance_m: Floats, bearing_deg: Floats, hours: Sequence[PlanHour], speed_mps: float, rules: TravelRules
) -> Floats:
    """Minutes of every leg by hour, shape (H, n + 1, n + 1); inf where no headway is made.

    The speed falls by a tenth of the head wind's share along the leg (paddlers' published rule of thumb: half a knot in
    five); under 0.3 of the calm speed no headway is counted. A tail wind adds nothing. With the direction missing
    the whole wind counts as head wind; with the speed missing the leg isn't possible.
    """
    wind = np.array([hour.wind_mps for hour in hours])[:, None, None]
    along = wind_along(bearing_deg, hours, unknown=1.0)
    speed = speed_mps - rules.head_wind_loss * np.maximum(wind * along, 0.0)
    with np.errstate(invalid="ignore"):
        possible = speed >= rules.no_headway_share * speed_mps
    return np.where(possible, distance_m / np.where(possible, speed, 1.0) / 60.0, np.inf)


def wind_along(bearing_deg: Floats, hours: Sequence[PlanHour], *, unknown: float) -> Floats:
    """Cosine between the way and the direction the wind comes from, (H, n + 1, n + 1); ``unknown`` where missing."""
    wind_from = np.array([hour.wind_from_deg for hour in hours])[:, None, None]
    along = np.cos(np.radians(bearing_deg[None] - wind_from))
    return np.where(np.isfinite(along), along, unknown)


def stay_choices(
    spots: Sequence[PlanSpot], block_of: Ints, strong: Flags, least_min: Sequence[float], most: tuple[float, float]
) -> tuple[Ints, Ints]:
    """Lengths of stay in slots by spot and arrival, (n, T + 1, 3), and the least stay (n,)."""
    least = np.array([max(round(minutes / SLOT_MIN), 1) for minutes in least_min])
    usual, long = round(most[0] / SLOT_MIN), round(most[1] / SLOT_MIN)
    longest = np.where(strong[:, block_of], long, usual)
    longest = np.maximum(longest, least[:, None])
    middle = (least[:, None] + longest) // 2
    first = np.broadcast_to(least[:, None], (len(spots), len(block_of)))
    return np.stack([first, middle, longest], axis=2), least


def block_index(blocks: Sequence[Block], start: datetime, slots: int) -> Ints:
    """Index of the block in which each slot begins, (T + 1,); the last or first block beyond the ends."""
    starts = np.array([block.start.timestamp() for block in blocks])
    at = start.timestamp() + 60.0 * SLOT_MIN * np.arange(slots + 1)
    return np.clip(np.searchsorted(starts, at, side="right") - 1, 0, len(blocks) - 1)


def rested_share(grid: Grid, visits: Ints, since: Ints) -> Floats:
    """What a place gives of its worth so many slots after it was left; all of it where it was not fished yet."""
    over = np.maximum(since - grid.rest, 0) / grid.fresh_slots
    return np.asarray(np.where(visits > 0, 1.0 - (1.0 - grid.second_visit) * np.exp(-over), 1.0), float)


def stay_worth(grid: Grid, spot: Ints, arrive: Ints, leave: Ints, share: Floats) -> Floats:
    """Worth of stays: value over the time, tired by ``tau (1 - exp(-s / tau)) / s``, times the share it gives."""
    length = np.maximum(leave - arrive, 1)
    tired = grid.tire_slots * (1 - np.exp(-length / grid.tire_slots)) / length
    value = grid.worth[spot, leave] - grid.worth[spot, arrive]
    return np.asarray(value * tired * share, float)


def leg_price(grid: Grid, depart: Ints, origin: Ints, target: Ints) -> Floats:
    """Price of a leg: its length, and its direction: down-wind counts early in the window, up-wind late."""
    hour = grid.hour_of[depart]
    along = grid.wind_along[hour, origin, target]
    progress = depart / max(grid.slots, 1)
    wrong = progress * np.maximum(along, 0.0) + (1 - progress) * np.maximum(-along, 0.0)
    return np.asarray(grid.price * (grid.way_price + grid.wrong_way * wrong) * grid.legs[hour, origin, target], float)


@dataclass
class _Beam:
    """States of the search side by side; b states, n spots."""

    time: Ints
    place: Ints  # 0 is the ramp, i + 1 spot i
    worth: Floats
    visits: Ints  # (b, n)
    last: Ints  # (b, n) slot of leaving
    history: list[tuple[Leg, ...]]


def best_route(grid: Grid) -> Route:
    """The best route found. Exact where the beam holds every state, as with a few spots and a short window."""
    n = grid.worth.shape[0]
    zeros = np.zeros((1, n), dtype=np.int64)
    beam = _Beam(np.zeros(1, np.int64), np.zeros(1, np.int64), np.zeros(1), zeros, zeros - grid.rest, [()])
    best = Route((), -np.inf)
    rate, end, opens, latest = _likely_rate(grid), last_slot(grid), _next_open(grid), latest_leave(grid)
    while n:
        grown = _grow(grid, beam, rate, opens)
        if grown is None:
            break
        beam = grown
        final = beam.worth - _home_price(grid, beam) + _to_the_end(grid, beam, end, latest)
        top = int(np.argmax(final))
        if final[top] > best.worth + 1e-9:
            best = Route(beam.history[top], float(final[top]))
    return best if best.legs else Route((), 0.0)


def idle_price(grid: Grid, slots: Ints) -> Floats:
    """Price of slots that are neither fished nor under way."""
    return np.asarray(grid.price * grid.idle * slots, float)


def _to_the_end(grid: Grid, beam: _Beam, end: int, latest: Ints) -> Floats:
    """What staying on at the last stop to the last moment adds, less the price of idle time."""
    arrive = np.array([history[-1].arrive for history in beam.history])
    share = np.array([history[-1].share for history in beam.history])
    return end_worth(grid, beam.place - 1, arrive, beam.time, share, end, latest)


def end_worth(grid: Grid, spot: Ints, arrive: Ints, leave: Ints, share: Floats, end: int, latest: Ints) -> Floats:
    """Worth of stretching last stays as far as the limits allow, less the price of what is idle up to ``end``."""
    until = np.maximum(latest[spot, leave], leave)
    more = stay_worth(grid, spot, arrive, until, share) - stay_worth(grid, spot, arrive, leave, share)
    over = np.maximum(until - np.maximum(arrive + grid.longest, leave), 0)
    return np.asarray(more - idle_price(grid, over + np.maximum(end - until, 0)), float)


def latest_leave(grid: Grid) -> Ints:
    """The last slot to which a stay may be stretched while the spot stays open, (n, T + 1); -1 where none is."""
    n, edges = grid.barred.shape
    out = np.full((n, edges), -1, np.int64)
    later = np.full(n, -1, np.int64)
    for at in range(edges - 1, -1, -1):
        on = np.zeros(n, bool) if at + 1 == edges else grid.barred[:, at + 1] == grid.barred[:, at]
        later = np.where(on & (later >= 0), later, np.where(grid.may_leave[:, at], at, -1))
        out[:, at] = later
    return out


def last_slot(grid: Grid) -> int:
    """The last slot in which any spot may still be left for home after a stay that is open to its end."""
    open_before = np.diff(grid.barred, axis=1, prepend=0) == 0
    good = np.flatnonzero((grid.may_leave & open_before).any(axis=0))
    return int(good[-1]) if good.size else 0


def _next_open(grid: Grid) -> Ints:
    """The first slot from each on in which a spot is within the limits, (n, T + 1); beyond the end where none is."""
    n, edges = grid.barred.shape
    closed = np.ones((n, edges), bool)
    closed[:, :-1] = np.diff(grid.barred, axis=1) > 0
    at = np.where(closed, _FAR, np.arange(edges)[None, :])
    return np.asarray(np.minimum.accumulate(at[:, ::-1], axis=1)[:, ::-1], np.int64)


def filled(grid: Grid, route: Route) -> Route:
    """The route with every gap closed by staying on at the place before it, as far as the limits there allow.

    The last stay is stretched to the last moment for the way home.
    """
    legs = list(route.legs)
    latest = latest_leave(grid)
    for number, leg in enumerate(legs):
        leave = max(int(latest[leg.spot, leg.leave]), leg.leave)
        if number + 1 < len(legs):
            after = legs[number + 1]
            leave = min(leave, after.arrive)
            while leave > leg.leave and not _in_time(grid, leg.spot, leave, after):
                leave -= 1
            if leave > leg.leave:
                way = int(grid.legs[grid.hour_of[leave], leg.spot + 1, after.spot + 1])
                legs[number + 1] = replace(after, travel=way)
        legs[number] = replace(leg, leave=leave)
    return replace(route, legs=tuple(legs))


def _in_time(grid: Grid, spot: int, leave: int, after: Leg) -> bool:
    """True where a spot may be left then and the next stop is reached as planned."""
    way = int(grid.legs[grid.hour_of[leave], spot + 1, after.spot + 1])
    return bool(grid.may_leave[spot, leave]) and leave + way <= after.arrive


def _likely_rate(grid: Grid) -> float:
    """Worth a slot that a good route makes, to compare states that end at different times."""
    whole = grid.worth[:, -1] / max(grid.slots, 1)
    few = np.sort(whole)[-4:]
    return 0.6 * float(few.mean()) if len(few) else 0.0


def _home_price(grid: Grid, beam: _Beam) -> Floats:
    """Price of going home up-wind from the last stop."""
    hour = grid.hour_of[beam.time]
    along = np.maximum(grid.wind_along[hour, beam.place, 0], 0.0)
    return np.asarray(grid.price * grid.wrong_way * along * grid.legs[hour, beam.place, 0], float)


def _grow(grid: Grid, beam: _Beam, rate: float, opens: Ints) -> _Beam | None:
    """All states one stop further, cut to the most promising; None when no stop fits any more."""
    n = grid.worth.shape[0]
    spot = np.arange(n)[None, :]
    # A place beyond the limits is set out for when it is open.
    depart = opens[spot, beam.time[:, None]]
    ready = (beam.visits < _VISITS) & (depart < grid.slots) & (spot + 1 != beam.place[:, None])
    depart = np.minimum(depart, grid.slots)
    travel = grid.legs[grid.hour_of[depart], beam.place[:, None], spot + 1]
    there = depart + travel
    # A spot seen before is rested first: the craft gets there when the rest is over.
    there = np.where(beam.visits > 0, np.maximum(there, beam.last + grid.rest), there)
    arrive = np.minimum(there, grid.slots)
    ready &= (there < grid.slots) & ~_barred_now(grid, spot, arrive) & _may_wait(grid, beam, arrive - travel)
    leave = np.minimum(arrive[:, :, None] + grid.stays[spot, arrive], grid.slots)
    index = spot[:, :, None]
    good = ready[:, :, None] & (leave - arrive[:, :, None] >= grid.least[None, :, None]) & grid.may_leave[index, leave]
    good &= grid.barred[index, leave] == grid.barred[index, arrive[:, :, None]]
    share = rested_share(grid, beam.visits, arrive - beam.last)
    gain = stay_worth(grid, index, arrive[:, :, None], leave, share[:, :, None])
    waits = np.maximum(arrive - travel - beam.time[:, None], 0)
    price = leg_price(grid, depart, beam.place[:, None], spot + 1) + idle_price(grid, waits)
    total = beam.worth[:, None, None] + gain - price[:, :, None]
    good &= gain > grid.worth_it * grid.price * (leave - arrive[:, :, None])
    promise = np.where(good, total + rate * (grid.slots - leave), -np.inf)
    return _keep(beam, travel, arrive, leave, share, total, promise)


def _may_wait(grid: Grid, beam: _Beam, until: Ints) -> Flags:
    """True where a state may stay where it is until a slot, (b, n): at the ramp, or at a place open through it."""
    place = np.maximum(beam.place - 1, 0)[:, None]
    until = np.clip(until, beam.time[:, None], grid.slots)
    still = grid.barred[place, until] == grid.barred[place, beam.time[:, None]]
    free = until == beam.time[:, None]
    return np.asarray((beam.place == 0)[:, None] | free | (still & grid.may_leave[place, until]), bool)


def _barred_now(grid: Grid, spot: Ints, slot: Ints) -> Flags:
    """True where a spot is beyond the limits in the slot that begins then."""
    after = np.minimum(slot + 1, grid.slots)
    before = np.maximum(after - 1, 0)
    return np.asarray(grid.barred[spot, after] > grid.barred[spot, before], bool)


def _keep(
    beam: _Beam, travel: Ints, arrive: Ints, leave: Ints, share: Floats, total: Floats, promise: Floats
) -> _Beam | None:
    """The best states; of states at one place and time with the same visits only the best."""
    rows: list[tuple[int, int, int]] = []
    seen: set[tuple[int, int, bytes]] = set()
    for flat in np.argsort(-promise, axis=None, kind="stable")[: 4 * _BEAM]:
        b, j, k = (int(x) for x in np.unravel_index(flat, promise.shape))
        if promise[b, j, k] == -np.inf or len(rows) == _BEAM:
            break
        visits = beam.visits[b].copy()
        visits[j] += 1
        key = (j, int(leave[b, j, k]), visits.tobytes())
        if key not in seen:
            seen.add(key)
            rows.append((b, j, k))
    return _states(beam, rows, travel, arrive, leave, share, total) if rows else None


def _states(
    beam: _Beam,
    rows: list[tuple[int, int, int]],
    travel: Ints,
    arrive: Ints,
    leave: Ints,
    share: Floats,
    total: Floats,
) -> _Beam:
    """The states after the stops of ``rows`` (state, spot, stay)."""
    state, spot, stay = np.array(rows).T
    each = np.arange(len(rows))
    visits, last = beam.visits[state], beam.last[state]
    histories = []
    for b, j, k in rows:
        at = int(arrive[b, j]), int(leave[b, j, k]), int(travel[b, j])
        histories.append((*beam.history[b], Leg(j, *at, bool(beam.visits[b, j]), float(share[b, j]))))
    visits[each, spot] += 1
    last[each, spot] = leave[state, spot, stay]
    return _Beam(leave[state, spot, stay], spot + 1, total[state, spot, stay], visits, last, histories)
