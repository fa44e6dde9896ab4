"""One line as it is typed at the water, such as ``2 fish 14in 16in bladed 3/8 grass 4ft 07:40``.

Every part may be left out and come in any order, and plain sentences are read as well. What was understood is told part
by part; what was not is handed back as it stands and kept as the note, never guessed. A blank is only what was said to
be one. No text raises an error.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import time
from enum import StrEnum

from briefing import units
from briefing.core.log.parameters import LineWords
from briefing.core.log.records import Fish
from briefing.core.log.tokens import Kind, Token, phrases_of, tidy, tokens_of
from briefing.units import Units
from briefing.vocabulary import Cover

LONGEST = 500
#: A bass's length and weight: outside these a number is no fish.
FISH_LENGTH_M = (0.05, 0.85)
FISH_WEIGHT_G = (20.0, 12_000.0)
LURE_WEIGHT_G = (0.3, 120.0)
DEPTH_M = (0.0, 40.0)
MINUTES = (1.0, 960.0)
MOST_FISH = 200
#: A length up to this beside a lure is the lure's own; a longer one only where "on" or the like stands before it.
_LURE_LENGTH_M = 0.20
#: What is said of fish that were not caught.
_REFUSED = frozenset({"would not bite", "wouldn't bite", "wouldnt bite", "would not eat", "wouldn't eat"})
#: What was caught behind the time that was said.
_AFTER_THAT = re.compile(r"\b(?:after that|since then|from then on)\b")
#: A bass's length in inches where no unit stands behind it.
_BARE_LENGTH_IN = (10.0, 28.0)
#: Behind these the fish of a lake are spoken of, not a catch.
_ARE = ("are", "were", "is", "was", "seem", "seemed", "want", "wanted", "moved", "weren't", "aren't", "stopped", "quit")
#: Words for several bites, of which a count says how many.
_MANY = (
    "bites",
    "strikes",
    "hits",
    "contacts",
    "swirls",
    "taps",
    "bumps",
    "follows",
    "followers",
    "pickups",
    "short strikes",
)
#: Behind these a bite is one that was told already.
_IT = ("it", "him", "her", "that", "them", "those")
#: A count that is no number of its own.
_ARTICLES = ("a", "an")
#: Fish of a limit, as most waters have it.
_LIMIT_FISH = 5
#: Behind a number these say that it counts fish.
_FISH_BEFORE = ("on", "with", "from", "off", "more", "out")
#: What a line may go on with behind the number of its fish.
_SETTING = (Kind.LURE, Kind.SEVERAL_LURES, Kind.COLOUR, Kind.OUNCES, Kind.SPOT, Kind.COVER)
#: Words for some of the fish, where others count all.
_SOME_OF = ("keeper", "keepers", "dink", "dinks", "shorts", "unders", "overs", "keeper bass", "keeper fish")
#: What the size of a fish is told in.
_SIZES = (Kind.WEIGHT, Kind.LENGTHS, Kind.RANGE, Kind.NUMBER)
#: A weight over this beside three fish or more is what they weigh together.
_TOGETHER_G, _TOGETHER_FISH = 4500.0, 3


class EntryKind(StrEnum):
    """What a line is about, the first that holds in this order."""

    CATCH = "catch"
    BLANK = "blank"
    SIGHTING = "sighting"
    SWITCH = "switch"
    MOVE = "move"
    CONDITIONS = "conditions"
    NOTE = "note"


@dataclass(frozen=True, slots=True)
class Part:
    """A piece of the line and what it was taken for."""

    text: str
    meaning: str


@dataclass(frozen=True)
class Understood:
    """What a line says; None and empty where it says nothing. ``left`` could not be read.

    ``blank`` is true when it says that nothing was caught, ``change`` when it says that something was changed to.
    ``clock`` and ``since`` are local clock times. ``fish`` has one for each fish told; ``number_known`` is false where
    some were caught and it does not say how many. ``total_weight_g`` is what several weigh together, ``length_range_m``
    what they lie between. ``presentation`` is empty where several lures caught; ``lures`` has all that are named.
    ``readings`` are pieces about water or wind. ``open`` are questions whose answer would change what is learned.
    """

    fish: tuple[Fish, ...] = ()
    number_known: bool = True
    total_weight_g: float | None = None
    length_range_m: tuple[float, float] | None = None
    contacts: int = 0
    follows: int = 0
    sighting: bool = False
    blank: bool = False
    change: bool = False
    moved: bool = False
    presentation: str = ""
    lures: tuple[str, ...] = ()
    lure_named: bool = False
    weight_g: float | None = None
    colours: tuple[str, ...] = ()
    cover: Cover | None = None
    spot: str = ""
    depth_m: float | None = None
    clock: time | None = None
    since: time | None = None
    minutes: float | None = None
    moment: str = ""
    readings: tuple[str, ...] = ()
    parts: tuple[Part, ...] = ()
    left: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    open: tuple[str, ...] = ()

    @property
    def caught(self) -> bool:
        """Whether a fish showed itself at the line."""
        return bool(self.fish or self.contacts or self.follows or not self.number_known)

    @property
    def kind(self) -> EntryKind:
        """What the line is about."""
        held = (
            (self.caught, EntryKind.CATCH),
            (self.blank, EntryKind.BLANK),
            (self.sighting, EntryKind.SIGHTING),
            (self.change and (self.lure_named or not self.spot), EntryKind.SWITCH),
            (self.moved or self.change, EntryKind.MOVE),
            (bool(self.readings), EntryKind.CONDITIONS),
        )
        return next((kind for holds, kind in held if holds), EntryKind.NOTE)

    @property
    def uncertain(self) -> bool:
        """Whether what the line says of fish is not whole: a question is open, or words that may speak of them are."""
        return bool(self.open) or (bool(self.left) and not self.caught and not self.blank)


def read_line(
    text: str,
    words: LineWords,
    *,
    names: Mapping[str, str],
    spots: Sequence[str] = (),
    system: Units,
) -> Understood:
    """Read a line. names: presentation names by id (only these are taken); spots: names of the lake's spots.

    A bare fraction or ``oz`` is the lure's weight, lb and kg a fish's; in and cm are a fish's length, beside a lure
    the lure's own; ft and m a depth; ``45min`` is effort that ended now, ``since 06:50`` its start.
    """
    reader = _Reader(list(tokens_of(tidy(text[:LONGEST]), phrases_of(words, names, spots))), names, system)
    reader.read()
    if len(text) > LONGEST:
        reader.doubts.append(f"Only the first {LONGEST} signs were read.")
    return reader.understood()


def _length_words(value_m: float, system: Units) -> str:
    return f"{round(value_m / 0.0254, 1):g} in" if system == "us" else f"{round(value_m * 100.0, 1):g} cm"


@dataclass
class _Reader:
    """The tokens of a line, and what has been read so far."""

    tokens: list[Token]
    names: Mapping[str, str]
    system: Units
    at: int = 0
    count: int | None = None
    number_known: bool = True
    lengths: list[float] = field(default_factory=list)
    weights: list[float] = field(default_factory=list)
    species: str = ""
    bare: bool = False
    verb: bool = False
    sighting: bool = False
    lures: list[str] = field(default_factory=list)
    colours: list[str] = field(default_factory=list)
    readings: list[str] = field(default_factory=list)
    values: dict[str, object] = field(default_factory=dict)
    parts: list[Part] = field(default_factory=list)
    left: list[str] = field(default_factory=list)
    doubts: list[str] = field(default_factory=list)
    open: list[str] = field(default_factory=list)
    clause: str = ""  # what the clause is about: "saw", "lost", "switch", "move", "biggest", "total" or nothing
    hooked: int = 0
    refused: bool = False
    bitten: bool = False  # bites were counted before any fish
    generic: bool = False  # fish were counted by a word for all of them
    sizes: list[tuple[float, Token]] = field(default_factory=list)  # numbers that may be lengths in inches
    named: bool = False  # a lure by a word for several

    # --- looking about ---------------------------------------------------------------------------------------------

    def ahead(self, number: int = 1) -> Token | None:
        """The token so many further on that means something, within the clause."""
        for token in self.tokens[self.at + 1 :]:
            if token.kind is Kind.STOP:
                return None
            if token.kind is not Kind.IGNORED:
                number -= 1
                if number == 0:
                    return token
        return None

    def behind(self) -> Token | None:
        """The token before that means something, or the end of the clause before."""
        return next((one for one in reversed(self.tokens[: self.at]) if one.kind is not Kind.IGNORED), None)

    def beside(self) -> Token | None:
        """The very next token."""
        return self.tokens[self.at + 1] if self.at + 1 < len(self.tokens) else None

    def skip(self) -> None:
        """Go on to the next token that means something."""
        later = self.ahead()
        if later is not None:
            self.at = self.place(later)

    def place(self, token: Token) -> int:
        """Where a token stands; equal words may stand in several places."""
        return next(n for n, one in enumerate(self.tokens) if one is token)

    def said(self, token: Token | None, *groups: str) -> bool:
        """Whether a token is one of the groups of said words."""
        return token is not None and token.kind is Kind.SAID and token.value in groups

    # --- keeping ---------------------------------------------------------------------------------------------------

    def put(self, name: str, value: object, text: str, meaning: str) -> None:
        """Note a value; a second, different one for the same thing is told, and the first stands."""
        if name in self.values and self.values[name] != value:
            self.doubts.append(f"{text!r} says a second {name.replace('_', ' ')}; the first one stands.")
            return
        self.values[name] = value
        self.part(text, meaning)

    def add(self, name: str, number: int, text: str, meaning: str) -> None:
        """Add to a count."""
        if number <= MOST_FISH:
            self.values[name] = int(str(self.values.get(name, 0))) + number
            self.part(text, meaning)

    def part(self, text: str, meaning: str) -> None:
        """Tell what a piece was taken for."""
        self.parts.append(Part(text.strip(" ,;"), meaning))

    def leave(self, token: Token) -> None:
        """Hand a token back as it stands."""
        self.left += token.text.strip(".!?()\"' ").split()

    # --- reading ---------------------------------------------------------------------------------------------------

    def read(self) -> None:
        """Go through the tokens."""
        handlers: dict[Kind, Callable[[Token], None]] = {
            Kind.STOP: self._stop, Kind.SAID: self._said, Kind.COUNT: self._counted, Kind.RANGE: self._between,
            Kind.NUMBER: self._decimal, Kind.LENGTHS: self._lengths, Kind.LENGTH_RANGE: self._length_range,
            Kind.WEIGHT: self._weight, Kind.WEIGHTS: self._weights_listed, Kind.OUNCES: self._ounces,
            Kind.DEPTH: self._depth, Kind.SPAN: self._span, Kind.CLOCK: self._clock, Kind.SINCE: self._since,
            Kind.MINUTES: self._minutes, Kind.LURE: self._lure, Kind.SEVERAL_LURES: self._several,
            Kind.SPECIES: self._species, Kind.COLOUR: self._colour, Kind.READING: self._reading,
            Kind.WORD: self.leave, Kind.IGNORED: lambda _: None,
        }  # fmt: skip
        while self.at < len(self.tokens):
            token = self.tokens[self.at]
            handler = handlers.get(token.kind)
            if handler is not None:
                handler(token)
            else:
                word = str(token.value.value if isinstance(token.value, Cover) else token.value)
                shown = f"{'spot ' if token.kind is Kind.SPOT else ''}{word.replace('_', ' ')}"
                shown = f"cover {shown}" if token.kind is Kind.COVER else shown
                self.put(token.kind.name.lower(), token.value, token.text, shown)
            self.at += 1

    def _stop(self, token: Token) -> None:
        self.clause = ""
        self.verb = self.verb and token.text in (",", "and", "&", "+")

    def _said(self, token: Token) -> None:
        group = str(token.value)
        if group == "fish":
            self._fish(token)
        elif group == "catch":
            self.verb, self.clause = True, "" if self.clause in ("saw", "hooked") else self.clause
            if self.said(self.ahead(), "fish") and self.ahead(1) is not None:
                return
            self.part(token.text, "caught")
        elif group == "saw":
            self.clause, self.sighting = "saw", True
            self.part(token.text, "seen, not caught")
        elif group == "behaved":
            self.sighting, self.clause = True, "saw"
            if self.bare and self.count is None and not self.verb:
                self.bare = False
            self.part(token.text, "seen, not caught")
        elif group == "bait":
            if self.clause == "saw":
                self.part(token.text, "bait seen")
            else:
                self.leave(token)
        elif group in ("bite", "lost", "follow"):
            self._contact(token, group)
        elif group == "blank":
            self.put("blank", True, token.text, "blank: nothing caught")
            self.clause = "blank"
            self.refused = self.refused or token.text in _REFUSED
        elif group == "switch":
            self.values["change"] = True
            self.clause = "switch"
        elif group == "move":
            self.values["moved"] = True
            self.clause = "move"
            self.part(token.text, "moved")
        elif group in ("biggest", "total", "bound"):
            self.clause = group
            if group == "total" and token.text in ("best five", "best 5") and self.count is None:
                self._landed(5, token.text)
        elif group == "limit":
            self._limit(token)
        elif group == "vague":
            self._vague(token)
        elif group in ("hooked", "others"):
            self.clause = group
        elif group == "fished":
            self.clause = "blank" if self.clause == "blank" else "fished"

    def _contact(self, token: Token, group: str) -> None:
        name = "follows" if group == "follow" else "contacts"
        number, text = 1, token.text
        later, beside = self.ahead(), self.beside()
        if group == "lost" and beside is not None and beside.text in _IT and self.values.get("contacts"):
            self.part(token.text, "not landed")
            return
        if token.text in _MANY:
            self.leave(token)
            self.open.append(f"How many {token.text}?")
            return
        if group == "lost" and later is not None and later.kind is Kind.COUNT:
            number, text = int(str(later.value)), f"{token.text} {later.text}"
            self.skip()
        if group == "lost" and self.said(self.ahead(), "biggest"):
            self.skip()
        size, single = self.ahead(), later is None or later.kind is not Kind.COUNT or later.word in ("a", "an", "one")
        if group == "lost" and single and size is not None and size.kind in _SIZES:
            self.skip()  # what got away was not landed
            text = f"{text} {size.text}"
        if group == "lost" and self.said(self.ahead(), "fish"):
            self.skip()
        if number == 0:
            self.put("blank", True, text, "blank: no contact")
            return
        what = "follows" if group == "follow" else "bites, not landed"
        self.add(name, number, text, f"{number} {what}")

    def _fish(self, token: Token) -> None:
        """The bare word: one fish, unless a count or sizes say how many; seen where the clause is about that."""
        if self.clause in ("saw", "others"):
            self.part(token.text, "fish seen" if self.clause == "saw" else "fish of somebody else")
            return
        if self.not_landed() and not self.verb:
            return
        beside = self.beside()
        if self.said(self.ahead(), "behaved"):
            return  # the next word says that it was seen
        if beside is not None and beside.text in _ARE and not self.verb:
            self.leave(token)  # "fish are on the outside edge"
            return
        plural = token.text.endswith(("s", "bass", "fish")) and token.text not in ("bass", "fish")
        if plural and self.verb and self.count is None and not self.lengths and not self.weights:
            self.number_known = False
        self.bare = True
        self.part(token.text, "fish")

    def _landed(self, number: int, text: str) -> None:
        if number > MOST_FISH:
            self.doubts.append(f"{text!r} is no likely number of fish.")
        elif number == 0:
            self.put("blank", True, text, "blank: nothing caught")
        else:
            self.count = (self.count or 0) + number
            self.part(text, f"{number} fish")
            bites = int(str(self.values.get("contacts", 0)))
            if self.verb and number <= bites and self.bitten:  # "had 5 bites, landed 3"
                self.values["contacts"], self.bitten = bites - number, False

    def _counted(self, token: Token) -> None:
        """A number that counts something: the first rule that knows what; else it is left over."""
        number = int(str(token.value))
        rules = (
            self._count_both, self._count_not_mine, self._count_others, self._count_tries, self._count_hooked,
            self._count_seen, self._count_fish, self._count_contacts, self._count_lengths, self._count_weights,
            self._count_by_kind, self._count_size, self._count_alone,
        )  # fmt: skip
        if not any(rule(token, number) for rule in rules):
            self.leave(token)

    def _count_both(self, token: Token, number: int) -> bool:
        if token.word == "another" and (self.verb or self.count):
            self._landed(1, token.text)
            return not self.said(self.ahead(), "bite", "lost", "follow")
        if token.word != "both":
            return False
        self.count = max(self.count or 0, number)
        self.part(token.text, "2 fish")
        return True

    def _count_not_mine(self, token: Token, number: int) -> bool:
        """What somebody else caught is no part of this log."""
        if self.clause != "others":
            return False
        if token.word not in _ARTICLES:
            self.part(token.text, f"{number} of somebody else")
            if self.said(self.ahead(), "fish"):
                self.skip()
        return True

    def _count_others(self, token: Token, _number: int) -> bool:
        """Fish that are no bass, and fish on their beds: "caught 2 bluegill", "two on beds"."""
        later = self.ahead()
        if self.said(later, "behaved") and not self.verb:
            return True
        if not self.said(later, "bait") or later is None:
            return False
        if self.clause != "saw":
            self.skip()
            self.left += [token.text, later.text]
            self.open.append(f"{token.text} {later.text} are no bass: did you catch any bass?")
        return True

    def _count_tries(self, token: Token, number: int) -> bool:
        """Two of five bites landed: "2 for 5"."""
        later, beside = self.ahead(), self.beside()
        if beside is None or beside.text != "for" or later is None or later.kind is not Kind.COUNT:
            return False
        tries = int(str(later.value))
        if number > tries or number >= _LIMIT_FISH:
            return False
        self.skip()
        self.count = (self.count or 0) + number
        self.add("contacts", tries - number, f"{token.text} for {later.text}", f"{number} of {tries} landed")
        if self.said(self.ahead(), "bite"):
            self.skip()
        return True

    def _count_hooked(self, token: Token, number: int) -> bool:
        if self.clause != "hooked" or token.word in _ARTICLES:
            return False
        self.hooked += number
        self.part(token.text, f"{number} hooked")
        return True

    def _count_seen(self, token: Token, number: int) -> bool:
        later = self.ahead()
        if self.clause != "saw" or self.said(later, "bite", "lost", "follow"):
            return False
        if token.word not in _ARTICLES or self.said(later, "fish"):
            self.part(token.text, f"{number} seen")
        return True

    def _count_fish(self, token: Token, number: int) -> bool:
        later = self.ahead()
        if not self.said(later, "fish") or later is None:
            return False
        if self.count is not None and self.generic and later.text in _SOME_OF and 0 < number <= self.count:
            self.skip()  # "7 fish, 3 keepers": some of them
            self.part(f"{token.text} {later.text}", f"{number} of them")
            return True
        self.generic = self.generic or later.text not in _SOME_OF
        after = self.ahead(2)
        if self.said(after, "behaved"):
            return True
        if self.said(after, "follow"):
            return False
        self.skip()
        self._landed(number, f"{token.text} {later.text}")
        return True

    def _count_contacts(self, token: Token, number: int) -> bool:
        later = self.ahead()
        if not self.said(later, "bite", "lost", "follow") or later is None:
            return False
        self.skip()
        text = f"{token.text} {later.text}"
        if number == 0:
            self.put("blank", True, text, "blank: no contact")
            return True
        follows = later.value == "follow"
        self.bitten = later.value == "bite" and self.count is None
        what = "follows" if follows else "bites, not landed"
        self.add("follows" if follows else "contacts", number, text, f"{number} {what}")
        return True

    def _count_lengths(self, token: Token, number: int) -> bool:
        later = self.ahead()
        if later is None or later.kind is not Kind.LENGTHS or self._lure_size(later, self.ahead(2)):
            return False
        values = later.value
        if number and len(values) == 1:
            self.skip()
            self._sized(values * number, f"{token.text} {later.text}")
            return True
        return number == len(values)

    def _count_weights(self, token: Token, number: int) -> bool:
        later = self.ahead()
        if later is None or later.kind not in (Kind.RANGE, Kind.WEIGHT, Kind.NUMBER):
            return False
        if token.word in _ARTICLES and self.not_landed():
            self.skip()
            self.part(later.text, "a weight, of no fish landed")
            return True
        if self._together(number):
            self._landed(number, token.text)
            self.clause = "total"
            return True
        if later.kind is not Kind.WEIGHT or not number:
            return False
        if self.bounded(later):
            return self.count is not None  # "4 bass, 2 over 4 lb": some of them
        self.skip()
        self._weighed([float(str(later.value))] * number, f"{token.text} {later.text}")
        return True

    def _count_by_kind(self, token: Token, number: int) -> bool:
        """Fish by their kind or by the range of their lengths: "4 largemouth", "3 12-14 in"."""
        later = self.ahead()
        if later is None or later.kind not in (Kind.SPECIES, Kind.LENGTH_RANGE):
            return False
        self._landed(number, token.text)
        return True

    def _count_size(self, token: Token, number: int) -> bool:
        """Numbers that are a fish's size: "one 14", "one 2-8", "biggest 5"; an article says nothing more."""
        later, before = self.ahead(), self.behind()
        if number == 1 and later is not None and (
            self._bare_size(later) or (later.kind is Kind.RANGE and later.word == "-")
        ):  # fmt: skip
            return True
        if token.word in _ARTICLES:
            return True
        beside = self.beside()
        noun = beside is not None and beside.kind is Kind.WORD
        if self._bare_size(token) and not noun and (self.said_one(before) or not self.verb):
            self.sizes.append((float(number), token))
            return True
        return self.clause == "biggest" and self._best(float(number), 0.0, token.text)

    def _count_alone(self, token: Token, number: int) -> bool:
        """A number with no word for fish: behind a verb, before "on" or a total, or at the start before a lure."""
        later, before, beside = self.ahead(), self.behind(), self.beside()
        if beside is not None and beside.kind is Kind.WORD:
            self.open.append(f"{token.text} {beside.text}: are they bass?")
            return False
        on_lure = later is not None and later.kind is Kind.LURE and later.text.startswith("on ")
        if self.verb or on_lure or self.said(before, "catch") or self.said(later, "limit"):
            self._landed(number, token.text)
            self.verb = False
            return True
        if (beside is not None and beside.text in _FISH_BEFORE) or self.said(later, "total") or self.clause == "total":
            self._landed(number, token.text)
            return True
        if self.said(later, "catch") or (later is not None and later.kind is Kind.MINUTES):
            self.verb = True  # "3 in 20 minutes"
            self._landed(number, token.text)
            return True
        first = before is None or before.kind is Kind.STOP
        if first and self.count is None and token.text.isdigit() and later is not None and later.kind in _SETTING:
            self._landed(number, token.text)
            return True
        return False

    def bounded(self, size: Token) -> bool:
        """Whether a size is a bound, "over 4 lb", rather than a fish's own."""
        at = self.place(size)
        return at > 0 and self.tokens[at - 1].text in ("over", "under", "above", "below")

    def not_landed(self) -> bool:
        """Whether it goes on to say that the fish only followed: "a 5 lb fish followed"."""
        for one in self.tokens[self.at + 1 :]:
            if self.said(one, "follow"):
                return not self.verb
            if self.said(one, "lost") and one.text.split()[0] in ("come", "came", "got", "shook"):
                return True  # "had a 5 lber come off"
            if one.kind not in (Kind.IGNORED, Kind.WEIGHT, Kind.LENGTHS) and not self.said(one, "fish"):
                return False
        return False

    def _bare_size(self, token: Token) -> bool:
        """Whether a number may be a fish's length without its unit: 10 to 28, in inches."""
        if self.system != "us" or token.kind not in (Kind.COUNT, Kind.NUMBER) or not token.text[:1].isdigit():
            return False
        return _BARE_LENGTH_IN[0] <= float(str(token.value)) <= _BARE_LENGTH_IN[1]

    def said_one(self, token: Token | None) -> bool:
        """Whether a token is a count of one."""
        return token is not None and token.kind is Kind.COUNT and token.value == 1

    def _together(self, number: int) -> bool:
        """Whether a weight behind a count is what all weigh: "5 for 14 lbs"."""
        between = [one.text for one in self.tokens[self.at + 1 : self.at + 3]]
        return number >= _TOGETHER_FISH and ("for" in between or self.clause == "total")

    def _limit(self, token: Token) -> None:
        self.clause = "total"
        self.part(token.text, "a limit")
        if self.count is None and not self.said(self.ahead(), "fish"):
            before = self.behind()
            if before is not None and before.kind is Kind.COUNT and not str(before.value).startswith("0"):
                return
            self.number_known = False

    def _vague(self, token: Token) -> None:
        later = self.ahead()
        if self.clause == "saw":
            return
        if self.said(later, "bite", "lost", "follow") and later is not None:
            self.skip()
            what = "follows" if later.value == "follow" else "contacts"
            self.add(what, 1, f"{token.text} {later.text}", "at least one")
            self.open.append(f"How many {later.text}?")
            return
        if self.said(later, "fish") or self.verb:
            self.number_known = False
            self.part(token.text, "some fish")
            if self.said(later, "fish"):
                self.skip()
            return
        self.leave(token)

    def _between(self, token: Token) -> None:
        low, high = token.value
        later, before = self.ahead(), self.behind()
        went = self.at > 0 and self.tokens[self.at - 1].text in ("went", "for") and (self.count or 0) >= _TOGETHER_FISH
        together = went or self.clause == "total" or self.said(later, "total")
        if together and token.word == "-" and self.system == "us" and high < 16:
            grams = round(low * units.POUND_G + high * units.OUNCE_G, 1)
            self.put("total_weight_g", grams, token.text, f"together {grams / units.POUND_G:.2f} lb ({grams:.0f} g)")
            return
        heavy = self.clause == "biggest" or (token.word == "-" and self._is_pound_ounce(low, high))
        if heavy and self._best(low, high, token.text):
            return
        if self.said(later, "fish") and later is not None and low < high:
            self.skip()
            self._landed(int(low), f"{token.text} {later.text}")
            self.open.append(f"How many were it of {token.text}? The lower is taken.")
            return
        if self.said(later, "bite", "lost", "follow") and later is not None:
            self.skip()
            name = "follows" if later.value == "follow" else "contacts"
            self.add(name, int(low), f"{token.text} {later.text}", f"{int(low)} at least")
            return
        timed = self.clause in ("blank", "fished") or self.said(before, "blank", "fished")
        if timed and low < 24 and high < 24:
            begin, end = int(low), int(high)
            if end <= begin:
                end += 12
            if end < 24:
                self.put("since", time(begin), token.text, f"from {begin:02d}:00")
                self.put("clock", time(end), token.text, f"to {end:02d}:00")
                return
        self.leave(token)

    def _is_pound_ounce(self, low: float, high: float) -> bool:
        """Whether "5-4" is a fish of five pounds and four ounces: behind "a" or "one", or beside nothing else."""
        before = self.tokens[self.at - 1] if self.at else None
        single = self.said_one(before) or self.said_one(self.behind()) or (self.count == 1 and not self.weights)
        alone = self.count is None and not self.verb and (self.at == 0 or self.tokens[self.at - 1].kind is Kind.STOP)
        return (single or alone) and 1 <= low <= 15 and high < 16

    def _decimal(self, token: Token) -> None:
        value = float(str(token.value))
        if self.clause == "total" and self.system == "us":
            self.put("total_weight_g", round(value * units.POUND_G, 1), token.text, f"together {value:g} lb")
            return
        if self.clause == "biggest" and self._best(value, 0.0, token.text):
            return
        if self._bare_size(token):
            self.sizes.append((value, token))
            return
        if self.weights and self.system == "us" and self.said_one(self.behind()):
            self._weighed([round(value * units.POUND_G, 1)], token.text)  # "3 lb, 2 lb and a 1.5"
            return
        self.leave(token)

    def _best(self, pounds: float, ounces: float, text: str) -> bool:
        if self.system != "us" or ounces >= 16.0:
            return False
        grams = round(pounds * units.POUND_G + ounces * units.OUNCE_G, 1)
        if not FISH_WEIGHT_G[0] <= grams <= FISH_WEIGHT_G[1]:
            return False
        self._weighed([grams], text)
        return True

    def _lure_size(self, token: Token, later: Token | None) -> bool:
        """Whether a length is the lure's: right before its name, behind "on" or the like, or too short for a fish."""
        if later is not None and later.kind in (Kind.COLOUR, Kind.OUNCES):
            later = next(
                (
                    one
                    for one in self.tokens[self.place(later) :]
                    if one.kind not in (Kind.COLOUR, Kind.OUNCES, Kind.IGNORED)
                ),
                None,
            )
        values = token.value
        assert isinstance(values, tuple)
        if len(values) != 1:
            return False
        place = self.place(token)
        before = self.tokens[place - 1] if place else None
        if before is not None and before.kind is Kind.COUNT and before.word in ("a", "an") and place > 1:
            before = self.tokens[place - 2]
        if later is None or later.kind not in (Kind.LURE, Kind.SEVERAL_LURES):
            # a lure that is not known by its name: "on a 5 inch something"
            thrown = before is not None and before.text in ("on", "with", "using", "threw", "throwing")
            return thrown and later is not None and values[0] <= _LURE_LENGTH_M
        behind_on = before is not None and before.text in ("on", "with", "using", "off", "the", "threw", "throwing")
        return bool(values[0] <= (2 * _LURE_LENGTH_M if behind_on else _LURE_LENGTH_M))

    def _lengths(self, token: Token) -> None:
        values = token.value
        assert isinstance(values, tuple)
        if self.clause in ("saw", "bound", "others") or self.bounded(token) or self.not_landed():
            self.part(token.text, "a length, of no fish landed")
        elif self._lure_size(token, self.ahead()):
            self.part(token.text, "length of the lure")
        elif self.clause == "each":
            return
        else:
            self._sized(values, token.text)

    def _sized(self, values: tuple[float, ...], text: str) -> bool:
        if not all(FISH_LENGTH_M[0] <= value <= FISH_LENGTH_M[1] for value in values):
            self.doubts.append(f"{text!r} is no likely length of a bass.")
            return False
        if len(values) > MOST_FISH:
            return False
        for_each = self.said(self.ahead(), "each") or (self.at and self.tokens[self.at - 1].text == "all")
        if for_each and self.count is not None and len(values) == 1:
            values = values * self.count
        self.lengths += values
        shown = " and ".join(dict.fromkeys(_length_words(value, self.system) for value in values))
        self.part(text, f"{len(values)} fish of {shown}" if len(values) > 1 else f"length {shown}")
        return True

    def _length_range(self, token: Token) -> None:
        low, high = token.value
        if self.clause == "saw":
            self.part(token.text, "lengths seen")
            return
        if not FISH_LENGTH_M[0] <= low <= high <= FISH_LENGTH_M[1]:
            self.doubts.append(f"{token.text!r} is no likely length of a bass.")
            return
        self.values.setdefault("length_range_m", (low, high))
        self.part(token.text, f"lengths from {token.text}")
        if self.count is None and not self.lengths:
            self.number_known = self.bare
            self.bare = self.bare or False

    def _weight(self, token: Token) -> None:
        grams = float(str(token.value))
        several = (self.count or 0) >= _TOGETHER_FISH or not self.number_known
        for_all = self.tokens[self.at - 1].text == "for" if self.at else False
        if self.clause in ("saw", "bound", "others") or self.bounded(token) or self.not_landed():
            self.part(token.text, "a weight, of no fish landed")
        elif self._for_several(token):
            return
        elif (
            self.clause == "total" or (several and (for_all or grams > _TOGETHER_G)) or self.said(self.ahead(), "total")
        ):
            self.put("total_weight_g", grams, token.text, f"together {grams / units.POUND_G:.2f} lb ({grams:.0f} g)")
        elif self.said(self.ahead(), "each") and self.count is not None:
            self._weighed([grams] * self.count, token.text)
        else:
            self._weighed([grams], token.text)

    def _for_several(self, token: Token) -> bool:
        """ "10 lb 4 oz for five": what five fish weigh together."""
        later, beside = self.ahead(), self.beside()
        if beside is None or beside.text != "for" or later is None or later.kind is not Kind.COUNT:
            return False
        number = int(str(later.value))
        if number < _TOGETHER_FISH:
            return False
        grams = float(str(token.value))
        self.put("total_weight_g", grams, token.text, f"together {grams / units.POUND_G:.2f} lb ({grams:.0f} g)")
        self.skip()
        if self.count is None:
            self._landed(number, later.text)
        return True

    def _weights_listed(self, token: Token) -> None:
        self._weighed(list(token.value), token.text)

    def _weighed(self, grams: list[float], text: str) -> bool:
        if not all(FISH_WEIGHT_G[0] <= one <= FISH_WEIGHT_G[1] for one in grams):
            self.doubts.append(f"{text!r} is no likely weight of a bass.")
            return False
        self.weights += grams
        self.part(text, f"fish weight {grams[0] / units.POUND_G:.2f} lb ({grams[0]:.0f} g)")
        return True

    def _ounces(self, token: Token) -> None:
        value = float(str(token.value))
        if not LURE_WEIGHT_G[0] <= value <= LURE_WEIGHT_G[1]:
            self.doubts.append(f"{token.text!r} is no likely weight of a lure.")
            return
        self.put("weight_g", value, token.text, f"lure weight {units.show_weight(value, self.system)}")

    def _depth(self, token: Token) -> None:
        value = float(str(token.value))
        if not DEPTH_M[0] <= value <= DEPTH_M[1]:
            self.doubts.append(f"{token.text!r} is no likely depth.")
            return
        self.put("depth_m", value, token.text, f"depth {units.show_depth(value, self.system)}")

    def _span(self, token: Token) -> None:
        begin, end = token.value
        self.put("since", begin, token.text, f"from {begin:%H:%M}")
        self.put("clock", end, token.text, f"to {end:%H:%M}")

    def _clock(self, token: Token) -> None:
        self.put("clock", token.value, token.text, f"time {token.value:%H:%M}")

    def _since(self, token: Token) -> None:
        self.put("since", token.value, token.text, f"since {token.value:%H:%M}")

    def _minutes(self, token: Token) -> None:
        value = float(str(token.value))
        if not MINUTES[0] <= value <= MINUTES[1]:
            self.doubts.append(f"{token.text!r} is no likely time on one spot.")
            return
        self.put("minutes", value, token.text, f"fished for {units.show_duration(value)}")

    def _lure(self, token: Token) -> None:
        id_ = str(token.value)
        if id_ not in self.lures:
            self.lures.append(id_)
        if self.clause == "switch":
            self.values["presentation"] = id_
        self.part(token.text, self.names[id_])

    def _several(self, token: Token) -> None:
        options = [self.names[one] for one in token.value if one in self.names]
        if options:
            self.named = True
            self.open.append(f"Which {token.text}: {', '.join(options)}?")
            self.doubts.append(f"{token.text!r} may be {', '.join(options)}; not taken, say which.")
        else:
            self.leave(token)

    def _species(self, token: Token) -> None:
        if self.clause != "saw":
            self.species = self.species or str(token.value)
            one = token.text.rstrip("s") == token.text
            if self.count is None and self.verb:
                self.bare = self.bare or one
        self.part(token.text, str(token.value))

    def _colour(self, token: Token) -> None:
        self.colours.append(str(token.value))
        self.part(token.text, f"colour {token.value}")

    def _reading(self, token: Token) -> None:
        self.readings.append(token.text)
        self.part(token.text, "water or wind")

    # --- putting together ------------------------------------------------------------------------------------------

    def understood(self) -> Understood:
        """Put fish together: lengths and weights in the order given; more of them than the count raise the count."""
        self._settle_sizes()
        measured = max(len(self.lengths), len(self.weights))
        # "bed fish wouldn't bite" says of a fish that it was not caught
        bare = self.bare and self.count is None and not self.refused
        count = max(self.count or 0, measured, int(bare))
        if self.count is not None and measured > self.count:
            self.doubts.append(f"{measured} lengths or weights for {self.count} fish; {measured} were taken.")
        fish = tuple(
            Fish(
                self.lengths[n] if n < len(self.lengths) else None,
                self.weights[n] if n < len(self.weights) else None,
                self.species,
            )
            for n in range(count)
        )
        if self.hooked > len(fish):
            self.add("contacts", self.hooked - len(fish), "hooked", f"{self.hooked - len(fish)} not landed")
        values = dict(self.values)
        if (
            "clock" in values
            and "since" not in values
            and _AFTER_THAT.search(" ".join(one.text for one in self.tokens))
        ):
            values["since"] = values.pop("clock")  # "at 9 ..., 4 after that"
        known = self.number_known or self.count is not None
        if not known:
            self.open.append("How many fish?")
        caught = fish or not known or values.get("contacts") or values.get("follows")
        timed = "minutes" in values or ("since" in values and "clock" in values)
        if timed and not caught and not values.get("blank") and not self.sighting:
            self.open.append("How many fish, or none?")
        if values.get("blank") and caught:
            if fish or not known:
                self.doubts.append("It says blank and a catch; the catch stands.")
            values["blank"] = False
        return Understood(
            **{
                "fish": fish,
                "number_known": known,
                "sighting": self.sighting,
                "lures": tuple(self.lures),
                "lure_named": self.named or bool(self.lures),
                "presentation": self._presentation(values),
                "colours": tuple(dict.fromkeys(self.colours)),
                "readings": tuple(self.readings),
                "parts": tuple(self.parts),
                "left": tuple(self.left),
                "doubts": tuple(self.doubts),
                "open": tuple(dict.fromkeys(self.open)),
                **{key: value for key, value in values.items() if key != "presentation"},
            }  # type: ignore[arg-type]
        )

    def _settle_sizes(self) -> None:
        """Numbers without a unit are lengths where they make up the count, or stand beside lengths; else left over."""
        if not self.sizes:
            return
        whole = self.count is not None and len(self.lengths) + len(self.sizes) == self.count
        ones = self.count is None and not self.weights and (self.lengths or len(self.sizes) > 1 or self.single_sizes)
        if whole or ones:
            for value, token in self.sizes:
                self.lengths.append(round(value * 0.0254, 4))
                self.part(token.text, f"length {value:g} in")
        else:
            for _, token in self.sizes:
                self.leave(token)

    @property
    def single_sizes(self) -> bool:
        """Whether each number without a unit stands behind "one" or "a"."""
        places = [self.place(token) for _, token in self.sizes]
        return all(n > 0 and self.said_one(self.tokens[n - 1]) for n in places)

    def _presentation(self, values: Mapping[str, object]) -> str:
        """The lure of the line: of two the one that was changed to; of several that may all have caught none."""
        if "presentation" in values:
            return str(values["presentation"])
        if len(self.lures) > 1:
            self.doubts.append("Several lures are named: which of them took how many?")
            self.open.append("Which lure took how many?")
            return ""
        return self.lures[0] if self.lures else ""
