"""What the log says for and against each presentation: a Poisson rate model with partial pooling.

Model. Contacts (a landed fish or a bite; a follow counts ``follow_counts``) of segment i on day d with presentation p
of group g::

    y_i ~ Poisson( h_i exp( mu + day_d + spot_i + cover_i + s log(prior_i)
                            + group_g + theta_p + c_p,cover + f_p,phase + v_p,clarity ) )

h is the hours fished, prior the trade's score relative to the best one at the time, s the share of it that rates are
taken to follow, so that what the trade knows already is not learned a second time. All effects are normal about zero
with fixed spreads (``LearningParameters``); neighbouring phases are correlated. The day's effect takes up good and bad
days, so that a lure is not praised for the weather it was thrown in; the spot's and the cover's do the same for places
(they enter where the log names more than one). This is the Poisson log-linear mixed model with
exposure (Breslow and Clayton 1993, https://doi.org/10.1080/01621459.1993.10594284; partial pooling as in Gelman and
Hill 2007, ch. 15.1). The posterior mode is found by Newton's method, its spread by the Laplace approximation (Breslow
and Clayton, section 2.2); the days, whose block is diagonal, are eliminated first. Entries lose weight by half every
``half_life_days`` (a power prior: Ibrahim and Chen 2000, https://doi.org/10.1214/ss/1009212673).

What is *said* is held to more than what ranks. A presentation is called better (worse) when a sceptic, whose prior
spreads are smaller (``claim_shrink``), gives a sure enough probability that it catches by ``claim_margin`` more (less)
than the rest of what was fished. Sceptical priors: Spiegelhalter, Freedman and Parmar 1994,
https://doi.org/10.2307/2983527. A small prior spread asks for more of a short log than of a long one, and more where
many presentations share the hours; the margin keeps a very long log from calling next to nothing a difference. And it
is looked at only after every ``review_outings``-th outing: who looks every evening sees a lucky run sooner or later
(repeated looks: Armitage, McPherson and Rowe 1969, https://doi.org/10.2307/2343787).

Segments without known effort, and fish without a segment, never enter.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from briefing.core.log.parameters import LearningParameters, LogParameters
from briefing.core.log.records import Segment
from briefing.vocabulary import Cover, Phase

Floats = NDArray[np.float64]

_PHASES = tuple(Phase)
_STEPS = 12
#: Hours that the briefing's choices and own ideas each need before they are compared.
_LEAST_COMPARED_H = 5.0
_ENOUGH = 1e-6
#: Log rates move by no more than this in one step, so that a start far off can't overshoot.
_LONGEST_STEP = 2.0


@dataclass(frozen=True, slots=True)
class Tally:
    """Fish and hours on a presentation, and on all of them."""

    fish: int
    hours: float
    days: int
    all_fish: int
    all_hours: float


@dataclass(frozen=True, slots=True)
class Effect:
    """A presentation's log factor in some conditions: mean and standard deviation, already cut at the limit.

    ``better`` is the probability that it catches more than what else was fished, each beside what the prior says.
    ``stated`` is "better", "worse" or "".
    """

    log: float
    sd: float
    better: float
    stated: str


@dataclass(frozen=True)
class LogLearned:
    """What was learned; ``effect`` answers for any presentation and conditions."""

    parameters: LearningParameters
    tallies: Mapping[str, Tally]
    groups: Mapping[str, str]
    columns: Mapping[tuple[str, ...], int] = field(default_factory=dict)
    mean: Floats = field(default_factory=lambda: np.zeros(0))
    covariance: Floats = field(default_factory=lambda: np.zeros((0, 0)))
    rate_per_h: float = float("nan")
    cell_hours: Mapping[tuple[str, str], Mapping[str, float]] = field(default_factory=dict)
    said: Mapping[str, str] = field(default_factory=dict)

    def enough(self, presentation: str) -> bool:
        """True when hours and days on it suffice to say anything."""
        tally = self.tallies.get(presentation)
        return (
            tally is not None
            and tally.hours >= self.parameters.least_hours
            and tally.days >= self.parameters.least_days
        )

    def effect(
        self, presentation: str, cover: Cover | None = None, phase: Phase | None = None, clarity: str = ""
    ) -> Effect:
        """Effect of a presentation in some conditions. Too little effort: none.

        Conditions left out count as those it was fished in. ``log`` stands against the angler's mean rate; whether it
        is called better or worse stands against what else was fished. In given conditions it is called so only when it
        is called so over all of them and is likely to be so in these too.
        """
        if not self.enough(presentation):
            return Effect(0.0, 0.0, 0.5, "")
        log = float(self._weights(presentation, cover, phase, clarity) @ self.mean)
        difference, sd = self._beside_the_rest(presentation, cover, phase, clarity)
        better = NormalDist().cdf(difference / sd)
        limit, said = self.parameters.limit, self.said.get(presentation, "")
        likely = better if said == "better" else 1.0 - better
        return Effect(min(max(log, -limit), limit), sd, better, said if likely >= self.parameters.likely_here else "")

    def to_try(
        self,
        scores: Mapping[str, float],
        cover: Cover | None = None,
        phase: Phase | None = None,
        clarity: str = "",
    ) -> str:
        """The presentation that some minutes teach most on: the best one if luck has been against it so far.

        scores: the trade's score of those to choose from. One standard deviation is added to the log of score and
        factor; what has too little effort keeps its prior's. Of equals the one with the fewest hours, then by name.
        """
        prior_sd = float(np.hypot(self.parameters.sd_group, self.parameters.sd_presentation))

        def promise(name: str) -> float:
            here = self.effect(name, cover, phase, clarity)
            chance = here.sd if self.enough(name) else prior_sd
            return round(self.parameters.prior_share * float(np.log(max(scores[name], 1e-9))) + here.log + chance, 9)

        def hours(name: str) -> float:
            return self.tallies[name].hours if name in self.tallies else 0.0

        return min(scores, key=lambda name: (-promise(name), hours(name), name), default="")

    def _beside_the_rest(
        self, presentation: str, cover: Cover | None, phase: Phase | None, clarity: str
    ) -> tuple[float, float]:
        """Mean and standard deviation of its log rate less that of all else fished, by the hours on it."""
        against = self._weights(presentation, cover, phase, clarity)
        others = [name for name in sorted(self.tallies) if name != presentation]
        hours = sum(self.tallies[name].hours for name in others)
        for name in others:
            against -= self.tallies[name].hours / hours * self._weights(name, None, None, "")
        sd = float(np.sqrt(max(float(against @ self.covariance @ against), 1e-12)))
        return (float(against @ self.mean) if others else 0.0), sd

    def claims(self) -> dict[str, str]:
        """What is sure enough to be said, read from this posterior: "better" or "worse" by presentation."""
        rules, out = self.parameters, {}
        for name in sorted(self.tallies):
            if len(self.tallies) < 2 or not self.enough(name):
                continue
            difference, sd = self._beside_the_rest(name, None, None, "")
            if NormalDist().cdf((difference - rules.claim_margin) / sd) >= rules.certain_better:
                out[name] = "better"
            elif NormalDist().cdf((-difference - rules.claim_margin) / sd) >= rules.certain_worse:
                out[name] = "worse"
        return out

    def _weights(self, presentation: str, cover: Cover | None, phase: Phase | None, clarity: str) -> Floats:
        """How much of each column acts on a presentation; a condition left out is spread by the hours fished in it."""
        out = np.zeros(self.mean.size)
        for key in (("group", self.groups.get(presentation, "") or presentation), ("presentation", presentation)):
            if key in self.columns:
                out[self.columns[key]] = 1.0
        for kind, value in (("cover", cover), ("phase", phase), ("clarity", clarity)):
            cells = self.cell_hours.get((kind, presentation), {})
            shares = {str(value): 1.0} if value else {one: h / sum(cells.values()) for one, h in cells.items()}
            for one, share in shares.items():
                if (kind, presentation, one) in self.columns:
                    out[self.columns[kind, presentation, one]] = share
        return out

    def factors(self, cover: Cover | None = None, phase: Phase | None = None, clarity: str = "") -> dict[str, float]:
        """Log factor of every presentation with enough effort, for the ranking."""
        known = [name for name in sorted(self.tallies) if self.enough(name)]
        return {name: self.effect(name, cover, phase, clarity).log for name in known}


def learn(segments: Sequence[Segment], groups: Mapping[str, str], parameters: LogParameters, today: date) -> LogLearned:
    """Fit the model to all segments with known effort up to ``today``. Same segments, same result, in any order.

    groups: group by presentation id. Presentations that no group is known for stand in one of their own.
    """
    rows = _rows(segments, parameters, today)
    tallies = _tallies(segments, today)
    empty = LogLearned(parameters.learning, tallies, dict(groups))
    if not rows:
        return empty
    own = parameters.learning
    columns, at = _design(rows, groups)
    days = {day: number for number, day in enumerate(dict.fromkeys(row.day for row in rows))}
    design = _Sparse(at, np.array([days[row.day] for row in rows]), len(columns), len(days))
    contacts = np.array([row.weight * row.contacts for row in rows])
    hours = np.array([row.weight * row.hours for row in rows])
    offset = np.array([row.offset for row in rows])
    effects, day_effects, covariance = _newton(design, _precision(columns, own, 1.0), contacts, hours, offset, own)
    rate = own.usual_per_h * float(np.exp(effects[0]))
    learned = LogLearned(own, tallies, dict(groups), columns, effects, covariance, rate, _cell_hours(rows))
    reviewed = len(days) - len(days) % own.review_outings
    if not reviewed:
        return learned
    # The same columns, with what came after the last review weighing nothing.
    known = design.day < reviewed
    sceptic, _, spread = _newton(
        design, _precision(columns, own, own.claim_shrink), contacts * known, hours * known, offset, own,
        (effects, day_effects * (np.arange(len(days)) < reviewed)),
    )  # fmt: skip
    then = [row for row in rows if days[row.day] < reviewed]
    counted = _tallies([row.segment for row in then], today)
    said = LogLearned(own, counted, dict(groups), columns, sceptic, spread, rate, _cell_hours(then)).claims()
    return replace(learned, said=said)


@dataclass(frozen=True, slots=True)
class _Row:
    segment: Segment
    day: str
    keys: tuple[tuple[str, ...], ...]
    hours: float
    contacts: float
    offset: float
    weight: float


def _keys(
    presentation: str, group: str, cover: Cover | None, phase: Phase | None, clarity: str
) -> tuple[tuple[str, ...], ...]:
    """The effects that act on a presentation in these conditions."""
    keys: list[tuple[str, ...]] = [("group", group or presentation), ("presentation", presentation)]
    if cover is not None:
        keys.append(("cover", presentation, cover.value))
    if phase is not None:
        keys.append(("phase", presentation, phase.value))
    if clarity:
        keys.append(("clarity", presentation, clarity))
    return tuple(keys)


def _day(segment: Segment, segments_of: Mapping[tuple[date, int], int]) -> str:
    """What the day's effect acts on: an outing on a date.

    An outing of a single segment, and an entry outside any outing as those of a table are, share their date's.
    """
    on = segment.start.date()
    return on.isoformat() + (f" {segment.outing}" if segments_of[on, segment.outing] > 1 else "")


def _cell_hours(rows: Sequence[_Row]) -> dict[tuple[str, str], dict[str, float]]:
    cells: dict[tuple[str, str], dict[str, float]] = {}
    for row in rows:
        for kind, name, value in (key for key in row.keys if len(key) == 3):
            there = cells.setdefault((kind, name), {})
            there[value] = there.get(value, 0.0) + row.hours * row.weight
    return cells


def _counts(segment: Segment, today: date) -> bool:
    return bool(segment.presentation and segment.minutes) and segment.start.date() <= today


def _rows(segments: Sequence[Segment], parameters: LogParameters, today: date) -> list[_Row]:
    own = parameters.learning
    counted = [segment for segment in segments if _counts(segment, today)]
    spots = len({segment.spot for segment in counted if segment.spot})
    covers = len({segment.cover for segment in counted if segment.cover is not None})
    outings = Counter((segment.start.date(), segment.outing) for segment in counted)
    out = []
    for segment in sorted(counted, key=lambda one: (one.start, one.outing, one.marks)):
        age = (today - segment.start.date()).days
        contacts = len(segment.fish) + segment.contacts + own.follow_counts * segment.follows
        prior = 1.0 if segment.prior is None else min(max(segment.prior, 0.02), 1.0)
        keys = _keys(segment.presentation, "", segment.cover, segment.phase, parameters.clarity_class(segment.secchi_m))
        place = [("spot", segment.spot)] * (spots > 1 and bool(segment.spot))
        place += [("ground", segment.cover.value)] * (covers > 1) if segment.cover is not None else []
        weight = 0.5 ** (age / own.half_life_days) * (own.uncertain_counts if segment.uncertain else 1.0)
        hours = (segment.minutes or 0.0) / 60.0
        offset = own.prior_share * float(np.log(prior))
        out.append(_Row(segment, _day(segment, outings), (*keys[1:], *place), hours, contacts, offset, weight))
    return out


def _tallies(segments: Sequence[Segment], today: date) -> dict[str, Tally]:
    counted = [segment for segment in segments if _counts(segment, today)]
    all_fish = sum(len(segment.fish) for segment in counted)
    all_hours = sum((segment.minutes or 0.0) / 60.0 for segment in counted)
    out = {}
    for name in sorted({segment.presentation for segment in counted}):
        own = [segment for segment in counted if segment.presentation == name]
        out[name] = Tally(
            fish=sum(len(segment.fish) for segment in own),
            hours=sum((segment.minutes or 0.0) / 60.0 for segment in own),
            days=len({segment.start.date() for segment in own}),
            all_fish=all_fish,
            all_hours=all_hours,
        )
    return out


def _design(rows: Sequence[_Row], groups: Mapping[str, str]) -> tuple[dict[tuple[str, ...], int], NDArray[np.intp]]:
    """Columns by effect, and the columns that act on each row; column 0 is the overall rate.

    Rows that name fewer effects than others are filled up with a column past the last, which stands for nothing.
    """
    keys: list[list[tuple[str, ...]]] = []
    for row in rows:
        name = row.keys[0][1]
        keys.append([("rate",), ("group", groups.get(name, "") or name), *row.keys])
    columns = {key: number for number, key in enumerate(sorted({key for one in keys for key in one}, key=_order))}
    design = np.full((len(rows), max(len(one) for one in keys)), len(columns), np.intp)
    for number, one in enumerate(keys):
        design[number, : len(one)] = [columns[key] for key in one]
    return columns, design


def _precision(columns: Mapping[tuple[str, ...], int], own: LearningParameters, shrink: float) -> Floats:
    """The prior precision; the spreads of presentations are multiplied by ``shrink``, those of rate and places not."""
    place = {"rate": own.sd_rate, "spot": own.sd_spot, "ground": own.sd_ground}
    lure = {"group": own.sd_group * shrink, "presentation": own.sd_presentation * shrink}
    spread = place | lure
    precision = np.diag([1.0 / spread.get(key[0], own.sd_cell * shrink) ** 2 for key in columns])
    _link_phases(columns, precision, own, shrink)
    return precision


def _order(key: tuple[str, ...]) -> tuple[int, tuple[str, ...]]:
    return (0 if key == ("rate",) else 1, key)


def _link_phases(
    columns: Mapping[tuple[str, ...], int], precision: Floats, own: LearningParameters, shrink: float
) -> None:
    """Correlate a presentation's effects between phases: ``phase_link`` to the power of the phases between them."""
    names = sorted({key[1] for key in columns if key[0] == "phase"})
    for name in names:
        places = [_PHASES.index(Phase(key[2])) for key in columns if key[0] == "phase" and key[1] == name]
        at = [columns["phase", name, _PHASES[place].value] for place in places]
        apart = np.abs(np.subtract.outer(places, places))
        apart = np.minimum(apart, len(_PHASES) - apart)
        block = (own.sd_cell * shrink) ** 2 * own.phase_link**apart
        precision[np.ix_(at, at)] = np.linalg.inv(block)


