"""The home lake profile as checked values: SI inside, everything the briefing asks about a lake and its user.

Only name, position and craft must be given; the rest has a guess (`briefing.profile.guesses`), and ``guessed`` names
the fields whose value is one, with the reason. Attribute names carry the unit (``mean_depth_m``); the file's keys don't
(``mean_depth = "9 ft"``).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from datetime import date
from enum import StrEnum
from typing import Annotated, Literal, TypeVar
from zoneinfo import ZoneInfo

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, StrictBool, WithJsonSchema, model_validator

from briefing.profile import fields
from briefing.profile.fields import LaunchTime, refuse
from briefing.units import Units
from briefing.vocabulary import BaitEvent, Bottom, Cover, Craft, Forage, LakeKind, Skill, SpeciesForm, WaterColour, Zone

#: Version of the file's layout, raised with every change that needs an upgrade.
SCHEMA_VERSION = 1


class ProfileModel(BaseModel):
    """Base of the profile's tables: frozen, no unknown key let in, file keys as aliases."""

    model_config = ConfigDict(frozen=True, extra="forbid", str_strip_whitespace=True, arbitrary_types_allowed=True)


class Flag(StrEnum):
    """What must be known about a spot besides its cover."""

    TAILWATER = "tailwater"
    NEST_AREA = "nest_area"
    CURRENT = "current"
    LOW_HEAD_DAM = "low_head_dam"
    SHADE = "shade"


class Clothing(StrEnum):
    """What the user wears against immersion."""

    NONE = "none"
    WETSUIT = "wetsuit"
    DRYSUIT = "drysuit"


class Weekday(StrEnum):
    """Days of the week, in the order of `datetime.date.weekday`."""

    MONDAY = "monday"
    TUESDAY = "tuesday"
    WEDNESDAY = "wednesday"
    THURSDAY = "thursday"
    FRIDAY = "friday"
    SATURDAY = "saturday"
    SUNDAY = "sunday"


class RuleKind(StrEnum):
    """What a note on a local rule is about."""

    CLOSED_SEASON = "closed_season"
    LEAD = "lead"
    HOOKS = "hooks"
    OTHER = "other"


Name = Annotated[str, Field(min_length=1, max_length=80)]
Text = Annotated[str, Field(max_length=1000)]


class Ramp(ProfileModel):
    """A place to launch."""

    name: Name = Field(description="Name of the ramp or landing.")
    latitude: fields.Latitude = Field(description="Degrees north.")
    longitude: fields.Longitude = Field(description="Degrees east (west is negative).")
    notes: Text = Field("", description="Anything worth knowing: parking, steepness, who else uses it.")


def _read_cover(value: object) -> object:
    """Turn a word or a list of words into equal shares; shares are scaled to sum to one."""
    if isinstance(value, str):
        value = [value]
    if isinstance(value, list) and value and all(isinstance(word, str) for word in value):
        return {word: value.count(word) / len(value) for word in value}
    if isinstance(value, Mapping) and value:
        if not all(_is_share(share) for share in value.values()):
            raise refuse("accepted: shares above 0, such as { grass_dense = 0.7, pads = 0.3 }")
        return {word: share / sum(value.values()) for word, share in value.items()}
    raise refuse(f"accepted: a list of {', '.join(Cover)}, or shares by kind")


def _is_share(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and 0 < value <= 1000


CoverShares = Annotated[
    dict[Cover, float],
    BeforeValidator(_read_cover),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "array", "items": {"enum": list(Cover)}},
                {"type": "object", "propertyNames": {"enum": list(Cover)}, "additionalProperties": {"type": "number"}},
            ]
        }
    ),
]


