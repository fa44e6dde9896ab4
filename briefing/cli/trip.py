"""``briefing trip``: planned outings. Wind notes go out for these, and for the habits in a lake's file."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING, Annotated, Any

import typer

from briefing.cli.common import AppContext, app_context, complete_lake, echo, echo_json, new_app
from briefing.errors import InputError

if TYPE_CHECKING:
    from briefing.profile.model import LakeProfile
    from briefing.store.ledger_records import NewOuting, OutingEntry

app = new_app(
    "Planned outings. The service checks the wind for them from the evening before until an hour after the planned "
    "return, and sends a note when the forecast crosses your limits or is lost. Without an outing no notes come.\n\n"
    "\b\n"
    "  briefing trip add --date 2026-05-02 --launch 05:15 --return 11:00\n"
    "  briefing trip add --date 2026-05-09 --launch 06:30 --return 14:30 --fixed-launch --weigh-in 15:00\n"
    "  briefing trip list\n"
    "  briefing trip change 3 --return 10:00\n"
    "  briefing trip cancel 3\n\n"
    "Outings that repeat stand in the lake's file, under [[outings]]: days, launch and return, also by sunrise."
)

LakeOption = Annotated[
    str | None, typer.Option("--lake", help="Lake; may be left out when there is one.", autocompletion=complete_lake)
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON for programs.")]
DateOption = Annotated[str | None, typer.Option("--date", help="Day at the lake, 2026-05-02.")]
LaunchOption = Annotated[str | None, typer.Option("--launch", help="When you launch, 05:15.")]
ReturnOption = Annotated[str | None, typer.Option("--return", help="When you plan to be back, 11:00.")]
RampOption = Annotated[str | None, typer.Option("--ramp", help="Where you launch: the name of a ramp.")]
SpotsOption = Annotated[str | None, typer.Option("--spots", help='Where you fish, "North pocket, Long bank".')]
FixedOption = Annotated[
    bool | None, typer.Option("--fixed-launch/--free-launch", help="The launch can't be moved, such as a tournament's.")
]
WeighOption = Annotated[str | None, typer.Option("--weigh-in", help="When the weigh-in closes, 15:00.")]


@app.command("add")
def add(
    ctx: typer.Context,
    day: DateOption = None,
    launch: LaunchOption = None,
    back: ReturnOption = None,
    lake: LakeOption = None,
    ramp: RampOption = None,
    spots: SpotsOption = None,
    fixed_launch: FixedOption = None,
    weigh_in: WeighOption = None,
    as_json: JsonOption = False,
) -> None:
    """Plan an outing.

    briefing trip add --date 2026-05-02 --launch 05:15 --return 11:00 --ramp "North landing"
    """
    from briefing.store.ledger import Ledger

    context = app_context(ctx)
    profile = context.lake(lake)
    if day is None or launch is None or back is None:
        raise InputError("An outing needs --date, --launch and --return, such as --date 2026-05-02 --launch 05:15.")
    new = _outing(profile, context.now(), day, launch, back, ramp, spots, bool(fixed_launch), weigh_in)
    with context.store() as store:
        entry = Ledger(store).add_outing(profile.id, new, context.now())
    _show(entry, profile, "Planned", as_json)


@app.command("change")
def change(
    ctx: typer.Context,
    number: Annotated[int, typer.Argument(help="Number of the outing; see briefing trip list.")],
    day: DateOption = None,
    launch: LaunchOption = None,
    back: ReturnOption = None,
    ramp: RampOption = None,
    spots: SpotsOption = None,
    fixed_launch: FixedOption = None,
    weigh_in: WeighOption = None,
    as_json: JsonOption = False,
) -> None:
    """Change an outing; what is left out stays. The wind checks move along.

    briefing trip change 3 --launch 06:00
    """
    from briefing.store.ledger import Ledger

    context = app_context(ctx)
    with context.store() as store:
        ledger = Ledger(store)
        old = ledger.outing(number)
        profile = context.lake(old.lake)
        new = _outing(
            profile,
            context.now(),
            day or old.day.isoformat(),
            launch or _clock(old.launch, profile),
            back or _clock(old.back, profile),
            ramp or old.ramp,
            spots if spots is not None else ", ".join(old.spots),
            old.fixed_launch if fixed_launch is None else fixed_launch,
            weigh_in or (None if old.weigh_in is None else _clock(old.weigh_in, profile)),
        )
        entry = ledger.change_outing(number, new, context.now())
    _show(entry, profile, "Changed", as_json)


@app.command("cancel")
def cancel(
    ctx: typer.Context,
    number: Annotated[int | None, typer.Argument(help="Number of the outing; see briefing trip list.")] = None,
    day: Annotated[str | None, typer.Option("--date", help="Call off the usual outing of this day.")] = None,
    lake: LakeOption = None,
    as_json: JsonOption = False,
) -> None:
    """Call an outing off: no more notes for it. With --date, the usual outing of that day.

    \b
    briefing trip cancel 3
    briefing trip cancel --date 2026-05-09
    """
    from briefing.service.world import outing_on
    from briefing.store.ledger import Ledger
    from briefing.store.ledger_records import NewOuting

    context = app_context(ctx)
    with context.store() as store:
        ledger = Ledger(store)
        if number is not None:
            entry = ledger.cancel_outing(number, context.now())
            profile = context.lake(entry.lake)
        elif day is not None:
            profile = context.lake(lake)
            when = _day(day)
            outing = outing_on(profile, when, ledger.outing_on(profile.id, when))
            if outing is None:
                raise InputError(f"No outing is planned for {when}; see briefing trip list.")
            entry = ledger.skip_day(profile.id, NewOuting(when, outing.launch, outing.back), context.now())
        else:
            raise InputError("Say which: its number, or --date for the usual outing of a day.")
    _show(entry, profile, "Called off", as_json)


@app.command("list")
def list_outings(ctx: typer.Context, lake: LakeOption = None, as_json: JsonOption = False) -> None:
    """List the outings of the next two weeks, with those that habits bring."""
    from briefing.profile.files import lake_files, load_profile

    context = app_context(ctx)
    profiles = [context.lake(lake)] if lake else [load_profile(path) for path in lake_files(context.lakes_dir())]
    rows = [row for profile in profiles for row in _upcoming(context, profile)]
    if as_json:
        echo_json(rows)
        return
    for row in rows:
        echo(row["text"])
    if not rows:
        echo("No outing is planned, so no wind notes will come. Plan one: briefing trip add --help")


def _upcoming(context: AppContext, profile: LakeProfile) -> list[dict[str, Any]]:
    from datetime import timedelta

    from briefing.service.world import outing_on
    from briefing.store.ledger import Ledger

    today = context.now().astimezone(profile.zone).date()
    with context.store() as store:
        entries = {entry.day: entry for entry in Ledger(store).outings(profile.id, today)}
    days = {today + timedelta(days=n) for n in range(14)} | set(entries)
    out = []
    for day in sorted(days):
        entry = entries.get(day)
        outing = outing_on(profile, day, entry)
        if outing is None:
            continue
        number = entry.id if entry is not None else None
        spots = ", ".join(entry.spots) if entry is not None and entry.spots else ""
        head = f"{number}" if number is not None else "usual"
        hours = f"{_clock(outing.launch, profile)} to {_clock(outing.back, profile)}"
        extra = [outing.ramp or "", spots, "fixed launch" if outing.fixed_launch else ""]
        extra += [f"weigh-in {_clock(outing.weigh_in, profile)}"] if outing.weigh_in else []
        words = ", ".join(word for word in extra if word)
        text = f"{head:>5}  {day:%a} {day.isoformat()}  {hours}  {profile.name}{f' ({words})' if words else ''}"
        out.append({"number": number, "lake": profile.id, "day": day, "launch": outing.launch, "return": outing.back,
                    "ramp": outing.ramp, "spots": spots, "fixed_launch": outing.fixed_launch,
                    "weigh_in": outing.weigh_in, "text": text})  # fmt: skip
    return out


def _outing(
    profile: LakeProfile,
    now: datetime,
    day: str,
    launch: str,
    back: str,
    ramp: str | None,
    spots: str | None,
    fixed_launch: bool,
    weigh_in: str | None,
) -> NewOuting:
    """Read what was typed. Raises InputError."""
    from briefing.cli.today import read_clock
    from briefing.store.ledger_records import NewOuting

    when = _day(day)
    begin, end = read_clock(launch, when, profile), read_clock(back, when, profile)
    closes = read_clock(weigh_in, when, profile) if weigh_in else None
    if end <= begin:
        raise InputError(f"--return {back} is not after --launch {launch}; say both as clock times of the same day.")
    if end <= now:
        raise InputError(f"That outing is over: it is {now.astimezone(profile.zone):%Y-%m-%d %H:%M} at the lake.")
    if closes is not None and closes < end:
        raise InputError(f"The weigh-in at {weigh_in} closes before the return at {back}; set an earlier --return.")
    names = [ramp_.name for ramp_ in profile.ramps]
    if ramp and names and ramp not in names:
        raise InputError(f"{profile.name} has no ramp {ramp!r}; its ramps: {', '.join(names)}.")
    wanted = tuple(word.strip() for word in (spots or "").split(",") if word.strip())
    for word in wanted:
        if profile.spot(word) is None:
            known = ", ".join(spot.name for spot in profile.spots) or "none in its file"
            raise InputError(f"{profile.name} has no spot {word!r}; its spots: {known}.")
    return NewOuting(when, begin, end, ramp, wanted, fixed_launch, closes)


def _day(text: str) -> date:
    from briefing.cli.today import read_day

    return read_day(text)


def _clock(instant: datetime, profile: LakeProfile) -> str:
    return f"{instant.astimezone(profile.zone):%H:%M}"


def _show(entry: OutingEntry, profile: LakeProfile, verb: str, as_json: bool) -> None:
    from dataclasses import asdict

    if as_json:
        echo_json(asdict(entry))
        return
    hours = f"{_clock(entry.launch, profile)} to {_clock(entry.back, profile)}"
    echo(f"{verb}: outing {entry.id}, {profile.name}, {entry.day:%a} {entry.day.isoformat()}, {hours}.")
    if verb == "Called off":
        echo("No wind notes will come for it.")
    else:
        echo("Wind notes come while briefing serve (or briefing tick on a timer) runs; see briefing status.")