@dataclass(frozen=True)
class _Sparse:
    """A design of zeros and ones by its columns: a handful of effects act on a row, so sums run over those alone."""

    at: NDArray[np.intp]  # (rows, effects of a row); ``columns`` where there is none
    day: NDArray[np.intp]  # (rows,)
    columns: int
    days: int

    def value(self, effects: Floats) -> Floats:
        """The sum of the effects of each row."""
        return np.asarray(np.append(effects, 0.0)[self.at].sum(axis=1), float)

    def sums(self, row_values: Floats) -> Floats:
        """Sums of row values by column."""
        spread = np.repeat(row_values, self.at.shape[1])
        return np.asarray(np.bincount(self.at.ravel(), spread, self.columns + 1)[:-1], float)

    def by_day(self, row_values: Floats) -> Floats:
        """Sums of row values by day."""
        return np.asarray(np.bincount(self.day, row_values, self.days), float)

    def products(self, weight: Floats) -> Floats:
        """Weighted sums by pair of columns, (columns, columns)."""
        wide = self.columns + 1
        pairs = self.at[:, :, None] * wide + self.at[:, None, :]
        spread = np.repeat(weight, self.at.shape[1] ** 2)
        return np.asarray(np.bincount(pairs.ravel(), spread, wide * wide).reshape(wide, wide)[:-1, :-1], float)

    def crossed(self, weight: Floats) -> Floats:
        """Weighted sums by day and column, (days, columns)."""
        wide = self.columns + 1
        pairs = self.day[:, None] * wide + self.at
        spread = np.repeat(weight, self.at.shape[1])
        return np.asarray(np.bincount(pairs.ravel(), spread, self.days * wide).reshape(self.days, wide)[:, :-1], float)


