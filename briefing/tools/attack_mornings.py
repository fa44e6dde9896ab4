"""Attacks mornings: bodies of every service are changed as services change them, and driven to the printed page.

A case fails when the program raises, hangs, or makes a morning calmer than the sound one without a line at the top of
the page that says so. The same number is the same case.

    python -m briefing.tools.attack_mornings --cases 20000
    python -m briefing.tools.attack_mornings --kinds          what is changed, and what nobody could notice
    python -m briefing.tools.attack_mornings --only fault05 --cases 200 --show 3
    python -m briefing.tools.attack_mornings --false-alarms levels.txt    the level of every hour of 200 sound mornings
"""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from briefing.tools.attack import every_kind
from briefing.tools.attack.kinds import Kind
from briefing.tools.attack.run import Case, run_case
from briefing.tools.attack.undetectable import UNDETECTABLE
from briefing.tools.attack.watch import line_of, watched


@dataclass
class Row:
    """One line of the table: how many cases of a kind there were, and what came of them."""

    cases: int = 0
    tracebacks: int = 0
    calmer: int = 0
    seconds: float = 0.0
    examples: list[Case] = field(default_factory=list)

    def add(self, case: Case, most: int) -> None:
        """Count a case and keep the first failures."""
        self.cases += 1
        self.tracebacks += bool(case.trace)
        self.calmer += bool(case.faults)
        self.seconds += case.seconds
        if case.failed and len(self.examples) < most:
            self.examples.append(case)


def tally(cases: Iterable[Case], most: int = 3) -> dict[str, Row]:
    """Count cases by kind."""
    rows: dict[str, Row] = {}
    for case in cases:
        rows.setdefault(case.kind, Row()).add(case, most)
    return dict(sorted(rows.items()))


def table_of(rows: dict[str, Row], show: int) -> str:
    """The table for people: kinds that failed with examples, then the sum."""
    kinds = {one.id: one for one in every_kind()}
    lines = [f"{'kind':34s} {'cases':>6s} {'traces':>6s} {'calmer, unsaid':>14s}"]
    for name, row in rows.items():
        lines.append(f"{name:34s} {row.cases:6d} {row.tracebacks:6d} {row.calmer:14d}")
        for case in row.examples[:show]:
            what = case.faults[0] if case.faults else case.trace.splitlines()[-1]
            lines.append(f"    case {case.number} {case.base} {case.said[:60]}: {what[:150]}")
    hit = sorted({kinds[name].fault for name, row in rows.items() if kinds[name].fault and row.calmer + row.tracebacks})
    failed = Counter({name: row.tracebacks + row.calmer for name, row in rows.items()})
    cases, cpu = sum(row.cases for row in rows.values()), sum(row.seconds for row in rows.values())
    lines.append(f"known faults that show: {', '.join(map(str, hit)) or 'none'}")
    lines.append(f"not counted, since no reader could notice: {len(UNDETECTABLE)} kinds (see --kinds)")
    lines.append(
        f"{cases} cases of {len(rows)} kinds, {1000 * cpu / max(1, cases):.0f} ms of CPU each: "
        f"{sum(row.tracebacks for row in rows.values())} tracebacks or hangs, "
        f"{sum(row.calmer for row in rows.values())} calmer and unsaid, in {sum(1 for n in failed.values() if n)} kinds"
    )
    return "\n".join(lines)


def kinds_text() -> str:
    """Every kind of change, and those that nobody could notice."""
    lines = ["What is changed:"]
    lines += [f"  {one.id:34s} {one.about} [{', '.join(one.bases[:3])}{' ...' if len(one.bases) > 3 else ''}]"
              for one in every_kind()]  # fmt: skip
    lines += ["", "What no reader could notice, and what narrows it:"]
    lines += [f"  {one.id:34s} {one.why}; narrowed by: {one.cross_check}" for one in UNDETECTABLE]
    return "\n".join(lines)


def _chosen(only: str, cases: int, start: int) -> list[tuple[int, Kind]]:
    """Cases of the kinds whose ids begin with one of some words, in turn; ``start`` counts rounds through all kinds."""
    every = every_kind()
    places = [n for n, one in enumerate(every) if any(one.id.startswith(word) for word in only.split(","))]
    if not places:
        raise SystemExit(f"no kind begins with {only!r}; see --kinds")
    found = []
    for n in range(cases):
        place = places[n % len(places)]
        found.append(((start + n // len(places)) * len(every) + place, every[place]))
    return found


def _options(arguments: Sequence[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(description="Attack mornings with changed bodies of every service.")
    parser.add_argument("--cases", type=int, default=20_000, help="how many cases to run")
    parser.add_argument("--start", type=int, default=0, help="number of the first case")
    parser.add_argument("--only", default="", help="only kinds whose ids begin so; several with commas")
    parser.add_argument("--workers", type=int, default=min(2, os.cpu_count() or 1), help="processes; 0: this one alone")
    parser.add_argument("--show", type=int, default=1, help="examples printed for each kind that fails")
    parser.add_argument("--bodies", type=Path, help="write the bodies of the first case into this folder and stop")
    parser.add_argument("--kinds", action="store_true", help="print what is changed and what nobody could notice")
    parser.add_argument("--json", action="store_true", help="print the table as JSON")
    parser.add_argument(
        "--lines", action="store_true", help="print each case as a line of JSON (for the watching process)"
    )
    parser.add_argument("--false-alarms", type=Path, help="write the levels of sound mornings into this file and stop")
    parser.add_argument("--mornings", type=int, default=200, help="how many sound mornings")
    return parser.parse_args(arguments)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run what is asked for; the exit code is 1 when anything failed."""
    options = _options(arguments)
    if options.kinds:
        print(kinds_text())
        return 0
    if options.false_alarms:
        from briefing.tools.attack.false_alarms import write

        print(write(options.false_alarms, options.mornings))
        return 0
    numbers = range(options.start, options.start + options.cases)
    if options.bodies:
        from briefing.tools.attack.keep import keep

        print(keep(options.bodies, options.start, options.only))
        return 0
    if options.lines:
        for number in numbers:
            print(line_of(run_case(number)), flush=True)
        return 0
    rows = tally(_cases(options, numbers))
    print(json.dumps(_plain(rows)) if options.json else table_of(rows, options.show))
    return 1 if any(row.tracebacks or row.calmer for row in rows.values()) else 0


def _cases(options: argparse.Namespace, numbers: range) -> Iterable[Case]:
    if options.only:
        return (run_case(number, one) for number, one in _chosen(options.only, options.cases, options.start))
    return watched(numbers, options.workers) if options.workers else map(run_case, numbers)


def _plain(rows: dict[str, Row]) -> dict[str, object]:
    def case(one: Case) -> dict[str, object]:
        return {"case": one.number, "base": one.base, "said": one.said, "faults": one.faults, "trace": one.trace}

    return {
        "kinds": {
            name: {
                "cases": row.cases,
                "tracebacks": row.tracebacks,
                "calmer": row.calmer,
                "examples": [case(one) for one in row.examples],
            }
            for name, row in rows.items()
        },
        "undetectable": [one.id for one in UNDETECTABLE],
    }


if __name__ == "__main__":
    sys.exit(main())
