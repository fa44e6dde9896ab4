"""A briefing as mail: subject, complete text, HTML with its styles written into the elements, charts as PNG.

The HTML is the page's own, without what mail programs drop: inline SVG, folding parts, style variables. Nothing is
fetched from outside, and it reads complete with images off: every chart's numbers stand in its text or a table.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from html import escape

from markupsafe import Markup

from briefing.controls import without_controls
from briefing.report.charts import charts_of
from briefing.report.lake_map import lake_map, map_words
from briefing.report.png import svg_to_png, to_png
from briefing.report.render import Figures, mail_style, page_for_mail, to_text
from briefing.report.svg import Plot
from briefing.sections.briefing import Briefing
from briefing.sections.plan import without_headings

#: The largest HTML part (bytes); longer ones are cut by mail programs, some in mid-word.
HTML_LIMIT = 60_000


@dataclass(frozen=True)
class MailImage:
    """An image of a mail: name for its Content-ID, and bytes."""

    cid: str
    png: bytes


@dataclass(frozen=True)
class MailParts:
    """What a mail is put together from."""

    subject: str
    text: str
    html: str
    images: tuple[MailImage, ...]


def mail_parts(briefing: Briefing, ident: str, limit: int = HTML_LIMIT) -> MailParts:
    """Render a briefing for mail; ``ident`` (letters and digits) makes the images' names its own.

    The directions of the ways to the spots stay at home.

    Where the HTML would pass ``limit`` bytes, charts are left out first, then the text of official warnings is named as
    standing in the text part; what is left out is said.
    """
    briefing = briefing.model_copy(update={"plan": without_headings(briefing.plan)})
    drawn = charts_of(briefing)
    cids = {id(plot): f"chart{n}.{ident}" for n, plot in enumerate(drawn.there())}
    images = tuple(MailImage(cids[id(plot)], to_png(plot)) for plot in drawn.there())

    def shown(plot: Plot | None) -> Markup:
        return Markup("") if plot is None else _figure(plot.title, plot.desc, cids[id(plot)])

    lake, images = _map(briefing, f"map.{ident}", images)
    html = _html(briefing, Figures(lake, shown(drawn.water), tuple(shown(one) for one in drawn.season), Markup("")))
    left_out = Figures(
        Markup(""), Markup("Charts are left out of this mail."), tuple(Markup("") for _ in drawn.season), Markup("")
    )
    if len(html.encode("utf-8")) > limit:
        html, images = _html(briefing, left_out), ()
    if len(html.encode("utf-8")) > limit:
        html = _html(_shortened(briefing), left_out)
    return MailParts(briefing.glance.subject, to_text(briefing, mail=True), html, images)


def _map(briefing: Briefing, cid: str, images: tuple[MailImage, ...]) -> tuple[Markup, tuple[MailImage, ...]]:
    """The map of the hours out as an image before the charts; its legs stand in words among the places."""
    svg = "" if briefing.map is None else lake_map(briefing.map, units=briefing.head.units)
    if briefing.map is None or not svg:
        return Markup(""), images
    shown = Markup('<img src="cid:{}" alt="{}" width="300" style="max-width:420px">').format(
        cid, map_words(briefing.map)
    )
    return shown, (MailImage(cid, svg_to_png(svg)), *images)


def note_html(subject: str, first: str, body: str) -> str:
    """A wind note as plain HTML: its first paragraph large, the rest as lines."""
    lines = "".join(f"<p>{escape(line)}</p>" for line in body.splitlines() if line.strip())
    return without_controls(
        '<!doctype html><html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{escape(subject)}</title></head>"
        '<body style="margin:0;padding:12px;font:16px/1.45 sans-serif;max-width:600px">'
        f'<h1 style="font-size:20px;line-height:1.3;margin:0 0 12px">{escape(first)}</h1>{lines}</body></html>'
    )


def _figure(title: str, desc: str, cid: str) -> Markup:
    return Markup('<img src="cid:{}" alt="{}" width="640"><br>{}.').format(cid, desc, title)


def _html(briefing: Briefing, figures: Figures) -> str:
    import css_inline

    page = page_for_mail(briefing, figures)
    page = re.sub(r"<details[^>]*><summary>(.*?)</summary>", r"<div><p><strong>\1</strong></p>", page, flags=re.S)
    page = page.replace("</details>", "</div>")
    inliner = css_inline.CSSInliner(load_remote_stylesheets=False, keep_style_tags=False)
    page = inliner.inline(page).replace("</head>", f"<style>{mail_style()}</style></head>", 1)
    return re.sub(r"\n\s*\n+", "\n", page)


def _shortened(briefing: Briefing) -> Briefing:
    """Long official texts are named only; their event, hours, issuer and consequence stay."""
    official = tuple(
        alert.model_copy(
            update={"description": "The text as issued stands in the text part of this mail.", "instruction": ""}
        )
        for alert in briefing.cautions.official
    )
    cautions = briefing.cautions.model_copy(update={"official": official})
    return briefing.model_copy(update={"cautions": cautions})
