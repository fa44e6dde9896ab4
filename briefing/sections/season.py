"""What share of the fish is in which seasonal phase, what comes when, and how sure."""

from __future__ import annotations

from datetime import date

from briefing.core.phase.shares import DateSpan, PhaseShares
from briefing.sections.clock import short_date
from briefing.sections.quantity import SectionModel
from briefing.sections.words import FORM_NAME, PHASE_DOING, PHASE_NAME, in_ten, listed
from briefing.vocabulary import Phase, SpeciesForm

DATE_NAME = {
    "nest_start": "first nests (1 fish in 20)",
    "nest_middle": "half of the nests made",
    "nest_end": "last nests (19 in 20 made)",
}


class PhaseShare(SectionModel):
    """Share of the fish in a phase today, 0..1, with its 80 % range; not ``seen`` when hardly any fish are in it."""

    phase: Phase
    name: str
    share: float
    low: float
    high: float
    words: str
    seen: bool


class SeasonDate(SectionModel):
    """A date ahead with its 80 % span; ``text`` says it."""

    name: str
    p10: date | None
    p50: date | None
    p90: date | None
    text: str


class CurvePoint(SectionModel):
    """Mean shares by phase on one day of the season's curve."""

    day: date
    shares: dict[Phase, float]


class SeasonSection(SectionModel):
    """Seasonal phase of one species form."""

    form: SpeciesForm
    form_name: str
    headline: str
    shares: tuple[PhaseShare, ...]
    dates: tuple[SeasonDate, ...]
    pause_text: str
    drivers: tuple[str, ...]
    best_observation: str
    notes: tuple[str, ...]
    refused: str
    curve: tuple[CurvePoint, ...]


def fill_season(shares: PhaseShares) -> SeasonSection:
    """Put the estimator's answer into words; a refusal keeps its reason and shows no numbers."""
    name = FORM_NAME[shares.form]
    if shares.refused:
        return SeasonSection(
            form=shares.form, form_name=name, headline=shares.refused, shares=(), dates=(), pause_text="", drivers=(),
            best_observation=shares.best_observation, notes=shares.notes, refused=shares.refused, curve=(),
        )  # fmt: skip
    rows = _share_rows(shares)
    return SeasonSection(
        form=shares.form,
        form_name=name,
        headline=_headline(rows),
        shares=rows,
        dates=tuple(_date_row(span) for span in shares.dates),
        pause_text=_pause(shares.pause_chance),
        drivers=tuple(d.text for d in sorted(shares.drivers, key=lambda d: -d.strength)[:3]),
        best_observation=shares.best_observation,
        notes=shares.notes,
        refused="",
        curve=_curve(shares),
    )


def _share_rows(shares: PhaseShares) -> tuple[PhaseShare, ...]:
    shown = shares.shown()
    return tuple(
        PhaseShare(
            phase=phase,
            name=PHASE_NAME[phase],
            share=round(mean, 3),
            low=round(low, 3),
            high=round(high, 3),
            words=f"{PHASE_NAME[phase]} {mean:.0%} ({low:.0%} to {high:.0%})",
            seen=mean >= 0.02 or high >= 0.05,
        )
        for phase, (mean, low, high) in shown.items()
    )


def _headline(rows: tuple[PhaseShare, ...]) -> str:
    top = sorted((row for row in rows if row.share >= 0.1), key=lambda row: -row.share)[:3]
    text = listed([f"{in_ten(row.share)} {PHASE_DOING[row.phase]}" for row in top])
    return text[:1].upper() + text[1:] + "."


def _date_row(span: DateSpan) -> SeasonDate:
    name = DATE_NAME.get(span.name, span.name)
    if span.p50 is None:
        text = f"{name}: not reached this season"
    elif span.p10 is None or span.p90 is None:
        text = f"{name}: about {short_date(span.p50)}"
    else:
        text = (
            f"{name}: about {short_date(span.p50)} ({short_date(span.p10)} to {short_date(span.p90)}, 8 chances in 10)"
        )
    return SeasonDate(name=span.name, p10=span.p10, p50=span.p50, p90=span.p90, text=text)


def _pause(chance: float | None) -> str:
    if chance is None or chance < 0.03:
        return ""
    return f"Chance that cold pauses the spawning in the next five days: {chance:.0%}."


def _curve(shares: PhaseShares) -> tuple[CurvePoint, ...]:
    # a point every third day is enough for a chart and keeps the file small
    from datetime import timedelta

    points = []
    for index in range(0, shares.fractions.shape[1], 3):
        shown = shares.shown(index)
        points.append(
            CurvePoint(
                day=shares.start + timedelta(days=index),
                shares={phase: round(mean, 3) for phase, (mean, _, _) in shown.items()},
            )
        )
    return tuple(points)
