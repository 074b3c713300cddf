"""The house, checked from the imports: what each kind of file may use, which room may see which, who owns a library.

The kind of a file is told by its name. ``verbs.py`` and ``..._verbs.py`` are what a person does; ``records.py`` reads
rows as nouns; ``data.py`` reads the product's data; ``printed.py`` makes blocks for paper; ``files.py`` writes files;
``model`` holds nouns. Everything else in a room is pure, except what ``HANDS`` names.
"""

from __future__ import annotations

import ast
import json
import subprocess
import sys

import pytest
from house import TOP, Import, Module, is_verbs, modules

# Lowest first: a room sees the rooms before it. Reading another room's rows (its records) is free.
ROOMS = (
    "store", "document", "schedule", "photos", "grading", "parts", "machine", "outwork", "build_order", "belonging",
    "wants", "money", "fits", "shelf", "gates", "today", "stuck", "placing", "safekeeping", "report", "history",
)  # fmt: skip
# What touches the disk although its name is of no other kind: two whole rooms, and how a photo's bytes come in.
HANDS = (
    "survey.store", "survey.safekeeping", "survey.photos.decode", "survey.photos.decode_child", "survey.photos.intake",
    "survey.photos.metadata", "survey.photos.pictures", "survey.photos.sources", "survey.photos.staging",
    "survey.document.cut", "survey.document.files", "survey.document.page", "survey.document.pdf",
    "survey.document.sheet_files", "survey.document.json_file",
)  # fmt: skip
# Modules of the base that read a file: settings, and the product's data.
READERS = ("survey.data_files", "survey.finding_kinds", "survey.settings", "survey.vocabulary")
# Shipped letters are read to know which characters they have.
SHIPPED = ("survey.document.printable",)
KINDS = ("verbs", "records", "data", "printed", "files")

# Kind of file -> kinds it may import.
MAY_IMPORT = {
    "model": {"model", "base"},
    "base": {"base", "model"},
    "pure": {"base", "model", "pure"},
    "data": {"base", "model", "pure", "data"},
    "records": {"base", "model", "pure", "records", "hands"},
    "printed": {"base", "model", "pure", "printed"},
    "hands": {"base", "model", "pure", "hands"},
    "files": {"base", "model", "pure", "printed", "hands", "files"},
    "verbs": {"base", "model", "pure", "data", "records", "printed", "hands", "files", "verbs"},
    "door": {"base", "model", "pure", "verbs", "door"},
}
# The open survey, which every verb takes first: doors name its type.
OPEN_SURVEY = "survey.store.survey"

# Library -> the only modules or rooms that may import it.
OWNERS = {
    # A rebuilt picture is looked at, and the versions of what opens strangers' files are asked for.
    "PIL": ("survey.photos", "survey.document", "survey.safekeeping.rebuild", "survey.safekeeping.library_versions"),
    "click": ("survey.cli", "web"),
    "cv2": (),
    "exifread": ("survey.photos",),
    "flask": ("web",),
    "jinja2": ("survey.document", "web"),
    "pillow_heif": ("survey.photos", "survey.safekeeping.library_versions"),
    "platformdirs": ("survey.settings",),
    "rich": ("survey.cli",),
    # Putting a backup back builds a new database beside the survey; nothing else but the store opens one.
    "sqlite3": ("survey.store", "survey.safekeeping.restore"),
    "sqlite_utils": ("survey.store", "survey.safekeeping.restore"),
    "typst": ("survey.document",),
    "waitress": ("web",),
    "werkzeug": ("web",),
}

# What pure modules may use of the standard library: nothing that reaches a disk, a clock or a network.
PURE = frozenset({
    "__future__", "bisect", "collections", "dataclasses", "datetime", "decimal", "difflib", "enum", "fractions",
    "functools", "graphlib", "heapq", "html", "itertools", "math", "operator", "re", "statistics", "string", "types",
    "typing", "unicodedata", "csv", "io", "json",
})  # fmt: skip
IMPURE_CALLS = frozenset({"open", "print", "input", "exec", "eval", "__import__"})
CLOCKS = frozenset({"now", "today", "utcnow", "fromtimestamp"})

