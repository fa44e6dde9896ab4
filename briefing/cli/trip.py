"""``briefing trip``: planned outings. Wind notes go out for these, and for the habits in a lake's file."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from briefing.cli.common import LakeOption, app_context, echo, echo_json, new_app

if TYPE_CHECKING:
    from briefing.app.outings import ComingOuting, PlannedOuting

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
    from briefing.app.outings import TypedOuting, plan_outing

    typed = TypedOuting(day, launch, back, ramp, spots, fixed_launch, weigh_in)
    _show(plan_outing(app_context(ctx), lake, typed), "Planned", as_json)


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
    from briefing.app.outings import TypedOuting, change_outing

    typed = TypedOuting(day, launch, back, ramp, spots, fixed_launch, weigh_in)
    _show(change_outing(app_context(ctx), number, typed), "Changed", as_json)


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
    from briefing.app.outings import cancel_outing

    _show(cancel_outing(app_context(ctx), number, day, lake), "Called off", as_json)


@app.command("list")
def list_outings(ctx: typer.Context, lake: LakeOption = None, as_json: JsonOption = False) -> None:
    """List the outings of the next two weeks, with those that habits bring."""
    from briefing.app.outings import coming_outings

    rows = [_row(one) for one in coming_outings(app_context(ctx), lake)]
    if as_json:
        echo_json(rows)
        return
    for row in rows:
        echo(row["text"])
    if not rows:
        echo("No outing is planned, so no wind notes will come. Plan one: briefing trip add --help")


def _row(one: ComingOuting) -> dict[str, Any]:
    from briefing.app.outings import local_clock

    outing, profile = one.outing, one.profile
    number = one.entry.id if one.entry is not None else None
    spots = ", ".join(one.entry.spots) if one.entry is not None else ""
    head = f"{number}" if number is not None else "usual"
    hours = f"{local_clock(outing.launch, profile)} to {local_clock(outing.back, profile)}"
    extra = [outing.ramp or "", spots, "fixed launch" if outing.fixed_launch else ""]
    extra += [f"weigh-in {local_clock(outing.weigh_in, profile)}"] if outing.weigh_in else []
    words = ", ".join(word for word in extra if word)
    text = f"{head:>5}  {one.day:%a} {one.day.isoformat()}  {hours}  {profile.name}{f' ({words})' if words else ''}"
    return {"number": number, "lake": profile.id, "day": one.day, "launch": outing.launch, "return": outing.back,
            "ramp": outing.ramp, "spots": spots, "fixed_launch": outing.fixed_launch,
            "weigh_in": outing.weigh_in, "text": text}  # fmt: skip


def _show(planned: PlannedOuting, verb: str, as_json: bool) -> None:
    from dataclasses import asdict

    from briefing.app.outings import local_clock

    entry, profile = planned.entry, planned.profile
    if as_json:
        echo_json(asdict(entry))
        return
    hours = f"{local_clock(entry.launch, profile)} to {local_clock(entry.back, profile)}"
    echo(f"{verb}: outing {entry.id}, {profile.name}, {entry.day:%a} {entry.day.isoformat()}, {hours}.")
    if verb == "Called off":
        echo("No wind notes will come for it.")
    else:
        echo("Wind notes come while briefing serve (or briefing tick on a timer) runs; see briefing status.")
