"""What is not known this morning: each missing or stale input and what that means."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence

from briefing.core.advice.measures import localised
from briefing.core.gathered import Problem
from briefing.sections.quantity import SectionModel
from briefing.sections.words import listed
from briefing.units import Units

_UNIT_ENDING = re.compile(r"_(?:m|km|km2|mps|c|pct|deg|min|h)$")
#: What is missing when a source gave trouble, in a few words.
SOURCE_SHORT = {
    "nws": "part of the forecast",
    "nws_points": "the forecast",
    "nws_grid": "part of the forecast",
    "nws_text": "part of the forecast",
    "open_meteo": "part of the second forecast",
    "open_meteo_archive": "past weather",
    "nws_alerts": "official warnings",
    "wind_now": "the wind now",
    "ndbc": "the buoy",
    "usgs": "water and level at the gauge",
    "store": "newer weather",
    "air": "past air temperatures",
    "user": "part of your file",
    "services": "one of the services",
    "clock": "the right time",
}


#: What fields of a lake are called, where not by their own name.
_FIELD_SAID = {
    "alone": "whether you go alone",
    "forage": "what the bass feed on",
    "kind": "kind of water",
    "reentry_practised": "getting back in",
    "max_depth": "greatest depth",
}


def _said(field: str) -> str:
    name = _UNIT_ENDING.sub("", field)
    return _FIELD_SAID.get(name, name.replace("_", " "))


class Missing(SectionModel):
    """One input that is missing, stale or refused, and the consequence for the text above.

    ``short`` names it in a few words, ``shortest`` in the fewest. ``serious``: the hours rest on it.
    """

    short: str
    shortest: str
    serious: bool
    what: str
    means: str

    @classmethod
    def of(cls, short: str, what: str, means: str, *, serious: bool, shortest: str = "") -> Missing:
        """In the order of what is read first."""
        return cls(short=short, shortest=shortest or short, serious=serious, what=what, means=means)


class UnknownSection(SectionModel):
    """Empty ``items`` is said in words: nothing that was asked for is missing."""

    items: tuple[Missing, ...]


def fill_unknown(
    problems: Sequence[Problem],
    guessed: Mapping[str, str],
    extra: Sequence[Missing] = (),
    *,
    system: Units,
    told: Collection[Problem] = (),
) -> UnknownSection:
    """What services failed to give, serious ones first, then ``extra``, then guessed fields.

    ``told`` stand in full at the top of the page and are only named here; a meaning stands once.
    """
    items: list[Missing] = []
    meanings: set[str] = set()
    for p in sorted(problems, key=lambda p: not p.serious):
        short = p.short or SOURCE_SHORT.get(p.source, p.source.replace("_", " "))
        if p in told:
            what, means = f"{short[:1].upper()}{short[1:]}:", "told among the cautions."
        else:
            what, means = localised(p.missing, system), localised(p.meaning, system)
        items.append(Missing.of(short, what, "" if means in meanings else means, serious=p.serious))
        meanings |= {means} if p not in told else set()
    items += extra
    if guessed:
        names = listed(sorted(map(_said, guessed)))
        items.append(
            Missing.of(
                "details of the lake",
                "Guessed, because the lake's profile doesn't say:",
                f"{names}. A line in the profile replaces each guess.",
                serious=False,
            )
        )
    return UnknownSection(items=tuple(items))
