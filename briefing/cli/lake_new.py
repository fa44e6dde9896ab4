"""What ``briefing lake add`` does step by step: questions, checks, the new file, the closing words."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import typer

from briefing.cli.common import ask, echo, echo_json
from briefing.cli.lake_words import file_key, limits_lines
from briefing.errors import InputError
from briefing.vocabulary import Craft

if TYPE_CHECKING:
    from briefing.app.assembly import App
    from briefing.app.lakes import NewLake


def ask_questions(app: App, data: dict[str, Any], contact: str | None) -> str | None:
    """Ask for the craft and, if wanted, for the values that help most; each has a default. Returns the contact."""
    from briefing.app.lakes import guessed_for, read_craft
    from briefing.sections.words import CRAFT_SIZE

    if "craft" not in data:
        sizes = "; ".join(f"{one.value}: {CRAFT_SIZE[one]}" for one in Craft)
        data["craft"] = ask("What do you fish from", read_craft, "kayak", sizes)
    if contact is None and not app.settings().contact:
        echo("The weather services ask who calls; without a contact they are not asked (and nothing else sees it).")
        contact = str(typer.prompt("Your mail address or web page (empty: later)", default="", show_default=False))
    if not typer.confirm("A few more questions now? Each has a default", default=True):
        return contact
    guessed = guessed_for(data)
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
                guessed = guessed_for(data)
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
        from briefing.app.lakes import tried

        tried({**data, key: text.strip()}, "your answer")
        return text.strip()

    return read


def _show_limits(data: dict[str, Any]) -> None:
    from briefing.app.lakes import tried

    echo("\n".join(limits_lines(tried(data, "the new lake"))))


def report_new(app: App, new: NewLake, as_json: bool) -> None:
    """Say what was made, what is guessed, which limits are in use and what to do next."""
    from briefing.profile.settings import OPEN_METEO_NOTE

    profile, path = new.profile, new.path
    if as_json:
        echo_json({"lake": profile.id, "file": str(path), "guessed": profile.guessed})
        return
    echo(f"Added {profile.name} as {profile.id}: {path}")
    echo(f"Guessed, until you say better: {', '.join(file_key(name) for name in profile.guessed) or 'nothing'}.")
    if not profile.limits.confirmed:
        echo("\n".join(limits_lines(profile)))
        echo(f"Agree with: briefing lake set {profile.id} limits.confirmed=true")
    if not app.settings().contact:
        echo(f"No contact is set, so no service is asked yet: write yours into {app.home.settings_file}")
    echo(OPEN_METEO_NOTE)
    echo(f"Next: briefing today {profile.id}")
