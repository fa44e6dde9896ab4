"""``briefing skill``: how far forecasts and statements were off at a lake, and what is made of it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from briefing.cli.common import LakeArgument, app_context, echo, echo_json

if TYPE_CHECKING:
    from briefing.core.log.skill import Skill, SkillRow
    from briefing.profile.model import LakeProfile

_NAMES = {
    "wind_mps": "wind",
    "gust_mps": "gusts",
    "water_c": "water temperature",
    "nest_start_day": "first nests (days)",
}


def skill(
    ctx: typer.Context,
    lake: LakeArgument = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON for programs.")] = False,
) -> None:
    """Show how forecasts did here: wind and gusts by direction and age, water temperature, likelihoods, season dates.

    Each `briefing today` holds what was forecast against what came since: the nearest station's wind, your own
    readings of wind and water, your signs, your outings. Plus means that the forecast was too low.

    briefing skill quillmere-pond
    """
    from briefing.app.log import skill_here

    found, profile = skill_here(app_context(ctx), lake)
    if as_json:
        echo_json(_plain(found))
        return
    if not found.rows and not found.chances:
        echo(
            f"Forecasts for {profile.name} have not been checked yet. Each `briefing today` holds the one before "
            "against what came; your own wind helps most: briefing reading add 12mph --from SW"
        )
        return
    for line in table_lines(found, profile):
        echo(line)


def table_lines(found: Skill, profile: LakeProfile) -> list[str]:
    """The table as text, 72 columns."""
    out = [found.line] if found.line else []
    out.append(f"{'what':<18}{'forecast':<17}{'from':<6}{'checks':>6}{'mean':>9}{'usual':>8}{'in range':>8}")
    out += [_line(row, profile) for row in found.rows]
    if found.chances:
        out += ["", "Thunder: chance stated before the launch, and how often it was heard out there"]
        out += [
            f"  {row.low_pct:.0f} to {row.high_pct:.0f} %: {row.cases} outings, stated {row.said_pct:.0f} %, "
            f"came {row.came_pct:.0f} %"
            for row in found.chances
        ]
    return [*out, "", *_correction_lines(found, profile)]


def _line(row: SkillRow, profile: LakeProfile) -> str:
    from briefing.units import compass_point

    where = "all" if row.sector is None else compass_point(45.0 * row.sector)
    mean, usual = _value(row, row.bias, profile, True), _value(row, row.mean_abs, profile, False)
    held = "" if row.covered is None else f"{row.covered:.0%}"
    name = _NAMES.get(row.element, row.element)
    return f"{name:<18}{row.lead:<17}{where:<6}{row.checks:>6}{mean:>9}{usual:>8}{held:>8}".rstrip()


def _value(row: SkillRow, value: float, profile: LakeProfile, signed: bool) -> str:
    from briefing.units import mps_to_mph

    unit, scale = "", 1.0
    if row.element.endswith("_mps"):
        unit, scale = ("mph", mps_to_mph(1.0)) if profile.units == "us" else ("m/s", 1.0)
    elif row.element.endswith("_c"):
        unit, scale = ("F", 1.8) if profile.units == "us" else ("C", 1.0)
    elif row.element.endswith("_day"):
        unit = "d"
    return f"{value * scale:{'+' if signed else ''}.1f} {unit}"


def _correction_lines(found: Skill, profile: LakeProfile) -> list[str]:
    from briefing.units import show_wind

    correction = found.correction
    needed = correction.parameters.least_mornings
    if correction.mornings < needed:
        return [f"Wind is not corrected yet: {correction.mornings} of {needed} mornings."]
    raw, ours = (show_wind(value, profile.units) for value in (correction.held_raw_mps, correction.held_corrected_mps))
    tried = f"on mornings held back the error was {raw} raw and {ours} corrected"
    if not correction.usable:
        return [f"Wind is not corrected: {tried}."]
    return [
        f"Wind is corrected by direction and speed: {tried}.",
        "For your limits only a raise is used. Method: Gneiting and others 2005, shrunk by the number of mornings.",
    ]


def _plain(found: Skill) -> dict[str, Any]:
    from dataclasses import asdict

    correction = found.correction
    return {
        "line": found.line,
        "mornings": found.mornings,
        "rows": [asdict(row) for row in found.rows],
        "likelihoods": [asdict(row) for row in found.chances],
        "correction": {
            "usable": correction.usable,
            "mornings": correction.mornings,
            "bias_mps": [round(float(value), 3) for value in correction.bias_mps],
            "bias_sd_mps": [round(float(value), 3) for value in correction.bias_sd_mps],
            "spread_mps": [round(value, 3) for value in correction.spread_mps],
            "held_raw_mps": _number(correction.held_raw_mps),
            "held_corrected_mps": _number(correction.held_corrected_mps),
        },
    }


def _number(value: float) -> float | None:
    return None if value != value else round(value, 3)
