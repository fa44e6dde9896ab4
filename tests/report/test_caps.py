"""Words, sentences, numbers and lines of every kind of morning, as a reader meets them in page, mail and text."""

from __future__ import annotations

import re
from collections import Counter
from functools import cache

import pytest

from briefing.report.mail import mail_parts
from briefing.report.render import to_html, to_text
from tests.mornings import MORNINGS, built
from tests.reading import sentences, shown, words

pytestmark = [pytest.mark.long, pytest.mark.usefixtures("remembered")]

#: Of the page as it is first seen: words, words of a sentence at most and on average, and the length of a repeat.
PAGE_WORDS, SENTENCE_WORDS, MEAN_WORDS, REPEAT_WORDS = 750, 25, 12, 6
MAIL_WORDS, MAIL_BYTES = 1800, 40_000
TEXT_LINES = 200


@cache
def page(name: str) -> str:
    return shown(to_html(built(name).briefing))


@pytest.mark.parametrize("name", MORNINGS)
def test_the_page_is_short_and_so_are_its_sentences(name: str) -> None:
    assert len(words(page(name))) <= PAGE_WORDS
    lengths = [len(words(one)) for one in sentences(page(name))]
    told = [length for length in lengths if length]
    assert sum(told) / len(told) <= MEAN_WORDS
    assert [one for one in sentences(page(name)) if len(words(one)) > SENTENCE_WORDS] == []


@pytest.mark.parametrize("name", MORNINGS)
def test_no_sentence_stands_twice_on_the_page(name: str) -> None:
    found = Counter(one for one in sentences(page(name)) if len(words(one)) >= REPEAT_WORDS)
    assert [one for one, times in found.items() if times > 1] == []


@pytest.mark.parametrize("name", MORNINGS)
def test_the_mail_is_short_and_small(name: str) -> None:
    html = mail_parts(built(name).briefing, "x").html
    assert len(html.encode()) <= MAIL_BYTES
    assert len(words(shown(html, folded=False))) <= MAIL_WORDS


@pytest.mark.parametrize("name", MORNINGS)
def test_the_text_is_short(name: str) -> None:
    briefing = built(name).briefing
    text = to_text(briefing)
    issued = " ".join(
        text for one in briefing.cautions.official for text in (one.headline, one.description, one.instruction)
    )
    as_issued = sum(bool(line.strip()) and line.strip() in re.sub(r"\s+", " ", issued) for line in text.split("\n"))
    assert text.count("\n") - as_issued <= TEXT_LINES


def test_what_is_counted() -> None:
    html = (
        "<main><p>One two 07:15.</p><svg><text>three</text></svg><details><summary>Four</summary><p>five</p></details>"
        '<div class="print-only"><p>six</p></div><figure class="hours-strip"><p>seven</p></figure>'
        '<p><span aria-hidden="true">eight</span> Nine. Ten eleven; twelve.</p><p class="asissued">thirteen</p></main>'
    )
    assert shown(html) == "One two 07:15.\nFour\nNine. Ten eleven; twelve."
    assert words(shown(html)) == ["One", "two", "Four", "Nine.", "Ten", "eleven;", "twelve."]
    assert words(shown(html, folded=False, strip=True))[:5] == ["One", "two", "Four", "five", "seven"]
    assert sentences("Nine. Ten eleven; twelve.\nThirteen") == ["Nine.", "Ten eleven; twelve.", "Thirteen"]