def _newton(
    design: _Sparse,
    precision: Floats,
    contacts: Floats,
    hours: Floats,
    offset: Floats,
    own: LearningParameters,
    start: tuple[Floats, Floats] | None = None,
) -> tuple[Floats, Floats, Floats]:
    """Posterior mode of effects and days, and the effects' covariance; the days eliminated by Schur complement."""
    effects, days = (np.zeros(design.columns), np.zeros(design.days)) if start is None else start
    base = np.log(own.usual_per_h) + offset
    day_precision = own.sd_day**-2.0
    reduced = precision
    for _ in range(_STEPS):
        expected = hours * np.exp(base + design.value(effects) + days[design.day])
        slope = design.sums(contacts - expected) - precision @ effects
        day_slope = design.by_day(contacts - expected) - day_precision * days
        cross = design.crossed(expected)
        day_block = design.by_day(expected) + day_precision
        reduced = design.products(expected) + precision - cross.T @ (cross / day_block[:, None])
        step = np.linalg.solve(reduced, slope - cross.T @ (day_slope / day_block))
        day_step = (day_slope - cross @ step) / day_block
        longest = max(float(np.abs(step).max()), float(np.abs(day_step).max()))
        scale = min(1.0, _LONGEST_STEP / max(longest, 1e-12))
        effects, days = effects + scale * step, days + scale * day_step
        if longest < _ENOUGH:
            break
    return effects, days, np.asarray(np.linalg.inv(reduced), float)


