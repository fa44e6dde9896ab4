"""A reading in plain words: "water 61", "wind S 10-15 gusting 20", "stained", "level up 4 in"."""

from __future__ import annotations

import re
from dataclasses import dataclass

from briefing.errors import InputError

_TENS = {"twenty": 20, "thirty": 30, "forty": 40, "fifty": 50, "sixty": 60, "seventy": 70, "eighty": 80, "ninety": 90}
_ONES = {
    **{"one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9, "ten": 10},
    **{"eleven": 11, "twelve": 12, "thirteen": 13, "fourteen": 14, "fifteen": 15, "sixteen": 16, "seventeen": 17},
    **{"eighteen": 18, "nineteen": 19, "zero": 0},
}
_SPELLED = re.compile(rf"\b(?:({'|'.join(_TENS)})(?:[ -]({'|'.join(_ONES)}))?|({'|'.join(_ONES)}))\b")
_NUMBER = r"[0-9]+(?:\.[0-9]+)?"
_POINT = r"(?:nne|ene|ese|sse|ssw|wsw|wnw|nnw|ne|nw|se|sw|n|e|s|w|north|south|east|west)(?:erly)?"
_SPEED_UNIT = r"(?: ?(?:mph|kts?|kn|knots|m/s|km/h))?"
_DEGREES = r" ?(?:°? ?[fc]|degrees?(?: ?[fc])?)?"
_WATER = re.compile(rf"(?:the )?(?:water|surface)(?: ?temp(?:erature)?)?(?: is| was| at|:)? ({_NUMBER}{_DEGREES})")
_LENGTH = rf"(?:{_NUMBER}|a) ?(?:in|inch|inches|ft|foot|feet|cm|m)"
_CLARITY = re.compile(r"(?:water )?(?:clarity|visibility|vis|secchi)(?: is| was|:)? (.+)")
_SEEN_DOWN = re.compile(
    rf"(?:(?:i|you|we) )?(?:can )?(?:see|clear|visible)(?: (?:my|a|the)(?: white)? (?:lure|bait|jig|bottom))?"
    rf"(?: down)?(?: to| at)? ({_LENGTH})(?: down)?"
)
_WIND = re.compile(
    rf"(?:the )?(?:winds?|blowing)(?: is| was)?(?: from| out of)?(?: the)? ?(?:({_POINT}) ?)?(?:at )?"
    rf"(calm|none|still|{_NUMBER}(?: ?(?:-|to) ?{_NUMBER})?{_SPEED_UNIT})"
    rf"(?:,? (?:and )?(?:gusts?|gusting)(?: to| of)? ({_NUMBER}{_SPEED_UNIT}))?"
    rf"(?: (?:from|out of)(?: the)? ({_POINT}))?"
)
_STILL = frozenset({"calm", "no wind", "dead calm", "flat calm", "slick calm", "glass"})
_GUSTS_ALONE = re.compile(rf"gust(?:s|ing)?(?: to| of)? {_NUMBER}{_SPEED_UNIT}")
_LEVEL = re.compile(
    rf"(?:the )?(?:(?:water|lake|pool)(?: level)?|level|it)?(?: is| was)?:? ?"
    rf"(up|down|\+|-|rising|falling|dropping|coming up|going down|steady|stable|holding)(?: by)?"
    rf"(?: ?(?:about )?{_LENGTH})?(?: since \w+)?"
)
_TRENDS = {
    **dict.fromkeys(("up", "+", "rising", "coming up"), "rising"),
    **dict.fromkeys(("down", "-", "falling", "dropping", "going down"), "falling"),
    **dict.fromkeys(("steady", "stable", "holding"), "steady"),
}
_THUNDER = re.compile(r"(?:(?:i |we )?(?:heard|saw|seen) )?(?:thunder|lightning)(?:,? (?:to|in|from) the \w+)?")
_NO_WARNING = re.compile(r"no (?:warnings?|alerts?|advisor(?:y|ies)|watch(?:es)?)(?: in force| out)?")
_WARNING = re.compile(r"(?P<event>.*\b(?:advisory|warning|watch|statement))(?:,? until (?P<until>.+))?")
_PLANTS = re.compile(
    r"(?:the )?(?:plants?|hydrilla|milfoil|grass|weeds?|coontail|eelgrass|cabbage|pads|lily pads|vegetation)"
    r"(?: is| are)? (?P<rest>.+)"
)
#: What is taken off the front of a colour or murk.
_IS = re.compile(r"^(?:(?:the )?(?:water|lake)(?: is| looks)?|colou?r(?: is)?:?|it(?: is|'s)|looks) ")
_BARE = re.compile(rf"{_NUMBER}(?: ?degrees?)?")
#: Water colours as people call them.
_COLOURS = {
    **{
        "muddy": "muddy",
        "mud": "muddy",
        "chocolate milk": "muddy",
        "tannic": "tannic",
        "tea": "tannic",
        "tea stained": "tannic",
    },
    **{"green": "green", "clear": "clear", "gin clear": "clear"},
}
#: What a word for murk is taken for, m: the middle of its class in ``config/log.toml``.
_MURK = {"stained": "1.0 m", "dirty": "0.4 m", "murky": "0.4 m"}


@dataclass(frozen=True, slots=True)
class SaidReading:
    """A kind of reading with its value as it is typed in full, and what a wind says beside."""

    kind: str
    value: str
    gust: str | None = None
    wind_from: str | None = None
    until: str | None = None


_CLOCK = r"(?:[0-9]{1,2}:[0-9]{2}(?: ?[ap]m)?|[0-9]{1,2} ?[ap]m|noon)"
_DAY = r"(?:today|yesterday|this (?:morning|afternoon|evening)|[0-9]{4}-[0-9]{2}-[0-9]{2})"
_SEEN = re.compile(
    rf"(?P<what>.+?),? (?:at )?(?P<when>{_DAY}(?:,? (?:at )?{_CLOCK})?"
    rf"|{_CLOCK}|[0-9]+ ?(?:m|min|mins|minutes?|h|hours?|d|days?) ago|now)",
    re.IGNORECASE,
)


def what_and_when(text: str) -> tuple[str, str | None]:
    """Part a line in what was seen and the time at its end, as typed: "61F", "yesterday 6pm"; None without one."""
    tidy = " ".join(text.split())
    if _WARNING.fullmatch(tidy.lower()):  # what stands at its end is when it ends
        return text, None
    match = _SEEN.fullmatch(tidy)
    if match is None:
        return text, None
    when = re.sub(r"this (?:morning|afternoon|evening)", "today", match["when"], flags=re.IGNORECASE)
    return match["what"], when.replace(",", "")


def spelled_out(text: str) -> str:
    """The text with numbers in words as figures: "sixty one" as "61"."""

    def figures(match: re.Match[str]) -> str:
        tens, ones, alone = match.groups()
        return str(_ONES[alone] if alone else _TENS[tens] + (_ONES[ones] if ones else 0))

    return _SPELLED.sub(figures, " ".join(text.lower().split()))


def said_reading(text: str) -> SaidReading | None:
    """What a line in plain words says; None where it is none of them.

    Raises InputError for a number that does not say what it measures.
    """
    tidy = spelled_out(text).rstrip(".!")
    murk = _IS.sub("", tidy).removesuffix(" water")
    if _BARE.fullmatch(tidy):
        number = tidy.partition(" ")[0]
        raise InputError(
            f"What is {number}? A water temperature is written {number}F or {number}C; else say the kind, such as: "
            "briefing reading add visibility 3ft"
        )
    if murk in _COLOURS:
        return SaidReading("colour", _COLOURS[murk])
    if murk in _MURK:
        return SaidReading("visibility", _MURK[murk])
    if match := _WATER.fullmatch(tidy):
        return SaidReading("water_temp", re.sub(r" ?degrees?", "", match[1]))
    if match := _CLARITY.fullmatch(tidy) or _SEEN_DOWN.fullmatch(tidy):
        return SaidReading("visibility", re.sub(r"^a ", "1 ", match[1]))
    if tidy in _STILL:
        return SaidReading("wind", "0 m/s")
    if _GUSTS_ALONE.fullmatch(tidy):
        raise InputError(
            f"{tidy!r}: how strong is the wind between them? Such as: briefing reading add wind 12 gusting 18"
        )
    if _THUNDER.fullmatch(tidy):
        return SaidReading("thunder", "")
    if _NO_WARNING.fullmatch(tidy):
        return SaidReading("alerts", "none")
    if (match := _WARNING.fullmatch(tidy)) and not tidy.startswith("alerts"):
        return SaidReading("alerts", " ".join(text.split())[: len(match["event"])], until=match["until"])
    if match := _WIND.fullmatch(tidy):
        return SaidReading(
            "wind", _speed(match[2]), match[3], (match[1] or match[4] or "").removesuffix("erly") or None
        )
    if match := _LEVEL.fullmatch(tidy):
        return SaidReading("level", _TRENDS[match[1]])
    if match := _PLANTS.fullmatch(tidy):
        rest = re.sub(r"\b(?:down|at|is|are|out|and)\b", " ", match["rest"])
        return SaidReading("plants", " ".join(rest.replace("matted", "topped").split()))
    return None


def _speed(text: str) -> str:
    """A speed in full: of a range its higher end, since less wind than there is would be worse."""
    if text in ("calm", "none", "still"):
        return "0 m/s"
    low, _, high = re.sub(r" ?to ?", "-", text).partition("-")
    return high.strip() or low
