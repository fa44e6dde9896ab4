"""The field log: begin and end an outing, add, correct and withdraw lines, read them back, export and import."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from briefing import units
from briefing.app.assembly import App
from briefing.app.entries import TypedReading, reading_of
from briefing.app.reading_words import said_reading
from briefing.app.when import parse_when
from briefing.core.log.correction import fit_correction, mornings_of
from briefing.core.log.effort import segments_of
from briefing.core.log.learning import LogLearned, learn
from briefing.core.log.likeness import Asked, LikeMorning, likest
from briefing.core.log.line import Understood, read_line
from briefing.core.log.records import Mark, MarkKind, Segment
from briefing.core.log.skill import Skill, skill_of
from briefing.core.log.table import read_table, write_table
from briefing.errors import InputError, NotFoundError, StoreError
from briefing.knowledge import load_advice_knowledge, load_log_parameters
from briefing.pipeline.log_conditions import Around, around
from briefing.profile.model import LakeProfile
from briefing.profile.waypoints import parse_waypoints
from briefing.store import NewReading, Reading, Store
from briefing.store.log import LogBook, LogEntry

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


def read_text(app: App, lake: str | None, text: str) -> Understood:
    """What a line would be understood as; nothing is stored. Without any lake no spot is known."""
    names = presentation_names(app.home.knowledge_dir)
    if lake is None and len(app.lake_files()) != 1:
        return read_line(text, load_log_parameters().words, names=names, system="us")
    return understand(text, app.lake(lake), names)


def as_read(understood: Understood) -> dict[str, object]:
    """What a line says, in SI and local clock times, for programs."""
    measured = [fish for fish in understood.fish if fish.length_m is not None]
    weighed = [fish for fish in understood.fish if fish.weight_g is not None]
    return {
        "kind": understood.kind.value,
        "fish": len(understood.fish) if understood.number_known else None,
        "blank": understood.blank,
        "lengths_cm": [round(100.0 * (fish.length_m or 0.0), 1) for fish in measured],
        "length_range_cm": None
        if understood.length_range_m is None
        else [round(100.0 * side, 1) for side in understood.length_range_m],
        "weights_g": [round(fish.weight_g or 0.0, 1) for fish in weighed],
        "total_weight_g": understood.total_weight_g,
        "contacts": understood.contacts,
        "follows": understood.follows,
        "lures": list(understood.lures),
        "lure_weight_g": understood.weight_g,
        "colours": list(understood.colours),
        "spot": understood.spot,
        "from": None if understood.since is None else f"{understood.since:%H:%M}",
        "until": None if understood.clock is None else f"{understood.clock:%H:%M}",
        "hours": None if understood.minutes is None else round(understood.minutes / 60.0, 3),
        "open": list(understood.open),
        "rest": list(understood.left),
    }


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
        blank=understood.blank,
        uncertain=understood.uncertain,
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
    named = understood.caught or understood.blank
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
        blank=new.blank if named else old.blank,
        uncertain=new.uncertain if named else old.uncertain and new.uncertain,
    )


@dataclass(frozen=True)
class TypedLine:
    """A line of the log as typed, with the options beside it."""

    text: str
    time: str | None = None
    position: str | None = None
    exact: bool = False


@dataclass(frozen=True)
class Logged:
    """A stored entry, what was understood of the line, and the segments of its outing.

    ``names``: presentations by id; ``stop``: where the day's plan had the angler then, empty when not known;
    ``planned``: ids of the lures that the day's plan names, by spot name; ``readings``: what of the line was stored as
    readings of water or wind.
    """

    entry: LogEntry
    profile: LakeProfile
    understood: Understood
    segments: tuple[Segment, ...]
    names: Mapping[str, str]
    stop: str
    planned: Mapping[str, frozenset[str]]
    readings: tuple[Reading, ...] = ()


@dataclass(frozen=True)
class LogOfLake:
    """The log of a lake, oldest first: entries, and the segments they come to."""

    profile: LakeProfile
    entries: tuple[LogEntry, ...]
    segments: tuple[Segment, ...]
    names: Mapping[str, str]


@dataclass(frozen=True)
class LogFile:
    """What an import found: entries to store, and a sentence on each line that can't be taken."""

    profile: LakeProfile
    name: str
    marks: tuple[Mark, ...]
    bad: tuple[str, ...]


