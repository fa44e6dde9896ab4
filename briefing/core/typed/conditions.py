"""A line of weather as an angler reads it from any forecast, read into hours of a day.

Clauses end at ``;``, a full stop, a new line, "then" or "becoming". A time behind what it is about belongs to that
alone ("gusts 24 from 10"), one in front to all that follows in the clause ("morning: S 5, gusts 10"). What has no time
holds all day, until something with a time says otherwise. What is not understood is given back, never guessed.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Any

from briefing.units import POINTS, Units, f_to_c

DAY_END = 24.0
_MPS = {"mph": 0.44704, "kt": 0.514444, "kn": 0.514444, "m/s": 1.0, "km/h": 1.0 / 3.6}
_METRES = {"mile": 1609.344, "mi": 1609.344, "km": 1000.0, "m": 1.0, "yd": 0.9144, "yard": 0.9144, "ft": 0.3048}


@dataclass(frozen=True)
class ConditionWords:
    """Everything of ``config/conditions.toml``; winds in mph, parts of the day in hours."""

    wind_mph: Mapping[str, tuple[float, float]]
    cloud_pct: Mapping[str, float]
    sight_m: Mapping[str, float]
    parts_h: Mapping[str, tuple[float, float]]
    sun_h: Mapping[str, float]
    likely_from_pct: float
    none_below_pct: float
    chances: Mapping[str, str]  # word -> likely | possible | none
    thunder: frozenset[str]
    rain: frozenset[str]
    dry: frozenset[str]
    filler: frozenset[str]

    @classmethod
    def from_mapping(cls, data: Mapping[str, Any]) -> ConditionWords:
        """Build from the parsed file; raises KeyError naming what is missing."""
        chance = data["chance"]
        return cls(
            wind_mph={word: (float(low), float(high)) for word, (low, high) in data["wind"].items()},
            cloud_pct={word: float(value) for word, value in data["sky"].items()},
            sight_m={word: float(value) for word, value in data["sight"].items()},
            parts_h={word: (_hours(begin), _hours(end)) for word, (begin, end) in data["parts"].items()},
            sun_h={word: _hours(value) for word, value in data["sun"].items()},
            likely_from_pct=float(chance["likely_from_pct"]),
            none_below_pct=float(chance["none_below_pct"]),
            chances={word: level for level in ("likely", "possible", "none") for word in chance[level]},
            thunder=frozenset(chance["thunder"]),
            rain=frozenset(chance["rain"]),
            dry=frozenset(chance["dry"]),
            filler=frozenset(data["filler"]["words"]),
        )


def _hours(text: str) -> float:
    hour, minute = text.split(":")
    return int(hour) + int(minute) / 60.0


@dataclass(frozen=True)
class SaidPart:
    """What was said of a span of hours on the day's clock, 0 to 24; None is what was not said.

    Pairs are low and high; ``thunder`` and ``rain`` are none, possible or likely, beside a chance where one was given.
    """

    from_h: float
    until_h: float
    wind_mps: tuple[float, float] | None = None
    gust_mps: float | None = None
    wind_from_deg: float | None = None
    air_c: tuple[float, float] | None = None
    cloud_pct: float | None = None
    thunder: str | None = None
    thunder_pct: float | None = None
    rain: str | None = None
    rain_pct: float | None = None
    sight_m: float | None = None
    dew_c: float | None = None


#: The fields of a part that say something.
FACTS = (
    *("wind_mps", "gust_mps", "wind_from_deg", "air_c", "cloud_pct"),
    *("thunder", "thunder_pct", "rain", "rain_pct", "sight_m", "dew_c"),
)


@dataclass(frozen=True)
class SaidConditions:
    """The parts of a day in order, words that were not understood, and what is still asked."""

    parts: tuple[SaidPart, ...]
    rest: tuple[str, ...] = ()
    open: tuple[str, ...] = ()


@dataclass
class _Fact:
    """What one phrase says, with its hours once they are known."""

    values: dict[str, Any]
    begin: float | None = None
    end: float | None = None
    point: bool = False  # begins at a time, until another such begins
    bare: bool = False  # numbers that go on from what was said before


@dataclass
class _Clause:
    facts: list[_Fact] = field(default_factory=list)
    rest: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class _When:
    begin: float
    end: float | None
    point: bool = False
    until: bool = False  # said with its end alone
    after: bool = False  # begins where the clause before ended


def _words(*words: str) -> str:
    """Any of some words, each with what may part it from the next, any number of times."""
    return rf"(?:(?:{'|'.join(words)})\b:? ?)*"


_N = r"\d+(?:\.\d+)?"
_TO = r" ?(?:-|to|or) ?"
_PAIR = rf"(?P<a>{_N})(?:{_TO}(?P<b>{_N}))?"
_SPEED = r"(?: ?(?P<unit>mph|miles? (?:an|per) hour|kts?|kns?|knots?|m/s|mps|km/h|kph|kmh)\b)?"
_UNIT = re.compile(r"\d ?(mph|kts?|kns?|knots?|m/s|mps|km/h|kph|kmh)\b")
_DIRS = (
    r"(?:north[- ]?north[- ]?(?:east|west)|south[- ]?south[- ]?(?:east|west)|east[- ]?(?:north|south)[- ]?east|"
    r"west[- ]?(?:north|south)[- ]?west|north[- ]?(?:east|west)|south[- ]?(?:east|west)|north|south|east|west|"
    r"nne|ene|ese|sse|ssw|wsw|wnw|nnw|ne|se|sw|nw|n|e|s|w)"
)
_DIR = rf"(?P<dir>{_DIRS})(?:er?ly|ern)?(?:(?: ?(?:-|to|or) ?| ?/ ?)(?P<dir2>{_DIRS})(?:er?ly|ern)?)?\b"
_LEAD = r"(?:winds?|breezes?|wind speeds?|blowing)\b:? ?" + _words(
    *("is", "are", "will be", "be", "of", "at", "around", "about", "near", "out of", "from", "up to")
)
_AT = _words("at", "around", "about", "near", "of", "up to", "to", "winds?", "breezes?", "blowing", "a", "the")
_GUST = re.compile(
    r"(?:with |and )?(?:winds? )?(?:gusts?|gusting|gusty)\b:? ?"
    + _words(*("winds?", "up to", "up", "to", "of", "around", "about", "near", "over", "as high as", "reaching", "at"))
    + _PAIR
    + _SPEED
)
_G = re.compile(rf"(?:{_LEAD})?(?:{_DIR} ?)?{_PAIR} ?g(?:usts?)? ?(?P<g>{_N}){_SPEED}")
_NO_SPEED = r"(?!\d)(?! ?(?:%|percent|°|deg|f\b|c\b|am\b|pm\b|a\.m|p\.m|:))"
_BEHIND = rf"(?: (?:(?:from|out of) (?:the )?)?(?P<dir3>{_DIRS})(?:er?ly)?\b)?"
_MOST = r"(?P<most> or (?:less|under)| max| at most)?"
_WIND = re.compile(
    rf"(?P<lead>{_LEAD})?(?:the )?(?:{_DIR})? ?{_AT}{_PAIR}{_NO_SPEED}{_SPEED}{_MOST}(?: (?:winds?|breezes?))?{_BEHIND}"
)
_BARE = re.compile(rf"{_PAIR}(?![\d:/%°])")
_TURN = re.compile(
    r"(?:winds? |breezes? )?"
    + _words(*("is", "are", "will be", "from", "out of", "turning", "backing", "veering", "shifting", "going"))
    + _words("swinging", "switching", "to", "be", "becoming", "the")
    + rf"{_DIR}(?: winds?| breezes?)?(?!\w)"
)
_BAND = re.compile(
    r"(?P<which>highs|lows|(?:high|low)(?= (?:in|near|around)\b))?"
    r"(?:(?:air|temps?|temperatures?|in|the|around|near)\b ?| )*"
    r"(?:(?P<part>low|lower|mid|middle|upper|high)[- ])?(?P<tens>\d)0'?s\b"
)
_HIGH_LOW = re.compile(
    r"(?P<which>highs?|lows?)\b:? ?"
    + _words("of", "near", "around", "about", "in the", "is", "temps?", "at")
    + rf"(?P<a>{_N}) ?°? ?(?:degrees?|deg)? ?(?P<scale>[fc])?\b(?!%|'?s\b)"
)
_DEW = re.compile(
    rf"(?:dew ?points?|dew|dp)\b:?(?: (?:is|are|of|at|around|near|about|in|the|up|to|mid|low|lower|upper))*[- ]"
    rf"(?:(?P<tens>\d)0'?s\b|(?P<a>-?{_N})(?:{_TO}(?P<b>-?{_N}))? ?°? ?(?P<scale>[fc]\b)?)"
)
#: Temperatures that are not the air's, with their numbers: told as not understood.
_NOT_AIR = re.compile(
    rf"(?:(?:water|lake|surface)(?: temps?| temperatures?)?|heat index|feels like|real ?feel|wind ?chill|uv index|uv)\b"
    rf":?(?: (?:is|are|of|at|around|near|about|in|the|up|to|mid|low|lower|upper))*[- ]"
    rf"(?:\d0'?s\b|-?{_N}(?:{_TO}-?{_N})? ?°? ?(?:degrees?|[fc]\b)?)"
)
_AIR = re.compile(
    r"(?P<lead>(?:air temp(?:erature)?s?|air|temps?|temperatures?)\b:? ?"
    + _words("of", "from", "is", "are", "around", "near", "about", "between")
    + rf")?(?P<a>-?{_N}) ?°? ?(?P<scale1>f\b|c\b)?(?:(?:{_TO}| ?and ?)(?P<b>-?{_N}))? ?(?P<deg>°|degrees?|deg)?"
    + r" ?(?P<scale>[fc]\b|fahrenheit|celsius)?"
)
_PCT = r"(?P<pct>\d{1,3})(?:-(?P<pct2>\d{1,3}))? ?(?:%|percent)"
_CLOUD = re.compile(
    rf"(?:clouds?|cloud cover|cloudiness|sky cover|sky) ?:? ?(?:about |around )?{_PCT}|"
    r"(?P<p>\d{1,3}) ?(?:%|percent) (?:clouds?|cloudy|cloud cover|sky cover|overcast)"
)
_SIGHT = re.compile(
    r"visibility ?(?:of |down to |below |under |about )?(?P<a>\d+/\d+|\d+(?:\.\d+)?) ?"
    r"(?P<unit>miles?|mi|km|m|yards?|yds?|ft|feet)\b"
)
_HOUR = (
    r"(?:(?P<{0}h>\d{{1,2}})(?::?(?P<{0}m>[0-5]\d))? ?(?P<{0}half>[ap]\.?m\.?|[ap]\b)?|"
    r"(?P<{0}w>noon|midnight|{sun}))(?![\d%°/])(?!\.\d)"
)
_ALONE = r"(?! ?-? ?\d)"
#: What makes a morning worse where its hours are not known.
_WORSE = ("wind_mps", "gust_mps", "thunder", "thunder_pct", "sight_m")
#: A preposition that a time follows.
_TIMED = re.compile(r"(?:^| )(?:at|by|after|until|till|before|around|since|from) ?$")
_COMES_TO = (
    r"becoming|turning|increasing to|building to|picking up to|rising to|dropping to|dropping off to|dying to|"
    r"easing to|shifting to|switching to|swinging to|backing to|veering to|going to"
)
_SPLIT = re.compile(rf"[;\n]+|\.(?=\s|$)|(?<!\w)(?:then|and then|{_COMES_TO})\b")
_POINT_AT = {"north": "n", "south": "s", "east": "e", "west": "w"}


def read_conditions_line(
    text: str, words: ConditionWords, units: Units = "us", sun_h: Mapping[str, float] | None = None
) -> SaidConditions:
    """Read a line. ``units`` is what bare numbers are in; ``sun_h`` the sun's times of the day by word, where known."""
    reader = _Reader(words, units, {**words.sun_h, **(sun_h or {})}, sun_known=sun_h is not None)
    return reader.read(text)