class Spot(ProfileModel):
    """A place to fish, by position or by bank side."""

    name: Name = Field(description="Your name for it.")
    latitude: fields.Latitude | None = Field(None, description="Degrees north; or leave out and give the bank.")
    longitude: fields.Longitude | None = Field(None, description="Degrees east (west is negative).")
    bank_deg: fields.Direction | None = Field(
        None, alias="bank", description='Which bank of the lake it lies on, as a compass point ("NE").'
    )
    depth_m: tuple[fields.Depth, fields.Depth] = Field(
        (0.9, 2.4), alias="depth", description='Shallow and deep edge, such as ["3 ft", "6 ft"].'
    )
    cover: CoverShares = Field(
        default_factory=lambda: {Cover.BARE: 1.0},
        description="Cover kinds as a list, or shares by kind such as { grass_dense = 0.7, pads = 0.3 }.",
    )
    cover_top_m: fields.Depth | None = Field(
        None, alias="cover_top", description="Depth of the cover's top below the surface; 0 for matted grass."
    )
    bottom: Bottom | None = Field(None, description="What the bottom is made of.")
    slope_deg: fields.Slope | None = Field(None, alias="slope", description="flat, gentle, medium, steep, or degrees.")
    shelter_deg: tuple[fields.Direction, ...] = Field(
        (), alias="shelter", description='Wind directions it is sheltered from, such as ["N", "NW"].'
    )
    zone: Zone = Field(
        Zone.MAIN, description="main, pocket (sheltered and shallow, warms first) or exposed (cold banks)."
    )
    flags: tuple[Flag, ...] = Field((), description="tailwater, nest_area, current, low_head_dam, shade.")
    hazard: Text = Field(
        "", description="What can hurt you there, such as stumps below the surface; printed among the cautions."
    )
    notes: Text = Field("", description="Your own words about it.")

    @property
    def id(self) -> str:
        """Short name for commands and JSON."""
        return slug(self.name)

    @property
    def guessed(self) -> tuple[str, ...]:
        """Which of depth and cover the file leaves out, so that a usual value stands in."""
        return tuple(name for name in ("depth_m", "cover") if name not in self.model_fields_set)

    @model_validator(mode="after")
    def _check(self) -> Spot:
        if (self.latitude is None) != (self.longitude is None):
            raise refuse("latitude and longitude belong together; give both, or neither and a bank")
        if self.latitude is None and self.bank_deg is None:
            raise refuse("give latitude and longitude, or the bank it lies on")
        if self.depth_m[0] > self.depth_m[1]:
            raise refuse("depth is written shallow edge first")
        return self


class Stations(ProfileModel):
    """Stations to read besides the forecast; all optional."""

    usgs_sites: tuple[Annotated[str, Field(pattern=r"^[0-9]{8,15}$")], ...] = Field(
        (), description="Numbers of USGS water sites on this lake (8 to 15 digits, in quotes)."
    )
    airport: Annotated[str, Field(pattern=r"^[A-Z][A-Z0-9]{3}$")] | None = Field(
        None, description="Code of the nearest airport with weather reports, four letters."
    )
    buoy: Annotated[str, Field(pattern=r"^[A-Z0-9]{5}$")] | None = Field(
        None, description="Number of a weather buoy on a big lake, five characters."
    )
    allow_river_gauge: StrictBool = Field(
        False, description="true when a river or tailwater gauge really tells the temperature of this water."
    )


class LimitPair(ProfileModel):
    """A wind limit: caution from here, stop from there (m/s)."""

    caution_mps: fields.Wind = Field(alias="caution", description="From here on take care.")
    stop_mps: fields.Wind = Field(alias="stop", description="From here on you are off the water.")

    @model_validator(mode="after")
    def _check(self) -> LimitPair:
        if not 0.0 < self.caution_mps <= self.stop_mps:
            raise refuse("caution must be above 0 and not above stop")
        return self


class WavePair(ProfileModel):
    """A wave limit (significant height, m)."""

    caution_m: fields.Wave = Field(alias="caution", description="From here on take care.")
    stop_m: fields.Wave = Field(alias="stop", description="From here on you are off the water.")

    @model_validator(mode="after")
    def _check(self) -> WavePair:
        if not 0.0 < self.caution_m <= self.stop_m:
            raise refuse("caution must be above 0 and not above stop")
        return self


class OwnLimits(ProfileModel):
    """The user's own limits; what is left out follows craft and skill."""

    confirmed: StrictBool = Field(False, description="true once you have read the limits in use and agree with them.")
    sustained: LimitPair | None = Field(None, description="Sustained wind: caution and stop.")
    gust: LimitPair | None = Field(None, description="Gusts: caution and stop.")
    waves: WavePair | None = Field(None, description="Significant wave height: caution and stop.")


