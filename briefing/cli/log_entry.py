"""From the line that was typed to a log entry, and back to words."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from briefing import units
from briefing.app.when import parse_when
from briefing.core.log.line import Understood, read_line
from briefing.core.log.records import Mark, MarkKind, Segment
from briefing.errors import InputError
from briefing.knowledge import load_advice_knowledge, load_log_parameters

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path
    from zoneinfo import ZoneInfo

    from briefing.core.log.parameters import LogParameters
    from briefing.pipeline.log_conditions import Around
    from briefing.profile.model import LakeProfile
    from briefing.store.log import LogEntry

#: Positions are kept to this many decimals of a degree (about 1 km) unless exact ones are asked for.
COARSE = 2


def presentation_names(knowledge_dir: Path) -> dict[str, str]:
    """Names of all presentations by id, the user's own included."""
    own = knowledge_dir if knowledge_dir.is_dir() else None
    return {item.id: item.name for item in load_advice_knowledge(own).presentations}


def understand(text: str, profile: LakeProfile, names: dict[str, str]) -> Understood:
    """Read a line with the words of the lake."""
    spots = [spot.name for spot in profile.spots]
    return read_line(text, load_log_parameters().words, names=names, spots=spots, system=profile.units)


def mark_of(
    understood: Understood, kind: MarkKind, profile: LakeProfile, now: datetime, given: datetime | None
) -> Mark:
    """Make an entry. ``given`` is the time from an option; a clock in the line wins. Raises InputError."""
    at = given or now
    if understood.clock is not None:
        day = at.astimezone(profile.zone).date().isoformat()
        at, _ = parse_when(f"{day} {understood.clock:%H:%M}", profile.zone, now)
    since = None
    if understood.since is not None:
        since, _ = parse_when(
            f"{at.astimezone(profile.zone).date().isoformat()} {understood.since:%H:%M}", profile.zone, now
        )
        if since >= at:
            since -= timedelta(days=1)
        if at - since > timedelta(hours=16):
            raise InputError(f"Since {understood.since:%H:%M} is no likely time on one spot; say both clock times.")
    spot = profile.spot(understood.spot) if understood.spot else None
    cover, depth = understood.cover, understood.depth_m
    if spot is not None and "cover" not in spot.guessed and cover is None:
        cover = max(spot.cover, key=lambda one: spot.cover[one])
    return Mark(
        kind=kind,
        time=at,
        spot=understood.spot,
        cover=cover,
        depth_m=depth,
        presentation=understood.presentation,
        weight_g=understood.weight_g,
        fish=understood.fish,
        contacts=understood.contacts,
        follows=understood.follows,
        minutes=understood.minutes,
        since=since,
        moment=understood.moment,
        note=" ".join(understood.left),
    )


def filled(mark: Mark, around: Around, profile: LakeProfile) -> Mark:
    """Add conditions, what the trade thought of it and whether the day's briefing had chosen it."""
    spot = profile.spot(mark.spot) if mark.spot else None
    return replace(
        mark,
        conditions=around.conditions,
        planned=around.was_planned(mark.spot, mark.presentation),
        prior=around.prior(spot.id if spot else "", mark.presentation) if mark.presentation else None,
    )


def position_of(text: str | None, exact: bool) -> tuple[float, float] | None:
    """Read a position; rounded to 0.01 degree unless exact ones are wanted. Raises UnitError."""
    if text is None:
        return None
    latitude, longitude = units.parse_position(text)
    return (latitude, longitude) if exact else (round(latitude, COARSE), round(longitude, COARSE))


def corrected(old: Mark, understood: Understood, new: Mark) -> Mark:
    """The old entry with what the new line says in place; what it does not say stays.

    A line that names fish, bites or follows replaces the whole catch; ``blank`` takes it away.
    """
    named = any((understood.fish, understood.contacts, understood.follows, understood.blank))
    catch = new if named else old
    return replace(
        old,
        time=new.time if understood.clock is not None else old.time,
        spot=new.spot or old.spot,
        cover=new.cover or old.cover,
        depth_m=old.depth_m if new.depth_m is None else new.depth_m,
        presentation=new.presentation or old.presentation,
        weight_g=old.weight_g if new.weight_g is None else new.weight_g,
        fish=catch.fish,
        contacts=catch.contacts,
        follows=catch.follows,
        minutes=old.minutes if new.minutes is None else new.minutes,
        since=old.since if new.since is None else new.since,
        moment=new.moment or old.moment,
        note=new.note or old.note,
    )


def told(understood: Understood) -> list[str]:
    """Lines that say what was understood and what was not."""
    out = [f"Understood: {'; '.join(part.meaning for part in understood.parts)}."] if understood.parts else []
    if understood.left:
        out.append(f"Not understood, kept as your note: {' '.join(understood.left)}")
    return [*out, *understood.doubts]


# --- in words --------------------------------------------------------------------------------------------------------


def describe_mark(entry: LogEntry, profile: LakeProfile, names: dict[str, str]) -> str:
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


def _setting_words(mark: Mark | Segment, profile: LakeProfile, names: dict[str, str]) -> list[str]:
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


def describe_segment(segment: Segment, profile: LakeProfile, names: dict[str, str]) -> str:
    """One segment on one line: clock times, minutes, setting, catch."""
    zone = profile.zone
    span = f"{segment.start.astimezone(zone):%H:%M}-{segment.end.astimezone(zone):%H:%M}"
    known = "effort not known" if segment.minutes is None else units.show_duration(segment.minutes)
    how = " (change put half way)" if segment.effort == "halfway" else ""
    setting = ", ".join(_setting_words(segment, profile, names)) or "what and where not said"
    catch = ", ".join(_catch_words(segment, profile)) or "blank"
    return f"{span}  {known}{how}: {setting}: {catch}"


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
        if segment.minutes is None:
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