class _Reader:
    """One line being read."""

    def __init__(self, words: ConditionWords, units: Units, sun_h: Mapping[str, float], *, sun_known: bool) -> None:
        self.words, self.units, self.sun_h, self.sun_known = words, units, sun_h, sun_known
        sun = "|".join(re.escape(word) for word in sorted(sun_h, key=len, reverse=True))
        first, second = (_HOUR.format(name, sun=sun) for name in ("s", "t"))
        self.span = re.compile(rf"(?P<says>from |between )?{first} ?(?:-|to|until|till|til|and|through|thru) ?{second}")
        begins = r"after|from|since|starting(?: at| around| by)?|beginning(?: at)?|by|past"
        self.after = re.compile(rf"(?:{begins}) {first}{_ALONE}(?: on(?:ward)?s?\b)?")
        self.until = re.compile(rf"(?:until|till|til|before|through|thru|up to) {first}{_ALONE}")
        self.at = re.compile(rf"(?:(?P<says>at|around|about|@) ?)?{first}{_ALONE}:?")
        self.parts = _any(words.parts_h, lead=r"(?:(?:in|during|this|through|for|by) )?(?:the )?")
        self.wind_words, self.sky_words, self.sight_words = map(_any, (words.wind_mph, words.cloud_pct, words.sight_m))
        levels = "|".join(_sorted(words.chances))
        behind = "|".join(word for word in _sorted(words.chances) if words.chances[word] != "none")
        kinds = "|".join(_sorted(words.thunder | words.rain | words.dry))
        in_front = _PCT.replace("?P<pct>", "?P<pct_b>").replace("?P<pct2>", "?P<pct2_b>")
        self.chance = re.compile(
            rf"(?P<before>(?:(?:(?:{levels}|of|for|a|an|the|{in_front})(?!\w),? ?)+))?"
            rf"(?P<kind>{kinds})(?:(?: ?(?:and|or|&|/|,) ?)(?P<kind2>{kinds}))?\b"
            rf"(?P<after>(?::? (?:no|none|not expected)(?= ?(?:$|[;,.])))?(?:,? (?:{behind}|are|is|will be|be)\b)*)"
            rf"(?:,? ?(?:chance )?{_PCT})?"
        )
        self.open: list[str] = []
        self.unit = ""  # of wind, where the line says one
        self.lasts = False  # in a clause that says what it comes to, which holds from then on
        self.last = ""  # what was said last: wind or air

    def read(self, text: str) -> SaidConditions:
        tidy = _tidied(text)
        units = {match[1].replace(" ", "") for match in _UNIT.finditer(tidy)}
        self.unit = units.pop() if len(units) == 1 else ""  # what is said once holds for every wind of the line
        facts: list[_Fact] = []
        rest: list[str] = []
        ended: float | None = None  # where the clause before ended, for a "then" without a time
        begin, word = 0, ""
        for match in [*_SPLIT.finditer(tidy), None]:
            piece = tidy[begin : match.start() if match else len(tidy)].strip(" ,")
            self.lasts = bool(word) and word not in ("then", "and then")
            clause = self._clause(piece, after=ended)
            if word and any(one.begin is None for one in clause.facts):  # it comes later, and nothing says when
                self.open.append(f"from when: {piece}")
                clause.rest.append(piece)
                for one in clause.facts:
                    if one.begin is None:  # what may be worse counts all day
                        one.values = {name: value for name, value in one.values.items() if name in _WORSE}
            facts += clause.facts
            rest += clause.rest
            ends = [one.end for one in clause.facts if one.end is not None and one.end < DAY_END]
            word = match[0].strip() if match else ""
            word = word if word[:1].isalpha() else ""
            ended = ends[-1] if ends and word else None
            begin = match.end() if match else begin
        return SaidConditions(_parts(self._agreed(facts)), tuple(dict.fromkeys(rest)), tuple(dict.fromkeys(self.open)))

    def _agreed(self, facts: list[_Fact]) -> list[_Fact]:
        """Of two winds or gusts that both hold all day the stronger, and that this is asked."""
        for name in ("wind_mps", "gust_mps"):
            said = [one for one in facts if one.begin is None and name in one.values]
            if len({one.values[name] for one in said}) > 1:
                self.open.append("two winds without hours: the stronger counts")
                most = max(
                    (one.values[name] for one in said),
                    key=lambda value: value[1] if isinstance(value, tuple) else value,
                )
                for one in said:
                    one.values[name] = most
        return facts

    def _clause(self, text: str, after: float | None) -> _Clause:
        """Facts and rest of one clause; a comma ends what a time behind belongs to, not what one in front does."""
        out = _Clause()
        lead: _When | None = None if after is None else _When(after, DAY_END, after=True)
        for number, piece in enumerate(re.split(r",(?!\d)", text)):
            when, end = self._when(piece.strip(), 0)
            if number and when is not None and not piece.strip()[end:].strip(" :."):
                _give(out.facts, when)  # "..., in the morning": of what stands before it
                continue
            lead = self._piece(piece.strip(), out, lead)
        return out

    def _piece(self, text: str, out: _Clause, lead: _When | None) -> _When | None:
        waiting: list[_Fact] = []
        given: list[_Fact] = []
        at, own, local = 0, lead, lead
        unread: list[str] = []
        unknown_time = False
        while at < len(text):
            if text[at] in " :()-&/+*~":
                at += 1
                continue
            aside = _NOT_AIR.match(text, at)
            if aside:
                unread.append(aside[0].strip())
                at = aside.end()
                continue
            when, end = self._when(text, at)
            if when is not None:
                when = replace(when, begin=lead.begin) if when.until and lead is not None and lead.after else when
                if waiting:
                    _give(waiting, when)
                    out.facts += waiting
                    waiting = []
                else:
                    own = when
                local, at = when, end
                continue
            fact, end = self._fact(text, at)
            if fact is None and self.last and not unread and not waiting:
                fact, end = self._bare(text, at)
            if fact is not None:
                said = {"wind_mps": "wind", "gust_mps": "wind", "air_c": "air", "air_low_c": "air", "air_high_c": "air"}
                self.last = next((said[name] for name in fact.values if name in said), self.last)
                waiting.append(fact)
                given.append(fact)
                at = end
                continue
            word = re.match(r"[^\s,;:]+", text[at:])
            assert word is not None
            if word[0].strip(".%") not in self.words.filler and word[0] not in self.words.chances:
                unread.append(word[0])
                unknown_time = unknown_time or _TIMED.search(text[:at]) is not None
            at += word.end()
        if local is not None:
            _give(waiting, local)
        elif any(one.bare for one in waiting):  # without an hour it may be anything
            waiting, unread = [], [text]
        elif waiting and unknown_time:  # it has hours, and they are not known
            self.open.append(f"when: {text}")
            waiting, unread = [], [text]
        out.facts += waiting
        if unread:
            out.rest.append(" ".join(unread) if out.facts and out.facts[-1] in given else text)
        return own

    # --- times -------------------------------------------------------------------------------------------------------

    def _when(self, text: str, at: int) -> tuple[_When | None, int]:
        found = self.span.match(text, at)
        if found and self._is_span(found):
            begin, end = self._clock(found, "s", other=found), self._clock(found, "t", other=None)
            if begin is not None and end is not None:
                if end <= begin and end + 12.0 <= DAY_END and not found["thalf"]:
                    end += 12.0
                end = DAY_END if end <= begin else end
                return _When(begin, end), found.end()
        for pattern in (self.after, self.until):
            found = pattern.match(text, at)
            if found:
                ends = pattern is self.until
                hour = self._clock(found, "s", other=None, late=ends)
                if hour is not None:
                    return (_When(0.0, hour, until=True) if ends else _When(hour, DAY_END)), found.end()
        found = self.at.match(text, at)
        if (
            found
            and (found["says"] or found["shalf"] or found["sm"] or found["sw"])
            and not _is_unit(text, found.end())
        ):
            hour = self._clock(found, "s", other=None)
            if hour is not None and (found["sw"] or found["shalf"] or ":" in found[0] or found["says"]):
                return _When(hour, None, point=True), found.end()
        found = self.parts.match(text, at)
        if found and _word_ends(text, found.end()):
            begin, end = self.words.parts_h[found["word"]]
            return _When(begin, DAY_END if found[0].startswith("by ") or self.lasts else end), found.end()
        return None, at

    def _is_span(self, found: re.Match[str]) -> bool:
        """Whether two numbers are times: one says so, or "from" stands before them and no unit behind."""
        says = any(found[f"{name}{what}"] for name in "st" for what in ("half", "m", "w"))
        return says or (found["says"] is not None and not _is_unit(found.string, found.end()))

    def _clock(
        self, found: re.Match[str], name: str, other: re.Match[str] | None, *, late: bool = False
    ) -> float | None:
        word = found[f"{name}w"]
        if word:
            if word in ("noon", "midnight"):
                return 12.0 if word == "noon" else DAY_END
            if not self.sun_known:
                self.open.append(f"when {word} is: taken as {_clock_text(self.sun_h[word])}")
            return self.sun_h[word]
        hour, minute = int(found[f"{name}h"]), int(found[f"{name}m"] or 0)
        half = (found[f"{name}half"] or "")[:1]
        if not half and other is not None and (other["thalf"] or "")[:1]:
            end = int(other["th"] or 12) % 12
            half = other["thalf"][0] if hour % 12 < end or other["thalf"][0] == "a" else "a"
        if half:
            if not 1 <= hour <= 12:
                return None
            hour = hour % 12 + (12 if half == "p" else 0)
        elif found[f"{name}m"] is None and 1 <= hour <= (5 if late else 4):  # nobody means the hours after midnight
            hour += 12
        return hour + minute / 60.0 if hour <= 24 and minute < 60 else None

    # --- facts -------------------------------------------------------------------------------------------------------

    def _fact(self, text: str, at: int) -> tuple[_Fact | None, int]:
        for reader in (
            self._dew, self._gust, self._gusted, self._sight, self._clouds, self._chances, self._high_low, self._band,
            self._air, self._wind, self._worded, self._turn,
        ):  # fmt: skip
            values, end = reader(text, at)
            if values is not None and end > at:
                return _Fact(values), end
        return None, at

    def _speed(self, value: str, unit: str | None) -> float:
        name = (unit or self.unit or "").replace(".", "").strip()
        known = "kt" if name.startswith("k") and "h" not in name else "km/h" if name.startswith("k") else name
        known = "mph" if name.startswith("mile") else "m/s" if name == "mps" else known
        if not name:
            known = "mph" if self.units == "us" else "m/s"
            if self.units != "us":
                self.open.append("the unit of the wind: taken as m/s; write km/h or kn behind it where it is that")
        return float(value) * _MPS[known]

    def _dew(self, text: str, at: int) -> tuple[dict[str, Any] | None, int]:
        found = _DEW.match(text, at)
        if not found:
            return None, at
        most = (
            str(10 * int(found["tens"]) + 9) if found["tens"] else max(found["a"], found["b"] or found["a"], key=float)
        )
        return {"dew_c": self._celsius(most, found["scale"])}, found.end()

    def _gust(self, text: str, at: int) -> tuple[dict[str, Any] | None, int]:
        found = _GUST.match(text, at)
        if not found:
            return None, at
        return {"gust_mps": self._speed(found["b"] or found["a"], found["unit"])}, found.end()

    def _gusted(self, text: str, at: int) -> tuple[dict[str, Any] | None, int]:
        found = _G.match(text, at)
        if not found:
            return None, at
        low, high = (self._speed(one, found["unit"]) for one in (found["a"], found["b"] or found["a"]))
        values: dict[str, Any] = {"wind_mps": (low, high), "gust_mps": self._speed(found["g"], found["unit"])}
        return {**values, **_direction(found["dir"], found["dir2"])}, found.end()

    def _sight(self, text: str, at: int) -> tuple[dict[str, Any] | None, int]:
        found = _SIGHT.match(text, at)
        if not found:
            return None, at
        above, _, below = found["a"].partition("/")
        value = float(above) / float(below) if below else float(above)
        unit = found["unit"].rstrip("s")
        return {"sight_m": value * _METRES["ft" if unit == "feet" else "yd" if unit == "yd" else unit]}, found.end()

    def _clouds(self, text: str, at: int) -> tuple[dict[str, Any] | None, int]:
        found = _CLOUD.match(text, at)
        if not found:
            return None, at
        values = [float(one) for one in (found["p"] or found["pct"], found["pct2"]) if one]
        return _percent("cloud_pct", sum(values) / len(values)), found.end()

    def _chances(self, text: str, at: int) -> tuple[dict[str, Any] | None, int]:
        found = self.chance.match(text, at)
        if not found or not _word_ends(text, found.end("kind")) or found.end() == at:
            return None, at
        pcts = [found[name] for name in ("pct", "pct2", "pct_b", "pct2_b") if found[name]]
        pct = max(map(float, pcts)) if pcts else None
        told = f"{found['before'] or ''} {found['after'] or ''}"
        level = self._level(told, pct)
        out: dict[str, Any] = {}
        for kind in (found["kind"], found["kind2"]):
            if kind in self.words.dry:
                out["rain"] = "none"
            elif kind:
                name = "thunder" if kind in self.words.thunder else "rain"
                out[name] = level
                out |= {} if pct is None else _percent(f"{name}_pct", pct)
        return out, found.end()

    def _level(self, told: str, pct: float | None) -> str:
        levels = {
            self.words.chances[word]
            for word in _sorted(self.words.chances)
            if re.search(rf"(?<!\w){re.escape(word)}(?!\w)", told)
        }
        if pct is not None:
            return (
                "likely"
                if pct >= self.words.likely_from_pct
                else "none"
                if pct < self.words.none_below_pct
                else "possible"
            )
        for level in ("none", "possible"):
            if level in levels:
                return level
        return "likely"

    def _high_low(self, text: str, at: int) -> tuple[dict[str, Any] | None, int]:
        found = _HIGH_LOW.match(text, at)
        if not found:
            return None, at
        value = self._celsius(found["a"], found["scale"])
        return {"air_high_c" if found["which"].startswith("high") else "air_low_c": value}, found.end()

    def _band(self, text: str, at: int) -> tuple[dict[str, Any] | None, int]:
        found = _BAND.match(text, at)
        if not found:
            return None, at
        first, last = {"low": (0, 3), "mid": (4, 6), "middle": (4, 6), "upper": (7, 9), "high": (7, 9)}.get(
            (found["part"] or "").replace("lower", "low"), (0, 9)
        )
        tens = 10 * int(found["tens"])
        band = self._celsius(str(tens + first), None), self._celsius(str(tens + last), None)
        if found["which"]:
            low = found["which"].startswith("low")
            return {"air_low_c" if low else "air_high_c": band[0] if low else band[1]}, found.end()
        return {"air_c": band}, found.end()

    def _air(self, text: str, at: int) -> tuple[dict[str, Any] | None, int]:
        found = _AIR.match(text, at)
        if not found or not (found["lead"] or found["deg"] or found["scale"] or found["scale1"]):
            return None, at
        if not (found["scale"] or found["deg"] or found["scale1"]) and _is_unit(text, found.end()):
            return None, at
        scale = (found["scale"] or found["scale1"] or "")[:1] or None
        low, high = (self._celsius(one, scale) for one in (found["a"], found["b"] or found["a"]))
        return {"air_c": (min(low, high), max(low, high))}, found.end()

    def _celsius(self, value: str, scale: str | None) -> float:
        number = float(value)
        return f_to_c(number) if (scale or ("f" if self.units == "us" else "c")) == "f" else number

    def _wind(self, text: str, at: int) -> tuple[dict[str, Any] | None, int]:
        found = _WIND.match(text, at)
        if not found or not (found["lead"] or found["dir"] or found["unit"] or found["dir3"]):
            return None, at
        low, high = (self._speed(one, found["unit"]) for one in (found["a"], found["b"] or found["a"]))
        if not found["b"] and ("up to" in found[0] or found["most"]):
            low = 0.0
        values: dict[str, Any] = {"wind_mps": (min(low, high), max(low, high))}
        return {**values, **_direction(found["dir"] or found["dir3"], found["dir2"])}, found.end()

    def _bare(self, text: str, at: int) -> tuple[_Fact | None, int]:
        """Two numbers, or one, that go on from a wind or an air said before: "10-15 in the afternoon"."""
        found = _BARE.match(text, at)
        if not found or _is_unit(text, found.end()):
            return None, at
        read = self._speed if self.last == "wind" else self._celsius
        low, high = (read(one, None) for one in (found["a"], found["b"] or found["a"]))
        name = "wind_mps" if self.last == "wind" else "air_c"
        return _Fact({name: (min(low, high), max(low, high))}, bare=True), found.end()

    def _worded(self, text: str, at: int) -> tuple[dict[str, Any] | None, int]:
        for pattern, make in (
            (self.sight_words, lambda word: {"sight_m": self.words.sight_m[word]}),
            (self.wind_words, self._worded_wind),
            (self.sky_words, lambda word: {"cloud_pct": self.words.cloud_pct[word]}),
        ):
            found = pattern.match(text, at)
            if found and _word_ends(text, found.end()):
                return make(found["word"]), found.end()
        return None, at

    def _worded_wind(self, word: str) -> dict[str, Any]:
        low, high = (value * _MPS["mph"] for value in self.words.wind_mph[word])
        return {"wind_mps": (low, high)}

    def _turn(self, text: str, at: int) -> tuple[dict[str, Any] | None, int]:
        found = _TURN.match(text, at)
        if not found or not found["dir"]:
            return None, at
        return _direction(found["dir"], found["dir2"]), found.end()


