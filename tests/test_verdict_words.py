"""No verdict word may reach a reader: not in strings of the code, templates, data files or whole briefings."""

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
VERDICTS = re.compile(
    r"\b(safe|safely|fine|no risk|risk[- ]free|good to go|ok to launch|okay to launch|all clear|harmless"
    r"|guaranteed|can't fail)\b",
    re.IGNORECASE,
)
#: The one sentence that has to say what silence does not mean.
ALLOWED = re.compile(r"(is|as) (not|no) an? all[- ]clear|no all[- ]clear", re.IGNORECASE)


def verdicts(text: str) -> list[str]:
    return [match.group() for match in VERDICTS.finditer(ALLOWED.sub("", text))]


def code_strings(path: Path) -> list[tuple[int, str]]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    doc_nodes = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef):
            first = node.body[0] if node.body else None
            if isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant):
                doc_nodes.add(id(first.value))
    return [
        (node.lineno, node.value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in doc_nodes
    ]


@pytest.mark.parametrize("path", sorted((ROOT / "briefing").rglob("*.py")), ids=lambda p: str(p.relative_to(ROOT)))
def test_strings_of_the_code_hold_no_verdict(path: Path) -> None:
    found = [(line, verdicts(text)) for line, text in code_strings(path) if verdicts(text)]
    assert not found, f"{path}: {found}"


@pytest.mark.parametrize(
    "path",
    sorted(
        p
        for folder in ("config", "templates", "fixtures")
        for p in (ROOT / folder).rglob("*")
        if p.suffix in {".toml", ".j2", ".txt", ".html"}
    ),
    ids=lambda p: str(p.relative_to(ROOT)),
)
def test_data_templates_and_goldens_hold_no_verdict(path: Path) -> None:
    lines = path.read_text(encoding="utf-8").splitlines()
    found = [(number, verdicts(line)) for number, line in enumerate(lines, 1) if verdicts(line)]
    assert not found, f"{path}: {found}"


def test_the_lint_itself_finds_a_verdict() -> None:
    assert verdicts("It is safe out there") == ["safe"]
    assert verdicts("No note is not an all-clear.") == []
