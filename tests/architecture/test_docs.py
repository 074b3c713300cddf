"""Listed in code means found in the docs; links lead somewhere; the README's promises are the ones that are kept."""

from __future__ import annotations

import re
import shlex
import tomllib
from pathlib import Path

import pytest
from house import TOP

from docs import generate
from survey import errors, settings
from survey.grading.verbs import get_rulebook, get_vocabulary
from survey.parts.finding_verbs import list_finding_kinds
from survey.photos.file_type import REASONS, WARNINGS
from survey.schedule.verbs import list_kinds
from survey.store.schema import migrations
from survey.store.tables import TABLES
from web.main import main

REFERENCE = TOP / "docs" / "reference"
WRITTEN = sorted([*(TOP / "docs").rglob("*.md"), TOP / "README.md", TOP / "DEVELOPERS.md"])


def text(name: str) -> str:
    return (REFERENCE / name).read_text("utf-8")


def absent(names: list[str], name: str) -> list[str]:
    page = text(name)
    return [one for one in names if one not in page]


@pytest.mark.parametrize("name", sorted(generate.PAGES))
def test_the_reference_is_what_the_code_says(name: str) -> None:
    written = text(name) if (REFERENCE / name).exists() else ""
    assert written == generate.PAGES[name](), f"docs/reference/{name} lags behind: run python -m docs.generate"


def test_every_command_and_option_is_documented() -> None:
    assert absent([f"## {name}\n" for name in main.commands], "commands.md") == []
    page = text("commands.md")
    for name, command in main.commands.items():
        section = page.split(f"## {name}\n", 1)[1].split("\n## ", 1)[0]
        options = [option for parameter in command.params for option in parameter.opts if option.startswith("-")]
        assert [option for option in options if f"`{option}" not in section and f" {option}" not in section] == [], name


@pytest.mark.parametrize("name", sorted(main.commands))
def test_every_command_has_help_and_an_example_that_starts_with_its_name(name: str) -> None:
    command = main.commands[name]
    assert command.help
    assert (command.epilog or "").startswith(f"Example: teachest {name}")
    written = [option for option in command.params if option.opts[0].startswith("-")]
    assert [option.name for option in written if not getattr(option, "help", "")] == []


def test_every_rule_and_reading_is_documented() -> None:
    book = get_rulebook()
    assert absent([f"### {row.id}: {row.then}\n" for row in book.rows], "rules.md") == []
    assert absent([f"`{kind}`" for kind in book.readings], "rules.md") == []


def test_every_finding_and_word_is_documented() -> None:
    assert absent([f"## {kind.id}: " for kind in list_finding_kinds()], "findings.md") == []
    assert absent([f"`{word}`" for word in get_vocabulary().class_], "words.md") == []
    assert absent([f"({one.id})" for kind in list_kinds() for one in kind.components], "kinds.md") == []


def test_every_refusal_is_documented_and_no_slug_stands_for_two() -> None:
    slugs = [kind.slug for kind in generate.subclasses(errors.Refusal)]
    assert absent([f"`{slug}`" for slug in [*slugs, *REASONS, *WARNINGS]], "messages.md") == []
    assert sorted(slugs) == sorted(set(slugs))


def test_every_address_is_documented() -> None:
    routes = generate.routes()
    assert absent([f"`{address}`" for address, _, _ in routes], "pages.md") == []
    assert [address for address, _, about in routes if not about] == [], "views without a docstring"


def test_every_table_and_column_has_its_comment() -> None:
    from sqlite_utils import Database

    db = Database(memory=True)
    migrations.apply(db)
    ours = {name for name in db.table_names() if not name.startswith(("_", "sqlite_"))}
    columns = {name: {column.name for column in db[name].columns} for name in ours}
    db.close()
    assert columns == {name: set(table.columns) for name, table in TABLES.items()}


def test_every_setting_is_documented() -> None:
    assert absent([f"`{one.variable}`" for one in settings.list_settings()], "settings.md") == []


def test_links_in_the_docs_lead_somewhere() -> None:
    found = []
    for path in WRITTEN:
        for target in re.findall(r"\]\(([^)\s]+)\)", path.read_text("utf-8")):
            here = (path.parent / target.partition("#")[0]).resolve()
            if not target.startswith(("http", "#", "mailto:")) and not here.exists():
                found.append(f"{path.relative_to(TOP).as_posix()}: {target}")
    assert found == []


def test_every_page_of_the_docs_can_be_reached_from_the_index() -> None:
    index = (TOP / "docs" / "index.md").read_text("utf-8")
    pages = {path.relative_to(TOP / "docs").as_posix() for path in WRITTEN if TOP / "docs" in path.parents}
    assert [page for page in sorted(pages - {"index.md"}) if f"]({page})" not in index] == []


def shell_blocks(path: Path) -> list[str]:
    return re.findall(r"```(?:sh|console)\n(.*?)```", path.read_text("utf-8"), re.DOTALL)


def test_every_command_that_the_docs_show_is_one_there_is() -> None:
    found = []
    for path in WRITTEN:
        for block in shell_blocks(path):
            for name, rest in re.findall(r"(?:^|\s|/)teachest ([a-z]+)((?: [^\n#&]*)?)", block):
                command = main.commands.get(name)
                options = set(re.findall(r"(?<=\s)--[a-z-]+", rest))
                known = {option for parameter in command.params for option in parameter.opts} if command else set()
                if command is None or options - known:
                    found.append(f"{path.relative_to(TOP).as_posix()}: teachest {name}{rest}")
    assert found == []


def test_the_tutorial_can_be_followed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from click.testing import CliRunner
    from PIL import Image

    export = tmp_path / "phone-export"
    export.mkdir()
    for shade in range(3):
        Image.new("RGB", (120, 90), (shade * 60, 90, 60)).save(export / f"IMG_{shade}.jpg")
    monkeypatch.chdir(tmp_path)
    lines = [line for block in shell_blocks(TOP / "docs" / "tutorial.md") for line in block.splitlines()]
    assert len(lines) > 15
    for line in lines:
        words = shlex.split(line.replace("~/phone-export", str(export)))
        assert words[0] == "teachest"
        if words[1] != "serve":
            result = CliRunner().invoke(main, words[1:], catch_exceptions=False)
            assert result.exit_code == 0, f"{line}\n{result.output}"
    assert (tmp_path / "report.pdf").read_bytes().startswith(b"%PDF")


def test_the_readme_promises_two_commands() -> None:
    readme = (TOP / "README.md").read_text("utf-8")
    lines = [line for line in readme.splitlines() if line.startswith("python3 -m venv")]
    assert len(lines) == 2
    assert lines[0].endswith("teachest demo")
    assert lines[1].endswith("-m pytest")
    assert "<!-- test command -->" in readme
    assert "(docs/pictures/report-page.png)" in readme


def test_the_changelog_names_this_version() -> None:
    from survey import __version__

    assert f"## {__version__}" in (TOP / "docs" / "changelog.md").read_text("utf-8")
    project = tomllib.loads((TOP / "pyproject.toml").read_text("utf-8"))["project"]
    assert project["name"] == "teachest"
    assert project["scripts"] == {"teachest": "web.main:main"}


def test_why_pages_are_dated() -> None:
    found = [path.name for path in sorted((TOP / "docs" / "why").glob("*.md"))
             if not re.search(r"^\d{4}-\d\d-\d\d$", path.read_text("utf-8"), re.MULTILINE)]  # fmt: skip
    assert found == []