def order_changes(before: Sequence[str], after: Sequence[str], name: str) -> tuple[int, int] | None:
    """Places (from 1) of a presentation in two orders when they differ; None when it stayed or left one of them."""
    if name not in before or name not in after:
        return None
    old, new = list(before).index(name) + 1, list(after).index(name) + 1
    return None if old == new else (old, new)


_PLACES = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")


def place_word(place: int) -> str:
    """``"first"`` for 1; from eleven on the number with th."""
    return _PLACES[place - 1] if place <= len(_PLACES) else f"{place}th"


def try_words(name: str, minutes: float) -> str:
    """One sentence that proposes a trial beside the day's other presentations."""
    return (
        f"For the log: {minutes:.0f} minutes of today on the {name}, on the same spot and in the same hour as your "
        "other rod; your log can't tell yet which of the two is better."
    )


def log_words(tally: Tally, moved: tuple[int, int] | None, effect: Effect) -> str:
    """One sentence on what the log says: fish, hours, and what it changed here."""
    hours = f"{tally.hours:.0f} of {tally.all_hours:.0f} hours"
    text = f"Your log: {tally.fish} of {tally.all_fish} fish, {hours} on this lure"
    if moved is not None:
        text += f"; moved from {place_word(moved[0])} to {place_word(moved[1])} here"
    elif effect.stated:
        text += f"; {effect.stated} than the lure's name, place unchanged here"
    return text + "."


def planned_words(segments: Sequence[Segment]) -> str:
    """How the choices of the briefing did beside the angler's own ideas; empty until both have some hours."""
    fish, hours = [0, 0], [0.0, 0.0]
    for segment in segments:
        if segment.planned is not None and segment.minutes:
            fish[segment.planned] += len(segment.fish)
            hours[segment.planned] += segment.minutes / 60.0
    if min(hours) < _LEAST_COMPARED_H:
        return ""
    own, told = fish[False] / hours[False], fish[True] / hours[True]
    better = " Your own ideas lead so far." if own > told else ""
    return (
        f"Choices of the briefing: {fish[True]} fish in {hours[True]:.0f} h ({told:.2f} an hour); "
        f"your own ideas: {fish[False]} in {hours[False]:.0f} h ({own:.2f} an hour).{better}"
    )
