"""``briefing sign``: field signs of spawning, to add, list and withdraw."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Annotated

import typer

from briefing.app.when import parse_when
from briefing.cli.common import app_context, complete_lake, echo, echo_json, new_app
from briefing.cli.entries import describe_sign, keeping_typed, local_time, spot_name, typed_line
from briefing.errors import InputError
from briefing.units import parse_duration, parse_visibility
from briefing.vocabulary import SignKind, Zone

if TYPE_CHECKING:
    from briefing.profile.model import Spot

_KINDS = ", ".join(kind.value.replace("_", "-") for kind in SignKind)

app = new_app(
    "Field signs of spawning; also that you looked and saw none. They move the season's estimate more than anything "
    f"else.\n\nKinds: {_KINDS}.\n\n\b\n"
    "  briefing sign add beds-with-fish --looked 2h --count 5 --pocket\n"
    "  briefing sign add looked-none --looked 4h --visibility 5ft\n\n"
    "Signs are for the calendar, not for casting: leave nests and the fish on them alone."
)

JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON for programs.")]


def _kind(word: str) -> SignKind:
    try:
        return SignKind(word.strip().lower().replace("-", "_").replace(" ", "_"))
    except ValueError:
        raise InputError(f"{word!r} is not a kind of sign; write one of: {_KINDS}.") from None


@app.command("add")
def add(
    ctx: typer.Context,
    kind: Annotated[str, typer.Argument(help=f"One of: {_KINDS}.")],
    lake: Annotated[
        str | None,
        typer.Option("--lake", help="Lake; may be left out when there is one.", autocompletion=complete_lake),
    ] = None,
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
    from briefing.store import NewSign

    context = app_context(ctx)
    profile = context.lake(lake)
    seen, _ = parse_when(time or "now", profile.zone, context.now())
    minutes = parse_duration(looked)
    if not 1.0 <= minutes <= 24 * 60.0:
        raise InputError(f"{looked!r} is no time to have looked; write between 1 min and 24 h.")
    found = profile.spot(spot.strip()) if spot else None
    new = NewSign(
        kind=_kind(kind),
        time=seen,
        zone=_zone(found, pocket, exposed),
        spot=spot_name(profile, spot),
        hours_looked=minutes / 60.0,
        count=count,
        secchi_m=None if visibility is None else parse_visibility(visibility, profile.units),
        note=note.strip(),
        typed=kind,
    )
    options = {
        **{"--lake": profile.id, "--time": local_time(seen, profile.zone), "--spot": spot, "--pocket": pocket},
        **{"--exposed": exposed},
        **{"--looked": looked, "--count": None if count is None else str(count), "--visibility": visibility},
        **{"--note": note},
    }
    with keeping_typed(typed_line(["briefing", "sign", "add", kind], options)), context.store() as store:
        stored = store.add_sign(profile.id, new, context.now())
    if as_json:
        echo_json(asdict(stored))
    else:
        words = describe_sign(stored, profile.units, profile.zone)
        echo(f"Stored for {profile.name}: sign {stored.id}, {words}")


def _zone(spot: Spot | None, pocket: bool, exposed: bool) -> Zone:
    """Return the zone as said, else that of the spot, else the main lake."""
    if pocket and exposed:
        raise InputError("Either --pocket or --exposed, not both.")
    if pocket or exposed:
        return Zone.POCKET if pocket else Zone.EXPOSED
    return spot.zone if spot else Zone.MAIN


@app.command("list")
def list_signs(
    ctx: typer.Context,
    lake: Annotated[
        str | None, typer.Argument(help="Lake; may be left out when there is one.", autocompletion=complete_lake)
    ] = None,
    history: Annotated[bool, typer.Option("--all", help="Also those withdrawn.")] = False,
    as_json: JsonOption = False,
) -> None:
    """List field signs, oldest first.

    briefing sign list --all
    """
    context = app_context(ctx)
    profile = context.lake(lake)
    with context.store() as store:
        found = store.list_signs(profile.id, history=history)
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
    context = app_context(ctx)
    with context.store() as store:
        stored = store.withdraw_sign(number, context.now())
    if as_json:
        echo_json(asdict(stored))
    else:
        echo(f"Withdrawn: sign {stored.id}, {stored.kind.replace('_', ' ')}.")