_WIND_AM = rf"\b((?:{_DIRS})\w* \d{{1,2}}(?:-| to )\d{{1,2}}) ([ap]m)\b"


def _part_of_day(match: re.Match[str]) -> str:
    wind, half = match[1] or match[3], match[2] or match[4]
    return f"{wind} {'until 12:00' if half == 'am' else 'from 12:00'}"


def _tidied(text: str) -> str:
    tidy = text.lower().replace("–", "-").replace("—", "-").replace("º", "°").replace("’", "'")
    tidy = re.sub(r"\bmiles? (?:an|per) hour\b", "mph", tidy)
    tidy = re.sub(r"\b([ap])\.m\.?", r"\1m", tidy)
    tidy = re.sub(rf"\b({_DIRS})(?=\d)", r"\1 ", tidy)  # "S5"
    # "SW 5-10 am, 10-15 pm": behind a direction a range is a wind, and what follows it a part of the day
    if re.search(_WIND_AM, tidy):
        tidy = re.sub(rf"{_WIND_AM}|(?<=[,;] )(\d{{1,2}}-\d{{1,2}}) ([ap]m)\b", _part_of_day, tidy)
    # "6 to 9 wind S 5": two numbers before a wind that has its own are hours
    tidy = re.sub(
        rf"(^|[;,.] ?)(\d{{1,2}}) ?(?:-|to) ?(\d{{1,2}}):? (?=winds? (?:{_DIRS} )?\d)", r"\1from \2 to \3 ", tidy
    )
    return re.sub(r"[ \t]+", " ", tidy).strip()


