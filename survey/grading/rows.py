"""Rule rows and rule tables."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from survey.grading.facts import ABSENCE, FOUND, MEASURED
from survey.grading.tables import HitPolicy, Value
from survey.model.grading import HARDEST_FIRST, SEEN, STEPS, Outcome, Ruling, Seen, Sure
from survey.model.schedule import DUTIES

Stage = Literal["finding", "default", "looking", "looks", "whole"]

# The columns of each stage's tables. A row leaves out a column that does not matter to it.
COLUMNS: dict[Stage, tuple[str, ...]] = {
    "finding": ("finding", "step", "duty", "class", "material", "component", "measured"),
    "default": ("finding", "step", "duty", "class", "material", "component", "measured"),
    "looking": ("duty", "speaks-of", "seen", "first"),
    "looks": ("duty", "class", "seen"),
    "whole": ("duty", "class", "found", "crack-test", "measured", "first"),
}
STAGES: tuple[Stage, ...] = tuple(COLUMNS)

# Columns whose words do not depend on the data files.
FIXED_WORDS: dict[str, tuple[Value, ...]] = {
    "step": STEPS,
    "duty": DUTIES,
    "seen": SEEN,
    "first": HARDEST_FIRST,
    "measured": MEASURED,
    "crack-test": MEASURED,
    "found": FOUND,
    "speaks-of": ("substance", "finish", "dirt", ABSENCE),
}


@dataclass(frozen=True, slots=True)
class Row:
    """One rule: when it applies, its outcome, and the reasons for a reader.

    ``when``: by column, the words it applies to; a column left out applies to every word. ``argument``: what restorers
    have against it, empty if it is not disputed. ``file`` and ``line``: its place in the data.
    """

    id: str
    table: str
    when: Mapping[str, frozenset[Value]]
    then: Outcome
    because: str
    remedy: str = ""
    trade: str = ""
    caution: str = ""
    source: str = ""
    sure: Sure = "judgement"
    argument: str = ""
    file: str = ""
    line: int = 0

    @property
    def disputed(self) -> bool:
        """Whether restorers dispute it."""
        return bool(self.argument)

    @property
    def nearness(self) -> int:
        """How specific the row is: one that names the component beats one that names the class, and so on.

        8 for a component, 4 for a class, 2 for a material, 1 for a finding; added up. A table's hit policy
        decides only between rows of the same nearness.
        """
        return sum(
            weight
            for column, weight in (("component", 8), ("class", 4), ("material", 2), ("finding", 1))
            if column in self.when
        )

    def words(self, column: str) -> frozenset[Value] | None:
        """The words of the row in that column, None if the column is left out."""
        return self.when.get(column)

    def ruling(self, finding: tuple[str, int, Seen] | None) -> Ruling:
        """The ruling of this row on that finding, or on the part as a whole."""
        return Ruling(
            rule=self.id,
            outcome=self.then,
            because=self.because,
            remedy=self.remedy,
            caution=self.caution,
            source=self.source,
            sure=self.sure,
            disputed=self.disputed,
            argument=self.argument,
            trade=self.trade,
            finding=finding,
        )


@dataclass(frozen=True, slots=True)
class RuleTable:
    """A table of rows. ``findings``: the finding kinds it answers (stage "finding" only)."""

    name: str
    title: str
    about: str
    stage: Stage
    hit: HitPolicy
    rows: tuple[Row, ...]
    findings: frozenset[str] = frozenset()
    file: str = ""
