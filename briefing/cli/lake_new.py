"""What ``briefing lake add`` does step by step: questions, checks, the new file, the closing words."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from briefing.app.assembly import App
from briefing.cli.common import ask, echo, echo_json
from briefing.cli.lake_words import file_key, limits_lines
from briefing.errors import InputError, StoreError
from briefing.vocabulary import Craft

if TYPE_CHECKING:
    from briefing.profile.model import LakeProfile

#: What ``--like`` takes over from another lake: the user and the tackle, never the lake or what was learned there.
COPIED = ("units", "craft", "skill", "alone", "reentry_practised", "clothing", "speed", "limits", "rods", "tackle")


def read_name(text: str) -> str:
    """Return a lake's name without outer blanks. Raises InputError."""
    if not 1 <= len(text.strip()) <= 80:
        raise InputError("A name has 1 to 80 characters.")
    return text.strip()


def copied_from(context: App, like: str) -> dict[str, Any]:
    """Take craft, limits and tackle from another lake's file, as they are written there."""
    import tomli

    from briefing.profile.files import load_profile, read_text

    path = context.lake_path(like)
    load_profile(path)  # a broken file is named here, not after all the questions
    data = tomli.loads(read_text(path))
    return {key: data[key] for key in COPIED if key in data}


def ask_questions(context: App, data: dict[str, Any], contact: str | None) -> str | None:
    """Ask for the craft and, if wanted, for the values that help most; each has a default. Returns the contact."""
    from briefing.profile.guesses import guesses_for

    if "craft" not in data:
        data["craft"] = ask("What do you fish from", one_of(list(Craft)), "kayak", ", ".join(Craft))
    if contact is None and not context.settings().contact:
        echo("The weather services ask who calls; without a contact they are not asked (and nothing else sees it).")
        contact = str(typer.prompt("Your mail address or web page (empty: later)", default="", show_default=False))
    if not typer.confirm("A few more questions now? Each has a default", default=True):
        return contact
    guessed = {guess.key: guess for guess in guesses_for(data, data["units"])}
    questions = (
        ("kind", "What sort of water is it"),
        ("mean_depth", "Mean depth"),
        ("max_depth", "Greatest depth"),
        ("area", "Area"),
        ("visibility", "How deep is a white lure usually seen"),
        ("skill", "Limits of a novice or experienced"),
        ("clothing", "Against immersion you wear (none, wetsuit, drysuit)"),
    )
    for key, question in questions:
        if key in data:
            continue
        default = str(guessed[key].value)
        answer = ask(question, _checked(data, key), default, "guess" if key != "skill" else "")
        if answer != default:
            data[key] = answer
            if key == "kind":
                guessed = {guess.key: guess for guess in guesses_for(data, data["units"])}
    for key, question in (
        ("alone", "Do you go out alone"),
        ("reentry_practised", "Getting back in practised this year"),
    ):
        if key not in data:
            data[key] = typer.confirm(question, default=bool(guessed[key].value))
    _show_limits(data)
    if typer.confirm("Do you agree with the limits in use", default=False):
        data["limits"] = {**data.get("limits", {}), "confirmed": True}
    return contact


def one_of(words: list[Any]) -> Callable[[str], str]:
    """Make a reader of one of some words; blanks and hyphens count as underscores."""

    def read(text: str) -> str:
        word = text.strip().lower().replace("-", "_").replace(" ", "_")
        if word not in words:
            raise InputError(f"{text!r} is not one of: {', '.join(words)}.")
        return word

    return read


def _checked(data: dict[str, Any], key: str) -> Callable[[str], str]:
    """Check an answer by trying it in the profile, so that the words are those of the file's check."""

    def read(text: str) -> str:
        from briefing.profile.files import build_profile

        build_profile({**data, key: text.strip()}, "your answer")
        return text.strip()

    return read


def _show_limits(data: dict[str, Any]) -> None:
    from briefing.profile.files import build_profile

    echo("\n".join(limits_lines(build_profile(data, "the new lake"))))


def new_path(context: App, name: str) -> Path:
    """Return the path of a new lake's file. Raises InputError when there is one already."""
    from briefing.profile.model import slug

    path = context.lakes_dir() / f"{slug(name)}.toml"
    if path.exists():
        raise InputError(f"There is a lake {path.stem!r} already ({path}); edit it, or choose another name.")
    return path


def take_shoreline(source: Path, lake_file: Path, latitude: float, longitude: float) -> str:
    """Check a shoreline file and copy it beside the lake's file; returns the name it has there."""
    from briefing.profile.shoreline import read_shoreline

    read_shoreline(source, latitude, longitude)
    target = lake_file.with_suffix(source.suffix.lower())
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(source, target)
    except OSError as error:
        raise StoreError(f"{source} can't be copied to {target}: {error.strerror or error}.") from None
    return target.name


def write_new(path: Path, data: dict[str, Any]) -> LakeProfile:
    """Check and write a new lake's file, with the schema beside it; problems are named before anything is written."""
    from briefing.profile.files import build_profile, parse_profile, read_text, write_text
    from briefing.profile.template import SCHEMA_COPY, SCHEMA_FILE, profile_text
    from briefing.resources import config_path

    build_profile(data, "the new lake", lake_id=path.stem)
    text = profile_text(data)
    profile = parse_profile(text, path.name, lake_id=path.stem)
    write_text(path, text)
    write_text(path.with_name(SCHEMA_COPY), read_text(config_path(SCHEMA_FILE)))
    return profile


def save_contact(context: App, contact: str) -> None:
    """Keep the contact; with the first lake the settings file appears, with its explanations."""
    from briefing.profile.settings import save_settings

    if contact.strip() or not context.home.settings_file.exists():
        save_settings(context.home, {"contact": contact.strip()} if contact.strip() else {})


def report_new(context: App, profile: LakeProfile, path: Path, as_json: bool) -> None:
    """Say what was made, what is guessed, which limits are in use and what to do next."""
    from briefing.profile.settings import OPEN_METEO_NOTE

    if as_json:
        echo_json({"lake": profile.id, "file": str(path), "guessed": profile.guessed})
        return
    echo(f"Added {profile.name} as {profile.id}: {path}")
    echo(f"Guessed, until you say better: {', '.join(file_key(name) for name in profile.guessed) or 'nothing'}.")
    if not profile.limits.confirmed:
        echo("\n".join(limits_lines(profile)))
        echo(f"Agree with: briefing lake set {profile.id} limits.confirmed=true")
    if not context.settings().contact:
        echo(f"No contact is set, so no service is asked yet: write yours into {context.home.settings_file}")
    echo(OPEN_METEO_NOTE)
    echo(f"Next: briefing today {profile.id}")
