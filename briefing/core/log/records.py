"""What a log entry says, and the segments that entries make together. SI inside, times aware UTC."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from typing import Any

from briefing.vocabulary import Cover, Phase


class MarkKind(StrEnum):
    """What an entry does to the clock of an outing."""

    START = "start"
    MARK = "mark"
    END = "end"


@dataclass(frozen=True, slots=True)
class Fish:
    """One landed fish; lengths in m, weights in g, None where not measured."""

    length_m: float | None = None
    weight_g: float | None = None
    species: str = ""


@dataclass(frozen=True, slots=True)
class Condition:
    """A condition at the time with where it comes from: kind is observed, forecast, modelled, entered ..."""

    value: float | str
    kind: str
    name: str


@dataclass(frozen=True, slots=True)
class Mark:
    """One entry: the start or end of an outing, or something noted in between.

    ``outing`` is the number of the entry that began the outing, None for an entry that stands alone. ``minutes`` is
    stated effort that ended at ``time``; ``since`` says when this spot and setup began. An entry without fish, contacts
    and follows notes a change, or with ``minutes`` a blank. ``prior`` is the trade's score of the presentation there
    relative to the best one (0..1). ``planned`` is true when it was a choice of the day's briefing, false when not.
    ``blank`` is true where it was said that nothing was caught, false where it was not, None in entries from before
    that was kept. ``uncertain``: what it says of fish is not whole: it counts for less, and never as a blank.
    """

    kind: MarkKind
    time: datetime
    id: int = 0
    outing: int | None = None
    spot: str = ""
    cover: Cover | None = None
    depth_m: float | None = None
    presentation: str = ""
    weight_g: float | None = None
    fish: tuple[Fish, ...] = ()
    contacts: int = 0
    follows: int = 0
    minutes: float | None = None
    since: datetime | None = None
    moment: str = ""
    position: tuple[float, float] | None = None
    planned: bool | None = None
    prior: float | None = None
    conditions: Mapping[str, Condition] = field(default_factory=dict)
    note: str = ""
    blank: bool | None = None
    uncertain: bool = False

    @property
    def silent(self) -> bool:
        """True when it neither shows fish nor says that there were none, or can't be relied on for that."""
        return not self.caught and (self.uncertain or self.blank is False)

    @property
    def caught(self) -> bool:
        """True when a fish showed itself in any way."""
        return bool(self.fish or self.contacts or self.follows)

    def to_mapping(self) -> dict[str, Any]:
        """What JSON holds; kind, time, numbers of the entry, spot and note stand in the store's own columns."""
        out: dict[str, Any] = {
            "cover": None if self.cover is None else self.cover.value,
            "depth_m": self.depth_m,
            "presentation": self.presentation,
            "weight_g": self.weight_g,
            "fish": [[one.length_m, one.weight_g, one.species] for one in self.fish],
            "contacts": self.contacts,
            "follows": self.follows,
            "minutes": self.minutes,
            "since": None if self.since is None else self.since.isoformat(),
            "moment": self.moment,
            "position": None if self.position is None else list(self.position),
            "planned": self.planned,
            "prior": self.prior,
            "conditions": {name: [one.value, one.kind, one.name] for name, one in self.conditions.items()},
            "blank": self.blank,
            "uncertain": self.uncertain or None,
        }
        empty = {key for key, value in out.items() if value is None or value == "" or value in ([], {})}
        nothing = {key for key in ("contacts", "follows") if out[key] == 0}
        return {key: value for key, value in out.items() if key not in empty | nothing}

    @classmethod
    def from_mapping(
        cls,
        body: Mapping[str, Any],
        *,
        kind: MarkKind,
        time: datetime,
        id: int = 0,
        outing: int | None = None,
        spot: str = "",
        note: str = "",
    ) -> Mark:
        """Read what ``to_mapping`` wrote. Raises KeyError, ValueError or TypeError for anything else."""
        position = body.get("position")
        since = body.get("since")
        return cls(
            kind=kind,
            time=time,
            id=id,
            outing=outing,
            spot=spot,
            note=note,
            cover=Cover(body["cover"]) if body.get("cover") else None,
            depth_m=body.get("depth_m"),
            presentation=body.get("presentation", ""),
            weight_g=body.get("weight_g"),
            fish=tuple(Fish(*row) for row in body.get("fish", ())),
            contacts=int(body.get("contacts", 0)),
            follows=int(body.get("follows", 0)),
            minutes=body.get("minutes"),
            since=datetime.fromisoformat(since) if since else None,
            moment=body.get("moment", ""),
            position=(float(position[0]), float(position[1])) if position else None,
            planned=body.get("planned"),
            prior=body.get("prior"),
            conditions={name: Condition(*row) for name, row in body.get("conditions", {}).items()},
            blank=body.get("blank"),
            uncertain=bool(body.get("uncertain", False)),
        )


@dataclass(frozen=True, slots=True)
class Segment:
    """One spot and one setup from start to change: the unit of effort. Without fish it is a blank, a full record.

    ``minutes`` None: no effort is known, and nothing is learned from it. ``effort`` says how the minutes are known:
    ``clocked`` (two marks), ``stated`` (typed), ``halfway`` (the change was put half way between two marks) or
    ``unknown``. ``uncertain``: an entry in it is not whole. ``outing`` is the number of the outing's first entry, or of
    the entry itself when it stands alone.
    """

    outing: int
    start: datetime
    end: datetime
    minutes: float | None
    effort: str
    spot: str
    cover: Cover | None
    depth_m: float | None
    presentation: str
    weight_g: float | None
    fish: tuple[Fish, ...]
    contacts: int
    follows: int
    marks: tuple[int, ...]
    planned: bool | None
    prior: float | None
    conditions: Mapping[str, Condition]
    moment: str = ""
    position: tuple[float, float] | None = None
    note: str = ""
    uncertain: bool = False

    @property
    def blank(self) -> bool:
        """True when no fish showed itself, as far as is known."""
        return not (self.fish or self.contacts or self.follows or self.uncertain)

    @property
    def phase(self) -> Phase | None:
        """The season's leading phase at the time, where it was known."""
        known = self.conditions.get("phase")
        return Phase(str(known.value)) if known is not None else None

    @property
    def secchi_m(self) -> float | None:
        """Visibility at the time, where it was known."""
        known = self.conditions.get("secchi_m")
        return float(known.value) if known is not None else None
