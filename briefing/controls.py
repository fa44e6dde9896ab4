"""Control characters that come in with names, notes and bodies of services: none reaches a terminal or a page."""

from __future__ import annotations

import re

#: Control characters of ASCII and beyond it, separators of lines, marks that turn the direction of writing.
_CONTROLS = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff\ud800-\udfff]")


def without_controls(page: str) -> str:
    """Put a space for what moves a cursor or turns the direction of writing; line ends and tabs stay."""
    return _CONTROLS.sub(" ", page)


def escaped_controls(text: str) -> str:
    """Write the control characters that JSON allows in strings as escapes, so that no terminal obeys them."""
    return _CONTROLS.sub(lambda found: f"\\u{ord(found[0]):04x}", text)
