"""The charts of a briefing, defined from its sections: wind against the limits, the water, the season."""

from __future__ import annotations

from datetime import date

from briefing import units
from briefing.report.svg import Plot, ticks
from briefing.sections.briefing import Briefing
from briefing.sections.clock import short_date
from briefing.sections.hours import HoursSection
from briefing.sections.season import SeasonSection
from briefing.sections.water_light import WaterLightSection
from briefing.sections.words import PHASE_NAME
from briefing.vocabulary import Level, Phase


def all_charts(briefing: Briefing) -> list[Plot]:
    """Return the charts that have something to show, in page order."""
    system = briefing.head.units
    plots = [wind_chart(briefing.hours, system), water_chart(briefing.water, system)]
    plots += [season_chart(season, briefing.head.day, number) for number, season in enumerate(briefing.season)]
    return [plot for plot in plots if plot is not None]


def wind_chart(hours: HoursSection, system: units.Units) -> Plot | None:
    """Wind and gust by hour with the two stop limits; hours over a limit and hours not known are shaded."""
    known = [(n, r.wind_mps, r.gust_mps) for n, r in enumerate(hours.rows) if r.wind_mps is not None]
    if len(known) < 2:
        return None
    scale = units.mps_to_mph if system == "us" else float
    unit = "mph" if system == "us" else "m/s"
    top = max([hours.gust_limits_mps[1], *(g or w for _, w, g in known)])
    plot = Plot(
        (0, len(hours.rows)),
        (0, scale(top) * 1.08),
        f"Wind and gust by hour against your limits, {unit}",
        "The same numbers stand in the hour table. " + hours.limit_text,
        "chart-wind",
    )
    for number, row in enumerate(hours.rows):
        if row.level in (Level.STOP, Level.UNKNOWN):
            plot.column(number, number + 1, f"lv-{row.level.value}")
    plot.y_labels(ticks(0, scale(top)), unit=unit)
    plot.rule(scale(hours.wind_limits_mps[1]), "limit wind", "wind: stop", above=False)
    plot.rule(scale(hours.gust_limits_mps[1]), "limit gust", "gust: stop")
    for run in _runs(known):
        plot.line([(n + 0.5, scale(w)) for n, w, _ in run], "wind")
        gusts = [(n + 0.5, scale(g)) for n, _, g in run if g is not None]
        plot.line(gusts, "gust")
        if gusts:
            plot.text(plot.x(gusts[0][0]) - 4, plot.y(gusts[0][1]), "gust", anchor="end")
        plot.text(plot.x(run[0][0] + 0.5) - 4, plot.y(scale(run[0][1])) + 10, "wind", anchor="end")
    step = 2 if len(hours.rows) > 10 else 1
    plot.x_labels([(n, row.clock[-5:]) for n, row in enumerate(hours.rows) if n % step == 0])
    return plot


def _runs(known: list[tuple[int, float, float | None]]) -> list[list[tuple[int, float, float | None]]]:
    runs: list[list[tuple[int, float, float | None]]] = []
    for entry in known:
        if runs and entry[0] == runs[-1][-1][0] + 1:
            runs[-1].append(entry)
        else:
            runs.append([entry])
    return runs


def water_chart(water: WaterLightSection, system: units.Units) -> Plot | None:
    """Main-lake temperature with its 80 % range over the past weeks and the days ahead; pockets as a dashed line."""
    if len(water.days) < 2:
        return None
    scale = units.c_to_f if system == "us" else float
    unit = "F" if system == "us" else "C"
    lows, highs = [scale(d.main_low_c) for d in water.days], [scale(d.main_high_c) for d in water.days]
    pockets = [(n, scale(d.pocket_c)) for n, d in enumerate(water.days) if d.pocket_c is not None]
    low, high = min(lows + [p for _, p in pockets]), max(highs + [p for _, p in pockets])
    plot = Plot(
        (0, len(water.days) - 1),
        (low - 1, high + 1),
        f"Water temperature by day, {unit}, daily mean at the surface",
        f"From {short_date(water.days[0].day)} to {short_date(water.days[-1].day)}; the band holds 8 chances in 10. "
        + water.temperature.text,
        "chart-water",
    )
    plot.y_labels(ticks(low, high), unit=unit)
    plot.area(list(enumerate(highs)), list(enumerate(lows)), "band")
    plot.line([(n, scale(d.main_c)) for n, d in enumerate(water.days)], "main")
    plot.line(pockets, "pocket")
    today = next((n for n, d in enumerate(water.days) if d.today), None)
    if today is not None:
        plot.marker(today, "today")
    if pockets:
        plot.text(plot.width - plot.right, plot.y(pockets[-1][1]) - 6, "dashed: sheltered pockets", anchor="end")
    step = max(1, len(water.days) // 5)
    plot.x_labels([(n, short_date(d.day)) for n, d in enumerate(water.days) if n % step == 0])
    return plot


def season_chart(season: SeasonSection, today: date, number: int) -> Plot | None:
    """Shares by phase over the season as lines, each with its name at its highest point."""
    if len(season.curve) < 2:
        return None
    first = season.curve[0].day
    plot = Plot(
        (0, (season.curve[-1].day - first).days),
        (0, 1),
        f"Share of {season.form_name} in each phase over the season",
        season.headline,
        f"chart-season-{number}",
    )
    plot.y_labels([0, 0.25, 0.5, 0.75, 1.0], form="{:.0%}")
    for order, phase in enumerate(Phase):
        points = [((p.day - first).days, p.shares[phase]) for p in season.curve]
        peak = max(points, key=lambda point: point[1])
        if peak[1] < 0.05:
            continue
        plot.line(points, f"phase p{order}")
        at = min(max(plot.x(peak[0]), plot.left + 40), plot.width - 50)
        plot.text(at, max(plot.y(peak[1]) - 5, plot.top + 8), PHASE_NAME[phase])
    plot.marker((today - first).days, "today")
    months = [(n, p.day) for n, p in enumerate(season.curve) if n == 0 or p.day.month != season.curve[n - 1].day.month]
    plot.x_labels([((day - first).days, day.strftime("%b")) for _, day in months])
    return plot
