"""A small decision-table evaluator with the hit policies the rules need.

Semantics after the OMG Decision Model and Notation, section 8 (decision tables): a rule matches when every one of
its input entries holds; an entry left out holds for every value ("-"). The hit policy says what several matches mean:

* ``unique``: no two rules may match the same input; two hits are a fault of the table;
* ``priority``: several may match, the one whose output comes first in the declared order of outputs wins;
* ``collect``: every match counts.

Nothing in this module is about motorcycles.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import isnan
from typing import Literal

from survey.errors import BadValue, BrokenKnowledge

HitPolicy = Literal["unique", "priority", "collect"]
Value = str | int | float | bool

HIT_POLICIES: tuple[HitPolicy, ...] = ("unique", "priority", "collect")


@dataclass(frozen=True, slots=True)
class Between:
    """An interval of numbers; ``least`` and ``most`` belong to it, ``below`` does not. None: open on that side."""

    least: float | None = None
    most: float | None = None
    below: float | None = None

    def __contains__(self, value: object) -> bool:
        """Whether the number lies in the interval; False for what is not a number (text, NaN)."""
        if isinstance(value, bool) or not isinstance(value, int | float) or isnan(value):
            return False
        if self.least is not None and value < self.least:
            return False
        if self.most is not None and value > self.most:
            return False
        return self.below is None or value < self.below


Entry = frozenset[Value] | Between


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule: the entries it sets (a column it leaves out holds for any value) and its outputs, in column order."""

    name: str
    when: Mapping[str, Entry]
    then: tuple[Value, ...]

    def matches(self, inputs: Mapping[str, Value]) -> bool:
        """Whether every entry of the rule holds for the inputs."""
        return all(inputs[column] in entry for column, entry in self.when.items())


@dataclass(frozen=True, slots=True)
class DecisionTable:
    """Rules under one hit policy.

    ``columns``: each input's name and the values it may take, or None where any value may come.
    ``order``: for ``priority``, the output values of each output column, the one that wins first.
    """

    name: str
    columns: Mapping[str, frozenset[Value] | None]
    hit: HitPolicy
    rules: tuple[Rule, ...]
    order: tuple[tuple[Value, ...], ...] = field(default=())

    def hits(self, inputs: Mapping[str, Value]) -> tuple[Rule, ...]:
        """Every rule that matches, in the table's own order.

        Raises BadValue where an input is missing or is not one of its column's allowed values.
        """
        for column, allowed in self.columns.items():
            if column not in inputs:
                raise BadValue(f"Table {self.name} needs the input {column}.", "Give it a value.")
            if allowed is not None and inputs[column] not in allowed:
                raise BadValue(
                    f"Table {self.name}: {inputs[column]!r} is not allowed for {column}.",
                    f"Allowed: {', '.join(sorted(map(str, allowed)))}.",
                )
        return tuple(rule for rule in self.rules if rule.matches(inputs))

    def decide(self, inputs: Mapping[str, Value]) -> Rule | None:
        """The one rule that wins, or None when none matches.

        Raises BadValue for inputs that are not allowed, BrokenKnowledge when two rules of a unique table match.
        """
        hits = self.hits(inputs)
        if len(hits) < 2:
            return hits[0] if hits else None
        if self.hit != "priority":
            names = ", ".join(rule.name for rule in hits)
            raise BrokenKnowledge(
                f"Table {self.name} lets only one row answer, but {names} all do.", "Narrow all but one of them."
            )
        return min(hits, key=self._rank)

    def _rank(self, rule: Rule) -> tuple[int, ...]:
        return tuple(order.index(value) for order, value in zip(self.order, rule.then, strict=False))
