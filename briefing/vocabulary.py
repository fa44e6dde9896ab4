"""The words and ids that every part shares; they also stand in JSON and in command-line flags.

One place, so that a level, a phase or a water colour is spelled the same everywhere.
"""

from enum import StrEnum


class Level(StrEnum):
    """How an hour stands against the user's limits, from best to worst."""

    WITHIN_LIMITS = "within_limits"
    CAUTION = "caution"
    UNKNOWN = "unknown"
    STOP = "stop"

    @property
    def rank(self) -> int:
        """Position in the order ``within_limits < caution < unknown < stop``."""
        return _LEVEL_ORDER.index(self)


_LEVEL_ORDER = (Level.WITHIN_LIMITS, Level.CAUTION, Level.UNKNOWN, Level.STOP)


def worst(levels: "list[Level] | tuple[Level, ...]") -> Level:
    """Return the worst of ``levels``; ``within_limits`` for an empty list."""
    return max(levels, key=lambda level: level.rank, default=Level.WITHIN_LIMITS)


class Phase(StrEnum):
    """Seasonal phases as shown to the reader."""

    WINTER = "winter"
    EARLY_PRESPAWN = "early_prespawn"
    LATE_PRESPAWN = "late_prespawn"
    SPAWN = "spawn"
    POSTSPAWN = "postspawn"
    SUMMER = "summer"
    AUTUMN = "autumn"


class LakeKind(StrEnum):
    """What sort of water it is; decides habits of the fish and which advice leads."""

    SOUTHERN_GRASS = "southern_grass"
    HIGHLAND_RESERVOIR = "highland_reservoir"
    LOWLAND_RESERVOIR = "lowland_reservoir"
    NORTHERN_NATURAL = "northern_natural"
    FARM_POND = "farm_pond"
    TIDAL_RIVER = "tidal_river"


class WaterColour(StrEnum):
    """Colour of the water in a white cup."""

    CLEAR = "clear"
    GREEN = "green"
    TANNIC = "tannic"
    MUDDY = "muddy"


class Sky(StrEnum):
    """Light class at the water."""

    BRIGHT = "bright"
    BROKEN = "broken"
    OVERCAST = "overcast"
    LOW_SUN = "low_sun"
    NIGHT = "night"


class Cover(StrEnum):
    """Cover classes."""

    GRASS_SPARSE = "grass_sparse"
    GRASS_DENSE = "grass_dense"
    GRASS_TOPPED = "grass_topped"
    PADS = "pads"
    REEDS = "reeds"
    LAYDOWN = "laydown"
    BRUSH = "brush"
    DOCK = "dock"
    ROCK = "rock"
    BARE = "bare"


class SpeciesForm(StrEnum):
    """Species forms with seasonal habits of their own."""

    LARGEMOUTH_NORTHERN = "largemouth_northern"
    LARGEMOUTH_FLORIDA = "largemouth_florida"
    LARGEMOUTH_INTERGRADE = "largemouth_intergrade"
    SMALLMOUTH_LAKE = "smallmouth_lake"
    SMALLMOUTH_RIVER = "smallmouth_river"
    SPOTTED = "spotted"


class Craft(StrEnum):
    """Craft with default wind limits of their own."""

    KAYAK = "kayak"
    CANOE = "canoe"
    JON_BOAT = "jon_boat"
    BASS_BOAT = "bass_boat"


class Skill(StrEnum):
    """Which row of the craft's default limits is asked for."""

    NOVICE = "novice"
    EXPERIENCED = "experienced"


class Mood(StrEnum):
    """How far fish will move for a lure."""

    ACTIVE = "active"
    NEUTRAL = "neutral"
    NEGATIVE = "negative"


class PlantDensity(StrEnum):
    """How dense plants below the surface were seen."""

    SPARSE = "sparse"
    DENSE = "dense"
    TOPPED = "topped"


class PlantState(StrEnum):
    """What plants were seen doing."""

    GROWING = "growing"
    SPRAYED = "sprayed"
    DYING = "dying"
    GONE = "gone"


class Bottom(StrEnum):
    """Bottom under the cover."""

    SILT = "silt"
    SAND = "sand"
    GRAVEL = "gravel"
    ROCK = "rock"
    SHELL = "shell"
    CLAY = "clay"


class Flow(StrEnum):
    """How the water moves by river flow or by generation."""

    NONE = "none"
    SLOW = "slow"
    STRONG = "strong"


class Tide(StrEnum):
    """Where the tide stands."""

    RISING = "rising"
    FALLING = "falling"
    SLACK = "slack"


class BaitEvent(StrEnum):
    """What bass gather at for some days or hours."""

    SHAD_SPAWN = "shad_spawn"
    BREAM_SPAWN = "bream_spawn"
    FRY = "fry"
    MAYFLY = "mayfly"


class Forage(StrEnum):
    """What the bass eat here."""

    SHAD = "shad"
    HERRING = "herring"
    BLUEGILL = "bluegill"
    SHINER = "shiner"
    CRAWFISH = "crawfish"
    PERCH = "perch"
    GOBY = "goby"
    FROG = "frog"
    INSECT = "insect"
    NONDESCRIPT = "nondescript"


class Zone(StrEnum):
    """Thermal zones of a lake."""

    MAIN = "main"
    POCKET = "pocket"
    EXPOSED = "exposed"


class SignKind(StrEnum):
    """Field signs that a user can report: of spawning, and of what bass gather at."""

    BEDS_WITH_FISH = "beds_with_fish"
    EMPTY_CLEAN_BEDS = "empty_clean_beds"
    FRY_CLOUDS = "fry_clouds"
    RIPE_FEMALES = "ripe_females"
    SPENT_FEMALES = "spent_females"
    WORN_TAILS = "worn_tails"
    JUVENILE_SCHOOLS = "juvenile_schools"
    LOOKED_NONE = "looked_none"
    SHAD_SPAWN = "shad_spawn"
    BREAM_BEDS = "bream_beds"
    MAYFLIES = "mayflies"


#: Signs that bass gather at something, with what it is.
BAIT_OF_SIGN = {
    SignKind.SHAD_SPAWN: BaitEvent.SHAD_SPAWN,
    SignKind.BREAM_BEDS: BaitEvent.BREAM_SPAWN,
    SignKind.FRY_CLOUDS: BaitEvent.FRY,
    SignKind.MAYFLIES: BaitEvent.MAYFLY,
}
