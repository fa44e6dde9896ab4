"""Slips in what a safety level rests on: each is made in a copy of the tree, and its tests must fail there.

    python tests/run_mutations.py             every slip of tests/mutations.toml, and a table of how each ended
    python tests/run_mutations.py ID ...      only those

The exit code is 1 when a slip survives, or when a named test fails without one. The real tree is only read: a run that
is killed leaves a folder in the system's place for temporary files and nothing else.
"""

from __future__ import annotations

import importlib.util
import os
import shutil
import subprocess
import sys
import tempfile
import time
import tomllib
import xml.etree.ElementTree as ET
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
LIST = ROOT / "tests" / "mutations.toml"
COPIED = ("briefing", "config", "fixtures", "templates", "tests", "pyproject.toml")
#: Far beyond what any of the named tests takes: only a slip that never ends meets it.
LIMIT_S = 300.0
#: How the message of a failed assertion begins; anything else is a test that broke before it could judge.
BY_ASSERTION = ("assert", "AssertionError", "Failed:")


@dataclass(frozen=True)
class Mutation:
    """One slip: where, what is written there, what stands in its place, and the tests that must fail."""

    id: str
    about: str
    file: str
    find: str
    replace: str
    test: tuple[str, ...]

    def changed(self, text: str) -> str:
        """The text of its file with the slip in it; ValueError unless it fits in exactly one place."""
        if text.count(self.find) != 1:
            raise ValueError(f"{self.id}: its text stands {text.count(self.find)} times in {self.file}")
        return text.replace(self.find, self.replace)


@dataclass(frozen=True)
class Outcome:
    """How a slip ended: "caught", "SURVIVED" or "BROKEN" (the tests failed, but not by an assertion)."""

    mutation: Mutation
    end: str
    seconds: float
    why: str = ""


def load(path: Path = LIST) -> tuple[Mutation, ...]:
    """Read the list; an unknown or missing key raises TypeError."""
    rows = tomllib.loads(path.read_text(encoding="utf-8"))["mutation"]
    return tuple(Mutation(**{**row, "test": tuple(row["test"])}) for row in rows)


@contextmanager
def copy_of_tree() -> Iterator[Path]:
    """A copy of what the tests need, gone at the end."""
    with tempfile.TemporaryDirectory(prefix="briefing-mutations-") as folder:
        for name in COPIED:
            if (ROOT / name).is_dir():
                shutil.copytree(ROOT / name, Path(folder) / name, ignore=shutil.ignore_patterns("__pycache__"))
            else:
                shutil.copy(ROOT / name, Path(folder) / name)
        yield Path(folder)


@contextmanager
def slip(copy: Path, mutation: Mutation) -> Iterator[None]:
    """Make the slip in the copy, and take it back."""
    file = copy / mutation.file
    before = file.read_text(encoding="utf-8")
    try:
        _write(file, mutation.changed(before))
        yield
    finally:
        _write(file, before)


def _write(file: Path, text: str) -> None:
    file.write_text(text, encoding="utf-8")
    # Compiled files are told apart by second and size, which a slip may share with what it replaced.
    Path(importlib.util.cache_from_source(str(file))).unlink(missing_ok=True)


@dataclass(frozen=True)
class Run:
    """What pytest said: its exit code, the named tests that failed by assertion, those that passed, and other ends."""

    code: int
    failed: frozenset[str]
    passed: frozenset[str]
    broken: str


def run_tests(copy: Path, tests: Sequence[str]) -> Run:
    """Run tests (node ids without parameters) in the copy, alone in a process of their own."""
    report = copy / "report.xml"
    report.unlink(missing_ok=True)
    env = {name: value for name, value in os.environ.items() if not name.startswith(("PYTEST_", "PYTHON"))}
    env |= {"PYTHONPATH": str(copy), "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", f"--junitxml={report}", *tests]
    try:
        done = subprocess.run(command, cwd=copy, env=env, capture_output=True, text=True, check=False, timeout=LIMIT_S)
    except subprocess.TimeoutExpired:
        return Run(-1, frozenset(), frozenset(), f"not done after {LIMIT_S:.0f} s")
    if not report.is_file() or done.returncode not in (0, 1):
        last = [line for line in (done.stdout + done.stderr).splitlines() if line.strip()]
        return Run(done.returncode, frozenset(), frozenset(), last[-1][:200] if last else "no output")
    return read_report(report, done.returncode, tests)


