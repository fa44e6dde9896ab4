"""Every kind of morning as a reader meets it: its golden files, the glance with its eight questions, the caps.

``make goldens`` renews the golden files; read the difference before you commit it.
"""

from __future__ import annotations

import difflib
import os
import re
from collections import Counter
from functools import cache
from pathlib import Path

import pytest

from briefing.pipeline.build import Built, build
from briefing.pipeline.demo import demo_inputs
from briefing.pipeline.made import Made, render
from briefing.pipeline.tables import load_tables
from briefing.report.mail import mail_parts
from briefing.report.render import to_html, to_text
from briefing.report.sections import Section
from briefing.sections.glance import LAST, LAST_ASHORE, SUBJECT
from briefing.sections.words import DAY_WORD
from briefing.vocabulary import Level
from tests.mornings import MORNINGS
from tests.reading import sentences, shown, words

pytestmark = [pytest.mark.long, pytest.mark.usefixtures("all_particles")]

GOLDENS = Path(__file__).resolve().parents[2] / "fixtures" / "goldens"

#: Words of a glance without shapes, clock times and the date.
MOST_WORDS = 110
#: Lines and columns of a terminal, less one for its prompt.
LINES, COLUMNS = 23, 80
#: Of the page as it is first seen: words, words of a sentence at most and on average, and the length of a repeat.
PAGE_WORDS, SENTENCE_WORDS, MEAN_WORDS, REPEAT_WORDS = 750, 25, 12, 6
MAIL_WORDS, MAIL_BYTES = 1800, 40_000
TEXT_LINES = 200


@cache
def made(name: str) -> Made:
    """A kind of morning as the program makes it, with all its particles; once for the tests of this file."""
    inputs = MORNINGS[name]()
    return render(build(inputs, load_tables()), inputs.gathered)


def built(name: str) -> Built:
    return made(name).built


# -- golden files ------------------------------------------------------------------------------------------------------


def compare(path: Path, text: str) -> None:
    if os.environ.get("BRIEFING_RENEW_GOLDENS"):
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
        return
    assert path.is_file(), f"no golden file {path.name}; make it with: make goldens"
    old = path.read_text(encoding="utf-8")
    if old != text:
        lines = list(difflib.unified_diff(old.splitlines(), text.splitlines(), "golden", "now", lineterm="", n=1))
        pytest.fail(f"{path.name} changed (renew with: make goldens)\n" + "\n".join(lines[:60]))


@pytest.mark.parametrize("name", MORNINGS)
def test_the_text_is_the_golden_one(name: str) -> None:
    compare(GOLDENS / f"{name.replace(' ', '_')}.txt", made(name).text)


def test_the_page_is_the_golden_one() -> None:
    compare(GOLDENS / "demo.html", made("demo").html)


@pytest.mark.parametrize("name", MORNINGS)
def test_the_text_keeps_to_72_columns(name: str) -> None:
    assert [line for line in made(name).text.splitlines() if len(line) > 72] == []


def test_the_same_inputs_give_the_same_bytes() -> None:
    inputs = demo_inputs()
    again = render(build(inputs, load_tables()), inputs.gathered)
    first = made("demo")
    assert (again.text, again.html, again.json) == (first.text, first.html, first.json)


# -- the glance --------------------------------------------------------------------------------------------------------


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
    on_condition = briefing.plan.on_condition and bool(briefing.plan.rigs)
    assert bool(rods) == (bool(briefing.plan.rods) or on_condition), "what on which rod?"
    if on_condition:
        assert rods[0] == briefing.plan.rigs[0], "in which weight and colour?"
        assert "," in rods[0]
    if briefing.plan.rods:
        first = briefing.plan.rods[0]
        assert first.rig.split(",")[0].lower() in rods[0].lower()
        assert first.colour
        assert first.colour in rods[0], "in which colour?"
    assert lines["Fish"], "what stage?"
    assert lines["New"], "what changed?"
    assert lines["Not known"], "what is not known?"
    ashore = glance.level is Level.STOP and not glance.condition
    assert glance.last == (LAST_ASHORE if ashore else LAST)


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
        assert glance.strip is None or (glance.strip.out is None and not glance.strip.stops)


