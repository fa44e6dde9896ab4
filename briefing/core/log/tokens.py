"""The words of a log line: numbers with what they measure, and the words of the trade, in their order."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import time
from enum import Enum, auto
from typing import Any

from briefing import units
from briefing.core.log.parameters import LineWords


class Kind(Enum):
    """What a word or a group of words is."""

    COUNT = auto()  # int
    RANGE = auto()  # (float, float): two bare numbers, "6 to 10", "5-4"
    NUMBER = auto()  # float: a bare number that is no count, "5.4"
    LENGTHS = auto()  # (m, ...)
    LENGTH_RANGE = auto()  # (m, m)
    WEIGHT = auto()  # g, of a fish
    WEIGHTS = auto()  # (g, ...), of several
    OUNCES = auto()  # g, of a lure
    DEPTH = auto()  # m
    SPAN = auto()  # (time, time)
    CLOCK = auto()  # time
    SINCE = auto()  # time
    MINUTES = auto()  # float
    LURE = auto()  # id
    SEVERAL_LURES = auto()  # ids that a word may mean
    SPOT = auto()
    COVER = auto()
    MOMENT = auto()
    SPECIES = auto()
    COLOUR = auto()
    SAID = auto()  # one of the groups of [words.said]
    READING = auto()  # what is said of water or wind
    STOP = auto()  # the end of a clause
    IGNORED = auto()
    WORD = auto()


@dataclass(frozen=True, slots=True)
class Token:
    """A piece of the line: what it is, its text, what it says, and a further word on it (group, unit)."""

    kind: Kind
    text: str
    value: Any = None
    word: str = ""


_NUMBER_WORDS = {
    **{"a": 1, "an": 1, "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8},
    **{"nine": 9, "ten": 10, "eleven": 11, "twelve": 12, "thirteen": 13, "fourteen": 14, "fifteen": 15},
    **{
        "sixteen": 16,
        "twenty": 20,
        "thirty": 30,
        "no": 0,
        "zero": 0,
        "half a dozen": 6,
        "half dozen": 6,
        "a dozen": 12,
        "dozen": 12,
    },
    **{
        "a couple of": 2,
        "a couple": 2,
        "couple of": 2,
        "couple": 2,
        "a pair of": 2,
        "another": 1,
        "single": 1,
        "both": 2,
    },
}
_WORDS = "|".join(sorted(_NUMBER_WORDS, key=len, reverse=True))
_N = r"[0-9]+(?:[.,][0-9]+)?(?:[ -][0-9]/[0-9]{1,2})?"
_END = r"(?![a-z0-9/])"
_UNITS = r"ft\b|feet|foot|'|in\b|inch|\"|lb|pound|#|oz|ounce|m\b|cm|kg|g\b|fish|bass|keeper|bite|mph|[0-9]"
_UNIT_AHEAD = rf"(?! ?(?:-|to)? ?(?:{_UNITS}))"
_HALF = r"(?: ?(?P<{0}>[ap])\.?m\b\.?)"


def _t(name: str) -> str:
    """A clock time that says that it is one: with minutes, with am or pm, or noon."""
    half = _HALF.format(f"{name}half")
    says = r"(?=[0-9]{1,2}(?::[0-9]{2}| ?[ap]\.?m\b))"
    hour = rf"{says}(?P<{name}h>[0-9]{{1,2}})(?::(?P<{name}m>[0-9]{{2}}))?{half}?"
    return rf"(?:{hour}|(?P<{name}w>noon|midnight))"


def _bare(name: str) -> str:
    return rf"(?P<{name}b>[0-9]{{1,2}})"


_TO = r" ?(?:-|to|until|till|til|and) ?"
_INCH = r"(?:-| )?(?P<unit>inchers?|inches|inch|ins\b|in\b|\"|cms?|centimet(?:re|er)s?)"
_LIST = rf"(?P<list>{_N}(?:(?:, ?| ?& ?| and |, and ){_N})+)"
_HOURS = r"(?:h|hr|hrs|hours?)"
_FEW = "two|three|four|five|six|seven|eight|nine|ten|twelve|fifteen|twenty|thirty"
_MINS = r"(?:m|min|mins|minutes?)"
_OUNCES = r"[0-9]{1,2}[ -][0-9]{1,2}/[0-9]{1,2}|[0-9]{1,2}/[0-9]{1,2}"
#: "in" behind a number and a blank is not its unit where this follows.
_INSIDE = re.compile(
    r" ?(?:the|a|an|about|under|less|my|this|that|each|our|[0-9]+ ?(?:h|hr|hrs|hours?|min|mins|minutes?))\b"
)
#: A count stands before a fraction here: "lost 1 3/8 jig" is no jig of 1-3/8 oz.
_COUNTED = re.compile(r"(?:lost|missed|caught|landed|got|had|boated)\s+$")

_Maker = Callable[["re.Match[str]"], "Token | None"]


def number(text: str) -> float:
    """A number as it is typed: 15, 15.5, 15 1/2."""
    whole, _, part = re.sub(r"(?<=[0-9])-(?=[0-9]/)", " ", text).replace(",", ".").partition(" ")
    value = float(whole)
    if part:
        above, below = part.split("/")
        value += int(above) / int(below) if int(below) else 0.0
    return value


def _group(match: re.Match[str], name: str) -> str:
    return match.groupdict().get(name) or ""


def _clock_of(match: re.Match[str], name: str, half: str = "") -> time | None:
    word = _group(match, f"{name}w")
    if word:
        return time(12) if word == "noon" else time(0)
    bare = _group(match, f"{name}b")
    hour, minutes = int(bare or match[f"{name}h"]), int(_group(match, f"{name}m") or 0)
    half = _group(match, f"{name}half") or half
    if half:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if half == "p" else 0)
    elif bare and 1 <= hour <= 4:  # nobody means the hours after midnight
        hour += 12
    return time(hour, minutes) if hour < 24 and minutes < 60 else None


def _span(match: re.Match[str]) -> Token | None:
    second = _group(match, "thalf")
    begin = _clock_of(match, "s", half="" if _group(match, "shalf") or not second else _near(match, second))
    end = _clock_of(match, "t")
    if begin is None or end is None:
        return None
    if _group(match, "tb") and end <= begin and end.hour + 12 < 24:
        end = end.replace(hour=end.hour + 12)
    return Token(Kind.SPAN, match[0], (begin, end))


def _near(match: re.Match[str], half: str) -> str:
    """Which half of the day a start without one means beside an end that has one."""
    begin, end = int(_group(match, "sb") or _group(match, "sh") or 0), int(_group(match, "th") or 12)
    return half if begin % 12 < end % 12 else ("a" if half == "p" else "p")


def _single(kind: Kind) -> _Maker:
    def made(match: re.Match[str]) -> Token | None:
        at = _clock_of(match, "s")
        return None if at is None else Token(kind, match[0], at)

    return made


def _minutes(match: re.Match[str]) -> Token | None:
    hours, mins = _group(match, "h"), _group(match, "min") or _group(match, "min2")
    hours, mins = (str(_NUMBER_WORDS.get(text, text)) for text in (hours, mins))
    value = (number(hours) * 60.0 if hours else 0.0) + (number(mins) if mins else 0.0)
    value += 30.0 if _group(match, "andhalf") else 0.0
    return Token(Kind.MINUTES, match[0], value)


def _fixed_minutes(value: float) -> _Maker:
    return lambda match: Token(Kind.MINUTES, match[0], value)


def _metres(unit: str) -> float:
    return 0.01 if unit.startswith("c") else 0.0254


#: A smaller number in front of others with one unit is a count.
_LEAST_LISTED = 6.0


def _place(match: re.Match[str]) -> bool:
    """Whether "in" stands before a place or a time rather than behind a length: "5 in pads", "5 in 2 hours"."""
    if match["unit"] != "in" or match.string[match.start("unit") - 1] != " ":
        return False
    short = not _group(match, "list") and number(match["n"]) < 6.0
    return short or _INSIDE.match(match.string, match.end()) is not None


def _length(match: re.Match[str]) -> Token | None:
    if _place(match):
        return None
    unit = match["unit"]
    texts = re.findall(_N, _group(match, "list")) if _group(match, "list") else [match["n"]]
    if len(texts) > 1 and min(map(number, texts)) < _LEAST_LISTED:
        return None  # "lost 1, 16in": a count and a length
    times = int(_group(match, "times") or 1)
    return Token(Kind.LENGTHS, match[0], tuple(round(number(one) * _metres(unit), 4) for one in texts) * times, unit)


def _length_range(match: re.Match[str]) -> Token | None:
    if _place(match):
        return None
    scale = _metres(match["unit"])
    low, high = sorted((number(match["n"]) * scale, number(match["to"]) * scale))
    return Token(Kind.LENGTH_RANGE, match[0], (round(low, 4), round(high, 4)))


def _pounds(match: re.Match[str]) -> Token | None:
    unit = match["unit"]
    scale = 1000.0 if unit.startswith("k") else units.POUND_G
    if _group(match, "list"):
        texts = re.findall(_N, match["list"])
        return Token(Kind.WEIGHTS, match[0], tuple(round(number(one) * scale, 1) for one in texts), unit)
    grams = (number(match["n"]) + (0.5 if _group(match, "andhalf") else 0.0)) * scale
    grams += number(match["oz"]) * units.OUNCE_G if _group(match, "oz") else 0.0
    return Token(Kind.WEIGHT, match[0], round(grams, 1), unit)


def _fraction_pounds(match: re.Match[str]) -> Token | None:
    above, below = match["n"].split("/")
    return Token(Kind.WEIGHT, match[0], round(int(above) / int(below) * units.POUND_G, 1), "lb") if int(below) else None


def _ounces(match: re.Match[str]) -> Token | None:
    text = match["n"]
    if " " in text and _COUNTED.search(match.string[: match.start()]):
        return None
    if "/" in text and " " not in text and text.count("-") == 0:
        above, below = text.split("/")
        return Token(Kind.OUNCES, match[0], round(int(above) / int(below) * units.OUNCE_G, 3)) if int(below) else None
    return Token(Kind.OUNCES, match[0], round(number(text.replace("-", " ")) * units.OUNCE_G, 3))


#: From here on grams are a fish's.
_LIGHTEST_FISH_G = 120.0


def _grams(match: re.Match[str]) -> Token | None:
    value = number(match["n"])
    return Token(Kind.OUNCES if value <= _LIGHTEST_FISH_G else Kind.WEIGHT, match[0], value, "g")


def _depth(match: re.Match[str]) -> Token | None:
    scale = units.FOOT_M if match["unit"][0] in "f'" else 1.0
    value = number(match["n"]) * scale
    value = (value + number(match["to"]) * scale) / 2.0 if _group(match, "to") else value
    return Token(Kind.DEPTH, match[0], round(value, 3))


def _range(match: re.Match[str]) -> Token | None:
    return Token(Kind.RANGE, match[0], (number(match["n"]), number(match["to"])), match["sep"].strip())


def _count(match: re.Match[str]) -> Token | None:
    word = match["count"]
    return Token(Kind.COUNT, match[0], _NUMBER_WORDS[word] if word in _NUMBER_WORDS else int(word), word)


def _decimal(match: re.Match[str]) -> Token | None:
    return Token(Kind.NUMBER, match[0], number(match["n"]))


def _reading(match: re.Match[str]) -> Token | None:
    return Token(Kind.READING, match[0], match[0])


_COMPASS = r"(?:n|s|e|w|ne|nw|se|sw|nne|ene|ese|sse|ssw|wsw|wnw|nnw|north|south|east|west)"
_SPEED = r"[0-9]+(?: ?(?:-|to) ?[0-9]+)? ?(?:mph|kts?|knots|m/s|km/h)"
_DEGREES = r"(?:°|deg(?:rees?)?|f\b|c\b| f\b| c\b)*"
_FORMS: tuple[tuple[str, _Maker], ...] = (
    (rf"(?:from |between )?{_t('s')}{_TO}(?:{_t('t')}|{_bare('t')}{_UNIT_AHEAD})", _span),
    (rf"(?:from |between )?{_bare('s')}{_TO}{_t('t')}", _span),
    (rf"(?:from|between) {_bare('s')}{_TO}{_bare('t')}{_UNIT_AHEAD}", _span),
    (rf"(?:since|from) (?:{_t('s')}|{_bare('s')}{_UNIT_AHEAD})", _single(Kind.SINCE)),
    (rf"(?:at |@ ?|around |about |by |before |until |till |til )?{_t('s')}", _single(Kind.CLOCK)),
    (
        rf"(?:at |@ ?|until |till |til |by |before )(?P<sb>1[0-2]|[0-9])(?: ?o'?clock)?{_UNIT_AHEAD}",
        _single(Kind.CLOCK),
    ),
    (r"(?:for |in |over )?(?:about )?an? hours? and a half", _fixed_minutes(90.0)),
    (r"(?:for |in |over )?(?:about )?(?:a )?half an? hour|(?:for |in )?half hour", _fixed_minutes(30.0)),
    (r"(?:for |in |over )?(?:about )?an hour", _fixed_minutes(60.0)),
    (
        rf"(?:for |in |over )?(?:about |the )?(?:first |last )?(?P<h>{_N}|{_FEW})(?P<andhalf> and a half)? ?{_HOURS}"
        rf"(?:(?P<min>[0-9]{{1,2}})(?: ?{_MINS})?| (?:and )?(?P<min2>[0-9]{{1,2}}) ?(?:min|mins|minutes?))?",
        _minutes,
    ),
    (
        rf"(?:for |in |over )?(?:about |the )?(?:first |last )?(?P<min>[0-9]{{1,3}}|{_FEW}) ?(?:min|mins|minutes?)",
        _minutes,
    ),
    (rf"(?:(?P<times>[0-9]{{1,3}}) ?x ?)?(?:{_LIST}|(?P<n>{_N})) ?{_INCH}", _length),
    (rf"(?P<n>{_N}) ?(?:-|to) ?(?P<to>{_N}) ?{_INCH}", _length_range),
    (rf"between (?P<n>{_N}) ?(?:in|inch|inches)? ?and (?P<to>{_N}) ?{_INCH}", _length_range),
    (r"(?P<n>[0-9]{1,2}/[0-9]{1,2}) ?-?(?:lbs?|pounds?|pounders?)", _fraction_pounds),
    (
        rf"(?:{_LIST}|(?P<n>{_N})(?P<andhalf> and a half)?)(?: |-)?"
        rf"(?P<unit>lbers?|lbs?|pounders?|pounds?|#|kgs?|kilos?)\.?"
        rf"(?: ?,? ?(?P<oz>{_N}) ?(?:oz|ounces?))?",
        _pounds,
    ),
    (rf"(?P<n>{_OUNCES}|{_N}) ?-?(?:oz|ounces?|ouncer)", _ounces),
    (rf"(?P<n>{_OUNCES})", _ounces),
    (rf"(?P<n>{_N}) ?(?:g|gr|grams?)", _grams),
    (
        rf"(?:in |at )?(?P<n>{_N}) ?(?:(?:-|to) ?(?P<to>{_N}) ?)?-?(?P<unit>ft|feet|foot|'|metres?|meters?|m)"
        r"(?: of water| deep)?",
        _depth,
    ),
    (
        rf"(?:the )?(?:water|surface)(?: temp(?:erature)?s?)?(?: was| is| of| at|:)? [0-9]+(?:\.[0-9]+)? ?{_DEGREES}|"
        rf"[0-9]+(?:\.[0-9]+)? ?{_DEGREES} water|"
        rf"(?:the )?winds?(?: was| is| out of the| from the| from)? (?:{_COMPASS} )?"
        r"(?:[0-9]+(?: ?(?:-|to) ?[0-9]+)?|calm|light)(?: ?(?:mph|kts?|knots|m/s|km/h))?|"
        r"(?:the )?(?:water )?(?:clarity|visibility)(?: was| is|:)? [0-9]+(?:\.[0-9]+)? ?"
        r"(?:ft|feet|foot|in|inches|m|cm)|"
        r"(?:muddy|stained|clear|dirty|murky) water|"
        r"water (?:was |is )?(?:muddy|stained|clear|dirty|murky)|"
        rf"winds? [a-z ]{{0,24}}{_SPEED}(?: (?:from|out of) the [a-z]+)?|{_SPEED}(?: winds?)?|"
        r"[0-9]+ ?(?:degrees|deg)(?: ?[fc]\b)?|"
        r"(?:sunny|overcast|cloudy|rainy|raining|foggy|calm|windy|stained|murky|muddy)",
        _reading,
    ),
    (r"(?P<n>[0-9]{1,3})(?P<sep> ?- ?| to | or )(?P<to>[0-9]{1,3})", _range),
    (r"(?P<n>[0-9]{1,2}[.,][0-9]{1,2})", _decimal),
    (rf"(?P<count>[0-9]{{1,3}}|{_WORDS})", _count),
)
_PATTERNS = tuple((re.compile(f"(?:{form}){_END}"), maker) for form, maker in _FORMS)
_STOP = re.compile(r"[.!?;](?= |$)|,|(?:and then|then|but|and)(?= )|&|\+")


def tidy(text: str) -> str:
    """The text in small letters with plain quotes, dashes and single blanks."""
    out = text.lower()
    for old, new in (("”", '"'), ("″", '"'), ("“", '"'), ("’", "'"), ("′", "'"), ("–", "-"), ("—", "-"), ("½", " 1/2"),
                     ("¼", " 1/4"), ("¾", " 3/4"), ("\t", " "), ("\n", "; "), ("\r", " ")):  # fmt: skip
        out = out.replace(old, new)
    return " ".join("".join(sign if sign.isprintable() else " " for sign in out).split())


def phrases_of(
    words: LineWords, names: Mapping[str, str], spots: Sequence[str]
) -> dict[str, list[tuple[str, Kind, object, str]]]:
    """Known phrases by their first letter, longest first, the lake's own spots before all else of the same length."""
    rows: list[tuple[str, Kind, object, str]] = [(tidy(spot), Kind.SPOT, spot, "") for spot in spots]
    short = {spot: tidy(spot).partition(" ")[2] for spot in spots if len(tidy(spot).split()) > 2}
    rows += [(name, Kind.SPOT, spot, "") for spot, name in short.items() if list(short.values()).count(name) == 1]
    rows += [(word, Kind.LURE, id_, "") for id_, list_ in words.presentation.items() if id_ in names for word in list_]
    rows += [(tidy(name), Kind.LURE, id_, "") for id_, name in names.items()]
    rows += [(form, Kind.LURE, id_, "") for id_ in names for form in (id_.replace("_", " "), id_)]
    rows += [(word, Kind.COVER, cover, "") for cover, list_ in words.cover.items() for word in (*list_, cover.value)]
    rows += [(word, Kind.MOMENT, moment, "") for moment, list_ in words.moment.items() for word in list_]
    rows += [(word, Kind.SPECIES, species, "") for species, list_ in words.species.items() for word in list_]
    rows += [(word, Kind.SEVERAL_LURES, ids, "") for word, ids in words.ambiguous.items()]
    rows += [(word, Kind.COLOUR, word, "") for word in words.colour]
    rows += [(word, Kind.SAID, group, "") for group, list_ in words.said.items() for word in list_]
    rows += [(word, Kind.IGNORED, "", "") for word in words.ignore]
    out: dict[str, list[tuple[str, Kind, object, str]]] = {}
    for row in sorted(rows, key=lambda one: -len(one[0])):
        if row[0]:
            out.setdefault(row[0][0], []).append(row)
    return out


