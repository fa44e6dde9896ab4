"""The glance of every kind of morning: eight questions answered in few words, on one screen, the decision first."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from functools import cache

import numpy as np
import pytest

from briefing.pipeline.build import Built, build
from briefing.pipeline.demo import demo_inputs
from briefing.pipeline.inputs import MorningInputs
from briefing.pipeline.tables import load_tables
from briefing.report.mail import mail_parts
from briefing.report.render import to_text
from briefing.report.sections import Section
from briefing.sections.glance import LAST, SUBJECT
from briefing.sections.words import DAY_WORD
from briefing.vocabulary import Level
from tests import scenarios
from tests.scenarios import SCENARIOS, inputs_of

pytestmark = pytest.mark.usefixtures("remembered")

#: Words of a glance without shapes, clock times and the date.
MOST_WORDS = 110
#: Lines and columns of a terminal, less one for its prompt.
LINES, COLUMNS = 23, 80


def morning(name: str) -> MorningInputs:
    return inputs_of(SCENARIOS[name])


def without_hours(inputs: MorningInputs) -> MorningInputs:
    gathered = inputs.gathered
    empty = {
        name: replace(one, values=np.full(gathered.hours.hours, np.nan)) for name, one in gathered.hours.fields.items()
    }
    return replace(
        inputs,
        gathered=replace(
            gathered,
            hours=replace(gathered.hours, fields=empty),
            alerts=replace(gathered.alerts, alerts=(), problem="no answer", checked_at=None),
            wind_now=(),
            water=(),
        ),
    )


def of_age(inputs: MorningInputs, hours: float) -> MorningInputs:
    gathered, back = inputs.gathered, timedelta(hours=hours)
    fields = {
        name: replace(
            one,
            origins=tuple(
                replace(origin, issued=origin.issued and origin.issued - back, retrieved=origin.retrieved - back)
                for origin in one.origins
            ),
        )
        for name, one in gathered.hours.fields.items()
    }
    return replace(inputs, gathered=replace(gathered, hours=replace(gathered.hours, fields=fields)))


def with_profile(name: str, **update: object) -> MorningInputs:
    inputs = morning(name)
    return replace(inputs, profile=inputs.profile.model_copy(update=update))


def metric() -> MorningInputs:
    inputs = morning("lowland_autumn_after_the_front")
    return replace(
        inputs,
        profile=inputs.profile.model_copy(update={"units": "metric"}),
        reader=replace(inputs.reader, units="metric"),
    )


MORNINGS: dict[str, Callable[[], MorningInputs]] = {
    "demo": demo_inputs,
    **{name: (lambda name=name: morning(name)) for name in SCENARIOS},
    "everything missing": lambda: without_hours(morning("south_early_spring_front_coming")),
    "stale": lambda: of_age(morning("north_summer_calm"), 60.0),
    "no spots": lambda: with_profile("south_early_spring_front_coming", spots=()),
    "one rod": lambda: with_profile(
        "south_early_spring_front_coming", rods=morning("south_early_spring_front_coming").profile.rods[:1]
    ),
    "metric": metric,
}


@cache
def built(name: str) -> Built:
    known = name == "demo" or name in SCENARIOS
    return scenarios.built(name) if known else build(MORNINGS[name](), load_tables())


def words(text: str) -> list[str]:
    """Words as they count against the cap: no shapes, no clock times, no date."""
    text = re.sub(r"\b[A-Z][a-z]{2} \d{1,2} [A-Z][a-z]{2}\b", "", text)
    found = [word for word in text.split() if re.search(r"\w", word)]
    return [word for word in found if not re.fullmatch(r"\d\d:\d\d[.,;:]?", word)]


@pytest.mark.parametrize("name", MORNINGS)
def test_the_eight_questions_are_answered(name: str) -> None:
    briefing = built(name).briefing
    glance = briefing.glance
    lines = {line.name: line.text for line in glance.lines}
    assert glance.word == DAY_WORD[glance.level], "fit to launch?"
    if glance.level in (Level.WITHIN_LIMITS, Level.CAUTION):
        assert re.search(r"Out \d\d:\d\d\. Off the water by \d\d:\d\d\.", glance.hours_text), "until when?"
    assert glance.why, "why?"
    assert lines["First"], "where first?"
    rods = [text for label, text in lines.items() if label.startswith("Rod ")]
    assert bool(rods) == bool(briefing.plan.rods), "what on which rod?"
    if briefing.plan.rods:
        first = briefing.plan.rods[0]
        assert first.rig.split(",")[0].lower() in rods[0].lower()
        assert first.colour
        assert first.colour in rods[0], "in which colour?"
    assert lines["Fish"], "what stage?"
    assert lines["New"], "what changed?"
    assert lines["Not known"], "what is not known?"
    assert glance.last == LAST


@pytest.mark.parametrize("name", MORNINGS)
def test_it_is_short_in_words_lines_and_subject(name: str) -> None:
    briefing = built(name).briefing
    glance = briefing.glance
    told = [glance.place, glance.word, *glance.level_lines(), *(f"{one.name} {one.text}" for one in glance.lines)]
    assert len(words(" ".join([*told, glance.last]))) <= MOST_WORDS
    text = to_text(briefing, (Section.GLANCE,)).rstrip("\n").split("\n")
    assert len(text) <= LINES
    assert max(len(line) for line in text) <= COLUMNS
    assert len(glance.subject) <= SUBJECT
    assert mail_parts(briefing, "x").subject == glance.subject
    lead = {Level.STOP: "Stay ashore", Level.UNKNOWN: "Not known"}.get(glance.level, "Off by ")
    assert glance.subject.startswith(lead)


@pytest.mark.parametrize("name", MORNINGS)
def test_what_tells_to_stay_ashore_never_reads_as_with_care(name: str) -> None:
    glance = built(name).briefing.glance
    if glance.level in (Level.STOP, Level.UNKNOWN):
        assert "within" not in glance.word.lower()
        assert not glance.hours_text.startswith("Out ")
        if not glance.condition:
            assert glance.strip is None or glance.strip.out is None


@pytest.mark.parametrize("name", MORNINGS)
def test_the_strip_has_no_bar_for_what_is_not_known(name: str) -> None:
    briefing = built(name).briefing
    assert briefing.glance.strip is not None
    for row, hour in zip(briefing.hours.rows, briefing.glance.strip.hours, strict=True):
        assert hour.level is row.level
        if row.gust_mps is None or row.wind_mps is None:
            assert hour.share is None or hour.share >= 1.0
        elif row.level is Level.WITHIN_LIMITS:
            assert hour.share is not None
            assert hour.share < 1.0


def test_kinds_of_mornings_come_out_as_they_are() -> None:
    levels = {name: built(name).briefing.glance.level for name in MORNINGS}
    assert levels["demo"] is Level.CAUTION
    assert levels["highland_winter_cold_water"] is Level.STOP
    assert levels["everything missing"] is Level.UNKNOWN
    assert levels["stale"] is Level.UNKNOWN
    assert levels["south_autumn_fixed_launch_over_limits"] is Level.STOP
    assert (
        "official warnings"
        in {one.name: one.text for one in built("everything missing").briefing.glance.lines}["Not known"]
    )
    assert "closed season" in built("north_spring_alerts_unreadable").briefing.glance.lines[0].text


def test_metric_readers_get_tenths_of_a_metre_a_second() -> None:
    strip = built("metric").briefing.glance.strip
    assert strip is not None
    assert strip.unit == "m/s"
    assert all(re.fullmatch(r"\d+\.\de?", hour.wind_text) for hour in strip.hours)
    assert not [
        line
        for line in built("metric").briefing.glance.lines
        if "mph" in line.text or " oz" in line.text.replace(" g)", "")[:0]
    ]