class Outing(ProfileModel):
    """When the user usually goes out."""

    days: tuple[Weekday, ...] = Field((), description="Days of the week; empty means any day.")
    launch: fields.DayTime = Field(description='"06:30", or "sunrise -60 min".')
    back: fields.DayTime = Field(alias="return", description='"11:30", or "sunrise +240 min".')


class Rod(ProfileModel):
    """A rod with its reel and line, in the trade's own units."""

    id: Annotated[str, Field(pattern=r"^[a-z0-9_-]{1,40}$")] = Field(description="Short name, such as swim_rod.")
    name: Text = Field("", description="Your name for it.")
    length_ft: fields.RodLength = Field(alias="length", description='Length, such as "7 ft 2 in".')
    power: Literal["ultralight", "light", "medium_light", "medium", "medium_heavy", "heavy", "extra_heavy"] = Field(
        description="Power as printed on the blank."
    )
    action: Literal["slow", "moderate", "moderate_fast", "fast", "extra_fast"] = Field(description="Action.")
    reel: Literal["baitcast", "spinning"] = Field(description="Kind of reel.")
    ratio: Annotated[float, Field(ge=3.0, le=12.0)] | None = Field(None, description="Gear ratio, such as 7.1.")
    pickup_cm: Annotated[float, Field(ge=20.0, le=150.0)] | None = Field(None, description="Line taken in a turn, cm.")
    line: Literal["fluoro", "mono", "braid"] | None = Field(None, description="Kind of line.")
    line_lb: Annotated[float, Field(ge=1.0, le=150.0)] | None = Field(None, description="Pound-test of the line.")
    line_mm: Annotated[float, Field(ge=0.05, le=1.2)] | None = Field(None, description="Diameter of the line, mm.")
    leader: Literal["fluoro", "mono"] | None = Field(None, description="Kind of leader, when there is one.")
    leader_lb: Annotated[float, Field(ge=1.0, le=150.0)] | None = Field(None, description="Pound-test of the leader.")
    leader_mm: Annotated[float, Field(ge=0.05, le=1.2)] | None = Field(None, description="Diameter of it, mm.")


_Id = Annotated[str, Field(pattern=r"^[a-z0-9_]{1,60}$")]
_Ounces = Annotated[str, Field(pattern=r"^([0-9]+|[0-9]+/[0-9]+|[0-9]+ [0-9]+/[0-9]+|[0-9]*\.[0-9]+)$")]


class Tackle(ProfileModel):
    """The tackle box; an empty one means everything."""

    presentations: tuple[_Id, ...] = Field((), description="Ids of what you own; empty means everything.")
    weights_oz: dict[_Id, tuple[_Ounces, ...]] = Field(
        default_factory=dict, description='Weights you own by presentation, such as swim_jig = ["1/4", "3/8"].'
    )
    colours: dict[_Id, tuple[_Id, ...]] = Field(default_factory=dict, description="Colour families you own by role.")
    skills: dict[_Id, Annotated[int, Field(ge=0, le=2)]] = Field(
        default_factory=dict, description="How well you do a retrieve, 0 to 2, such as skip = 0."
    )
    lead_free: StrictBool = Field(True, description="Suggest lead-free weights (the default where rules are unknown).")