# numpy is not among them: sqlite_utils takes it up of its own accord where the tests have installed it.
HEAVY = ("PIL", "cv2", "exifread", "flask", "jinja2", "pillow_heif", "rich", "typst", "waitress", "werkzeug")


def within(name: str, places: tuple[str, ...]) -> bool:
    """Whether a module is one of these, or in one of these rooms."""
    return any(name == place or name.startswith(f"{place}.") for place in places)


def room(name: str) -> str:
    """``survey.wants.verbs`` is in ``wants``; a module of the base is in no room."""
    parts = name.split(".")
    return parts[1] if parts[0] == "survey" and len(parts) > 1 and parts[1] in ROOMS else ""


def kind(name: str) -> str:
    """Which kind of file a module is, told by its name."""
    leaf = name.rpartition(".")[2]
    if within(name, ("web", "survey.cli")):
        return "door"
    if within(name, ("survey.model",)):
        return "model"
    if not room(name) or name.count(".") == 1:
        return "base"
    if is_verbs(name):
        return "verbs"
    if within(name, HANDS):
        return "hands"
    return next((kind for kind in KINDS if leaf == kind or leaf.endswith(f"_{kind}")), "pure")


def ours(name: str) -> bool:
    return name.split(".")[0] in ("survey", "web")


def faults(message: str, found: list[str]) -> None:
    assert not found, f"{message}\n  " + "\n  ".join(found)


def test_every_package_is_a_room_that_is_named() -> None:
    packages = {module.name.split(".")[1] for module in modules() if module.name.count(".") > 1 and ours(module.name)}
    faults("Rooms that ROOMS does not name:", sorted(packages - {*ROOMS, "model", "cli", "pages", "presenters"}))
    faults("Rooms that are not there:", sorted(set(ROOMS) - packages))


def test_every_kind_of_file_imports_only_what_it_may() -> None:
    seen = set()
    found = []
    for module in modules():
        seen.add(kind(module.name))
        for one in module.imports:
            there = kind(one.name) if ours(one.name) else ""
            if there and there not in MAY_IMPORT[kind(module.name)] and one.name != OPEN_SURVEY:
                found.append(f"{one.where}: {module.name} ({kind(module.name)}) imports {one.name} ({there})")
    assert seen == set(MAY_IMPORT)
    faults("Files that reach for a kind they may not use:", found)


def test_a_room_sees_only_the_rooms_before_it() -> None:
    found = []
    for module in modules():
        here = room(module.name)
        for one in module.imports:
            there = room(one.name)
            after = here and there and ROOMS.index(there) > ROOMS.index(here)
            if after and kind(one.name) != "records":
                found.append(f"{one.where}: {module.name} imports {one.name}")
    faults("Rooms that see a room after them (see ROOMS):", found)


def test_survey_never_imports_web() -> None:
    found = [one.where for module in modules() if module.name.startswith("survey") for one in module.imports
             if one.name.split(".")[0] == "web"]  # fmt: skip
    faults("survey imports web:", found)


def test_each_library_stays_in_its_room() -> None:
    found = [
        f"{one.where}: {library} belongs to {' and '.join(OWNERS[library]) or 'no room yet'}"
        for module in modules()
        for one in module.imports
        if (library := one.name.split(".")[0]) in OWNERS and not within(module.name, OWNERS[library])
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


@pytest.mark.parametrize("name", ["model", "base", "pure", "printed"])
def test_nouns_base_pure_modules_and_what_is_printed_touch_nothing_outside(name: str) -> None:
    looked_at = [
        module
        for module in modules()
        if kind(module.name) == name and not within(module.name, READERS) and module.name not in SHIPPED
    ]
    assert len(looked_at) > 5
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


def test_importing_the_verbs_loads_no_heavy_library() -> None:
    names = ", ".join([*(module.name for module in modules() if is_verbs(module.name)), "survey.settings"])
    code = f"import sys, json, {names}; print(json.dumps(sorted(sys.modules)))"
    run = subprocess.run([sys.executable, "-c", code], cwd=TOP, capture_output=True, text=True, check=False)
    assert run.returncode == 0, run.stderr
    loaded = set(json.loads(run.stdout))
    faults("Importing the verbs loads:", sorted(loaded & set(HEAVY)))
