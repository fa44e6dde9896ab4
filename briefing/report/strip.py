"""The strip of the hours: as SVG for page and print, as lines for text. The mail's table is made by its template."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import datetime, timedelta

from markupsafe import Markup, escape

from briefing.sections.glance import HIGHEST_SHARE, Strip, StripHour
from briefing.sections.words import lower_first
from briefing.vocabulary import Level

#: Units of the drawing; a page of 320 px shows one of them as one pixel, a wider one as more.
WIDTH, LEFT, RIGHT = 302, 58, 4
FONT_PX = 12.5
ROW_PX = 16
BARS_TOP, BARS_PX = 20, 64
HOUR = timedelta(hours=1)
#: Columns of a cell and of the names before them, and hours beside each other in text.
CELL, NAMES, ABREAST = 7, 8, 9
#: Width of a figure of a number under the drawing (a point has half of it), and what is kept free beside it.
DIGIT_PX, GAP_PX = 7.2, 3.0
#: Usual width of a letter of the drawing, on the wide side.
LETTER_PX = 6.6
#: Columns of a line of text.
WIDEST = 72


def strip_svg(strip: Strip) -> Markup:
    """Draw the strip: bars against one line, "your stop"; darkness above, the outing and its places below."""
    draw = _Drawing(strip)
    parts = [draw.patterns(), draw.sky(), draw.bars(), draw.outing(), draw.rows()]
    return Markup(
        '<svg class="strip" role="img" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {} {}" aria-label="{}">{}</svg>'
    ).format(WIDTH, draw.height, strip.text, Markup("").join(parts))


class _Drawing:
    """Places of the strip's parts."""

    def __init__(self, strip: Strip) -> None:
        self.strip = strip
        self.column = (WIDTH - LEFT - RIGHT) / len(strip.hours)
        self.base = BARS_TOP + BARS_PX
        self.you = self.base + 17
        self.beside = strip.off is None or WIDTH - self.x(strip.off) > 62  # whether the label fits beside the line
        self.first_row = self.you + (24 if self.beside else 38)
        self.height = self.first_row + ROW_PX * (3 + len(strip.told)) + 6

    def x(self, instant: datetime) -> float:
        """Where an instant lies, kept within the drawing."""
        at = (instant - self.strip.hours[0].hour) / HOUR
        return LEFT + self.column * min(max(at, 0.0), len(self.strip.hours))

    def y(self, share: float) -> float:
        """Where a share of the stop lies."""
        return self.base - BARS_PX * min(share, HIGHEST_SHARE) / HIGHEST_SHARE

    def patterns(self) -> Markup:
        """The hatching of hours with care."""
        return Markup(
            '<defs><pattern id="care" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
            '<rect class="care-ground" width="6" height="6"/><rect class="ink" width="2.4" height="6"/>'
            "</pattern></defs>"
        )

    def sky(self) -> Markup:
        """Darkness as a band, with the sun's own times."""
        out = Markup("")
        for begin, end in self.strip.dark:
            out += Markup('<rect class="ink" x="{:.1f}" y="4" width="{:.1f}" height="9"/>').format(
                self.x(begin), self.x(end) - self.x(begin)
            )
        if self.strip.dark:
            out += _text(LEFT - 5, 13, "dark", "end")
        if self.strip.sun_text:
            first = self.strip.dark[0][1] if self.strip.dark else self.strip.hours[0].hour
            early = self.strip.dark and self.strip.dark[0][0] == self.strip.hours[0].hour
            at = self.x(first) + 5 if early else LEFT
            dusk = min((self.x(begin) for begin, _ in self.strip.dark if begin > first), default=float(WIDTH))
            if at + len(self.strip.sun_text) * LETTER_PX > dusk - 5:
                out += _text(dusk - 5, 13, self.strip.sun_text, "end")
            else:
                out += _text(at, 13, self.strip.sun_text)
        return out

    def bars(self) -> Markup:
        """A bar an hour; an hour that is not known is an empty column, never a low bar."""
        out = Markup("")
        for number, hour in enumerate(self.strip.hours):
            left, width = LEFT + self.column * number + 2, self.column - 4
            out += self._bar(hour, left, width)
        stop = self.y(1.0)
        line = Markup('<line class="line strong" x1="{}" x2="{}" y1="{:.1f}" y2="{:.1f}"/>').format(
            LEFT, WIDTH - RIGHT, stop, stop
        )
        base = Markup('<line class="line" x1="{}" x2="{}" y1="{}" y2="{}"/>').format(
            LEFT, WIDTH - RIGHT, self.base, self.base
        )
        return out + base + line + _text(LEFT - 5, stop - 1, "your", "end") + _text(LEFT - 5, stop + 11, "stop", "end")

    def _bar(self, hour: StripHour, left: float, width: float) -> Markup:
        if hour.share is None or hour.level is Level.UNKNOWN:
            column = Markup(
                '<rect class="unknown" x="{:.1f}" y="{}" width="{:.1f}" height="{}"/>'
            ).format(left, BARS_TOP, width, BARS_PX)  # fmt: skip
            return column + _text(left + width / 2, self.base - BARS_PX / 2 + 5, "?", "middle", "big")
        kind = {Level.CAUTION: "care", Level.STOP: "ink"}.get(hour.level, "within")
        top = self.y(hour.share)
        return Markup('<rect class="{}" x="{:.1f}" y="{:.1f}" width="{:.1f}" height="{:.1f}"/>').format(
            kind, left, top, width, max(self.base - top, 1.5)
        )

    def outing(self) -> Markup:
        """The time on the water as a line, places in order on it, a bar where it ends."""
        strip = self.strip
        if strip.out is None or strip.off is None:
            return _text(LEFT - 5, self.you + 5, "you", "end") + _text(LEFT, self.you + 5, "ashore")
        first, last = self.x(strip.out), self.x(strip.off)
        out = _text(LEFT - 5, self.you + 5, "you", "end")
        out += Markup('<line class="line out" x1="{:.1f}" x2="{:.1f}" y1="{}" y2="{}"/>').format(
            first, last, self.you, self.you
        )
        out += Markup('<line class="line end" x1="{:.1f}" x2="{:.1f}" y1="{}" y2="{}"/>').format(
            last, last, BARS_TOP, self.you + 7
        )
        at = first - 99.0
        for stop in strip.stops:
            at = max(self.x(stop.at), at + 15)
            out += Markup('<circle class="place" cx="{:.1f}" cy="{}" r="7"/>').format(at, self.you)
            out += _text(at, self.you + 4.4, str(stop.number), "middle")
        if self.beside:
            return out + _text(last + 5, self.you + 5, strip.off_text, "start", "strong")
        return out + _text(last + 2, self.you + 20, strip.off_text, "end", "strong")

    def rows(self) -> Markup:
        """Hour, wind and gust in whole units with the level's shape; further hazards where they matter.

        Where there are more hours than their numbers have room beside each other, a number is the worst of some hours.
        """
        each = hours_a_number(self.strip)
        hours = self.strip.hours
        groups = [hours[first : first + each] for first in range(0, len(hours), each)]
        table = [
            ("hour", [group[0].clock[-2:] for group in groups]),
            ("level", [max(group, key=lambda hour: hour.level.rank).shape for group in groups]),
            ("wind", [_worst([hour.wind_text for hour in group]) for group in groups]),
            ("gust", [_worst([hour.gust_text for hour in group]) for group in groups]),
            *(
                (row.name, [_worst(row.cells[first : first + each]) for first in range(0, len(hours), each)])
                for row in self.strip.told
            ),
        ]
        out = Markup("")
        for line, (name, cells) in enumerate(table):
            y = self.first_row + ROW_PX * line
            out += _text(LEFT - 5, y, name, "end")
            for number, (cell, group) in enumerate(zip(cells, groups, strict=True)):
                out += _text(LEFT + self.column * (each * number + len(group) / 2), y, cell, "middle")
        return out


