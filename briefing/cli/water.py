"""``briefing water``: the lake's temperature, the week ahead, the readings and how good the model has been."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from briefing.cli.common import LakeArgument, app_context, echo, tell
from briefing.cli.progress import told_while_asking
from briefing.errors import NotFoundError

if TYPE_CHECKING:
    from briefing.sections.water_report import WaterReport
    from briefing.units import Units


def water(
    ctx: typer.Context,
    lake: LakeArgument = None,
    offline: Annotated[bool, typer.Option("--offline", help="Ask no service: stored and entered data only.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON for programs.")] = False,
    svg: Annotated[Path | None, typer.Option("--svg", help="Also write the chart as an SVG file.")] = None,
) -> None:
    """Show the water temperature: state, chart, readings used and refused, and how good the model has been here.

    \b
    briefing water
    briefing water "Heron Slough" --offline --json
    """
    from briefing.app.brief import Asked
    from briefing.app.brief import water as water_of_lake
    from briefing.report.charts import water_chart

    app = app_context(ctx)
    with told_while_asking(app):
        found = water_of_lake(app, Asked(lake, offline=offline))
    tell(found.notes)
    report, units = found.value, found.profile.units
    if svg is not None:
        chart = water_chart(report.water, units)
        if chart is None:
            raise NotFoundError("There is nothing to draw yet; no file was written.")
        svg.write_text(chart.svg() + "\n", encoding="utf-8")
        echo(f"Saved: {svg}", err=True)
    echo(report.model_dump_json(indent=1) if as_json else water_text(report, units))


def water_text(report: WaterReport, system: Units) -> str:
    """Write the report for a terminal of 80 columns."""
    from briefing.report.render import value_words, wrap_text
    from briefing.sections.water_light import RANGE80

    water = report.water
    lines = [f"Water temperature, {report.lake}", ""]
    told = [("Main lake", water.temperature), ("Sheltered pockets", water.pocket)]
    told += [("Over 3 days", water.trend_3d), ("Over 7 days", water.trend_7d)]
    told += [("If this weather lasted", water.heading)]
    rule = f" ({RANGE80})"  # said of the first range, the others are alike
    for name, one in told:
        if one is not None:
            words = value_words(one)
            lines += wrap_text(f"{name}: {words if len(lines) < 3 else words.replace(rule, '')}", hang=2)
    lines += wrap_text(f"From the water model: the surface, mean of the day. {water.basis}")
    lines += ["", _chart(report, system), ""]
    for row in report.passing:
        lines += wrap_text(row.text, first="- ")
    lines += ["", "Readings, newest first"]
    for reading in report.readings[:30]:
        lines += wrap_text(reading.text, first="- ")
    if not report.readings:
        lines.append("None yet. Enter one with: briefing reading add 61F")
    lines += ["", *wrap_text(report.skill.text)]
    for note in report.notes:
        lines += wrap_text(note)
    return "\n".join(lines)


def _chart(report: WaterReport, system: Units) -> str:
    from briefing.report.terminal import Line, chart
    from briefing.sections.clock import short_date
    from briefing.units import c_to_f

    scale = c_to_f if system == "us" else float
    days = report.water.days
    lines = [
        Line("-", [scale(day.main_low_c) for day in days]),
        Line("-", [scale(day.main_high_c) for day in days]),
        Line("*", [scale(day.main_c) for day in days]),
    ]
    today = next((n for n, day in enumerate(days) if day.today), None)
    step = max(1, len(days) // 5)
    labels = [(n, short_date(day.day)) for n, day in enumerate(days) if n % step == 0]
    unit = "F" if system == "us" else "C"
    head = f"{unit}   * daily mean at the surface   - 8 chances in 10 lie between   : today"
    return head + "\n" + chart(lines, labels, now=today)
