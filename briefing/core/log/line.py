"""One line as it is typed at the water, such as ``2 fish 14in 16in bladed 3/8 grass 4ft 07:40``.

Every part may be left out and come in any order. What was understood is told part by part; what was not is handed
back as it stands and kept as the note, never guessed. No text raises an error.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import time

from briefing import units
from briefing.core.log.parameters import LineWords
from briefing.core.log.records import Fish
from briefing.units import Units
from briefing.vocabulary import Cover

LONGEST = 500
#: A bass's length and weight: outside these a number is no fish.
FISH_LENGTH_M = (0.05, 0.85)
FISH_WEIGHT_G = (20.0, 12_000.0)
LURE_WEIGHT_G = (0.3, 120.0)
DEPTH_M = (0.0, 40.0)
MOST_FISH = 200

_NUMBER_WORDS = {
    **{"a": 1, "an": 1, "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8},
    **{"nine": 9, "ten": 10, "no": 0, "zero": 0},
}
_COUNT = rf"(?P<count>[0-9]{{1,3}}|{'|'.join(_NUMBER_WORDS)})"
_N = r"[0-9]+(?:[.,][0-9]+)?(?: [0-9]/[0-9]{1,2})?"


@dataclass(frozen=True, slots=True)
class Part:
    """A piece of the line and what it was taken for."""

    text: str
    meaning: str


@dataclass(frozen=True)
class Understood:
    """What a line says; None and empty where it says nothing. ``left`` could not be read.

    ``blank`` is true when it says that nothing was caught, ``change`` when it says that something was changed to.
    ``clock`` and ``since`` are local clock times.
    """

    fish: tuple[Fish, ...] = ()
    contacts: int = 0
    follows: int = 0
    blank: bool = False
    change: bool = False
    presentation: str = ""
    weight_g: float | None = None
    cover: Cover | None = None
    spot: str = ""
    depth_m: float | None = None
    clock: time | None = None
    since: time | None = None
    minutes: float | None = None
    moment: str = ""
    parts: tuple[Part, ...] = ()
    left: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()


@dataclass
class _State:
    """What has been read so far."""

    system: Units
    names: Mapping[str, str]
    count: int | None = None
    lengths: list[float] = field(default_factory=list)
    weights: list[float] = field(default_factory=list)
    species: str = ""
    bare: bool = False
    values: dict[str, object] = field(default_factory=dict)
    parts: list[Part] = field(default_factory=list)
    left: list[str] = field(default_factory=list)
    doubts: list[str] = field(default_factory=list)

    def put(self, name: str, value: object, text: str, meaning: str) -> bool:
        """Note a value; a second, different one for the same thing is left over and told."""
        if name in self.values and self.values[name] != value:
            self.doubts.append(f"{text!r} says a second {name.replace('_', ' ')}; the first one stands.")
            return False
        self.values[name] = value
        self.parts.append(Part(text, meaning))
        return True

    def add(self, name: str, number: int, text: str, meaning: str) -> bool:
        """Add to a count."""
        self.values[name] = int(str(self.values.get(name, 0))) + number
        self.parts.append(Part(text, meaning))
        return True


def read_line(
    text: str,
    words: LineWords,
    *,
    names: Mapping[str, str],
    spots: Sequence[str] = (),
    system: Units,
) -> Understood:
    """Read a line. names: presentation names by id (only these are taken); spots: names of the lake's spots.

    A bare fraction or ``oz`` is the lure's weight, lb and kg a fish's; in and cm are a fish's length, ft and m a
    depth; ``45min`` is effort that ended now, ``since 06:50`` its start.
    """
    rest = _tidy(text[:LONGEST])
    state = _State(system, names)
    phrases = _phrases(words, names, spots)
    at = 0
    while at < len(rest):
        if rest[at] in " ,;":
            at += 1
            continue
        step = _pattern_at(state, rest, at) or _phrase_at(state, rest, at, phrases, words)
        if step:
            at += step
            continue
        end = _word_end(rest, at)
        word = rest[at:end].strip(".!?()")
        if word and word not in words.ignore and word not in words.change:
            state.left.append(word)
        elif word in words.change:
            state.values["change"] = True
        at = end
    if len(text) > LONGEST:
        state.doubts.append(f"Only the first {LONGEST} signs were read.")
    return _finished(state)


def _tidy(text: str) -> str:
    out = text.lower()
    for old, new in (("”", '"'), ("″", '"'), ("“", '"'), ("’", "'"), ("′", "'"), ("–", "-"), ("—", "-"), ("½", " 1/2"),
                     ("¼", " 1/4"), ("¾", " 3/4"), ("\t", " "), ("\n", " "), ("\r", " ")):  # fmt: skip
        out = out.replace(old, new)
    return " ".join("".join(sign if sign.isprintable() else " " for sign in out).split())


def _word_end(text: str, at: int) -> int:
    end = at + 1
    while end < len(text) and text[end] not in " ,;":
        end += 1
    return end


def _number(text: str) -> float:
    whole, _, part = text.replace(",", ".").partition(" ")
    value = float(whole)
    if part:
        above, below = part.split("/")
        value += int(above) / int(below) if int(below) else 0.0
    return value


# --- numbers with a unit ---------------------------------------------------------------------------------------------


def _of(match: re.Match[str], name: str) -> str:
    """A named group, empty where the pattern has none of that name or it took no part."""
    return match.groupdict().get(name) or ""


_Handler = Callable[[_State, "re.Match[str]"], bool]
_END = r"(?![a-z0-9/])"


def _length(state: _State, match: re.Match[str]) -> bool:
    scale = 0.0254 if match["unit"][0] in 'i"' else 0.01
    value = _number(match["n"]) * scale
    if not FISH_LENGTH_M[0] <= value <= FISH_LENGTH_M[1]:
        state.doubts.append(f"{match[0]!r} is no likely length of a bass.")
        return False
    times = int(_of(match, "times") or 1)
    if times > MOST_FISH:
        return False
    state.lengths += [round(value, 4)] * times
    shown = f"{_number(match['n']):g} {'in' if scale > 0.02 else 'cm'}"
    state.parts.append(Part(match[0], f"{times} fish of {shown}" if _of(match, "times") else f"length {shown}"))
    return True


def _fish_weight(state: _State, match: re.Match[str]) -> bool:
    value = _number(match["n"]) * (1000.0 if match["unit"].startswith("k") else units.POUND_G)
    if _of(match, "oz"):
        value += _number(_of(match, "oz")) * units.OUNCE_G
    if not FISH_WEIGHT_G[0] <= value <= FISH_WEIGHT_G[1]:
        state.doubts.append(f"{match[0]!r} is no likely weight of a bass.")
        return False
    state.weights.append(round(value, 1))
    state.parts.append(Part(match[0], f"fish weight {value / units.POUND_G:.2f} lb ({value:.0f} g)"))
    return True


def _grams(state: _State, match: re.Match[str]) -> bool:
    value = _number(match["n"])
    if value <= LURE_WEIGHT_G[1]:
        return _lure(state, value, match[0])
    if value <= FISH_WEIGHT_G[1]:
        state.weights.append(value)
        state.parts.append(Part(match[0], f"fish weight {value:g} g"))
        return True
    return False


def _ounces(state: _State, match: re.Match[str]) -> bool:
    text = match["n"]
    if "/" in text and " " not in text:
        above, below = text.split("/")
        if not int(below):
            return False
        return _lure(state, int(above) / int(below) * units.OUNCE_G, match[0])
    return _lure(state, _number(text.replace("-", " ")) * units.OUNCE_G, match[0])


def _lure(state: _State, value: float, text: str) -> bool:
    if not LURE_WEIGHT_G[0] <= value <= LURE_WEIGHT_G[1]:
        state.doubts.append(f"{text!r} is no likely weight of a lure.")
        return False
    return state.put("weight_g", round(value, 3), text, f"lure weight {units.show_weight(value, state.system)}")


def _depth(state: _State, match: re.Match[str]) -> bool:
    scale = units.FOOT_M if match["unit"][0] in "f'" else 1.0
    value = _number(match["n"]) * scale
    if _of(match, "to"):
        value = (value + _number(_of(match, "to")) * scale) / 2.0
    if not DEPTH_M[0] <= value <= DEPTH_M[1]:
        state.doubts.append(f"{match[0]!r} is no likely depth.")
        return False
    return state.put("depth_m", round(value, 3), match[0], f"depth {units.show_depth(value, state.system)}")


def _minutes(state: _State, match: re.Match[str]) -> bool:
    hours, minutes = _of(match, "h"), _of(match, "min")
    value = (_number(hours) * 60.0 if hours else 0.0) + (_number(minutes) if minutes else 0.0)
    if not 1.0 <= value <= 16 * 60.0:
        state.doubts.append(f"{match[0]!r} is no likely time on one spot.")
        return False
    return state.put("minutes", value, match[0], f"fished for {units.show_duration(value)}")


def _clock(state: _State, match: re.Match[str]) -> bool:
    at = _time(_of(match, "h"), _of(match, "m"), _of(match, "half"))
    return at is not None and state.put("clock", at, match[0], f"time {at:%H:%M}")


def _since(state: _State, match: re.Match[str]) -> bool:
    at = _time(_of(match, "h"), _of(match, "m"), _of(match, "half"))
    return at is not None and state.put("since", at, match[0], f"since {at:%H:%M}")


def _span(state: _State, match: re.Match[str]) -> bool:
    begin, end = _time(_of(match, "h"), _of(match, "m")), _time(match["h2"], match["m2"])
    if begin is None or end is None:
        return False
    return state.put("since", begin, match[0], f"from {begin:%H:%M}") and state.put(
        "clock", end, match[0], f"to {end:%H:%M}"
    )


def _time(hour: str, minute: str, half: str = "") -> time | None:
    number, minutes = int(hour), int(minute or 0)
    if half:
        if not 1 <= number <= 12:
            return None
        number = number % 12 + (12 if half.startswith("p") else 0)
    return time(number, minutes) if number < 24 and minutes < 60 else None


def _fish(state: _State, match: re.Match[str]) -> bool:
    number = _counted(_of(match, "count"))
    if number > MOST_FISH:
        state.doubts.append(f"{match[0]!r} is no likely number of fish.")
        return True
    if number == 0:
        return state.put("blank", True, match[0], "blank: nothing caught")
    state.count = (state.count or 0) + number
    state.parts.append(Part(match[0], f"{number} fish"))
    return True


def _one_fish(state: _State, match: re.Match[str]) -> bool:
    """The bare word: one fish, unless a count or sizes say how many."""
    state.bare = True
    state.parts.append(Part(match[0], "fish"))
    return True


def _bites(state: _State, match: re.Match[str]) -> bool:
    number = _counted(_of(match, "count") or "one")
    if number == 0:
        return state.put("blank", True, match[0], "blank: no contact")
    return number <= MOST_FISH and state.add("contacts", number, match[0], f"{number} bites, not landed")


def _follows(state: _State, match: re.Match[str]) -> bool:
    number = _counted(_of(match, "count") or "one")
    return number <= MOST_FISH and state.add("follows", number, match[0], f"{number} follows")


def _blank(state: _State, match: re.Match[str]) -> bool:
    return state.put("blank", True, match[0], "blank: nothing caught")


def _counted(word: str) -> int:
    return _NUMBER_WORDS[word] if word in _NUMBER_WORDS else int(word)


_HM = r"(?P<h>[0-9]{1,2}):(?P<m>[0-9]{2})"
_CLOCK = rf"{_HM}\s?(?P<half>[ap]m)?"
_MIN = r"(?P<min>[0-9]{1,3}) ?(?:min|mins|minutes?)"
_HOURS = r"(?P<h>[0-9]+(?:[.,][0-9]+)?) ?(?:h|hr|hrs|hours?)"
_OUNCES = r"[0-9]{1,2}[ -][0-9]{1,2}/[0-9]{1,2}|[0-9]{1,2}/[0-9]{1,2}"
_FISH_WORDS = r"(?:fish(?:es)?|bass|keepers?|dinks?|landed|caught)"
_BITE_WORDS = r"(?:bites?|strikes?|hits?|lost|missed|misses|contacts?|blowups?|swirls?)"
_FORMS: tuple[tuple[str, _Handler], ...] = (
    (rf"(?:from )?{_HM} ?(?:-|to|until) ?(?P<h2>[0-9]{{1,2}}):(?P<m2>[0-9]{{2}})", _span),
    (rf"(?:since|from) {_CLOCK}", _since),
    (rf"(?:at |@ ?)?{_CLOCK}", _clock),
    (r"(?:at |@ ?)?(?P<h>[0-9]{1,2}) ?(?P<half>[ap]m)", _clock),
    (rf"(?:for )?{_HOURS} ?(?:(?P<min>[0-9]{{1,2}}) ?(?:min|mins|minutes?)?)?", _minutes),
    (rf"(?:for )?{_MIN}", _minutes),
    (rf"(?:(?P<times>[0-9]{{1,3}}) ?x ?)?(?P<n>{_N}) ?-?(?P<unit>inches|inch|in|\"|cm)", _length),
    (rf"(?P<n>{_N}) ?(?P<unit>lbs?|pounds?|kg|kilos?) ?(?:(?P<oz>{_N}) ?oz)?", _fish_weight),
    (rf"(?P<n>{_OUNCES}|{_N}) ?(?:oz|ounces?)", _ounces),
    (rf"(?P<n>{_OUNCES})", _ounces),
    (rf"(?P<n>{_N}) ?(?:g|gr|grams?)", _grams),
    (rf"(?P<n>{_N}) ?(?:(?:-|to) ?(?P<to>{_N}) ?)?-?(?P<unit>ft|feet|foot|'|metres?|meters?|m)", _depth),
    (rf"{_COUNT} (?:nice |good |small |big |keeper )*{_FISH_WORDS}", _fish),
    (rf"{_COUNT}(?= (?:on|with) )", _fish),
    (r"fish|bass|keeper|dink", _one_fish),
    (rf"(?:lost|missed) {_COUNT}", _bites),
    (rf"{_COUNT} {_BITE_WORDS}", _bites),
    (r"lost one|missed one|bite|strike", _bites),
    (rf"{_COUNT} follow(?:s|ers|ed)?", _follows),
    (r"follow", _follows),
    (r"blank(?:ed)?|nothing|skunked|no bites?", _blank),
)
_PATTERNS = tuple((re.compile(f"(?:{form}){_END}"), handler) for form, handler in _FORMS)


def _pattern_at(state: _State, rest: str, at: int) -> int:
    """Length of the piece that a pattern took at ``at``, else 0."""
    if at and rest[at - 1] not in " ,;":
        return 0
    for pattern, handler in _PATTERNS:
        match = pattern.match(rest, at)
        if match and match.end() > at and handler(state, match):
            return match.end() - at
    return 0


# --- words -----------------------------------------------------------------------------------------------------------


def _phrases(words: LineWords, names: Mapping[str, str], spots: Sequence[str]) -> list[tuple[str, str, str]]:
    """(phrase, kind, value), longest first, the lake's own spots before all else of the same length."""
    out = [(_tidy(spot), "spot", spot) for spot in spots]
    out += [
        (word, "presentation", name) for name, list_ in words.presentation.items() if name in names for word in list_
    ]
    out += [(name.lower(), "presentation", id) for id, name in names.items()]
    out += [(id.replace("_", " "), "presentation", id) for id in names]
    out += [(id, "presentation", id) for id in names]
    out += [(word, "cover", cover.value) for cover, list_ in words.cover.items() for word in list_]
    out += [(cover.value, "cover", cover.value) for cover in words.cover]
    out += [(word, "moment", moment) for moment, list_ in words.moment.items() for word in list_]
    out += [(word, "species", species) for species, list_ in words.species.items() for word in list_]
    out += [(word, "ambiguous", word) for word in words.ambiguous]
    return sorted(out, key=lambda item: -len(item[0]))


