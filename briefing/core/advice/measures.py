"""Measures inside fixed sentences in the reader's units: ``{m:8}``, ``{cm:10-30}``, ``{c:27}``, ``{mps:4}``.

Where both are round numbers of their own they are written out, ``{60 F|16 C}``: US, then metric.
"""

from __future__ import annotations

import re

from briefing.units import Units

_PROPER = ("Texas", "Carolina", "Ned")
_MARK = re.compile(r"\{(m|cm|c|mps):(-?[0-9.]+)(?:-([0-9.]+))?\}")
_EITHER = re.compile(r"\{([^{}|:]+)\|([^{}|:]+)\}")
_US = {"m": ("ft", 3.28084, 0.0), "cm": ("in", 1 / 2.54, 0.0), "c": ("F", 1.8, 32.0), "mps": ("mph", 2.23694, 0.0)}
_METRIC = {"m": "m", "cm": "cm", "c": "C", "mps": "m/s"}


def in_text(name: str) -> str:
    """A lure's name inside a sentence: small, but for what is written large anyway."""
    return name if name.startswith(_PROPER) else f"{name[:1].lower()}{name[1:]}"


def localised(text: str, units: Units) -> str:
    """The sentence with every marked measure in one system: "10 to 30 cm" or "4 to 12 in"."""
    text = _EITHER.sub(lambda found: found[1 if units == "us" else 2], text)
    return _MARK.sub(lambda found: _shown(found, units), text)


def either(us: str, metric: str) -> str:
    """A measure in both systems for a sentence made before its reader is known; `localised` picks one."""
    return f"{{{us}|{metric}}}"


def _shown(found: re.Match[str], units: Units) -> str:
    kind, low, high = found.groups()
    values = [float(low)] + ([float(high)] if high else [])
    if units == "us":
        word, times, plus = _US[kind]
        shown = [f"{value * times + plus:.0f}" for value in values]
    else:
        word = _METRIC[kind]
        shown = [f"{value:g}" for value in values]
    return f"{' to '.join(dict.fromkeys(shown))} {word}"
