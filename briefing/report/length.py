"""How long a rendered page or mail is, so that a rich morning can be told in fewer words.

Official texts as issued, the strip, drawings and, on the page, what is folded don't count.
"""

from __future__ import annotations

import re

#: What a reader has time for: visible words of a page, words on a sheet of paper, words of a mail, lines of a text.
PAGE_WORDS, PAPER_WORDS, MAIL_WORDS, TEXT_LINES = 750, 1910, 1800, 200
#: Degrees of brevity, from everything to the least.
DEGREES = range(5)
#: From this many visits and kinds of bass on, a kind counting as two visits, the full form is not tried.
_MUCH = 12
#: From this many kinds of bass on, a step is left out at once: it costs a page little.
_MANY_FORMS = 3
_UNSEEN = (
    ("<style", "</style>"),
    ("<svg", "</svg>"),
    ('<figure class="hours-strip"', "</figure>"),
    ('<table class="strip"', "</table>"),
    ('<p class="asissued"', "</p>"),
)
_TEXT = re.compile(r">([^<]+)")
_PAPER = ('<div class="print-only"', "</div>")


def first_degree(visits: int, forms: int) -> int:
    """The degree to begin with: the full form, unless so much is to be told that it would be too long anyway."""
    return 2 if visits + 2 * forms >= _MUCH else 1 if forms >= _MANY_FORMS else 0


def page_words(html: str) -> tuple[int, int]:
    """Words that are seen before anything is unfolded, and words on paper."""
    html = _seen(html)
    return _count(_folded(_cut(html, *_PAPER), summaries=True)), _count(_folded(html, summaries=False))


def mail_words(html: str) -> int:
    """All words of a mail, in which nothing is folded."""
    return _count(_seen(html))


def _seen(html: str) -> str:
    for begin, end in _UNSEEN:
        html = _cut(html, begin, end)
    return html


def _cut(html: str, begin: str, end: str) -> str:
    first, *parts = html.split(begin)
    return first + "".join(part.partition(end)[2] for part in parts)


def _folded(html: str, *, summaries: bool) -> str:
    first, *parts = html.split("<details")
    out = [first]
    for part in parts:
        summary, _, rest = part.partition("</summary>")
        out += [summary.partition("<summary>")[2] if summaries else "", " ", rest.partition("</details>")[2]]
    return "".join(out)


def _count(html: str) -> int:
    return len(" ".join(_TEXT.findall(f">{html}")).split())
