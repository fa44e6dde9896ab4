"""``briefing conditions``: weather read anywhere, typed as one would say it, for a lake and day."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from briefing.cli.common import LakeOption, app_context, ask, echo, echo_json, new_app
from briefing.cli.entries import keeping_typed, local_time, typed_line

if TYPE_CHECKING:
    from briefing.app.conditions import TypedDay
    from briefing.core.typed.conditions import SaidPart
    from briefing.store import Reading
    from briefing.units import Units

app = new_app(
    "Weather as you read it in any forecast, in your own words. It counts over what is retrieved, but never makes a "
    "fresh forecast look calmer.\n\n\b\n"
    '  briefing conditions add --date tomorrow "wind S 8-15, gusts 24 from 10; 52 to 66 F; storms after 2 pm"\n'
    "  briefing conditions ask --date tomorrow            (asks part by part of the day)\n"
    '  briefing conditions read "SW 5-10 am, 10-15 pm"    (shows what is understood, keeps nothing)\n'
    "  briefing conditions example > ramp.toml            (a file for today --conditions)"
)
DateOption = Annotated[str | None, typer.Option("--date", help="Day it is for: tomorrow, sat, 2026-04-18; else today.")]
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON for programs.")]
Words = Annotated[list[str] | None, typer.Argument(help="The weather, as you would say it.")]


@app.command("read", context_settings={"ignore_unknown_options": True})
def read(
    ctx: typer.Context,
    words: Words = None,
    lake: LakeOption = None,
    day: DateOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show what a line of weather would be understood as; nothing is stored.

    briefing conditions read "wind S 8-15, gusts 24 from 10; storms after 2 pm"
    """
    from briefing.app.conditions import as_read, read_conditions_text

    typed = read_conditions_text(app_context(ctx), lake, " ".join(words or []), day)
    if as_json:
        echo_json(as_read(typed))
        return
    for line in told(typed):
        echo(line)


