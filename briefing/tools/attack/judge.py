"""Holds a mutated morning against the sound one: what became calmer, and whether the page says why at its top."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable

from briefing.sections.cautions import IN_EVERY_HOUR
from briefing.tools.attack.drive import Outcome
from briefing.tools.attack.kinds import Attack
from briefing.vocabulary import Level

_WIND = r"\bwinds?\b|gust|wave|forecast|grid|hours|open-meteo|station|airport|buoy|observation|measured|headway"
_WIND += r"|water temp|usgs|gauge"  # cold water cuts the limits of the wind
_TOPIC = {
    "sustained_wind": _WIND,
    "gust": _WIND,
    "waves": _WIND,
    "headway": _WIND,
    "thunder": r"thunder|lightning|storm|instability|forecast|grid|open-meteo|weather",
    "alerts": r"warning|alert|message|official",
    "cold_water": r"water|gauge|usgs|buoy",
    "visibility": r"visib|fog|sight|forecast|grid|open-meteo|station",
    "heat": r"heat|air|humid|forecast|grid|open-meteo",
    "data_age": r"forecast|grid|open-meteo|\bold\b",
}
_DOUBT = re.compile(
    r"not known|unknown|not all known|could not|can't|cannot|not used|not believed|refused|\b(?:h|min|days?|too) old\b|"
    r"older|estimated|"
    r"not read|unread|not understood|not be understood|not be read|skipped|missing|not in the data|not given|"
    r"nothing there|in trouble|given up|no answer|not reached|broke off|"
    r"contradict|differ|disagree|doubt|no longer|not among|"
    r"not in our list|not judged|damaged|cut off|came instead|not checked|no current|no usable|no value|"
    r"\b(?:is|are|has|have|gives?|names?|holds?) no\b|\bno (?:\w+ ){0,2}forecast|not the list|not placed|says not|"
    r"ahead of|future|stale|not asked|too long ago|"
    r"not complete|unconfirmed|stands in|impossib|not match|unclear|both are|counts until",
    re.IGNORECASE,
)
#: How a factor is called in the line of what was checked and found within the limits.
_CHECKED = {"thunder": "thunder", "gust": "gust", "sustained_wind": "wind", "heat": "heat", "visibility": "visib"}


def faults(attack: Attack, sound: Outcome, found: Outcome) -> list[str]:
    """Return what is wrong with a mutated morning, in a few words each; nothing when it holds."""
    out = _calmer(attack, sound, found)
    out += _unknown_within(attack.unknown, found)
    if contradicts_itself(found) and (attack.whole_page or not contradicts_itself(sound)):
        out.append("thunder stands among what was checked and found within, with '?' in its column")
    return out


def contradicts_itself(found: Outcome) -> bool:
    """Tell whether thunder is listed as checked and within, while its column does not know it."""
    return not found.thunder_shown and _lists(found.checked, "thunder")


def _calmer(attack: Attack, sound: Outcome, found: Outcome) -> list[str]:
    lower = [hour for hour, level in sound.levels.items() if found.levels.get(hour, level).rank < level.rank]
    longer = found.minutes > sound.minutes + 1 or (found.off and sound.off and found.off > sound.off)
    if not lower and not longer:
        return []
    lost = {
        name for hour in lower for name, level in sound.factors[hour].items() if level.rank > found.levels[hour].rank
    } or set(_TOPIC)
    before, after = sound.top, found.top
    if all(found.levels[hour] is not Level.WITHIN_LIMITS for hour in lower):
        # what stands beside a warning does not make up for a headline "within your limits"
        before, after = (*before, *map(_official, sound.official)), (*after, *map(_official, found.official))
    if not attack.strict and says(before, after, lost):
        return []
    hours = ", ".join(f"{hour:%H}Z {sound.levels[hour].value}->{found.levels[hour].value}" for hour in lower[:3])
    words = "calmer although all was sent" if attack.strict else "calmer and unsaid at the top"
    return [f"{words}: {hours or 'longer out'} ({', '.join(sorted(lost)) if lower else 'windows'})"]


def _official(line: str) -> str:
    """A line that stands beside an official message, whatever the message is called."""
    return f"Official: {line}"


def says(before: Iterable[str], after: Iterable[str], lost: Collection[str]) -> bool:
    """Tell whether the page's top has a line that it had not before, which doubts one of the things lost."""
    known = set(before)
    topic = re.compile("|".join(_TOPIC.get(name, ".") for name in lost), re.IGNORECASE)
    return any(_DOUBT.search(line) and topic.search(line) for line in after if line not in known)


def _unknown_within(unknown: Collection[str], found: Outcome) -> list[str]:
    out = []
    for name in sorted(unknown):
        within = [hour for hour, levels in found.factors.items() if levels.get(name) is Level.WITHIN_LIMITS]
        if within:
            out.append(f"{name} is not known, yet within at {within[0]:%H}Z and {len(within) - 1} hours more")
        if _lists(found.checked, name):
            out.append(f"{name} is not known, yet stands among what was checked and found within")
    return out


def _lists(checked: str, name: str) -> bool:
    return checked.startswith(IN_EVERY_HOUR) and _CHECKED.get(name, name) in checked.lower()
