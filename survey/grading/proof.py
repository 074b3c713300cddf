"""The proof that the rule tables answer everything, once, and never against safety.

It runs over the whole product: every duty x class x material (and every component a row names) x finding x step x
state of the readings, then every way of looking. One bit stands for one such part, so a row is an integer and a cell
of the product is a handful of ANDs and ORs; what would be a quarter of a million questions takes milliseconds.

A table that does not prove itself raises survey.errors.BrokenKnowledge naming file, line and row.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cached_property
from itertools import product

from survey.errors import BrokenKnowledge
from survey.grading.facts import FOUND, HARDNESS, MEASURED, UNKNOWN, Measured
from survey.grading.rows import COLUMNS, Row, RuleTable
from survey.grading.rulebook import Rulebook
from survey.grading.tables import Value
from survey.model import DUTIES, HARDEST_FIRST, SEEN, STEPS, Component

# (duty, class, material, component or "")
Signature = tuple[str, str, str, str]

# On a safety part these are never less than "examine first", at these steps.
NEVER_EASY: dict[str, tuple[int, ...]] = {"crack": STEPS, "perforation": STEPS, "previous_repair": (2, 3, 4)}
# Sheet that carries nobody may be mended at home.
SHEET: tuple[str, ...] = ("tinware", "lamp")


@dataclass(frozen=True, slots=True)
class Cell:
    """One question put to every part at once; ``outcomes``: the parts each outcome falls to, as bits."""

    finding: str
    step: int
    measured: Measured
    outcomes: dict[str, int]


def prove(rulebook: Rulebook, components: Iterable[Component]) -> None:
    """Prove the rulebook over the vocabularies and these components; raises BrokenKnowledge at the first fault.

    ``components``: every component of every catalogue. A row that can win for none of them is dead.
    """
    proof = Proof(rulebook, tuple(components))
    proof.words_are_known()
    cells = list(proof.cells())
    proof.no_row_is_dead()
    proof.measured_claims(cells)
    proof.nothing_dangerous_is_easy(cells)
    proof.worse_is_never_easier(cells)
    proof.looking_is_safe()
    proof.finish_never_condemns(cells)


class Proof:
    """The product as bits, and what is proved over it."""

    def __init__(self, rulebook: Rulebook, components: Sequence[Component]) -> None:
        self.book = rulebook
        self.components = components
        self.signatures = list(self._signatures())
        self.whole = (1 << len(self.signatures)) - 1
        self.won: set[str] = set()
        self._by_word: dict[tuple[str, str], int] = {}
        self._mark_words()

    # the parts -----------------------------------------------------------------------------------------------

    def _signatures(self) -> Iterator[Signature]:
        words = self.book.words
        for duty, part_class, material in product(DUTIES, words.allowed("class"), words.allowed("material")):
            yield str(duty), str(part_class), str(material), ""
        named = {str(word) for row in self.book.rows for word in row.words("component") or ()}
        for component in self.components:
            if component.id in named:
                for material in (component.material, *component.other_materials, UNKNOWN):
                    yield component.duty, component.part_class, str(material), component.id

    def _mark_words(self) -> None:
        """The bits of every single word, by shifting one bit along; built from byte arrays because it is quicker."""
        marks: dict[tuple[str, str], bytearray] = {}
        size = (len(self.signatures) + 7) // 8
        for n, signature in enumerate(self.signatures):
            byte, bit = n >> 3, 1 << (n & 7)
            for column, word in zip(("duty", "class", "material", "component"), signature, strict=True):
                marks.setdefault((column, word), bytearray(size))[byte] |= bit
        self._by_word = {key: int.from_bytes(mark, "little") for key, mark in marks.items()}

    def parts(self, column: str, words: Iterable[Value] | None) -> int:
        """The bits of the parts that have one of these words in that column; None: all of them."""
        if words is None:
            return self.whole
        bits = 0
        for word in words:
            bits |= self._by_word.get((column, str(word)), 0)
        return bits

    def parts_of(self, row: Row) -> int:
        """The bits of the parts a row speaks of."""
        bits = self.whole
        for column in ("duty", "class", "material", "component"):
            if (words := row.words(column)) is not None:
                bits &= self.parts(column, words)
        return bits

    @cached_property
    def real(self) -> int:
        """The parts some catalogue holds, in any material they are met in, and the part nobody knows."""
        bits = 0
        kept = {UNKNOWN_PART}
        for component in self.components:
            for material in (component.material, *component.other_materials):
                kept.add((component.duty, component.part_class, material, ""))
                kept.add((component.duty, component.part_class, material, component.id))
        for n, signature in enumerate(self.signatures):
            if signature in kept:
                bits |= 1 << n
        return bits

    # the words -----------------------------------------------------------------------------------------------

    def words_are_known(self) -> None:
        """Every word of every row is one of its column's."""
        seen: dict[str, Row] = {}
        for row in self.book.rows:
            if row.id in seen:
                raise broken(row, f"the id is taken by line {seen[row.id].line} of {seen[row.id].file}")
            seen[row.id] = row
            stage = self.book.table_of(row).stage
            for column, words in row.when.items():
                if column not in COLUMNS[stage]:
                    raise broken(row, f"there is no cell {column!r} here", COLUMNS[stage])
                allowed = self.book.words.allowed(column)
                for word in sorted(words - set(allowed), key=str):
                    nearest = get_close_matches(str(word), map(str, allowed)) if column == "component" else allowed
                    raise broken(row, f"cell {column}: {word!r} is no word of ours", nearest)
            if row.then not in HARDEST_FIRST:
                raise broken(row, f"cell then: {row.then!r} is no outcome", HARDEST_FIRST)

    # one answer each -----------------------------------------------------------------------------------------

    def cells(self) -> Iterator[Cell]:
        """Every (finding, step, state) with its winners; raises where a part gets no answer or two."""
        for finding in self.book.words.speaks_of:
            tiers = [
                (table, [(row, self._parts[row.id]) for row in rows]) for table, rows in self.book.tiers(finding)
            ]
            for measured in MEASURED:
                possible = self._possible(finding, measured)
                if not possible:
                    continue
                for step in STEPS if measured != "over" else STEPS[2:]:
                    yield self._cell(finding, step, measured, possible, tiers)

    def _possible(self, finding: str, measured: Measured) -> int:
        """The parts whose readings for that finding can be in that state."""
        if measured == "none":
            return self.whole
        classes = [word for word in self.book.words.classes if measured in self.book.states(word, finding)]
        return self.parts("class", classes)

    @cached_property
    def _parts(self) -> dict[str, int]:
        return {row.id: self.parts_of(row) for row in self.book.rows}

    def _cell(
        self,
        finding: str,
        step: int,
        measured: Measured,
        possible: int,
        tiers: list[tuple[RuleTable, list[tuple[Row, int]]]],
    ) -> Cell:
        left = possible
        outcomes: dict[str, int] = dict.fromkeys(HARDEST_FIRST, 0)
        for table, rows in tiers:
            hits = [(row, bits) for row, bits in rows if _holds(row, step, measured)]
            if table.hit == "priority":
                hits.sort(key=lambda hit: -HARDNESS[hit[0].then])
            taken = 0
            for row, bits in hits:
                bits &= left
                if both := bits & taken:
                    if table.hit != "priority":
                        other = next(o for o, theirs in hits if o is not row and theirs & both)
                        raise broken(row, f"{other.id} answers too for {self._name(both, finding, step, measured)}")
                    bits &= ~taken
                taken |= bits
                outcomes[row.then] |= bits
                if bits & self.real:
                    self.won.add(row.id)
            left &= ~taken
        if left:
            raise BrokenKnowledge(
                f"No rule row answers {self._name(left, finding, step, measured)}.",
                "Add a row, or a default that covers it.",
            )
        return Cell(finding, step, measured, outcomes)

    def _name(self, bits: int, finding: str, step: int, measured: str) -> str:
        """The first part of these bits in words."""
        duty, part_class, material, component = self.signatures[(bits & -bits).bit_length() - 1]
        of = f" ({component})" if component else ""
        return f"{finding} {step}, measured {measured}, on a {duty} {part_class}{of} of {material}"

    def no_row_is_dead(self) -> None:
        """Every row wins somewhere for a component some catalogue holds; later stages, for some input."""
        for table in self.book.tables:
            if table.stage in ("finding", "default"):
                alive = self.won
            else:
                alive = {row.id for inputs in self._inputs(table) for row in self.book.after(table.stage, inputs)}
            for row in table.rows:
                if row.id not in alive:
                    raise broken(row, "it can never win: nearer or harder rows answer everything it speaks of")

    # safety --------------------------------------------------------------------------------------------------

    def measured_claims(self, cells: Iterable[Cell]) -> None:
        """No reading, or no limit, never counts as inside: not on a safety part, not at a step that claims it is."""
        safety = self.parts("duty", ["safety"])
        easiest: dict[tuple[str, int], dict[str, int]] = {}
        for cell in cells:
            claim = (cell.finding, cell.step) in self.book.words.claims
            if claim and cell.measured != "inside" and (bits := cell.outcomes["reuse"] & safety):
                raise self._unsafe(cell, bits, "counts as inside its limit without a reading and a limit")
            if cell.measured == "inside":
                easiest[cell.finding, cell.step] = cell.outcomes
        for row in self.book.rows:
            states = row.words("measured")
            if row.then == "reuse" and states and states & {"over", "none", "no-limit"} and "inside" in states:
                raise broken(row, "cell measured: a row that says reuse of inside may not say it of any other state")

    def nothing_dangerous_is_easy(self, cells: Iterable[Cell]) -> None:
        """A crack, a perforation, a repair of unknown standard on a safety part: never less than examine first."""
        watched = self.parts("duty", ["safety"]) & ~self.parts("class", SHEET)
        for cell in cells:
            if cell.step not in NEVER_EASY.get(cell.finding, ()):
                continue
            for outcome, bits in cell.outcomes.items():
                if HARDNESS[outcome] < HARDNESS["examine-first"] and bits & watched:
                    raise self._unsafe(cell, bits & watched, f"is let through as {outcome}")

    def worse_is_never_easier(self, cells: Iterable[Cell]) -> None:
        """A worse step of the same finding never grades easier, nor does a reading over its limit."""
        by = {(cell.finding, cell.step, cell.measured): cell for cell in cells}
        for (finding, step, measured), cell in by.items():
            worse = by.get((finding, step + 1, measured))
            over = by.get((finding, max(step, 3), "over"))
            for other in filter(None, (worse, over)):
                easier = 0
                for outcome in reversed(HARDEST_FIRST):
                    if bits := cell.outcomes[outcome] & easier:
                        raise self._unsafe(cell, bits, f"is graded harder than the worse step {other.step}")
                    easier |= other.outcomes[outcome]

    def finish_never_condemns(self, cells: Iterable[Cell]) -> None:
        """What speaks of the finish or of dirt never has a safety or running part replaced."""
        watched = self.parts("duty", ["safety", "running"])
        for cell in cells:
            if self.book.words.subject(cell.finding) in ("finish", "dirt") and (
                bits := cell.outcomes["replace"] & watched
            ):
                raise self._unsafe(cell, bits, "is condemned for what lies on it")

    def looking_is_safe(self) -> None:
        """Every way of looking is answered; what nobody saw, or saw through paint, is never reuse on a safety part."""
        self._each("looks", lambda i, rows: len(rows) == 1, "has not exactly one answer")
        self._each(
            "looks",
            lambda i, rows: i["seen"] == "bare" or i["duty"] != "safety" or _hardest(rows) > HARDNESS["reuse"],
            "is reuse without bare metal",
        )
        self._each(
            "looking",
            lambda i, rows: (
                i["seen"] == "bare"
                or i["duty"] != "safety"
                or i["speaks-of"] != "substance"
                or max(_hardest(rows), HARDNESS[str(i["first"])]) > HARDNESS["reuse"]
            ),
            "is reuse without bare metal",
        )
        self._each(
            "whole",
            lambda i, rows: i["found"] != "nothing" or i["first"] != "not-looked-at" or bool(rows),
            "is answered by nothing",
        )
        self._each(
            "whole",
            lambda i, rows: (
                i["found"] not in ("finish", "nothing")
                or i["duty"] not in ("safety", "running")
                or max(_hardest(rows), HARDNESS[str(i["first"])]) > HARDNESS["reuse"]
            ),
            "is graded by its finish alone",
        )
        self._each(
            "whole",
            lambda i, rows: (
                i["class"] != UNKNOWN or max(_hardest(rows), HARDNESS[str(i["first"])]) > HARDNESS["reuse"]
            ),
            "is reuse though nobody knows what it is",
        )

    def _each(self, stage: str, holds: Callable[[dict[str, Value], tuple[Row, ...]], bool], fault: str) -> None:
        for table in self.book.tables:
            if table.stage == stage:
                for inputs in self._inputs(table):
                    if not holds(inputs, self.book.after(table.stage, inputs)):
                        words = ", ".join(f"{column} {word}" for column, word in inputs.items())
                        raise BrokenKnowledge(f"{table.file}: a part with {words} {fault}.", "Mend the table's rows.")

    def _inputs(self, table: RuleTable) -> Iterator[dict[str, Value]]:
        """Every input of a later stage; of the classes only those its rows tell apart and one they do not."""
        columns = COLUMNS[table.stage]
        choices: list[Sequence[Value]] = []
        for column in columns:
            words = self.book.words.allowed(column)
            if column == "class":
                named = [word for word in words if any(word in (row.words("class") or ()) for row in table.rows)]
                words = (*named, *[word for word in words if word not in named][:1])
            choices.append(words)
        for values in product(*choices):
            yield dict(zip(columns, values, strict=True))

    def _unsafe(self, cell: Cell, bits: int, fault: str) -> BrokenKnowledge:
        asked = self._name(bits, cell.finding, cell.step, cell.measured)
        duty, part_class, material, component = self.signatures[(bits & -bits).bit_length() - 1]
        row = self.book.answer(
            cell.finding,
            cell.step,
            cell.measured,
            duty,  # type: ignore[arg-type]
            part_class,
            material,
            component or None,
        )
        return broken(row, f"{asked} {fault}")


UNKNOWN_PART: Signature = ("safety", UNKNOWN, UNKNOWN, "")


def _holds(row: Row, step: int, measured: str) -> bool:
    steps, states = row.words("step"), row.words("measured")
    return (steps is None or step in steps) and (states is None or measured in states)


def _hardest(rows: tuple[Row, ...]) -> int:
    return max((HARDNESS[row.then] for row in rows), default=0)


def broken(row: Row, fault: str, allowed: Sequence[Value] = ()) -> BrokenKnowledge:
    """The error for a fault in a row: where it stands, what is wrong, what was allowed."""
    said = f"; allowed: {', '.join(map(str, allowed))}" if allowed else ""
    return BrokenKnowledge(f"{row.file}, line {row.line}, row {row.id}: {fault}{said}.", "Mend that row.")


__all__ = ["Cell", "Proof", "broken", "prove", "FOUND"]
