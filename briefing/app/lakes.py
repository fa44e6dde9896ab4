"""Home lakes: set one up, list, check, change and edit them, take spots from a plotter's file."""

from __future__ import annotations

import re
import shutil
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import tomli

from briefing.app.assembly import App
from briefing.app.lake_checks import check_tackle, far_limits
from briefing.errors import BriefingError, InputError, NotFoundError, StoreError
from briefing.profile.files import build_profile, load_profile, parse_profile, read_text, write_text
from briefing.profile.guesses import Guess, country_at, guesses_for, time_zone_at
from briefing.profile.model import LakeProfile, slug
from briefing.profile.settings import save_settings
from briefing.profile.shoreline import read_shoreline
from briefing.profile.template import SCHEMA_COPY, SCHEMA_FILE, append_tables, profile_text, set_values
from briefing.profile.waypoints import Waypoint, read_waypoints
from briefing.resources import config_path
from briefing.sections.words import CRAFT_SIZE
from briefing.vocabulary import Craft

#: Fields that are answered by yes or no.
_YES_OR_NO = frozenset({"alone", "reentry_practised", "river_fed", "limits.confirmed"})
#: What is taken over from another lake: the user and the tackle, never the lake or what was learned there.
COPIED = ("units", "craft", "skill", "alone", "reentry_practised", "clothing", "speed", "limits", "rods", "tackle")


@dataclass(frozen=True)
class NewLake:
    """A lake that was set up."""

    profile: LakeProfile
    path: Path


@dataclass(frozen=True)
class ListedLake:
    """A lake's file; ``problem`` says why it can't be read, empty when it can."""

    lake: str
    name: str
    path: Path
    problem: str


@dataclass(frozen=True)
class CheckedLake:
    """A lake without a problem, and what would make its briefing better."""

    profile: LakeProfile
    path: Path
    hints: tuple[str, ...]


@dataclass(frozen=True)
class TakenSpots:
    """How many spots of a file were added to a lake, how many were there already, and what became a ramp."""

    lake: str
    added: int
    known: int
    ramps: tuple[str, ...]


def read_name(text: str) -> str:
    """A lake's name without outer blanks. Raises InputError."""
    if not 1 <= len(text.strip()) <= 80:
        raise InputError("A name has 1 to 80 characters.")
    return text.strip()


def copied_from(app: App, lake: str) -> dict[str, Any]:
    """Craft, limits and tackle of another lake's file, as they are written there."""
    path = app.lake_path(lake)
    load_profile(path)  # a broken file is named here, not after all the questions
    data = tomli.loads(read_text(path))
    return {key: data[key] for key in COPIED if key in data}


def guessed_for(data: Mapping[str, Any]) -> dict[str, Guess]:
    """What would be guessed for a lake with these values, by field."""
    return {guess.key: guess for guess in guesses_for(dict(data), data["units"])}


def tried(data: Mapping[str, Any], source: str) -> LakeProfile:
    """The profile that values come to; nothing is written. Raises InputError naming ``source``."""
    return build_profile(dict(data), source)


#: A mail address or a web page, as far as its form goes.
_CONTACT = re.compile(r"[^@\s]+@[^@\s]+\.[^@\s]+|https?://[^\s]+\.[^\s]+")
#: No water with black bass lies nearer to a pole.
_FARTHEST_DEG = 60.0


def ask_back_position(latitude: float, longitude: float) -> None:
    """Refuse a position where a slip is likelier than a lake, with the likelier reading. Raises InputError.

    Poleward of all bass water, on the open sea, or where the same longitude with a minus lies in the United States.
    """
    here = f"Position {latitude:g}, {longitude:g}"
    meant = "If it is meant so, say it again with --yes."
    if abs(latitude) > _FARTHEST_DEG:
        swapped = f" Did you mean {longitude:g}, {latitude:g}?" if abs(longitude) <= _FARTHEST_DEG else ""
        raise InputError(
            f"{here}: latitude stands first, and no bass water lies at {latitude:g} degrees.{swapped} {meant}"
        )
    zone = time_zone_at(latitude, longitude)
    mirrored = time_zone_at(latitude, -longitude)
    likelier = longitude > 0.0 and country_at(zone, latitude, longitude) != "US" == country_at(
        mirrored, latitude, -longitude
    )
    if likelier or zone.startswith("Etc/"):
        where = "lies on the open sea" if zone.startswith("Etc/") else f"lies in the time zone {zone}"
        hint = f" West of Greenwich has a minus: did you mean {latitude:g}, {-longitude:g}?" if likelier else ""
        raise InputError(f"{here} {where}.{hint} {meant}")


