"""The words of a wind note, and of the float plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, tzinfo

from briefing.core.wind.level import Factor, HourLevel
from briefing.core.wind.note import HOUR, NOTED, NOTED_WORD, NoteDecision, NoteKind, PlannedOuting
from briefing.core.wind.words import clock
from briefing.vocabulary import Level

NOT_ALL_CLEAR = "No note is not an all-clear."
LOOK = "Forecasts miss squalls and gusts: look at the sky and the water; you decide."
_LEAD = {
    NoteKind.FIRST: "Wind note",
    NoteKind.STRONGER: "Stronger than in the last note",
    NoteKind.EARLIER: "Earlier than in the last note",
    NoteKind.LATER: "Later than in the last note",
    NoteKind.EASED: "The forecast is now below the limits you set",
    NoteKind.DATA_LOST: "Not known any more",
}


@dataclass(frozen=True, slots=True)
class NoteText:
    """A note as text. first fits into a phone's notice (at most ``rules.first_paragraph`` characters)."""

    subject: str
    first: str
    body: str

    @property
    def whole(self) -> str:
        """First paragraph, blank line, body."""
        return f"{self.first}\n\n{self.body}"


def note_text(
    decision: NoteDecision,
    levels: Sequence[HourLevel],
    outing: PlannedOuting,
    *,
    now: datetime,
    zone: tzinfo,
    off_water_by: datetime | None,
    then: str,
    longest: int = 360,
) -> NoteText:
    """Write the note of a decision whose kind is not ``none``.

    The first paragraph names source, hazard, place, time and action; the body what changed, the hours, when it is
    checked again (``then``, see `next_check_text`), and that no note is not an all-clear.
    """
    if decision.kind is NoteKind.NONE:
        raise ValueError("nothing is to be said")
    watch = [h for h in levels if h.hour + HOUR > max(outing.launch, now) and h.hour < outing.watch_until]
    chief = _chief(watch)
    first = _first(decision, chief, outing, zone, off_water_by, longest, now)
    lines = ["Why:" if decision.first else "What changed:", *[f"- {change}" for change in decision.changes], ""]
    hours = _hour_lines([hour for hour in watch if hour.level.rank >= Level.UNKNOWN.rank], zone)
    lines += ["Hours at stop or not known:", *hours, ""] if hours else []
    lines += [then, NOT_ALL_CLEAR, LOOK]
    subject = f"{_lead(decision)}: {outing.lake}, {outing.launch.astimezone(zone):%a %d %b}"
    return NoteText(subject, first, "\n".join(lines))


def _lead(decision: NoteDecision) -> str:
    """What kind of note it is; what was never known is not lost."""
    never = decision.first and decision.kind is NoteKind.DATA_LOST
    return "Not known" if never else _LEAD[decision.kind]


def next_check_text(at: datetime | None, zone: tzinfo) -> str:
    """Say when the wind is checked again by itself; None: not during this outing."""
    return f"Next check at {clock(at, zone)}." if at else "No further check before the outing ends."


def _chief(watch: Sequence[HourLevel]) -> tuple[datetime, Factor] | None:
    """The first stop of the outing, else its first unknown."""
    for level in (Level.STOP, Level.UNKNOWN):
        for hour in watch:
            for factor in hour.factors:
                if factor.level is level and factor.name in NOTED and not factor.standing:
                    return hour.hour, factor
    return None


def _first(
    decision: NoteDecision,
    chief: tuple[datetime, Factor] | None,
    outing: PlannedOuting,
    zone: tzinfo,
    off_water_by: datetime | None,
    longest: int,
    now: datetime,
) -> str:
    day = f"{outing.launch.astimezone(zone):%a %d %b}"
    if chief is None:
        action = "Read the morning's hours again before you launch."
        return _fitting(f"{_lead(decision)}: {outing.lake}, {day}. {action} {NOT_ALL_CLEAR}", longest)
    hour, factor = chief
    action = _action(hour, outing, zone, off_water_by, now)
    source = f" Source: {factor.source.split(',')[0]}." if factor.source else ""
    head = f"{_lead(decision)}: {outing.lake}, {day}, from {clock(hour, zone)}. "
    room = longest - len(head) - len(action) - 2
    for text in (factor.text + source, factor.text, f"{NOTED_WORD[factor.name].capitalize()}: {factor.level.value}."):
        if len(text) <= room:
            return f"{head}{text} {action}"
    return _fitting(f"{head}{action}", longest)