def read_report(report: Path, code: int, tests: Sequence[str]) -> Run:
    """A test with parameters failed if it did with any of them, and passed if it did with all of them."""
    by_case = {_case_name(node): node for node in tests}
    failed, passed, broken = set(), set(), ""
    for case in ET.parse(report).getroot().iter("testcase"):
        node = by_case.get(f"{case.get('classname')}.{(case.get('name') or '').partition('[')[0]}")
        ends = [part for part in case if part.tag in ("failure", "error", "skipped")]
        for part in ends:
            said = part.get("message") or ""
            if part.tag == "failure" and said.startswith(BY_ASSERTION) and node is not None:
                failed.add(node)
            else:
                broken = broken or f"{case.get('name')}: {part.tag}: {said[:160]}"
        if not ends and node is not None:
            passed.add(node)
    return Run(code, frozenset(failed), frozenset(passed - failed), broken)


def _case_name(node: str) -> str:
    file, _, name = node.partition("::")
    return f"{file.removesuffix('.py').replace('/', '.')}.{name.replace('::', '.')}"


def try_one(copy: Path, mutation: Mutation) -> Outcome:
    """Make one slip and run its tests: each of them must fail, and by an assertion."""
    start = time.monotonic()
    with slip(copy, mutation):
        run = run_tests(copy, mutation.test)
    seconds = time.monotonic() - start
    if run.broken or run.code not in (0, 1):
        return Outcome(mutation, "BROKEN", seconds, run.broken)
    left = [node for node in mutation.test if node not in run.failed]
    return Outcome(mutation, "SURVIVED" if left else "caught", seconds, ", ".join(left))


def wrong_without(copy: Path, mutations: Sequence[Mutation]) -> str:
    """Run all named tests without any slip; return what is wrong, "" when all pass."""
    tests = sorted({node for mutation in mutations for node in mutation.test})
    run = run_tests(copy, tests)
    left = [node for node in tests if node not in run.passed]
    return run.broken or (f"fails without a slip, or was not run: {left[0]}" if left else "")


def run_all(mutations: Sequence[Mutation], *, show: bool = False) -> tuple[str, list[Outcome]]:
    """Run the tests without a slip, then with each; return what is wrong without one ("" if nothing), and the ends."""
    with copy_of_tree() as copy:
        wrong = wrong_without(copy, mutations)
        outcomes = []
        for mutation in () if wrong else mutations:
            outcomes.append(try_one(copy, mutation))
            if show:
                print(row_of(outcomes[-1]), flush=True)
        return wrong, outcomes


def row_of(outcome: Outcome) -> str:
    """One line of the table."""
    tests = ", ".join(outcome.mutation.test)
    why = f"  [{outcome.why}]" if outcome.why else ""
    return f"{outcome.mutation.id:34s} {outcome.end:8s} {outcome.seconds:5.1f} s  {tests}{why}"


def main(wanted: Sequence[str]) -> int:
    """Run the slips named (all of them without a name); 0 when every one is caught."""
    known = {mutation.id: mutation for mutation in load()}
    unknown = [name for name in wanted if name not in known]
    if unknown:
        print(f"no mutation with the id {unknown[0]!r}; there are: {', '.join(known)}", file=sys.stderr)
        return 2
    code, line = summary(*run_all([known[name] for name in wanted] or list(known.values()), show=True))
    print(line)
    return code


def summary(wrong: str, outcomes: Sequence[Outcome]) -> tuple[int, str]:
    """Exit code and last line of a run."""
    if wrong:
        return 1, f"The named tests must pass without a slip: {wrong}"
    left = [one.mutation.id for one in outcomes if one.end != "caught"]
    total = sum(one.seconds for one in outcomes)
    said = f", not caught: {', '.join(left)}" if left else ", all caught"
    return (1 if left else 0), f"{len(outcomes)} slips{said}; {total:.0f} s"


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
