"""A finished briefing in its three forms, and how it is saved."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from briefing.core.gathered import Gathered
from briefing.errors import StoreError
from briefing.pipeline.build import Built
from briefing.report.render import to_html, to_json, to_text


@dataclass(frozen=True)
class Made:
    """A briefing with its renderings, what was said on the way, and what could not be kept."""

    built: Built
    gathered: Gathered
    text: str
    html: str
    json: str
    notes: tuple[str, ...] = ()
    unkept: tuple[str, ...] = ()


def render(built: Built, gathered: Gathered, notes: tuple[str, ...] = ()) -> Made:
    """Render a built briefing in its three forms."""
    return Made(
        built=built,
        gathered=gathered,
        text=to_text(built.briefing),
        html=to_html(built.briefing),
        json=to_json(built.briefing),
        notes=notes,
    )


def save(made: Made, folder: Path) -> tuple[Path, Path, Path]:
    """Write HTML, text and JSON into a folder; each file appears whole or not at all. Raises StoreError."""
    head = made.built.briefing.head
    stem = f"{head.lake_id}-{head.day.isoformat()}"
    paths = (folder / f"{stem}.html", folder / f"{stem}.txt", folder / f"{stem}.json")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for path, content in zip(paths, (made.html, made.text, made.json), strict=True):
            part = path.with_suffix(path.suffix + ".part")
            part.write_text(content, encoding="utf-8")
            part.replace(path)
    except OSError as error:
        reason = error.strerror or str(error)
        raise StoreError(f"The briefing was made but could not be saved in {folder}: {reason}.") from error
    return paths
