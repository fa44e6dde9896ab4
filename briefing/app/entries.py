"""Readings and field signs: add, list, correct, withdraw; from what was typed to what is stored."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from briefing import units
from briefing.app.assembly import App
from briefing.app.reading_words import said_reading, what_and_when
from briefing.app.when import parse_end, parse_when
from briefing.errors import InputError
from briefing.profile.model import LakeProfile
from briefing.store import NewReading, NewSign, Reading, ReadingKind, SignEntry
from briefing.units import Units, parse_duration, parse_visibility
from briefing.vocabulary import PlantDensity, PlantState, SignKind, WaterColour, Zone

#: Kinds as typed; hyphens and case don't matter.
KIND_WORDS = {
    **{"water_temp": "water_temp", "temp": "water_temp", "temperature": "water_temp"},
    **{"visibility": "visibility", "secchi": "visibility", "colour": "colour", "color": "colour", "level": "level"},
    **{"plants": "plants", "plant": "plants", "grass": "plants", "weeds": "plants"},
    **{"wind": "wind", "alerts": "alerts", "alert": "alerts", "thunder": "thunder"},
}
TREND_WORDS = {"falling": -1, "steady": 0, "rising": 1}


@dataclass(frozen=True, slots=True)
class Extras:
    """The options that belong to some kinds only, as typed."""

    depth: str | None = None
    gust: str | None = None
    wind_from: str | None = None
    until: str | None = None


_ALLOWED = {"water_temp": {"depth"}, "wind": {"gust", "wind_from"}, "alerts": {"until"}}
_FLAGS = {"depth": "--depth", "gust": "--gust", "wind_from": "--from", "until": "--until"}


def read_kind(word: str) -> str:
    """Return the kind a word stands for. Raises InputError."""
    kind = KIND_WORDS.get(word.strip().lower().replace("-", "_"))
    if kind is None:
        raise InputError(
            f"{word!r} is not a kind of reading; write water-temp, visibility, colour, level, plants, wind, alerts or "
            "thunder, such as: briefing reading add water-temp 61F"
        )
    return kind


def kind_and_words(word: str, words: list[str]) -> tuple[str, list[str]]:
    """Return the kind and the words of its value; ``61F`` or ``12 mph`` without a kind says by its unit what it is.

    Raises InputError.
    """
    unit = "".join(sign for sign in " ".join([word, *words]).lower() if sign.isalpha() or sign in "/°")
    for kind, known in _KIND_BY_UNIT.items():
        if word[:1].isdigit() and unit.lstrip("/") in known:
            return kind, [word, *words]
    return read_kind(word), words


_KIND_BY_UNIT = {
    "water_temp": ("f", "c", "°f", "°c"),
    "wind": ("mph", "m/s", "kn", "kt", "kts", "knots", "km/h"),
    "visibility": ("ft", "in", "cm", "m"),
}


def read_values(
    kind: str, text: str, extras: Extras, system: Units, zone: ZoneInfo, seen: datetime, old: Mapping[str, Any]
) -> dict[str, Any]:
    """Return the stored values of a reading; ``old`` are those of the entry it corrects.

    Raises InputError, UnitError.
    """
    for name, flag in _FLAGS.items():
        if getattr(extras, name) is not None and name not in _ALLOWED.get(kind, ()):
            raise InputError(f"{flag} does not belong to a reading of {kind.replace('_', ' ')}.")
    text = text.strip()
    if kind == "thunder":
        if text:
            raise InputError(f"Thunder takes no value; {text!r} is one too many (its time goes to --time).")
        return {}
    if not text and not old:
        raise InputError(f"The value is missing, such as: briefing reading add {_EXAMPLES[kind]}")
    values = dict(old)
    if text:
        values |= _VALUE_READERS[kind](text, system)
    if extras.depth is not None:
        values["depth_m"] = units.parse_depth(extras.depth, system)
    if extras.gust is not None:
        values["gust_mps"] = units.parse_speed(extras.gust, system)
    if extras.wind_from is not None:
        values["wind_from_deg"] = units.parse_direction(extras.wind_from)
    if extras.until is not None:
        values["until"] = parse_end(extras.until, zone, seen).isoformat()
    if kind == "wind" and values.get("gust_mps") is not None and values["gust_mps"] < values["wind_mps"]:
        raise InputError("The gust is below the wind; give the strongest gust, or leave it out.")
    return values


def _read_level(text: str, system: Units) -> dict[str, Any]:
    word = text.lower()
    if word in TREND_WORDS:
        return {"trend": TREND_WORDS[word]}
    if word[:1] in ("+", "-"):  # a rise or a fall, not a height at a mark
        units.parse_depth(word.lstrip("+-"), system)
        return {"trend": 1 if word[0] == "+" else -1}
    if not word[0].isdigit() and word[0] != ".":
        raise InputError(f"{text!r} is no level; write falling, steady or rising, or the height at a mark of yours.")
    return {"level_m": units.parse_depth(word, system)}


def _read_colour(text: str, _system: Units) -> dict[str, Any]:
    if text.lower() not in list(WaterColour):
        raise InputError(f"{text!r} is not a water colour; write {', '.join(WaterColour)}.")
    return {"colour": text.lower()}


_DENSITY_WORDS = {
    **dict.fromkeys(("sparse", "thin"), PlantDensity.SPARSE),
    **dict.fromkeys(("dense", "thick"), PlantDensity.DENSE),
    **dict.fromkeys(("topped", "matted", "mats"), PlantDensity.TOPPED),
}


def _read_plants(text: str, system: Units) -> dict[str, Any]:
    """Depth of the tops, how dense, and sprayed, dying or gone, in any order: ``2ft dense``, ``sprayed``."""
    values: dict[str, Any] = {"state": PlantState.GROWING.value}
    rest = []
    for word in text.lower().replace(",", " ").split():
        if word in _DENSITY_WORDS:
            values["density"] = _DENSITY_WORDS[word].value
        elif word == "surface":
            values["top_m"] = 0.0
        elif word in list(PlantState):
            values["state"] = PlantState(word).value
        elif word not in _PLANT_FILLERS:
            rest.append(word)
    if rest:
        if not rest[0][0].isdigit():
            raise InputError(
                f"{' '.join(rest)!r} says nothing of plants; write the depth of their tops, sparse, dense or topped, "
                "and growing, sprayed, dying or gone."
            )
        values["top_m"] = units.parse_depth(" ".join(rest), system)
    return values


_PLANT_FILLERS = ("top", "tops", "at", "down", "below", "the", "and")


def _read_alerts(text: str, _system: Units) -> dict[str, Any]:
    if text.lower() in ("none", "no"):
        return {"events": []}
    return {"events": [event.strip() for event in text.split(";") if event.strip()]}


_VALUE_READERS = {
    "water_temp": lambda text, system: {"temperature_c": units.parse_temperature(text, system)},
    "visibility": lambda text, system: {"visibility_m": units.parse_visibility(text, system)},
    "colour": _read_colour,
    "level": _read_level,
    "wind": lambda text, system: {"wind_mps": units.parse_speed(text, system)},
    "plants": _read_plants,
    "alerts": _read_alerts,
}
_EXAMPLES = {
    "water_temp": "water-temp 61F",
    "visibility": "visibility 3ft",
    "colour": "colour green",
    "level": "level falling",
    "plants": 'plants 2ft dense --spot "Long grass edge"',
    "wind": "wind 12mph --from SW",
    "alerts": "alerts none",
}


def spot_name(profile: LakeProfile, word: str | None) -> str:
    """Return the full name of a spot by name or id; empty without a word. Raises InputError listing the spots."""
    if word is None:
        return ""
    spot = profile.spot(word.strip())
    if spot is None:
        known = ", ".join(spot.id for spot in profile.spots) or "none yet; add one with: briefing lake edit"
        raise InputError(f"{profile.name} has no spot {word!r}; there are: {known}.")
    return spot.name


@dataclass(frozen=True)
class TypedReading:
    """A reading as typed: its kind (or a bare quantity that says it) and the words after it. For a correction what
    is None stays as it was, and the kind is the old one's.
    """

    kind: str = ""
    words: tuple[str, ...] = ()
    time: str | None = None
    spot: str | None = None
    pocket: bool = False
    hull: bool = False
    surface: bool = False
    extras: Extras = field(default_factory=Extras)
    note: str | None = None


@dataclass(frozen=True)
class StoredReading:
    """A reading with the lake it belongs to."""

    reading: Reading
    profile: LakeProfile


def add_reading(app: App, lake: str | None, typed: TypedReading) -> StoredReading:
    """Store a reading; without a time it counts as seen now. Raises InputError, UnitError, StoreError."""
    profile = app.lake(lake)
    new = reading_of(app, profile, typed)
    with app.store() as store:
        return StoredReading(store.add_reading(profile.id, new, app.now()), profile)


def with_time(typed: TypedReading) -> TypedReading:
    """The reading with a time that stands at the end of its words told apart, where none was given by itself."""
    if typed.time is not None or typed.kind.lower() == ReadingKind.ALERTS:  # a warning's title may end in a day
        return typed
    what, when = what_and_when(" ".join([typed.kind, *typed.words]))
    if when is None:
        return typed
    kind, *words = what.split()
    return replace(typed, kind=kind, words=tuple(words), time=when)


def reading_of(app: App, profile: LakeProfile, typed: TypedReading) -> NewReading:
    """Read what was typed; nothing is stored. Raises InputError, UnitError."""
    typed = with_time(typed)
    seen, hour_known = parse_when(typed.time or "now", profile.zone, app.now())
    extras, said = typed.extras, said_reading(" ".join([typed.kind, *typed.words]))
    if said is None:
        kind, words = kind_and_words(typed.kind, list(typed.words))
        value = " ".join(words)
    else:
        kind, value = said.kind, said.value
        extras = replace(
            extras,
            gust=extras.gust or said.gust,
            wind_from=extras.wind_from or said.wind_from,
            until=extras.until or said.until,
        )
    return NewReading(
        kind=ReadingKind(kind),
        time=seen,
        values=read_values(kind, value, extras, profile.units, profile.zone, seen, {}),
        hour_known=hour_known,
        zone=_zone_of(profile, typed.spot, typed.pocket),
        spot=spot_name(profile, typed.spot),
        method=_method(kind, typed.hull, typed.surface),
        note=(typed.note or "").strip(),
        typed=" ".join([typed.kind, *typed.words]),
    )


def correct_reading(app: App, number: int, typed: TypedReading) -> StoredReading:
    """Put a corrected reading in the place of an old one, which is kept as history."""
    with app.store() as store:
        old = store.reading(number)
        profile = app.lake_of(old.lake, f"Reading {number}")
        seen, hour_known = (old.time, old.hour_known)
        if typed.time:
            seen, hour_known = parse_when(typed.time, profile.zone, app.now())
        kept = {} if typed.words and old.kind == "level" else old.values  # a level is a trend or a height, not both
        text = " ".join(typed.words)
        new = NewReading(
            kind=old.kind,
            time=seen,
            values=read_values(old.kind, text, typed.extras, profile.units, profile.zone, seen, kept),
            hour_known=hour_known,
            zone=_zone_of(profile, typed.spot, False) if typed.spot else old.zone,
            spot=spot_name(profile, typed.spot) if typed.spot else old.spot,
            method=old.method,
            note=old.note if typed.note is None else typed.note.strip(),
            typed=text or old.typed,
        )
        return StoredReading(store.correct_reading(number, new, app.now()), profile)


def withdraw_reading(app: App, number: int) -> StoredReading:
    """Take a reading back: it counts no more, and stays in the history."""
    with app.store() as store:
        profile = app.lake_of(store.reading(number).lake, f"Reading {number}")
        return StoredReading(store.withdraw_reading(number, app.now()), profile)


def readings(
    app: App, lake: str | None, kind: str | None = None, since: str | None = None, *, history: bool = False
) -> tuple[LakeProfile, list[Reading]]:
    """Readings of a lake, oldest first; of one kind, or from a day on."""
    profile = app.lake(lake)
    kinds = [ReadingKind(read_kind(kind))] if kind else []
    start = parse_when(f"{since} 00:00", profile.zone, app.now())[0] if since else None
    with app.store() as store:
        return profile, store.list_readings(profile.id, kinds=kinds, since=start, history=history)


def _zone_of(profile: LakeProfile, spot: str | None, pocket: bool) -> Zone:
    found = profile.spot(spot.strip()) if spot else None
    return Zone.POCKET if pocket else found.zone if found else Zone.MAIN


def _method(kind: str, hull: bool, surface: bool) -> str:
    if (hull or surface) and kind != "water_temp":
        raise InputError("--hull and --surface belong to a water temperature.")
    if hull and surface:
        raise InputError("Either --hull or --surface, not both.")
    return "hull" if hull else "surface" if surface else "typed"


# -- field signs ------------------------------------------------------------------------------------------------------

#: Kinds of field signs as they are typed.
SIGN_KINDS = ", ".join(kind.value.replace("_", "-") for kind in SignKind)


@dataclass(frozen=True)
class TypedSign:
    """A field sign as typed."""

    kind: str
    time: str | None = None
    spot: str | None = None
    pocket: bool = False
    exposed: bool = False
    looked: str = "1h"
    count: int | None = None
    visibility: str | None = None
    note: str = ""


@dataclass(frozen=True)
class StoredSign:
    """A field sign with the lake it belongs to."""

    sign: SignEntry
    profile: LakeProfile


def add_sign(app: App, lake: str | None, typed: TypedSign) -> StoredSign:
    """Store a field sign; without a time it counts as seen now. Raises InputError, UnitError, StoreError."""
    profile = app.lake(lake)
    new = sign_of(app, profile, typed)
    with app.store() as store:
        return StoredSign(store.add_sign(profile.id, new, app.now()), profile)


def sign_of(app: App, profile: LakeProfile, typed: TypedSign) -> NewSign:
    """Read what was typed; nothing is stored. Raises InputError, UnitError."""
    seen, _ = parse_when(typed.time or "now", profile.zone, app.now())
    minutes = parse_duration(typed.looked)
    if not 1.0 <= minutes <= 24 * 60.0:
        raise InputError(f"{typed.looked!r} is no time to have looked; write between 1 min and 24 h.")
    return NewSign(
        kind=_sign_kind(typed.kind),
        time=seen,
        zone=_sign_zone(profile, typed),
        spot=spot_name(profile, typed.spot),
        hours_looked=minutes / 60.0,
        count=typed.count,
        secchi_m=None if typed.visibility is None else parse_visibility(typed.visibility, profile.units),
        note=typed.note.strip(),
        typed=typed.kind,
    )


def signs(app: App, lake: str | None, *, history: bool = False) -> tuple[LakeProfile, list[SignEntry]]:
    """Field signs of a lake, oldest first."""
    profile = app.lake(lake)
    with app.store() as store:
        return profile, store.list_signs(profile.id, history=history)


def withdraw_sign(app: App, number: int) -> SignEntry:
    """Take a sign back: it counts no more, and stays in the history."""
    with app.store() as store:
        return store.withdraw_sign(number, app.now())


def _sign_kind(word: str) -> SignKind:
    try:
        return SignKind(word.strip().lower().replace("-", "_").replace(" ", "_"))
    except ValueError:
        raise InputError(f"{word!r} is not a kind of sign; write one of: {SIGN_KINDS}.") from None


def _sign_zone(profile: LakeProfile, typed: TypedSign) -> Zone:
    """The zone as said, else that of the spot, else the main lake."""
    if typed.pocket and typed.exposed:
        raise InputError("Either --pocket or --exposed, not both.")
    if typed.pocket or typed.exposed:
        return Zone.POCKET if typed.pocket else Zone.EXPOSED
    spot = profile.spot(typed.spot.strip()) if typed.spot else None
    return spot.zone if spot else Zone.MAIN