def tokens_of(text: str, phrases: Mapping[str, list[tuple[str, Kind, object, str]]]) -> Iterator[Token]:
    """The line word by word; no text raises, and nothing of it is left out but blanks."""
    at = 0
    while at < len(text):
        if text[at] in " :()" or (text[at] == "/" and text[at + 1 : at + 2].isalpha()):
            at += 1
            continue
        stop = _STOP.match(text, at)
        token = None if stop else _phrase_at(text, at, phrases, longer=True) or _number_at(text, at)
        token = token or (None if stop else _phrase_at(text, at, phrases))
        if stop and not (stop[0].isalpha() and _phrase_at(text, at, phrases, longer=True)):
            yield Token(Kind.STOP, stop[0], word=stop[0])
            at = stop.end()
        elif token is not None or stop:
            token = token or _phrase_at(text, at, phrases, longer=True)
            assert token is not None
            yield token
            at += len(token.text)
        else:
            end = at + 1
            while end < len(text) and text[end] not in " ,;()":
                end += 1
            word = text[at:end].strip(".!?()\"'")
            yield Token(Kind.WORD if word else Kind.IGNORED, text[at:end], word)
            at = end


def _number_at(text: str, at: int) -> Token | None:
    for pattern, maker in _PATTERNS:
        match = pattern.match(text, at)
        token = maker(match) if match and match.end() > at else None
        if token is not None:
            return token
    return None


def _phrase_at(
    text: str, at: int, phrases: Mapping[str, list[tuple[str, Kind, object, str]]], *, longer: bool = False
) -> Token | None:
    """The longest known phrase at ``at``; ``longer``: only those of several words or with a sign in them."""
    for phrase, kind, value, word in phrases.get(text[at], ()):
        end = at + len(phrase)
        if text.startswith(phrase, at) and not text[end : end + 1].isalnum() and (not longer or " " in phrase):
            return Token(kind, phrase, value, word or phrase)
    return None
