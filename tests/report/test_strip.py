"""The strip of the hours, drawn and in letters: one line for the stop, and nothing unknown drawn low."""

import re
import xml.etree.ElementTree as ElementTree
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from typing import Any

import pytest

from briefing.report.strip import strip_lines, strip_svg
from briefing.sections.glance import Strip, StripHour, StripRow, StripStop
from briefing.vocabulary import Level

SPACE = "{http://www.w3.org/2000/svg}"
SIX = datetime(2026, 4, 18, 10, tzinfo=UTC)
HOUR = timedelta(hours=1)
MARKS = {
    Level.WITHIN_LIMITS: ("within", "○"),
    Level.CAUTION: ("care", "△"),
    Level.UNKNOWN: ("?", "?"),
    Level.STOP: ("STOP", "■"),
}


def hour(number: int, level: Level, share: float | None) -> StripHour:
    mark, shape = MARKS[level]
    text = "?" if share is None else f"{share * 16:.0f}"
    return StripHour(hour=SIX + number * HOUR, clock=f"{6 + number:02d}", level=level, mark=mark, shape=shape,
                     share=share, wind_text=text, gust_text=text)  # fmt: skip


def strip(*hours: StripHour, **changes: Any) -> Strip:
    values: dict[str, Any] = {
        "hours": hours,
        "rows": (),
        "unit": "mph",
        "units_text": "mph",
        "wind_stop_text": "16",
        "gust_stop_text": "22",
        "dark": ((SIX, SIX + HOUR / 2),),
        "sun_text": "sun up 06:54",
        "out": SIX + HOUR / 2,
        "off": SIX + 2.5 * HOUR,
        "off_text": "off 08:30",
        "stops": (StripStop(number=1, name="Reeds", at=SIX + HOUR),),
        "text": "Four hours <told>",
    }
    return Strip(**{**values, **changes})


HOURS = (
    hour(0, Level.WITHIN_LIMITS, 0.2),
    hour(1, Level.CAUTION, 0.8),
    hour(2, Level.STOP, 1.2),
    hour(3, Level.UNKNOWN, None),
)


def drawn(one: Strip) -> ElementTree.Element:
    return ElementTree.fromstring(str(strip_svg(one)))


def test_it_says_its_data_in_words_and_is_well_formed() -> None:
    root = drawn(strip(*HOURS))
    assert (root.attrib["role"], root.attrib["aria-label"]) == ("img", "Four hours <told>")


def test_bars_stand_against_one_line_and_what_is_not_known_is_no_low_bar() -> None:
    root = drawn(strip(*HOURS))
    (line,) = [node for node in root.iter(f"{SPACE}line") if node.attrib["class"] == "line strong"]
    stop = float(line.attrib["y1"])
    bars = {node.attrib["class"]: node for node in root.iter(f"{SPACE}rect") if float(node.attrib.get("y", 0)) > 15}
    assert float(bars["within"].attrib["y"]) > float(bars["care"].attrib["y"]) > stop
    assert float(bars["ink"].attrib["y"]) < stop
    unknown = bars["unknown"]
    assert float(unknown.attrib["height"]) > float(bars["within"].attrib["height"]) * 3
    assert "?" in [node.text for node in root.iter(f"{SPACE}text") if node.attrib.get("class") == "big"]


@pytest.mark.parametrize("count", [2, 8, 10, 14, 18])
def test_nothing_leaves_the_drawing_or_the_columns(count: int) -> None:
    one = strip(*(hour(n, Level.WITHIN_LIMITS, 0.1 * n) for n in range(count)))
    root = drawn(one)
    width = float(root.attrib["viewBox"].split()[2])
    for node in root.iter(f"{SPACE}rect"):
        if "x" in node.attrib:
            assert 0 <= float(node.attrib["x"]) <= float(node.attrib["x"]) + float(node.attrib["width"]) <= width
    lines = strip_lines(one)
    assert max(len(line) for line in lines) <= 72
    assert sum(line.startswith("hour") for line in lines) == 1
    assert len(lines) == 6
    assert ("worst of" in lines[-1]) == (count > 9)


