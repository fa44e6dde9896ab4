"""``briefing log``: outings, fish and blanks, to start, add, end, list, correct, withdraw, export and import."""

from __future__ import annotations

from dataclasses import asdict, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from briefing.cli.common import LakeArgument, LakeOption, app_context, echo, echo_json, new_app
from briefing.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from briefing.app.assembly import App
    from briefing.core.log.records import Segment
    from briefing.profile.model import LakeProfile

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
    _add(ctx, "start", lake, list(words or []), time, position, exact, as_json)


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
    if not words:
        raise InputError('The line is missing, such as: briefing log add "2 fish 14in 16in bladed 3/8 grass 4ft 07:40"')
    _add(ctx, "add", lake, list(words), time, position, exact, as_json)


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
    _add(ctx, "end", lake, list(words or []), time, None, False, as_json)


def _add(
    ctx: typer.Context,
    command: str,
    lake: str | None,
    words: list[str],
    time: str | None,
    position: str | None,
    exact: bool,
    as_json: bool,
) -> None:
    from briefing.app.log import TypedLine, log_line
    from briefing.cli.entries import describe_reading, keeping_typed, typed_line
    from briefing.cli.log_entry import describe_mark, told
    from briefing.core.log.records import MarkKind

    app, text = app_context(ctx), " ".join(words)
    profile = app.lake(lake)
    kind = {"start": MarkKind.START, "add": MarkKind.MARK, "end": MarkKind.END}[command]
    options = {"--lake": profile.id, "--time": time, "--position": position, "--exact": exact}
    with keeping_typed(typed_line(["briefing", "log", command, text], options)):
        logged = log_line(app, profile, kind, TypedLine(text, time, position, exact))
    if as_json:
        echo_json(asdict(logged.entry))
        return
    echo(
        f"Stored for {profile.name}: entry {logged.entry.mark.id}, {describe_mark(logged.entry, profile, logged.names)}"
    )
    for line in told(logged.understood):
        echo(line)
    for reading in logged.readings:
        echo(f"Stored as a reading: {describe_reading(reading, profile.units, profile.zone)}")
    if kind is MarkKind.END:
        _show_outing(logged.segments, profile, logged.names)
    elif kind is MarkKind.MARK and logged.entry.mark.outing is None:
        _ask(logged.segments, profile, logged.stop)


def _show_outing(segments: Sequence[Segment], profile: LakeProfile, names: Mapping[str, str]) -> None:
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
    from briefing.app.log import log_of
    from briefing.app.when import parse_when
    from briefing.cli.log_entry import describe_mark, local_day

    app = app_context(ctx)
    log = log_of(app, lake, history=history)
    profile, names = log.profile, log.names
    first = parse_when(f"{since} 00:00", profile.zone, app.now())[0] if since else None
    chosen = [entry for entry in log.entries if first is None or entry.mark.time >= first]
    if entries or history:
        if as_json:
            echo_json([asdict(entry) for entry in chosen])
            return
        for entry in chosen:
            echo(f"{entry.mark.id:>4}  {describe_mark(entry, profile, names)}")
    else:
        segments = [one for one in log.segments if first is None or one.start >= first]
        if as_json:
            echo_json([asdict(segment) for segment in segments])
            return
        for day in dict.fromkeys(local_day(one.start, profile.zone) for one in segments):
            echo(day)
            _show_outing([one for one in segments if local_day(one.start, profile.zone) == day], profile, names)
        _show_learned(app, log.segments, names)
    if not chosen:
        echo(f'Nothing in the log of {profile.name}; begin with: briefing log start, or briefing log add "..."')


def _show_learned(app: App, segments: Sequence[Segment], names: Mapping[str, str]) -> None:
    from briefing.app.log import learned_from
    from briefing.core.log.learning import log_words, planned_words

    if not segments:
        return
    learned = learned_from(app, segments)
    known = [name for name in learned.tallies if learned.enough(name)]
    for name in sorted(known, key=lambda one: -learned.effect(one).log):
        effect = learned.effect(name)
        word = f" {effect.stated.capitalize()} than the lure's name and the rest of your box." if effect.stated else ""
        echo(f"{names.get(name, name)}. {log_words(learned.tallies[name], None, replace(effect, stated=''))}{word}")
    if not known:
        needed = f"{learned.parameters.least_hours:g} h on {learned.parameters.least_days} days each"
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
    from briefing.app.log import TypedLine, correct_line
    from briefing.cli.log_entry import describe_mark, told

    done = correct_line(app_context(ctx), number, TypedLine(" ".join(words or []), time, position, exact))
    if as_json:
        echo_json(asdict(done.entry))
        return
    echo(f"Corrected: entry {done.entry.mark.id}, {describe_mark(done.entry, done.profile, done.names)}")
    for line in told(done.understood):
        echo(line)
    _show_outing(done.segments, done.profile, done.names)


