"""Names for the reader of the ids in the vocabulary."""

from __future__ import annotations

from collections.abc import Sequence

from briefing.vocabulary import Cover, Craft, Level, Phase, Sky, SpeciesForm, WaterColour, Zone

LEVEL_WORD = {
    Level.WITHIN_LIMITS: "within your limits",
    Level.CAUTION: "caution",
    Level.UNKNOWN: "not known",
    Level.STOP: "over your limits",
}
#: Short word and shape of each level, so that colour is never alone.
LEVEL_MARK = {Level.WITHIN_LIMITS: "within", Level.CAUTION: "caution", Level.UNKNOWN: "unknown", Level.STOP: "STOP"}
STRIP_WORD = {Level.WITHIN_LIMITS: "within", Level.CAUTION: "care", Level.UNKNOWN: "?", Level.STOP: "STOP"}
LEVEL_SHAPE = {Level.WITHIN_LIMITS: "○", Level.CAUTION: "△", Level.UNKNOWN: "?", Level.STOP: "■"}
#: What the day comes to: the four level lines; each stands with the shape of its level.
DAY_WORD = {
    Level.WITHIN_LIMITS: "Within your limits",
    Level.CAUTION: "Within your limits, with care",
    Level.UNKNOWN: "Not known: no hours can be given",
    Level.STOP: "Stay ashore",
}
#: Short word of each factor of an hour.
FACTOR_WORD = {
    "sustained_wind": "wind",
    "gust": "gust",
    "waves": "waves",
    "headway": "no headway",
    "thunder": "thunder",
    "alerts": "official warning",
    "cold_water": "cold water",
    "heat": "heat",
    "visibility": "visibility",
    "darkness": "darkness",
    "tailwater": "tailwater",
    "data_age": "old forecast",
}
#: The same where several are spoken of.
FACTOR_PLURAL = {"gust": "gusts"}
PHASE_NAME = {
    Phase.WINTER: "winter",
    Phase.EARLY_PRESPAWN: "early pre-spawn",
    Phase.LATE_PRESPAWN: "late pre-spawn",
    Phase.SPAWN: "spawn",
    Phase.POSTSPAWN: "post-spawn",
    Phase.SUMMER: "summer",
    Phase.AUTUMN: "autumn",
}
#: What fish in a phase are doing, for "about 4 in 10 ...".
PHASE_DOING = {
    Phase.WINTER: "still in winter places",
    Phase.EARLY_PRESPAWN: "early pre-spawn (far from ready)",
    Phase.LATE_PRESPAWN: "late pre-spawn (staging near the nests)",
    Phase.SPAWN: "on nests or guarding eggs",
    Phase.POSTSPAWN: "post-spawn or guarding fry",
    Phase.SUMMER: "in summer places",
    Phase.AUTUMN: "following bait in autumn",
}
#: The same in a few words, for the first screen.
PHASE_SHORT = {
    Phase.WINTER: "in winter places",
    Phase.EARLY_PRESPAWN: "in early pre-spawn",
    Phase.LATE_PRESPAWN: "in late pre-spawn, staging near the nests",
    Phase.SPAWN: "spawning, on nests",
    Phase.POSTSPAWN: "post-spawn, or guarding fry",
    Phase.SUMMER: "in summer places",
    Phase.AUTUMN: "in autumn, following bait",
}
#: The same in the fewest words.
PHASE_SHORTEST = {
    **PHASE_SHORT,
    Phase.LATE_PRESPAWN: "in late pre-spawn",
    Phase.SPAWN: "spawning",
    Phase.POSTSPAWN: "post-spawn",
    Phase.AUTUMN: "in autumn",
}
#: Out of the spring: where to look for fish, in one sentence.
PHASE_LOOK = {
    Phase.WINTER: "They hold deep and near steep banks and move little.",
    Phase.EARLY_PRESPAWN: "They begin to move from winter places towards the banks.",
    Phase.SUMMER: "They keep to shade, cover and the nearest deep water.",
    Phase.AUTUMN: "Find the bait, and they are near it.",
}
FORM_NAME = {
    SpeciesForm.LARGEMOUTH_NORTHERN: "largemouth bass (northern form)",
    SpeciesForm.LARGEMOUTH_FLORIDA: "largemouth bass (Florida form)",
    SpeciesForm.LARGEMOUTH_INTERGRADE: "largemouth bass (mixed northern and Florida)",
    SpeciesForm.SMALLMOUTH_LAKE: "smallmouth bass (lake)",
    SpeciesForm.SMALLMOUTH_RIVER: "smallmouth bass (river)",
    SpeciesForm.SPOTTED: "spotted bass",
}
FORM_SHORT = {
    SpeciesForm.LARGEMOUTH_NORTHERN: "largemouth",
    SpeciesForm.LARGEMOUTH_FLORIDA: "largemouth",
    SpeciesForm.LARGEMOUTH_INTERGRADE: "largemouth",
    SpeciesForm.SMALLMOUTH_LAKE: "smallmouth",
    SpeciesForm.SMALLMOUTH_RIVER: "smallmouth",
    SpeciesForm.SPOTTED: "spotted",
}
CRAFT_SHORT = {
    Craft.KAYAK: "kayak",
    Craft.CANOE: "canoe",
    Craft.JON_BOAT: "jon boat",
    Craft.BASS_BOAT: "bass boat",
}
CRAFT_NAME = {
    Craft.KAYAK: "sit-on-top kayak",
    Craft.CANOE: "canoe",
    Craft.JON_BOAT: "jon boat",
    Craft.BASS_BOAT: "bass boat",
}
#: Which craft is which: what the tables of limits were made for.
CRAFT_SIZE = {
    Craft.KAYAK: "sit-on-top, one person",
    Craft.CANOE: "open, one or two persons",
    Craft.JON_BOAT: "flat-bottomed, 12 to 16 ft",
    Craft.BASS_BOAT: "decked, 16 to 20 ft",
}
COVER_NAME = {
    Cover.GRASS_SPARSE: "sparse grass",
    Cover.GRASS_DENSE: "dense grass below the surface",
    Cover.GRASS_TOPPED: "grass topped out at the surface",
    Cover.PADS: "pads",
    Cover.REEDS: "reeds",
    Cover.LAYDOWN: "laydowns",
    Cover.BRUSH: "brush",
    Cover.DOCK: "docks",
    Cover.ROCK: "rock",
    Cover.BARE: "bare bottom",
}
ZONE_NAME = {Zone.MAIN: "main lake", Zone.POCKET: "sheltered pockets", Zone.EXPOSED: "cold, exposed banks"}
COLOUR_NAME = {
    WaterColour.CLEAR: "clear",
    WaterColour.GREEN: "green",
    WaterColour.TANNIC: "tannic (tea-coloured)",
    WaterColour.MUDDY: "muddy",
}
SKY_NAME = {
    Sky.BRIGHT: "bright sun",
    Sky.BROKEN: "broken cloud",
    Sky.OVERCAST: "overcast",
    Sky.LOW_SUN: "low sun",
    Sky.NIGHT: "dark",
}


