"""The log in one line of words: an entry, a segment, what was understood, what is still asked."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from briefing import units
from briefing.core.log.line import Understood
from briefing.core.log.records import Mark, MarkKind, Segment
from briefing.sections.words import listed

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from zoneinfo import ZoneInfo

    from briefing.app.log import LikeToday
    from briefing.core.log.parameters import LogParameters
    from briefing.profile.model import LakeProfile
    from briefing.store.log import LogEntry


def told(understood: Understood) -> list[str]:
    """Lines that say what was understood and what was not."""
    out = [f"Understood: {'; '.join(part.meaning for part in understood.parts)}."] if understood.parts else []
    if understood.left:
        out.append(f"Not understood, kept as your note: {' '.join(understood.left)}")
    return [*out, *understood.doubts, *understood.open[:1]]


def describe_mark(entry: LogEntry, profile: LakeProfile, names: Mapping[str, str]) -> str:
    """One entry on one line, without its number."""
    mark = entry.mark
    at = mark.time.astimezone(profile.zone).strftime("%Y-%m-%d %H:%M")
    words = {MarkKind.START: ["outing begins"], MarkKind.END: ["outing ends"], MarkKind.MARK: []}[mark.kind]
    words = words + _catch_words(mark, profile) + _setting_words(mark, profile, names)
    if mark.minutes is not None:
        words.append(units.show_duration(mark.minutes))
    if mark.since is not None:
        words.append(f"since {mark.since.astimezone(profile.zone):%H:%M}")
    state = "" if entry.state == "current" else f" [{entry.state}]"
    replaced = f" [corrects {entry.replaces}]" if entry.replaces is not None else ""
    note = f" ({mark.note})" if mark.note else ""
    return f"{at}  {', '.join(words)}{note}{replaced}{state}"


def _catch_words(mark: Mark | Segment, profile: LakeProfile) -> list[str]:
    out = []
    if mark.fish:
        sizes = [_size(one.length_m, one.weight_g, profile) for one in mark.fish if one.length_m or one.weight_g]
        out.append(f"{len(mark.fish)} fish{f' ({chr(44).join(sizes)})'.replace(',', ', ') if sizes else ''}")
    if mark.contacts:
        out.append(f"{mark.contacts} bites")
    if mark.follows:
        out.append(f"{mark.follows} follows")
    return out


def _size(length_m: float | None, weight_g: float | None, profile: LakeProfile) -> str:
    parts = []
    if length_m is not None:
        parts.append(f"{length_m / 0.0254:.3g} in" if profile.units == "us" else f"{length_m * 100:.3g} cm")
    if weight_g is not None:
        parts.append(f"{weight_g / units.POUND_G:.3g} lb" if profile.units == "us" else f"{weight_g:.0f} g")
    return " ".join(parts)


def _setting_words(mark: Mark | Segment, profile: LakeProfile, names: Mapping[str, str]) -> list[str]:
    out = []
    if mark.presentation:
        weight = "" if mark.weight_g is None else f" {units.show_weight(mark.weight_g, profile.units, both=False)}"
        out.append(f"{names.get(mark.presentation, mark.presentation)}{weight}")
    if mark.spot:
        out.append(mark.spot)
    if mark.cover is not None:
        out.append(mark.cover.value.replace("_", " "))
    if mark.depth_m is not None:
        out.append(units.show_depth(mark.depth_m, profile.units, both=False))
    return out


def describe_segment(segment: Segment, profile: LakeProfile, names: Mapping[str, str]) -> str:
    """One segment on one line: clock times, minutes, setting, catch."""
    zone = profile.zone
    span = f"{segment.start.astimezone(zone):%H:%M}-{segment.end.astimezone(zone):%H:%M}"
    known = "effort not known" if segment.minutes is None else units.show_duration(segment.minutes)
    how = " (change put half way)" if segment.effort == "halfway" else ""
    setting = ", ".join(_setting_words(segment, profile, names)) or "what and where not said"
    none = "blank" if segment.blank else "fish or none not said"
    catch = ", ".join(_catch_words(segment, profile)) or none
    return f"{span}  {known}{how}: {setting}: {catch}"


def like_lines(found: LikeToday) -> list[str]:
    """Mornings of the log like a day, nearest first, each with what it brought and what brought nothing."""
    from briefing.core.log.likeness import how_near
    from briefing.knowledge import load_log_parameters

    p = load_log_parameters().like
    out = []
    if found.mornings_known < p.fewest:
        many = {0: "no other morning", 1: "one other morning"}.get(
            found.mornings_known, f"{found.mornings_known} others"
        )
        out.append(f"The log of {found.profile.name} has {many}: too few to find one that is like it for sure.")
    elif not found.found:
        out.append(f"No morning in the log of {found.profile.name} can be compared: its conditions were not kept.")
    for one in found.found:
        what = listed(list(one.compared))
        out.append(f"{one.day.isoformat()}, {how_near(one.distance, p)} it in {what}:")
        out += [f"  {describe_segment(segment, found.profile, found.names)}" for segment in one.segments]
    return out


def open_questions(
    segments: Sequence[Segment], profile: LakeProfile, parameters: LogParameters, stop: str = ""
) -> list[str]:
    """What is still missing for the log to learn from it, each with the command that says it."""
    out = []
    for segment in segments:
        number = segment.marks[0] if segment.marks else segment.outing
        at = f"{segment.start.astimezone(profile.zone):%H:%M}"
        if not segment.presentation:
            out.append(f"What did you throw from {at} on? briefing log correct {number} WHAT")
        if segment.minutes is None and segment.end > segment.start and not segment.blank and not segment.fish:
            out.append(f"How many fish, or none? briefing log correct {number} blank")
        elif segment.minutes is None:
            out.append(f"How long did you fish for entry {number}? briefing log correct {number} 45min")
        elif segment.effort == "halfway":
            clock = f"{segment.start.astimezone(profile.zone):%H:%M}"
            out.append(f"Changed about {clock}? If not: briefing log correct {number} since {clock}")
        if not segment.spot and segment.cover is None:
            hint = f" (the plan had you at {stop})" if stop else ""
            out.append(f"Where was it at {at}{hint}? briefing log correct {number} SPOT")
        if segment.minutes is not None and segment.minutes >= parameters.effort.longest_segment_min:
            out.append(f"The clock from {at} ran long; only {units.show_duration(segment.minutes)} count.")
    return out


def local_day(time: datetime, zone: ZoneInfo) -> str:
    """The date at the lake."""
    return time.astimezone(zone).date().isoformat()
