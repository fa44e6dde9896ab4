"""How far a briefing can be trusted: how sure, what is not known, sources, what changed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from briefing import units
from briefing.core.advice.measures import localised
from briefing.core.freshness import is_stale
from briefing.core.gathered import Problem
from briefing.core.log.skill import water_text
from briefing.core.phase.model import PhaseResult
from briefing.core.water.engine import WaterResult
from briefing.core.water.observe import FLOWING_KINDS
from briefing.core.water.series import ReadingUse
from briefing.core.wind.alerts import ResolvedAlerts
from briefing.core.wind.level import HourLevel
from briefing.pipeline.experience import wind_checked
from briefing.pipeline.hazard import alerts_stale
from briefing.pipeline.inputs import Knowledge, MorningInputs
from briefing.pipeline.mapping import below_dam
from briefing.pipeline.parts import clarity_of
from briefing.pipeline.say_hazards import agreeing_text, disputed_text, measured_otherwise, measured_stronger_or_weaker
from briefing.pipeline.times import issued_at
from briefing.sections.country import read_again
from briefing.sections.day import unread
from briefing.sections.season import spring_matters
from briefing.sections.sources import SourcesSection, fill_sources
from briefing.sections.sureness import Sureness, SurenessSection, season_sureness, water_sureness, wind_sureness
from briefing.sections.unknown import Missing, UnknownSection, fill_unknown
from briefing.sections.words import FACTOR_PLURAL, FACTOR_WORD, listed, lower_first
from briefing.vocabulary import LakeKind, Level, SpeciesForm

#: Sources that say what they refuse, not what is missing in the table for it.
_PARTLY = frozenset({"wind_now", "ndbc", "open_meteo", "nws_grid"})
#: Problems of safety inputs told at the top of the page; further ones are counted.
_MOST_TOLD = 6
#: Days for which a reading that looks wrong is told there.
_DOUBTED_DAYS = 7
#: Words of what is not known, where they are not those of the factor.
_LOST_WORD = {**FACTOR_PLURAL, "data_age": "a newer forecast"}
_RULES = {"closed_season": "seasons", "lead": "lead", "hooks": "hooks"}


def sureness_of(
    inputs: MorningInputs,
    shown: Sequence[HourLevel],
    water: WaterResult,
    phases: Mapping[SpeciesForm, PhaseResult],
) -> SurenessSection:
    """How sure each part is, because of what."""
    system = inputs.reader.units
    issued = issued_at(inputs)
    age = None if issued is None else (inputs.now - issued).total_seconds() / 3600.0
    wind = ("sustained_wind", "gust", "waves", "data_age")
    unknown = sum(any(f.name in wind and f.level is Level.UNKNOWN for f in one.factors) for one in shown)
    other = measured_otherwise(inputs)
    beside = agreeing_text(inputs)
    if other is not None:
        beside = f"; the {other.name} has it from {other.seen}, the forecast from {other.forecast}"
    parts: list[Sureness] = [
        wind_sureness(
            age,
            unknown,
            len(shown),
            f"{wind_checked(inputs)}{beside}",
            "whitecaps or a steady push on the craft earlier than the table says"
            + ("" if other is None else ", and the wind at the ramp from another side than forecast"),
            doubted=other is not None or measured_stronger_or_weaker(inputs),
        )
    ]
    series = water.series
    low, high = (float(side[series.today_index]) for side in series.range80_c())
    text = units.show_temperature_range(low, high, system, both=False)
    checked = water_text(inputs.kept.checks, system)
    parts.append(water_sureness((high - low) / 2.0, series.days_since_reading, text, checked))
    for result in phases.values():
        if result.shares.refused:
            continue
        spread = max(high - low for _, low, high in result.shares.shown().values())
        look = result.shares.best_observation.rstrip(".") if spring_matters(result.shares) else ""
        parts.append(season_sureness(spread, lower_first(look)))
        break
    return SurenessSection(parts=tuple(parts))


def doubts_of(problems: Sequence[Problem], system: units.Units) -> tuple[str, ...]:
    """What of the safety inputs was refused or is missing, a line each, for the top of the page.

    What several of them mean is told with the first. Official warnings have their own first line under the cautions.
    """
    lines, meanings = [], set[str]()
    for missing, meaning in dict.fromkeys((p.missing, p.meaning) for p in problems if _at_the_top(p)):
        lines.append(localised(missing if meaning in meanings else f"{missing} {meaning}", system))
        meanings.add(meaning)
    if len(lines) <= _MOST_TOLD:
        return tuple(lines)
    more = len(lines) - _MOST_TOLD
    return (*lines[:_MOST_TOLD], f"And {more} more under 'Not known this morning'.")


def water_doubts(uses: Sequence[ReadingUse], day: date, system: units.Units) -> tuple[str, ...]:
    """A line for the top of the page where a gauge or buoy of the last days can't be squared with the water model.

    How cold the water is decides limits and clothes, and one of the two is wrong.
    """
    newest = {one.name: one for one in uses if one.source != "user" and one.day is not None}
    return tuple(
        f"Water temperature in doubt: {name} reads {_apart(one, system)} the water model. Dress for the colder."
        for name, one in newest.items()
        if one.looks_wrong and one.day is not None and (day - one.day).days <= _DOUBTED_DAYS
    )[:1]


def _apart(use: ReadingUse, system: units.Units) -> str:
    gap = use.corrected_c - use.predicted_c
    off = units.show_temperature_difference(abs(gap), system, both=False).replace("+", "")
    return f"{off} {'above' if gap > 0 else 'below'}"


def _at_the_top(problem: Problem) -> bool:
    return problem.serious and problem.source != "nws_alerts"


def _told_at_the_top(problems: Sequence[Problem]) -> list[Problem]:
    """Those that ``doubts_of`` tells in full."""
    shown = list(dict.fromkeys((p.missing, p.meaning) for p in problems if _at_the_top(p)))[:_MOST_TOLD]
    return [p for p in problems if _at_the_top(p) and (p.missing, p.meaning) in shown]


def unknown_of(
    inputs: MorningInputs,
    knowledge: Knowledge,
    alerts: ResolvedAlerts,
    shown: Sequence[HourLevel],
    *,
    keeps_off_tailwater: bool = False,
) -> UnknownSection:
    """What is not known this morning; keeps_off_tailwater: the plan goes to no place below a dam."""
    profile = inputs.profile
    extra = _unknown_factors(inputs, shown)
    feed = inputs.gathered.alerts
    stands_in = alerts.entered and not (alerts.problem or alerts.damaged or alerts_stale(alerts, knowledge, inputs.now))
    if stands_in:  # read and typed by the user: then they are known
        pass
    elif feed.problem:
        extra.append(
            Missing.of(
                "official warnings",
                f"Official warnings: {feed.problem.rstrip('.')}.",
                "No hour can be within your limits without them.",
                serious=True,
            )
        )
    elif not feed.service_exists:
        extra.append(
            Missing.of(
                "official warnings",
                "Official warnings: no service is read here.",
                f"Read them {read_again(inputs.reader.country)} before you launch.",
                serious=True,
            )
        )
    elif alerts.damaged or alerts_stale(alerts, knowledge, inputs.now):
        why = "some could not be understood" if alerts.damaged else "they were read too long ago"
        told = "No hour can be within your limits without them."
        extra.append(Missing.of("official warnings", f"Official warnings: {why}.", told, serious=True))
    if not inputs.gathered.thunder_service_exists:
        extra.append(
            Missing.of(
                "thunder",
                "Thunder: no service forecasts it here.",
                "Instability and weather words stand in; watch the sky.",
                serious=True,
            )
        )
    if profile.kind is LakeKind.TIDAL_RIVER:
        what = "Tide: no source is read here."
        told = "Look its times up: it moves depth, current and fish by the hour, and mud can cut off the way home."
        extra.append(Missing.of("the tide", what, told, serious=True))
    if places := below_dam(profile):
        what = f"Releases of the dam above {listed(places)}:"
        told = "ask its operator before you go there."
        extra.append(Missing.of("dam releases", what, told, serious=not keeps_off_tailwater))
    if all(wind.wind_mps is None for wind in inputs.gathered.wind_now) and not any(
        not is_stale("wind_seen", wind.time, inputs.now, knowledge.stale) for wind in inputs.entered.winds
    ):
        what = "Wind now: no station and nobody has reported it."
        extra.append(Missing.of("the wind now", what, "The table is forecast alone.", serious=False))
    disputed = disputed_text(inputs)
    if disputed:
        told = "Which of the two is right can't be told from here: keep to the stronger."
        extra.append(Missing.of("whether measured or forecast wind is right", disputed, told, serious=True))
    aside, in_lake = _gauges(inputs)
    extra += aside
    if not inputs.entered.water and not in_lake:
        extra.append(
            Missing.of(
                "a measured water temperature",
                "Water temperature: never measured here.",
                "One reading narrows the model most.",
                serious=False,
                shortest="measured water",
            )
        )
    if clarity_of(inputs, knowledge).seen_at is None:
        what = "Visibility and colour: not seen lately."
        told = "Colours and weights stand on the lake's usual."
        extra.append(Missing.of("water clarity", what, told, serious=False, shortest="clarity"))
    noted = {rule.kind for rule in profile.rules}
    missing = [word for kind, word in _RULES.items() if kind not in noted]
    if missing:
        what = listed(missing, "or")
        told = "look them up before you fish."
        extra.append(
            Missing.of(
                "local rules" if len(missing) == len(_RULES) else f"local rules on {what}",
                f"Local rules on {what} are not entered in the profile:",
                told,
                serious=False,
                shortest="local rules",
            )
        )
    problems = [one for one in inputs.gathered.problems if not (stands_in and one.source == "nws_alerts")]
    for event in _unjudged(alerts, shown):
        extra.insert(
            0, Missing.of(f"what the {event} asks for", f"{event}: it could not be judged.", "Read it.", serious=True)
        )
    above = _told_at_the_top(problems)
    return fill_unknown(problems, inputs.profile.guessed, extra, system=inputs.reader.units, told=above)


def _unjudged(alerts: ResolvedAlerts, shown: Sequence[HourLevel]) -> list[str]:
    """Official messages by name that make hours not known."""
    refs = {f.ref for one in shown for f in one.factors if f.name == "alerts" and f.level is Level.UNKNOWN and f.ref}
    return list(dict.fromkeys(active.alert.event for active in alerts.active if active.alert.id in refs))


def _gauges(inputs: MorningInputs) -> tuple[list[Missing], bool]:
    """Gauges not counted since they don't stand in the lake, with their newest value; and if others are there."""
    if inputs.profile.stations.allow_river_gauge:
        return [], bool(inputs.gathered.water)
    newest = {one.witness: one for one in inputs.gathered.water if one.kind in FLOWING_KINDS}
    means = "The water temperature here does not rest on it; allow_river_gauge in the profile lets it count for less."
    shown = {
        one.name: units.show_temperature(one.temperature_c, inputs.reader.units, both=False) for one in newest.values()
    }
    aside = [
        Missing.of("the gauge", f"{name}: {value}, perhaps not this lake's water.", means, serious=False)
        for name, value in shown.items()
    ]
    return aside, any(one.kind not in FLOWING_KINDS for one in inputs.gathered.water)


