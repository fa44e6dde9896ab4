"""``briefing wind``: the wind note before launching."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from briefing.cli.common import LakeArgument, app_context, echo, echo_json, tell_unkept
from briefing.cli.progress import told_while_asking
from briefing.controls import without_controls
from briefing.errors import StoreError

if TYPE_CHECKING:
    from datetime import datetime

    from briefing.pipeline.wind_check import WindCheck
    from briefing.profile.model import LakeProfile


def wind(
    ctx: typer.Context,
    lake: LakeArgument = None,
    day: Annotated[
        str | None, typer.Option("--date", help="Day at the lake: tomorrow, sat, 2026-04-18; else today.")
    ] = None,
    launch: Annotated[str | None, typer.Option(help="When you launch, 06:30; else the profile's usual hours.")] = None,
    back: Annotated[str | None, typer.Option("--return", help="When you plan to be back, 11:30.")] = None,
    offline: Annotated[bool, typer.Option("--offline", help="Ask no service: stored and entered data only.")] = False,
    conditions: Annotated[
        Path | None, typer.Option("--conditions", help="TOML file with the weather as you read it.")
    ] = None,
    save_in: Annotated[Path | None, typer.Option("--save", help="Folder for the note.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON for programs.")] = False,
) -> None:
    """Check the wind for an outing and print the note: what changed, the hours over your limits, when to be off.

    \b
    briefing wind --launch 06:30 --return 11:30
    briefing wind "Heron Slough" --json
    """
    from briefing.app.brief import Asked
    from briefing.app.wind import check_the_wind, save_note_text

    app = app_context(ctx)
    asked = Asked(lake=lake, day=day, launch=launch, back=back, offline=offline, conditions=conditions)
    with told_while_asking(app):
        found = check_the_wind(app, asked)
    check, unkept = found.check, found.unkept
    text = without_controls(wind_text(check, found.profile))
    path = None
    try:
        path = save_note_text(app, found, text, save_in)
    except StoreError as error:
        unkept = (*unkept, str(error))
    if as_json:
        echo_json(_plain(check, text))
    else:
        echo(text)
    if path is not None:
        echo(f"Saved: {path}", err=True)
    tell_unkept(unkept)


def wind_text(check: WindCheck, profile: LakeProfile) -> str:
    """The level and the hours out first, then the note or why there is none, then the table of the hours."""
    from briefing.core.wind.note_text import LOOK, NOT_ALL_CLEAR
    from briefing.pipeline.experience import raised_sentence
    from briefing.pipeline.say_hazards import answer_of, names_of
    from briefing.report.render import wrap_text
    from briefing.sections.clock import span
    from briefing.sections.day import fill_day
    from briefing.sections.hours import fill_hours
    from briefing.sections.words import lower_first

    outing, zone, hazards = check.outing, profile.zone, check.hazards
    day = outing.launch.astimezone(zone).date()
    now = check.decision.signature.evaluated_at
    section = fill_day(
        hazards.levels,
        hazards.windows,
        hazards.deadlines,
        launch=outing.launch,
        back=outing.planned_return,
        fixed_launch=False,
        now=now,
        zone=zone,
        day=day,
        system=profile.units,
        names=names_of(profile, hazards),
        answer=answer_of(profile, hazards, profile.units),
    )
    lines = wrap_text(f"{outing.lake}, {span(outing.launch, outing.planned_return, zone, day)}")
    for sentence in (section.line(), *section.sentences):
        lines += wrap_text(sentence)
    if check.text is not None:
        lines += ["", *wrap_text(f"{check.text.subject}."), *_body(check.text.body)]
    else:
        lines += ["", *wrap_text(f"No wind note: {lower_first(check.decision.quiet)} {NOT_ALL_CLEAR} {LOOK}")]
    shown = tuple(one for one in hazards.levels if _within(one.hour, outing.launch, outing.planned_return))
    table = fill_hours(
        hazards.series,
        shown,
        hazards.wave_ranges(),
        hazards.limits_in_use,
        zone=zone,
        day=day,
        system=profile.units,
    )
    judged = raised_sentence(hazards.series, hazards.wind_factor, [one.hour for one in shown], profile.units)
    lines += wrap_text(judged) if judged else []
    lines += ["", *wrap_text(table.limit_text), *wrap_text(f"{table.units_text} {table.every_text}"), table.header_text]
    return "\n".join([*lines, *(row.line_text for row in table.rows)])


def _within(hour: datetime, launch: datetime, back: datetime) -> bool:
    from datetime import timedelta

    return hour + timedelta(hours=1) > launch and hour < back + timedelta(hours=1)


def _body(body: str) -> list[str]:
    from briefing.report.render import wrap_text

    return [line for text in body.splitlines() for line in (wrap_text(text) if text else [""])]


def _plain(check: WindCheck, text: str) -> dict[str, object]:
    ends = None if check.off_water_by is None else check.hazards.deadlines
    return {
        "action": check.decision.kind.value,
        "changes": list(check.decision.changes),
        "quiet": check.decision.quiet,
        "first": None if check.text is None else check.text.first,
        "text": text,
        "off_water_by": None if check.off_water_by is None else check.off_water_by.isoformat(),
        "start_back_by": None if ends is None or ends.start_back_by is None else ends.start_back_by.isoformat(),
        "signature": check.decision.signature.to_mapping(),
    }
