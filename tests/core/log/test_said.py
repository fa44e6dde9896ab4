"""What anglers write, line by line, and what it means: nothing misread, no fish or hour lost, most understood whole."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from briefing.app.log import as_read
from briefing.core.log.effort import segments_of
from briefing.core.log.line import read_line
from briefing.core.log.records import Mark, MarkKind
from briefing.knowledge import load_advice_knowledge, load_log_parameters

NAMES = {item.id: item.name for item in load_advice_knowledge(None).presentations}
PARAMETERS = load_log_parameters()
SPOTS = ["North pocket", "Frog bay", "Old dock row"]
ROWS = [json.loads(line) for line in (Path(__file__).parent / "said.jsonl").read_text(encoding="utf-8").splitlines()]


def read(text: str):
    return read_line(text, PARAMETERS.words, names=NAMES, spots=SPOTS, system="us")


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["said"])
def test_a_line_says_what_its_angler_meant(row: dict[str, object]) -> None:
    found = as_read(read(str(row["said"])))
    empty = (None, [], "", False, 0)
    assert {"said": row["said"]} | {
        key: value for key, value in found.items() if key in ("kind", "fish") or value not in empty
    } == row


def test_enough_lines_and_most_of_them_whole() -> None:
    whole = [row for row in ROWS if not row.get("rest") and not row.get("open")]
    assert len(ROWS) >= 150
    assert len(whole) >= 0.85 * len(ROWS)


@pytest.mark.parametrize("row", [row for row in ROWS if not row.get("blank")], ids=lambda row: row["said"])
def test_no_hours_become_a_blank_that_was_not_said(row: dict[str, object]) -> None:
    """An entry alone with its hours: without fish, and without the word that there were none, it teaches nothing."""
    from datetime import UTC, datetime

    found = read(str(row["said"]))
    mark = Mark(
        kind=MarkKind.MARK,
        time=datetime(2026, 5, 2, 15, tzinfo=UTC),
        presentation=found.presentation,
        fish=found.fish,
        contacts=found.contacts,
        follows=found.follows,
        minutes=found.minutes or 60.0,
        blank=found.blank,
        uncertain=found.uncertain,
    )
    (segment,) = segments_of([mark], PARAMETERS.effort)
    assert segment.minutes is None or segment.fish or segment.contacts or segment.follows
    assert not segment.blank
