"""No verdict word may reach a reader: not in strings of the code, templates, data files or whole briefings."""

import ast
import re
from pathlib import Path

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


def test_strings_of_the_code_hold_no_verdict() -> None:
    paths = sorted((ROOT / "briefing").rglob("*.py"))
    assert len(paths) > 100
    doubtful = [path for path in paths if verdicts(path.read_text(encoding="utf-8"))]
    found = [(path, line, verdicts(text)) for path in doubtful for line, text in code_strings(path) if verdicts(text)]
    assert found == []


def test_data_templates_and_goldens_hold_no_verdict() -> None:
    folders = [ROOT / folder for folder in ("config", "templates", "fixtures")]
    kinds = {".toml", ".j2", ".txt", ".html"}
    paths = sorted(path for folder in folders for path in folder.rglob("*") if path.suffix in kinds)
    assert len(paths) > 50
    found = [
        (path, number, verdicts(line))
        for path in paths
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
        if verdicts(line)
    ]
    assert found == []


def test_a_string_is_found_where_it_stands(tmp_path: Path) -> None:
    path = tmp_path / "a.py"
    path.write_text('"""A safe docstring."""\nx = "It is safe."\n', encoding="utf-8")
    assert [(line, verdicts(text)) for line, text in code_strings(path)] == [(2, ["safe"])]


def test_the_lint_itself_finds_a_verdict() -> None:
    assert verdicts("It is safe out there") == ["safe"]
    assert verdicts("No note is not an all-clear.") == []
