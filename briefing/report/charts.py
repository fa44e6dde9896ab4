"""The charts of a briefing, defined from its sections: the water and the season."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from briefing import units
from briefing.report.svg import Plot, ticks
from briefing.sections.briefing import Briefing
from briefing.sections.clock import short_date
from briefing.sections.season import SeasonSection
from briefing.sections.water_light import WaterLightSection
from briefing.sections.words import PHASE_NAME
from briefing.vocabulary import Phase


@dataclass(frozen=True)
class Charts:
    """The charts of a briefing, None where there is nothing to show; one of the season for each form of the lake."""

    water: Plot | None
    season: tuple[Plot | None, ...]

    def there(self) -> list[Plot]:
        """Those that have something to show, in page order."""
        return [plot for plot in (*self.season, self.water) if plot is not None]


def charts_of(briefing: Briefing) -> Charts:
    """Define the charts from the sections."""
    seasons = tuple(season_chart(one, briefing.head.day, number) for number, one in enumerate(briefing.season))
    return Charts(water_chart(briefing.water, briefing.head.units), seasons)


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
