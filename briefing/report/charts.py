"""The charts of a briefing, defined from its sections: the water and the season."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta

from briefing import units
from briefing.report.svg import Plot, ticks
from briefing.sections.briefing import Briefing
from briefing.sections.clock import short_date
from briefing.sections.season import SeasonSection
from briefing.sections.water_light import WaterDay, WaterLightSection
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


#: Days of the past in the water's chart, and ahead.
BACK, AHEAD = 14, 10


def water_chart(water: WaterLightSection, system: units.Units) -> Plot | None:
    """Main-lake temperature with its 80 % range, two weeks back and ten days ahead, labelled at its ends."""
    now = next((n for n, day in enumerate(water.days) if day.today), len(water.days) - 1)
    days = water.days[max(0, now - BACK) : now + AHEAD + 1]
    if len(days) < 2:
        return None
    scale = units.c_to_f if system == "us" else float
    unit = "F" if system == "us" else "C"
    means = [scale(day.main_c) for day in days]
    lows, highs = [scale(day.main_low_c) for day in days], [scale(day.main_high_c) for day in days]
    today = next((n for n, day in enumerate(days) if day.today), None)
    plot = Plot(
        (0, len(days) - 1),
        (min(lows) - 1, max(highs) + 1),
        f"Surface by day, {unit}, with its range",
        f"{_water_words(days[0], scale)}; {_water_words(days[-1], scale)}; today {water.temperature.text}.",
        "chart-water",
        height=150,
    )
    plot.y_labels(ticks(min(lows), max(highs), 2), unit=unit)
    plot.area(list(enumerate(highs)), list(enumerate(lows)), "band")
    plot.line(list(enumerate(highs)), "edge")
    plot.line(list(enumerate(lows)), "edge")
    plot.line(list(enumerate(means)), "main")
    if today is not None:
        plot.marker(today)
        plot.dot(today, means[today], "dot", 4.0)
    ends = [0, len(days) - 1]
    for n, anchor in zip(ends, ("start", "end"), strict=True):
        plot.text(plot.x(n), plot.y(highs[n]) - 6, f"{means[n]:.0f}", anchor=anchor)
    labels = [(0, short_day(days[0].day), "start"), (len(days) - 1, short_day(days[-1].day), "end")]
    if today is not None and 0 < today < len(days) - 1:
        labels.insert(1, (today, "today", "middle"))
    plot.x_labels(labels)
    return plot


def _water_words(day: WaterDay, scale: Callable[[float], float]) -> str:
    low, high = scale(day.main_low_c), scale(day.main_high_c)
    return f"{short_date(day.day)} {scale(day.main_c):.0f} ({low:.0f} to {high:.0f})"


#: Names of the season's dates beside their bars.
DATE_LABEL = {"nest_start": "first nests", "nest_middle": "half made", "nest_end": "last nests"}


def season_chart(season: SeasonSection, today: date, number: int) -> Plot | None:
    """A bar a date of the season over its span of 8 chances in 10, a mark at the likeliest day, today across."""
    told = [one for one in season.dates if one.p10 and one.p50 and one.p90]
    if not told:
        return None
    first = min([today, *(one.p10 for one in told if one.p10)])
    last = max([today, *(one.p90 for one in told if one.p90)])
    begin = first.replace(day=1)
    end = (last.replace(day=1) + timedelta(days=32)).replace(day=1)
    plot = Plot(
        (0, (end - begin).days),
        (0, len(told)),
        f"Nests of {season.form_name}; bar: likely span, dot: likeliest day",
        "; ".join(one.text for one in told) + ".",
        f"chart-season-{number}",
        height=34 + 26 * len(told) + 14,
        left=82,
        bottom=24,
    )
    for row, one in enumerate(told):
        y = len(told) - row - 0.5
        p10, p50, p90 = ((day - begin).days for day in (one.p10, one.p50, one.p90) if day)
        plot.bar(p10, p90, y, "range")
        plot.dot(p50, y, "dot", 5.0)
        plot.text(plot.left - 6, plot.y(y) + 4, DATE_LABEL.get(one.name, ""), anchor="end")
    plot.marker((today - begin).days, "today")
    months, at = [], begin
    while at < end:
        months.append(((at - begin).days, at.strftime("%b"), "start"))
        at = (at + timedelta(days=32)).replace(day=1)
    plot.x_labels(months)
    return plot


def curve_chart(season: SeasonSection, today: date, number: int) -> Plot | None:
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
        width=640,
        height=260,
        left=48,
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
    plot.x_labels([((day - first).days, day.strftime("%b"), "middle") for _, day in months])
    return plot


def short_day(day: date) -> str:
    """Return ``15 Apr``."""
    return f"{day.day} {day:%b}"
