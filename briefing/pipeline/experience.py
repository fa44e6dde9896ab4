"""What this lake's own log and checks say on a morning: what was learned, and how far forecasts have been off."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from briefing import units
from briefing.core.advice.choice import Choice
from briefing.core.advice.conditions import Conditions, Spot
from briefing.core.advice.measures import in_text
from briefing.core.advice.plan import Block, DayPlan
from briefing.core.advice.situation import main_cover, phase_shares
from briefing.core.gathered import Gathered
from briefing.core.gathered_json import observed_from_json
from briefing.core.hours import HourSeries
from briefing.core.log.checks import (
    WIND,
    Check,
    Issued,
    WaterStated,
    morning_of,
    nest_check,
    thunder_checks,
    water_checks,
    wind_checks,
)
from briefing.core.log.correction import WindCorrection, fit_correction, mornings_of
from briefing.core.log.effort import segments_of
from briefing.core.log.learning import LogLearned, learn, log_words, order_changes, try_words
from briefing.core.log.parameters import LogParameters
from briefing.core.log.records import MarkKind, Segment
from briefing.core.log.skill import corrected_text, wind_line
from briefing.core.readings import WindReading
from briefing.core.water.observe import FLOWING_KINDS
from briefing.core.wind.words import speed
from briefing.pipeline.inputs import Entered, Knowledge, MorningInputs
from briefing.profile.model import LakeProfile
from briefing.profile.model import Spot as ProfileSpot
from briefing.vocabulary import SignKind

if TYPE_CHECKING:
    from briefing.store import Store

Floats = NDArray[np.float64]

#: Stored inputs and briefings looked at: as far back as the longest class of lead, and no more than so many.
LOOK_BACK = timedelta(hours=63)
MOST_STORED = 40
#: No trials are proposed when fish are harder than this, -1 to 1.
HARD_MOOD = -0.3
#: Nothing is said of the checks under so many mornings.
LEAST_TO_TELL = 5
#: A reason of the ranking that the log's own sentence replaces.
_PLAIN_REASON = "Your own log speaks"


@dataclass(frozen=True)
class Experience:
    """Segments of the log and all checks, stored and new."""

    segments: tuple[Segment, ...] = ()
    checks: tuple[Check, ...] = ()


def read_experience(
    store: Store, profile: LakeProfile, gathered: Gathered, entered: Entered, now: datetime, parameters: LogParameters
) -> Experience:
    """Read log and checks, and hold what was forecast against what has come since. The store is only read."""
    # The store brings SQLAlchemy (about 0.2 s), which a briefing made without one does not need.
    from briefing.store.log import LogBook

    book = LogBook(store)
    marks = [entry.mark for entry in book.entries(profile.id) if entry.mark.time <= now]
    segments = segments_of(marks, parameters.effort)
    known = book.checks(profile.id)
    stored = book.gathered_between(profile.id, now - LOOK_BACK, now, MOST_STORED)
    earlier = [read for one in stored if (read := observed_from_json(one.text)) is not None]
    issued = [Issued(one.retrieved_at, one.hours) for one in earlier]
    winds: list[WindReading] = [wind for one in earlier for wind in one.wind_now]
    winds += [*gathered.wind_now, *(wind for wind in entered.winds if wind.time >= now - LOOK_BACK)]
    ends = {mark.outing: mark.time for mark in marks if mark.kind is MarkKind.END}
    outings = [(mark.time, ends[mark.id]) for mark in marks if mark.kind is MarkKind.START and mark.id in ends]
    recent = [(begin, end) for begin, end in outings if begin >= now - LOOK_BACK and end <= now]
    made = book.briefings_between(profile.id, now - LOOK_BACK, now, MOST_STORED)
    briefings = [json.loads(one.text) for one in made]
    gauges = [one for one in gathered.water if one.kind not in FLOWING_KINDS]  # no measure of the lake's own estimate
    water = [one for one in (*entered.water, *gauges) if now - LOOK_BACK <= one.time <= now]
    dated = [(one, one.time.astimezone(profile.zone).date()) for one in water if one.hour_known]
    new = [
        *wind_checks(issued, (wind for wind in winds if wind.time <= now), parameters.leads),
        *water_checks(_stated(briefings), dated, parameters.leads),
        *thunder_checks(issued, recent, entered.thunder_heard, parameters.leads),
        *_nests(briefings, entered, profile, now),
    ]
    return Experience(segments, merged(known, new))


def merged(known: Iterable[Check], new: Iterable[Check]) -> tuple[Check, ...]:
    """Both by time; of two of the same value, lead and kind of observer the one known first stands."""
    out = {(one.element, one.time, one.lead, one.kind): one for one in (*list(new), *known)}
    first = {(one.element, one.time, one.lead, one.kind): one for one in known}
    return tuple(sorted((out | first).values(), key=lambda one: (one.time, one.element, one.lead, one.kind)))


def _stated(briefings: Sequence[Mapping[str, Any]]) -> list[WaterStated]:
    """Water temperatures that briefings stated; those written by another version are left out."""
    out = []
    for body in briefings:
        try:
            head, water = body["head"], body["water"]["temperature"]
            if water["value"] is None:
                continue
            made, day = datetime.fromisoformat(head["prepared_at"]), date.fromisoformat(head["day"])
            out.append(WaterStated(made, day, water["value"], water["low"], water["high"]))
        except (KeyError, TypeError, ValueError):
            continue
    return out


def _nests(
    briefings: Sequence[Mapping[str, Any]], entered: Entered, profile: LakeProfile, now: datetime
) -> list[Check]:
    """The first nests with fish of the year against the date that the newest briefing before had stated."""
    seen = [sign.time for sign in entered.signs if sign.kind is SignKind.BEDS_WITH_FISH]
    first = min((time for time in seen if time.astimezone(profile.zone).year == now.year), default=None)
    if first is None or first < now - LOOK_BACK:
        return []
    stated = None
    for body in briefings:
        try:
            if datetime.fromisoformat(body["head"]["prepared_at"]) < first:
                dates = {row["name"]: row for row in body["season"][0]["dates"]}
                stated = dates.get("nest_start", stated)
        except (KeyError, TypeError, ValueError, IndexError):
            continue
    if stated is None or stated["p50"] is None:
        return []
    spans = [None if stated[name] is None else date.fromisoformat(stated[name]) for name in ("p10", "p50", "p90")]
    return [nest_check(first, first.astimezone(profile.zone).date(), spans[0], spans[1], spans[2])]


# --- the wind --------------------------------------------------------------------------------------------------------


def wind_correction(inputs: MorningInputs, knowledge: Knowledge) -> WindCorrection:
    """The correction of the forecast wind that the checks support."""
    return fit_correction(mornings_of(inputs.kept.checks), knowledge.log.correction)


def raised(inputs: MorningInputs, knowledge: Knowledge, correction: WindCorrection, series: HourSeries) -> Floats:
    """Factor by hour on the wind that limits are judged by: 1 or more.

    The largest of what all checks say together, the stations alone and the user alone: wind felt low over the water
    must not hide what a station measured, nor the other way round.
    """
    wind, direction = series.values("wind_mps"), series.values("wind_from_deg")
    out = correction.raise_factor(wind, direction)
    kinds = {check.kind for check in inputs.kept.checks if check.element == WIND}
    for kind in sorted(kinds) if len(kinds) > 1 else []:
        own = [check for check in inputs.kept.checks if check.kind == kind]
        alone = fit_correction(mornings_of(own), knowledge.log.correction)
        out = np.maximum(out, alone.raise_factor(wind, direction))
    return out


def raised_series(series: HourSeries, factor: Floats) -> HourSeries:
    """The series with the wind that limits are judged by in place of the forecast one."""
    if not (factor > 1.0).any():
        return series
    fields = dict(series.fields)
    for name in ("wind_mps", "gust_mps"):
        if name in fields:
            fields[name] = replace(fields[name], values=fields[name].values * factor)
    return replace(series, fields=fields)


def wind_notes(
    inputs: MorningInputs,
    knowledge: Knowledge,
    correction: WindCorrection,
    series: HourSeries,
    factor: Floats,
    shown: Sequence[datetime],
) -> list[str]:
    """What the checks say of the wind: the line on the last mornings, the corrected wind, a raise for the limits.

    The corrected wind and the raise stand beside the forecast one, for the windiest of the hours shown.
    """
    system = inputs.reader.units
    line = wind_line(inputs.kept.checks, knowledge.log, system)
    wind, direction = series.values("wind_mps"), series.values("wind_from_deg")
    at = [n for n in (series.index_of(hour) for hour in shown) if np.isfinite(wind[n])]
    if not line or not at:
        return [line] if line else []
    worst = max(at, key=lambda n: float(wind[n]))
    out = [line, corrected_text(correction, float(wind[worst]), float(direction[worst]), system)]
    out.append(raised_sentence(series, factor, shown, system))
    return [text for text in out if text]


def raised_sentence(series: HourSeries, factor: Floats, shown: Sequence[datetime], system: units.Units) -> str:
    """Say that limits are judged by more wind than forecast, with both numbers; empty when no hour shown is raised."""
    wind = series.values("wind_mps")
    at = [n for n in (series.index_of(hour) for hour in shown) if np.isfinite(wind[n]) and factor[n] > 1.02]
    if not at:
        return ""
    worst = max(at, key=lambda n: float(wind[n]))
    raw, judged = (speed(float(wind[worst] * by), system) for by in (1.0, factor[worst]))
    return (
        f"Your limits are judged by stronger wind than forecast in {len(at)} of these hours, as the checks at this "
        f"lake say ({raw} as forecast counts as {judged}), gusts and waves alike; the wind columns show the forecast."
    )


def wind_checked(inputs: MorningInputs) -> str:
    """How sure the wind is by its checks at this lake, to follow the age of the forecast."""
    wind = [check for check in inputs.kept.checks if check.element == WIND]
    days = len({morning_of(check.time) for check in wind})
    if days < LEAST_TO_TELL:
        return " and nothing has checked it at your lake" if not days else f" and {days} checked mornings are too few"
    off = units.show_wind(float(np.mean([abs(check.error) for check in wind])), inputs.reader.units, both=False)
    return f"; on {days} checked mornings at your lake it was off by {off} on average"


# --- the log ---------------------------------------------------------------------------------------------------------


def learned_of(inputs: MorningInputs, knowledge: Knowledge) -> LogLearned:
    """What the log says up to today."""
    groups = {item.id: item.group for item in knowledge.advice.presentations}
    return learn(inputs.kept.segments, groups, knowledge.log, inputs.day)


def trial_of(learned: LogLearned, plan: DayPlan, mood: float) -> str:
    """One sentence that proposes a trial among the plan's own lures, for those who keep a log; else empty.

    Never on a hard day (``mood`` of the fish below :data:`HARD_MOOD`), nor for what gets most of the time anyway.
    """
    if not learned.tallies or mood < HARD_MOOD or not plan.stops:
        return ""
    scores: dict[str, float] = {}
    names: dict[str, str] = {}
    leads: dict[str, float] = {}
    minutes = 0.0
    for stop in plan.stops:
        here = (stop.leave - stop.arrive).total_seconds() / 60.0
        minutes += here
        for choice in stop.choices:
            scores[choice.id] = max(scores.get(choice.id, 0.0), choice.score)
            names[choice.id] = in_text(choice.name)
        for choice in stop.choices[:1]:
            leads[choice.id] = leads.get(choice.id, 0.0) + here
    chosen = learned.to_try(scores) if len(scores) > 1 else ""
    if not chosen or leads.get(chosen, 0.0) == max(leads.values()):
        return ""
    return try_words(names[chosen], learned.parameters.try_share * minutes)


def block_factors(learned: LogLearned, conditions: Conditions, parameters: LogParameters) -> dict[str, float]:
    """Log factors in a block's season and clarity, wherever it is fished."""
    return learned.factors(None, *_season_and_clarity(conditions, parameters))