def _sorted(words: frozenset[str] | Mapping[str, Any]) -> list[str]:
    return sorted(words, key=len, reverse=True)


def _any(words: Mapping[str, Any], lead: str = "") -> re.Pattern[str]:
    return re.compile(rf"{lead}(?P<word>{'|'.join(re.escape(word) for word in _sorted(words))})")


def _word_ends(text: str, at: int) -> bool:
    return at >= len(text) or not text[at].isalnum()


def _is_unit(text: str, at: int) -> bool:
    """Whether what follows a number says that it is no time."""
    return (
        re.match(r" ?(?:mph|kts?|kns?|knots?|m/s|km/h|kph|%|percent|°|degrees|f\b|c\b|ft\b|g ?\d)", text[at:])
        is not None
    )


def _clock_text(hours: float) -> str:
    minutes = round(60 * hours)
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def _percent(name: str, value: float) -> dict[str, Any]:
    return {name: min(max(value, 0.0), 100.0)}


def _direction(first: str | None, second: str | None) -> dict[str, Any]:
    """Degrees that a wind comes from; of two points the middle of the shorter way between them."""
    found = [_degrees(one) for one in (first, second) if one]
    if not found:
        return {}
    if len(found) == 1:
        return {"wind_from_deg": found[0]}
    east, north = (sum(part(math.radians(one)) for one in found) for part in (math.sin, math.cos))
    if math.hypot(east, north) < 1e-9:
        return {}
    return {"wind_from_deg": round(math.degrees(math.atan2(east, north)) % 360.0, 2)}