def _fitting(text: str, longest: int) -> str:
    """The whole sentences of a text that fit; where not even one does, its first words with a full stop."""
    if len(text) <= longest:
        return text
    whole = text[:longest].rpartition(". ")[0]
    return f"{whole or text[: longest - 1].rpartition(' ')[0].rstrip(',:;')}."


def _action(hour: datetime, outing: PlannedOuting, zone: tzinfo, off_water_by: datetime | None, now: datetime) -> str:
    if off_water_by is None or off_water_by <= outing.launch or hour <= outing.launch:
        return "Do not launch as planned." if now <= outing.launch else "Do not launch; if you are out, go ashore now."
    return f"Be off the water by {clock(off_water_by, zone)}."


def _hour_lines(hours: Sequence[HourLevel], zone: tzinfo) -> list[str]:
    """A line for hours in a row that the same kind of hazard decides at the same level, with its worst hour."""
    runs: list[tuple[Level, str, list[tuple[datetime, Factor]]]] = []
    for hour in hours:
        factor = next((f for f in hour.deciding if f.name in NOTED), hour.deciding[0] if hour.deciding else None)
        if factor is None:
            continue
        same = runs and runs[-1][:2] == (hour.level, factor.name) and runs[-1][2][-1][0] + HOUR == hour.hour
        if not same:
            runs.append((hour.level, factor.name, []))
        runs[-1][2].append((hour.hour, factor))
    lines = []
    for level, _, found in runs:
        until = f" to {clock(found[-1][0] + HOUR, zone)}" if len(found) > 1 else ""
        at, worst = max(found, key=lambda one: one[1].badness)
        then = f", worst at {clock(at, zone)}" if len({factor.text for _, factor in found}) > 1 else ""
        word = "not known" if level is Level.UNKNOWN else "stop"
        lines.append(f"{clock(found[0][0], zone)}{until} {word}{then}: {worst.text}")
    return lines


@dataclass(frozen=True, slots=True)
class FloatPlan:
    """What a friend ashore needs to know, and a rescuer after them.

    position is the ramp's, (degrees north, degrees east); spots are the places planned, each with its hour,
    then where one may go on to from the last.
    people None leaves a place for the one who comes along. emergency is whom to call, to follow "call"; rescue_area the
    part of an address that rescuers ask for.
    """

    name: str
    lake: str
    craft: str
    ramp: str
    launch: datetime
    off_water_by: datetime
    call_at: datetime
    emergency: str
    rescue_area: str
    position: tuple[float, float] | None = None
    spots: tuple[tuple[str, datetime], ...] = ()
    then: str = ""
    people: int | None = 1


#: Places told in one sentence of a float plan.
_ABREAST = 4


def float_plan_text(plan: FloatPlan, zone: tzinfo) -> str:
    """Return a float plan to send: when to call whom first, then who, what, where, when out and back."""
    stays = [f"{name} {clock(at, zone)}" for name, at in plan.spots]
    stays += [f"perhaps {plan.then}"] if plan.then and stays else []
    places = "".join(
        f" {'Then' if first else 'Places:'} {', '.join(stays[first : first + _ABREAST])}."
        for first in range(0, len(stays), _ABREAST)
    )
    ramp = plan.ramp if plan.position is None else f"{plan.ramp} ({plan.position[0]:.4f}, {plan.position[1]:.4f})"
    day = plan.launch.astimezone(zone)
    out, off, call = (clock(at, zone) for at in (plan.launch, plan.off_water_by, plan.call_at))
    return (
        f"Float plan. Overdue at {call}: call me then; no answer: call {plan.emergency} and give them this text. "
        f"{plan.rescue_area}: ____. Name: ____. {_who(plan)} on {plan.lake}, {day:%A} {day.day} {day:%B}, "
        f"{plan.craft}, from {ramp}. On the water from {out}, off the water by {off}.{places} "
        "Car: ____. Colour of the craft: ____. Phone: ____. I will tell you when I am ashore."
    )


_COUNTS = {2: "two", 3: "three", 4: "four"}


def _who(plan: FloatPlan) -> str:
    name = plan.name or "I"
    if plan.people is None:
        return f"{name} and ____ (second person)" if plan.name else "I go with ____ (second person)"
    if plan.people == 1:
        return f"{plan.name} is alone" if plan.name else "I am alone"
    count = _COUNTS.get(plan.people, str(plan.people))
    return f"{plan.name} and party ({count})" if plan.name else f"We are {count}"
