"""Loads the knowledge files of ``config/`` and of a user's own folder into the frozen values of the core.

A user's folder has the same layout as ``config/``: a presentation file of the same name replaces ours, a new one is
added, and a table in ``colours.toml``, ``covers.toml``, ``phases.toml``, ``species.toml``, ``regions.toml``,
``retrieves.toml``, ``moments.toml``, ``switches.toml``, ``legal.toml`` or ``ranking.toml`` adds to ours, entry by
entry.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

import tomli

from briefing.core.advice.boat import BoatParameters
from briefing.core.advice.knowledge import AdviceKnowledge
from briefing.core.advice.physics import PhysicsParameters
from briefing.core.advice.plan import PlanParameters
from briefing.core.advice.plants import PlantParameters
from briefing.core.advice.presentation import Presentation
from briefing.core.advice.rods import RodParameters
from briefing.core.climate import NormalsTable
from briefing.core.log.next_move import NextParameters
from briefing.core.log.parameters import LogParameters
from briefing.core.phase.parameters import PhaseParameters
from briefing.core.typed.conditions import ConditionWords
from briefing.core.water.parameters import WaterParameters
from briefing.core.wind.cautions import CautionTable
from briefing.core.wind.events import EventTable
from briefing.core.wind.limits import LimitsTable
from briefing.core.wind.rules import SafetyRules
from briefing.errors import InputError
from briefing.reader import Country
from briefing.resources import config_path, read_arrays, read_toml

ADVICE_FILES = (
    "colours",
    "covers",
    "phases",
    "species",
    "regions",
    "retrieves",
    "moments",
    "switches",
    "legal",
    "ranking",
    "physics",
)


@lru_cache(maxsize=4)
def load_advice_knowledge(extra_dir: Path | None = None) -> AdviceKnowledge:
    """Return the trade knowledge, with the user's own files over ours.

    Raises InputError naming the file and the field when one cannot be read.
    """
    shipped = {path.name: read_toml(f"presentations/{path.name}") for path in _toml_files(config_path("presentations"))}
    presentations: dict[str, Mapping[str, Any]] = dict(shipped)
    files: dict[str, Mapping[str, Any]] = {name: read_toml(f"{name}.toml") for name in ADVICE_FILES}
    if extra_dir is not None:
        presentations |= {path.name: _read(path) for path in _toml_files(extra_dir / "presentations")}
        files |= {
            name: _merged(files[name], _read(extra_dir / f"{name}.toml"))
            for name in ADVICE_FILES
            if (extra_dir / f"{name}.toml").is_file()
        }
    try:
        return AdviceKnowledge.from_mappings(presentations.values(), files)
    except (KeyError, ValueError, TypeError) as error:
        raise InputError(_blame(presentations, error)) from error


@lru_cache(maxsize=1)
def load_phase_parameters() -> PhaseParameters:
    """Return the habits of the species forms and the likelihoods of field signs."""
    return PhaseParameters.from_mapping(read_toml("phase.toml"))


@lru_cache(maxsize=1)
def load_physics() -> PhysicsParameters:
    """Return the constants and judged coefficients of the tackle physics."""
    return PhysicsParameters.from_mapping(read_toml("physics.toml"))


@lru_cache(maxsize=8)
def load_water_parameters(name: str = "pooled") -> WaterParameters:
    """Return the numbers of the water engine: the pooled set, or another of ``water.toml`` by name."""
    return WaterParameters.from_mapping(read_toml("water.toml"), name)


@lru_cache(maxsize=1)
def load_normals_table() -> NormalsTable:
    """Return the fitted grid of air-temperature normals; its provenance stands in ``air_normals.toml``."""
    return NormalsTable.from_mapping(read_arrays("air_normals.npz"))


@lru_cache(maxsize=1)
def load_plan_parameters() -> PlanParameters:
    """Return how a day is cut into blocks and ordered into stops."""
    return PlanParameters.from_mapping(read_toml("plan.toml"))


@lru_cache(maxsize=1)
def load_log_parameters() -> LogParameters:
    """Return how much is believed of the field log and the checks, and the words of the one-line entry."""
    return LogParameters.from_mapping(read_toml("log.toml"))


@lru_cache(maxsize=1)
def load_next_parameters() -> NextParameters:
    """Return how alike places must be, and what to change first where nothing bit."""
    return NextParameters.from_mapping(read_toml("next.toml"))


@lru_cache(maxsize=1)
def load_condition_words() -> ConditionWords:
    """Return the words of a line of weather and what they stand for."""
    return ConditionWords.from_mapping(read_toml("conditions.toml"))


@lru_cache(maxsize=1)
def load_boat_parameters() -> BoatParameters:
    """Return how to hold the craft, how far off and how far to cast."""
    return BoatParameters.from_mapping(read_toml("boat.toml"))


@lru_cache(maxsize=1)
def load_plant_parameters() -> PlantParameters:
    """Return how the tops of plants move from a reading on."""
    return PlantParameters.from_mapping(read_toml("plants.toml"))


@lru_cache(maxsize=1)
def load_rod_parameters() -> RodParameters:
    """Return the weights of the aims in choosing rods."""
    return RodParameters.from_mapping(read_toml("rods.toml"))


def _toml_files(folder: Path) -> list[Path]:
    return sorted(folder.glob("*.toml")) if folder.is_dir() else []


def _read(path: Path) -> dict[str, Any]:
    try:
        with path.open("rb") as handle:
            return tomli.load(handle)
    except tomli.TOMLDecodeError as error:
        raise InputError(f"{path}: not a readable TOML file ({error})") from error


def _merged(ours: Mapping[str, Any], theirs: Mapping[str, Any]) -> dict[str, Any]:
    """Tables are merged key by key; a list of entries with ids is merged by id; anything else is replaced."""
    merged = dict(ours)
    for key, value in theirs.items():
        present = merged.get(key)
        if isinstance(present, Mapping) and isinstance(value, Mapping):
            merged[key] = _merged(present, value)
        elif isinstance(present, list) and value and isinstance(value[0], Mapping) and "id" in value[0]:
            merged[key] = list(({item["id"]: item for item in present} | {item["id"]: item for item in value}).values())
        else:
            merged[key] = value
    return merged


def _blame(presentations: Mapping[str, Mapping[str, Any]], error: Exception) -> str:
    for name, data in presentations.items():
        try:
            Presentation.from_mapping(data)
        except (KeyError, ValueError, TypeError) as fault:
            return f"presentations/{name}: field {fault} is missing or not as the schema says"
    return f"knowledge files: field {error} is missing or not as the schema says"


@lru_cache(maxsize=1)
def load_limits() -> LimitsTable:
    """Return the default limits by craft and skill, and the cold-water bands."""
    return LimitsTable.from_mapping(read_toml("limits.toml"))


@lru_cache(maxsize=1)
def load_safety_rules() -> SafetyRules:
    """Return the thresholds of thunder, heat, visibility, travel and notes."""
    return SafetyRules.from_mapping(read_toml("limits.toml"))


@lru_cache(maxsize=1)
def load_alert_events() -> EventTable:
    """Return what official events mean by craft."""
    return EventTable.from_mapping(read_toml("alert_events.toml"))


@lru_cache(maxsize=1)
def load_countries() -> Mapping[str, Country]:
    """Return what a reader is told by name, by two-letter code of the country."""
    table = read_toml("countries.toml")["country"]
    return {code: Country.from_mapping(code, data) for code, data in table.items()}


def country_of(code: str | None) -> Country:
    """Return a country; one that is not listed or not known names nothing."""
    return load_countries().get(code or "", Country(code or ""))


@lru_cache(maxsize=1)
def load_cautions() -> CautionTable:
    """Return the usual cautions."""
    return CautionTable.from_mapping(read_toml("cautions.toml"))
