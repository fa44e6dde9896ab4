"""Text, HTML and JSON of a briefing. Same briefing, same bytes."""

from __future__ import annotations

import contextlib
import os
import textwrap
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from functools import lru_cache

from jinja2 import Environment, FileSystemBytecodeCache, FileSystemLoader, StrictUndefined
from jinja2.bccache import Bucket
from markupsafe import Markup

from briefing import resources
from briefing.controls import escaped_controls, without_controls
from briefing.core.advice.measures import in_text
from briefing.report import charts, length
from briefing.report.lake_map import lake_map
from briefing.report.sections import Section
from briefing.report.strip import hours_a_number, strip_lines, strip_svg
from briefing.report.svg import Plot
from briefing.sections.briefing import Briefing
from briefing.sections.clock import age_text
from briefing.sections.lake_map import MapSection
from briefing.sections.plan import ChoiceText, PlanSection, StopText
from briefing.sections.quantity import Quantity
from briefing.sections.words import LEVEL_MARK, LEVEL_SHAPE, lower_first, upper_first
from briefing.vocabulary import Level

TEXT_COLUMNS = 72
#: Visits of an outing that are told in full where there are so many, and of one with more.
_ALL_IN_FULL, _FIRST_IN_FULL, _VERY_LONG = 6, 3, 8


