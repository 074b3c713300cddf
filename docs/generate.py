"""Writes the reference pages from the code: ``python -m docs.generate``; a test fails where they lag behind.

With ``--check`` nothing is written; the pages that lag are named and the exit code is 1.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import click

    from survey.errors import Refusal
    from survey.grading.readings import Limit, ReadingKind
    from survey.grading.rows import Row

REFERENCE = Path(__file__).resolve().parent / "reference"
MADE = "<!-- Made by `python -m docs.generate`; change the code, not this page. -->\n"


def cell(text: object) -> str:
    """Text that stays inside one cell of a Markdown table; code between backticks is left as it is."""
    line = " ".join(str(text).split()).replace("|", "\\|")
    return line if line.startswith("`") else line.replace("<", "&lt;")


def table(heads: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """A Markdown table."""
    lines = [heads, ["---"] * len(heads), *rows]
    return "\n".join("| " + " | ".join(map(cell, line)) + " |" for line in lines) + "\n"


def page(title: str, about: str, *sections: str) -> str:
    """One page: title, what it is about, its sections."""
    return "\n\n".join([MADE + f"# {title}", about, *(section.strip("\n") for section in sections)]) + "\n"


def subclasses(kind: type[Refusal]) -> list[type[Refusal]]:
    """A refusal and all kinds of it."""
    return [kind, *(below for child in kind.__subclasses__() for below in subclasses(child))]


def options(command: click.Command) -> list[tuple[str, str]]:
    """Every argument and option of a command as written, and what it means."""
    import click

    found = []
    for parameter in command.params:
        if isinstance(parameter, click.Option):
            # click reads an option's default as a sentinel where none is given; only real words are worth printing.
            metavar = "" if parameter.is_flag else f" {parameter.make_metavar(click.Context(command))}"
            found.append((", ".join(parameter.opts) + metavar, parameter.help or ""))
        else:
            need = "needed" if parameter.required else "may be left out"
            many = ", one or more" if parameter.nargs == -1 else ""
            found.append(((parameter.name or "").upper(), f"{need}{many}"))
    return found


def _command(name: str, command: click.Command) -> str:
    rows = [(f"`{written}`", meaning) for written, meaning in options(command)]
    about = (command.help or "").strip()
    example = f"```\n{(command.epilog or '').removeprefix('Example: ')}\n```"
    return f"## {name}\n\n{about}\n\n{example}\n\n" + table(["argument", "meaning"], rows)


def commands() -> str:
    """Every command with its arguments and options."""
    from web.main import main

    about = (
        "Exit code 0: done. 1: refused, with one sentence and a next step on standard error, and nothing changed."
        " 2: the command was written wrongly. Every command answers `--help`; those that list answer `--json`."
    )
    sections = [_command(name, command) for name, command in sorted(main.commands.items())]
    return page("Commands", about, *sections)


def _condition(row: Row) -> str:
    if not row.when:
        return "always"
    return "; ".join(f"{column}: {', '.join(sorted(map(str, words)))}" for column, words in row.when.items())


def _rule(row: Row) -> str:
    parts = [
        ("when", _condition(row)),
        ("because", row.because),
        ("remedy", row.remedy),
        ("trade", row.trade),
        ("caution", row.caution),
        ("disputed", row.argument),
        ("source", f"{row.source} ({row.sure})"),
    ]
    return f"### {row.id}: {row.then}\n\n" + "\n".join(f"- {name}: {cell(text)}" for name, text in parts if text)


def _limit(limit: Limit) -> str:
    within = limit.within
    sides = [(within.least, "at least"), (within.most, "at most"), (within.below, "below")]
    said = " and ".join(f"{words} {figure:g}" for figure, words in sides if figure is not None)
    whose = ", ".join(sorted(limit.components or limit.materials))
    return f"{said}{f' ({whose})' if whose else ''}: {limit.source} ({limit.sure})"


def _reading(kind: ReadingKind) -> tuple[object, ...]:
    limits = "; ".join(map(_limit, kind.limits)) or "none on file"
    book = kind.book_figure()
    return f"`{kind.id}`", kind.label, kind.unit, kind.how, limits, f"`{book.id}`" if book else ""


def rules() -> str:
    """Every rule row and every reading with its limits."""
    from survey.grading.verbs import get_rulebook

    book = get_rulebook()
    about = (
        f"Edition {book.version}. A part's grade is its hardest ruling: replace, examine first, repair, take a reading,"
        " not looked at, reuse. The nearest row answers a finding: one that names the component, then the class, then"
        " the material. `teachest why` shows which rows spoke for a part."
    )
    sections = [
        f"## {one.title}\n\n{one.about}\n\n" + "\n\n".join(_rule(row) for row in one.rows) for one in book.tables
    ]
    heads = ["reading", "of", "unit", "how", "limits", "the maker's figure goes in as"]
    measured = [kind for kind in book.readings.values() if kind.limit_for is None]
    readings = "## Readings\n\n" + table(heads, map(_reading, measured))
    return page("Rules", about, *sections, readings)


def findings() -> str:
    """Every finding kind with its four steps."""
    from survey.parts.finding_verbs import list_finding_kinds

    about = "A finding is a kind and a step from 1 to 4, each step something a person can see or measure."
    sections = [
        f"## {kind.id}: {kind.label}\n\nSpeaks of the {kind.speaks_of}. Group: {kind.group}."
        + (f" Met on: {kind.met_on}." if kind.met_on else "")
        + "\n\n"
        + table(["step", "name", "what you see or measure"], [(s.step, s.name, s.looks_like) for s in kind.steps])
        for kind in list_finding_kinds()
    ]
    return page("Findings", about, *sections)


def words() -> str:
    """The closed words that catalogues and rules use."""
    from survey.grading.verbs import get_vocabulary

    found = get_vocabulary()
    piles = {
        "Classes": found.class_,
        "Materials": found.material,
        "Duties": found.duty,
        "Ways of looking": found.seen,
        "Outcomes": found.outcome,
    }
    sections = [
        f"## {title}\n\n" + table(["word", "meaning"], [(f"`{word}`", meaning) for word, meaning in pile.items()])
        for title, pile in piles.items()
    ]
    about = "Catalogues and rules use these words and no others; a word that is not here fails at load."
    return page("Words", about, *sections)


def kinds() -> str:
    """The catalogues and what each assembly of them holds."""
    from survey.schedule.verbs import list_kinds

    sections = []
    for catalogue in list_kinds():
        assemblies: dict[str, list[Any]] = {}
        for component in catalogue.components:
            assemblies.setdefault(component.assembly, []).append(component)
        rows = [
            (name, len(held), ", ".join(f"{one.label} ({one.id})" for one in held)) for name, held in assemblies.items()
        ]
        sections.append(
            f"## {catalogue.kind}: {catalogue.title}\n\n{len(catalogue.components)} components, and"
            f" {len(catalogue.extras)} more that some machines carried.\n\n"
            + table(["assembly", "components", "which"], rows)
        )
    return page("Kinds", "What a complete machine of each kind has. Ids are stable.", *sections)


def schema() -> str:
    """Every table and column of a survey's database."""
    from sqlite_utils import Database

    from survey.store.schema import migrations
    from survey.store.tables import TABLES

    db = Database(memory=True)
    migrations.apply(db)
    sections = []
    for name, declared in TABLES.items():
        types = {column.name: column.type for column in db[name].columns}
        rows = [(f"`{column}`", types[column], declared.columns[column].meaning) for column in types]
        sections.append(f"## {name}\n\n" + table(["column", "type", "meaning"], rows))
    db.close()
    about = (
        "`survey.db` is an SQLite database that any SQLite tool can read. Write to it only through Teachest: each"
        " change goes with its history in `event`."
    )
    return page("Schema", about, *sections)


