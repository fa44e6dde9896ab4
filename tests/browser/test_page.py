"""The saved page as a phone and a desktop show it, and as a reader without scripts, network or colour gets it."""

import re

import pytest

from briefing.pipeline.build import build
from briefing.pipeline.demo import make_demo
from briefing.pipeline.made import render
from briefing.pipeline.tables import load_tables
from tests.browser.chromium import measure
from tests.scenarios import SCENARIOS, inputs_of

OVERFLOW = """
result.scroll = document.documentElement.scrollWidth;
result.inner = window.innerWidth;
result.wide = [...document.querySelectorAll('body *')]
  .filter(e => e.getBoundingClientRect().right > window.innerWidth + 1 && !e.closest('svg'))
  .map(e => e.tagName + '.' + e.className).slice(0, 5);
result.small = [...document.querySelectorAll('p,li,td,th,dd,dt,h1,h2,h3,h4,summary,small')]
  .filter(e => e.textContent.trim() && parseFloat(getComputedStyle(e).fontSize) < 12).length;
result.charts = document.querySelectorAll('svg[role=img] > title').length;
result.first = document.querySelector('#h-cautions').getBoundingClientRect().top;
"""


@pytest.fixture(scope="module")
def page() -> str:
    return make_demo().html


@pytest.mark.parametrize("width", [390, 1280])
def test_nothing_is_wider_than_the_screen_and_text_is_readable(page: str, width: int) -> None:
    found = measure(page, width, OVERFLOW)
    assert found["inner"] == width
    assert found["scroll"] <= found["inner"], found["wide"]
    assert found["wide"] == []
    assert found["small"] == 0
    assert found["charts"] >= 3


def test_the_day_and_the_first_caution_stand_on_the_first_screen_of_a_phone(page: str) -> None:
    assert measure(page, 390, OVERFLOW)["first"] < 844


def test_the_page_asks_nothing_of_the_network_and_runs_no_script(page: str) -> None:
    assert "<script" not in page
    addresses = [a for a in re.findall(r"https?://[^\s\"'<>]+", page) if a != "http://www.w3.org/2000/svg"]
    assert not [a for a in addresses if f'src="{a}' in page or f"url({a}" in page]
    assert "@import" not in page
    assert len(page.encode("utf-8")) <= 300_000


def contrast(first: str, second: str) -> float:
    def luminance(colour: str) -> float:
        parts = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
        linear = [p / 12.92 if p <= 0.03928 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    high, low = sorted((luminance(first), luminance(second)), reverse=True)
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("theme", [0, 1], ids=["light", "dark"])
def test_text_contrast_is_at_least_aa_in_both_themes(page: str, theme: int) -> None:
    blocks = re.findall(r":root\{([^}]*)\}", page)
    colours = dict(re.findall(r"--([a-z-]+):(#[0-9a-f]{6})", blocks[theme]))
    grounds = ["bg", "card", "within-bg", "caution-bg", "unknown-bg", "stop-bg"]
    for ground in grounds:
        assert contrast(colours["fg"], colours[ground]) >= 4.5, ground
    for ground in ("bg", "card"):
        assert contrast(colours["soft"], colours[ground]) >= 4.5
    for level in ("within", "caution", "unknown", "stop"):
        assert contrast(colours[level], colours[f"{level}-bg"]) >= 4.5, level
        assert contrast(colours[level], colours["bg"]) >= 4.5, level
    for row in ("stop-bg", "unknown-bg"):
        assert contrast(colours["soft"], colours[row]) >= 4.5, row


def test_level_is_said_by_word_and_shape(page: str) -> None:
    for row in re.findall(r'<tr class="lv-[a-z_]+">.*?</tr>', page, re.S):
        assert re.search(r"[○△?■]</span> (within|caution|unknown|STOP)</b>", row)


TOP = """
const card = document.querySelector('.glance'), head = card.querySelector('h1'), mark = head.querySelector('.shape');
result.shape = mark.textContent; result.hidden = mark.getAttribute('aria-hidden');
result.first = head.firstElementChild === mark && head.textContent.trim().startsWith(mark.textContent);
result.read = [...head.childNodes].filter(n => n !== mark).map(n => n.textContent).join('').trim();
result.size = parseFloat(getComputedStyle(mark).fontSize);
"""
WORDS = {
    "○": "within your limits",
    "△": "within your limits, with care",
    "■": "stay ashore",
    "?": "not known: no hours can be given",
}


@pytest.mark.parametrize(
    ("name", "shape"),
    [("north_summer_calm", "△"), ("highland_winter_cold_water", "■"), ("highland_autumn_no_thunder_data", "?"),
     ("south_autumn_fixed_launch_over_limits", "■")],
)  # fmt: skip
def test_the_top_card_is_told_by_shape_and_word(name: str, shape: str) -> None:
    inputs = inputs_of(SCENARIOS[name])
    found = measure(render(build(inputs, load_tables()), inputs.gathered).html, 390, TOP)
    assert (found["shape"], found["hidden"], found["first"]) == (shape, "true", True)
    assert str(found["read"]).lower() == WORDS[shape]
    assert float(str(found["size"])) >= 16


CONTROLS = """
const said = e => (e.getAttribute('aria-label') || e.textContent).trim().replace(/\\s+/g, ' ').toLowerCase();
result.names = [...document.querySelectorAll('summary, a[href], button, input')].map(said);
result.low = [...document.querySelectorAll('summary')].filter(e => e.getBoundingClientRect().height < 44).length;
"""
#: What only paper shows, shown on the screen; the sources of the reminders stay there.
PRINTED = """
const seen = [...document.querySelectorAll('p, li')].filter(e => e.checkVisibility()).map(e => e.textContent.trim());
const below = [...document.querySelectorAll('details.paper p, details.paper li')]
  .filter(e => !e.matches('.screen-only'));
const folded = below.map(e => e.textContent.trim()).filter(t => t);
result.folded = folded.length;
result.lost = folded.filter(text => !seen.includes(text)).slice(0, 5);
const times = (all, text) => all.filter(one => one === text).length;
result.twice = folded.filter(text => times(seen, text) > times(folded, text));
result.controls = [...document.querySelectorAll('summary')].filter(e => e.checkVisibility()).length;
"""


def test_no_two_controls_have_the_same_words(page: str) -> None:
    found = measure(page, 390, CONTROLS)
    names = found["names"]
    assert isinstance(names, list)
    assert len(names) >= 9
    assert [name for name in names if names.count(name) > 1] == []
    assert any(name.startswith("island ring, 0") and name.endswith(": why, boat, way") for name in names)
    assert found["low"] == 0, "a control is lower than a fingertip"


def test_what_is_folded_on_the_screen_stands_open_on_paper(page: str) -> None:
    on_screen = measure(page, 700, PRINTED)
    assert on_screen["lost"] != [], "the details are closed on the screen"
    on_paper = measure(page.replace("@media print{", "@media all{"), 700, PRINTED)
    assert int(str(on_paper["folded"])) > 20
    assert (on_paper["lost"], on_paper["twice"], on_paper["controls"]) == ([], [], 0)
