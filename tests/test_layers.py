"""The floors of the house, proved from the imports: downwards only, each library in its own room."""

from __future__ import annotations

import ast
import json
import subprocess
import sys

import pytest
from house import TOP, Import, Module, modules

# Room -> floor; a room may import rooms of lower floors. DEVELOPERS.md has the picture.
FLOORS = {
    "survey": 0,  # the package itself: its version
    "survey.errors": 0,
    "survey.units": 1,
    "survey.model": 1,
    "survey.words": 2,
    "survey.grading": 3,
    "survey.planning": 3,
    "survey.gauge": 3,
    "survey.folder": 4,
    "survey.paper": 4,
    "survey.knowledge": 4,
    "survey.settings": 4,
    "survey.bench": 5,
    "survey.cli": 6,
    "web": 7,
}
WORDS_AND_NOUNS = ("survey.errors", "survey.units", "survey.model", "survey.words")
DOORS = ("survey.cli", "web")
# What a door may import of the survey; everything else comes to it through the bench.
SEEN_FROM_THE_DOORS = (
    "survey", "survey.bench", "survey.cli", "survey.errors", "survey.model", "survey.settings", "survey.units",
)  # fmt: skip
THOUGHT = ("survey.grading", "survey.planning", "survey.gauge")

# Library -> the only rooms that may import it.
OWNERS = {
    "PIL": ("survey.folder", "survey.paper"),
    "click": ("survey.cli", "web"),
    "cv2": (),
    "exifread": ("survey.folder",),
    "flask": ("web",),
    "jinja2": ("survey.paper", "web"),
    "pillow_heif": ("survey.folder",),
    "platformdirs": ("survey.settings",),
    "rich": ("survey.cli",),
    "sqlite3": ("survey.folder",),
    "sqlite_utils": ("survey.folder",),
    "typst": ("survey.paper",),
    "waitress": ("web",),
    "werkzeug": ("web",),
}

# What thought, nouns and words may use of the standard library: nothing that reaches a disk, a clock or a network.
PURE = frozenset({
    "__future__", "bisect", "collections", "dataclasses", "datetime", "decimal", "difflib", "enum", "fractions",
    "functools", "graphlib", "heapq", "itertools", "math", "operator", "re", "statistics", "string", "types", "typing",
})  # fmt: skip
IMPURE_CALLS = frozenset({"open", "print", "input", "exec", "eval", "__import__"})
CLOCKS = frozenset({"now", "today", "utcnow", "fromtimestamp"})

# numpy is not among them: sqlite_utils takes it up of its own accord where the tests have installed it.
HEAVY = ("PIL", "cv2", "exifread", "flask", "jinja2", "pillow_heif", "rich", "typst", "waitress", "werkzeug")


def room(name: str) -> str:
    """The room a module belongs to: ``survey.grading.proof`` is of ``survey.grading``."""
    parts = name.split(".")
    return parts[0] if parts[0] != "survey" else ".".join(parts[:2])


def ours(name: str) -> bool:
    return name.split(".")[0] in ("survey", "web")


def in_rooms(rooms: tuple[str, ...]) -> list[Module]:
    return [module for module in modules() if room(module.name) in rooms]


def faults(message: str, found: list[str]) -> None:
    assert not found, f"{message}\n  " + "\n  ".join(found)


def test_every_room_stands_on_a_floor() -> None:
    faults("Rooms that FLOORS does not name:", sorted({room(module.name) for module in modules()} - set(FLOORS)))


def test_imports_go_downwards_only() -> None:
    found = []
    for module in modules():
        here = room(module.name)
        for one in module.imports:
            there = room(one.name)
            if ours(one.name) and there != here and FLOORS.get(there, 99) >= FLOORS[here]:
                floors = f"floor {FLOORS[here]} from floor {FLOORS.get(there)}"
                found.append(f"{one.where}: {here} imports {one.name}, {floors}")
    faults("Imports that go sideways or up:", found)


def test_survey_never_imports_web() -> None:
    found = [one.where for module in modules() if module.name.startswith("survey") for one in module.imports
             if one.name.split(".")[0] == "web"]  # fmt: skip
    faults("survey imports web:", found)