def _first(thing: object) -> str:
    return (thing.__doc__ or "").strip().split("\n\n")[0]


def messages() -> str:
    """Every kind of refusal, and why a file may not be taken in."""
    from survey.errors import Refusal
    from survey.photos.file_type import REASONS, WARNINGS

    about = (
        "A refusal is one sentence that says what happened and one that says what to do. Nothing was changed."
        " The slugs are stable; scripts may rely on them."
    )
    rows = [(f"`{kind.slug}`", _first(kind)) for kind in subclasses(Refusal)]
    refused = [(f"`{reason}`", meaning) for reason, meaning in REASONS.items()]
    warned = [(f"`{reason}`", meaning) for reason, meaning in WARNINGS.items()]
    return page(
        "Messages",
        about,
        "## Refusals\n\n" + table(["slug", "when"], rows),
        "## Why a file is not taken in\n\n" + table(["reason", "it is"], refused),
        "## What is said of a file that was taken in\n\n" + table(["reason", "it is"], warned),
    )


def routes() -> list[tuple[str, str, str]]:
    """Every address of the browser's pages: the address, its methods, what it does."""
    from survey.shelf.verbs import make_survey
    from web import create_app

    with TemporaryDirectory() as room:
        folder = Path(room) / "survey"
        make_survey(folder, "lightweight", "Addresses").close()
        app = create_app(folder)
        app.extensions["survey"].close()
    found = []
    for rule in app.url_map.iter_rules():
        methods = ", ".join(sorted((rule.methods or set()) - {"HEAD", "OPTIONS"}))
        about = _first(app.view_functions[rule.endpoint])
        found.append((rule.rule, methods, "A file that comes with the pages." if rule.endpoint == "static" else about))
    return sorted(found)


