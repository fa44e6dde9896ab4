"""``briefing phase``: what share of the fish is in which seasonal phase, the dates ahead and what moved them."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from briefing.cli.common import LakeArgument, app_context, echo, tell
from briefing.cli.progress import told_while_asking
from briefing.errors import NotFoundError

if TYPE_CHECKING:
    from briefing.sections.season import PhaseShare, SeasonSection

#: One letter a phase in the season's chart, in the order of the phases.
MARKS = "wesnpoa"


def phase(
    ctx: typer.Context,
    lake: LakeArgument = None,
    offline: Annotated[bool, typer.Option("--offline", help="Ask no service: stored and entered data only.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON for programs.")] = False,
    svg: Annotated[Path | None, typer.Option("--svg", help="Also write the season's curve as an SVG file.")] = None,
    why: Annotated[bool, typer.Option("--why", help="Say what counts and what does not.")] = False,
) -> None:
    """Show today's shares of the seasonal phases, the dates ahead, the season's curve and what moved them.

    \b
    briefing phase
    briefing phase "Heron Slough" --offline --json
    """
    from briefing.app.brief import Asked, seasons
    from briefing.report.charts import curve_chart

    app = app_context(ctx)
    with told_while_asking(app):
        part = seasons(app, Asked(lake, offline=offline))
    tell(part.notes)
    found, day = part.value, part.day
    if svg is not None:
        chart = curve_chart(found[0], day, 0)
        if chart is None:
            raise NotFoundError("There is nothing to draw yet; no file was written.")
        svg.write_text(chart.svg() + "\n", encoding="utf-8")
        echo(f"Saved: {svg}", err=True)
    if as_json:
        echo("[" + ",\n".join(season.model_dump_json(indent=1) for season in found) + "]")
        return
    echo("\n\n".join(season_text(season, day) for season in found))
    if why:
        from briefing.core.phase.words import MOON_AND_PRESSURE
        from briefing.report.render import wrap_text

        echo("\n" + "\n".join(wrap_text(MOON_AND_PRESSURE)))


def _share(row: PhaseShare) -> str:
    """A share with its range; none where not one fish in two hundred is in that stage."""
    if row.high < 0.005:
        return "none"
    return f"{row.share:4.0%}  ({row.low:.0%} to {row.high:.0%})"


def season_text(season: SeasonSection, today: date) -> str:
    """Write a season for a terminal of 80 columns."""
    from briefing.report.render import wrap_text
    from briefing.report.terminal import bar

    name = season.form_name
    lines = [f"{name[:1].upper()}{name[1:]}", "", *wrap_text(season.headline)]
    if season.refused:
        return "\n".join([*lines, *(line for note in season.notes for line in wrap_text(note))])
    lines.append("")
    lines += [f"{row.name:17s} {bar(row.share)} {_share(row)}" for row in season.shares]
    lines.append("")
    for one in season.dates:
        lines += wrap_text(one.text, first="- ")
    if season.pause_text:
        lines += wrap_text(season.pause_text)
    if season.drivers:
        lines += ["", "What moved it today:"]
        for driver in season.drivers:
            lines += wrap_text(driver, first="- ")
    if season.best_observation:
        lines += wrap_text(f"What would change it most: {season.best_observation}")
    for note in season.notes:
        lines += wrap_text(note)
    lines += ["", _curve(season, today)]
    return "\n".join(lines)


def _curve(season: SeasonSection, today: date) -> str:
    from briefing.report.render import wrap_text
    from briefing.report.terminal import Line, chart
    from briefing.sections.words import PHASE_NAME
    from briefing.vocabulary import Phase

    points = season.curve
    lines = []
    for mark, phase in zip(MARKS, Phase, strict=True):
        values = [100.0 * point.shares[phase] for point in points]
        if max(values) >= 5.0:
            lines.append(Line(mark, [value if value >= 1.0 else None for value in values]))
    labels = [
        (n, point.day.strftime("%b"))
        for n, point in enumerate(points)
        if n == 0 or point.day.month != points[n - 1].day.month
    ]
    now = next((n for n, point in enumerate(points) if point.day >= today), None)
    shown = [phase for phase in Phase if max(point.shares[phase] for point in points) >= 0.05]
    key = ", ".join(f"{mark} {PHASE_NAME[phase]}" for mark, phase in zip(MARKS, Phase, strict=True) if phase in shown)
    head = wrap_text(f"Per cent of the fish, : today; {key}")
    return "\n".join([*head, chart(lines, labels, now=now)])