def _degrees(word: str) -> float:
    letters = re.sub(r"[ -]", "", word)
    for name, letter in _POINT_AT.items():
        letters = letters.replace(name, letter)
    return POINTS.index(letters.upper()) * 22.5


def _give(facts: Sequence[_Fact], when: _When) -> None:
    for fact in facts:
        if fact.begin is None:
            fact.begin, fact.end, fact.point = when.begin, when.end, when.point


def _parts(facts: Sequence[_Fact]) -> tuple[SaidPart, ...]:
    """The day cut where anything begins or ends; what has hours of its own outweighs what holds all day."""
    points = sorted({one.begin for one in facts if one.point and one.begin is not None})
    spans = []
    for order, one in enumerate(facts):
        begin = 0.0 if one.begin is None else one.begin
        end = one.end
        if one.point:
            end = next((other for other in points if other > begin), DAY_END)
        spans.append((begin, DAY_END if end is None else end, one.begin is not None, order, one.values))
    edges = sorted({0.0, DAY_END, *(edge for begin, end, *_ in spans for edge in (begin, end))})
    out: list[SaidPart] = []
    for begin, end in pairwise(edges):
        values: dict[str, Any] = {}
        for first, last, _, _, said in sorted(spans, key=lambda one: (one[2], one[3])):
            if first <= begin and end <= last:
                values |= said
        wind, gust = values.get("wind_mps"), values.get("gust_mps")
        if wind is not None and gust is not None and gust < wind[1] - 1e-6:
            values.pop("gust_mps")  # a gust of other hours: none is weaker than its wind
        part = SaidPart(begin, end, **_with_air(values))
        if all(getattr(part, name) is None for name in FACTS):
            continue
        if out and out[-1].until_h == begin and replace(out[-1], until_h=end) == replace(part, from_h=out[-1].from_h):
            out[-1] = replace(out[-1], until_h=end)
        else:
            out.append(part)
    return tuple(out)


def _with_air(values: dict[str, Any]) -> dict[str, Any]:
    """Low and high of the air told apart, as one pair; one alone stands for both."""
    low, high = values.pop("air_low_c", None), values.pop("air_high_c", None)
    if low is not None or high is not None:
        pair = values.get("air_c")
        low = low if low is not None else pair[0] if pair else high
        high = high if high is not None else pair[1] if pair else low
        values["air_c"] = (min(low, high), max(low, high))
    return values
