"""What an official event means for a craft: event names, words and codes as data, unknown events never dropped."""

from __future__ import annotations

import html
import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches
from enum import StrEnum
from functools import lru_cache
from typing import Any, TypeVar

from briefing.core.alerts import Alert
from briefing.vocabulary import Craft, Level, Skill, worst

Tokens = tuple[str, ...]
K = TypeVar("K")
#: Severities of the Common Alerting Protocol 1.2; any other word is no severity.
SEVERITIES = ("extreme", "severe", "moderate", "minor", "unknown")
#: A stem of at least so many letters counts inside a word too ("windstorm").
_INSIDE = 5
#: A word of at least so many letters may be a name without blanks.
_RUN_TOGETHER = 11
#: Letters of an event's code; the row of what is no matter for a boat; what a program writes where there is no name.
_CODE, _NO_MATTER = 3, "no_matter"
_NAMELESS = frozenset({"null", "none", "nil", "nan", "undefined", "n", "a", "na", "unknown"})
#: Letters of another alphabet that look like those of the Latin one.
_LOOK_ALIKE = str.maketrans(
    "\u0430\u0435\u043e\u0440\u0441\u0443\u0445\u0456\u0410\u0412\u0415\u041a\u041c\u041d\u041e\u0420\u0421\u0422\u0425\u0406",
    "aeopcyxiABEKMHOPCTXI",
)
#: Words of a headline after which a warning named in it is over.
_OVER = frozenset({"cancelled", "canceled", "expired", "lifted", "ended"})
#: A message with fewer words than this says nothing.
_LEAST_WORDS = 3
_MARKUP = re.compile(
    r"</?(?:a|b|i|u|p|br|em|hr|li|ul|ol|td|tr|h[1-6]|div|font|span|strong|pre)\b[^<>]*>", re.IGNORECASE
)


class Match(StrEnum):
    """How an alert was read: by a name or code of the table, by words of its name, not judged here, or not at all."""

    NAMED = "named"
    WORDS = "words"
    UNJUDGED = "unjudged"
    UNREAD = "unread"


@dataclass(frozen=True, slots=True)
class Consequence:
    """What an event means for one craft: level, and what to do.

    thunder: the event itself means lightning within reach. warning: always shown, and worth a note of its own.
    about: names of the factors that it speaks of.
    """

    level: Level
    text: str
    thunder: bool = False
    warning: bool = False
    match: Match = Match.NAMED
    about: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class EventRule:
    """One row of ``config/alert_events.toml``; levels by craft group (``paddle`` holds kayak, canoe and jon boat).

    novice, moving_water and big_lake replace the level where they apply, with_words where the message holds one of
    ``words`` (whole words, also as a plural; one that ends in ``*`` begins a word) or ``patterns`` (regular
    expressions) beside what ``not_words`` says; without_text where it says nothing, or, with ``mild`` words or
    ``mild_patterns`` given, none of these either: what such a message is about can't be read. bass_boat_text replaces
    the text for a bass boat.
    """

    id: str
    names: tuple[str, ...]
    codes: tuple[str, ...]
    paddle: Level
    bass_boat: Level
    text: str
    thunder: bool = False
    warning: bool = False
    novice: Level | None = None
    moving_water: Level | None = None
    big_lake: Level | None = None
    bass_boat_text: str = ""
    words: tuple[str, ...] = ()
    patterns: tuple[str, ...] = ()
    not_words: tuple[str, ...] = ()
    mild: tuple[str, ...] = ()
    mild_patterns: tuple[str, ...] = ()
    with_words: Level | None = None
    without_text: Level | None = None
    about: tuple[str, ...] = ()

    @classmethod
    def from_mapping(cls, row: Mapping[str, Any]) -> EventRule:
        """Read one ``[[event]]``; an unknown key raises TypeError."""
        levels = ("paddle", "bass_boat", "novice", "moving_water", "big_lake", "with_words", "without_text")
        lists = ("names", "codes", "words", "patterns", "not_words", "mild", "mild_patterns", "about")
        values: dict[str, Any] = {k: Level(v) if k in levels else tuple(v) if k in lists else v for k, v in row.items()}
        return cls(**values)


