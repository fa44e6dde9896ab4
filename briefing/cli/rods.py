"""``briefing rods``: which rods to rig the night before, with what, and a card to print."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from briefing.cli.common import LakeArgument, app_context, echo, echo_json, tell
from briefing.cli.progress import told_while_asking

if TYPE_CHECKING:
    from datetime import date, datetime

    from briefing.core.advice.rods import RodPick, RodPlan
    from briefing.pipeline.advice import Advised
    from briefing.profile.model import LakeProfile
    from briefing.units import Units


def rods(
    ctx: typer.Context,
    lake: LakeArgument = None,
    day: Annotated[
        str | None, typer.Option("--date", help="Day of the outing, 2026-04-18; tomorrow from noon on, else today.")
    ] = None,
    launch: Annotated[str | None, typer.Option(help="When you launch, 06:30; else the profile's usual hours.")] = None,
    back: Annotated[str | None, typer.Option("--return", help="When you plan to be back, 11:30.")] = None,
    aboard: Annotated[
        int | None, typer.Option("--aboard", min=1, max=6, help="How many rods fit aboard, 1 to 6.")
    ] = None,
    offline: Annotated[bool, typer.Option("--offline", help="Ask no service: stored and entered data only.")] = False,
    conditions: Annotated[
        Path | None,
        typer.Option("--conditions", help="TOML file with all weather as you read it; no service is asked."),
    ] = None,
    card: Annotated[bool, typer.Option("--card", help="Print a card with boxes to tick, 72 columns wide.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON for programs.")] = False,
) -> None:
    """Show which rods to rig tonight, with what, what each is for, and what one thing more would add most.

    \b
    briefing rods                      for the next outing
    briefing rods --aboard 4 --card    a card to print, four rods
    """
    from briefing.app.brief import Asked
    from briefing.app.brief import rods as rods_to_rig
    from briefing.core.advice.rods import first_named, rig_card
    from briefing.pipeline.advice import TOO_MUCH_UNKNOWN

    asked = Asked(lake, day, launch, back, offline=offline, conditions=conditions)
    app = app_context(ctx)
    with told_while_asking(app):
        found = rods_to_rig(app, asked, aboard)
    tell(found.notes)
    plan, advised = found.value.plan, found.value.advised
    if as_json:
        echo_json(
            {"lake": found.profile.id, "date": found.day.isoformat(), **rods_json(plan, advised, found.profile.units)}
        )
        return
    heading = heading_of(found.profile, found.day, found.value.launch)
    solved = {**advised.reserve, **first_named(found.value.day)}
    echo(rig_card(plan, heading, solved, boxes=card, units=found.profile.units), nl=False)
    if found.value.meanwhile and TOO_MUCH_UNKNOWN in advised.plan.reasons:
        echo("These rods are for these hours only once they are known and within your limits.")
    elif found.value.meanwhile:
        echo("No plan for the water in these hours: these rods are for a later day in a\nlight wind.")
    if not plan.picks or found.value.meanwhile:
        for reason in advised.plan.reasons:
            echo(reason)


def heading_of(profile: LakeProfile, day: date, launch: datetime) -> str:
    """Lake, day and launch time in one line."""
    from briefing.sections.clock import clock, day_text

    return f"{profile.name}, {day_text(day)}, launch {clock(launch, profile.zone, day)}"


def rods_json(plan: RodPlan, advised: Advised, units: Units) -> dict[str, Any]:
    """The rods as plain values; an empty list comes with the reason."""
    return {
        "rods": [_pick_json(pick, units) for pick in plan.picks],
        "unmet": list(plan.unmet),
        "gap": None if plan.gap is None else {"kind": plan.gap.kind, "id": plan.gap.what, "text": plan.gap.text},
        "notes": [*plan.notes, *(advised.plan.reasons if not advised.plan.stops else ())],
    }


def _pick_json(pick: RodPick, units: Units) -> dict[str, Any]:
    from briefing.core.advice.rods.card import gear_text, rod_text

    return {
        "number": pick.number,
        "id": pick.setup.presentation,
        "name": pick.setup.name,
        "weight_oz": pick.setup.weight_oz,
        "weight_g": pick.setup.weight_g,
        "rod": None if pick.rod is None else pick.rod.id,
        "rod_text": rod_text(pick, units),
        "asks_for": None if pick.gear is None else gear_text(pick.gear, units),
        "purpose": pick.purpose,
        "mismatch": list(pick.mismatch),
        "retie": pick.retie,
        "in_reach": pick.in_reach,
    }
