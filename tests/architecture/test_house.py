"""The size and the finish of the house: nothing too long, nothing untyped, nothing undocumented, nothing left lying."""

from __future__ import annotations

import ast
import re
import subprocess
import sys

import pytest
from house import TOP, modules

FUNCTION_LINES = 40
MODULE_LINES = 400


def test_no_module_is_too_long() -> None:
    lengths = {module.where(module.tree): len(module.path.read_text("utf-8").splitlines()) for module in modules()}
    found = [f"{where} has {lines} lines" for where, lines in lengths.items() if lines > MODULE_LINES]
    assert not found, f"Modules over {MODULE_LINES} lines:\n  " + "\n  ".join(found)


COLUMNS = 120


def test_no_line_of_a_template_a_sheet_or_a_script_is_too_long() -> None:
    looked_at = [
        path
        for room in ("web/templates", "web/static", "survey/document/templates")
        for path in sorted((TOP / room).rglob("*"))
        if path.suffix in (".html", ".j2", ".typ", ".css", ".js") and "vendor" not in path.parts
    ]
    assert {path.suffix for path in looked_at} == {".html", ".j2", ".typ", ".css", ".js"}
    found = [
        f"{path.relative_to(TOP).as_posix()}:{number} has {len(line)} characters"
        for path in looked_at
        for number, line in enumerate(path.read_text("utf-8").splitlines(), 1)
        if len(line) > COLUMNS
    ]
    assert not found, f"Lines over {COLUMNS} characters:\n  " + "\n  ".join(found)


def code_lines(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Lines from the first statement after the docstring to the last."""
    body = function.body[1:] if ast.get_docstring(function) else function.body
    return (body[-1].end_lineno or 0) - body[0].lineno + 1 if body else 0


def test_no_function_is_too_long() -> None:
    found = [
        f"{module.where(node)}: {node.name} has {code_lines(node)} lines"
        for module in modules()
        for node in ast.walk(module.tree)
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) and code_lines(node) > FUNCTION_LINES
    ]
    assert not found, f"Functions over {FUNCTION_LINES} lines:\n  " + "\n  ".join(found)


def test_the_docstring_does_not_count_as_code() -> None:
    function = ast.parse('def f():\n    """One.\n\n    Two.\n    """\n    a = 1\n    return a\n').body[0]
    assert isinstance(function, ast.FunctionDef)
    assert code_lines(function) == 2


@pytest.mark.parametrize("command", ["ruff check --output-format concise .", "mypy"])
@pytest.mark.slow
def test_the_checkers_are_content(command: str) -> None:
    run = subprocess.run([sys.executable, "-m", *command.split()], cwd=TOP, capture_output=True, text=True, check=False)
    assert run.returncode == 0, f"{command} found:\n{run.stdout}{run.stderr}"


UNFINISHED = re.compile(r"\b(TO" r"DO|FIX" r"ME|XX" r"X)\b|raise NotImplemented" r"Error")


def test_nothing_is_left_for_later() -> None:
    found = [
        f"{path.relative_to(TOP).as_posix()}:{number}: {line.strip()}"
        for folder in ("survey", "web", "docs", "tests")
        for path in sorted((TOP / folder).rglob("*"))
        if path.suffix in (".py", ".toml", ".html", ".md", ".css", ".typ")
        for number, line in enumerate(path.read_text("utf-8").splitlines(), 1)
        if UNFINISHED.search(line)
    ]
    assert not found, "Work left for later:\n  " + "\n  ".join(found)
