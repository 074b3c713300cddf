"""Reads the rule tables and the readings, proves them, and hands out the rulebook."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from hashlib import sha256
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Any

from survey.errors import BrokenKnowledge
from survey.grading.proof import prove
from survey.grading.readings import LIMIT_SURE, Limit, ReadingKind
from survey.grading.rows import STAGES, Row, RuleTable
from survey.grading.rulebook import Rulebook, Words
from survey.grading.tables import HIT_POLICIES, Between, Value
from survey.knowledge.catalogues import catalogues
from survey.knowledge.findings import finding_kinds
from survey.knowledge.vocabulary import fault, read_vocabulary, toml
from survey.model import Component, FindingKind

_TABLE_KEYS = ("name", "title", "about", "stage", "hit", "findings", "claims", "absent")
_ROW_KEYS = ("id", "when", "then", "because", "remedy", "trade", "caution", "source", "sure", "argument")
_ROW_MUST = ("id", "when", "then", "because", "source", "sure")
_ROW_SURE = ("stated", "common practice", "judgement")
_READING_KEYS = (
    "id", "label", "unit", "classes", "answers", "how", "believable", "needed", "owed", "book", "limit",
)  # fmt: skip
_READING_MUST = ("id", "label", "unit", "classes", "answers", "how", "believable")
_LIMIT_KEYS = ("most", "least", "below", "materials", "components", "source", "sure", "argument")


@lru_cache(maxsize=1)
def rulebook() -> Rulebook:
    """The rulebook of this Teachest, read and proved once; raises BrokenKnowledge where it does not prove itself."""
    components = [component for kind in catalogues() for component in (*kind.components, *kind.extras)]
    book = read_rulebook(files("survey").joinpath("data"), finding_kinds(), components)
    prove(book, components)
    return book


def read_rulebook(data: Traversable, findings: Iterable[FindingKind], components: Iterable[Component]) -> Rulebook:
    """The rulebook that stands in a data folder, not yet proved.

    ``data``: holds vocabulary.toml, readings.toml and rules/*.toml. Raises BrokenKnowledge for what cannot be read.
    """
    vocabulary = read_vocabulary(data.joinpath("vocabulary.toml").read_text("utf-8"))
    folder = [path for path in data.joinpath("rules").iterdir() if path.name.endswith(".toml")]
    sources = [_Source(f"rules/{path.name}", path) for path in sorted(folder, key=lambda path: path.name)]
    readings = _Source("readings.toml", data.joinpath("readings.toml"))
    words = Words(
        classes=tuple(vocabulary.class_),
        materials=tuple(vocabulary.material),
        speaks_of={kind.id: kind.speaks_of for kind in findings},
        components=frozenset(component.id for component in components),
        claims=frozenset((str(finding), int(step)) for source in sources for finding, step in source.head("claims")),
        absent=frozenset(str(finding) for source in sources for finding in source.head("absent")),
    )
    tables = tuple(source.table() for source in sources if "table" in source.content)
    return Rulebook(tables, readings.readings(words), words, _version([*sources, readings]))


def _version(sources: Sequence[_Source]) -> str:
    edition = next((source.content["edition"] for source in sources if "edition" in source.content), None)
    if edition is None:
        raise BrokenKnowledge("The rules folder has no edition.toml with [edition] number and date.", "Add it.")
    digest = sha256("".join(source.text for source in sources).encode()).hexdigest()[:8]
    return f"{edition['number']} of {edition['date']}, {digest}"


class _Source:
    """One TOML file, with the lines its rows start on, so that an error can point at them."""

    def __init__(self, name: str, path: Traversable) -> None:
        self.name = name
        self.text = path.read_text("utf-8")
        self.content = toml(self.text, name)

    def head(self, key: str) -> list[Any]:
        """A list of the table's head, empty where there is none."""
        found: list[Any] = self.content.get("table", {}).get(key, [])
        return found

    def lines(self, header: str) -> list[int]:
        """The line each ``[[header]]`` stands on."""
        return [n for n, line in enumerate(self.text.splitlines(), 1) if line.strip() == f"[[{header}]]"]

    def fault(self, line: int, row: str, cell: str, wrong: str, allowed: Iterable[object] = ()) -> BrokenKnowledge:
        """The error for one cell: file, line, row, cell, what is wrong and what was allowed."""
        return fault(self.name, line, row, cell, wrong, allowed)

    def keys(self, line: int, raw: Mapping[str, Any], must: Sequence[str], may: Sequence[str]) -> str:
        """The row's id, once its keys are those a row has."""
        row = str(raw.get("id", "without an id"))
        for key in must:
            if key not in raw:
                raise self.fault(line, row, key, "it is not there", must)
        for key in raw:
            if key not in may:
                raise self.fault(line, row, key, "there is no such cell", may)
        return row

    def word(self, line: int, row: str, cell: str, value: object, allowed: Sequence[object]) -> Any:
        """The value, if it is one of the allowed."""
        if value not in allowed:
            raise self.fault(line, row, cell, f"{value!r} is no word of ours", allowed)
        return value

    def table(self) -> RuleTable:
        """The rule table the file holds."""
        head = self.content["table"]
        name = str(head.get("name", self.name))
        self.keys(1, {"id": name, **head}, ("name", "title", "about", "stage", "hit"), ("id", *_TABLE_KEYS))
        rows = zip(self.lines("row"), self.content.get("row", []), strict=True)
        return RuleTable(
            name=name,
            title=head["title"],
            about=head["about"],
            stage=self.word(1, name, "stage", head["stage"], STAGES),
            hit=self.word(1, name, "hit", head["hit"], HIT_POLICIES),
            rows=tuple(self._row(line, raw, name) for line, raw in rows),
            findings=frozenset(head.get("findings", ())),
            file=self.name,
        )

    def _row(self, line: int, raw: Mapping[str, Any], table: str) -> Row:
        row = self.keys(line, raw, _ROW_MUST, _ROW_KEYS)
        when: dict[str, frozenset[Value]] = {}
        for column, words in raw["when"].items():
            if not isinstance(words, list) or not words:
                raise self.fault(line, row, column, f"{words!r} is no list of words")
            when[column] = frozenset(words)
        return Row(
            id=row,
            table=table,
            when=when,
            then=raw["then"],
            because=raw["because"],
            remedy=raw.get("remedy", ""),
            trade=raw.get("trade", ""),
            caution=raw.get("caution", ""),
            source=raw["source"],
            sure=self.word(line, row, "sure", raw["sure"], _ROW_SURE),
            argument=raw.get("argument", ""),
            file=self.name,
            line=line,
        )

    def readings(self, words: Words) -> dict[str, ReadingKind]:
        """Every kind of reading by id, the maker's own figures with them."""
        found: dict[str, ReadingKind] = {}
        for line, raw in zip(self.lines("reading"), self.content["reading"], strict=True):
            kind = self._reading(line, raw, words)
            for one in filter(None, (kind, kind.book_figure())):
                if one.id in found:
                    raise self.fault(line, one.id, "id", "the id is taken")
                found[one.id] = one
        return found

    def _reading(self, line: int, raw: Mapping[str, Any], words: Words) -> ReadingKind:
        row = self.keys(line, raw, _READING_MUST, _READING_KEYS)
        for part_class in raw["classes"]:
            self.word(line, row, "classes", part_class, words.classes)
        for finding in raw["answers"]:
            self.word(line, row, "answers", finding, words.allowed("finding"))
        return ReadingKind(
            id=row,
            label=raw["label"],
            unit=raw["unit"],
            classes=frozenset(raw["classes"]),
            answers=frozenset(raw["answers"]),
            how=raw["how"],
            believable=self._believable(line, row, raw["believable"]),
            needed=raw.get("needed", True),
            owed=raw.get("owed", False),
            book=self.word(line, row, "book", raw.get("book"), (None, "most", "least")),
            limits=tuple(self._limit(line, row, limit, words) for limit in raw.get("limit", ())),
            file=self.name,
            line=line,
        )

    def _believable(self, line: int, row: str, ends: object) -> Between:
        numbers = [end for end in ends if type(end) in (int, float)] if isinstance(ends, list) else []
        if ends != numbers or len(numbers) != 2 or numbers[0] >= numbers[1]:
            raise self.fault(line, row, "believable", f"{ends!r}", ("two numbers, the least and the most",))
        return Between(least=numbers[0], most=numbers[1])

    def _limit(self, line: int, row: str, raw: Mapping[str, Any], words: Words) -> Limit:
        self.keys(line, {"id": row, **raw}, ("source", "sure"), ("id", *_LIMIT_KEYS))
        for material in raw.get("materials", ()):
            self.word(line, row, "limit materials", material, words.materials)
        for component in raw.get("components", ()):
            self.word(line, row, "limit components", component, words.allowed("component"))
        bounds = {key: float(raw[key]) for key in ("least", "most", "below") if key in raw}
        if not bounds:
            raise self.fault(line, row, "limit", "it has no figure", ("most", "least", "below"))
        return Limit(
            within=Between(**bounds),
            source=raw["source"],
            sure=self.word(line, row, "limit sure", raw["sure"], LIMIT_SURE),
            materials=frozenset(raw.get("materials", ())),
            components=frozenset(raw.get("components", ())),
            argument=raw.get("argument", ""),
        )