def _phrase_at(state: _State, rest: str, at: int, phrases: Sequence[tuple[str, str, str]], words: LineWords) -> int:
    for phrase, kind, value in phrases:
        end = at + len(phrase)
        if (
            phrase
            and rest.startswith(phrase, at)
            and not rest[end : end + 1].isalnum()
            and _take(state, phrase, kind, value, words)
        ):
            return len(phrase)
    return 0


def _take(state: _State, phrase: str, kind: str, value: str, words: LineWords) -> bool:
    if kind == "ambiguous":
        options = [state.names[one] for one in words.ambiguous[phrase] if one in state.names]
        if not options:
            return False
        state.doubts.append(f"{phrase!r} may be {', '.join(options)}; not taken, say which.")
        return True
    if kind == "presentation":
        return state.put("presentation", value, phrase, state.names[value])
    if kind == "species":
        state.species = value
        state.parts.append(Part(phrase, value))
        return True
    if kind == "cover":
        return state.put("cover", Cover(value), phrase, f"cover {value.replace('_', ' ')}")
    return state.put(kind, value, phrase, f"{'spot ' if kind == 'spot' else ''}{value.replace('_', ' ')}")


def _finished(state: _State) -> Understood:
    """Put fish together: lengths and weights in the order given; more of them than the count raise the count."""
    measured = max(len(state.lengths), len(state.weights))
    count = max(state.count or 0, measured, int(state.bare and state.count is None))
    if state.count is not None and measured > state.count:
        state.doubts.append(f"{measured} lengths or weights for {state.count} fish; {measured} were taken.")
    fish = tuple(
        Fish(
            state.lengths[n] if n < len(state.lengths) else None,
            state.weights[n] if n < len(state.weights) else None,
            state.species,
        )
        for n in range(count)
    )
    values = dict(state.values)
    if values.get("blank") and (fish or values.get("contacts") or values.get("follows")):
        state.doubts.append("It says blank and a catch; the catch stands.")
        values["blank"] = False
    return Understood(
        fish=fish,
        parts=tuple(state.parts),
        left=tuple(state.left),
        doubts=tuple(state.doubts),
        **values,  # type: ignore[arg-type]
    )
