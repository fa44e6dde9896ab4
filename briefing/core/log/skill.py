"""Sums of the checks: how far forecasts were off at a lake by element, lead and direction, and the line on it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

import numpy as np

from briefing import units
from briefing.core.log.checks import GUST, WATER, WIND, Check, morning_of
from briefing.core.log.correction import SECTORS, WindCorrection, mornings_of, sector_of
from briefing.core.log.parameters import LogParameters

#: Edges of the classes of stated likelihoods, percent.
CHANCE_EDGES = (0.0, 10.0, 30.0, 50.0, 70.0, 100.0001)
#: A mean error under this is within what such forecasts round to (m/s).
SMALL_MPS = 0.45


@dataclass(frozen=True, slots=True)
class SkillRow:
    """Errors of one element in one class of lead, of one sector or (None) of all; in the element's unit.

    bias is observed less forecast: positive when the forecast was too low. covered is the share of stated 80 % ranges
    that held it, None where none were stated.
    """

    element: str
    lead: str
    sector: int | None
    checks: int
    mornings: int
    bias: float
    mean_abs: float
    rms: float
    covered: float | None = None


@dataclass(frozen=True, slots=True)
class ChanceRow:
    """Reliability of stated likelihoods in one class: what was said on average, and how often it came."""

    low_pct: float
    high_pct: float
    cases: int
    said_pct: float
    came_pct: float


@dataclass(frozen=True)
class Skill:
    """Everything known of how forecasts did at a lake."""

    rows: tuple[SkillRow, ...]
    chances: tuple[ChanceRow, ...]
    correction: WindCorrection
    mornings: int
    line: str

    def row(self, element: str, sector: int | None = None) -> SkillRow | None:
        """The row of an element with the most checks among its leads; None where there is none."""
        rows = [row for row in self.rows if row.element == element and row.sector == sector]
        return max(rows, key=lambda row: row.checks, default=None)


def skill_of(
    checks: Sequence[Check], correction: WindCorrection, parameters: LogParameters, system: units.Units
) -> Skill:
    """Sum up all checks of a lake."""
    leads = [one.name for one in parameters.leads]
    rows: list[SkillRow] = []
    for element in sorted({check.element for check in checks if not check.element.endswith("_pct")}):
        for lead in leads:
            chosen = [check for check in checks if check.element == element and check.lead == lead]
            rows += _rows(element, lead, chosen)
    wind = [check for check in checks if check.element == WIND]
    return Skill(
        rows=tuple(rows),
        chances=_chances(check for check in checks if check.element.endswith("_pct")),
        correction=correction,
        mornings=len({morning_of(check.time) for check in wind}),
        line=wind_line(checks, parameters, system),
    )


def _rows(element: str, lead: str, checks: Sequence[Check]) -> list[SkillRow]:
    if not checks:
        return []
    out = [_row(element, lead, None, checks)]
    if element in (WIND, GUST):
        for sector in range(SECTORS):
            own = [check for check in checks if check.from_deg is not None and sector_of(check.from_deg) == sector]
            if own:
                out.append(_row(element, lead, sector, own))
    return out


def _row(element: str, lead: str, sector: int | None, checks: Sequence[Check]) -> SkillRow:
    errors = np.array([check.error for check in checks])
    stated = [(check.low, check.high, check.observed) for check in checks]
    held = [low <= seen <= high for low, high, seen in stated if low is not None and high is not None]
    return SkillRow(
        element=element,
        lead=lead,
        sector=sector,
        checks=len(checks),
        mornings=len({morning_of(check.time) for check in checks}),
        bias=float(errors.mean()),
        mean_abs=float(np.abs(errors).mean()),
        rms=float(np.sqrt((errors**2).mean())),
        covered=float(np.mean(held)) if held else None,
    )


def _chances(checks: Iterable[Check]) -> tuple[ChanceRow, ...]:
    known = list(checks)
    out = []
    for low, high in pairwise(CHANCE_EDGES):
        own = [check for check in known if low <= check.forecast < high]
        if own:
            said = float(np.mean([check.forecast for check in own]))
            came = float(np.mean([check.observed for check in own]))
            out.append(ChanceRow(low, min(high, 100.0), len(own), said, came))
    return tuple(out)


def wind_line(checks: Sequence[Check], parameters: LogParameters, system: units.Units) -> str:
    """One line on the last mornings, such as "Wind: last 14 mornings 3 mph too low from the south-west (6 mornings)".

    The sector with the largest mean error is named when it has three mornings; under five mornings nothing is said.
    """
    wind = [(morning_of(check.time), check) for check in checks if check.element == WIND]
    days = sorted({day for day, _ in wind})[-parameters.shown_mornings :]
    recent = mornings_of([check for day, check in wind if day >= days[0]])
    if len(days) < 5:
        return ""
    lead = f"Wind: last {len(days)} mornings"
    by_sector: dict[int, list[float]] = {}
    for morning in recent:
        by_sector.setdefault(morning.sector, []).append(morning.error_mps)
    enough = {sector: errors for sector, errors in by_sector.items() if len(errors) >= 3}
    if enough:
        sector = max(sorted(enough), key=lambda one: abs(float(np.mean(enough[one]))))
        error = float(np.mean(enough[sector]))
        if abs(error) >= SMALL_MPS:
            where = f"from the {units.direction_words(45.0 * sector)} ({len(enough[sector])} mornings)"
            return f"{lead} {_off(error, system)} {where}."
    overall = float(np.mean([morning.error_mps for morning in recent]))
    if abs(overall) >= SMALL_MPS:
        return f"{lead} {_off(overall, system)}, all directions together."
    typical = float(np.mean([abs(morning.error_mps) for morning in recent]))
    return f"{lead} right on average, off by {units.show_wind(typical, system, both=False)} on a usual morning."


def _off(error_mps: float, system: units.Units) -> str:
    return f"{units.show_wind(abs(error_mps), system, both=False)} too {'low' if error_mps > 0 else 'high'}"


def corrected_text(correction: WindCorrection, raw_mps: float, from_deg: float, system: units.Units) -> str:
    """The corrected wind beside the raw one; empty while the correction is not used or changes nothing that shows."""
    if not correction.usable or np.isnan(raw_mps):
        return ""
    expected = correction.expected(raw_mps, from_deg)
    if abs(expected.bias_mps) < SMALL_MPS:
        return ""
    low, high = expected.range80_mps()
    where = "" if np.isnan(from_deg) else f" from the {units.direction_words(from_deg)}"
    return (
        f"Forecast {units.show_wind(raw_mps, system, both=False)}{where}; by the checks at this lake rather "
        f"{units.show_wind(expected.mean_mps, system, both=False)}, on four mornings of five between "
        f"{units.show_wind(low, system, both=False)} and {units.show_wind(high, system, both=False)}."
    )


def water_text(checks: Sequence[Check], system: units.Units, since: datetime | None = None) -> str:
    """How the stated water temperatures did: mean error and how often the range held; empty under five checks."""
    own = [check for check in checks if check.element == WATER and (since is None or check.time >= since)]
    if len(own) < 5:
        return ""
    row = _row(WATER, "", None, own)
    held = "" if row.covered is None else f", and its range held {row.covered:.0%} of {row.checks} readings"
    off = units.show_temperature_difference(row.mean_abs, system, both=False).lstrip("+")
    return f"the last {row.checks} statements were off by {off} on average{held}"