@dataclass(frozen=True, slots=True)
class EventWord:
    """A word of event names in its forms and languages, and the rows of the table that it stands for."""

    stems: tuple[str, ...]
    exact: frozenset[str]
    rules: tuple[EventRule, ...] = ()

    def stands_in(self, tokens: Iterable[str]) -> bool:
        """Tell whether any of the plain words is this one."""
        return any(
            token in self.exact or any(token.startswith(s) or (len(s) >= _INSIDE and s in token) for s in self.stems)
            for token in tokens
        )

    def is_within(self, text: str) -> bool:
        """Tell whether this word stands anywhere in a text without blanks."""
        return any(stem in text for stem in (*self.stems, *self.exact) if len(stem) > 2)


@dataclass(frozen=True)
class EventTable:
    """Event names, words and codes -> consequences."""

    rules: tuple[EventRule, ...]
    by_name: Mapping[Tokens, EventRule]
    by_code: Mapping[str, EventRule]
    words: tuple[EventWord, ...]
    after: tuple[Tokens, ...]
    alike: float
    unlisted: Mapping[str, str]

    @classmethod
    def from_mapping(cls, mapping: Mapping[str, Any]) -> EventTable:
        """Read ``config/alert_events.toml``; raises ValueError when a name or a code stands twice."""
        rules = tuple(EventRule.from_mapping(row) for row in mapping["event"])
        by_name = _index([(plain_words(name), rule) for rule in rules for name in rule.names])
        by_code = _index([(code, rule) for rule in rules for code in rule.codes])
        reading = mapping["reading"]
        return cls(
            rules=rules,
            by_name=by_name,
            by_code=by_code,
            words=tuple(_word(row, rules, by_name) for row in mapping["word"]),
            after=tuple(plain_words(text) for text in reading["after"]),
            alike=float(reading["alike"]),
            unlisted=mapping["unlisted"],
        )

    def read(self, alert: Alert) -> tuple[tuple[EventRule, ...], Match]:
        """Return the rows that an alert may be, and how it was read.

        Name, code and the names inside the headline each name a row. A name that is not the table's stands for every
        row that a name inside it or one of its words stands for, misspelt too; the caller takes the strictest.
        """
        name = plain_words(alert.event)
        coded = [
            self.by_code[code.strip().upper()] for code in alert.event_codes if code.strip().upper() in self.by_code
        ]
        headline = plain_words(alert.headline)
        if name in self.by_name:
            inside = self._told_in_text(alert) if self.by_name[name].id == _NO_MATTER else ()
            return (self.by_name[name], *coded, *inside, *self._still_on(headline, name)), Match.NAMED
        coded += [self.by_code[word.upper()] for word in name if len(word) == _CODE and word.upper() in self.by_code]
        more_named, more_words, _ = self._parts(headline, own_name=name)
        named, by_word, whole = self._parts(name)
        if whole:
            return (*coded, *named), Match.NAMED
        guessed_named, guessed_words, _ = self._parts(self._spelt(name))
        found = (*named, *by_word, *guessed_named, *guessed_words, *more_named, *more_words)
        found = found or tuple(self._run_together(name))
        if found:
            return (*coded, *found), Match.WORDS
        if coded:
            return tuple(coded), Match.NAMED
        severe = alert.severity.strip().casefold() in SEVERITIES
        return (), Match.UNJUDGED if severe and not set(name) <= _NAMELESS else Match.UNREAD

    def _parts(self, tokens: Tokens, own_name: Tokens = ()) -> tuple[list[EventRule], list[EventRule], bool]:
        """Rows by names of the table inside ``tokens``, rows by what words are left, and whether none are.

        What follows a name and only says when it holds leaves it whole, unless it holds a name or a word of its own.
        In a headline (``own_name`` is that of its event) only names count there: it goes on with hours and the office.
        """
        named, left, later, at = list[EventRule](), list[str](), list[str](), 0
        timed = False
        while at < len(tokens):
            length = self._name_at(tokens, at, own_name)
            if not length:
                (later if timed else left).append(tokens[at])
                at += 1
                continue
            rule = self.by_name.get(tokens[at : at + length])
            named += [rule] if rule is not None else []
            at += length
            timed = timed or any(tokens[at : at + len(words)] == words for words in self.after)
        said = left if own_name else [*left, *later]
        by_word = [rule for word in self.words if word.stands_in(said) for rule in word.rules]
        return named, by_word, bool(named) and not left and not by_word

    def _told_in_text(self, alert: Alert) -> tuple[EventRule, ...]:
        """Rows named in the text of a message that its name alone calls a test or an office matter."""
        text = plain_words(f"{alert.description} {alert.instruction}")
        if {"test", "drill", "exercise"} & set(text):
            return ()
        named, _, _ = self._parts(text, own_name=("",))
        return tuple(named)

    def _still_on(self, headline: Tokens, own_name: Tokens) -> list[EventRule]:
        """Rows of the names in a headline, save one that the headline calls over right behind it."""
        found, begin = list[EventRule](), 0
        for at, word in enumerate((*headline, "")):
            if word in _OVER or at == len(headline):
                named, _, _ = self._parts(headline[begin:at], own_name=own_name)
                found += named[:-1] if word in _OVER else named
                begin = at + 1
        return found

    def _run_together(self, tokens: Tokens) -> list[EventRule]:
        """Rows of a name without blanks: by names of the table inside it, else by any of their words."""
        one = "".join(tokens)
        longest = max(map(len, tokens), default=0)
        if longest < _RUN_TOGETHER and not (longest == 1 and len(one) >= _RUN_TOGETHER):  # or its letters spaced out
            return []
        inside = [rule for words, rule in self.by_name.items() if len(words) > 1 and "".join(words) in one]
        return inside or [rule for word in self.words if word.is_within(one) for rule in word.rules]

    def _spelt(self, tokens: Tokens) -> Tokens:
        """Each word as the table spells the one most like it, where one is alike enough."""
        known = sorted({word for name in self.by_name for word in name})
        return tuple((get_close_matches(token, known, n=1, cutoff=self.alike) or [token])[0] for token in tokens)

    def _name_at(self, tokens: Tokens, at: int, own_name: Tokens) -> int:
        """Length of the longest name that begins at a place; 0 when none does."""
        longest = max(map(len, self.by_name))
        for length in range(min(longest, len(tokens) - at), 0, -1):
            if tokens[at : at + length] in self.by_name:
                return length
        return len(own_name) if own_name and tokens[at : at + len(own_name)] == own_name else 0

    def consequence(
        self, alert: Alert, craft: Craft, skill: Skill, *, moving_water: bool = False, big_lake: bool = False
    ) -> Consequence:
        """Return what the alert means: the strictest of the rows that it may be; never nothing."""
        rules, match = self.read(alert)
        if not rules:
            return self._unlisted(alert, match)
        found = [_of_rule(rule, alert, craft, skill, moving_water=moving_water, big_lake=big_lake) for rule in rules]
        silent = [rule.without_text for rule in rules if rule.without_text is not None and _says_nothing(alert, rule)]
        if silent:
            found.append(Consequence(worst(silent), self.unlisted["unread_text"], warning=True, match=Match.UNREAD))
        lead = max(found, key=lambda one: (one.level.rank, one.thunder, one.warning))
        if match is Match.NAMED:
            return lead
        least = self._unlisted(alert, match)
        return replace(lead, level=worst((lead.level, least.level)), warning=lead.warning or least.warning, match=match)

    def _unlisted(self, alert: Alert, match: Match) -> Consequence:
        if alert.urgency.strip().casefold() == "immediate":
            return Consequence(Level(self.unlisted["immediate"]), self.unlisted["text"], warning=True, match=match)
        if match is Match.UNREAD:
            return Consequence(Level(self.unlisted["unread"]), self.unlisted["unread_text"], warning=True, match=match)
        severe = alert.severity.strip().casefold() in SEVERITIES[:2]
        return Consequence(Level(self.unlisted["other"]), self.unlisted["text"], warning=severe, match=match)


