"""``AdviceKnowledge``: what the advice knows about presentations, colours, covers, phases, waters, switches and law.

The files live in ``config/`` (and in a user's own folder); reading them is the caller's part, the readers here are
pure. The numbers of the presentations that the ranking needs are also kept as numpy tables, built once.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from briefing.core.advice.moments import Moments, read_moments
from briefing.core.advice.pace import PaceRules
from briefing.core.advice.physics import PhysicsParameters
from briefing.core.advice.presentation import Presentation, Trapezoid
from briefing.core.advice.rules import RankingRules
from briefing.core.advice.tables import Tables
from briefing.vocabulary import Cover, Forage, LakeKind, Phase, Sky, SpeciesForm, WaterColour


@dataclass(frozen=True, slots=True)
class ColourFamily:
    """A family of colours by tone and opacity, with additive scores and the share of light it sends back.

    ``reflect`` is the reflectance in the band of the green-sensitive and of the red-sensitive cones (0..1).
    """

    id: str
    name: str
    short: str
    tone: str
    opacity: str
    roles: frozenset[str]
    base: Mapping[str, float]
    water: Mapping[WaterColour, float]
    light: Mapping[Sky, float]
    forage: Mapping[Forage, float]
    phase: Mapping[Phase, float]
    cover: Mapping[Cover, float]
    reflect: tuple[float, float]
    deeper_than_secchi: float
    why: str
    only_as: frozenset[Forage] = frozenset()
    bulky_only: bool = False

    @classmethod
    def from_mapping(cls, data: Mapping[str, Any]) -> ColourFamily:
        """Read one family; raises KeyError or ValueError naming the field."""
        green, red = data["reflect"]
        return cls(
            id=data["id"],
            name=data["name"],
            short=data["short"],
            tone=data["tone"],
            opacity=data["opacity"],
            roles=frozenset(data["roles"]),
            base={key: float(value) for key, value in data["base"].items()},
            water={key: float(data["water"][key.value]) for key in WaterColour},
            light={key: float(data["light"][key.value]) for key in Sky},
            forage={Forage(key): float(value) for key, value in data.get("forage", {}).items()},
            phase={Phase(key): float(value) for key, value in data.get("phase", {}).items()},
            cover={Cover(key): float(value) for key, value in data.get("cover", {}).items()},
            reflect=(float(green), float(red)),
            deeper_than_secchi=float(data.get("deeper_than_secchi", 0.0)),
            why=data["why"],
            only_as=frozenset(Forage(item) for item in data.get("only_as", ())),
            bulky_only=bool(data.get("bulky_only", False)),
        )


@dataclass(frozen=True, slots=True)
class FlashChoice:
    """A finish of blades and plates, or an accent, with the situation words in which it is right."""

    id: str
    name: str
    fits: tuple[str, ...]
    why: str
    needs: tuple[str, ...] = ()


@dataclass(frozen=True)
class ColourKnowledge:
    """Families, flash and the sentences that go with water, clarity and light."""

    families: tuple[ColourFamily, ...]
    clarity_from_m: Mapping[str, float]  # lower Secchi limit of each clarity class
    attenuation: Mapping[WaterColour, float]  # diffuse attenuation x Secchi depth
    red_loss_per_m: Mapping[WaterColour, float]  # extra loss of the red band against the green band, 1/m
    finishes: tuple[FlashChoice, ...]
    accents: tuple[FlashChoice, ...]
    reasons: Mapping[str, Mapping[str, str]]

    @classmethod
    def from_mapping(cls, data: Mapping[str, Any]) -> ColourKnowledge:
        """Read the parsed colour file."""
        return cls(
            families=tuple(ColourFamily.from_mapping(item) for item in data["families"]),
            clarity_from_m={key: float(item["from_m"]) for key, item in data["clarity"].items()},
            attenuation={WaterColour(key): float(item["times_secchi"]) for key, item in data["water"].items()},
            red_loss_per_m={WaterColour(key): float(item["red_loss_per_m"]) for key, item in data["water"].items()},
            finishes=tuple(_flash(item) for item in data["flash"]["finish"]),
            accents=tuple(_flash(item) for item in data["accents"]),
            reasons={key: dict(table) for key, table in data["reasons"].items()},
        )

    def clarity(self, secchi_m: float) -> str:
        """Clarity class of a Secchi depth."""
        return next(key for key, low in self.clarity_from_m.items() if secchi_m >= low)


def _flash(item: Mapping[str, Any]) -> FlashChoice:
    return FlashChoice(item["id"], item["name"], tuple(item["fits"]), item["why"])


@dataclass(frozen=True, slots=True)
class CoverInfo:
    """A cover class: its name, how to know it, whether it makes a roof, shades, is hard, stands upright."""

    id: Cover
    name: str
    plural: str
    looks: str
    roof: bool
    shades: bool
    hard: bool
    grass: bool
    upright: bool
    target: str  # what of it to fish first

    @classmethod
    def from_mapping(cls, key: str, data: Mapping[str, Any]) -> CoverInfo:
        """Read one cover class."""
        flags = {name: bool(data.get(name, False)) for name in ("roof", "shades", "hard", "grass", "upright")}
        return cls(Cover(key), data["name"], data["plural"], data["looks"], target=data["target"], **flags)


@dataclass(frozen=True, slots=True)
class Habit:
    """Where fish hold in a phase on a kind of water."""

    phase: Phase
    water: LakeKind
    depth_m: tuple[float, float]
    hold: str
    bank: str


@dataclass(frozen=True, slots=True)
class Change:
    """What a change (front, level, wind, sky) does in a phase: shift in m (positive deeper), cover, pace, lures."""

    kind: str
    depth_shift_m: float
    cover: str
    pace: str
    raises: tuple[str, ...]
    lowers: tuple[str, ...]
    note: str


@dataclass(frozen=True, slots=True)
class PhaseInfo:
    """What fish do in a phase. ``mood`` is -1 (negative) to 1 (active)."""

    id: Phase
    name: str
    summary: str
    mood: float
    front_weight: float
    time_of_day: str
    look_for: tuple[str, ...]
    changes: Mapping[str, Change]
    mistakes: tuple[str, ...]
    ethics: tuple[str, ...]
    months: Mapping[LakeKind, str]
    habits: Mapping[LakeKind, Habit]

    @classmethod
    def from_mapping(cls, key: str, data: Mapping[str, Any]) -> PhaseInfo:
        """Read one phase table."""
        phase = Phase(key)
        return cls(
            id=phase,
            name=data["name"],
            summary=data["summary"],
            mood=float(data["mood"]),
            front_weight=float(data["front_weight"]),
            time_of_day=data["time_of_day"],
            look_for=tuple(data["look_for"]),
            mistakes=tuple(data["mistakes"]),
            ethics=tuple(data["ethics"]),
            changes={name: _change(name, item) for name, item in data["changes"].items()},
            months={LakeKind(name): text for name, text in data["months"].items()},
            habits={LakeKind(name): _habit(phase, name, item) for name, item in data["where"].items()},
        )


def _change(kind: str, item: Mapping[str, Any]) -> Change:
    return Change(
        kind,
        float(item["depth_shift_m"]),
        item["cover"],
        item["pace"],
        tuple(item["raise"]),
        tuple(item["lower"]),
        item.get("note", ""),
    )


def _habit(phase: Phase, water: str, item: Mapping[str, Any]) -> Habit:
    low, high = item["depth_m"]
    return Habit(phase, LakeKind(water), (float(low), float(high)), item["hold"], item["bank"])


@dataclass(frozen=True, slots=True)
class SpeciesInfo:
    """A species form: which column of the fits it uses, its phase windows (C) and the least day length for spawning."""

    form: SpeciesForm
    name: str
    column: str
    spawn_day_h: float
    phase_windows: Mapping[Phase, Trapezoid]

    @classmethod
    def from_mapping(cls, key: str, data: Mapping[str, Any]) -> SpeciesInfo:
        """Read one species form."""
        return cls(
            SpeciesForm(key),
            data["name"],
            data["column"],
            float(data["spawn_day_h"]),
            {phase: Trapezoid.from_list(data["phase_windows_c"][phase.value]) for phase in Phase},
        )


@dataclass(frozen=True, slots=True)
class RegionInfo:
    """A kind of water: character, where to look, factors on presentations, weight of a front, usual visibility."""

    id: LakeKind
    name: str
    character: str
    find: str
    front_weight: float
    usual_secchi_m: float
    usual_colour: WaterColour
    usual_forage: tuple[Forage, ...]
    factors: Mapping[str, float]

    @classmethod
    def from_mapping(cls, key: str, data: Mapping[str, Any]) -> RegionInfo:
        """Read one kind of water."""
        return cls(
            LakeKind(key),
            data["name"],
            data["character"],
            data["find"],
            float(data["front_weight"]),
            float(data["usual_secchi_m"]),
            WaterColour(data["usual_colour"]),
            tuple(Forage(item) for item in data["usual_forage"]),
            {name: float(value) for name, value in data["factors"].items()},
        )


@dataclass(frozen=True, slots=True)
class Switch:
    """An if-then on the water; ``step`` is its place in the order of change (place, depth, speed, size, lure, tone)."""

    id: str
    when: str
    then: str
    because: str
    step: str
    fits: tuple[str, ...]
    presentations: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LegalFlag:
    """A rule that differs by place: what it is about, what is assumed until the user confirms, what to say.

    ``instead`` is what to take where it is forbidden; empty where the lure itself is then out.
    """

    id: str
    meaning: str
    default: str
    caution: str
    excludes_when_unknown: bool
    instead: str = ""


@dataclass(frozen=True, slots=True)
class CareRule:
    """Fish care: a sentence that applies from a water temperature, a depth or a phase on, in some kinds of water."""

    id: str
    text: str
    from_temp_c: float | None
    from_depth_m: float | None
    phases: tuple[Phase, ...]
    waters: tuple[LakeKind, ...] = ()


@dataclass(frozen=True)
class AdviceKnowledge:
    """All of it, with the tables the ranking works on."""

    presentations: tuple[Presentation, ...]
    colours: ColourKnowledge
    covers: Mapping[Cover, CoverInfo]
    phases: Mapping[Phase, PhaseInfo]
    species: Mapping[SpeciesForm, SpeciesInfo]
    regions: Mapping[LakeKind, RegionInfo]
    switches: tuple[Switch, ...]
    legal: Mapping[str, LegalFlag]
    care: tuple[CareRule, ...]
    paces: PaceRules
    moments: Moments
    rules: RankingRules
    physics: PhysicsParameters
    tables: Tables = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(
            self,
            "tables",
            Tables.build(self.presentations, {kind: region.factors for kind, region in self.regions.items()}),
        )

    def presentation(self, presentation_id: str) -> Presentation:
        """Look one up by id; raises KeyError."""
        return self.presentations[self.tables.index[presentation_id]]

    @classmethod
    def from_mappings(
        cls, presentations: Iterable[Mapping[str, Any]], files: Mapping[str, Mapping[str, Any]]
    ) -> AdviceKnowledge:
        """Build from parsed files: the presentation files, and ``colours``, ``covers``, ``phases``, ``species``,
        ``regions``, ``retrieves``, ``moments``, ``switches``, ``legal``, ``ranking`` and
        ``physics`` by name. Raises KeyError or ValueError naming the field.
        """
        legal = files["legal"]
        return cls(
            presentations=tuple(
                sorted((Presentation.from_mapping(item) for item in presentations), key=lambda item: item.id)
            ),
            colours=ColourKnowledge.from_mapping(files["colours"]),
            covers={Cover(key): CoverInfo.from_mapping(key, item) for key, item in files["covers"]["cover"].items()},
            phases={Phase(key): PhaseInfo.from_mapping(key, item) for key, item in files["phases"]["phase"].items()},
            species={
                SpeciesForm(key): SpeciesInfo.from_mapping(key, item)
                for key, item in files["species"]["species"].items()
            },
            regions={
                LakeKind(key): RegionInfo.from_mapping(key, item) for key, item in files["regions"]["region"].items()
            },
            switches=tuple(_switch(item) for item in files["switches"]["switch"]),
            legal={key: _legal(key, item) for key, item in legal["flag"].items()},
            care=tuple(_care(item) for item in legal["care"]),
            paces=PaceRules.from_mapping(files["retrieves"]),
            moments=read_moments(files["moments"]),
            rules=RankingRules.from_mapping(files["ranking"]),
            physics=PhysicsParameters.from_mapping(files["physics"]),
        )


def _switch(item: Mapping[str, Any]) -> Switch:
    return Switch(
        item["id"],
        item["when"],
        item["then"],
        item["because"],
        item["step"],
        tuple(item.get("fits", ())),
        tuple(item.get("presentations", ())),
    )


def _legal(key: str, item: Mapping[str, Any]) -> LegalFlag:
    unknown, instead = bool(item["excludes_when_unknown"]), item.get("instead", "")
    return LegalFlag(key, item["meaning"], item["default"], item["caution"], unknown, instead)


def _care(item: Mapping[str, Any]) -> CareRule:
    temp, depth = item.get("from_temp_c"), item.get("from_depth_m")
    return CareRule(
        item["id"],
        item["text"],
        None if temp is None else float(temp),
        None if depth is None else float(depth),
        tuple(Phase(name) for name in item.get("phases", ())),
        tuple(LakeKind(name) for name in item.get("waters", ())),
    )
