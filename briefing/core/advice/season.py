"""The phase from a date, a latitude and a water temperature alone, for advice without a lake and its history.

Temperature windows of the species form, gated by the time of year (phases of spring want the months from mid-winter to
early summer, and so on) and by the shortest day on which the form spawns. The seasonal estimator knows more whenever a
lake's readings are at hand.
"""

from __future__ import annotations

from datetime import date

import numpy as np

from briefing.core.advice.knowledge import AdviceKnowledge
from briefing.core.advice.presentation import Trapezoid
from briefing.core.sky.position import day_length_h
from briefing.vocabulary import Phase, SpeciesForm

_YEAR_DAYS = 365.25
_SOLSTICE = (12, 21)
_SHORT_DAY = 0.05  # what is left of spawning below the shortest day
_NESTING = (Phase.SPAWN, Phase.POSTSPAWN)
_NO_NESTS_BELOW_C = 7.2  # 45 F
_SUMMER_FROM_C = 23.0  # water that has been at 70 F for weeks
#: Days after the solstice from and by which they have left for summer places where the water is warm.
_LEFT_BY = (185.0, 215.0)
_LEAST = 0.03  # mixed in evenly, so that nothing is ruled out by one temperature

#: Days since the winter solstice in which a phase can be, for northern and southern forms alike.
_GATES = {
    Phase.EARLY_PRESPAWN: Trapezoid(-25.0, 5.0, 140.0, 175.0),
    Phase.LATE_PRESPAWN: Trapezoid(-10.0, 20.0, 165.0, 195.0),
    Phase.SPAWN: Trapezoid(0.0, 35.0, 180.0, 215.0),
    Phase.POSTSPAWN: Trapezoid(45.0, 85.0, 205.0, 235.0),
    Phase.SUMMER: Trapezoid(90.0, 130.0, 285.0, 310.0),
    Phase.AUTUMN: Trapezoid(225.0, 250.0, 350.0, 375.0),
    Phase.WINTER: Trapezoid(305.0, 330.0, 460.0, 500.0),
}


def days_since_winter_solstice(day: date, latitude_deg: float) -> float:
    """Days since the last winter solstice of the hemisphere, 0 to 365."""
    solstice = date(day.year, *_SOLSTICE)
    days = (day - solstice).days % _YEAR_DAYS
    return days if latitude_deg >= 0.0 else (days + _YEAR_DAYS / 2) % _YEAR_DAYS


def _left_share(days: float) -> float:
    """Share of the post-spawn fish that have not yet gone to their summer places, by the day, in warm water."""
    first, last = _LEFT_BY
    return min(max((last - days) / (last - first), 0.0), 1.0)


def phase_from_temperature(
    form: SpeciesForm, water_temp_c: float, day: date, latitude_deg: float, knowledge: AdviceKnowledge
) -> dict[Phase, float]:
    """Shares of the phases, summing to one."""
    info = knowledge.species[form]
    days = days_since_winter_solstice(day, latitude_deg)
    shares: dict[Phase, float] = {}
    for phase, window in info.phase_windows.items():
        gate = max(_GATES[phase].value(days + shift) for shift in (-_YEAR_DAYS, 0.0, _YEAR_DAYS))
        floor = 0.0 if phase in _NESTING and water_temp_c < _NO_NESTS_BELOW_C else 0.02
        shares[phase] = (window.value(water_temp_c) + floor) * gate
    left = _left_share(days)
    if water_temp_c >= _SUMMER_FROM_C:
        shares[Phase.POSTSPAWN] *= left
    if float(day_length_h(latitude_deg, np.array([day.timetuple().tm_yday]))[0]) < info.spawn_day_h:
        shares[Phase.SPAWN] *= _SHORT_DAY
        if days < _YEAR_DAYS / 2:
            shares[Phase.POSTSPAWN] *= _SHORT_DAY
    total = sum(shares.values())
    even = _LEAST / len(shares)
    return {phase: (1.0 - _LEAST) * share / total + even for phase, share in shares.items()}