def add_lake(
    app: App, data: Mapping[str, Any], shoreline: Path | None, contact: str, *, meant: bool = False
) -> NewLake:
    """Check and write a new lake's file with the schema beside it; problems are named before anything is written.

    ``meant``: a position where no bass live is what was wanted.
    """
    values = dict(data)
    if not meant:
        ask_back_position(values["latitude"], values["longitude"])
    if contact.strip() and not _CONTACT.fullmatch(contact.strip()):
        raise InputError(
            f"--contact {contact.strip()!r}: write a mail address or a web page, such as you@your-domain.org; the data "
            "services reach you there."
        )
    path = app.lakes_dir() / f"{slug(values['name'])}.toml"
    if path.exists():
        raise InputError(f"There is a lake {path.stem!r} already ({path}); edit it, or choose another name.")
    if shoreline is not None:
        values["shoreline"] = _take_shoreline(shoreline, path, values["latitude"], values["longitude"])
    build_profile(values, "the new lake", lake_id=path.stem)
    text = profile_text(values)
    profile = parse_profile(text, path.name, lake_id=path.stem)
    check_tackle(app, profile)
    write_text(path, text)
    write_text(path.with_name(SCHEMA_COPY), read_text(config_path(SCHEMA_FILE)))
    # with the first lake the settings file appears, with its explanations
    if contact.strip() or not app.home.settings_file.exists():
        save_settings(app.home, {"contact": contact.strip()} if contact.strip() else {})
    return NewLake(profile, path)


def choose_default(app: App, lake: str | None) -> str | None:
    """Keep which lake is meant where none is named; None takes it back. Returns its id. Raises NotFoundError."""
    chosen = None if lake is None else app.lake_path(lake).stem
    save_settings(app.home, {"default_lake": chosen})
    return chosen


def listed_lakes(app: App) -> list[ListedLake]:
    """All lakes; one whose file has a problem is listed with it."""
    rows = []
    for path in app.lake_files():
        try:
            rows.append(ListedLake(path.stem, app.profile_at(path).name, path, ""))
        except BriefingError as error:
            rows.append(ListedLake(path.stem, "", path, str(error)))
    return rows


def check_lake(app: App, word: str | None) -> CheckedLake:
    """Check a lake's file, or any file by its path, and what it points to. Raises what is wrong with it."""
    path = Path(word) if word and word.endswith(".toml") else app.lake_path(word)
    profile = load_profile(path)
    if profile.shoreline:
        read_shoreline(path.parent / profile.shoreline, profile.latitude, profile.longitude)
    check_tackle(app, profile)
    hints = [] if profile.limits.confirmed else ["the limits in use are not confirmed yet"]
    if far := far_limits(profile):
        hints.append(f"far over what an experienced hand keeps to in this craft: {', '.join(far)}")
    if not profile.ramps:
        hints.append("no ramp is set, so the way back is taken as the lake's longest arm")
    if not profile.shoreline:
        hints.append("no shoreline is set, so waves are worked out from an assumed outline")
    return CheckedLake(profile, path, tuple(hints))


def change_lake(
    app: App, lake: str, pairs: Sequence[str], *, meant: bool = False
) -> tuple[LakeProfile, tuple[str, ...]]:
    """Set fields of a lake's file, typed as ``field=value``, keeping its comments; also the fields' names.

    A changed limit takes the earlier agreement with the limits back. Limits far over the craft's own are refused unless
    they are ``meant``.
    """
    changes = {}
    for pair in pairs:
        key, mark, value = pair.partition("=")
        if not mark or not key.strip() or not value.strip():
            raise InputError(f"{pair!r} is not of the form field=value, such as mean_depth=7ft.")
        changes[key.strip()] = _toml_value(key.strip(), value.strip())
    named = tuple(changes)
    if any(f"{key}.".startswith("limits.") and key != "limits.confirmed" for key in changes):
        changes.setdefault("limits.confirmed", False)

    def check(profile: LakeProfile) -> None:
        if any(key.startswith("tackle") for key in changes):
            check_tackle(app, profile)
        far = [field for field in far_limits(profile) if any(f"{field}.".startswith(f"{key}.") for key in changes)]
        if far and not meant:
            raise InputError(
                f"{', '.join(far)}: far over what an experienced hand keeps to in this craft "
                f"(briefing lake show {profile.id} has the rows). If you mean it, say it again with --yes."
            )

    return set_values(app.lake_path(lake), changes, check), named


def lake_text(app: App, lake: str | None) -> tuple[Path, str]:
    """A lake's file and its text, to be edited."""
    path = app.lake_path(lake)
    return path, read_text(path)


