"""The seasonal phase estimator: population fractions, dates ahead, field signs that teach it."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import date

from briefing.core.climate.normals import AirNormals
from briefing.core.phase.model import PhaseLearned, PhaseResult, PhaseSite, PhaseState
from briefing.core.phase.parameters import PhaseParameters
from briefing.core.readings import Sign
from briefing.core.water.series import WaterSeries
from briefing.vocabulary import SpeciesForm


def run_phase(
    site: PhaseSite,
    water: WaterSeries,
    form: SpeciesForm,
    signs: Sequence[Sign],
    parameters: PhaseParameters,
    *,
    today: date,
    normals: AirNormals | None,
    learned: PhaseLearned | None = None,
    level_changes: Mapping[date, float] | None = None,
    storm_days: Collection[date] = (),
    seed: int = 0,
    particles: int = 1000,
    state: PhaseState | None = None,
) -> PhaseResult:
    """Estimate today's shares by phase, the dates of the nests, and what moved them.

    level_changes maps a date to the change of the water level over the three days up to it, in m (see
    ``level_changes_from``). storm_days are days of strong onshore wind. normals carry the season beyond the forecast.
    """
    raise NotImplementedError
