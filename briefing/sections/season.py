"""What share of the fish is in which seasonal phase, what comes when, and how sure."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta

from briefing.core.phase.shares import DateSpan, PhaseShares
from briefing.sections.clock import short_date
from briefing.sections.quantity import SectionModel
from briefing.sections.words import FORM_NAME, PHASE_DOING, PHASE_LOOK, PHASE_NAME, in_ten, listed, spelled
from briefing.vocabulary import Phase, SpeciesForm

#: From this share of fish near their nests, or this long before the first, the spring is told in full.
NEAR_SHARE, NEAR = 0.05, timedelta(days=45)
#: Out of the season a date of the nests is told when it is at most so far ahead.
WORTH_A_DATE = timedelta(days=120)
_LONGEST_WORDS = 25  # of a sentence
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
    shares_text: str
    shares: tuple[PhaseShare, ...]
    dates: tuple[SeasonDate, ...]
    pause_text: str
    drivers: tuple[str, ...]
    best_observation: str
    notes: tuple[str, ...]
    refused: str
    curve: tuple[CurvePoint, ...]


def fill_season(shares: PhaseShares, *, curve: bool = False) -> SeasonSection:
    """Put the estimator's answer into words; a refusal keeps its reason and shows no numbers.

    ``curve``: with the shares over the whole season, which a page has no room for.
    """
    name = FORM_NAME[shares.form]
    if shares.refused:
        return SeasonSection(
            form=shares.form, form_name=name, headline=shares.refused, shares_text="", shares=(), dates=(),
            pause_text="", drivers=(), best_observation=shares.best_observation, notes=shares.notes,
            refused=shares.refused, curve=(),
        )  # fmt: skip
    rows = _share_rows(shares)
    today = shares.start + timedelta(days=shares.today_index)
    spring = spring_matters(shares)
    return SeasonSection(
        form=shares.form,
        form_name=name,
        headline=_headline(rows) if spring else f"{_headline(rows)} {_elsewhere(rows)}".strip(),
        shares_text=_shares_text(rows) if spring else "",
        shares=rows,
        dates=_dates(shares, today) if spring else _far_date(shares, today),
        pause_text=_pause(shares.pause_chance) if spring else "",
        drivers=tuple(d.text for d in sorted(shares.drivers, key=lambda d: -d.strength)[:3]) if spring else (),
        best_observation=shares.best_observation,
        notes=shares.notes,
        refused="",
        curve=_curve(shares) if curve else (),
    )


def fill_seasons(found: Iterable[PhaseShares]) -> tuple[SeasonSection, ...]:
    """All forms of a lake, the first in full: what is said of it is not said again of the others."""
    out: list[SeasonSection] = []
    for shares in found:
        section = fill_season(shares)
        if out:
            said = {note for one in out for note in one.notes}
            notes = tuple(note for note in section.notes if note not in said)
            section = section.model_copy(update={"notes": notes})
            if section.refused and section.refused in (one.refused for one in out):
                section = section.model_copy(update={"headline": "Not known here either."})
            if not section.refused and not spring_matters(shares):
                section = section.model_copy(update={"headline": _headline(section.shares), "dates": ()})
            if not section.refused and out[0].headline.startswith(section.headline):
                section = section.model_copy(update={"headline": f"As the {out[0].form_name}."})
            drivers = {driver for one in out for driver in one.drivers}
            kept = tuple(driver for driver in section.drivers if driver not in drivers)
            pause = "" if any(one.pause_text == section.pause_text for one in out) else section.pause_text
            section = section.model_copy(update={"drivers": kept, "pause_text": pause})
        out.append(section)
    return tuple(out)


def spring_matters(shares: PhaseShares) -> bool:
    """Tell whether fish are at or near their nests, or will be within weeks: only then dates and drivers are of use."""
    shown = shares.shown()
    near = sum(shown[phase][0] for phase in (Phase.LATE_PRESPAWN, Phase.SPAWN, Phase.POSTSPAWN))
    today = shares.start + timedelta(days=shares.today_index)
    first = next((span.p50 for span in shares.dates if span.name == "nest_start"), None)
    return near >= NEAR_SHARE or (first is not None and timedelta(0) <= first - today <= NEAR)


def _elsewhere(rows: tuple[PhaseShare, ...]) -> str:
    return PHASE_LOOK.get(max(rows, key=lambda row: row.share).phase, "")


def _shares_text(rows: tuple[PhaseShare, ...]) -> str:
    told = (f"{row.words[:1].upper()}{row.words[1:]}." for row in rows if row.seen)
    return " ".join(("Shares (8 chances in 10).", *told))


def _dates(shares: PhaseShares, today: date) -> tuple[SeasonDate, ...]:
    """Dates that are not behind us yet, with their whole span."""
    return tuple(_date_row(one) for one in shares.dates if one.p90 is None or one.p90 >= today)


def _far_date(shares: PhaseShares, today: date) -> tuple[SeasonDate, ...]:
    """Out of the season one date with its year, where it is near enough to plan for."""
    half = next((one for one in shares.dates if one.name == "nest_middle"), None)
    if half is None or half.p50 is None or not timedelta(0) <= half.p50 - today <= WORTH_A_DATE:
        return ()
    row = _date_row(half, far=True)
    return (row,)


def _share_rows(shares: PhaseShares) -> tuple[PhaseShare, ...]:
    shown = shares.shown()
    return tuple(
        PhaseShare(
            phase=phase,
            name=PHASE_NAME[phase],
            share=round(mean, 3),
            low=round(low, 3),
            high=round(high, 3),
            words=f"{PHASE_NAME[phase]} {mean:.0%}" + (f" ({low:.0%} to {high:.0%})" if high - low >= 0.02 else ""),
            seen=mean >= 0.02 or high >= 0.05,
        )
        for phase, (mean, low, high) in shown.items()
    )


def _headline(rows: tuple[PhaseShare, ...]) -> str:
    top = sorted((row for row in rows if row.share >= 0.1), key=lambda row: -row.share)[:3]
    parts = [f"{spelled(in_ten(row.share))} {PHASE_DOING[row.phase]}" for row in top]
    texts = [listed(parts)] if len(listed(parts).split()) <= _LONGEST_WORDS else [listed(parts[:2]), *parts[2:]]
    return " ".join(f"{text[:1].upper()}{text[1:]}." for text in texts)


def _date_row(span: DateSpan, *, far: bool = False) -> SeasonDate:
    name = DATE_NAME.get(span.name, span.name)
    if span.p50 is None:
        text = f"{name}: not reached this season"
    elif span.p10 is None or span.p90 is None:
        text = f"{name}: about {short_date(span.p50)}"
    else:
        lead = "spawning is far off: half of the nests are made by" if far else f"{name}:"
        text = f"{lead} about {short_date(span.p50)} ({short_date(span.p10)} to {short_date(span.p90)})"
    return SeasonDate(name=span.name, p10=span.p10, p50=span.p50, p90=span.p90, text=text)


def _pause(chance: float | None) -> str:
    if chance is None or chance < 0.03:
        return ""
    return f"Chance that cold pauses the spawning in the next five days: {chance:.0%}."


def _curve(shares: PhaseShares) -> tuple[CurvePoint, ...]:
    # a point every third day is enough for a chart and keeps the file small
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