def in_ten(share: float) -> str:
    """Say a share as the trade speaks: ``about 4 in 10``, ``fewer than 1 in 20``, ``nearly all``."""
    if share < 0.05:
        return "fewer than 1 in 20"
    if share < 0.075:
        return "about 1 in 20"
    if share < 0.15:
        return "about 1 in 10"
    if round(share * 10) >= 10:
        return "nearly all"
    return f"about {round(share * 10)} in 10"


#: Small counts in words, by the number.
COUNTS = ("none", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def spelled(text: str) -> str:
    """A share in tenths with its numbers as words: ``about four in ten``.

    >>> spelled("5 to 6 in 10")
    'five to six in ten'
    """
    return " ".join(COUNTS[int(word)] if word.isdigit() and int(word) <= 10 else word for word in text.split())


def listed(items: list[str] | tuple[str, ...], last: str = "and") -> str:
    """Join words as a sentence does: ``a, b and c``."""
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {last} {items[-1]}"


def listed_few(items: Sequence[str], most: int = 5) -> str:
    """Join names; of very many the last are counted: ``a, b, c, d and 4 more``."""
    if len(items) <= most:
        return listed(list(items))
    return listed([*items[: most - 1], f"{len(items) - most + 1} more"])


def ended(text: str) -> str:
    """Somebody's own words as a sentence that others can follow: with a full stop where they have no end."""
    bare = text.rstrip()
    return bare if bare.endswith((".", "!", "?")) else f"{bare.rstrip(',;:')}."


def lower_first(text: str) -> str:
    """A sentence to go on with behind a colon: its first letter small, unless it begins with an abbreviation."""
    return text[:1].lower() + text[1:] if text[1:2].islower() or text.startswith("A ") else text


def upper_first(text: str) -> str:
    """A sentence's first letter large."""
    return text[:1].upper() + text[1:]