class Rule(ProfileModel):
    """A dated note on a local rule, as the user read it."""

    kind: RuleKind = Field(description="closed_season, lead, hooks or other.")
    species: Text = Field("", description="For which fish; empty means all bass.")
    start: fields.MonthDay | None = Field(None, alias="from", description='First day it holds, "04-15".')
    end: fields.MonthDay | None = Field(None, alias="to", description='Last day it holds, "06-20".')
    allowed: StrictBool | None = Field(None, description="For lead: is lead tackle allowed?")
    hooks: Annotated[int, Field(ge=1, le=20)] | None = Field(None, description="Hooks (or lures) allowed on a line.")
    text: Text = Field("", description="The rule in your words.")
    read_on: date = Field(description="When you read it, 2026-03-01 without quotes; rules change.")

    @model_validator(mode="after")
    def _check(self) -> Rule:
        needs = {
            RuleKind.CLOSED_SEASON: self.start and self.end,
            RuleKind.LEAD: self.allowed is not None,
            RuleKind.HOOKS: self.hooks,
            RuleKind.OTHER: self.text,
        }
        if not needs[self.kind]:
            wanted = {"closed_season": "from and to", "lead": "allowed", "hooks": "hooks", "other": "text"}[self.kind]
            raise refuse(f"a rule of kind {self.kind.value} needs {wanted}")
        return self

    def holds_on(self, day: date) -> bool:
        """True when the rule is in force on a day; without dates it always is. Spans may pass the new year."""
        return self.start is None or self.end is None or _within(day, self.start, self.end)


def _within(day: date, start: tuple[int, int], end: tuple[int, int]) -> bool:
    """True between two days of the year, ends included; a span may pass the new year."""
    at = (day.month, day.day)
    return start <= at <= end if start <= end else at >= start or at <= end


class BaitSeason(ProfileModel):
    """A part of the year in which bass of this lake gather at something."""

    event: BaitEvent = Field(description="shad_spawn, bream_spawn, fry or mayfly.")
    start: fields.MonthDay = Field(alias="from", description='First day, "04-10".')
    end: fields.MonthDay = Field(alias="to", description='Last day, "05-15".')

    def holds_on(self, day: date) -> bool:
        """True on the days between; a span may pass the new year."""
        return _within(day, self.start, self.end)


class Delivery(ProfileModel):
    """Where a finished briefing goes."""

    folder: Annotated[str, Field(min_length=1, max_length=500)] | None = Field(
        None, description="Folder for saved briefings; left out, the program's own data folder."
    )


_Table = TypeVar("_Table", bound=ProfileModel)


def _empty(table: type[_Table]) -> Callable[[], _Table]:
    """Make the default of a table that was left out."""
    return lambda: table.model_validate({})


