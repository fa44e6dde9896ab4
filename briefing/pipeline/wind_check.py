"""The wind once more: levels, deadlines and the wind note for an outing, without the rest of the briefing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from briefing.core.wind.note import NoteDecision, NoteKind, NoteSignature, PlannedOuting, decide_note
from briefing.core.wind.note_text import NoteText, note_text
from briefing.pipeline.fish import water_of
from briefing.pipeline.hazard import Hazards, judge
from briefing.pipeline.inputs import Knowledge, MorningInputs
from briefing.pipeline.say_hazards import answer_of, out_of
from briefing.pipeline.times import issued_at


@dataclass(frozen=True)
class WindCheck:
    """What a check of the wind found. ``text`` is None when no note is to go out."""

    outing: PlannedOuting
    hazards: Hazards
    decision: NoteDecision
    text: NoteText | None
    off_water_by: datetime | None
    """None: no hours of this outing are within the limits, or not as the craft is manned and dressed."""


def check_wind(
    inputs: MorningInputs,
    knowledge: Knowledge,
    sent: Sequence[NoteSignature],
    evaluated: Sequence[NoteSignature],
    then: str,
) -> WindCheck:
    """Judge the outing's hours and decide on a note.

    ``sent`` and ``evaluated`` are the signatures of this outing so far, oldest first; ``then`` says when it is checked
    again. A forecast that is older than the
    limit for lost data counts as lost: what was retrieved just now is the newest that can be had.
    """
    water = water_of(inputs, knowledge)
    hazards = judge(inputs, knowledge, water.series)
    outing = planned(inputs)
    issued = issued_at(inputs)
    age_limit = timedelta(hours=knowledge.rules.weather.forecast_lost_h)
    decision = decide_note(
        sent,
        evaluated,
        hazards.levels,
        hazards.alerts,
        outing,
        inputs.now,
        knowledge.rules.note,
        issued=issued,
        forecast_lost=issued is None or inputs.now - issued > age_limit,
        last_thunder=max(inputs.entered.thunder_heard, default=None),
        units=inputs.reader.units,
    )
    text = None
    out = out_of(inputs, hazards)
    ends = hazards.deadlines
    ashore = out is None or ends is None or answer_of(inputs.profile, hazards, inputs.reader.units) is not None
    off = None if ashore or ends is None else ends.off_water_by
    moved = hazards.launch > inputs.outing.launch  # the planned hours begin with some that no one should be out in
    if decision.kind is not NoteKind.NONE:
        text = note_text(
            decision,
            hazards.levels,
            outing,
            now=inputs.now,
            zone=inputs.profile.zone,
            off_water_by=None if moved else off,
            then=then,
            longest=knowledge.rules.note.first_paragraph,
        )
    return WindCheck(outing, hazards, decision, text, off)


def planned(inputs: MorningInputs) -> PlannedOuting:
    """The outing as the notes know it: lake and date are the event all notes belong to."""
    return PlannedOuting(
        id=f"{inputs.profile.id}:{inputs.day.isoformat()}",
        lake=inputs.profile.name,
        launch=inputs.outing.launch,
        planned_return=inputs.outing.back,
    )
