"""Reads the rule tables and the readings, validates them, and makes the rulebook."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from hashlib import sha256
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Any

from survey.data_files import Closed, TomlFile
from survey.data_files import Row as FileRow
from survey.errors import BrokenKnowledge
from survey.finding_kinds import load_finding_kinds
from survey.grading.proof import prove_rulebook
from survey.grading.readings import LIMIT_SURE, Limit, ReadingKind
from survey.grading.rows import STAGES, Row, RuleTable
from survey.grading.rulebook import Rulebook, Words
from survey.grading.tables import HIT_POLICIES, Between, Value
from survey.model.grading import HARDEST_FIRST
from survey.model.parts import FindingKind
from survey.model.schedule import Component
from survey.schedule.data import load_catalogues
from survey.vocabulary import parse_vocabulary

_ROW_MUST = ("id", "when", "then", "because", "source", "sure")
_ROW_SURE = ("stated", "common practice", "judgement")
_BOUNDS = ("most", "least", "below")


@lru_cache(maxsize=1)
def load_rulebook() -> Rulebook:
    """The rulebook of this Teachest, read and proved once; raises BrokenKnowledge at a fault."""
    components = [component for kind in load_catalogues() for component in (*kind.components, *kind.extras)]
    book = parse_rulebook(files("survey").joinpath("data"), load_finding_kinds(), components)
    prove_rulebook(book, components)
    return book


def parse_rulebook(data: Traversable, findings: Iterable[FindingKind], components: Iterable[Component]) -> Rulebook:
    """The rulebook in a data folder, before the proof.

    ``data``: holds vocabulary.toml, readings.toml and rules/*.toml. Raises BrokenKnowledge for what cannot be read.
    """
    vocabulary = parse_vocabulary(data.joinpath("vocabulary.toml").read_text("utf-8"))
    folder = [path for path in data.joinpath("rules").iterdir() if path.name.endswith(".toml")]
    paths = sorted(folder, key=lambda path: path.name)
    sources = [TomlFile(f"rules/{path.name}", path.read_text("utf-8")) for path in paths]
    readings = TomlFile("readings.toml", data.joinpath("readings.toml").read_text("utf-8"))
    words = Words(
        classes=tuple(vocabulary.class_),
        materials=tuple(vocabulary.material),
        speaks_of={kind.id: kind.speaks_of for kind in findings},
        components=frozenset(component.id for component in components),
        claims=frozenset(
            (str(finding), int(step)) for source in sources for finding, step in _list_in_head(source, "claims")
        ),
        absent=frozenset(str(finding) for source in sources for finding in _list_in_head(source, "absent")),
    )
    tables = tuple(_parse_table(source) for source in sources if "table" in source.content)
    return Rulebook(tables, _parse_readings(readings, words), words, _describe_version([*sources, readings]))


def _describe_version(sources: Sequence[TomlFile]) -> str:
    edition = next((source.content["edition"] for source in sources if "edition" in source.content), None)
    if edition is None:
        raise BrokenKnowledge("The rules folder has no edition.toml with [edition] number and date.", "Add it.")
    digest = sha256("".join(source.text for source in sources).encode()).hexdigest()[:8]
    return f"{edition['number']} of {edition['date']}, {digest}"


def _list_in_head(file: TomlFile, key: str) -> list[Any]:
    """A list in the table's head; empty if it is absent."""
    words: list[Any] = file.content.get("table", {}).get(key, [])
    return words


def _parse_table(file: TomlFile) -> RuleTable:
    """The rule table of a file, for the findings that its rows name."""
    head = file.table("table")
    name = str(head.cells.get("name", file.name))
    head = FileRow(file.name, 1, {**head.cells, "id": name})
    rows = tuple(_parse_row(row, name) for row in file.rows("row"))
    stage = head.cells.get("stage")
    findings = [str(word) for row in rows for word in row.words("finding") or ()] if stage == "finding" else []
    closed = {"stage": Closed(STAGES), "hit": Closed(HIT_POLICIES)}
    return head.record(
        RuleTable, closed, besides=("id", "claims", "absent"), rows=rows, findings=frozenset(findings), file=file.name
    )


def _parse_row(row: FileRow, table: str) -> Row:
    if not row.cells.get("id") or "when" not in row.cells:
        raise row.fault("when" if row.cells.get("id") else "id", "it is not there", _ROW_MUST)
    when: dict[str, frozenset[Value]] = {}
    for column, words in row.cells["when"].items():
        if not isinstance(words, list) or not words:
            raise row.fault(column, f"{words!r} is no list of words")
        when[column] = frozenset(words)
    closed = {"sure": Closed(_ROW_SURE), "then": Closed(HARDEST_FIRST, "is no outcome")}
    given: dict[str, Any] = {"table": table, "when": when, "file": row.file, "line": row.line}
    return row.record(Row, closed, besides=("when",), needed=("source", "sure"), **given)


def _parse_readings(file: TomlFile, words: Words) -> dict[str, ReadingKind]:
    """Every kind of reading by id, including those for the maker's own figures."""
    kinds: dict[str, ReadingKind] = {}
    for row in file.rows("reading"):
        kind = _parse_reading(row, words)
        for reading in filter(None, (kind, kind.book_figure())):
            if reading.id in kinds:
                raise row.fault("id", "the id is taken")
            kinds[reading.id] = reading
    return kinds


def _parse_reading(row: FileRow, words: Words) -> ReadingKind:
    closed = {"classes": words.classes, "answers": words.allowed("finding"), "book": (None, "most", "least")}
    given: dict[str, Any] = {
        "limit_for": None,
        "file": row.file,
        "line": row.line,
        "believable": _parse_believable(row),
    }
    given["limits"] = tuple(_parse_limit(row, raw, words) for raw in row.cells.get("limit", ()))
    return row.record(ReadingKind, closed, besides=("believable", "limit"), empty=("answers",), **given)


def _parse_believable(row: FileRow) -> Between:
    if "believable" not in row.cells:
        raise row.fault("believable", "it is not there", ("two numbers, the least and the most",))
    pair = row.cells["believable"]
    numbers = [end for end in pair if type(end) in (int, float)] if isinstance(pair, list) else []
    if pair != numbers or len(numbers) != 2 or numbers[0] >= numbers[1]:
        raise row.fault("believable", f"{pair!r}", ("two numbers, the least and the most",))
    return Between(least=numbers[0], most=numbers[1])


def _parse_limit(reading: FileRow, raw: Mapping[str, Any], words: Words) -> Limit:
    row = FileRow(reading.file, reading.line, {"id": reading.id, **raw})
    bounds = {key: float(raw[key]) for key in _BOUNDS if key in raw}
    limit = row.record(Limit, {"sure": Closed(LIMIT_SURE)}, besides=("id", *_BOUNDS), within=Between(**bounds))
    row.check_words("limit materials", limit.materials, words.materials)
    row.check_words("limit components", limit.components, words.allowed("component"))
    if not bounds:
        raise row.fault("limit", "it has no figure", _BOUNDS)
    return limit
