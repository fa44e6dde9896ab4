"""Seasonal phases of black bass as shares of a population, with dates ahead and field signs that teach them."""

from briefing.core.phase.estimator import run_phase
from briefing.core.phase.forms import form_for
from briefing.core.phase.model import (
    LearnedSeason,
    PhaseCurve,
    PhaseLearned,
    PhaseResult,
    PhaseSite,
    PhaseState,
)
from briefing.core.phase.parameters import PhaseParameters
from briefing.core.phase.shares import STAGES, DateSpan, Driver, PhaseShares

__all__ = [
    "STAGES",
    "DateSpan",
    "Driver",
    "LearnedSeason",
    "PhaseCurve",
    "PhaseLearned",
    "PhaseParameters",
    "PhaseResult",
    "PhaseShares",
    "PhaseSite",
    "PhaseState",
    "form_for",
    "run_phase",
]
