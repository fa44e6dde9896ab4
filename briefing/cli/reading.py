"""``briefing reading``: what the user saw or measured, to add, list, correct and withdraw."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Annotated

import typer

from briefing.cli.common import LakeArgument, LakeOption, app_context, echo, echo_json, new_app
from briefing.cli.entries import describe_reading, keeping_typed, local_time, typed_line

if TYPE_CHECKING:
    from briefing.app.entries import StoredReading

app = new_app(
    "What you saw or measured at the lake. A bare number is in your lake's units and is echoed in both.\n\n\b\n"
    "  briefing reading add water-temp 61F --time 07:40\n"
    '  briefing reading add visibility 3ft --spot "Long grass edge"\n'
    "  briefing reading add colour tannic\n"
    '  briefing reading add plants 2ft dense --spot "Long grass edge"\n'
    "  briefing reading add plants sprayed\n"
    "  briefing reading add level falling\n"
    "  briefing reading add wind 12mph --gust 18mph --from SW\n"
    "  briefing reading add alerts none    (you looked, and none was in force)\n"
    '  briefing reading add alerts "Lake Wind Advisory" --until 18:00\n'
    '  briefing reading add thunder --time "10 min ago"'
)

JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON for programs.")]
TimeOption = Annotated[str | None, typer.Option("--time", help='"07:40", "yesterday 18:00", "40 min ago", a date.')]
SpotOption = Annotated[str | None, typer.Option("--spot", help="Where: the name of a spot.")]
Number = Annotated[int, typer.Argument(min=1, help="Number of the reading, from the list.")]
DepthOption = Annotated[str | None, typer.Option("--depth", help="Water temperature: depth of the thermometer.")]
GustOption = Annotated[str | None, typer.Option("--gust", help="Wind: strongest gust.")]
FromOption = Annotated[str | None, typer.Option("--from", help="Wind: direction it comes from.")]
UntilOption = Annotated[str | None, typer.Option("--until", help="Alerts: their end, in local time.")]


@app.command("add", context_settings={"ignore_unknown_options": True})
def add(
    ctx: typer.Context,
    kind: Annotated[
        str,
        typer.Argument(
            help="water-temp, visibility, colour, level, plants, wind, alerts or thunder; 61F alone says its kind."
        ),
    ],
    value: Annotated[list[str] | None, typer.Argument(help='The value, such as 61F or "3 ft".')] = None,
    lake: LakeOption = None,
    time: TimeOption = None,
    spot: SpotOption = None,
    pocket: Annotated[bool, typer.Option("--pocket", help="Seen in a sheltered shallow pocket.")] = False,
    hull: Annotated[bool, typer.Option("--hull", help="Water temperature from a sensor under the hull.")] = False,
    surface: Annotated[bool, typer.Option("--surface", help="Water temperature by hand at the very top.")] = False,
    depth: DepthOption = None,
    gust: GustOption = None,
    wind_from: FromOption = None,
    until: UntilOption = None,
    note: Annotated[str, typer.Option(help="Your own words.")] = "",
    as_json: JsonOption = False,
) -> None:
    """Add a reading. Without --time it counts as seen now.

    briefing reading add water-temp 61F --time 07:40 --hull
    """
    from briefing.app.entries import Extras, TypedReading, add_reading, with_time
    from briefing.app.when import parse_when

    app = app_context(ctx)
    words = tuple(value or ())
    extras = Extras(depth, gust, wind_from, until)
    typed = with_time(TypedReading(kind, words, time, spot, pocket, hull, surface, extras, note))
    kind, words, time = typed.kind, typed.words, typed.time
    profile = app.lake(lake)
    # the line that is handed back says when it was seen, whenever it is entered again
    seen, hour_known = parse_when(time or "now", profile.zone, app.now())
    options = {
        **{"--lake": profile.id, "--time": local_time(seen, profile.zone) if hour_known else time, "--spot": spot},
        **{"--pocket": pocket, "--hull": hull, "--surface": surface, "--depth": depth, "--gust": gust},
        **{"--from": wind_from, "--until": until, "--note": note},
    }
    with keeping_typed(typed_line(["briefing", "reading", "add", kind, *words], options)):
        stored = add_reading(app, profile.id, typed)
    _report(f"Stored for {profile.name}", stored, as_json)


def _report(lead: str, stored: StoredReading, as_json: bool) -> None:
    reading, profile = stored.reading, stored.profile
    if as_json:
        echo_json(asdict(reading))
    else:
        echo(f"{lead}: reading {reading.id}, {describe_reading(reading, profile.units, profile.zone)}")


@app.command("list")
def list_readings(
    ctx: typer.Context,
    lake: LakeArgument = None,
    kind: Annotated[str | None, typer.Option(help="Only this kind.")] = None,
    since: Annotated[str | None, typer.Option(help="Only from this day on, 2026-04-01.")] = None,
    history: Annotated[bool, typer.Option("--all", help="Also those corrected or withdrawn.")] = False,
    as_json: JsonOption = False,
) -> None:
    """List readings, oldest first, with the numbers that correct and withdraw take.

    briefing reading list --kind water-temp --since 2026-04-01
    """
    from briefing.app.entries import readings

    profile, found = readings(app_context(ctx), lake, kind, since, history=history)
    if as_json:
        echo_json([asdict(reading) for reading in found])
        return
    for reading in found:
        echo(f"{reading.id:>4}  {describe_reading(reading, profile.units, profile.zone)}")
    if not found:
        echo(f"No readings for {profile.name}; add one with: briefing reading add water-temp 61F")


@app.command("correct", context_settings={"ignore_unknown_options": True})
def correct(
    ctx: typer.Context,
    number: Number,
    value: Annotated[list[str] | None, typer.Argument(help="The right value; left out, the old one stays.")] = None,
    time: TimeOption = None,
    spot: SpotOption = None,
    depth: DepthOption = None,
    gust: GustOption = None,
    wind_from: FromOption = None,
    until: UntilOption = None,
    note: Annotated[str | None, typer.Option(help="Your own words.")] = None,
    as_json: JsonOption = False,
) -> None:
    """Correct a reading; what you don't give stays, and the old one is kept as history.

    briefing reading correct 3 63F

    briefing reading correct 3 --time "yesterday 18:00"
    """
    from briefing.app.entries import Extras, TypedReading, correct_reading

    words = tuple(value or ())
    options = {
        **{"--time": time, "--spot": spot, "--depth": depth, "--gust": gust, "--from": wind_from, "--until": until},
        **{"--note": note},
    }
    typed = TypedReading("", words, time, spot, extras=Extras(depth, gust, wind_from, until), note=note)
    with keeping_typed(typed_line(["briefing", "reading", "correct", str(number), *words], options)):
        stored = correct_reading(app_context(ctx), number, typed)
    _report("Corrected", stored, as_json)


@app.command("withdraw")
def withdraw(ctx: typer.Context, number: Number, as_json: JsonOption = False) -> None:
    """Take a reading back: it counts no more, and stays in the history.

    briefing reading withdraw 3
    """
    from briefing.app.entries import withdraw_reading

    _report("Withdrawn", withdraw_reading(app_context(ctx), number), as_json)
