"""Reading of reference tables and laying out of results, shared by the evaluations."""

from __future__ import annotations

import csv
import math
from collections.abc import Iterable, Sequence
from pathlib import Path

from briefing.errors import InputError


def read_rows(path: Path, needed: Iterable[str]) -> list[dict[str, str]]:
    """Read a CSV file with a header line; each row by column name.

    Raises ``InputError`` when the file can't be read, lacks a column of ``needed``, has no rows, or a row is short.
    """
    try:
        with path.open(encoding="utf-8-sig", newline="") as handle:
            reader = csv.DictReader(handle)
            rows = list(reader)
            columns = reader.fieldnames or []
    except OSError as error:
        raise InputError(f"{path} can't be read: {error.strerror}") from error
    except (UnicodeDecodeError, csv.Error) as error:
        raise InputError(f"{path} can't be read as a table: {error}") from error
    missing = [name for name in needed if name not in columns]
    if missing:
        raise InputError(f"{path} lacks the column{'s' if len(missing) > 1 else ''} {', '.join(missing)}")
    if not rows:
        raise InputError(f"{path} has a header but no rows")
    for line, row in enumerate(rows, start=2):
        if None in row or None in row.values():
            raise InputError(f"{path}, row {line}: it has another number of cells than the header")
    return rows


def number(path: Path, line: int, row: dict[str, str], column: str) -> float:
    """Return a cell as a number; ``line`` is the row of the file, for the message of the ``InputError``."""
    try:
        value = float(row[column])
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise InputError(f'{path}, row {line}: {column} is "{row[column]}", not a number')
    return value


def text_table(header: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Lay out rows under a header: first column to the left, the rest to the right, two spaces between."""
    cells = [[str(cell) for cell in row] for row in (header, *rows)]
    widths = [max(len(row[n]) for row in cells) for n in range(len(header))]
    lines = []
    for row in cells:
        first, *rest = (
            cell.ljust(w) if n == 0 else cell.rjust(w) for n, (cell, w) in enumerate(zip(row, widths, strict=True))
        )
        lines.append("  ".join((first, *rest)).rstrip())
    return "\n".join(lines)
