"""The list of slips that the unit tests notice, and the runner that tries them all in ``make full-checks``."""

import ast
import marshal
from functools import cache
from pathlib import Path, PurePosixPath

import pytest

from tests import run_mutations
from tests.run_mutations import ROOT, Mutation, Run, copy_of_tree, load, main, read_report, run_all, summary, try_one

MUTATIONS = load()
#: Inputs that no test had held: they stay in the list whatever is added to it or taken away.
ONCE_UNHELD = {"measured-gust", "measured-visibility", "guessed-depth", "first-sunset", "gauge-first"}


@cache
def source(file: str) -> str:
    return (ROOT / file).read_text(encoding="utf-8")


@cache
def compiled(file: str) -> bytes:
    return marshal.dumps(compile(source(file), file, "exec"))


@cache
def functions(file: str) -> frozenset[str]:
    return frozenset(node.name for node in ast.walk(ast.parse(source(file))) if isinstance(node, ast.FunctionDef))


def test_the_list_is_long_enough_and_each_entry_has_its_own_name() -> None:
    ids = [one.id for one in MUTATIONS]
    assert len(ids) == len(set(ids)) >= 24
    assert set(ids) >= ONCE_UNHELD


@pytest.mark.parametrize("mutation", MUTATIONS, ids=lambda one: one.id)
def test_a_slip_stands_in_one_place_and_changes_what_the_program_does(mutation: Mutation) -> None:
    assert mutation.file.startswith("briefing/")
    assert mutation.about.endswith(".")
    changed = mutation.changed(source(mutation.file))  # raises where the text stands more than once, or nowhere
    assert marshal.dumps(compile(changed, mutation.file, "exec")) != compiled(mutation.file)


@pytest.mark.parametrize("mutation", MUTATIONS, ids=lambda one: one.id)
def test_the_tests_of_a_slip_exist_and_mirror_its_place(mutation: Mutation) -> None:
    folder = PurePosixPath("tests") / PurePosixPath(mutation.file).relative_to("briefing").parent
    assert mutation.test
    for node in mutation.test:
        file, _, name = node.partition("::")
        assert PurePosixPath(file).parent == folder
        assert name in functions(file)


def test_a_slip_is_caught_a_change_of_nothing_survives_and_the_tree_stays_as_it_is() -> None:
    real = next(one for one in MUTATIONS if one.id == "future-observation")
    harmless = Mutation("harmless", "Nothing.", real.file, real.find, f"{real.find}  # the same", real.test)
    before = source(real.file)
    with copy_of_tree() as copy:
        outcomes = [try_one(copy, one) for one in (harmless, real)]
        assert (copy / real.file).read_text(encoding="utf-8") == before
    assert not copy.exists()
    assert [one.end for one in outcomes] == ["SURVIVED", "caught"]
    assert (ROOT / real.file).read_text(encoding="utf-8") == before
    assert summary("", outcomes)[0] == 1
    assert "not caught: harmless" in summary("", outcomes)[1]
    assert summary("", outcomes[1:])[0] == 0


@pytest.mark.parametrize(
    "run", [Run(1, frozenset(MUTATIONS[0].test), frozenset(), ""), Run(4, frozenset(), frozenset(), "not found")]
)
def test_tests_that_fail_or_are_missing_without_a_slip_fail_the_run(monkeypatch, run: Run) -> None:
    monkeypatch.setattr(run_mutations, "run_tests", lambda *_: run)
    wrong, outcomes = run_all(MUTATIONS[:1])
    assert wrong
    assert outcomes == []
    assert summary(wrong, outcomes)[0] == 1


@pytest.mark.parametrize(
    ("inside", "failed", "passed", "broken"),
    [
        ("", False, True, False),
        ('<failure message="assert 1 == 2"/>', True, False, False),
        ('<failure message="AssertionError: assert 1 == 2"/>', True, False, False),
        ('<failure message="TypeError: unsupported operand"/>', False, False, True),
        ('<error message="failed on setup"/>', False, False, True),
        ('<skipped message="no data"/>', False, False, True),
    ],
)
def test_only_a_failed_assertion_catches(tmp_path: Path, inside: str, failed: bool, passed: bool, broken: bool) -> None:
    node, report = "tests/core/test_x.py::test_y", tmp_path / "report.xml"
    cases = f'<testcase classname="tests.core.test_x" name="test_y[1]">{inside}</testcase>'
    report.write_text(f"<testsuites><testsuite>{cases}</testsuite></testsuites>", encoding="utf-8")
    run = read_report(report, 1, [node])
    assert (node in run.failed, node in run.passed, bool(run.broken)) == (failed, passed, broken)


def test_a_slip_that_is_not_listed_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["no-such-slip"]) == 2
    assert "no mutation with the id 'no-such-slip'" in capsys.readouterr().err