def test_a_column_of_two_hours_tells_the_worse_of_each() -> None:
    hours = [hour(n, Level.WITHIN_LIMITS, 0.3) for n in range(12)]
    hours[3] = hour(3, Level.STOP, 1.2).model_copy(update={"wind_text": "19"})
    hours[4] = hour(4, Level.CAUTION, 0.8).model_copy(update={"gust_text": "15e"})
    hours[9] = hour(9, Level.UNKNOWN, None).model_copy(update={"wind_text": "?"})
    lines = strip_lines(strip(*hours, rows=(StripRow(name="thunder", cells=("0", *"0" * 6, "30", *"0" * 4)),)))
    columns = dict(
        zip(("hour", "level", "wind", "gust", "thunder"), (line.split()[1:] for line in lines), strict=False)
    )
    assert len(columns["hour"]) == 6
    assert columns["level"] == ["within", "STOP", "care", "within", "?", "within"]
    assert columns["wind"][1] == "19"
    assert columns["wind"][4] == "?"
    assert columns["gust"][2] == "15e"
    assert columns["thunder"] == ["0", "0", "0", "30", "0", "0"]


def test_text_has_a_row_of_each_kind_and_the_outing() -> None:
    lines = strip_lines(strip(*HOURS, rows=(StripRow(name="thunder", cells=("0", "0", "30", "?")),)))
    assert [re.split(r"\s+", line)[0] for line in lines] == ["hour", "level", "wind", "gust", "thunder", "you", "mph;"]
    assert lines[1].split()[1:] == ["within", "care", "STOP", "?"]
    assert lines[4].split()[1:] == ["0", "0", "30", "?"]
    assert lines[5].split()[1:] == ["out", "1", "off"]


def test_without_hours_out_it_says_ashore() -> None:
    root = drawn(strip(*HOURS, out=None, off=None, stops=()))
    assert "ashore" in [node.text for node in root.iter(f"{SPACE}text")]


@pytest.mark.parametrize("count", [6, 9, 12, 16, 17])
@pytest.mark.parametrize("text", ["9", "22", "10.6"])
def test_numbers_under_the_bars_never_touch(count: int, text: str) -> None:
    """A figure of the strip's type is 7.2 units wide; what stands beside another leaves room."""
    hours = [hour(n, Level.WITHIN_LIMITS, 0.4) for n in range(count)]
    hours = [one.model_copy(update={"wind_text": text, "gust_text": text}) for one in hours]
    drawn = strip_svg(strip(*hours, stops=()))
    lines: dict[float, list[tuple[float, str]]] = {}
    for x, y, said in re.findall(r'<text x="([\d.]+)" y="([\d.]+)" text-anchor="middle"[^>]*>([^<]*)</text>', drawn):
        lines.setdefault(float(y), []).append((float(x), said))
    assert lines
    for row in lines.values():
        for (left, a), (right, b) in pairwise(sorted(row)):
            wide = [7.2 * (len(one) - 0.5 * one.count(".")) for one in (a, b)]  # a point is half a figure
            assert right - left >= sum(wide) / 2 + 1.0, (a, b)


def test_places_that_share_a_column_of_the_text_are_all_there() -> None:
    stops = tuple(StripStop(number=n, name=f"place {n}", at=SIX + HOUR * (1 + 0.2 * n)) for n in (1, 2, 3))
    lines = strip_lines(
        strip(
            *(hour(n, Level.WITHIN_LIMITS, 0.4) for n in range(5)),
            stops=stops,
            out=SIX + 1.1 * HOUR,
            off=SIX + 4 * HOUR,
        )
    )
    you = next(line for line in lines if line.startswith("you"))
    assert "1-3" in you or "1 2 3" in you