def _unknown_factors(inputs: MorningInputs, shown: Sequence[HourLevel]) -> list[Missing]:
    """Factors that can't be judged in hours of the table, unless a service's problem names them already."""
    serious = [problem for problem in inputs.gathered.problems if problem.serious and problem.source not in _PARTLY]
    launch, back = inputs.outing.launch, inputs.outing.back
    out_hours = [one for one in shown if one.hour + timedelta(hours=1) > launch and one.hour < back]
    said = " ".join(problem.short.lower() for problem in serious)
    out: list[Missing] = []
    lost_by: dict[int, list[str]] = {}
    for name, word in FACTOR_WORD.items():
        found = [f for one in shown for f in one.factors if f.name == name and not f.standing]
        lost = [f for f in found if f.level is Level.UNKNOWN or unread(f)]
        lost = [f for f in lost if name != "data_age" or f.number is not None]  # no wind at all has no age
        if not any(f in lost for one in out_hours for f in one.factors):  # it is known as long as one is out
            lost = []
        guessed = [
            f for f in found if f.estimated and f.level is not Level.WITHIN_LIMITS and name in ("gust", "thunder")
        ]
        if name == "alerts" or word in said:
            continue
        if lost:
            lost_by.setdefault(len(lost), []).append(_LOST_WORD.get(name, word))
        elif guessed:
            what = f"{word[:1].upper()}{word[1:]}: only estimated in {len(guessed)} of {len(shown)} hours of the table."
            out.append(Missing.of(f"{word} (estimated)", what, "Those hours count as caution at least.", serious=True))
    for hours, words in reversed(lost_by.items()):
        text = listed(words)
        what = f"{text[:1].upper()}{text[1:]}: not known in {hours} of {len(shown)} hours of the table."
        out.insert(0, Missing.of(text, what, "Why stands among the cautions.", serious=True))
    return out