def spot_factors(learned: LogLearned, at: Conditions, spot: Spot, parameters: LogParameters) -> dict[str, float]:
    """Log factors at a spot: its main cover, the season and the clarity."""
    return learned.factors(main_cover(spot), *_season_and_clarity(at, parameters))


def _season_and_clarity(conditions: Conditions, parameters: LogParameters) -> tuple[Any, str]:
    shares = phase_shares(conditions) if conditions.phases else {}
    phase = max(shares, key=lambda one: shares[one]) if shares else None
    return phase, parameters.clarity_class(conditions.secchi_m)


def with_log_words(
    choices: Sequence[Choice],
    before: Sequence[str],
    after: Sequence[str],
    learned: LogLearned,
    spot: Spot,
    at: Conditions,
    parameters: LogParameters,
) -> tuple[Choice, ...]:
    """Add to each choice what the log says of it, and what that changed in the order at this spot."""
    phase, clarity = _season_and_clarity(at, parameters)
    out = []
    for choice in choices:
        if not learned.enough(choice.id):
            out.append(choice)
            continue
        effect = learned.effect(choice.id, main_cover(spot), phase, clarity)
        words = log_words(learned.tallies[choice.id], order_changes(before, after, choice.id), effect)
        kept = tuple(reason for reason in choice.reasons if not reason.startswith(_PLAIN_REASON))
        out.append(replace(choice, reasons=(*kept[:1], words, *kept[1:])))
    return tuple(out)


def trade_scores(
    scores: Floats,
    blocks: Sequence[Block],
    spots: Sequence[ProfileSpot],
    conditions: Mapping[str, Conditions],
    learned: LogLearned,
    knowledge: Knowledge,
) -> dict[str, dict[str, float]]:
    """What the trade alone thinks of each presentation at each spot over the day, relative to the spot's best.

    Kept with the day, so that the log later learns only what the trade did not know. scores: (blocks, spots,
    presentations), with the log's factors in them, which are taken out again.
    """
    if not scores.size:
        return {}
    ids = [item.id for item in knowledge.advice.presentations]
    plain = scores.copy()
    for number, block in enumerate(blocks):
        factors = block_factors(learned, conditions[block.id], knowledge.log)
        plain[number] /= np.exp([factors.get(name, 0.0) for name in ids])
    mean = plain.mean(axis=0)
    best = np.maximum(mean.max(axis=1, keepdims=True), 1e-12)
    relative = mean / best
    return {
        spot.id: {name: round(float(value), 4) for name, value in zip(ids, relative[row], strict=True) if value > 0.0}
        for row, spot in enumerate(spots)
    }