def to_text(briefing: Briefing, sections: Collection[Section] = tuple(Section), *, mail: bool = False) -> str:
    """Return the briefing, or some of its sections, as plain text of at most 72 columns.

    ``mail``: with the level line first, which a list of mails shows; the place stands below the glance.
    """
    wanted = {section.value for section in sections}
    issued = sum(line.count("\n") + len(line) // TEXT_COLUMNS for line in _issued(briefing))
    template = _environment().get_template("briefing.txt.j2")

    def told(brief: int) -> str:
        text = template.render(b=briefing, wanted=wanted, mail=mail, brief=brief)
        return _squeeze([line.rstrip() for line in text.splitlines()]) + "\n"

    first = length.first_degree(*_much(briefing)) // 2  # lines run out later than words
    return _short_enough(told, lambda text: text.count("\n") - issued <= length.TEXT_LINES, first)


def _much(briefing: Briefing) -> tuple[int, int]:
    """How many visits and forms of bass there are to tell of."""
    return sum(len(block.stops) for block in briefing.plan.blocks), len(briefing.season)


def _short_enough(told: Callable[[int], str], holds: Callable[[str], bool], first: int) -> str:
    """The first form from a degree of brevity on that holds its length; the briefest where none does."""
    text = ""
    for brief in length.DEGREES[first:]:
        text = told(brief)
        if holds(text):
            break
    return text


def _issued(briefing: Briefing) -> list[str]:
    """Official texts as issued."""
    return [
        part for one in briefing.cautions.official for part in (one.headline, one.description, one.instruction) if part
    ]


@dataclass(frozen=True)
class Figures:
    """The pictures of a page in the form that it takes, each beside what it is about; empty for none."""

    map: Markup
    water: Markup
    season: tuple[Markup, ...]
    strip: Markup  # empty in a mail, which has a table instead


def to_html(briefing: Briefing) -> str:
    """Return one self-contained HTML file; charts are inline SVG with text equivalents."""
    drawn = charts.charts_of(briefing)
    lake = Markup("")
    if briefing.map is not None:
        lake = _figure(lake_map(briefing.map, units=briefing.head.units), _about_map(briefing.map))
    strip = Markup("") if briefing.glance.strip is None else strip_svg(briefing.glance.strip)
    figures = Figures(lake, _drawn(drawn.water), tuple(_drawn(one) for one in drawn.season), strip)
    template = _environment().get_template("briefing.html.j2")

    def holds(page: str) -> bool:
        seen, printed = length.page_words(page)
        return seen <= length.PAGE_WORDS and printed <= length.PAPER_WORDS

    page = _short_enough(
        lambda brief: template.render(b=briefing, figures=figures, mail=False, brief=brief),
        holds,
        length.first_degree(*_much(briefing)),
    )
    return without_controls(page) + "\n"


def _about_map(section: MapSection) -> str:
    """Which banks the wind meets; of the outline only where it is assumed."""
    return section.text if section.assumed else section.wind_text


def _drawn(plot: Plot | None) -> Markup:
    return Markup("") if plot is None else _figure(plot.svg(), plot.title)


def _figure(svg: str, caption: str) -> Markup:
    return Markup("{}<figcaption>{}</figcaption>").format(Markup(svg), caption) if svg else Markup("")


def page_for_mail(briefing: Briefing, figures: Figures) -> str:
    """Return the page with the style sheets of mail and ready-made figures; `briefing.report.mail` finishes it."""
    template = _environment().get_template("briefing.html.j2")
    page = _short_enough(
        lambda brief: template.render(b=briefing, figures=figures, mail=True, brief=brief),
        lambda page: length.mail_words(page) <= length.MAIL_WORDS,
        length.first_degree(*_much(briefing)),
    )
    return without_controls(page)


def mail_style() -> str:
    """Return the rules of mail that stay in a style sheet: narrow screens, dark schemes, and small matters."""
    return _environment().get_template("mail_keep.css.j2").render()


def to_json(briefing: Briefing) -> str:
    """Return the briefing as indented JSON; field order is page order."""
    return escaped_controls(briefing.model_dump_json(indent=1)) + "\n"


@lru_cache(maxsize=1)
def _environment() -> Environment:
    environment = Environment(
        loader=FileSystemLoader(resources.root("templates")),
        autoescape=lambda name: bool(name and name.endswith(".html.j2")),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=False,
        bytecode_cache=_compiled(),
    )
    environment.filters["wrap"] = _wrap
    environment.filters["plain"] = _plain
    environment.filters["small"] = lower_first
    environment.globals["quantity"] = quantity_words
    environment.globals["in_text"] = in_text
    environment.globals["age_text"] = age_text
    environment.globals["strip_lines"] = strip_lines
    environment.globals["hours_a_number"] = hours_a_number
    environment.globals["lure_on"] = lambda plan, id_: next((one for one in plan.lures if one.id == id_), None)
    environment.globals["mark"] = lambda level: LEVEL_MARK[level]
    environment.globals["shape"] = lambda level: LEVEL_SHAPE[level]
    environment.globals["unknown"] = Level.UNKNOWN
    environment.globals["rule"] = str.upper
    environment.globals["told_in_full"] = _told_in_full
    environment.globals["first_reminders"] = _first_reminders
    environment.globals["rods_left"] = _rods_left
    environment.globals["rounds_text"] = _rounds_text
    return environment


class CompiledTemplates(FileSystemBytecodeCache):
    """Compiled templates beside their sources; on a full disk the page is made without keeping them."""

    def dump_bytecode(self, bucket: Bucket) -> None:
        """Write a compiled template, unless it can't be written."""
        with contextlib.suppress(OSError):
            super().dump_bytecode(bucket)


def _compiled() -> CompiledTemplates | None:
    """Keep compiled templates beside their sources, as Python keeps its own; without a writable place, go without."""
    folder = resources.root("templates") / "__pycache__"
    try:
        folder.mkdir(exist_ok=True)
    except OSError:
        return None
    return CompiledTemplates(str(folder)) if os.access(folder, os.W_OK) else None


def quantity_words(quantity: Quantity) -> str:
    """Say a quantity with all that belongs to it: value and range, kind, source, age, note."""
    text = quantity.text
    if quantity.value is not None:
        text += f" ({quantity.range_note})" if quantity.range_note else ""
        text += f"; {origin_words(quantity)}"
    return f"{text}. {quantity.note}" if quantity.note else text


def value_words(quantity: Quantity) -> str:
    """Say value, range and note of a quantity whose origin is told elsewhere."""
    text = quantity.text
    if quantity.value is not None and quantity.range_note:
        text += f" ({quantity.range_note})"
    return f"{text}. {quantity.note}" if quantity.note else f"{text}."


def origin_words(quantity: Quantity) -> str:
    """Say how a quantity is known, its source and age: ``"from the water model"``, ``"seen by you, 44 h old"``."""
    age = quantity.age_h
    of_now = age is None or (age == 0 and quantity.kind != "observed")
    how = {"modelled": "from the ", "forecast": "forecast, ", "normal": "usual, ", "estimated": "estimated, "}
    return f"{how.get(quantity.kind, '')}{quantity.source}{'' if of_now else f', {age_text(age)}'}"


def wrap_text(text: str, *, indent: int = 0, hang: int | None = None, first: str = "") -> list[str]:
    """Wrap to the column width; ``first`` is a mark such as "- " before the first line, ``hang`` indents the others."""
    lead = " " * indent + first
    follow = " " * (len(lead) if hang is None else hang)
    paragraphs = [line for line in _plain(text).splitlines() if line.strip()] or [""]
    out: list[str] = []
    for number, paragraph in enumerate(paragraphs):
        out += _filled(paragraph, lead if number == 0 else follow, follow) or [lead.rstrip()]
    return out


def _filled(text: str, lead: str, follow: str) -> list[str]:
    """A paragraph in lines: what `textwrap.wrap` gives, at a third of its time where the text holds nothing odd."""
    words = text.split(" ")
    if "" in words or any(ch in text for ch in "\t\v\f\r") or max(map(len, words)) > TEXT_COLUMNS - len(follow):
        return textwrap.wrap(text, TEXT_COLUMNS, initial_indent=lead, subsequent_indent=follow, break_on_hyphens=False)
    lines, line = [], lead + words[0]
    for word in words[1:]:
        if len(line) + 1 + len(word) <= TEXT_COLUMNS:
            line = f"{line} {word}"
        else:
            lines.append(line)
            line = follow + word
    return [*lines, line]


def _wrap(text: str, indent: int = 0, hang: int | None = None, first: str = "") -> str:
    return "\n".join(wrap_text(text, indent=indent, hang=hang, first=first))


def _told_in_full(plan: PlanSection, brief: int = 0) -> int:
    """How many visits are told in full; on a long day the later ones are told in a line: by then much has changed."""
    visits = sum(len(block.stops) for block in plan.blocks)
    full = visits if visits <= _ALL_IN_FULL else _FIRST_IN_FULL - (visits > _VERY_LONG)
    return full if not brief else min(full, max(_FIRST_IN_FULL - brief, int(brief > 3)))


def _first_reminders(plan: PlanSection, brief: int = 0) -> int:
    """How many reminders stand in full in mail and text, the others by name: fewer on a long day."""
    visits = sum(len(block.stops) for block in plan.blocks)
    return 4 if visits <= _ALL_IN_FULL and not brief else 3 if brief < 2 else 2 if brief < 3 else 1


#: Words of a sentence that lists later visits, at most.
_LIST_WORDS = 22


def _rounds_text(rounds: Sequence[StopText]) -> str:
    """Later visits in short: those fished alike one after another in one sentence, as long as it stays short."""
    said: list[tuple[str, list[str]]] = []
    for stop in rounds:
        words = sum(len(one.split()) for one in (stop.fished_text, stop.short_text, *(said[-1][1] if said else ())))
        if said and said[-1][0] == stop.fished_text and words <= _LIST_WORDS:
            said[-1][1].append(stop.short_text)
        else:
            said.append((stop.fished_text, [stop.short_text]))
    return " ".join(
        f"{upper_first(how)}: {'; '.join(places)}." if how else f"{'; '.join(places)}." for how, places in said
    )


def _rods_left(choices: Sequence[ChoiceText]) -> str:
    """The rods for lures of a place that are not told in full."""
    rods = [choice.rod_text for choice in choices]
    numbers = [one.removeprefix("rod ") for one in rods]
    if len(rods) > 1 and all(one.isdigit() for one in numbers):
        return f"Then rods {' and '.join(numbers)}."
    return f"Then {' and '.join(rods)}." if rods else ""


def _plain(text: str) -> str:
    """Drop control characters, so that a hostile name can't move the cursor of a terminal."""
    text = str(text)
    if text.isprintable():
        return text
    return "".join(ch if ch == "\n" or ch.isprintable() else " " for ch in text)


def _squeeze(lines: list[str]) -> str:
    """Collapse runs of blank lines to one."""
    out: list[str] = []
    for line in lines:
        if line or (out and out[-1]):
            out.append(line)
    return "\n".join(out).strip("\n")
