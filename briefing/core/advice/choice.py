"""``Choice``: one presentation with everything solved for a spot and a time."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ColourPick:
    """A colour family, the same in a word or two, and why."""

    id: str
    name: str
    short: str
    why: str


@dataclass(frozen=True, slots=True)
class RetrievePick:
    """How to bring it home; speed in m/s as a range."""

    id: str
    name: str
    how: str
    speed_mps: tuple[float, float] | None = None
    reel_turns_per_10s: float | None = None
    pause_s: tuple[float, float] | None = None  # at the temperature of the day
    reel: str = ""  # kind of the reel that the turns hold for
    reel_ratio: float | None = None  # and its ratio
    feel: str = ""  # the same pace by feel, "just fast enough to feel the blade"
    short: str = ""  # the name in a word or three


@dataclass(frozen=True, slots=True)
class SetupPick:
    """Rod, reel and line in words, measures in both systems (see `briefing.core.advice.measures`)."""

    rod: str
    reel: str
    line: str
    leader: str | None
    owned_id: str | None = None  # the user's own rod when it matches
    owned_name: str | None = None
    rod_number: int | None = None  # its place in the rigging list
    retie: bool = False  # True when another lure is rigged on that rod
    new_weight: bool = False  # True when the lure is rigged on that rod at another weight


@dataclass(frozen=True, slots=True)
class Choice:
    """One presentation, ranked and solved. ``score`` is internal and never shown."""

    id: str
    name: str
    rank: str  # "first choice" | "second" | "if refused" | "" for the rest of the order
    group: str
    pace: str
    score: float
    weight_g: float | None
    weight_oz: str | None
    running_depth_m: tuple[float, float] | None
    trailer: str | None
    retrieve: RetrievePick | None
    colours: tuple[ColourPick, ...]
    flash: str | None
    setup: SetupPick | None
    follow_up: tuple[str, ...]
    faults: tuple[str, ...]  # "fault: fix"
    reasons: tuple[str, ...]  # strongest first
    cautions: tuple[str, ...]  # law, hooks, fish care
    how_sure: str  # "fairly sure" | "open"
    change: str = ""  # what would change the advice
    look_for: str = ""  # for a newcomer
    size: str | None = None  # usual length of the body, in the reader's units
    size_why: str = ""  # the base weight, or what moved the size away from it
    hook: str | None = None
    depth_text: str = ""  # where in the water it works, in the reader's units: "on the bottom in 2 to 6 ft"
    rig: str = ""  # how it is put together, where that isn't plain from the name
    blade: str | None = None  # shape and finish of its blades in few words
    doubt: str = ""  # why the order is open, as a sentence; empty where it is fairly sure
    colour_hint: str = ""  # when to take which of the two colours
    second_when: str = ""  # the change that the second colour answers
    how: str = ""  # how it is worked, in two or three sentences
    bottom_depth_m: tuple[float, float] | None = None
    fish_depth_m: tuple[float, float] | None = None
    trailer_changes: str = ""  # what the trailer changes in height, beat, snags and noise
    trailer_check: str = ""  # how to see at the craft that it works
    out_of_season: str = ""  # why it is only the least bad, as a sentence
