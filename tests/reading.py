"""What a reader meets of a page, a mail or a text, counted as the caps count it."""

from __future__ import annotations

import re
from html.parser import HTMLParser

#: Elements that end a sentence, whatever stands at their end.
_BLOCKS = frozenset({"p", "h1", "h2", "h3", "li", "td", "th", "tr", "figcaption", "caption", "summary", "dt", "dd"})
_EMPTY = frozenset({"meta", "br", "img", "link", "hr", "input"})


class _Reader(HTMLParser):
    """Collects the text of what is shown, a line a block."""

    def __init__(self, *, folded: bool, strip: bool) -> None:
        super().__init__()
        self.folded, self.strip = folded, strip
        self.parts: list[str] = []
        self.hidden: list[bool] = []
        self.tags: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in _EMPTY:
            return
        kinds = (dict(attrs).get("class") or "").split()
        hide = (
            tag in ("style", "svg", "title", "head")
            or ("aria-hidden", "true") in attrs
            or "asissued" in kinds
            or "print-only" in kinds
            or (not self.strip and bool({"hours-strip", "strip"} & set(kinds)))
        )
        inside = bool(self.hidden and self.hidden[-1])
        if self.folded and "details" in self.tags:
            # of what is folded only the line to tap is seen; details stand in no other details
            within = self.tags[self.tags.index("details") :]
            hide = hide or (tag != "summary" and "summary" not in within)
        self.hidden.append(hide or inside)
        self.tags.append(tag)
        if tag in _BLOCKS:
            self.parts.append("\n")

    def handle_endtag(self, tag: str) -> None:
        while self.tags and self.tags.pop() != tag:
            self.hidden.pop()
        if self.hidden:
            self.hidden.pop()
        if tag in _BLOCKS:
            self.parts.append("\n")

    def handle_data(self, data: str) -> None:
        if not (self.hidden and self.hidden[-1]) and not (self.folded and self.tags and self.tags[-1] == "details"):
            self.parts.append(data.replace("\n", " "))


def shown(html: str, *, folded: bool = True, strip: bool = False) -> str:
    """The text of a page as it is first seen, a line a block: no shapes, no official text as issued.

    ``folded``: without what stands one tap below. ``strip``: with the strip of the hours.
    """
    reader = _Reader(folded=folded, strip=strip)
    reader.feed(html)
    lines = (re.sub(r"\s+", " ", line).strip() for line in "".join(reader.parts).split("\n"))
    return "\n".join(line for line in lines if line)


def words(text: str) -> list[str]:
    """Words as they count against a cap: no shapes, no clock times, no date."""
    text = re.sub(r"\b[A-Z][a-z]{2} \d{1,2} [A-Z][a-z]{2}\b", "", text)
    found = [word for word in text.split() if re.search(r"\w", word)]
    return [word for word in found if not re.fullmatch(r"\(?\d\d:\d\d\)?[.,;:]?", word)]


def sentences(text: str) -> list[str]:
    """The sentences of a text, a line being one at least; colons and semicolons end none."""
    found = (part.strip() for line in text.split("\n") for part in re.split(r"(?<=[.!?])\s+(?=[A-Z△■○?\d])", line))
    return [one for one in found if re.search(r"\w", one)]