def replace_lake_text(path: Path, text: str) -> LakeProfile:
    """Put an edited text in place; with a mistake in it the old one stays. Raises InputError naming the mistake.

    Other limits than before take the agreement with the old ones back.
    """
    new = parse_profile(text, path.name, lake_id=path.stem)
    try:
        before = parse_profile(read_text(path), path.name, lake_id=path.stem).limits
    except BriefingError:
        before = None  # the old file can't be read: nothing of it was agreed to
    write_text(path, text)
    changed = before is None or before.model_copy(update={"confirmed": True}) != new.limits
    return set_values(path, {"limits.confirmed": False}) if new.limits.confirmed and new.own_limits and changed else new


def keep_rejected(path: Path, text: str) -> Path:
    """Keep an edited text with a mistake beside the file; where."""
    kept = path.with_name(f"{path.name}.rejected")
    write_text(kept, text)
    return kept


#: A waypoint of such a name is where boats are launched, unless the name says where it lies from there.
_LANDING = re.compile(r"\b(?:ramp|launch|put-?in|slipway|landing)s?\b", re.IGNORECASE)
_BESIDE = re.compile(r"\b(?:off|near|by|at|beside|opposite|past|beyond|from|across|behind)\b", re.IGNORECASE)


def take_spots(app: App, file: Path, lake: str | None, depth: str | None, cover: Sequence[str]) -> TakenSpots:
    """Add waypoints of a GPX or KML file as spots; those already there are left as they are."""
    path = app.lake_path(lake)
    profile = load_profile(path)
    known = {spot.id for spot in profile.spots} | {slug(ramp.name) for ramp in profile.ramps}
    points = read_waypoints(file)
    new = [point for point in points if slug(point.name) not in known]
    landings = [point for point in new if _LANDING.search(point.name) and not _BESIDE.search(point.name)]
    new = [point for point in new if point not in landings]
    shared: dict[str, Any] = {}
    if depth:
        parts = [part.strip() for part in depth.replace(" to ", "-").split("-")]
        shared["depth"] = parts if len(parts) == 2 else [depth.strip(), depth.strip()]
    if cover:
        shared["cover"] = list(cover)
    tables = [{**_table_of(point), **shared} for point in new]
    if not tables and not landings:
        raise NotFoundError(f"{file.name} holds no spot that {path.stem} doesn't have already.")
    if landings:
        append_tables(path, "ramps", [_table_of(point) for point in landings])
    if tables:
        append_tables(path, "spots", tables)
    there = len(points) - len(new) - len(landings)
    return TakenSpots(path.stem, len(new), there, tuple(point.name for point in landings))


def _table_of(point: Waypoint) -> dict[str, Any]:
    table = {"name": point.name, "latitude": point.latitude, "longitude": point.longitude}
    return table | ({"notes": point.notes} if point.notes else {})


def _take_shoreline(source: Path, lake_file: Path, latitude: float, longitude: float) -> str:
    """Check a shoreline file and copy it beside the lake's file; the name it has there."""
    read_shoreline(source, latitude, longitude)
    target = lake_file.with_suffix(source.suffix.lower())
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(source, target)
    except OSError as error:
        raise StoreError(f"{source} can't be copied to {target}: {error.strerror or error}.") from None
    return target.name


#: How people say yes and no.
_YES, _NO = ("yes", "y", "on", "true"), ("no", "n", "off", "false")
#: Fields that hold several words; commas part them.
_LISTS = frozenset({"species", "forage"})
#: What people call a craft, by its id.
_CRAFT_WORDS = {
    **dict.fromkeys(("jonboat", "jon boat", "johnboat", "john boat", "aluminum", "aluminium", "tinny"), "jon_boat"),
    **dict.fromkeys(("bassboat", "bass boat"), "bass_boat"),
    **dict.fromkeys(("yak", "sit-on-top", "sit on top", "pedal kayak"), "kayak"),
}


def read_craft(text: str) -> str:
    """A craft's id from what people call it. Raises InputError that tells the kinds with their lengths."""
    said = " ".join(text.lower().split())
    word = _CRAFT_WORDS.get(said, said.replace(" ", "_").replace("-", "_"))
    if word not in list(Craft):
        kinds = ", ".join(f"{one.value} ({CRAFT_SIZE[one]})" for one in Craft)
        raise InputError(f"craft: found {text!r}; accepted: {kinds}.")
    return word


def _toml_value(key: str, text: str) -> Any:
    """A value as TOML where it is TOML (true, 7.5, a list), else as text; yes, no and usual names of craft as meant."""
    said = text.lower()
    if key in _YES_OR_NO:
        if said not in (*_YES, *_NO):
            raise InputError(f"{key}: found {text!r}; accepted: yes or no.")
        return said in _YES
    if key == "craft":
        return read_craft(text)
    if key in _LISTS and not text.startswith("["):
        return [word.strip().lower().replace(" ", "_") for word in text.split(",") if word.strip()]
    try:
        return tomli.loads(f"value = {text}")["value"]
    except tomli.TOMLDecodeError:
        return text
