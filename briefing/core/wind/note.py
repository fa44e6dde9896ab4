"""The wind note: a pure decision from what was sent, what was last evaluated, the current hours and the time."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from datetime import datetime, timedelta
from enum import StrEnum
from functools import partial
from typing import Any

from briefing.core.wind import words
from briefing.core.wind.alerts import ResolvedAlerts
from briefing.core.wind.level import Factor, HourLevel
from briefing.core.wind.rules import NoteRules, minutes
from briefing.units import Units
from briefing.vocabulary import Level, worst

HOUR = timedelta(hours=1)
#: Wind checks run until the planned return and this much longer.
WATCH_AFTER = timedelta(hours=1)
#: Factors whose numbers a note compares with their limits.
MEASURED = ("sustained_wind", "gust", "waves")
#: Factors that a wind note is about: what can turn an outing within hours.
#: What a note goes out for, the order it is told in, and its words.
NOTED_WORD = {
    "sustained_wind": "wind",
    "gust": "gusts",
    "waves": "waves",
    "headway": "no headway against the wind",
    "thunder": "thunder",
    "alerts": "official warning",
    "visibility": "visibility",
    "data_age": "a newer forecast",
}
NOTED = tuple(NOTED_WORD)
_TIMES = ("evaluated_at", "issued", "first_stop", "first_unknown")
_LISTS = ("crossed", "unknown", "warnings")


class NoteKind(StrEnum):
    """What a note says; ``none``: nothing goes out."""

    FIRST = "first"
    STRONGER = "stronger"
    EARLIER = "earlier"
    LATER = "later"
    EASED = "eased"
    DATA_LOST = "data_lost"
    NONE = "none"


@dataclass(frozen=True, slots=True)
class PlannedOuting:
    """A planned outing; its id is lake + date, the event all notes belong to."""

    id: str
    lake: str
    launch: datetime
    planned_return: datetime

    @property
    def watch_until(self) -> datetime:
        """End of the wind checks: planned return + 1 h."""
        return self.planned_return + WATCH_AFTER


@dataclass(frozen=True)
class NoteSignature:
    """What an outing looked like at one evaluation; plain and JSON-able with ``to_mapping`` and ``from_mapping``.

    issued is the newest issue time of the forecast used: two cycles are two different issue times. first_stop and
    first_unknown are hours inside the watch (launch to planned return + 1 h). crossed: factors at stop, unknown:
    factors that are not known, standing ones aside. warnings: official alerts that stop the outing or are severe, as
    "event/severity", so that a reissue is no new one and an upgrade is. data_lost: the newest
    forecast is too old and no newer can be had.
    below: every number is 10 % under its stop limit, no warning is in force, thunder is below caution, data fresh.
    """

    outing: str
    evaluated_at: datetime
    issued: datetime | None
    level: str
    first_stop: datetime | None
    first_unknown: datetime | None
    crossed: tuple[str, ...]
    unknown: tuple[str, ...]
    warnings: tuple[str, ...]
    peak_gust_mps: float | None
    peak_wind_mps: float | None
    peak_hs_m: float | None
    data_lost: bool
    below: bool
    kind: str = NoteKind.NONE.value  # of the note that was sent with it

    def to_mapping(self) -> dict[str, Any]:
        """Return plain JSON values; instants in ISO 8601."""
        out: dict[str, Any] = {}
        for item in fields(self):
            value = getattr(self, item.name)
            if isinstance(value, datetime):
                value = value.isoformat()
            out[item.name] = list(value) if isinstance(value, tuple) else value
        return out

    @classmethod
    def from_mapping(cls, mapping: Mapping[str, Any]) -> NoteSignature:
        """Read what ``to_mapping`` wrote."""
        values = dict(mapping)
        for name in _TIMES:
            values[name] = None if values[name] is None else datetime.fromisoformat(values[name])
        for name in _LISTS:
            values[name] = tuple(values[name])
        return cls(**values)


@dataclass(frozen=True, slots=True)
class NoteDecision:
    """What to do now: ``kind`` none means send nothing; ``quiet`` then says why in one sentence.

    signature is to be stored as evaluated, and as sent when the note was handed over. changes are plain sentences.
    ``first``: the outing was never looked at before, so that nothing is known of what was.
    """

    kind: NoteKind
    signature: NoteSignature
    changes: tuple[str, ...]
    quiet: str = ""
    first: bool = False


def signature_of(
    levels: Sequence[HourLevel],
    alerts: ResolvedAlerts,
    outing: PlannedOuting,
    now: datetime,
    rules: NoteRules,
    *,
    issued: datetime | None,
    forecast_lost: bool,
) -> NoteSignature:
    """Sum up the hours of the outing that are still ahead: what is compared from one evaluation to the next."""
    watch = [h for h in levels if h.hour + HOUR > max(outing.launch, now) and h.hour < outing.watch_until]
    factors = [(h.hour, f) for h in watch for f in h.factors if f.name in NOTED and not f.standing]
    stops = [(hour, f) for hour, f in factors if f.level is Level.STOP]
    lost = [(hour, f) for hour, f in factors if f.level is Level.UNKNOWN]
    warnings = _warnings(stops, alerts, outing, now)
    gap = _uncovered(watch, max(outing.launch, now), outing.planned_return)
    missing = [] if gap is None else [(gap, "sustained_wind")]
    missing += [(hour, f.name) for hour, f in lost]
    level = worst([f.level for _, f in factors] + ([Level.UNKNOWN] if gap is not None else []))
    return NoteSignature(
        outing=outing.id,
        evaluated_at=now,
        issued=issued,
        level=level.value,
        first_stop=min((hour for hour, _ in stops), default=None),
        first_unknown=min((hour for hour, _ in missing), default=None),
        crossed=tuple(sorted({f.name for _, f in stops})),
        unknown=tuple(sorted({name for _, name in missing})),
        warnings=warnings,
        peak_gust_mps=_peak(factors, "gust"),
        peak_wind_mps=_peak(factors, "sustained_wind"),
        peak_hs_m=_peak(factors, "waves"),
        data_lost=forecast_lost,
        below=not stops and not missing and not warnings and not forecast_lost and _clear(factors, rules),
    )


def _uncovered(watch: Sequence[HourLevel], begin: datetime, end: datetime) -> datetime | None:
    """First instant of [begin, end) that the hours, which are consecutive, do not cover."""
    if begin >= end:
        return None
    if not watch or watch[0].hour > begin:
        return begin
    covered = watch[-1].hour + HOUR
    return covered if covered < end else None


def _warnings(
    stops: Sequence[tuple[datetime, Factor]], alerts: ResolvedAlerts, outing: PlannedOuting, now: datetime
) -> tuple[str, ...]:
    """Alerts over the outing that stop it, or that are severe, as "event/severity"; duplicates count once."""
    stopping = {f.ref for _, f in stops if f.name == "alerts" and f.ref}
    out = []
    for one in alerts.active:
        severe = one.alert.severity.casefold() in ("severe", "extreme")
        if one.overlaps(max(outing.launch, now), outing.watch_until) and (severe or one.alert.id in stopping):
            out.append(f"{one.alert.event}/{one.alert.severity}".casefold())
    return tuple(sorted(set(out)))


def _peak(factors: Sequence[tuple[datetime, Factor]], name: str) -> float | None:
    return max((f.number for _, f in factors if f.name == name and f.number is not None), default=None)


def _clear(factors: Sequence[tuple[datetime, Factor]], rules: NoteRules) -> bool:
    """Every measured number is clearly below its stop limit, and thunder below caution."""
    for _, factor in factors:
        if factor.name == "thunder" and factor.level is not Level.WITHIN_LIMITS:
            return False
        if factor.name not in MEASURED or factor.stop_limit is None or factor.number is None:
            continue
        if factor.number >= factor.stop_limit * (1.0 - rules.ease_share):
            return False
    return True


def decide_note(
    sent: Sequence[NoteSignature],
    evaluated: Sequence[NoteSignature],
    levels: Sequence[HourLevel],
    alerts: ResolvedAlerts,
    outing: PlannedOuting,
    now: datetime,
    rules: NoteRules,
    *,
    issued: datetime | None,
    forecast_lost: bool,
    last_thunder: datetime | None = None,
    units: Units,
) -> NoteDecision:
    """Decide on a wind note for a planned outing.

    sent: signatures of notes handed over, oldest first. evaluated: signatures of earlier evaluations, oldest first
    (the last few are enough). levels: the current hours. issued: newest issue time of the wind forecast.
    forecast_lost: it is older than the limit and no newer can be had. last_thunder: when thunder was last heard or
    forecast to have been. Signatures of other outings are left aside. Worsening goes out at once, easing only after
    two forecast cycles, never within 30 min of thunder, at most one in 2 h and two an outing.
    """
    current = signature_of(levels, alerts, outing, now, rules, issued=issued, forecast_lost=forecast_lost)
    if now >= outing.watch_until:
        return NoteDecision(NoteKind.NONE, current, (), "The outing is over: no more checks.")
    mine = [one for one in sent if one.outing == outing.id]
    before = [one for one in evaluated if one.outing == outing.id and one.evaluated_at < now]
    if not mine:
        return replace(_first_note(current, units), first=not before)
    kind, changes = _worse(mine, before, current, rules, units)
    if kind is not NoteKind.NONE:
        return NoteDecision(kind, replace(current, kind=kind.value), changes)
    return _eased(mine, before, current, now, rules, last_thunder, units)


def _first_note(current: NoteSignature, units: Units) -> NoteDecision:
    changes = _present(current, units)
    if not changes:
        return NoteDecision(NoteKind.NONE, current, (), "Nothing in the outing reaches a stop limit or is unknown.")
    kind = NoteKind.FIRST
    if current.data_lost and not current.crossed and not current.warnings:
        kind = NoteKind.DATA_LOST
    return NoteDecision(kind, replace(current, kind=kind.value), changes)


def _present(current: NoteSignature, units: Units) -> tuple[str, ...]:
    out = [f"At stop: {_names(current.crossed)}."] if current.crossed else []
    out += [f"Official: {_names(current.warnings)}."] if current.warnings else []
    out += [f"Not known: {_names(current.unknown)}."] if current.unknown else []
    out += ["A newer forecast could not be had."] if current.data_lost else []
    if current.crossed and current.peak_gust_mps is not None:
        out.append(f"Peak gust {words.speed(current.peak_gust_mps, units)}.")
    return tuple(out)


def _names(items: Sequence[str]) -> str:
    names = [item.split("/")[0] for item in items]
    order = list(NOTED_WORD)
    names.sort(key=lambda name: order.index(name) if name in order else len(order))
    return ", ".join(NOTED_WORD.get(name, name) for name in names)


def _worse(
    sent: Sequence[NoteSignature],
    before: Sequence[NoteSignature],
    current: NoteSignature,
    rules: NoteRules,
    units: Units,
) -> tuple[NoteKind, tuple[str, ...]]:
    """What got worse since the last note; unknown and lost data count once per onset."""
    last = sent[-1]
    crossed = set(current.crossed) - set(last.crossed)
    warned = set(current.warnings) - set(last.warnings)
    changes = [f"Newly over your stop limit: {_names(sorted(crossed))}."] if crossed else []
    changes += [f"New official warning: {_names(sorted(warned))}."] if warned else []
    if _gust_up(last, current, rules):
        changes.append(f"Peak gust now {words.speed(current.peak_gust_mps or 0.0, units)}.")
    if changes:
        return NoteKind.STRONGER, tuple(changes)
    if current.first_stop and last.first_stop and last.first_stop - current.first_stop >= minutes(rules.onset_min):
        return NoteKind.EARLIER, ("The first stop hour comes earlier.",)
    if current.data_lost and not _told(sent, before, lambda one: one.data_lost):
        return NoteKind.DATA_LOST, ("A newer forecast could not be had.",)
    lost = [name for name in current.unknown if not _told(sent, before, partial(_unknown_in, name))]
    if lost:
        return NoteKind.DATA_LOST, (f"Not known any more: {_names(lost)}.",)
    return NoteKind.NONE, ()


def _unknown_in(name: str, one: NoteSignature) -> bool:
    return name in one.unknown


def _told(
    sent: Sequence[NoteSignature], before: Sequence[NoteSignature], holds: Callable[[NoteSignature], bool]
) -> bool:
    """Whether a note told of a state that has lasted, without a break, through every evaluation since."""
    told = [one.evaluated_at for one in sent if holds(one)]
    return bool(told) and all(holds(one) for one in before if one.evaluated_at >= told[-1])


def _gust_up(last: NoteSignature, current: NoteSignature, rules: NoteRules) -> bool:
    if current.peak_gust_mps is None or last.peak_gust_mps is None or not current.crossed:
        return False
    step = max(rules.gust_step_mps, rules.gust_step_share * last.peak_gust_mps)
    return current.peak_gust_mps - last.peak_gust_mps >= step


def _eased(
    sent: Sequence[NoteSignature],
    before: Sequence[NoteSignature],
    current: NoteSignature,
    now: datetime,
    rules: NoteRules,
    last_thunder: datetime | None,
    units: Units,
) -> NoteDecision:
    """Say that things eased, when everything that easing asks for holds."""
    last = sent[-1]
    kind, change = _easing(last, current, rules)
    if kind is NoteKind.NONE:
        return NoteDecision(NoteKind.NONE, current, (), "Nothing changed enough since the last note.")
    easings = [one for one in sent if one.kind in (NoteKind.EASED.value, NoteKind.LATER.value)]
    quiet = ""
    if not _two_cycles(before, current, kind, last, rules):
        quiet = "Easier so far in one forecast only; a second one must agree."
    elif last_thunder is not None and now - last_thunder < minutes(rules.thunder_quiet_min):
        quiet = "Thunder within the last 30 minutes."
    elif len(easings) >= rules.ease_max:
        quiet = "Enough notes about easing for one outing."
    elif easings and now - easings[-1].evaluated_at < timedelta(hours=rules.ease_gap_h):
        quiet = "The last note about easing is under two hours old."
    if quiet:
        return NoteDecision(NoteKind.NONE, current, (), quiet)
    gust = current.peak_gust_mps
    changes = (change,) + ((f"Peak gust now {words.speed(gust, units)}.",) if gust is not None else ())
    return NoteDecision(kind, replace(current, kind=kind.value), changes)


def _easing(last: NoteSignature, current: NoteSignature, rules: NoteRules) -> tuple[NoteKind, str]:
    troubled = bool(last.crossed or last.unknown or last.warnings or last.data_lost)
    if troubled and current.below:
        return NoteKind.EASED, "The forecast is now below the limits you set."
    known = not current.unknown and not current.data_lost
    later = timedelta(0)
    if known and current.first_stop and last.first_stop:
        later = current.first_stop - last.first_stop
    if later >= minutes(rules.onset_min):
        return NoteKind.LATER, "The first stop hour comes later; the rest of what was said stands."
    return NoteKind.NONE, ""


def _two_cycles(
    before: Sequence[NoteSignature], current: NoteSignature, kind: NoteKind, last: NoteSignature, rules: NoteRules
) -> bool:
    """Another evaluation since the last note, from a different issue time, with nothing worse between, agrees."""
    for one in reversed([one for one in before if one.evaluated_at > last.evaluated_at]):
        if _easing(last, one, rules)[0] not in (kind, NoteKind.EASED):
            return False
        if one.issued is not None and current.issued is not None and one.issued != current.issued:
            return True
    return False