@app.command("add", context_settings={"ignore_unknown_options": True})
def add(
    ctx: typer.Context,
    words: Words = None,
    lake: LakeOption = None,
    day: DateOption = None,
    read_at: Annotated[
        str | None, typer.Option("--read", help='When you read it: "20:40", "1 h ago"; else now.')
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Keep a line of weather for a lake and day; what was understood is shown.

    briefing conditions add --date tomorrow "wind S 8-15, gusts 24 from 10; 52 to 66 F; cloud 60%; storms after 2 pm"
    """
    from briefing.app.conditions import add_conditions, as_read

    text = " ".join(words or [])
    options = {"--lake": lake, "--date": day, "--read": read_at}
    with keeping_typed(typed_line(["briefing", "conditions", "add", text], options)):
        typed, stored = add_conditions(app_context(ctx), lake, text, day, read_at)
    if as_json:
        echo_json({"id": stored.id, **as_read(typed)})
        return
    _kept(typed, stored)


@app.command("ask")
def ask_for_them(
    ctx: typer.Context,
    lake: LakeOption = None,
    day: DateOption = None,
    hourly: Annotated[bool, typer.Option("--hourly", help="Ask hour by hour, not by part of the day.")] = False,
) -> None:
    """Be asked for the weather, part by part of the day or hour by hour; nothing said leaves it not known.

    briefing conditions ask --date tomorrow
    """
    from briefing.app.conditions import DAY_QUESTIONS, add_conditions, answer_of, spans_to_ask

    app_ = app_context(ctx)
    profile = app_.lake(lake)
    echo(f"For {profile.name}. Enter alone: not known.")
    said = []
    for begin, end in spans_to_ask(hourly=hourly):
        hours = f"{begin} to {end}"
        said.append(
            ask(f"Wind {hours}", answer_of(f"{hours} wind", profile.units, ("wind_mps",)), "", "S 8-15, gusts 20")
        )
    for question, lead, hint, fields in DAY_QUESTIONS:
        said.append(ask(question, answer_of(lead, profile.units, fields), "", hint))
    text = "; ".join(one for one in said if one)
    if not text:
        echo("Nothing was said, so nothing is kept: the weather stays as it was retrieved, or not known.")
        return
    typed, stored = add_conditions(app_, profile.id, text, day, None)
    _kept(typed, stored)


def _kept(typed: TypedDay, stored: Reading) -> None:
    assert typed.profile is not None
    echo(f"Kept for {typed.profile.name}, {typed.day:%A} {typed.day.day} {typed.day:%B}: entry {stored.id}.")
    for line in told(typed):
        echo(line)
    echo(f"Not so? Take it back with: briefing reading withdraw {stored.id}")


@app.command("list")
def list_them(ctx: typer.Context, lake: LakeOption = None, day: DateOption = None, as_json: JsonOption = False) -> None:
    """List the weather kept for a lake, of one day where one is given.

    briefing conditions list --date tomorrow
    """
    from briefing.app.conditions import conditions_of

    profile, found = conditions_of(app_context(ctx), lake, day)
    if as_json:
        echo_json([{"id": one.id, "read_at": one.time.isoformat(), **one.values} for one in found])
        return
    for one in found:
        echo(f"{one.id:4d}  {one.values['day']}  read {local_time(one.time, profile.zone)}  {one.values['text']}")
    if not found:
        echo(f"No weather is kept for {profile.name}.")


@app.command("example")
def example(ctx: typer.Context, lake: LakeOption = None, day: DateOption = None) -> None:
    """Print a file with a morning's weather that today and wind take with --conditions.

    briefing conditions example > ramp.toml
    """
    from briefing.app.conditions import example_file

    echo(example_file(app_context(ctx), lake, day), nl=False)


def told(typed: TypedDay) -> list[str]:
    """What was understood, a line a part, then what is asked and what was not understood."""
    from briefing.app.conditions import clock

    lines = [f"{clock(part.from_h)} to {clock(part.until_h)}  {_part(part, typed.units)}" for part in typed.said.parts]
    lines = lines or ["Nothing in it could be read as weather."]
    lines += [f"Not told: {one}." for one in typed.said.open]
    unsaid = _unsaid(typed.said.parts) if typed.said.parts else []
    lines += [f"Not said, so not known: {'; '.join(unsaid)}."] if unsaid else []
    lines += [f"Not understood: {one}." for one in typed.said.rest]
    return lines


#: What an hour can't be judged without.
_NEEDED = {"wind_mps": "wind", "gust_mps": "gusts", "thunder": "thunder"}


def _unsaid(parts: Sequence[SaidPart]) -> list[str]:
    """The hours of the day that nothing was said of wind, gusts or thunder for."""
    from itertools import pairwise

    from briefing.app.conditions import clock
    from briefing.core.typed.conditions import DAY_END

    out = []
    for name, word in _NEEDED.items():
        said = [(one.from_h, one.until_h) for one in parts if getattr(one, name) is not None]
        edges = [(0.0, 0.0), *said, (DAY_END, DAY_END)]
        gaps = [(a[1], b[0]) for a, b in pairwise(edges) if b[0] > a[1]]
        whole = gaps == [(0.0, DAY_END)]
        spans = [f"{clock(begin)} to {clock(end)}" for begin, end in gaps]
        out += [word if whole else f"{word} {' and '.join(spans)}"] if gaps else []
    return out


def _part(part: SaidPart, system: Units) -> str:
    from briefing import units
    from briefing.core.wind.words import distance, speed

    said = []
    if part.wind_mps is not None:
        low, high = (speed(side, system) for side in part.wind_mps)
        way = "" if part.wind_from_deg is None else f" from {units.compass_point(part.wind_from_deg)}"
        said.append(f"wind {low if low == high else f'{low.split()[0]} to {high}'}{way}")
    elif part.wind_from_deg is not None:
        said.append(f"wind from {units.compass_point(part.wind_from_deg)}, how strong not said")
    said += [] if part.gust_mps is None else [f"gusts {speed(part.gust_mps, system)}"]
    if part.air_c is not None:
        said.append(f"air {units.show_temperature_range(*part.air_c, system, both=False)}")
    if part.dew_c is not None:
        said.append(f"dew point {units.show_temperature(part.dew_c, system, both=False)}")
    said += [] if part.cloud_pct is None else [f"cloud {part.cloud_pct:.0f} %"]
    for name, level, chance in (("thunder", part.thunder, part.thunder_pct), ("rain", part.rain, part.rain_pct)):
        said += [] if level is None else [f"{name} {level}" + ("" if chance is None else f", {chance:.0f} %")]
    said += [] if part.sight_m is None else [f"one sees {distance(part.sight_m, system)} far"]
    return "; ".join(said)