def log_line(app: App, profile: LakeProfile, kind: MarkKind, typed: TypedLine) -> Logged:
    """Store a line: the start of an outing, its end, or what happened. Raises InputError, StoreError."""
    now = app.now()
    names = presentation_names(app.home.knowledge_dir)
    understood = understand(typed.text, profile, names)
    given = parse_when(typed.time, profile.zone, now)[0] if typed.time else None
    mark = replace(mark_of(understood, kind, profile, now, given), position=position_of(typed.position, typed.exact))
    if kind is MarkKind.MARK and not understood.parts and not understood.change:
        raise InputError(f"Nothing in {typed.text!r} could be read. {' '.join(understood.doubts)}".strip())
    with app.store() as store:
        book = LogBook(store)
        running = book.running(profile.id)
        if kind is MarkKind.START and running is not None:
            began = running.mark.time.astimezone(profile.zone).strftime("%Y-%m-%d %H:%M")
            raise InputError(
                f"The outing of {began} (entry {running.mark.id}) still runs; end it first: briefing log end --time ..."
            )
        mark = replace(mark, outing=_outing_of(running, mark, kind))
        near = around(store, profile, mark.time)
        stored = book.add(profile.id, filled(mark, near, profile), typed.text, now)
        segments = _of_outing(segments_from(book.entries(profile.id)), stored)
        seen = tuple(
            store.add_reading(profile.id, one, now) for one in _readings_in(app, profile, understood, mark.time)
        )
    return Logged(stored, profile, understood, segments, names, near.stop, near.planned, seen)


def _readings_in(app: App, profile: LakeProfile, understood: Understood, seen: datetime) -> list[NewReading]:
    """What a line says of water or wind, as readings of its own time; what is no reading stays with the entry."""
    out = []
    at = seen.astimezone(profile.zone).strftime("%Y-%m-%d %H:%M")
    for text in understood.readings:
        if said_reading(text) is not None:
            out.append(reading_of(app, profile, TypedReading(text, time=at, spot=understood.spot or None)))
    return out


def correct_line(app: App, number: int, typed: TypedLine) -> Logged:
    """Correct an entry: what the line says replaces the old, what it does not say stays; the old one is kept."""
    now, text = app.now(), typed.text
    with app.store() as store:
        book = LogBook(store)
        old = book.entry(number)
        profile = app.lake_of(old.lake, f"Entry {number}")
        names = presentation_names(app.home.knowledge_dir)
        understood = understand(text, profile, names)
        if text and not understood.parts:
            raise InputError(f"Nothing in {text!r} could be read. {' '.join(understood.doubts)}".strip())
        given = parse_when(typed.time, profile.zone, now)[0] if typed.time else None
        new = mark_of(understood, old.mark.kind, profile, now, given or old.mark.time)
        mark = corrected(old.mark, understood, new)
        mark = replace(mark, time=new.time if given is not None else mark.time)
        mark = replace(mark, position=position_of(typed.position, typed.exact) or mark.position)
        near = around(store, profile, mark.time)
        mark = replace(filled(mark, near, profile), conditions=near.conditions or old.mark.conditions)
        if mark.presentation == old.mark.presentation and mark.prior is None:
            mark = replace(mark, prior=old.mark.prior, planned=old.mark.planned)
        stored = book.correct(number, mark, text or old.typed, now)
        segments = _of_outing(segments_from(book.entries(profile.id)), stored)
    return Logged(stored, profile, understood, segments, names, near.stop, near.planned)


@dataclass(frozen=True)
class Reread:
    """A stored entry that the words of today read otherwise: as it stands, and as it would be stored."""

    entry: LogEntry
    mark: Mark


