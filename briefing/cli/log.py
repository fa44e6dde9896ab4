"""``briefing log``: outings, fish and blanks, to start, add, end, list, correct, withdraw, export and import."""

from __future__ import annotations

from dataclasses import asdict, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from briefing.app.assembly import App
from briefing.cli.common import app_context, complete_lake, echo, echo_json, new_app
from briefing.errors import InputError, NotFoundError, StoreError

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from briefing.core.log.records import Mark, MarkKind, Segment
    from briefing.profile.model import LakeProfile
    from briefing.store.log import LogEntry

app = new_app(
    "What you fished, how long, and what came of it. One line is enough, in any order; what is left out is filled from "
    "the day's briefing or asked later. Blanks count: a fish without the hours teaches nothing.\n\n\b\n"
    '  briefing log start "North pocket spinnerbait"\n'
    '  briefing log add "2 fish 14in 16in bladed 3/8 grass 4ft 07:40"\n'
    '  briefing log add "changed to texas worm"\n'
    '  briefing log add "blank 45min squarebill rock"     (without an outing: effort with it)\n'
    "  briefing log end\n"
    '  briefing log correct 12 "3 fish since 06:50"\n'
    "  briefing log export --to log.csv\n"
    "  briefing log import log.csv --yes\n\n"
    "Positions are kept to 0.01 degree (about 1 km) unless you say --exact, and nothing of the log is sent anywhere."
)