def test_doors_see_only_the_bench_and_the_nouns() -> None:
    looked_at = in_rooms(DOORS)
    assert len(looked_at) > 20
    found = [
        f"{one.where}: {module.name} imports {one.name}"
        for module in looked_at
        for one in module.imports
        if one.name.split(".")[0] == "survey"
        and (room(one.name) not in SEEN_FROM_THE_DOORS or one.name.startswith("survey.bench."))
    ]
    faults("Doors that reach past the bench:", found)


def test_each_library_stays_in_its_room() -> None:
    found = [
        f"{one.where}: {library} belongs to {' and '.join(OWNERS[library]) or 'no room yet'}"
        for module in modules()
        for one in module.imports
        if (library := one.name.split(".")[0]) in OWNERS and room(module.name) not in OWNERS[library]
    ]
    faults("Libraries out of their rooms:", found)


def _impure(module: Module) -> list[str]:
    found = [
        f"{one.where}: imports {one.name}"
        for one in module.imports
        if not ours(one.name) and one.name.split(".")[0] not in PURE
    ]
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in IMPURE_CALLS:
            found.append(f"{module.where(node)}: calls {node.func.id}()")
        if isinstance(node, ast.Attribute) and node.attr in CLOCKS:
            found.append(f"{module.where(node)}: reads the clock with .{node.attr}")
    return found


@pytest.mark.parametrize("name", [*WORDS_AND_NOUNS, *THOUGHT])
def test_thought_nouns_and_words_are_pure(name: str) -> None:
    looked_at = in_rooms((name,))
    assert looked_at, f"there is no {name} to look at"
    faults(f"{name} reaches out of the house:", [fault for module in looked_at for fault in _impure(module)])


def test_the_check_of_purity_sees_what_it_should() -> None:
    source = "import os\nfrom datetime import datetime\n\ndef f():\n    open('x')\n    return datetime.now()\n"
    tree = ast.parse(source)
    module = Module("survey.grading.x", TOP / "survey/x.py", tree, (Import("os", "survey/x.py:1", True),))
    assert _impure(module) == [
        "survey/x.py:1: imports os",
        "survey/x.py:5: calls open()",
        "survey/x.py:6: reads the clock with .now",
    ]


def _cycles(edges: dict[str, set[str]]) -> list[str]:
    """One line for each ring of imports."""
    found: list[str] = []
    done: set[str] = set()

    def walk(name: str, trail: tuple[str, ...]) -> None:
        if name in trail:
            found.append(" -> ".join([*trail[trail.index(name) :], name]))
        elif name not in done:
            for target in sorted(edges.get(name, ())):
                walk(target, (*trail, name))
            done.add(name)

    for name in sorted(edges):
        walk(name, ())
    return found


def test_nothing_imports_in_a_ring() -> None:
    edges = {module.name: {one.name for one in module.imports if ours(one.name)} for module in modules()}
    faults("Rings of imports:", _cycles(edges))


def test_the_check_of_rings_sees_a_ring() -> None:
    assert _cycles({"a": {"b"}, "b": {"c"}, "c": {"a"}, "d": {"a"}}) == ["a -> b -> c -> a"]


def _makes_a_blueprint(module: Module) -> bool:
    return any(
        isinstance(node, ast.Call) and ast.unparse(node.func).split(".")[-1] == "Blueprint"
        for node in ast.walk(module.tree)
    )


def _makes_the_app(module: Module) -> bool:
    return any(isinstance(node, ast.FunctionDef) and node.name == "create_app" for node in module.tree.body)


def test_only_create_app_sees_the_blueprints() -> None:
    pages = {module.name for module in modules() if _makes_a_blueprint(module)}
    makers = [module.name for module in modules() if _makes_the_app(module)]
    assert len(makers) == 1, f"create_app stands in {makers or 'no module'}"
    found = [
        f"{one.where}: {module.name} imports the pages of {one.name}"
        for module in modules()
        if module.name not in makers
        for one in module.imports
        if one.name in pages - {module.name}
    ]
    faults("Pages seen from elsewhere than create_app:", found)


@pytest.mark.parametrize("name", ["survey.bench", "survey.knowledge", "survey.settings"])
def test_importing_the_verbs_loads_no_heavy_library(name: str) -> None:
    code = f"import sys, json, {name}; print(json.dumps(sorted(sys.modules)))"
    run = subprocess.run([sys.executable, "-c", code], cwd=TOP, capture_output=True, text=True, check=False)
    assert run.returncode == 0, run.stderr
    loaded = set(json.loads(run.stdout))
    faults(f"import {name} loads:", sorted(loaded & set(HEAVY)))
