"""``briefing sign``: field signs of spawning, to add, list and withdraw."""

from __future__ import annotations

from dataclasses import asdict
from typing import Annotated

import typer

from briefing.cli.common import LakeArgument, LakeOption, app_context, echo, echo_json, new_app
from briefing.cli.entries import describe_sign, keeping_typed, local_time, typed_line
from briefing.vocabulary import SignKind

_KINDS = ", ".join(kind.value.replace("_", "-") for kind in SignKind)

app = new_app(
    "Field signs of spawning; also that you looked and saw none. They move the season's estimate more than anything "
    "else. What bass gather at, a shad spawn, bream beds, fry or mayflies, changes the lures for some days."
    f"\n\nKinds: {_KINDS}.\n\n\b\n"
    "  briefing sign add beds-with-fish --looked 2h --count 5 --pocket\n"
    "  briefing sign add looked-none --looked 4h --visibility 5ft\n\n"
    "Signs are for the calendar, not for casting: leave nests and the fish on them alone."
)

JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON for programs.")]


@app.command("add")
def add(
    ctx: typer.Context,
    kind: Annotated[str, typer.Argument(help=f"One of: {_KINDS}.")],
    lake: LakeOption = None,
    time: Annotated[str | None, typer.Option("--time", help='"07:40", "yesterday 18:00", a date.')] = None,
    spot: Annotated[str | None, typer.Option("--spot", help="Where: the name of a spot.")] = None,
    pocket: Annotated[bool, typer.Option("--pocket", help="Seen in a sheltered shallow pocket.")] = False,
    exposed: Annotated[bool, typer.Option("--exposed", help="Seen on a cold, exposed bank.")] = False,
    looked: Annotated[str, typer.Option("--looked", help='How long you looked, "2h" or "45 min".')] = "1h",
    count: Annotated[int | None, typer.Option(min=0, max=100_000, help="How many you counted.")] = None,
    visibility: Annotated[str | None, typer.Option(help='How deep you could see, "5 ft".')] = None,
    note: Annotated[str, typer.Option(help="Your own words.")] = "",
    as_json: JsonOption = False,
) -> None:
    """Add a field sign. Without --time it counts as seen now.

    briefing sign add fry-clouds --time "yesterday 18:00" --looked 1h
    """
    from briefing.app.entries import TypedSign, add_sign
    from briefing.app.when import parse_when

    app = app_context(ctx)
    profile = app.lake(lake)
    seen, _ = parse_when(time or "now", profile.zone, app.now())
    options = {
        **{"--lake": profile.id, "--time": local_time(seen, profile.zone), "--spot": spot, "--pocket": pocket},
        **{"--exposed": exposed},
        **{"--looked": looked, "--count": None if count is None else str(count), "--visibility": visibility},
        **{"--note": note},
    }
    typed = TypedSign(kind, time, spot, pocket, exposed, looked, count, visibility, note)
    with keeping_typed(typed_line(["briefing", "sign", "add", kind], options)):
        stored = add_sign(app, profile.id, typed).sign
    if as_json:
        echo_json(asdict(stored))
    else:
        words = describe_sign(stored, profile.units, profile.zone)
        echo(f"Stored for {profile.name}: sign {stored.id}, {words}")


@app.command("list")
def list_signs(
    ctx: typer.Context,
    lake: LakeArgument = None,
    history: Annotated[bool, typer.Option("--all", help="Also those withdrawn.")] = False,
    as_json: JsonOption = False,
) -> None:
    """List field signs, oldest first.

    briefing sign list --all
    """
    from briefing.app.entries import signs

    profile, found = signs(app_context(ctx), lake, history=history)
    if as_json:
        echo_json([asdict(entry) for entry in found])
        return
    for entry in found:
        echo(f"{entry.id:>4}  {describe_sign(entry, profile.units, profile.zone)}")
    if not found:
        echo(f"No signs for {profile.name}; add one with: briefing sign add looked-none --looked 2h")


@app.command("withdraw")
def withdraw(
    ctx: typer.Context,
    number: Annotated[int, typer.Argument(min=1, help="Number of the sign, from the list.")],
    as_json: JsonOption = False,
) -> None:
    """Take a sign back: it counts no more, and stays in the history.

    briefing sign withdraw 2
    """
    from briefing.app.entries import withdraw_sign

    stored = withdraw_sign(app_context(ctx), number)
    if as_json:
        echo_json(asdict(stored))
    else:
        echo(f"Withdrawn: sign {stored.id}, {stored.kind.replace('_', ' ')}.")
