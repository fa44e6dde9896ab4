"""The glance as sentences to be read aloud by a phone or a speaker: no shapes, no tables, numbers as they are said."""

from __future__ import annotations

import calendar
import re

from briefing.sections.briefing import Briefing
from briefing.sections.words import COUNTS, ended, upper_first

_ONES = (
    *("zero", *COUNTS[1:], "eleven", "twelve"),
    *("thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"),
)
_TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
_PARTS = {2: "half", 4: "quarter", 8: "eighth", 16: "sixteenth", 32: "thirty-second"}
_UNITS = {
    "mph": "miles an hour",
    "m/s": "metres a second",
    "oz": "ounce",
    "ft": "feet",
    "lb": "pound",
    "mi": "miles",
    "min": "minutes",
    "h": "hours",
    "F": "degrees Fahrenheit",
    "C": "degrees Celsius",
    "m": "metres",
    "g": "grams",
}
_SENTENCES = re.compile(r"(?<=[^.][.!?]) ")
_ORDINALS = {"one": "first", "two": "second", "three": "third", "five": "fifth", "eight": "eighth", "nine": "ninth"}
_DATE = re.compile(rf"\b([12]?\d|3[01]) ({'|'.join(f'{one}|{one[:3]}' for one in calendar.month_name[1:])})\b")
_CLOCK = re.compile(r"\b([01]\d|2[0-3]):([0-5]\d)\b")
_FRACTION = re.compile(r"\b(?:(\d+)[ -])?(\d+)/(2|4|8|16|32) oz\b")
_NUMBER = re.compile(r"(?<![\w.])(-?)(\d{1,4})(?:\.(\d+))?(?: (mph|m/s|oz|ft|lb|mi|min|h|F|C|m|g)\b)?(?!\w)")


def spoken(briefing: Briefing) -> str:
    """Return the glance as plain sentences, one to a line."""
    glance = briefing.glance
    head = briefing.head
    place = f"{head.lake}{f', {head.ramp}' if head.ramp else ''}, {head.day:%A} {head.day.day} {head.day:%B}"
    told = [place, glance.word, *glance.level_lines(), *briefing.head.remarks]
    told += [f"{line.name.replace('-', ' to ')}: {line.text.replace(' more below', ' more')}" for line in glance.lines]
    if glance.demo:
        told.insert(1, "This is a demonstration with made-up weather")
    return "\n".join(aloud(ended(text)) for text in (*told, glance.last)) + "\n"


def aloud(text: str) -> str:
    """Write dates, clock times, weights, numbers and units of a sentence as they are said.

    >>> aloud("Out 06:33. Gusts 22 mph; jig 3/8 oz.")
    'Out six thirty-three. Gusts twenty-two miles an hour; jig three eighths of an ounce.'
    """
    text = re.sub(r" \(\d+(?:\.\d+)? g\)", "", text)
    return " ".join(_aloud(sentence).replace("p.m..", "p.m.") for sentence in _SENTENCES.split(text))


def _aloud(text: str) -> str:
    """One sentence of `aloud`."""
    text = _DATE.sub(lambda found: f"the {ordinal(int(found[1]))} of {_month(found[2])}", text)
    text = _CLOCK.sub(lambda found: _clock(int(found[1]), int(found[2])), text)
    text = _FRACTION.sub(lambda found: _weight(found[1], int(found[2]), int(found[3])), text)
    text = _NUMBER.sub(_number, text)
    return upper_first(text)


def _clock(hour: int, minute: int) -> str:
    """A clock of 24 hours as it is said of twelve; the half of the day only where it is not the morning."""
    half = " p.m." if hour >= 12 else ""
    said = cardinal(hour % 12 or 12)
    if minute == 0:
        return "midnight" if hour == 0 else "noon" if hour == 12 else f"{said} o'clock" if not half else f"{said}{half}"
    return f"{said} {'oh ' if minute < 10 else ''}{cardinal(minute)}{half}"


def _weight(whole: str | None, count: int, parts: int) -> str:
    name = _PARTS[parts]
    text = f"{cardinal(count)} {name if count == 1 else 'halves' if parts == 2 else f'{name}s'}"
    return f"{cardinal(int(whole))} and {text} ounces" if whole else f"{text} of an ounce"


def _number(found: re.Match[str]) -> str:
    minus, whole, decimals, unit = found.groups()
    text = cardinal(int(whole))
    if decimals:
        text += " point " + " ".join(cardinal(int(digit)) for digit in decimals)
    return " ".join(part for part in ("minus" if minus else "", text, _UNITS.get(unit, "") if unit else "") if part)


def _month(name: str) -> str:
    return next(one for one in calendar.month_name[1:] if one.startswith(name))


def ordinal(number: int) -> str:
    """A number of 1 to 99 as the place in a row.

    >>> ordinal(28)
    'twenty-eighth'
    """
    *tens, last = cardinal(number).split("-")
    if last in _ORDINALS:
        last = _ORDINALS[last]
    elif last == "twelve":
        last = "twelfth"
    else:
        last = f"{last[:-1]}ieth" if last.endswith("y") else f"{last}th"
    return "-".join((*tens, last))


def cardinal(number: int) -> str:
    """A number of 0 to 9999 in words.

    >>> cardinal(115)
    'one hundred and fifteen'
    """
    if number < 20:
        return _ONES[number]
    if number < 100:
        tens, ones = divmod(number, 10)
        return _TENS[tens - 2] + (f"-{_ONES[ones]}" if ones else "")
    if number < 1000:
        hundreds, rest = divmod(number, 100)
        return f"{_ONES[hundreds]} hundred" + (f" and {cardinal(rest)}" if rest else "")
    thousands, rest = divmod(number, 1000)
    joined = "" if not rest else f" and {cardinal(rest)}" if rest < 100 else f" {cardinal(rest)}"
    return f"{cardinal(thousands)} thousand{joined}"
