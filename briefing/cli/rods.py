"""``briefing rods``: which rods to rig the night before, with what, and a card to print."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from briefing.cli.common import app_context, echo, echo_json

if TYPE_CHECKING:
    from datetime import date, datetime

    from briefing.core.advice.choice import Choice
    from briefing.core.advice.rods import RodPick, RodPlan
    from briefing.pipeline.advice import Advised
    from briefing.profile.model import LakeProfile

#: From this hour of the day on the list is for tomorrow.
EVENING_H = 12


def rods(
    ctx: typer.Context,
    lake: Annotated[str | None, typer.Argument(help="Name or id of the lake.")] = None,
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
    from dataclasses import replace

    from briefing.cli.today import inputs_of, make_run
    from briefing.core.advice.rods import by_use, choose_rods, rig_card
    from briefing.pipeline.build import build
    from briefing.pipeline.tables import load_tables

    context = app_context(ctx)
    profile = context.lake(lake)
    chosen_day = day or next_day(context.now(), profile).isoformat()
    run = make_run(context, profile, lake, chosen_day, launch, back, False, offline, conditions)
    tables = load_tables(context.home.knowledge_dir)
    inputs = inputs_of(context, run)
    advised = build(inputs, tables).advised
    plan = advised.rods
    if aboard is not None:
        plan = by_use(choose_rods(replace(advised.rods_problem, k=aboard), tables.rods), advised.plan)
    if as_json:
        echo_json({"lake": profile.id, "date": chosen_day, **rods_json(plan, advised)})
        return
    heading = heading_of(profile, run.day, inputs.outing.launch)
    echo(rig_card(plan, heading, solved_choices(advised), boxes=card), nl=False)
    if not plan.picks:
        for reason in advised.plan.reasons:
            echo(reason)


def next_day(now: datetime, profile: LakeProfile) -> date:
    """The day to rig for: today in the morning, tomorrow from noon on, by the lake's own clock."""
    local = now.astimezone(profile.zone)
    return local.date() + timedelta(days=1 if local.hour >= EVENING_H else 0)


def heading_of(profile: LakeProfile, day: date, launch: datetime) -> str:
    """Lake, day and launch time in one line."""
    from briefing.sections.clock import clock, day_text

    return f"{profile.name}, {day_text(day)}, launch {clock(launch, profile.zone, day)}"


def solved_choices(advised: Advised) -> dict[str, Choice]:
    """The choice solved for each presentation at its first stop in the plan."""
    found: dict[str, Choice] = {}
    for stop in advised.plan.stops:
        for choice in stop.choices:
            found.setdefault(choice.id, choice)
    return found


def rods_json(plan: RodPlan, advised: Advised) -> dict[str, Any]:
    """The rods as plain values; an empty list comes with the reason."""
    return {
        "rods": [_pick_json(pick) for pick in plan.picks],
        "unmet": list(plan.unmet),
        "gap": None if plan.gap is None else {"kind": plan.gap.kind, "id": plan.gap.what, "text": plan.gap.text},
        "notes": [*plan.notes, *(advised.plan.reasons if not plan.picks else ())],
    }


def _pick_json(pick: RodPick) -> dict[str, Any]:
    from briefing.core.advice.rods.card import gear_text, rod_text

    return {
        "number": pick.number,
        "id": pick.setup.presentation,
        "name": pick.setup.name,
        "weight_oz": pick.setup.weight_oz,
        "weight_g": pick.setup.weight_g,
        "rod": None if pick.rod is None else pick.rod.id,
        "rod_text": rod_text(pick),
        "asks_for": None if pick.gear is None else gear_text(pick.gear),
        "purpose": pick.purpose,
        "mismatch": list(pick.mismatch),
        "retie": pick.retie,
        "in_reach": pick.in_reach,
    }