def _of_rule(
    rule: EventRule, alert: Alert, craft: Craft, skill: Skill, *, moving_water: bool, big_lake: bool
) -> Consequence:
    big = craft is Craft.BASS_BOAT
    level, text = (rule.bass_boat, rule.bass_boat_text or rule.text) if big else (rule.paddle, rule.text)
    raised = [level]
    if skill is Skill.NOVICE and rule.novice is not None and not big:
        raised.append(rule.novice)
    if moving_water and rule.moving_water is not None:
        raised.append(rule.moving_water)
    if big_lake and rule.big_lake is not None:
        raised.append(rule.big_lake)
    said = _said(alert)
    named = _names_hazard(rule, said)
    if named and rule.with_words is not None:
        raised.append(rule.with_words)
    thunder = rule.thunder or (named and _THUNDER.search(said) is not None)
    about = rule.about if named or not rule.words else ()
    about = (*about, "thunder") if thunder and "thunder" not in about else about
    return Consequence(worst(raised), text, thunder, rule.warning or named, about=about)


_ONES = (
    *("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve", "thirteen"),
    *("fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"),
)
_NUMBERS = {word: number for number, word in enumerate(_ONES, 1)}
_TENTHS = ("twen", "thir", "for", "fif", "six", "seven", "eigh", "nine")
_NUMBERS |= {f"{word}ty": 10 * number for number, word in enumerate(_TENTHS, 2)}
_TENS = re.compile(rf"\b((?:{'|'.join(_TENTHS)})ty)(?:[ -]({'|'.join(_ONES[:9])}))?\b")
_SMALL = re.compile(rf"\b({'|'.join(_ONES)})\b")
_THUNDER = re.compile(r"\b(?:thunder|lightning|tstm|t-?storm)")


