"""The mail form: complete without images, small, nothing from outside, one chart definition for SVG and PNG."""

from __future__ import annotations

import re
from html import escape, unescape
from html.parser import HTMLParser

import pytest

from briefing.report.charts import charts_of
from briefing.report.lake_map import lake_map
from briefing.report.mail import HTML_LIMIT, MailParts, mail_parts, note_html
from briefing.report.png import line_style, svg_to_png, to_png
from briefing.report.render import quantity_words, to_html, to_text
from briefing.report.svg import Plot
from briefing.sections.briefing import Briefing
from briefing.sections.quantity import Quantity, SectionModel
from tests.scenarios import SCENARIOS, built


class _Words(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self.skip = 0

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.skip += tag in ("style", "title")

    def handle_endtag(self, tag: str) -> None:
        self.skip -= tag in ("style", "title")

    def handle_data(self, data: str) -> None:
        if not self.skip:
            self.found.append(data)


def words_of(html: str) -> str:
    parser = _Words()
    parser.feed(html)
    return squeezed(" ".join(parser.found))


def squeezed(text: str) -> str:
    return re.sub(r"\s+", "", unescape(text))


def quantities(model: SectionModel) -> list[Quantity]:
    out: list[Quantity] = []
    for value in vars(model).values():
        for one in value if isinstance(value, tuple) else (value,):
            if isinstance(one, Quantity):
                out.append(one)
            elif isinstance(one, SectionModel):
                out += quantities(one)
    return out


@pytest.fixture(scope="module")
def demo() -> Briefing:
    return built("demo").briefing


@pytest.fixture(scope="module")
def parts(demo: Briefing) -> MailParts:
    return mail_parts(demo, "abc")


@pytest.mark.parametrize("name", ["demo", *list(SCENARIOS)[:3]])
def test_every_quantity_and_hour_stands_in_both_parts(name: str) -> None:
    briefing = built(name).briefing
    parts = mail_parts(briefing, "abc")
    text, html = squeezed(parts.text), words_of(parts.html)
    told = [quantity_words(one) for one in quantities(briefing)]
    assert len(told) >= 4
    page = words_of(to_html(briefing))
    assert [phrase for phrase in told if squeezed(phrase) not in page] == []
    wanted = [one.text for one in quantities(briefing)]
    for row in briefing.hours.rows:
        wanted += [row.clock, row.wind_text, row.gust_text, row.wave_text, row.thunder_text]
    wanted += [
        *briefing.glance.level_lines(),
        *(line.text for line in briefing.glance.lines),
        briefing.sources.valid_text,
        briefing.head.outing,
        *briefing.changes.lines,
    ]
    for phrase in wanted:
        assert squeezed(phrase) in text, phrase
        assert squeezed(phrase) in html, phrase
    assert len(parts.html.encode("utf-8")) <= HTML_LIMIT


def test_nothing_is_fetched_and_nothing_is_left_that_mail_programs_drop(parts: MailParts) -> None:
    assert not re.search(r"<svg|<script|<link|<details|var\(|data:|@import|url\(", parts.html)
    assert set(re.findall(r'(?:src|href)="([^"]*)"', parts.html)) == {f"cid:{image.cid}" for image in parts.images}
    assert 'style="' in parts.html


def test_the_first_words_are_the_decision(parts: MailParts, demo: Briefing) -> None:
    begin = parts.html.index("<main")
    assert words_of(parts.html[begin:]).startswith(squeezed(f"{demo.glance.shape}{demo.glance.word}{demo.day.told()}"))
    assert parts.text.startswith(f"{demo.glance.shape} {demo.glance.word.upper()}\n  {demo.glance.hours_text}\n")
    assert demo.glance.place in " ".join(parts.text.split())
    assert parts.subject == "Off by 10:30, care (gusts): Sedgemary Lake Sat 28 Feb"


def test_images_have_their_finding_in_words(parts: MailParts, demo: Briefing) -> None:
    for plot, image in zip(charts_of(demo).there(), parts.images[1:], strict=True):
        assert image.png.startswith(b"\x89PNG")
        assert len(image.png) < 16_000
        assert squeezed(plot.title) in words_of(parts.html)
        assert f'alt="{escape(plot.desc)}"' in parts.html


def test_the_map_of_the_hours_out_is_an_image_with_its_legs_in_words(parts: MailParts, demo: Briefing) -> None:
    assert demo.map is not None
    image = parts.images[0]
    assert image.png == svg_to_png(lake_map(demo.map, units=demo.head.units))
    assert len(image.png) < 16_000
    names = {stop.number: stop.name for stop in demo.map.places}
    assert f'src="cid:{image.cid}" alt="From South landing to 1 {names[1]}, 2 {names[2]}, ' in parts.html
    for stop in demo.map.places:
        assert stop.number is None or squeezed(stop.name) in words_of(parts.html)


def test_every_shape_of_the_map_leaves_a_trace_in_its_image() -> None:
    def image(shapes: str) -> bytes:
        return svg_to_png(f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 60">{shapes}</svg>')

    line = '<line x1="5" y1="9" x2="50" y2="9" stroke="currentColor"/>'
    shapes = (
        "", line, f'<g transform="rotate(30 20 20)">{line}</g>', f'<g transform="translate(3 9)">{line}</g>',
        line.replace("/>", ' stroke-dasharray="5 4"/>'), line.replace("/>", ' stroke-width="4"/>'),
        '<path d="M 5,5 V 40 H 50 V 5" fill="none" stroke="currentColor"/>',
        '<path d="M 5,5 40,5 40,40 Z" fill="none" stroke="currentColor"/>',
        '<path class="map-water" d="M 5,5 50,5 50,50 Z M 30,10 40,10 40,20 Z"/>',
        '<rect x="5" y="5" width="20" height="10"/>', '<polygon points="5,5 20,5 12,20"/>',
        '<circle class="map-stop" cx="20" cy="20" r="9" stroke="currentColor"/>',
        '<circle cx="20" cy="20" r="9" fill="none" stroke="currentColor"/>', '<circle cx="20" cy="20" r="9"/>',
        '<text x="5" y="20">N</text>', '<text x="25" y="20" text-anchor="middle">N</text>',
    )  # fmt: skip
    drawn = [image(one) for one in shapes]
    assert len(set(drawn)) == len(shapes) - 1, "a ring on the paper's colour looks like an empty one, nothing else does"
    assert image("<title>a</title>") == drawn[0]
    for unknown in ('<ellipse cx="1" cy="1" rx="2" ry="3"/>', f'<g transform="scale(2)">{line}</g>'):
        with pytest.raises(ValueError, match="not drawn"):
            image(unknown)


def test_a_mail_that_would_be_too_long_loses_charts_first_and_says_so(demo: Briefing) -> None:
    short = mail_parts(demo, "abc", limit=1000)
    assert short.images == ()
    assert "Charts are left out of this mail." in short.html
    assert squeezed(demo.glance.hours_text) in words_of(short.html)


def test_the_same_chart_gives_the_same_png_and_every_mark_leaves_a_trace() -> None:
    def plot() -> Plot:
        return Plot((0, 10), (0, 20), "Wind", "desc", "t")

    blank = to_png(plot())
    drawings = []
    for draw in (
        lambda p: p.line([(0, 1), (5, 10)], "main"),
        lambda p: p.line([(0, 1), (5, 10)], "edge"),
        lambda p: p.bar(2, 5, 10, "range"),
        lambda p: p.area([(0, 3), (5, 12)], [(0, 1), (5, 8)], "band"),
        lambda p: p.marker(3, "today"),
        lambda p: p.dot(1, 1, "dot"),
        lambda p: p.x_labels([(0, "06:00", "start")]),
    ):
        one, again = plot(), plot()
        draw(one)
        draw(again)
        assert to_png(one) == to_png(again)
        drawings.append(to_png(one))
    assert len({blank, *drawings}) == len(drawings) + 1


def test_styles_of_lines_follow_their_class() -> None:
    assert line_style("edge") != line_style("main")
    assert line_style("phase p3")[1] == 3.0
    assert line_style("no-such")[1] == 1.0


def test_a_note_is_escaped() -> None:
    html = note_html("A <b>", "First & <i>", "one\n\ntwo <script>")
    assert "<script>" not in html
    assert "<i>" not in html


def test_the_directions_of_the_ways_to_spots_stay_at_home() -> None:
    briefing = built("north_summer_calm").briefing
    stops = [stop for block in briefing.plan.blocks for stop in block.stops]
    assert any(stop.heading for stop in stops)
    assert "Head " in to_text(briefing)
    parts = mail_parts(briefing, "x")
    assert "Head " not in parts.text
    assert "Head " not in parts.html