def sources_of(
    inputs: MorningInputs, knowledge: Knowledge, shown: Sequence[HourLevel], alerts: ResolvedAlerts
) -> SourcesSection:
    """Sources, next check and how long the briefing may be used."""
    zone = inputs.profile.zone
    begin = min((one.hour for one in shown), default=inputs.outing.launch)
    end = max((one.hour for one in shown), default=inputs.outing.back) + timedelta(hours=1)
    valid_until = min(inputs.outing.back + timedelta(hours=1), inputs.now + knowledge.stale.after["forecast"])
    return fill_sources(
        inputs.gathered,
        begin,
        end,
        credits=inputs.gathered.credits,
        next_check=_next_check(inputs, knowledge, alerts),
        valid_until=max(valid_until, inputs.now),
        zone=zone,
        day=inputs.day,
        now=inputs.now,
        system=inputs.reader.units,
    )


def _next_check(inputs: MorningInputs, knowledge: Knowledge, alerts: ResolvedAlerts) -> str:
    unread = inputs.gathered.alerts.problem and not alerts.entered
    if alerts.checked_at is None or unread:
        return "Official warnings have not been read: read them before you launch."
    if alerts.damaged or alerts_stale(alerts, knowledge, inputs.now):
        return "Official warnings are not all known: read them before you launch."
    return f"Read them again just before you launch, {read_again(inputs.reader.country)}."
