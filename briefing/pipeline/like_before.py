"""A line of the user's own log on the page: the morning most like this one, and what it brought."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import timedelta

import numpy as np

from briefing.core.advice.conditions import Conditions
from briefing.core.advice.measures import in_text
from briefing.core.log.likeness import Asked, LikeMorning, how_near, likest
from briefing.core.log.parameters import LikeParameters
from briefing.core.log.records import Condition, Segment
from briefing.pipeline.inputs import MorningInputs
from briefing.sections.clock import short_date
from briefing.sections.words import listed_few, spelled

#: Lures named of a morning, those that caught and those that did not.
_CAUGHT, _BLANK = 2, 1
#: Only a morning that is at least like this one is told of.
_WORTH = ("very like", "like")


def like_before(
    inputs: MorningInputs, conditions: Mapping[str, Conditions], names: Mapping[str, str], p: LikeParameters
) -> str:
    """The nearest morning of the log in a sentence; empty with too few mornings, or where none is near.

    ``conditions`` are those of the day's blocks, ``names`` those of the presentations by id.
    """
    zone, segments = inputs.profile.zone, inputs.kept.segments
    days = {one.start.astimezone(zone).date() for one in segments} - {inputs.day}
    if len(days) < p.fewest or not conditions:
        return ""
    found = likest(segments, Asked(inputs.day, _known(inputs, conditions)), zone, p, 1)
    if not found or how_near(found[0].distance, p) not in _WORTH:
        return ""
    return _told(found[0], names, how_near(found[0].distance, p))


def _known(inputs: MorningInputs, conditions: Mapping[str, Conditions]) -> dict[str, Condition]:
    """Water, clarity, wind and cloud of the hours asked for."""
    first = next(iter(conditions.values()))
    hours = inputs.gathered.hours
    begin, end = hours.index_of(inputs.outing.launch), hours.index_of(inputs.outing.back - timedelta(seconds=1)) + 1
    known: dict[str, float | None] = {"water_c": first.water_temp_c, "secchi_m": first.secchi_m}
    for name in ("wind_mps", "cloud_pct"):
        values = hours.values(name)[max(begin, 0) : max(end, 0)]
        known[name] = float(np.nanmean(values)) if np.isfinite(values).any() else None
    return {name: Condition(value, "modelled", "this page") for name, value in known.items() if value is not None}


def _told(morning: LikeMorning, names: Mapping[str, str], near: str) -> str:
    caught = Counter[str]()
    for segment in morning.segments:
        caught[segment.presentation] += len(segment.fish)
    brought = [
        f"{spelled(str(count))} on the {_name(lure, names)}{_at(morning.segments, lure)}"
        for lure, count in caught.most_common(_CAUGHT)
        if count and lure
    ]
    blank = [_name(lure, names) for lure in dict.fromkeys(one.presentation for one in morning.segments if one.blank)]
    blank = [one for one in blank if one and not any(one in text for text in brought)]
    parts = [listed_few(brought, _CAUGHT)] if brought else []
    parts += [f"nothing on the {blank[0]}"] if blank[:_BLANK] else []
    return (
        f"Your log: {short_date(morning.day)} {morning.day.year} was {near} this: {'; '.join(parts)}." if parts else ""
    )


def _name(lure: str, names: Mapping[str, str]) -> str:
    return in_text(names[lure]).partition(",")[0] if lure in names else ""


def _at(segments: Sequence[Segment], lure: str) -> str:
    """Where most of its fish came from."""
    places = Counter[str]()
    for segment in segments:
        if segment.presentation == lure and segment.spot:
            places[segment.spot] += len(segment.fish)
    best = places.most_common(1)
    return f" at {best[0][0]}" if best and best[0][1] else ""