def reread(app: App, lake: str | None, *, apply: bool = False) -> tuple[LakeProfile, Mapping[str, str], list[Reread]]:
    """Read the typed words of all entries again; ``apply`` corrects those that come out otherwise, the old ones stay.

    Entries that were corrected by hand keep what the correction said: its words alone are read again.
    """
    profile, now, found = app.lake(lake), app.now(), list[Reread]()
    names = presentation_names(app.home.knowledge_dir)
    with app.store() as store:
        book = LogBook(store)
        for entry in book.entries(profile.id):
            if not entry.typed or entry.typed.startswith("import ") or entry.replaces is not None:
                continue
            understood = understand(entry.typed, profile, names)
            new = mark_of(understood, entry.mark.kind, profile, entry.mark.time, entry.mark.time)
            mark = replace(
                entry.mark,
                **{name: getattr(new, name) for name in _READ_AGAIN if getattr(new, name) or name in _CATCH},
            )
            if mark != replace(entry.mark, blank=mark.blank):
                found.append(Reread(entry, mark))
        if apply:
            for one in found:
                book.correct(one.entry.mark.id, one.mark, one.entry.typed, now)
    return profile, names, found


_CATCH = ("fish", "contacts", "follows", "blank", "uncertain", "note")
#: What an entry's words decide; its time and what was filled in beside it stay.
_READ_AGAIN = (*_CATCH, "presentation", "weight_g", "cover", "spot", "depth_m", "minutes", "moment")


def withdraw_line(app: App, number: int) -> tuple[LogEntry, LakeProfile, Mapping[str, str]]:
    """Take an entry back: it counts no more, nor what was learned from it. A start takes its outing along."""
    with app.store() as store:
        book = LogBook(store)
        profile = app.lake_of(book.entry(number).lake, f"Entry {number}")
        return book.withdraw(number, app.now()), profile, presentation_names(app.home.knowledge_dir)


def log_of(app: App, lake: str | None, *, history: bool = False) -> LogOfLake:
    """The log of a lake; with ``history`` also what was corrected or withdrawn."""
    profile = app.lake(lake)
    with app.store() as store:
        entries = tuple(LogBook(store).entries(profile.id, history=history))
    return LogOfLake(profile, entries, segments_from(entries), presentation_names(app.home.knowledge_dir))


@dataclass(frozen=True)
class LikeToday:
    """Mornings of the log like a day, with what is known of that day; ``mornings_known`` is how many the log has."""

    profile: LakeProfile
    asked: Asked
    found: tuple[LikeMorning, ...]
    mornings_known: int
    names: Mapping[str, str]


def log_like(app: App, lake: str | None, day: str | None) -> LikeToday:
    """The mornings of the log nearest to a day: today as it is known now, an earlier day as it was stored."""
    log, now = log_of(app, lake), app.now()
    profile, p = log.profile, load_log_parameters().like
    today = now.astimezone(profile.zone).date()
    wanted = today if day in (None, "", "today") else parse_when(f"{day} 12:00", profile.zone, now)[0].date()
    with app.store() as store:
        at = now if wanted == today else parse_when(f"{wanted.isoformat()} 09:00", profile.zone, now)[0]
        asked = Asked(wanted, around(store, profile, at).conditions)
    found = likest(log.segments, asked, profile.zone, p, p.shown)
    days = {segment.start.astimezone(profile.zone).date() for segment in log.segments} - {wanted}
    return LikeToday(profile, asked, found, len(days), log.names)


def learned_from(app: App, segments: Sequence[Segment]) -> LogLearned:
    """What the log has taught so far about the presentations."""
    groups = {item.id: item.group for item in load_advice_knowledge(_own(app)).presentations}
    return learn(segments, groups, load_log_parameters(), app.now().date())


def log_table(app: App, lake: str | None, *, shared: bool, exact: bool) -> tuple[str, int]:
    """The log as CSV, and how many segments it has. ``shared``: without places, notes and clock times."""
    if shared and exact:
        raise InputError("Either --shared or --exact, not both.")
    found = log_of(app, lake)
    return write_table(found.segments, found.profile.zone, shared=shared, exact=exact), len(found.segments)


