"""Seasonal phases of black bass as shares of a population, with dates ahead and field signs that teach them."""

from briefing.core.phase.estimator import level_changes_from, run_phase
from briefing.core.phase.forms import form_for
from briefing.core.phase.memory import pack, unpack
from briefing.core.phase.model import (
    LearnedSeason,
    PhaseCurve,
    PhaseLearned,
    PhaseResult,
    PhaseSite,
    PhaseState,
    PhaseTiming,
)
from briefing.core.phase.parameters import PhaseParameters
from briefing.core.phase.shares import STAGES, DateSpan, Driver, PhaseShares
from briefing.core.phase.words import MOON_AND_PRESSURE, share_words

__all__ = [
    "MOON_AND_PRESSURE",
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
    "PhaseTiming",
    "form_for",
    "level_changes_from",
    "pack",
    "run_phase",
    "share_words",
    "unpack",
]
