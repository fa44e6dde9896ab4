"""CPU time of the climate normals of a place, and of reading their table."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
from _measure import measure, report, yardstick

from briefing.core.climate import NormalsTable, normals_at
from briefing.knowledge import load_normals_table
from briefing.resources import read_arrays


def main() -> None:
    """Print one line a call."""
    yard = yardstick()
    table = load_normals_table()
    report("normals at a place", measure(lambda: normals_at(table, 36.0, -86.0, 200.0)), yard, 3.0)
    report("read the table", measure(lambda: NormalsTable.from_mapping(read_arrays("air_normals.npz"))), yard)


if __name__ == "__main__":
    main()
