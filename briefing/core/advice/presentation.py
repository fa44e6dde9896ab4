"""``Presentation``: one way to show a lure, as a frozen value read from one parsed file.

A presentation file holds windows, fits, weights, trailers, retrieves, set-ups, faults, law and safety, and a case in
which it must lead and one in which it must stay out. Fits are 0 (never) to 1 (first choice); snag is 0 (never) to 1
(unusable). Both stay inside the ranking.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from briefing.vocabulary import Cover, Forage, Mood, Phase, Sky

#: Species as the presentation files know them; forms map onto these.
SPECIES = ("largemouth", "smallmouth", "spotted")


@dataclass(frozen=True, slots=True)
class Trapezoid:
    """A window: 0 outside ``low..high``, 1 inside ``best_low..best_high``, straight lines between."""

    low: float
    best_low: float
    best_high: float
    high: float

    @classmethod
    def from_list(cls, values: Sequence[float]) -> Trapezoid:
        """Read ``[low, best_low, best_high, high]``; raises ValueError when they do not rise."""
        low, best_low, best_high, high = (float(value) for value in values)
        if not low <= best_low <= best_high <= high:
            raise ValueError(f"a window must rise, found {list(values)}")
        return cls(low, best_low, best_high, high)

    def value(self, x: float) -> float:
        """Membership of ``x``, 0 to 1."""
        if x < self.low or x > self.high:
            return 0.0
        if x < self.best_low:
            return (x - self.low) / (self.best_low - self.low)
        if x > self.best_high:
            return (self.high - x) / (self.high - self.best_high)
        return 1.0


@dataclass(frozen=True, slots=True)
class LureWeight:
    """A size in the shop: weight as printed, in grams, what it is for, free sink rate on slack line (m/s).

    ``runs_m`` is the depth a lipped or suspending lure of this size runs at on an ordinary cast and line.
    """

    oz: str
    grams: float
    use: str
    sink_mps: float | None = None
    runs_m: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Option:
    """A trailer, blade or retrieve: what it is, when it is right, what it does.

    ``fits`` are situation words (see ``situation`` in the ranking); the option whose words fit best is taken.
    """

    id: str
    when: str
    text: str
    fits: tuple[str, ...] = ()
    lift: str = ""  # trailers and blades: low | medium | high | very_high
    needs: tuple[str, ...] = ()  # of these words one must hold
    pause_s: tuple[tuple[float, float, float], ...] = ()  # rows of water temperature, shortest and longest pause
    kick: str = ""  # trailers: none | burst | mild | hard
    snag: str = ""  # trailers, beside the bare lure: less | same | more
    noise: str = ""  # trailers: quiet | flap | thump | gurgle


_LIFT_SAID = {"low": "hardly lifts", "medium": "lifts a little", "high": "lifts much", "very_high": "lifts most"}
_KICK_SAID = {"none": "does not kick", "burst": "kicks when sped up", "mild": "kicks softly", "hard": "kicks hard"}
_SNAG_SAID = {"less": "snags less than most", "same": "snags as the bare lure does", "more": "snags more"}
_NOISE_SAID = {"quiet": "quiet", "flap": "flaps", "thump": "thumps", "gurgle": "gurgles"}
TAIL_CHECK = "Swim the lure beside the craft at the slowest pace first: a trailer that stands still comes off."


def trailer_changes(trailer: Option | None) -> str:
    """What a trailer changes in height, beat, snags and noise: "lifts much, kicks softly, snags more, flaps"."""
    if trailer is None:
        return ""
    said = (
        _LIFT_SAID.get(trailer.lift, ""),
        _KICK_SAID.get(trailer.kick, ""),
        _SNAG_SAID.get(trailer.snag, ""),
        _NOISE_SAID.get(trailer.noise, ""),
    )
    return ", ".join(part for part in said if part)


def trailer_check(trailer: Option | None) -> str:
    """How to see that a trailer meant to beat does; empty for one that hangs still by design."""
    return TAIL_CHECK if trailer is not None and trailer.kick in ("mild", "hard") else ""


@dataclass(frozen=True, slots=True)
class LineSpec:
    """Line as the trade sells it: kind, pound-test from-to, diameter from-to in mm."""

    kind: str
    lb: tuple[float, float]
    diameter_mm: tuple[float, float]
    note: str = ""


@dataclass(frozen=True, slots=True)
class Setup:
    """Rod, reel, line and leader for a presentation. Lengths in feet; ``fits`` as in ``Option``."""

    when: str
    fits: tuple[str, ...]
    length_ft: tuple[float, float]
    power: str
    action: str
    reel: str
    ratio: tuple[float, float]
    line: LineSpec
    leader: LineSpec | None = None
    least_g: float = 0.0  # lightest weight that this gear throws and drives home
    most_g: float = 0.0  # heaviest weight that it is for; 0: any
    needs: tuple[str, ...] = ()  # of these words one must hold


@dataclass(frozen=True, slots=True)
class Fall:
    """Numbers for sinking and swimming, all estimates; see the physics module."""

    drag_area_m2: float
    hook_g: float
    soft_body_g: float
    soft_body_density: float
    head_material: str
    swim_drag_area_m2: float | None = None
    lift_n_per_mps2: float | None = None


@dataclass(frozen=True, slots=True)
class CoverFit:
    """How well a presentation goes in a cover class, and how often it snags there (0 never, 1 unusable)."""

    fit: float
    snag: float


@dataclass(frozen=True, slots=True)
class Presentation:
    """One way to show a lure, with everything the ranking and the text need. Fits are 0..1 and stay inside.

    ``weight_by_depth`` is the trade's rule of weight (g) by depth (m) in still water; empty where there is none.
    ``rig`` is how it is put together, ``feel`` the pace of a reeled lure as the hand knows it; both may be empty.
    """

    id: str
    name: str
    group: str
    pace: str
    box: str
    imitates: frozenset[Forage]
    imitates_as: str
    why: str
    look_for: str
    depth_by: str
    depth_m: Trapezoid
    speed_mps: Trapezoid
    water_temp_c: Trapezoid
    secchi_m: Trapezoid
    draw_up_secchi: float
    felt_m: float
    wind: Mapping[str, float]
    light: Mapping[Sky, float]
    mood: Mapping[Mood, float]
    species: Mapping[str, float]
    phases: Mapping[Phase, float]
    cover: Mapping[Cover, CoverFit]
    weights: tuple[LureWeight, ...]
    hooks: str
    blades: tuple[Option, ...]
    trailers: tuple[Option, ...]
    retrieves: tuple[Option, ...]
    setups: tuple[Setup, ...]
    faults: tuple[tuple[str, str], ...]
    legal: tuple[str, ...]
    safety: tuple[str, ...]
    follow_up: tuple[str, ...]
    colour_role: str
    fall: Fall | None
    source: str
    status: str
    weight_by_depth: tuple[tuple[float, float], ...] = ()
    body_in: tuple[float, float] | None = None
    body_cm: tuple[float, float] | None = None
    hook_size: str = ""
    rig: str = ""
    feel: str = ""
    skill: str = ""
    lesson: int | None = None  # its place in the order in which a beginner learns
    teaches: str = ""
    traits: frozenset[str] = frozenset()
    lead_case: Mapping[str, Any] = field(default_factory=dict)
    out_case: Mapping[str, Any] = field(default_factory=dict)

    @property
    def surface(self) -> bool:
        """True for lures that work on the film."""
        return self.depth_m.best_high <= 0.1 and self.depth_m.low == 0.0

    @property
    def trebles(self) -> bool:
        """True when it carries treble hooks."""
        return "treble_hooks" in self.legal

    @classmethod
    def from_mapping(cls, data: Mapping[str, Any]) -> Presentation:
        """Read one parsed presentation file; raises KeyError or ValueError naming the field."""
        windows = data["windows"]
        return cls(
            **{key: data[key] for key in _PLAIN},
            depth_m=Trapezoid.from_list(windows["depth_m"]),
            speed_mps=Trapezoid.from_list(windows["speed_mps"]),
            water_temp_c=Trapezoid.from_list(windows["water_temp_c"]),
            secchi_m=Trapezoid.from_list(windows["secchi_m"]),
            draw_up_secchi=float(windows["draw_up_secchi"]),
            felt_m=float(windows.get("felt_m", 0.0)),
            imitates=frozenset(Forage(item) for item in data["imitates"]),
            wind={key: float(data["wind"][key]) for key in ("flat", "ripple", "chop", "waves")},
            light={key: float(data["light"][key.value]) for key in Sky},
            mood={key: float(data["mood"][key.value]) for key in Mood},
            species={key: float(data["species"][key]) for key in SPECIES},
            phases={key: float(data["phases"][key.value]) for key in Phase},
            cover={key: CoverFit(float(item["fit"]), float(item["snag"])) for key, item in _covers(data["cover"])},
            weights=tuple(_weight(item) for item in data["weights"]),
            blades=tuple(_option(item) for item in data.get("blades", ())),
            trailers=tuple(_option(item) for item in data.get("trailers", ())),
            retrieves=tuple(_option(item) for item in data["retrieves"]),
            setups=tuple(_setup(item) for item in data["setups"]),
            faults=tuple((item["fault"], item["fix"]) for item in data["faults"]),
            legal=tuple(data.get("legal", ())),
            safety=tuple(data.get("safety", ())),
            follow_up=tuple(data["follow_up"]),
            fall=_fall(data.get("fall")),
            weight_by_depth=tuple(_pair(row) for row in data.get("weight_by_depth", ())),
            body_in=_pair(data["body_in"]) if "body_in" in data else None,
            lesson=data.get("lesson"),
            teaches=data.get("teaches", ""),
            body_cm=_pair(data["body_cm"]) if "body_cm" in data else None,
            hook_size=data.get("hook_size", ""),
            rig=data.get("rig", ""),
            feel=data.get("feel", ""),
            skill=data.get("skill", ""),
            traits=frozenset(data.get("traits", ())),
            lead_case=data.get("lead_case", {}),
            out_case=data.get("out_case", {}),
        )


_PLAIN = (
    *("id", "name", "group", "pace", "box", "imitates_as", "why", "look_for", "depth_by", "hooks"),
    *("colour_role", "source", "status"),
)


def _covers(table: Mapping[str, Any]) -> list[tuple[Cover, Mapping[str, Any]]]:
    return [(key, table[key.value]) for key in Cover]


def _pair(values: Sequence[float] | float) -> tuple[float, float]:
    if isinstance(values, int | float):
        return float(values), float(values)
    low, high = values
    return float(low), float(high)


def _weight(item: Mapping[str, Any]) -> LureWeight:
    sink, runs = item.get("sink_mps"), item.get("runs_m")
    return LureWeight(
        item["oz"],
        float(item["g"]),
        item["use"],
        None if sink is None else float(sink),
        None if runs is None else _pair(runs),
    )


def _option(item: Mapping[str, Any]) -> Option:
    return Option(
        id=item["id"],
        when=item["when"],
        text=item["text"],
        fits=tuple(item.get("fits", ())),
        lift=item.get("lift", ""),
        needs=tuple(item.get("needs", ())),
        pause_s=tuple((float(c), float(low), float(high)) for c, low, high in item.get("pause_s", ())),
        kick=item.get("kick", ""),
        snag=item.get("snag", ""),
        noise=item.get("noise", ""),
    )


def _line(item: Mapping[str, Any]) -> LineSpec:
    return LineSpec(item["kind"], _pair(item["lb"]), _pair(item["diameter_mm"]), item.get("note", ""))


def _setup(item: Mapping[str, Any]) -> Setup:
    leader = item.get("leader")
    return Setup(
        when=item["when"],
        fits=tuple(item.get("fits", ())),
        length_ft=_pair(item["length_ft"]),
        power=item["power"],
        action=item["action"],
        reel=item["reel"],
        ratio=_pair(item["ratio"]),
        line=_line(item["line"]),
        leader=None if leader is None else _line(leader),
        least_g=float(item.get("least_g", 0.0)),
        most_g=float(item.get("most_g", 0.0)),
        needs=tuple(item.get("needs", ())),
    )


def _fall(item: Mapping[str, Any] | None) -> Fall | None:
    if item is None:
        return None
    swim, lift = item.get("swim_drag_area_m2"), item.get("lift_n_per_mps2")
    return Fall(
        drag_area_m2=float(item["drag_area_m2"]),
        hook_g=float(item["hook_g"]),
        soft_body_g=float(item["soft_body_g"]),
        soft_body_density=float(item["soft_body_density"]),
        head_material=item["head_material"],
        swim_drag_area_m2=None if swim is None else float(swim),
        lift_n_per_mps2=None if lift is None else float(lift),
    )