@lru_cache(maxsize=256)
def _as_pattern(word: str) -> str:
    """A word as it stands in a text: "gust" is not in "August", nor "gale" in "Galena"."""
    return rf"\b{re.escape(word[:-1])}" if word.endswith("*") else rf"\b{re.escape(word)}s?\b"


def _said(alert: Alert) -> str:
    """All words of a message in small letters, as they stand and plain, numbers in words as digits."""
    whole = f"{alert.event} {alert.headline} {alert.description} {alert.instruction} {alert.further}"
    said = f"{whole.casefold()} {' '.join(plain_words(whole))}"
    said = _TENS.sub(lambda found: str(_NUMBERS[found[1]] + _NUMBERS.get(found[2] or "", 0)), said)
    return _SMALL.sub(lambda found: str(_NUMBERS[found[1]]), said)


def _names_hazard(rule: EventRule, said: str) -> bool:
    for words in rule.not_words:
        said = said.replace(words, " ")
    return any(re.search(one, said) for one in (*map(_as_pattern, rule.words), *rule.patterns))


def _says_nothing(alert: Alert, rule: EventRule) -> bool:
    """Tell whether a message has no text, or one of nothing that its row knows."""
    if len(plain_words(f"{alert.description} {alert.instruction} {alert.further}")) < _LEAST_WORDS:
        return True
    known = (*map(_as_pattern, rule.mild), *rule.mild_patterns)
    said = _said(alert)
    return bool(known) and not _names_hazard(rule, said) and not any(re.search(one, said) for one in known)


def plain_words(text: str) -> Tokens:
    """Words of a name without markup, accents, case, punctuation and marks that can't be seen.

    >>> plain_words("<b>Wind\\u00a0Advisory</b>, in-effect.")
    ('wind', 'advisory', 'in', 'effect')
    """
    bare = _MARKUP.sub(" ", html.unescape(text)).replace("%20", " ").translate(_LOOK_ALIKE)
    bare = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", bare)  # names run together
    letters = []
    for mark in unicodedata.normalize("NFKD", bare):
        kind = unicodedata.category(mark)
        if mark in "'\u2019" or kind in ("Mn", "Cf"):
            continue
        letters.append(mark if kind[0] in "LN" else " ")
    return tuple("".join(letters).casefold().split())


def _word(row: Mapping[str, Any], rules: Sequence[EventRule], by_name: Mapping[Tokens, EventRule]) -> EventWord:
    """Read one ``[[word]]``; a row that the table lacks raises KeyError."""
    bare = EventWord(tuple(row["stems"]), frozenset(row.get("exact", ())))
    by_id = {rule.id: rule for rule in rules}
    holding = [rule for name, rule in by_name.items() if bare.stands_in(name)]
    stands_for = dict.fromkeys([by_id[one].id for one in row.get("rows", ())] + [rule.id for rule in holding])
    return replace(bare, rules=tuple(by_id[one] for one in stands_for))


def _index(pairs: list[tuple[K, EventRule]]) -> dict[K, EventRule]:
    index: dict[K, EventRule] = {}
    for key, rule in pairs:
        if key in index:
            raise ValueError(f"event {key!r} stands twice: in {index[key].id} and in {rule.id}")
        index[key] = rule
    return index