@app.command("read", context_settings=_FREE)
def read_text(ctx: typer.Context, words: Words = None, lake: LakeOption = None, as_json: JsonOption = False) -> None:
    """Show what a line would be understood as; nothing is stored.

    briefing log read "caught 5 on the wacky rig in 2 hours, biggest 3-4"
    """
    from briefing.app.log import as_read, read_text
    from briefing.cli.log_entry import told

    understood = read_text(app_context(ctx), lake, " ".join(words or []))
    if as_json:
        echo_json(as_read(understood))
        return
    echo(f"A {understood.kind.value}." if understood.parts or understood.change else "Nothing in it could be read.")
    for line in told(understood):
        echo(line)


@app.command("like")
def like(
    ctx: typer.Context,
    day: Annotated[str, typer.Argument(help="today, or an earlier day, 2026-04-18.")] = "today",
    lake: LakeOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show the mornings of the log most like a day: what was caught where, and what was thrown without a bite.

    briefing log like today
    """
    from briefing.app.log import log_like
    from briefing.cli.log_entry import like_lines

    found = log_like(app_context(ctx), lake, day)
    if as_json:
        echo_json([asdict(one) for one in found.found])
        return
    for line in like_lines(found):
        echo(line)


@app.command("reread")
def reread_log(
    ctx: typer.Context,
    lake: LakeArgument = None,
    yes: Annotated[bool, typer.Option("--yes", help="Store what comes out otherwise; the old entries stay.")] = False,
) -> None:
    """Read the words of all entries again, as the program understands them now, and show what changes.

    briefing log reread
    """
    from briefing.app.log import reread
    from briefing.cli.log_entry import describe_mark

    profile, names, found = reread(app_context(ctx), lake, apply=yes)
    for one in found:
        echo(f'{one.entry.mark.id:>4}  "{one.entry.typed}"')
        echo(f"      was: {describe_mark(one.entry, profile, names)}")
        echo(f"      now: {describe_mark(replace(one.entry, mark=one.mark), profile, names)}")
    if not found:
        echo(f"Every entry of {profile.name} reads as it is stored.")
    elif yes:
        echo(f"Corrected {len(found)} entries; the old ones are kept.")
    else:
        echo(f"{len(found)} entries read otherwise now; --yes stores that.")


@app.command("withdraw")
def withdraw(ctx: typer.Context, number: Number, as_json: JsonOption = False) -> None:
    """Take an entry back: it counts no more, nor what was learned from it. An outing's start takes all of it along.

    briefing log withdraw 12
    """
    from briefing.app.log import withdraw_line
    from briefing.cli.log_entry import describe_mark

    stored, profile, names = withdraw_line(app_context(ctx), number)
    if as_json:
        echo_json(asdict(stored))
        return
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
    from briefing.app.log import log_table
    from briefing.profile.files import write_text

    text, count = log_table(app_context(ctx), lake, shared=shared, exact=exact)
    if to is None:
        echo(text, nl=False)
        return
    write_text(to, text)
    echo(f"Exported {count} segments to {to}.")


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
    from briefing.app.log import read_log_file, store_log_file

    app = app_context(ctx)
    found = read_log_file(app, lake, path, exact=exact)
    for line in found.bad:
        echo(line, err=True)
    if not found.marks:
        raise InputError(f"{path.name}: nothing in it can be taken; nothing was stored.")
    if found.bad and not yes:
        typer.confirm(f"{len(found.bad)} lines can't be taken. Store the other {len(found.marks)}", abort=True)
    elif not yes:
        typer.confirm(f"Store {len(found.marks)} entries for {found.profile.name}", abort=True)
    count = store_log_file(app, found)
    echo(
        f"Stored {count} entries for {found.profile.name}"
        + (f"; {len(found.bad)} lines left out." if found.bad else ".")
    )