def read_log_file(app: App, lake: str | None, path: Path, *, exact: bool) -> LogFile:
    """Read a table of segments, or waypoints whose names say what was caught; nothing is stored.

    Raises InputError when nothing in it can be taken, NotFoundError, StoreError.
    """
    profile = app.lake(lake)
    body = _read_bytes(path)
    if path.suffix.lower() in (".gpx", ".kml"):
        with app.store() as store:
            marks, bad = _waypoints(app, store, profile, body, path.name, exact)
        return LogFile(profile, path.name, tuple(marks), tuple(bad))
    try:
        text = body.decode("utf-8")
    except UnicodeDecodeError:
        raise InputError(f"{path.name} is not text in UTF-8; save it as CSV in UTF-8.") from None
    names = presentation_names(app.home.knowledge_dir)
    try:
        table = read_table(text, profile.zone, app.now(), names.keys(), path.name)
    except ValueError as error:
        raise InputError(str(error)) from None
    bad_lines = tuple(f"{path.name}, line {one.line}: {one.why}." for one in table.bad)
    return LogFile(profile, path.name, tuple(_coarse(mark, exact) for mark in table.marks), bad_lines)


def store_log_file(app: App, found: LogFile) -> int:
    """Store the entries of a file, all or none; how many they are."""
    with app.store() as store:
        return LogBook(store).add_all(found.profile.id, found.marks, f"import {found.name}", app.now())


def skill_here(app: App, lake: str | None) -> tuple[Skill, LakeProfile]:
    """How far forecasts and statements were off at a lake."""
    profile, parameters = app.lake(lake), load_log_parameters()
    with app.store() as store:
        checks = LogBook(store).checks(profile.id)
    correction = fit_correction(mornings_of(checks), parameters.correction)
    return skill_of(checks, correction, parameters, profile.units), profile


def segments_from(entries: Sequence[LogEntry]) -> tuple[Segment, ...]:
    """The segments that entries come to."""
    return segments_of([entry.mark for entry in entries], load_log_parameters().effort)


def _of_outing(segments: Sequence[Segment], entry: LogEntry) -> tuple[Segment, ...]:
    return tuple(one for one in segments if one.outing == (entry.mark.outing or entry.mark.id))


def _outing_of(running: LogEntry | None, mark: Mark, kind: MarkKind) -> int | None:
    """The running outing that an entry belongs to; one from before it began, or of another day, stands alone."""
    if kind is MarkKind.START:
        return None
    fits = running is not None and timedelta(0) <= mark.time - running.mark.time <= timedelta(hours=20)
    if running is not None and fits:
        return running.mark.id
    if kind is MarkKind.END:
        raise InputError(
            "No outing runs that could end then; begin one with: briefing log start"
            if running is None
            else f"The outing began at {running.mark.time:%Y-%m-%d %H:%M} UTC; give an end after it and within 20 h."
        )
    return None


def _own(app: App) -> Path | None:
    return app.home.knowledge_dir if app.home.knowledge_dir.is_dir() else None


def _read_bytes(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except FileNotFoundError:
        raise NotFoundError(f"There is no file {path}.") from None
    except OSError as error:
        raise StoreError(f"{path} can't be read: {error.strerror or error}.") from None


def _coarse(mark: Mark, exact: bool) -> Mark:
    if exact or mark.position is None:
        return mark
    return replace(mark, position=(round(mark.position[0], COARSE), round(mark.position[1], COARSE)))


def _waypoints(
    app: App, store: Store, profile: LakeProfile, body: bytes, name: str, exact: bool
) -> tuple[list[Mark], list[str]]:
    """Read waypoints: name and description are the line, the waypoint's own time is the time."""
    now = app.now()
    names = presentation_names(app.home.knowledge_dir)
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
            if not (understood.caught or understood.blank):
                raise InputError(f"{point.name!r} says nothing of a catch or a blank")
            mark = replace(
                mark_of(understood, MarkKind.MARK, profile, now, given), position=(point.latitude, point.longitude)
            )
            marks.append(_coarse(filled(mark, around(store, profile, mark.time), profile), exact))
        except (InputError, ValueError) as error:
            bad.append(f"{name}, waypoint {number}: {str(error).rstrip('.')}.")
    return marks, bad
