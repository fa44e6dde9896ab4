"""``hour_levels``: every hour judged against the user's limits, factor by factor, with hysteresis over the series."""

from __future__ import annotations

from briefing.core.wind.inputs import LevelInputs
from briefing.core.wind.level import HourLevel


def hour_levels(inputs: LevelInputs) -> tuple[HourLevel, ...]:
    """Return one ``HourLevel`` an hour of the series.

    The level is the worst of the factors that are not standing. Nothing that is missing makes an hour look better.
    """
    raise NotImplementedError