LakeOption = Annotated[
    str | None, typer.Option("--lake", help="Lake; may be left out when there is one.", autocompletion=complete_lake)
]
LakeArgument = Annotated[
    str | None, typer.Argument(help="Lake; may be left out when there is one.", autocompletion=complete_lake)
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON for programs.")]
TimeOption = Annotated[str | None, typer.Option("--time", help='"07:40", "yesterday 18:00", "40 min ago", a date.')]
PositionOption = Annotated[str | None, typer.Option("--position", help='"30.31, -83.22"; kept to about 1 km.')]
ExactOption = Annotated[bool, typer.Option("--exact", help="Keep the position as given.")]
Words = Annotated[list[str] | None, typer.Argument(help="The line, as you would say it.")]
Number = Annotated[int, typer.Argument(min=1, help="Number of the entry, from the list.")]
_FREE = {"ignore_unknown_options": True}


@app.command("start", context_settings=_FREE)
def start(
    ctx: typer.Context,
    words: Words = None,
    lake: LakeOption = None,
    time: TimeOption = None,
    position: PositionOption = None,
    exact: ExactOption = False,
    as_json: JsonOption = False,
) -> None:
    """Begin an outing; the clock runs from now, or from --time. Say where and with what, or leave it for later.

    briefing log start "North pocket bladed 3/8" --time 06:40
    """
    from briefing.core.log.records import MarkKind
    from briefing.store.log import LogBook

    context = app_context(ctx)
    profile = context.lake(lake)
    with context.store() as store:
        running = LogBook(store).running(profile.id)
    if running is not None:
        began = running.mark.time.astimezone(profile.zone).strftime("%Y-%m-%d %H:%M")
        raise InputError(
            f"The outing of {began} (entry {running.mark.id}) still runs; end it first: briefing log end --time ..."
        )
    _add(context, profile, MarkKind.START, list(words or []), time, position, exact, as_json)


@app.command("add", context_settings=_FREE)
def add(
    ctx: typer.Context,
    words: Words = None,
    lake: LakeOption = None,
    time: TimeOption = None,
    position: PositionOption = None,
    exact: ExactOption = False,
    as_json: JsonOption = False,
) -> None:
    """Add a line: fish, bites, follows, a change of spot or lure, a blank. Without a time it is now.

    \b
    Numbers: 14in or 36cm is a fish's length, 2lb 4oz its weight; 3/8 or 10g the lure's;
    4ft or 1.2m a depth; 45min or "since 06:50" how long on it; 07:40 when.

    briefing log add "2 fish 14in 16in bladed 3/8 grass 4ft 07:40"
    """
    from briefing.core.log.records import MarkKind

    if not words:
        raise InputError('The line is missing, such as: briefing log add "2 fish 14in 16in bladed 3/8 grass 4ft 07:40"')
    context = app_context(ctx)
    _add(context, context.lake(lake), MarkKind.MARK, list(words), time, position, exact, as_json)


@app.command("end", context_settings=_FREE)
def end(
    ctx: typer.Context,
    words: Words = None,
    lake: LakeOption = None,
    time: TimeOption = None,
    as_json: JsonOption = False,
) -> None:
    """End the outing, show it by segments, and ask for what is missing.

    briefing log end --time 11:20
    """
    from briefing.core.log.records import MarkKind

    context = app_context(ctx)
    _add(context, context.lake(lake), MarkKind.END, list(words or []), time, None, False, as_json)


def _add(
    context: App,
    profile: LakeProfile,
    kind: MarkKind,
    words: list[str],
    time: str | None,
    position: str | None,
    exact: bool,
    as_json: bool,
) -> None:
    from briefing.app.when import parse_when
    from briefing.cli.entries import keeping_typed, typed_line
    from briefing.cli.log_entry import describe_mark, filled, mark_of, position_of, presentation_names, told, understand
    from briefing.core.log.records import MarkKind
    from briefing.pipeline.log_conditions import around
    from briefing.store.log import LogBook

    now, text = context.now(), " ".join(words)
    names = presentation_names(context.home.knowledge_dir)
    understood = understand(text, profile, names)
    given = parse_when(time, profile.zone, now)[0] if time else None
    mark = replace(mark_of(understood, kind, profile, now, given), position=position_of(position, exact))
    if kind is MarkKind.MARK and not understood.parts and not understood.change:
        raise InputError(f"Nothing in {text!r} could be read. {' '.join(understood.doubts)}".strip())
    options = {"--lake": profile.id, "--time": time, "--position": position, "--exact": exact}
    with keeping_typed(typed_line(["briefing", "log", _COMMAND[kind.value], text], options)), context.store() as store:
        book = LogBook(store)
        mark = replace(mark, outing=_outing_of(book.running(profile.id), mark, kind))
        near = around(store, profile, mark.time)
        stored = book.add(profile.id, filled(mark, near, profile), text, now)
        segments = _segments(book.entries(profile.id), stored)
    if as_json:
        echo_json(_plain(stored))
        return
    echo(f"Stored for {profile.name}: entry {stored.mark.id}, {describe_mark(stored, profile, names)}")
    for line in told(understood):
        echo(line)
    if kind is MarkKind.END:
        _show_outing(segments, profile, names)
    elif kind is MarkKind.MARK and stored.mark.outing is None:
        _ask(segments, profile, near.stop)


_COMMAND = {"start": "start", "mark": "add", "end": "end"}


def _outing_of(running: LogEntry | None, mark: Mark, kind: MarkKind) -> int | None:
    """The running outing that an entry belongs to; one from before it began, or of another day, stands alone."""
    from datetime import timedelta

    from briefing.core.log.records import MarkKind

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


def _segments(entries: Sequence[LogEntry], of: LogEntry | None = None) -> tuple[Segment, ...]:
    """All segments, or those of the outing (or entry) that an entry belongs to."""
    from briefing.core.log.effort import segments_of
    from briefing.knowledge import load_log_parameters

    segments = segments_of([entry.mark for entry in entries], load_log_parameters().effort)
    if of is None:
        return segments
    return tuple(one for one in segments if one.outing == (of.mark.outing or of.mark.id))


def _show_outing(segments: Sequence[Segment], profile: LakeProfile, names: dict[str, str]) -> None:
    from briefing.cli.log_entry import describe_segment

    for segment in segments:
        echo(f"  {describe_segment(segment, profile, names)}")
    _ask(segments, profile, "")


def _ask(segments: Sequence[Segment], profile: LakeProfile, stop: str) -> None:
    from briefing.cli.log_entry import open_questions
    from briefing.knowledge import load_log_parameters

    for question in open_questions(segments, profile, load_log_parameters(), stop):
        echo(f"  ? {question}")


@app.command("list")
def list_log(
    ctx: typer.Context,
    lake: LakeArgument = None,
    since: Annotated[str | None, typer.Option(help="Only from this day on, 2026-04-01.")] = None,
    entries: Annotated[bool, typer.Option("--entries", help="The entries themselves, with their numbers.")] = False,
    history: Annotated[bool, typer.Option("--all", help="Entries, also those corrected or withdrawn.")] = False,
    as_json: JsonOption = False,
) -> None:
    """List outings by segments, oldest first, with what the log has learned; --entries shows the numbers to correct.

    briefing log list --entries --since 2026-04-01
    """
    from briefing.app.when import parse_when
    from briefing.cli.log_entry import describe_mark, local_day, presentation_names
    from briefing.store.log import LogBook

    context = app_context(ctx)
    profile = context.lake(lake)
    first = parse_when(f"{since} 00:00", profile.zone, context.now())[0] if since else None
    with context.store() as store:
        found = LogBook(store).entries(profile.id, history=history)
    chosen = [entry for entry in found if first is None or entry.mark.time >= first]
    names = presentation_names(context.home.knowledge_dir)
    if entries or history:
        if as_json:
            echo_json([_plain(entry) for entry in chosen])
            return
        for entry in chosen:
            echo(f"{entry.mark.id:>4}  {describe_mark(entry, profile, names)}")
    else:
        every = _segments(found)
        segments = [one for one in every if first is None or one.start >= first]
        if as_json:
            echo_json([asdict(segment) for segment in segments])
            return
        for day in dict.fromkeys(local_day(one.start, profile.zone) for one in segments):
            echo(day)
            _show_outing([one for one in segments if local_day(one.start, profile.zone) == day], profile, names)
        _show_learned(context, every, names, context.now())
    if not chosen:
        echo(f'Nothing in the log of {profile.name}; begin with: briefing log start, or briefing log add "..."')


def _show_learned(context: App, segments: Sequence[Segment], names: dict[str, str], now: datetime) -> None:
    from briefing.core.log.learning import learn, log_words, planned_words
    from briefing.knowledge import load_advice_knowledge, load_log_parameters

    if not segments:
        return
    own = context.home.knowledge_dir if context.home.knowledge_dir.is_dir() else None
    groups = {item.id: item.group for item in load_advice_knowledge(own).presentations}
    parameters = load_log_parameters()
    learned = learn(segments, groups, parameters, now.date())
    known = [name for name in learned.tallies if learned.enough(name)]
    for name in sorted(known, key=lambda one: -learned.effect(one).log):
        effect = learned.effect(name)
        word = f" It does {effect.stated} than its name and the rest of your box." if effect.stated else ""
        echo(f"{names.get(name, name)}. {log_words(learned.tallies[name], None, replace(effect, stated=''))}{word}")
    own_rules = parameters.learning
    if not known:
        needed = f"{own_rules.least_hours:g} h on {own_rules.least_days} days each"
        echo(f"Too little yet to say anything of a lure: {needed}.")
    if words := planned_words(segments):
        echo(words)
    without = sum(1 for segment in segments if segment.minutes is None and segment.fish)
    if without:
        echo(f"{without} entries with fish have no effort; nothing is learned from those.")


@app.command("correct", context_settings=_FREE)
def correct(
    ctx: typer.Context,
    number: Number,
    words: Words = None,
    time: TimeOption = None,
    position: PositionOption = None,
    exact: ExactOption = False,
    as_json: JsonOption = False,
) -> None:
    """Correct an entry: what the line says replaces the old, what it does not say stays; the old one is kept.

    \b
    briefing log correct 12 "3 fish 14in since 06:50"
    briefing log correct 12 spinnerbait --time "yesterday 18:00"
    """
    from briefing.app.when import parse_when
    from briefing.cli.log_entry import (
        corrected,
        describe_mark,
        filled,
        mark_of,
        position_of,
        presentation_names,
        told,
        understand,
    )
    from briefing.pipeline.log_conditions import around
    from briefing.store.log import LogBook

    context = app_context(ctx)
    now, text = context.now(), " ".join(words or [])
    with context.store() as store:
        book = LogBook(store)
        old = book.entry(number)
        profile = _profile_of(context, old)
        names = presentation_names(context.home.knowledge_dir)
        understood = understand(text, profile, names)
        if text and not understood.parts:
            raise InputError(f"Nothing in {text!r} could be read. {' '.join(understood.doubts)}".strip())
        given = parse_when(time, profile.zone, now)[0] if time else None
        new = mark_of(understood, old.mark.kind, profile, now, given or old.mark.time)
        mark = corrected(old.mark, understood, new)
        mark = replace(mark, time=new.time if given is not None else mark.time)
        mark = replace(mark, position=position_of(position, exact) or mark.position)
        near = around(store, profile, mark.time)
        conditions = near.conditions or old.mark.conditions
        mark = replace(filled(mark, near, profile), conditions=conditions)
        if mark.presentation == old.mark.presentation and mark.prior is None:
            mark = replace(mark, prior=old.mark.prior, planned=old.mark.planned)
        stored = book.correct(number, mark, text or old.typed, now)
        segments = _segments(book.entries(profile.id), stored)
    if as_json:
        echo_json(_plain(stored))
        return
    echo(f"Corrected: entry {stored.mark.id}, {describe_mark(stored, profile, names)}")
    for line in told(understood):
        echo(line)
    _show_outing(segments, profile, names)


@app.command("withdraw")
def withdraw(ctx: typer.Context, number: Number, as_json: JsonOption = False) -> None:
    """Take an entry back: it counts no more, nor what was learned from it. An outing's start takes all of it along.

    briefing log withdraw 12
    """
    from briefing.cli.log_entry import describe_mark, presentation_names
    from briefing.store.log import LogBook

    context = app_context(ctx)
    with context.store() as store:
        book = LogBook(store)
        profile = _profile_of(context, book.entry(number))
        stored = book.withdraw(number, context.now())
    if as_json:
        echo_json(_plain(stored))
        return
    names = presentation_names(context.home.knowledge_dir)
    echo(f"Withdrawn: entry {stored.mark.id}, {describe_mark(stored, profile, names)}")


@app.command("export")
def export(
    ctx: typer.Context,
    lake: LakeArgument = None,
    to: Annotated[Path | None, typer.Option("--to", help="CSV file to write; left out, standard output.")] = None,
    shared: Annotated[
        bool, typer.Option("--shared", help="For others: no spots, notes, positions, clock times; dates by the week.")
    ] = False,
    exact: Annotated[bool, typer.Option("--exact", help="Positions as stored, not to about 1 km.")] = False,
) -> None:
    """Write the log as CSV, one row a segment, blanks included; `briefing log import` reads the same columns.

    \b
    Columns: date, start, end, minutes, spot, cover, depth_m, presentation, weight_g, fish, lengths_cm, weights_g,
    contacts, follows, phase, secchi_m, water_c, wind_mps, latitude, longitude, effort, note. Numbers with a decimal
    point; lists of lengths and weights separated by spaces. Only date and fish (0 is a blank) are needed to import.

    briefing log export --to log.csv
    """
    from briefing.core.log.table import write_table
    from briefing.profile.files import write_text
    from briefing.store.log import LogBook

    if shared and exact:
        raise InputError("Either --shared or --exact, not both.")
    context = app_context(ctx)
    profile = context.lake(lake)
    with context.store() as store:
        segments = _segments(LogBook(store).entries(profile.id))
    text = write_table(segments, profile.zone, shared=shared, exact=exact)
    if to is None:
        echo(text, nl=False)
        return
    write_text(to, text)
    echo(f"Exported {len(segments)} segments to {to}.")


@app.command("import")
def import_log(
    ctx: typer.Context,
    path: Annotated[Path, typer.Argument(help="CSV file with the columns of `log export`, or GPX with waypoints.")],
    lake: LakeOption = None,
    yes: Annotated[bool, typer.Option("--yes", help="Take the good lines without asking.")] = False,
    exact: ExactOption = False,
) -> None:
    """Read a CSV of segments, or the waypoints of a GPX file whose names say what was caught.

    Each line that can't be taken is told with its number; the good ones are stored, all at once, when you agree.

    \b
    briefing log import log.csv
    briefing log import marks.gpx --yes
    """
    from briefing.cli.log_import import read_marks
    from briefing.store.log import LogBook

    context = app_context(ctx)
    profile = context.lake(lake)
    with context.store() as store:
        marks, bad = read_marks(context, store, profile, path, exact)
        for line in bad:
            echo(line, err=True)
        if not marks:
            raise InputError(f"{path.name}: nothing in it can be taken; nothing was stored.")
        if bad and not yes:
            typer.confirm(f"{len(bad)} lines can't be taken. Store the other {len(marks)}", abort=True)
        elif not yes:
            typer.confirm(f"Store {len(marks)} entries for {profile.name}", abort=True)
        count = LogBook(store).add_all(profile.id, marks, f"import {path.name}", context.now())
    echo(f"Stored {count} entries for {profile.name}" + (f"; {len(bad)} lines left out." if bad else "."))


def _plain(entry: LogEntry) -> dict[str, Any]:
    return asdict(entry)


def _profile_of(context: App, entry: LogEntry) -> LakeProfile:
    """Return the profile of the lake an entry belongs to."""
    try:
        return context.lake(entry.lake)
    except NotFoundError:
        raise NotFoundError(
            f"Entry {entry.mark.id} belongs to the lake {entry.lake!r}, whose file is gone; "
            f"to erase all of it: briefing forget {entry.lake}"
        ) from None


def read_bytes(path: Path) -> bytes:
    """Return a file's bytes. Raises NotFoundError or StoreError with one sentence."""
    try:
        return path.read_bytes()
    except FileNotFoundError:
        raise NotFoundError(f"There is no file {path}.") from None
    except OSError as error:
        raise StoreError(f"{path} can't be read: {error.strerror or error}.") from None
