"""What stands on a phone's screens, and whether the marks of the figures are seen against their ground."""

import re
from collections import Counter
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from briefing.report.render import to_html
from tests.browser.chromium import measure, picture, sides
from tests.mornings import MORNINGS, built

pytestmark = pytest.mark.long

#: A phone's screen in CSS pixels, the narrowest one, and the most numbers on a screen.
WIDTH, HEIGHT, NARROW, NUMBERS = 390, 844, 320, 15
#: Sides of paper.
SIDES = 2
FEW = ("demo", "highland_winter_cold_water", "everything missing")
LOOK = r"""
const seen = [];
const walk = document.createTreeWalker(document.querySelector('main'), NodeFilter.SHOW_TEXT);
while (walk.nextNode()) {
  const node = walk.currentNode, parent = node.parentElement;
  if (!node.textContent.trim() || parent.closest('.print-only')) continue;
  if (parent.closest('details') && !parent.closest('summary')) continue;
  const range = document.createRange();
  const at = (from, to) => {
    range.setStart(node, from);
    range.setEnd(node, to);
    return range.getBoundingClientRect();
  };
  const numbers = [];
  // clock times and places ("1." before a name, 1 on the map) are no numbers to weigh; labels of charts are
  if (!parent.closest('.hours-strip') && !parent.closest('title, desc'))
    for (const found of node.textContent.matchAll(/[0-9][0-9.,\/:]*/g)) {
      if (/^\d\d:\d\d/.test(found[0])) continue;
      if (parent.closest('h3') && /^\d\.$/.test(found[0])) continue;
      if (parent.closest('svg.map') && /^\d$/.test(node.textContent.trim())) continue;
      numbers.push(at(found.index, found.index + 1).top);
    }
  seen.push({text: node.textContent.trim(), bottom: at(0, node.length).bottom, numbers});
}
result.seen = seen;
result.scroll = document.documentElement.scrollWidth;
"""


@pytest.fixture(scope="module")
def names(whole: bool) -> list[str]:
    return list(MORNINGS) if whole else list(FEW)


def most(names: list[str]) -> list[str]:
    """One of the few, or all of all."""
    return names if len(names) > len(FEW) else names[:1]


def test_the_glance_stands_on_the_first_screen_and_no_screen_is_full_of_numbers(names: list[str]) -> None:
    for name in names:
        briefing = built(name).briefing
        seen = measure(to_html(briefing), WIDTH, LOOK, height=HEIGHT)["seen"]
        first = " ".join(one["text"] for one in seen if one["bottom"] <= HEIGHT)
        glance = briefing.glance
        for text in (
            glance.word,
            *glance.level_lines(),
            *(part for one in glance.lines for part in (one.name, one.text)),
            glance.last,
        ):
            assert text in first, (name, text)
        by_screen = Counter(int(top // HEIGHT) for one in seen for top in one["numbers"])
        assert {screen: count for screen, count in by_screen.items() if count > NUMBERS} == {}, name


def test_the_narrowest_phone_scrolls_down_only(names: list[str]) -> None:
    for name in most(names):
        assert measure(to_html(built(name).briefing), NARROW, LOOK, height=HEIGHT)["scroll"] <= NARROW, name


def test_print_takes_one_sheet(names: list[str], tmp_path: Path) -> None:
    for name in most(names):
        assert sides(to_html(built(name).briefing), tmp_path) <= SIDES, name
    assert sides("<p style='break-after:page'>1</p>" * 2 + "<p>3</p>", tmp_path) == 3


def luminance(colour: np.ndarray) -> np.ndarray:
    """Relative luminance of sRGB in 0..1 (WCAG 2.2); the last axis is the colour."""
    linear = np.where(colour <= 0.04045, colour / 12.92, ((colour + 0.055) / 1.055) ** 2.4)
    return linear @ np.array([0.2126, 0.7152, 0.0722])


#: Marks that carry meaning, by figure; tints under them (band, care-ground) and the grid carry none.
MARKS = {
    "strip": ("within", "care", "ink", "line", "place"),
    "map": ("map-blown", "map-sheltered", "map-route", "map-home", "map-stop", "map-ramp", "map-spot", "map-wind"),
    "chart": ("range", "dot", "now", "edge", "main", "axis"),
}


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_marks_are_seen_against_their_ground(dark: bool, tmp_path: Path) -> None:
    """Each kind of mark alone in its figure has pixels of at least 3:1 to the ground."""
    page = to_html(built("demo").briefing)
    style = re.search(r"<style>(.*?)</style>", page, re.S)
    assert style
    cells = []
    for figure, marks in MARKS.items():
        drawn = [one for one in re.findall(r"<svg.*?</svg>", page, re.S) if re.match(rf'<svg[^>]*class="{figure}', one)]
        assert drawn, figure
        for mark in marks:
            there = [one for one in drawn if re.search(rf'class="(?:[^"]* )?{mark}[ "]', one)]
            assert there, (figure, mark)
            cells.append((mark, there[0]))
    step = 460
    rules = "".join(
        f"#c{n} svg :not(defs):not(defs *){{visibility:hidden}}"
        f"#c{n} svg .{mark},#c{n} svg .{mark} *{{visibility:visible}}"
        for n, (mark, _) in enumerate(cells)
    )
    divs = "".join(
        f'<div id="c{n}" style="position:absolute;left:0;top:{n * step}px;width:370px;height:{step}px;overflow:hidden">'
        f"{svg}</div>"
        for n, (_, svg) in enumerate(cells)
    )
    path, png = tmp_path / "marks.html", tmp_path / "marks.png"
    path.write_text(
        f'<!doctype html><meta charset="utf-8"><meta name="color-scheme" content="light dark"><style>{style[1]}{rules}'
        f"body{{margin:0;padding:0;max-width:none}}</style><body>{divs}</body>",
        encoding="utf-8",
    )
    picture(path, png, 390, step * len(cells), dark=dark)
    pixels = np.asarray(Image.open(png).convert("RGB"), dtype=float)[:, :370] / 255.0
    assert pixels.shape[0] >= step * len(cells)
    faint = {}
    for n, (mark, _) in enumerate(cells):
        light = luminance(pixels[n * step : (n + 1) * step]).ravel()
        ground = np.median(light)
        assert bool(ground < 0.2) is dark, "the scheme that was asked for"
        ratio = (np.maximum(light, ground) + 0.05) / (np.minimum(light, ground) + 0.05)
        if np.count_nonzero(ratio >= 3.0) < 12:
            faint[mark] = round(float(ratio.max()), 2)
    assert faint == {}
