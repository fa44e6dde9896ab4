"""What an official event means for a craft: event names and codes as data, unknown events never dropped."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from briefing.core.alerts import Alert
from briefing.vocabulary import Craft, Level, Skill, worst


@dataclass(frozen=True, slots=True)
class Consequence:
    """What an event means for one craft: level, and what to do.

    thunder: the event itself means lightning within reach. warning: always shown, and worth a note of its own.
    known: the event is in the table.
    """

    level: Level
    text: str
    thunder: bool = False
    warning: bool = False
    known: bool = True


@dataclass(frozen=True, slots=True)
class EventRule:
    """One row of ``config/alert_events.toml``; levels by craft group (``paddle`` holds kayak, canoe and jon boat).

    novice, moving_water and big_lake replace the level where they apply, with_words where the message holds one of
    ``words``; bass_boat_text replaces the text for a bass boat.
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
    with_words: Level | None = None

    @classmethod
    def from_mapping(cls, row: Mapping[str, Any]) -> EventRule:
        """Read one ``[[event]]``; an unknown key raises TypeError."""
        levels = ("paddle", "bass_boat", "novice", "moving_water", "big_lake", "with_words")
        lists = ("names", "codes", "words")
        values: dict[str, Any] = {k: Level(v) if k in levels else tuple(v) if k in lists else v for k, v in row.items()}
        return cls(**values)


@dataclass(frozen=True)
class EventTable:
    """Event names and codes -> consequences. Names are matched without regard to case."""

    rules: tuple[EventRule, ...]
    by_name: Mapping[str, EventRule]
    by_code: Mapping[str, EventRule]
    unlisted: Mapping[str, str]

    @classmethod
    def from_mapping(cls, mapping: Mapping[str, Any]) -> EventTable:
        """Read ``config/alert_events.toml``; raises ValueError when a name or a code stands twice."""
        rules = tuple(EventRule.from_mapping(row) for row in mapping["event"])
        by_name = _index([(_plain(name), rule) for rule in rules for name in rule.names])
        by_code = _index([(code, rule) for rule in rules for code in rule.codes])
        return cls(rules, by_name, by_code, mapping["unlisted"])

    def rule_for(self, alert: Alert) -> EventRule | None:
        """Return the row of an alert by its name, else by its codes; None for an event that is not listed."""
        found = self.by_name.get(_plain(alert.event))
        if found is not None:
            return found
        rules = [self.by_code[code.upper()] for code in alert.event_codes if code.upper() in self.by_code]
        return max(rules, key=lambda rule: rule.paddle.rank, default=None)

    def consequence(
        self, alert: Alert, craft: Craft, skill: Skill, *, moving_water: bool = False, big_lake: bool = False
    ) -> Consequence:
        """Return what the alert means. An unknown event is never dropped: severity and urgency then decide."""
        rule = self.rule_for(alert)
        if rule is None:
            return self._unlisted(alert)
        big = craft is Craft.BASS_BOAT
        level, text = (rule.bass_boat, rule.bass_boat_text or rule.text) if big else (rule.paddle, rule.text)
        raised = [level]
        if skill is Skill.NOVICE and rule.novice is not None and not big:
            raised.append(rule.novice)
        if moving_water and rule.moving_water is not None:
            raised.append(rule.moving_water)
        if big_lake and rule.big_lake is not None:
            raised.append(rule.big_lake)
        named = any(word in _words_of(alert) for word in rule.words)
        if named and rule.with_words is not None:
            raised.append(rule.with_words)
        thunder = rule.thunder or (named and any(word in _words_of(alert) for word in ("thunder", "lightning")))
        return Consequence(worst(raised), text, thunder, rule.warning or named)

    def _unlisted(self, alert: Alert) -> Consequence:
        text = self.unlisted["text"]
        if alert.urgency.casefold() == "immediate":
            return Consequence(Level(self.unlisted["immediate"]), text, warning=True, known=False)
        if alert.severity.casefold() in ("severe", "extreme"):
            return Consequence(Level(self.unlisted["severe"]), text, warning=True, known=False)
        return Consequence(Level(self.unlisted["other"]), text, known=False)


def _plain(name: str) -> str:
    return " ".join(name.casefold().split())


def _words_of(alert: Alert) -> str:
    return f"{alert.headline} {alert.description} {alert.instruction}".casefold()


def _index(pairs: list[tuple[str, EventRule]]) -> dict[str, EventRule]:
    index: dict[str, EventRule] = {}
    for key, rule in pairs:
        if key in index:
            raise ValueError(f"event {key!r} stands twice: in {index[key].id} and in {rule.id}")
        index[key] = rule
    return index