@pytest.mark.parametrize("name", MORNINGS)
def test_the_strip_has_no_bar_for_what_is_not_known(name: str) -> None:
    briefing = built(name).briefing
    assert briefing.glance.strip is not None
    for row, hour in zip(briefing.hours.rows, briefing.glance.strip.hours, strict=True):
        ashore = bool(briefing.glance.condition) and row.level is not Level.UNKNOWN
        assert hour.level is (Level.STOP if ashore else row.level), "under a condition no hour tells to go out"
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


# -- caps --------------------------------------------------------------------------------------------------------------


@cache
def page(name: str) -> str:
    return shown(to_html(built(name).briefing))


@pytest.mark.parametrize("name", MORNINGS)
def test_the_page_is_short_and_so_are_its_sentences(name: str) -> None:
    assert len(words(page(name))) <= PAGE_WORDS
    lengths = [len(words(one)) for one in sentences(page(name))]
    told = [length for length in lengths if length]
    assert sum(told) / len(told) <= MEAN_WORDS
    assert [one for one in sentences(page(name)) if len(words(one)) > SENTENCE_WORDS] == []


@pytest.mark.parametrize("name", MORNINGS)
def test_no_sentence_stands_twice_on_the_page(name: str) -> None:
    found = Counter(one for one in sentences(page(name)) if len(words(one)) >= REPEAT_WORDS)
    assert [one for one, times in found.items() if times > 1] == []


@pytest.mark.parametrize("name", MORNINGS)
def test_every_rod_has_its_colour_where_there_is_a_place_to_fish(name: str) -> None:
    plan = built(name).briefing.plan
    if any(block.stops for block in plan.blocks):
        assert plan.rods
        assert [rod.rig for rod in plan.rods if not rod.colour] == []


def whole(name: str) -> dict[str, str]:
    """Every word of a morning by form, a line a sentence at least: the page with its folds open, the mail, the text.

    Without the table of the hours and the strip, whose cells are no sentences, and without official texts as issued.
    """
    briefing = built(name).briefing
    numbers = re.compile(r'<table class="hours".*?</table>', re.S)
    text = re.sub(r"\nhour .*?; \? = not known\n", "\n", f"\n{to_text(briefing)}", flags=re.S)
    text = re.sub(r"\n +(?![-\d])(?=\S)", " ", text.split("\nNUMBERS BY HOUR\n")[0])
    for alert in briefing.cautions.official:
        for issued in (alert.description, alert.instruction):
            text = text.replace(re.sub(r"\s+", " ", issued), "") if issued else text
    return {
        "page": shown(numbers.sub("", to_html(briefing)), folded=False),
        "mail": shown(numbers.sub("", mail_parts(briefing, "x").html), folded=False),
        "text": text,
    }


@pytest.mark.parametrize("name", MORNINGS)
def test_nothing_is_told_twice_nor_at_length_in_any_form(name: str) -> None:
    for form, text in whole(name).items():
        found = Counter(one for one in sentences(text) if len(words(one)) >= REPEAT_WORDS)
        assert [one for one, times in found.items() if times > 1] == [], form
        assert [one for one in sentences(text) if len(words(one)) > SENTENCE_WORDS] == [], form


@pytest.mark.parametrize("name", MORNINGS)
def test_the_mail_is_short_and_small(name: str) -> None:
    html = mail_parts(built(name).briefing, "x").html
    assert len(html.encode()) <= MAIL_BYTES
    assert len(words(shown(html, folded=False))) <= MAIL_WORDS