def pages() -> str:
    """Every address of the browser's pages."""
    about = "`teachest serve` answers these addresses, to this machine only. Every page is plain links and forms."
    rows = [(f"`{address}`", methods, about) for address, methods, about in routes()]
    return page("Pages", about, table(["address", "method", "what it does"], rows))


def settings() -> str:
    """Every setting, and every unit a size may be written in."""
    from survey.settings import CONFIG_VARIABLE, list_settings

    about = (
        "`config.toml` in the configuration folder of your system: `~/.config/teachest` on Linux,"
        " `~/Library/Application Support/teachest` on a Mac, `%LOCALAPPDATA%\\teachest` on Windows."
        f" `{CONFIG_VARIABLE}` names another file. The environment outweighs the file."
    )
    where = {"kind": "; see them with: teachest kinds"}
    rows = [
        (f"`{one.name}`", f"`{one.variable}`", f"`{one.default!r}`", one.allowed + where.get(one.name, ""))
        for one in list_settings()
    ]
    return page("Settings", about, table(["setting", "variable", "default", "what it may be"], rows))


def sizes() -> str:
    """Every unit a size may be written in."""
    from survey.units import EXAMPLES, UNITS

    about = (
        f"Write {EXAMPLES}. Fractions are kept exactly; the inch is 25.4 mm exactly (international yard and pound"
        " agreement, 1959). A fraction is never taken for millimetres unless they stand beside it. A comma is a decimal"
        " point, unless it could be read either way. A thread is two sizes: its outside diameter and its pitch."
    )
    rows = [(f"`{unit.id}`", unit.dimension, ", ".join(f"`{s}`" for s in unit.spellings)) for unit in UNITS.values()]
    return page("Sizes", about, table(["unit", "measures", "may also be written"], rows))


PAGES: dict[str, Callable[[], str]] = {
    "commands.md": commands,
    "findings.md": findings,
    "kinds.md": kinds,
    "messages.md": messages,
    "pages.md": pages,
    "rules.md": rules,
    "schema.md": schema,
    "settings.md": settings,
    "sizes.md": sizes,
    "words.md": words,
}


def lagging() -> list[str]:
    """The pages that are not what the code would write."""
    found = []
    for name, made in PAGES.items():
        path = REFERENCE / name
        if not path.exists() or path.read_text("utf-8") != made():
            found.append(name)
    return found


def main(arguments: Sequence[str]) -> int:
    """Write every page, or with ``--check`` only name those that lag."""
    late = lagging()
    for name in late:
        if "--check" not in arguments:
            REFERENCE.mkdir(exist_ok=True)
            (REFERENCE / name).write_text(PAGES[name](), "utf-8", newline="\n")
        print(f"docs/reference/{name}")
    return int(bool(late) and "--check" in arguments)


if __name__ == "__main__":
    from survey.errors import Refusal as Refused

    try:
        code = main(sys.argv[1:])
    except Refused as refused:
        print(f"{refused.sentence} {refused.next_step}".strip(), file=sys.stderr)
        code = 1
    sys.exit(code)
