"""Scores both wave formulas of the program against a table of published and independently computed waves.

A CSV file with id, formula, wind_m_s, adjusted_wind_m_s, fetch_m, depth_m, hs_m, tp_s, hs_tol_m, tp_tol_s, g; a
tolerance is metres or seconds, or a percentage such as "0.5%". Rows of other formulas are counted, not used.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from briefing.core.wind.waves import Waves, spm84_shallow, spm84_shallow_adjusted, young_verhagen_1996
from briefing.errors import InputError
from briefing.evaluate.rows import number, read_rows, text_table

_FORMULAS = {"SPM84 shallow": "spm84_shallow", "Young-Verhagen 1996": "young_verhagen_1996"}
_COLUMNS = ("id", "formula", "wind_m_s", "fetch_m", "depth_m", "hs_m", "tp_s", "hs_tol_m", "tp_tol_s")
#: Depth standing in for "deep" where the table leaves it blank.
_DEEP_M = 1e4


def run(path: Path) -> dict[str, Any]:
    """Compute every row of the program's formulas; ``within`` says if height and period are inside its tolerances."""
    rows, not_used = [], 0
    for line, row in enumerate(read_rows(path, _COLUMNS), start=2):
        formula = _FORMULAS.get(row["formula"])
        if formula is None:
            not_used += 1
            continue
        rows.append(_row(path, line, row, formula))
    if not rows:
        raise InputError(f"{path} has no row of {' or '.join(_FORMULAS)}")
    failed = sum(not row["within"] for row in rows)
    return {"rows": rows, "checked": len(rows), "failed": failed, "not_used": not_used}


def _row(path: Path, line: int, row: dict[str, str], formula: str) -> dict[str, Any]:
    waves = _waves(path, line, row, formula)
    height, period = float(waves.hs_m), float(waves.tp_s)
    expected = number(path, line, row, "hs_m")
    within = abs(height - expected) <= _tolerance(path, line, row, "hs_tol_m", expected)
    if row["tp_s"]:
        printed = number(path, line, row, "tp_s")
        within = within and abs(period - printed) <= _tolerance(path, line, row, "tp_tol_s", printed)
    return {
        "row": int(number(path, line, row, "id")),
        "formula": formula,
        "hs_m": round(height, 5),
        "expected_hs_m": expected,
        "tp_s": round(period, 4),
        "within": within,
    }


def _waves(path: Path, line: int, row: dict[str, str], formula: str) -> Waves:
    fetch = number(path, line, row, "fetch_m")
    depth = number(path, line, row, "depth_m") if row["depth_m"] else _DEEP_M
    if formula == "young_verhagen_1996":
        return young_verhagen_1996(number(path, line, row, "wind_m_s"), fetch, depth)
    if not row["wind_m_s"]:
        return spm84_shallow_adjusted(number(path, line, row, "adjusted_wind_m_s"), fetch, depth)
    return spm84_shallow(number(path, line, row, "wind_m_s"), fetch, depth)


def _tolerance(path: Path, line: int, row: dict[str, str], column: str, value: float) -> float:
    if row[column].endswith("%"):
        return abs(value) * number(path, line, {column: row[column][:-1]}, column) / 100.0
    return number(path, line, row, column)


def table(result: dict[str, Any]) -> str:
    """Lay out rows checked and failed by formula."""
    lines = []
    for formula in _FORMULAS.values():
        mine = [row for row in result["rows"] if row["formula"] == formula]
        far = max((abs(row["hs_m"] - row["expected_hs_m"]) for row in mine), default=0.0)
        lines.append((formula, len(mine), sum(not row["within"] for row in mine), f"{far:.5f}"))
    text = text_table(("formula", "rows", "failed", "largest difference m"), lines)
    return f"{text}\n{result['not_used']} rows of other formulas not used"
