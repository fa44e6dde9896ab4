"""Where to start and what to rig, by block of the day."""

from __future__ import annotations

from datetime import datetime

from briefing.sections.quantity import SectionModel
from briefing.vocabulary import Level


class ColourText(SectionModel):
    """A colour family and why."""

    id: str
    name: str
    why: str


class ChoiceText(SectionModel):
    """One presentation solved for a spot and a block, as the reader sees it."""

    id: str
    name: str
    rank: str
    weight_oz: str | None
    weight_g: float | None
    weight_text: str
    running_depth_m: tuple[float, float] | None
    depth_text: str
    trailer: str | None
    retrieve_text: str
    colours: tuple[ColourText, ...]
    flash: str | None
    setup_text: str
    owned_rod: str | None
    follow_up: tuple[str, ...]
    faults: tuple[str, ...]
    reasons: tuple[str, ...]
    cautions: tuple[str, ...]
    how_sure: str
    change: str


class StopText(SectionModel):
    """One spot of a block: when, how long at least and at most, where in it and with what."""

    spot_id: str
    spot: str
    begin: datetime
    end: datetime
    time_text: str
    travel_text: str
    stay_text: str
    where: str
    look_for: str
    conditions_text: str
    wind_text: str
    choices: tuple[ChoiceText, ...]


class BlockText(SectionModel):
    """One time block; ``closed`` says why there is no advice in it (outside the launch window)."""

    name: str
    begin: datetime
    end: datetime
    time_text: str
    level: Level
    light_text: str
    closed: str
    stops: tuple[StopText, ...]
    switch: str


class RodText(SectionModel):
    """One rod to rig tonight and what it is for."""

    number: int
    text: str
    rig: str
    purpose: str
    in_reach: bool


class PlanSection(SectionModel):
    """Plan A by block, plan B for the likeliest surprise, the rods."""

    summary: str
    blocks: tuple[BlockText, ...]
    plan_b: tuple[str, ...]
    left_out: tuple[str, ...]
    rods: tuple[RodText, ...]
    rods_note: str
    notes: tuple[str, ...]
