"""Loads every table of ``config/`` that a briefing needs."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from briefing import knowledge
from briefing.core.advice.front import FrontRules
from briefing.core.advice.plan import PlanParameters
from briefing.core.freshness import StaleTable
from briefing.pipeline.inputs import Knowledge
from briefing.profile.model import LakeProfile
from briefing.reader import Reader
from briefing.resources import read_toml


def reader_of(profile: LakeProfile) -> Reader:
    """Return whom a lake's briefing is written for."""
    return Reader(profile.units, knowledge.country_of(profile.country), profile.craft)


@lru_cache(maxsize=2)
def load_tables(user_folder: Path | None = None) -> Knowledge:
    """Return all tables, the user's own knowledge files over ours. Raises InputError naming a broken file."""
    return Knowledge(
        limits=knowledge.load_limits(),
        rules=knowledge.load_safety_rules(),
        events=knowledge.load_alert_events(),
        cautions=knowledge.load_cautions(),
        stale=StaleTable.from_mapping(read_toml("stale.toml")),
        water=knowledge.load_water_parameters(),
        phase=knowledge.load_phase_parameters(),
        advice=knowledge.load_advice_knowledge(user_folder if user_folder and user_folder.is_dir() else None),
        plan=PlanParameters.from_mapping(read_toml("plan.toml")),
        front=FrontRules.from_mapping(read_toml("front.toml")),
        physics=knowledge.load_physics(),
        rods=knowledge.load_rod_parameters(),
        log=knowledge.load_log_parameters(),
        craft=read_toml("craft.toml"),
        boat=knowledge.load_boat_parameters(),
        plants=knowledge.load_plant_parameters(),
        actions=read_toml("actions.toml"),
    )
