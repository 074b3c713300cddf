"""The house as its source shows it: modules, what each imports, and where."""

from __future__ import annotations

import ast
from dataclasses import dataclass
from functools import cache
from pathlib import Path

TOP = Path(__file__).resolve().parents[2]


@dataclass(frozen=True)
class Import:
    """One import: the dotted name it loads, where it stands, and whether it runs when the module is imported."""

    name: str
    where: str
    at_load: bool


@dataclass(frozen=True)
class Module:
    """One source file of the packages."""

    name: str
    path: Path
    tree: ast.Module
    imports: tuple[Import, ...]

    def where(self, node: ast.AST) -> str:
        """``survey/model.py:12``, for messages."""
        return f"{self.path.relative_to(TOP).as_posix()}:{getattr(node, 'lineno', 1)}"


def _dotted(path: Path) -> str:
    parts = list(path.relative_to(TOP).with_suffix("").parts)
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def _imports(tree: ast.Module, path: Path, names: frozenset[str]) -> tuple[Import, ...]:
    found: list[Import] = []
    package = _dotted(path) if path.name == "__init__.py" else _dotted(path).rpartition(".")[0]

    def walk(node: ast.AST, at_load: bool) -> None:
        for child in ast.iter_child_nodes(node):
            if isinstance(child, ast.If) and "TYPE_CHECKING" in ast.unparse(child.test):
                continue
            lazy = isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda)
            for name in _names(child, package, names):
                found.append(Import(name, f"{path.relative_to(TOP).as_posix()}:{child.lineno}", at_load))
            walk(child, at_load and not lazy)

    walk(tree, True)
    return tuple(found)


def _names(node: ast.AST, package: str, names: frozenset[str]) -> list[str]:
    if isinstance(node, ast.Import):
        return [alias.name for alias in node.names]
    if not isinstance(node, ast.ImportFrom):
        return []
    base = node.module or ""
    if node.level:
        above = package.split(".")[: len(package.split(".")) - node.level + 1]
        base = ".".join([*above, *([node.module] if node.module else [])])
    # `from survey.wants import verbs` loads survey.wants.verbs; `from survey.model.parts import Part` that module.
    loaded = [f"{base}.{alias.name}" if f"{base}.{alias.name}" in names else base for alias in node.names]
    return list(dict.fromkeys(loaded))


@cache
def modules() -> tuple[Module, ...]:
    """Every module of survey and web, in order of name."""
    paths = sorted(path for package in ("survey", "web") for path in (TOP / package).rglob("*.py"))
    names = frozenset(map(_dotted, paths))
    trees = [(path, ast.parse(path.read_text("utf-8"), str(path))) for path in paths]
    return tuple(Module(_dotted(path), path, tree, _imports(tree, path, names)) for path, tree in trees)


def is_verbs(name: str) -> bool:
    """Whether a module holds what a person does: ``survey.wants.verbs``, ``survey.parts.finding_verbs``."""
    leaf = name.rpartition(".")[2]
    return name.startswith("survey.") and (leaf == "verbs" or leaf.endswith("_verbs"))
