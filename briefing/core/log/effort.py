"""From marks to segments: what was fished, how long, and what came of it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from briefing.core.log.parameters import EffortParameters
from briefing.core.log.records import Condition, Fish, Mark, MarkKind, Segment
from briefing.vocabulary import Cover


def segments_of(marks: Iterable[Mark], parameters: EffortParameters) -> tuple[Segment, ...]:
    """Return the segments of all marks, by start. The same marks in any order give the same segments.

    In an outing a segment runs from one change of spot, cover or presentation to the next:

    - a mark without fish that names another spot, cover or presentation changes at its own time;
    - a fish on something else changed before it: at ``since`` where that is said, else half way back to the mark
      before (``halfway``); the first setup ever named counts from the start;
    - stated ``minutes`` are a segment of their own that ends at the mark;
    - the end closes the last one. Without an end the clock stops at the last mark, and a stretch longer than
      ``longest_segment_min`` without any mark is cut to that.

    A mark outside any outing is a segment of its own; without ``minutes`` or ``since`` its effort is unknown. Minutes
    of a mark that neither shows fish nor says that there were none are not known to be a blank, and teach nothing.
    """
    ordered = sorted(marks, key=lambda mark: (mark.time, mark.id))
    starts = {mark.id for mark in ordered if mark.kind is MarkKind.START}
    out: list[Segment] = []
    for start in (mark for mark in ordered if mark.kind is MarkKind.START):
        own = [mark for mark in ordered if mark.outing == start.id and mark.id != start.id]
        out += _outing(start, own, parameters)
    for mark in ordered:
        if mark.kind is MarkKind.MARK and (mark.outing is None or mark.outing not in starts):
            out.append(_alone(mark))
    return tuple(sorted(out, key=lambda segment: (segment.start, segment.end, segment.marks)))


@dataclass
class _Open:
    """The segment that is running."""

    start: datetime
    effort: str = "clocked"
    spot: str = ""
    cover: Cover | None = None
    depth_m: float | None = None
    presentation: str = ""
    weight_g: float | None = None
    fish: list[Fish] = field(default_factory=list)
    contacts: int = 0
    follows: int = 0
    marks: list[int] = field(default_factory=list)
    planned: bool | None = None
    prior: float | None = None
    conditions: dict[str, Condition] = field(default_factory=dict)
    moment: str = ""
    position: tuple[float, float] | None = None
    notes: list[str] = field(default_factory=list)
    uncertain: bool = False
    silent: bool = False  # stated minutes without a word of fish or none

    def differs(self, mark: Mark) -> bool:
        """True when the mark names another spot, cover or presentation than the one that runs."""
        pairs = ((self.spot, mark.spot), (self.cover, mark.cover), (self.presentation, mark.presentation))
        return any(theirs and own and theirs != own for own, theirs in pairs)

    def take(self, mark: Mark) -> None:
        """Add what the mark says; the first conditions stand, what it names fills gaps."""
        self.spot = mark.spot or self.spot
        self.cover = mark.cover or self.cover
        self.depth_m = self.depth_m if mark.depth_m is None else mark.depth_m
        self.weight_g = self.weight_g if mark.weight_g is None else mark.weight_g
        if mark.presentation:
            self.planned, self.prior = mark.planned, mark.prior if mark.prior is not None else self.prior
        self.presentation = mark.presentation or self.presentation
        self.fish += mark.fish
        self.contacts += mark.contacts
        self.follows += mark.follows
        self.marks.append(mark.id)
        self.conditions = {**mark.conditions, **self.conditions}
        self.moment = mark.moment or self.moment
        self.position = mark.position or self.position
        if mark.note:
            self.notes.append(mark.note)
        self.uncertain = self.uncertain or mark.uncertain
        self.silent = mark.silent and (mark.minutes is not None or mark.since is not None or mark.uncertain)

    def turn(self, mark: Mark) -> None:
        """Change to what the mark says: a new spot's cover and a new lure's weight are those it names, if any."""
        if mark.spot and mark.spot != self.spot:
            self.cover, self.depth_m = None, None
        if mark.presentation and mark.presentation != self.presentation:
            self.weight_g, self.prior, self.planned = None, None, None
        self.take(mark)

    def follower(self, start: datetime, effort: str = "clocked") -> _Open:
        """The segment after this one: same place and setup until a mark says otherwise."""
        return _Open(
            start, effort, self.spot, self.cover, self.depth_m, self.presentation, self.weight_g,
            planned=self.planned, prior=self.prior,
        )  # fmt: skip

    def closed(self, end: datetime, outing: int, longest_min: float) -> Segment | None:
        """The finished segment, or None when it took no time and caught nothing."""
        minutes = min((end - self.start).total_seconds() / 60.0, longest_min)
        if minutes <= 0.0 and not (self.fish or self.contacts or self.follows):
            return None
        # hours in which fish may have been lost to a line that was not understood are no blank
        known = minutes > 0.0 and not (self.silent and not (self.fish or self.contacts or self.follows))
        return Segment(
            outing, self.start, end, minutes if known else None, self.effort if known else "unknown",
            self.spot, self.cover, self.depth_m, self.presentation, self.weight_g, tuple(self.fish), self.contacts,
            self.follows, tuple(self.marks), self.planned, self.prior, self.conditions, self.moment, self.position,
            "; ".join(self.notes), self.uncertain or not known,
        )  # fmt: skip


def _outing(start: Mark, marks: list[Mark], parameters: EffortParameters) -> list[Segment]:
    longest = parameters.longest_segment_min
    running = _Open(start.time)
    running.take(start)
    last = start.time
    out: list[Segment | None] = []
    outside = [mark for mark in marks if mark.time < start.time]
    inside = [mark for mark in marks if mark.time >= start.time]
    ends = next((n + 1 for n, mark in enumerate(inside) if mark.kind is MarkKind.END), len(inside))
    for mark in inside[:ends]:
        if mark.minutes is not None:
            began = max(running.start, mark.time - timedelta(minutes=mark.minutes))
            out.append(running.closed(began, start.id, longest))
            stated = running.follower(began, "stated")
            stated.turn(mark)
            out.append(stated.closed(mark.time, start.id, longest))
            running = stated.follower(mark.time)
        elif running.differs(mark):
            changed, effort = _changed_at(running, mark, last)
            out.append(running.closed(changed, start.id, longest))
            running = running.follower(changed, effort)
            running.turn(mark)
        else:
            running.take(mark)
        last = mark.time
    out.append(running.closed(max(last, running.start), start.id, longest))
    # What a correction has moved out of the outing's hours stays in the log, without effort.
    lost = [_alone(mark) for mark in (*outside, *inside[ends:]) if mark.kind is MarkKind.MARK and mark.caught]
    return [segment for segment in out if segment is not None] + lost


def _changed_at(running: _Open, mark: Mark, last: datetime) -> tuple[datetime, str]:
    """When the mark's spot and setup began, and how that is known; never before the running segment did."""
    if mark.since is not None:
        return min(max(running.start, mark.since), mark.time), "stated"
    if not mark.caught:
        return mark.time, "clocked"
    return max(running.start, last + (mark.time - last) / 2), "halfway"


def _alone(mark: Mark) -> Segment:
    minutes = mark.minutes
    if minutes is None and mark.since is not None:
        minutes = (mark.time - mark.since).total_seconds() / 60.0
    begin = mark.time if minutes is None else mark.time - timedelta(minutes=minutes)
    running = _Open(begin, "stated")
    running.take(mark)
    segment = running.closed(mark.time, mark.id, float("inf"))
    if segment is not None:
        return segment
    return Segment(
        mark.id, begin, mark.time, None, "unknown", mark.spot, mark.cover, mark.depth_m, mark.presentation,
        mark.weight_g, (), 0, 0, (mark.id,), mark.planned, mark.prior, mark.conditions, mark.moment, mark.position,
        mark.note, True,
    )  # fmt: skip