@pytest.mark.parametrize("name", MORNINGS)
def test_the_text_is_short(name: str) -> None:
    briefing = built(name).briefing
    text = to_text(briefing)
    issued = " ".join(
        text for one in briefing.cautions.official for text in (one.headline, one.description, one.instruction)
    )
    as_issued = sum(bool(line.strip()) and line.strip() in re.sub(r"\s+", " ", issued) for line in text.split("\n"))
    assert text.count("\n") - as_issued <= TEXT_LINES


def test_what_is_counted() -> None:
    html = (
        "<main><p>One two 07:15.</p><svg><text>three</text></svg><details><summary>Four</summary><p>five</p></details>"
        '<div class="print-only"><p>six</p></div><figure class="hours-strip"><p>seven</p></figure>'
        '<p><span aria-hidden="true">eight</span> Nine. Ten eleven; twelve.</p><p class="asissued">thirteen</p></main>'
    )
    assert shown(html) == "One two 07:15.\nFour\nNine. Ten eleven; twelve."
    assert words(shown(html)) == ["One", "two", "Four", "Nine.", "Ten", "eleven;", "twelve."]
    assert words(shown(html, folded=False, strip=True))[:5] == ["One", "two", "Four", "five", "seven"]
    assert sentences("Nine. Ten eleven; twelve.\nThirteen") == ["Nine.", "Ten eleven; twelve.", "Thirteen"]


# -- what is told as the same ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", MORNINGS)
def test_a_place_says_the_same_rigs_only_where_they_are(name: str) -> None:
    """Lures, weights, depths and colours of a place told as the same are those of the place told before it."""
    whole = built(name)
    told = [stop for block in whole.briefing.plan.blocks for stop in block.stops]
    rigs = [
        [(c.id, c.weight_oz, c.running_depth_m, [one.id for one in c.colours]) for c in stop.choices]
        for stop in whole.advised.plan.stops
    ]
    lures = [[(c.id, c.weight_oz) for c in stop.choices] for stop in whole.advised.plan.stops]
    assert len(told) == len(rigs)
    for number, stop in enumerate(told):
        if not stop.same_as:
            assert len(stop.choices) == len(rigs[number])
            continue
        before = [n for n in range(number) if rigs[n] == rigs[number]]
        visits = [n for n in range(number) if told[n].spot_id == stop.spot_id and lures[n] == lures[number]]
        assert visits if stop.same_as == "As on the first visit." else before, stop.spot


@pytest.mark.parametrize("name", MORNINGS)
def test_no_glance_has_hours_and_says_that_there_are_none(name: str) -> None:
    glance = made(name).built.briefing.glance
    if glance.hours_text.startswith("Out ") and not glance.condition:
        assert not any("no hours on the water" in line.text for line in glance.lines)


@pytest.mark.parametrize("name", MORNINGS)
def test_the_glance_names_every_rod(name: str) -> None:
    """Rods of the plan with lure, weight and colour: in a line of their own, or in that of the rest."""
    briefing = made(name).built.briefing
    told = " ".join(line.text for line in briefing.glance.lines if line.name.startswith("Rod")).lower()
    assert all(f"{rod.brief}, {rod.colour}".lower() in told for rod in briefing.plan.rods)


def test_hours_that_nobody_planned_have_no_planned_return() -> None:
    """Looked at from first to last light, or by usual hours: no sentence says that somebody planned them."""
    assert "planned return" not in made("nothing planned").text
    assert "planned return" in made("calm").text


def test_the_heat_of_the_strip_is_what_it_feels_like() -> None:
    """Not the air's temperature, which is lower than what decides: no less than the model's own felt heat."""
    whole = made("nothing planned").built
    strip = whole.briefing.glance.strip
    assert strip is not None
    felt_f = {
        one.hour: f.number * 1.8 + 32.0
        for one in whole.hazards.levels
        for f in one.factors
        if f.name == "heat" and f.number is not None
    }
    row = next(row for row in strip.rows if row.name == "heat")
    told = [(hour.hour, float(cell)) for hour, cell in zip(strip.hours, row.cells, strict=True) if cell != "-"]
    assert told
    assert all(number >= felt_f[hour] - 0.01 for hour, number in told)
