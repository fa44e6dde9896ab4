"""What bass gather at on a morning: by the user's signs, else by the season that the lake's profile gives."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

from briefing.pipeline.inputs import Knowledge, MorningInputs
from briefing.vocabulary import BAIT_OF_SIGN, BaitEvent, Sky

NOON = 12


def bait_at(inputs: MorningInputs, knowledge: Knowledge, at: datetime, sky: Sky) -> BaitEvent | None:
    """What bass gather at: the newest sign of it that still counts, else what the profile has for the day.

    A shad spawn is over when the morning sun is on the bank; None where there is nothing, or its hour is past.
    """
    moments, zone = knowledge.advice.moments["bait"], inputs.profile.zone
    seen = [one for one in inputs.entered.signs if one.kind in BAIT_OF_SIGN]
    lasting = [one for one in seen if at - one.time <= timedelta(days=moments[BAIT_OF_SIGN[one.kind].value].days)]
    newest = max(lasting, key=lambda one: one.time, default=None)
    usual = (one.event for one in inputs.profile.bait if one.holds_on(inputs.day))
    event = next(usual, None) if newest is None else BAIT_OF_SIGN[newest.kind]
    if event is None or not moments[event.value].low_sun:
        return event
    return event if sky in (Sky.NIGHT, Sky.LOW_SUN) and at.astimezone(zone).hour < NOON else None


def bait_words(events: Iterable[BaitEvent | None], knowledge: Knowledge) -> str:
    """What the first of the hours with bait means for the place; empty where there is none."""
    event = next((one for one in events if one is not None), None)
    return "" if event is None else knowledge.advice.moments["bait"][event.value].place
