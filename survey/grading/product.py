"""Every part the rules can grade, as bits, and the answers of the tables for them.

One bit is one part: a duty x class x material of the vocabularies, or a component that a row names. A row is then an
integer, and one question (finding, step, state of the readings) for every part at once is a few ANDs and ORs: some
three million questions take a few hundredths of a second.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product

from survey.errors import BrokenKnowledge
from survey.grading.facts import HARDNESS, MEASURED, UNKNOWN, Measured
from survey.grading.rows import Row, RuleTable
from survey.grading.rulebook import Rulebook
from survey.grading.tables import Value
from survey.model.grading import HARDEST_FIRST, STEPS
from survey.model.schedule import DUTIES, Component, Duty

# (duty, class, material, component or "")
Signature = tuple[Duty, str, str, str]
Tier = tuple[RuleTable, list[tuple[Row, int]]]

_COLUMNS = ("duty", "class", "material", "component")


@dataclass(frozen=True, slots=True)
class Cell:
    """One question for every part at once; ``outcomes``: the parts with each outcome, as bits."""

    finding: str
    step: int
    measured: Measured
    outcomes: dict[str, int]


class Product:
    """The parts as bits, and the cells of the product with their winning rows.

    ``won``: after ``cells`` has run, the ids of the rows that win for at least one part of a catalogue.
    """

    def __init__(self, rulebook: Rulebook, components: Sequence[Component]) -> None:
        self.book = rulebook
        self.components = components
        self.signatures = list(self._signatures())
        self.whole = (1 << len(self.signatures)) - 1
        self.won: set[str] = set()
        self._unanswered: list[tuple[Cell, int]] = []
        self._by_word = self._marks()
        self._rows = {row.id: self._parts_of(row) for row in rulebook.rows}

    def parts(self, column: str, words: Iterable[Value]) -> int:
        """The bits of the parts that have one of these words in that column."""
        bits = 0
        for word in words:
            bits |= self._by_word.get((column, str(word)), 0)
        return bits

    def cells(self) -> list[Cell]:
        """Every (finding, step, state) with its winners; raises BrokenKnowledge if a part gets no answer or two."""
        cells = list(self._cells())
        if self._unanswered:
            questions = "; ".join(self._lacking())
            raise BrokenKnowledge(f"No rule row answers {questions}.", "Add rows, or defaults that cover them.")
        return cells

    def first(self, bits: int) -> Signature:
        """The first part of these bits."""
        return self.signatures[(bits & -bits).bit_length() - 1]

    def question(self, cell: Cell, bits: int) -> str:
        """The question in words, for the first part of these bits."""
        duty, part_class, material, component = self.first(bits)
        name = f" ({component})" if component else ""
        return f"{cell.finding} {cell.step}, measured {cell.measured}, on a {duty} {part_class}{name} of {material}"

    def winner(self, cell: Cell, bits: int) -> Row:
        """The row that answers that question."""
        duty, part_class, material, component = self.first(bits)
        return self.book.answer(cell.finding, cell.step, cell.measured, duty, part_class, material, component or None)

    def _signatures(self) -> Iterator[Signature]:
        words = self.book.words
        for duty, part_class, material in product(DUTIES, words.allowed("class"), words.allowed("material")):
            yield duty, str(part_class), str(material), ""
        component_ids = {str(word) for row in self.book.rows for word in row.words("component") or ()}
        for component in self.components:
            if component.id in component_ids:
                for material in (component.material, *component.other_materials, UNKNOWN):
                    yield component.duty, component.part_class, str(material), component.id

    def _marks(self) -> dict[tuple[str, str], int]:
        """The bits of every single word; byte arrays, because setting one bit of a long integer copies all of it."""
        marks: dict[tuple[str, str], bytearray] = {}
        size = (len(self.signatures) + 7) // 8
        for n, signature in enumerate(self.signatures):
            byte, bit = n >> 3, 1 << (n & 7)
            for column, word in zip(_COLUMNS, signature, strict=True):
                marks.setdefault((column, word), bytearray(size))[byte] |= bit
        return {key: int.from_bytes(mark, "little") for key, mark in marks.items()}

    def _parts_of(self, row: Row) -> int:
        bits = self.whole
        for column in _COLUMNS:
            if (words := row.words(column)) is not None:
                bits &= self.parts(column, words)
        return bits

    @cached_property
    def _real(self) -> int:
        """The parts of all catalogues, in each of their materials, and the unknown part."""
        real_signatures: set[tuple[str, str, str, str]] = {("safety", UNKNOWN, UNKNOWN, "")}
        for component in self.components:
            for material in (component.material, *component.other_materials):
                for component_id in ("", component.id):
                    real_signatures.add((component.duty, component.part_class, material, component_id))
        return sum(1 << n for n, signature in enumerate(self.signatures) if signature in real_signatures)

    def _cells(self) -> Iterator[Cell]:
        for finding in self.book.words.speaks_of:
            tiers: list[Tier] = [
                (table, [(row, self._rows[row.id]) for row in rows]) for table, rows in self.book.tiers(finding)
            ]
            for measured in MEASURED:
                if possible := self._possible(finding, measured):
                    for step in STEPS if measured != "over" else STEPS[2:]:
                        cell = Cell(finding, step, measured, dict.fromkeys(HARDEST_FIRST, 0))
                        self._fill(cell, possible, tiers)
                        yield cell

    def _possible(self, finding: str, measured: Measured) -> int:
        """The parts whose readings for that finding can be in that state."""
        if measured == "none":
            return self.whole
        classes = [word for word in self.book.words.classes if measured in self.book.states(word, finding)]
        return self.parts("class", classes)

    def _fill(self, cell: Cell, possible: int, tiers: list[Tier]) -> None:
        left = possible
        for table, rows in tiers:
            hits = [(row, bits) for row, bits in rows if _row_applies(row, cell)]
            if table.hit == "priority":
                hits.sort(key=lambda hit: -HARDNESS[hit[0].then])
            taken = 0
            for row, bits in hits:
                bits &= left
                if both := bits & taken:
                    if table.hit != "priority":
                        other = next(o for o, theirs in hits if o is not row and theirs & both)
                        raise make_row_error(row, f"{other.id} answers too for {self.question(cell, both)}")
                    bits &= ~taken
                taken |= bits
                cell.outcomes[row.then] |= bits
                if bits & self._real:
                    self.won.add(row.id)
            left &= ~taken
        if left:
            self._unanswered.append((cell, left))

    def _lacking(self) -> Iterator[str]:
        """Every combination that has no row, in words: steps, states, duties, classes and materials put together."""
        by_step: dict[tuple[str, str, int], list[str]] = {}
        for cell, left in self._unanswered:
            by_step.setdefault((cell.finding, cell.measured, left), []).append(str(cell.step))
        by_state: dict[tuple[str, str, int], list[str]] = {}
        for (finding, measured, left), steps in by_step.items():
            by_state.setdefault((finding, ", ".join(steps), left), []).append(measured)
        for (finding, at, left), states in by_state.items():
            for parts in self._parts_in_words(left):
                yield f"{finding} {at}, measured {' or '.join(states)}, on a {parts}"

    def _parts_in_words(self, bits: int) -> Iterator[str]:
        """Those parts in words, grouped by duty, classes and materials."""
        bits = bits & self.parts("component", [""]) or bits
        materials: dict[tuple[str, str], list[str]] = {}
        for duty, part_class, material, component in (s for n, s in enumerate(self.signatures) if bits >> n & 1):
            material_words = f"{material} ({component})" if component else material
            materials.setdefault((duty, part_class), []).append(material_words)
        classes: dict[tuple[str, str], list[str]] = {}
        for (of_duty, of_class), of_materials in materials.items():
            classes.setdefault((of_duty, self._listed("material", of_materials)), []).append(of_class)
        duties: dict[str, list[str]] = {}
        for (of_duty, in_materials), of_classes in classes.items():
            duties.setdefault(f"{self._listed('class', of_classes)} and {in_materials}", []).append(of_duty)
        for group, of_duties in duties.items():
            yield f"{' or '.join(of_duties)} part of {group}"

    def _listed(self, column: str, words: Sequence[str]) -> str:
        every = len(words) == len(self.book.words.allowed(column))
        return f"every {column}" if every else f"{column} {', '.join(words)}"


def _row_applies(row: Row, cell: Cell) -> bool:
    steps, states = row.words("step"), row.words("measured")
    return (steps is None or cell.step in steps) and (states is None or cell.measured in states)


def make_row_error(row: Row, fault: str, allowed: Iterable[object] = ()) -> BrokenKnowledge:
    """The error for a fault in a row: file and line, what is wrong, what is allowed."""
    words = ", ".join(map(str, allowed))
    hint = f"; allowed: {words}" if words else ""
    return BrokenKnowledge(f"{row.file}, line {row.line}, row {row.id}: {fault}{hint}.", "Mend that row.")