def hours_a_number(strip: Strip) -> int:
    """How many hours a number under the drawn strip stands for, so that no two touch."""
    cells = [cell for hour in strip.hours for cell in (hour.clock[-2:], hour.wind_text, hour.gust_text)]
    cells += [cell for row in strip.told for cell in row.cells]
    column = (WIDTH - LEFT - RIGHT) / len(strip.hours)
    widest = max(DIGIT_PX * (len(cell) - 0.5 * cell.count(".")) for cell in cells)
    count = len(strip.hours)
    for each in range(1, count + 1):
        last = count % each or each  # the last number may stand for fewer hours, and so nearer
        if column * min(each, (each + last) / 2) >= widest + GAP_PX:
            return each
    return count


def _text(x: float, y: float, text: str, anchor: str = "start", kind: str = "") -> Markup:
    # written at once: Markup.format would escape every part of some hundred texts anew
    mark = f' class="{escape(kind)}"' if kind else ""
    return Markup(f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}"{mark}>{escape(text)}</text>')


def strip_lines(strip: Strip) -> list[str]:
    """The strip as lines of text of at most 72 columns: hours beside each other, one kind of number a line.

    Where there are more hours than fit beside each other, a column is some of them with the worst of each.
    """
    each = -(-len(strip.hours) // ABREAST)
    groups = [strip.hours[first : first + each] for first in range(0, len(strip.hours), each)]
    rows = [
        ("hour", [group[0].clock if len(group) == 1 else f"{group[0].clock}-{group[-1].clock}" for group in groups]),
        ("level", [max(group, key=lambda hour: hour.level.rank).mark for group in groups]),
        ("wind", [_worst([hour.wind_text for hour in group]) for group in groups]),
        ("gust", [_worst([hour.gust_text for hour in group]) for group in groups]),
        *(
            (row.name, [_worst(row.cells[first : first + each]) for first in range(0, len(strip.hours), each)])
            for row in strip.told
        ),
        ("you", [_doing(strip, group[0].hour, group[-1].hour + HOUR) for group in groups]),
    ]
    out = [(name.ljust(NAMES) + "".join(cell.ljust(CELL) for cell in cells)).rstrip() for name, cells in rows]
    many = "" if each == 1 else f"; worst of {each} hours"
    if strip.lost:
        out.append(lower_first(strip.lost_text))
    unknown = "; ? = not known" if any("?" in cell for _, cells in rows for cell in cells) else ""
    stop = f"stop: wind {strip.wind_stop_text}, gust {strip.gust_stop_text}{unknown}{many}"
    line = f"{strip.units_text}; your {stop}"
    out += [line] if len(line) <= WIDEST else [strip.units_text, f"your {stop}"]
    return out


def _worst(cells: Sequence[str]) -> str:
    """The greatest of some numbers as told; one that is not known before all."""
    if any("?" in cell for cell in cells):
        return next(cell for cell in cells if "?" in cell)
    return max(cells, key=lambda cell: float(re.sub(r"[^\d.]", "", cell) or -1.0))


def _doing(strip: Strip, hour: datetime, end: datetime) -> str:
    """What happens in an hour or two: dark, out, the places' numbers, off; ashore where nobody goes out."""
    if strip.out is None:
        return "ashore"
    said = []
    if strip.out is not None and hour <= strip.out < end:
        said.append("out")
    places = [str(stop.number) for stop in strip.stops if hour <= stop.at < end]
    if len(places) > 1 and len(" ".join([*said, *places])) >= CELL:
        said = []  # when to go out stands above; that a place is none is said nowhere else
    said += places if len(" ".join(places)) < CELL else [f"{places[0]}-{places[-1]}"]
    if strip.off is not None and hour <= strip.off < end:
        said = ["off"] if "out" in said else [*said, "off"]  # both don't fit, and the end is what matters
    if not said and any(begin < end and last > hour for begin, last in strip.dark):
        said.append("dark")
    inside = strip.out is not None and strip.off is not None and strip.out < end and strip.off > hour
    return " ".join(said)[: CELL - 1] or ("-----" if inside else "")
