"""``briefing reading``: what the user saw or measured, to add, list, correct and withdraw."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Annotated, Any

import typer

from briefing.app.assembly import App
from briefing.app.when import parse_when
from briefing.cli.common import app_context, complete_lake, echo, echo_json, new_app
from briefing.cli.entries import (
    Extras,
    describe_reading,
    keeping_typed,
    kind_and_words,
    local_time,
    read_kind,
    read_values,
    spot_name,
    typed_line,
)
from briefing.errors import InputError, NotFoundError
from briefing.vocabulary import Zone

if TYPE_CHECKING:
    from briefing.profile.model import LakeProfile
    from briefing.store import Reading

app = new_app(
    "What you saw or measured at the lake. A bare number is in your lake's units and is echoed in both.\n\n\b\n"
    "  briefing reading add water-temp 61F --time 07:40\n"
    '  briefing reading add visibility 3ft --spot "Long grass edge"\n'
    "  briefing reading add colour tannic\n"
    "  briefing reading add level falling\n"
    "  briefing reading add wind 12mph --gust 18mph --from SW\n"
    "  briefing reading add alerts none    (you looked, and none was in force)\n"
    '  briefing reading add alerts "Lake Wind Advisory" --until 18:00\n'
    '  briefing reading add thunder --time "10 min ago"'
)

LakeOption = Annotated[
    str | None, typer.Option("--lake", help="Lake; may be left out when there is one.", autocompletion=complete_lake)
]
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
            help="water-temp, visibility, colour, level, wind, alerts or thunder; 61F or 12mph alone says its kind."
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
    from briefing.store import NewReading, ReadingKind

    context = app_context(ctx)
    profile = context.lake(lake)
    words = list(value or [])
    seen, hour_known = parse_when(time or "now", profile.zone, context.now())
    checked, words = kind_and_words(kind, words)
    extras = Extras(depth, gust, wind_from, until)
    new = NewReading(
        kind=ReadingKind(checked),
        time=seen,
        values=read_values(checked, " ".join(words), extras, profile.units, profile.zone, seen, {}),
        hour_known=hour_known,
        zone=_zone(profile, spot, pocket),
        spot=spot_name(profile, spot),
        method=_method(checked, hull, surface),
        note=note.strip(),
        typed=" ".join([kind, *(value or [])]),
    )
    options = {
        **{"--lake": profile.id, "--time": local_time(seen, profile.zone) if hour_known else time, "--spot": spot},
        **{"--pocket": pocket, "--hull": hull, "--surface": surface, "--depth": depth, "--gust": gust},
        **{"--from": wind_from, "--until": until, "--note": note},
    }
    with (
        keeping_typed(typed_line(["briefing", "reading", "add", kind, *(value or [])], options)),
        context.store() as store,
    ):
        stored = store.add_reading(profile.id, new, context.now())
    _report(f"Stored for {profile.name}", stored, profile, as_json)


def _zone(profile: LakeProfile, spot: str | None, pocket: bool) -> Zone:
    found = profile.spot(spot.strip()) if spot else None
    return Zone.POCKET if pocket else found.zone if found else Zone.MAIN


def _method(kind: str, hull: bool, surface: bool) -> str:
    if (hull or surface) and kind != "water_temp":
        raise InputError("--hull and --surface belong to a water temperature.")
    if hull and surface:
        raise InputError("Either --hull or --surface, not both.")
    return "hull" if hull else "surface" if surface else "typed"


def _report(lead: str, reading: Reading, profile: LakeProfile, as_json: bool) -> None:
    if as_json:
        echo_json(_plain(reading))
    else:
        echo(f"{lead}: reading {reading.id}, {describe_reading(reading, profile.units, profile.zone)}")


def _plain(reading: Reading) -> dict[str, Any]:
    return asdict(reading)


@app.command("list")
def list_readings(
    ctx: typer.Context,
    lake: Annotated[
        str | None, typer.Argument(help="Lake; may be left out when there is one.", autocompletion=complete_lake)
    ] = None,
    kind: Annotated[str | None, typer.Option(help="Only this kind.")] = None,
    since: Annotated[str | None, typer.Option(help="Only from this day on, 2026-04-01.")] = None,
    history: Annotated[bool, typer.Option("--all", help="Also those corrected or withdrawn.")] = False,
    as_json: JsonOption = False,
) -> None:
    """List readings, oldest first, with the numbers that correct and withdraw take.

    briefing reading list --kind water-temp --since 2026-04-01
    """
    from briefing.store import ReadingKind

    context = app_context(ctx)
    profile = context.lake(lake)
    kinds = [ReadingKind(read_kind(kind))] if kind else []
    start = parse_when(f"{since} 00:00", profile.zone, context.now())[0] if since else None
    with context.store() as store:
        found = store.list_readings(profile.id, kinds=kinds, since=start, history=history)
    if as_json:
        echo_json([_plain(reading) for reading in found])
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
    from briefing.store import NewReading

    context = app_context(ctx)
    words = list(value or [])
    options = {
        **{"--time": time, "--spot": spot, "--depth": depth, "--gust": gust, "--from": wind_from, "--until": until},
        **{"--note": note},
    }
    line = typed_line(["briefing", "reading", "correct", str(number), *words], options)
    with keeping_typed(line), context.store() as store:
        old = store.reading(number)
        profile = _profile_of(context, old)
        seen, hour_known = (old.time, old.hour_known)
        if time:
            seen, hour_known = parse_when(time, profile.zone, context.now())
        extras = Extras(depth, gust, wind_from, until)
        kept = {} if words and old.kind == "level" else old.values  # a level is a trend or a height, not both
        new = NewReading(
            kind=old.kind,
            time=seen,
            values=read_values(old.kind, " ".join(words), extras, profile.units, profile.zone, seen, kept),
            hour_known=hour_known,
            zone=_zone(profile, spot, False) if spot else old.zone,
            spot=spot_name(profile, spot) if spot else old.spot,
            method=old.method,
            note=old.note if note is None else note.strip(),
            typed=" ".join(words) or old.typed,
        )
        stored = store.correct_reading(number, new, context.now())
    _report("Corrected", stored, profile, as_json)


@app.command("withdraw")
def withdraw(ctx: typer.Context, number: Number, as_json: JsonOption = False) -> None:
    """Take a reading back: it counts no more, and stays in the history.

    briefing reading withdraw 3
    """
    context = app_context(ctx)
    with context.store() as store:
        profile = _profile_of(context, store.reading(number))
        stored = store.withdraw_reading(number, context.now())
    _report("Withdrawn", stored, profile, as_json)


def _profile_of(context: App, reading: Reading) -> LakeProfile:
    """Return the profile of the lake a reading belongs to."""
    try:
        return context.lake(reading.lake)
    except NotFoundError:
        raise NotFoundError(
            f"Reading {reading.id} belongs to the lake {reading.lake!r}, whose file is gone; "
            f"to erase all of it: briefing forget {reading.lake}"
        ) from None