class LakeProfile(ProfileModel):
    """Everything known, or guessed, about a home lake and the user on it."""

    schema_version: Literal[1] = Field(1, description="Layout of this file; leave it alone.")
    name: Name = Field(description="Name of the lake as you want to read it.")
    latitude: fields.Latitude = Field(description="A point on the water, degrees north.")
    longitude: fields.Longitude = Field(description="Degrees east (west is negative).")
    units: Units = Field("us", description="us or metric: what a bare number means, and what comes first on the page.")
    time_zone: fields.TimeZone = Field("UTC", description="IANA time zone; left out, it follows from the position.")
    country: fields.Country | None = Field(
        None, description="Country, ISO 3166 in two letters; left out, it follows from the time zone."
    )
    elevation_m: fields.Elevation = Field(200.0, alias="elevation", description="Height of the water above the sea.")
    area_km2: fields.Area = Field(2.0, alias="area", description="Area of the lake.")
    longest_arm_m: fields.Distance | None = Field(
        None, alias="longest_arm", description="Longest straight stretch of open water."
    )
    mean_depth_m: fields.Depth = Field(4.0, alias="mean_depth", description="Mean depth.")
    max_depth_m: fields.Depth = Field(10.0, alias="max_depth", description="Greatest depth.")
    kind: LakeKind = Field(LakeKind.LOWLAND_RESERVOIR, description="What sort of water it is.")
    river_fed: StrictBool = Field(False, description="true when a river runs through it.")
    shoreline: Annotated[str, Field(min_length=1, max_length=300)] | None = Field(
        None, description="File with the shoreline (GeoJSON, KML or GPX), beside this file."
    )
    species: tuple[SpeciesForm, ...] = Field(
        (SpeciesForm.LARGEMOUTH_NORTHERN,),
        description="Bass here, the one you fish for first; largemouth or smallmouth alone pick the form.",
    )
    visibility_m: fields.Visibility = Field(
        1.2, alias="visibility", description="How deep a white lure is usually seen."
    )
    water_colour: WaterColour = Field(WaterColour.GREEN, description="Usual colour of the water in a white cup.")
    forage: tuple[Forage, ...] = Field((Forage.BLUEGILL,), description="What bass eat here, most important first.")
    craft: Craft = Field(description="What you fish from.")
    skill: Skill = Field(Skill.NOVICE, description="novice or experienced: which row of limits you ask for.")
    alone: StrictBool = Field(True, description="true when you go out without a second craft.")
    reentry_practised: StrictBool = Field(False, description="true when you got back in from the water this year.")
    clothing: Clothing = Field(Clothing.NONE, description="What you wear against immersion: none, wetsuit, drysuit.")
    speed_mps: fields.BoatSpeed = Field(
        1.34, alias="speed", description="Your speed in calm water over an hour, not a sprint."
    )
    over_water_factor: Annotated[float, Field(ge=1.0, le=1.3)] = Field(
        1.1, description="Forecast wind times this is the wind on open water, 1.0 to 1.3."
    )
    limits: OwnLimits = Field(default_factory=_empty(OwnLimits), description="Your own limits.")
    outings: tuple[Outing, ...] = Field((), description="When you usually go out.")
    ramps: tuple[Ramp, ...] = Field((), description="Places to launch; the first one is the usual.")
    spots: tuple[Spot, ...] = Field((), description="Places to fish.")
    stations: Stations = Field(default_factory=_empty(Stations), description="Stations to read.")
    rods: tuple[Rod, ...] = Field((), description="Rods, reels and lines you carry; empty means any.")
    tackle: Tackle = Field(default_factory=_empty(Tackle), description="Your tackle box; empty means everything.")
    rules: tuple[Rule, ...] = Field((), description="Local rules as you read them, with the date.")
    bait: tuple[BaitSeason, ...] = Field(
        (),
        description="When bass of this lake gather at a shad spawn, bream beds, fry or mayflies; a sign says it too.",
    )
    delivery: Delivery = Field(default_factory=_empty(Delivery), description="Where finished briefings go.")
    lake_id: str = Field("", exclude=True, description="Name of its file without the ending; never in the file.")
    guessed: dict[str, str] = Field(
        default_factory=dict, exclude=True, description="Fields whose value is a guess, and why; never in the file."
    )

    @property
    def id(self) -> str:
        """Short name for commands, store and JSON: its file's name, so that a new name keeps the old readings."""
        return self.lake_id or slug(self.name)

    @property
    def zone(self) -> ZoneInfo:
        """Time zone object."""
        return ZoneInfo(self.time_zone)

    @property
    def own_limits(self) -> bool:
        """True when the user set any limit of their own."""
        return any((self.limits.sustained, self.limits.gust, self.limits.waves))

    def is_guessed(self, name: str) -> bool:
        """True when the value of a field (by attribute name) is a guess."""
        return name in self.guessed

    def spot(self, word: str) -> Spot | None:
        """Return the spot with this name or id."""
        return next((spot for spot in self.spots if word in (spot.name, spot.id)), None)

    def outing_on(self, day: date) -> Outing | None:
        """Return the usual outing on a local day, the first that fits."""
        weekday = tuple(Weekday)[day.weekday()]
        return next((outing for outing in self.outings if not outing.days or weekday in outing.days), None)

    @model_validator(mode="after")
    def _check(self) -> LakeProfile:
        if self.mean_depth_m > self.max_depth_m:
            raise refuse("mean_depth is above max_depth; accepted: a mean depth up to the greatest one")
        for what, items in (("spots", self.spots), ("ramps", self.ramps)):
            ids = [slug(item.name) for item in items]
            twice = sorted({one for one in ids if ids.count(one) > 1})
            if twice:
                raise refuse(f"two {what} have the name {twice[0]!r}; accepted: a name of its own for each")
        return self


def slug(name: str) -> str:
    """Return a name as a short id: lower case ASCII words joined by hyphens; ``lake`` when nothing is left."""
    import unicodedata

    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", "-", plain.lower()).strip("-")[:60] or "lake"


__all__ = ["SCHEMA_VERSION", "LakeProfile", "LaunchTime", "Spot", "slug"]
