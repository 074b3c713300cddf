"""Rule rows and the tables they stand in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from survey.grading.facts import ABSENCE, FOUND, MEASURED
from survey.grading.tables import HitPolicy, Value
from survey.model.grading import HARDEST_FIRST, SEEN, STEPS, Outcome, Ruling, Seen, Sure
from survey.model.schedule import DUTIES

Stage = Literal["finding", "default", "looking", "looks", "whole"]

# The inputs each stage's tables may speak of. A row leaves out what it does not care for.
COLUMNS: dict[Stage, tuple[str, ...]] = {
    "finding": ("finding", "step", "duty", "class", "material", "component", "measured"),
    "default": ("finding", "step", "duty", "class", "material", "component", "measured"),
    "looking": ("duty", "speaks-of", "seen", "first"),
    "looks": ("duty", "class", "seen"),
    "whole": ("duty", "class", "found", "crack-test", "measured", "first"),
}
STAGES: tuple[Stage, ...] = tuple(COLUMNS)

# Columns whose words are the same whatever the knowledge files say.
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
    """One rule: when it holds, where it leads, and all a person needs to know about why.

    ``when``: column -> words it holds for; a column left out holds for every word. ``argument``: what restorers
    say against it, empty where they do not dispute it. ``file`` and ``line``: where it stands.
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
        """Whether restorers argue about it."""
        return bool(self.argument)

    @property
    def nearness(self) -> int:
        """How near the row comes to the part: one naming the component beats one naming the class, and so on.

        8 for a component, 4 for a class, 2 for a material, 1 for a finding; added up. Only rows of the same
        nearness are held against each other by a table's hit policy.
        """
        return sum(
            weight
            for column, weight in (("component", 8), ("class", 4), ("material", 2), ("finding", 1))
            if column in self.when
        )

    def words(self, column: str) -> frozenset[Value] | None:
        """The words the row names in that column, None where it does not care."""
        return self.when.get(column)

    def ruling(self, finding: tuple[str, int, Seen] | None) -> Ruling:
        """The ruling this row makes of that finding, or of the part as a whole."""
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
    """Rows that belong together. ``findings``: the finding kinds the table answers for (stage "finding" only)."""

    name: str
    title: str
    about: str
    stage: Stage
    hit: HitPolicy
    rows: tuple[Row, ...]
    findings: frozenset[str] = frozenset()
    file: str = ""
