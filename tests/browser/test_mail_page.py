"""The mail's HTML as a phone and a narrow window show it, with images off, light and dark."""

import re

import pytest

from briefing.pipeline.demo import make_demo
from briefing.report.mail import mail_parts
from tests.browser.chromium import measure
from tests.browser.test_page import contrast
from tests.mornings import built

PROBE = """
result.scroll = document.documentElement.scrollWidth;
result.inner = window.innerWidth;
result.small = [...document.querySelectorAll('p,li,td,th,dd,dt,h1,h2,h3,h4')]
  .filter(e => e.textContent.trim() && parseFloat(getComputedStyle(e).fontSize) < 12).length;
result.first = document.querySelector('#h-cautions').getBoundingClientRect().top;
result.ground = getComputedStyle(document.body).backgroundColor;
result.stop = [...document.querySelectorAll('.card')].map(e => getComputedStyle(e).backgroundColor);
"""


@pytest.fixture(scope="module")
def html() -> str:
    return mail_parts(make_demo().built.briefing, "abc").html


@pytest.mark.parametrize("name", ["stale", "no window", "rich"])
def test_a_strip_of_any_kind_fits_a_phone(name: str) -> None:
    found = measure(mail_parts(built(name).briefing, "abc").html, 320, PROBE)
    assert found["scroll"] <= found["inner"]


@pytest.mark.parametrize("width", [320, 390, 600])
def test_it_fits_and_reads_with_images_off(html: str, width: int) -> None:
    found = measure(re.sub(r"<img [^>]*>", "", html), width, PROBE)
    assert found["scroll"] <= found["inner"]
    assert found["small"] == 0
    assert width < 390 or found["first"] < 844, "the day stands on the first screen of a phone"
    assert found["ground"] == "rgb(255, 255, 255)"
    assert set(found["stop"]) == {"rgb(251, 228, 230)"}, "a stop keeps its ground, written into the element"


def test_text_and_grounds_keep_their_contrast_in_both_schemes(html: str) -> None:
    light = re.findall(r"background: ?(#[0-9a-f]{6})", html.split("<body")[1])
    assert light
    for ground in set(light):
        assert contrast("#1b2226", ground) >= 4.5, ground
    dark = html.split("prefers-color-scheme:dark", 1)[1].split("</style>")[0]
    grounds = re.findall(r"background:(#[0-9a-f]{6})", dark)
    assert len(grounds) >= 5
    for ground in grounds:
        assert contrast("#e8edef", ground) >= 4.5, ground
