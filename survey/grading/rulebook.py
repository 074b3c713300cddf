"""The rulebook: every table, row, reading and limit, and the answer to one question at a time."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from survey.grading.facts import ABSENCE, MEASURED, UNKNOWN, Measured
from survey.grading.readings import Limit, ReadingKind, assess_reading, join_states
from survey.grading.rows import COLUMNS, FIXED_WORDS, Row, RuleTable, Stage
from survey.grading.tables import DecisionTable, Rule, Value
from survey.model.grading import HARDEST_FIRST
from survey.model.schedule import Duty


@dataclass(frozen=True)
class Words:
    """The closed words of rules besides the fixed ones.

    ``claims``: (finding, step) that mean "inside the limit": on a safety part only a reading makes them true.
    ``absent``: findings of a thing that is not there.
    """

    classes: tuple[str, ...]
    materials: tuple[str, ...]
    speaks_of: Mapping[str, str]
    components: frozenset[str] = frozenset()
    claims: frozenset[tuple[str, int]] = frozenset()
    absent: frozenset[str] = frozenset()

    def allowed(self, column: str) -> tuple[Value, ...]:
        """The words a column may use; a class or material may also be "unknown"."""
        if column in FIXED_WORDS:
            return FIXED_WORDS[column]
        if column == "finding":
            return tuple(self.speaks_of)
        if column == "class":
            return (*self.classes, UNKNOWN)
        if column == "material":
            return (*self.materials, UNKNOWN)
        return tuple(sorted(self.components))

    def subject(self, finding: str) -> str:
        """What the finding is about: the substance, its finish, dirt on it, or absence."""
        return ABSENCE if finding in self.absent else self.speaks_of[finding]


@dataclass(frozen=True)
class Rulebook:
    """Every rule table and kind of reading.

    ``version``: printed on reports: edition, date and a short hash of the content.
    """

    tables: tuple[RuleTable, ...]
    readings: Mapping[str, ReadingKind]
    words: Words
    version: str
    _answers: dict[tuple[Value | None, ...], Row | None] = field(default_factory=dict, repr=False, compare=False)

    @cached_property
    def rows(self) -> tuple[Row, ...]:
        """Every row of every table, in the order of the files."""
        return tuple(row for table in self.tables for row in table.rows)

    @cached_property
    def limits(self) -> tuple[tuple[ReadingKind, Limit], ...]:
        """Every limit with its kind of reading."""
        return tuple((kind, limit) for kind in self.readings.values() for limit in kind.limits)

    def row(self, rule: str) -> Row | None:
        """The row with that id."""
        return self._by_id.get(rule)

    def table_of(self, row: Row) -> RuleTable:
        """The table of a row."""
        return next(table for table in self.tables if table.name == row.table)

    def readings_for(self, part_class: str, finding: str | None = None) -> tuple[ReadingKind, ...]:
        """The kinds of reading for parts of that class, or only those that answer that finding."""
        return self._readings_by.get((part_class, finding), ())

    def measured(
        self,
        finding: str,
        part_class: str,
        values: Mapping[str, float],
        component: str | None,
        material: str,
        duty: Duty,
    ) -> Measured:
        """The joint state of the readings that answer a finding on such a part."""
        kinds = self.readings_for(part_class, finding)
        return join_states((assess_reading(kind, values, component, material, duty), kind.needed) for kind in kinds)

    def states(self, part_class: str, finding: str) -> tuple[Measured, ...]:
        """The states the readings of that finding can be in on parts of that class."""
        return MEASURED if any(kind.needed for kind in self.readings_for(part_class, finding)) else MEASURED[:1]

    def answer(
        self,
        finding: str,
        step: int,
        measured: Measured,
        duty: Duty,
        part_class: str,
        material: str,
        component: str | None,
    ) -> Row:
        """The one row that answers a finding on such a part; the most specific row wins."""
        named_component = component if component in self._named else None
        key = (finding, step, measured, duty, part_class, material, named_component)
        row = self._answers.get(key)
        if row is None:
            inputs: dict[str, Value] = dict(
                zip(
                    COLUMNS["finding"],
                    (finding, step, duty, part_class, material, named_component or "", measured),
                    strict=True,
                )
            )
            rule = next(filter(None, (table.decide(inputs) for table in self._tiers[finding])))
            row = self._answers[key] = self._by_id[rule.name]
        return row

    def after(self, stage: Stage, inputs: Mapping[str, Value]) -> tuple[Row, ...]:
        """The rows of a later stage (looking, looks, whole) that apply to its inputs."""
        key = (stage, *inputs.values())
        rows = self._after.get(key)
        if rows is None:
            rules = self._stages[stage].hits(inputs)
            rows = self._after[key] = tuple(self._by_id[rule.name] for rule in rules)
        return rows

    @cached_property
    def _by_id(self) -> dict[str, Row]:
        return {row.id: row for row in self.rows}

    @cached_property
    def _after(self) -> dict[tuple[Value, ...], tuple[Row, ...]]:
        return {}

    @cached_property
    def _named(self) -> frozenset[Value]:
        return frozenset(word for row in self.rows for word in row.words("component") or ())

    @cached_property
    def _readings_by(self) -> dict[tuple[str, str | None], tuple[ReadingKind, ...]]:
        kinds_by: dict[tuple[str, str | None], list[ReadingKind]] = {}
        for kind in self.readings.values():
            for part_class in kind.classes:
                for finding in (None, *kind.answers):
                    kinds_by.setdefault((part_class, finding), []).append(kind)
        return {key: tuple(kinds) for key, kinds in kinds_by.items()}

    @cached_property
    def _tiers(self) -> dict[str, tuple[DecisionTable, ...]]:
        return {
            finding: tuple(self._decision_table(table, rows) for table, rows in self.tiers(finding))
            for finding in self.words.speaks_of
        }

    def tiers(self, finding: str) -> tuple[tuple[RuleTable, tuple[Row, ...]], ...]:
        """The rows that may answer a finding, in tiers: the most specific rows first.

        Among equally specific rows, those of the finding's own table come before the defaults.
        """
        tiers = []
        for table in self.tables:
            if table.stage == "default" or finding in table.findings:
                rows = [row for row in table.rows if finding in (row.words("finding") or (finding,))]
                for nearness in {row.nearness for row in rows}:
                    near = tuple(row for row in rows if row.nearness == nearness)
                    tiers.append(((-nearness, table.stage == "default"), table, near))
        tiers.sort(key=lambda tier: tier[0])
        return tuple((table, rows) for _, table, rows in tiers)

    @cached_property
    def _stages(self) -> dict[str, DecisionTable]:
        return {
            table.stage: self._decision_table(table, table.rows)
            for table in self.tables
            if table.stage not in ("finding", "default")
        }

    def _decision_table(self, table: RuleTable, rows: Iterable[Row]) -> DecisionTable:
        columns: dict[str, frozenset[Value] | None] = {
            column: None if column == "component" else frozenset(self.words.allowed(column))
            for column in COLUMNS[table.stage]
        }
        rules = tuple(Rule(row.id, row.when, (row.then,)) for row in rows)
        return DecisionTable(table.name, columns, table.hit, rules, (HARDEST_FIRST,))
