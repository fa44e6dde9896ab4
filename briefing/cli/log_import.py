"""What ``briefing log import`` reads: a table of segments, or waypoints whose names say what was caught."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from briefing.cli.log import read_bytes
from briefing.cli.log_entry import COARSE, filled, mark_of, presentation_names, understand
from briefing.core.log.records import Mark, MarkKind
from briefing.core.log.table import read_table
from briefing.errors import InputError
from briefing.pipeline.log_conditions import around

if TYPE_CHECKING:
    from pathlib import Path

    from briefing.app.assembly import App
    from briefing.profile.model import LakeProfile
    from briefing.store import Store


def read_marks(
    context: App, store: Store, profile: LakeProfile, path: Path, exact: bool
) -> tuple[list[Mark], list[str]]:
    """Return the entries of a file and a sentence on each line that can't be taken. Raises InputError."""
    body = read_bytes(path)
    if path.suffix.lower() in (".gpx", ".kml"):
        return _waypoints(context, store, profile, body, path.name, exact)
    try:
        text = body.decode("utf-8")
    except UnicodeDecodeError:
        raise InputError(f"{path.name} is not text in UTF-8; save it as CSV in UTF-8.") from None
    names = presentation_names(context.home.knowledge_dir)
    try:
        table = read_table(text, profile.zone, context.now(), names.keys(), path.name)
    except ValueError as error:
        raise InputError(str(error)) from None
    marks = [_coarse(mark, exact) for mark in table.marks]
    return marks, [f"{path.name}, line {one.line}: {one.why}." for one in table.bad]


def _coarse(mark: Mark, exact: bool) -> Mark:
    if exact or mark.position is None:
        return mark
    return replace(mark, position=(round(mark.position[0], COARSE), round(mark.position[1], COARSE)))


def _waypoints(
    context: App, store: Store, profile: LakeProfile, body: bytes, name: str, exact: bool
) -> tuple[list[Mark], list[str]]:
    """Read waypoints: name and description are the line, the waypoint's own time is the time."""
    from briefing.profile.waypoints import parse_waypoints

    now = context.now()
    names = presentation_names(context.home.knowledge_dir)
    marks: list[Mark] = []
    bad: list[str] = []
    for number, point in enumerate(parse_waypoints(body, name), start=1):
        try:
            if not point.time:
                raise InputError("it has no time")
            given = datetime.fromisoformat(point.time)
            given = given.replace(tzinfo=UTC) if given.tzinfo is None else given.astimezone(UTC)
            if given > now:
                raise InputError("its time lies in the future")
            understood = understand(f"{point.name} {point.notes}", profile, names)
            if not (understood.fish or understood.contacts or understood.follows or understood.blank):
                raise InputError(f"{point.name!r} says nothing of a catch or a blank")
            mark = replace(
                mark_of(understood, MarkKind.MARK, profile, now, given), position=(point.latitude, point.longitude)
            )
            marks.append(_coarse(filled(mark, around(store, profile, mark.time), profile), exact))
        except (InputError, ValueError) as error:
            bad.append(f"{name}, waypoint {number}: {str(error).rstrip('.')}.")
    return marks, bad
