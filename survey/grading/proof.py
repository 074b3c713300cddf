"""The proof that the rule tables answer everything, once, and never against safety.

It runs whenever the rules are read, over the whole product: every duty x class x material of the vocabularies (and
every component a row names) x finding x step x state of the readings, then every way of looking. Nothing is sampled.
A table that does not prove itself raises survey.errors.BrokenKnowledge naming file, line, row and cell.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from difflib import get_close_matches
from itertools import product

from survey.errors import BrokenKnowledge
from survey.grading.facts import HARDNESS, UNKNOWN
from survey.grading.product import Cell, Product, broken
from survey.grading.rows import COLUMNS, Row, RuleTable
from survey.grading.rulebook import Rulebook
from survey.grading.tables import Value
from survey.model.grading import HARDEST_FIRST, STEPS
from survey.model.schedule import Component

Inputs = dict[str, Value]

# On a safety part these are never less than "examine first", at these steps.
NEVER_EASY: dict[str, tuple[int, ...]] = {"crack": STEPS, "perforation": STEPS, "previous_repair": (2, 3, 4)}
# Sheet metal that carries nobody may be mended at home; a lamp's glass, plastic or die-cast parts are no sheet.
SHEET: tuple[str, ...] = ("tinware", "lamp")
SHEET_METALS: tuple[str, ...] = ("steel", "aluminium", "copper-alloy")
# Columns of the later stages in which words that every row treats alike may stand for each other.
_ALIKE = ("class", "crack-test", "measured", "first")


def prove(rulebook: Rulebook, components: Iterable[Component]) -> None:
    """Prove the rulebook over the vocabularies and these components; raises BrokenKnowledge at the first fault.

    ``components``: every component of every catalogue. A row that can win for none of them is dead.
    """
    words_are_known(rulebook)
    parts = Product(rulebook, tuple(components))
    cells = parts.cells()
    no_reading_is_never_inside(parts, cells)
    nothing_dangerous_is_easy(parts, cells)
    worse_is_never_easier(parts, cells)
    finish_never_condemns(parts, cells)
    alive = parts.won | later_stages(rulebook)
    for row in rulebook.rows:
        if row.id not in alive:
            raise broken(row, "it can never win: nearer rows answer everything it speaks of")


def words_are_known(rulebook: Rulebook) -> None:
    """Every id is used once, every cell is one its table has, every word is one of that cell's."""
    seen: dict[str, Row] = {}
    for row in rulebook.rows:
        if row.id in seen:
            raise broken(row, f"the id is taken by line {seen[row.id].line} of {seen[row.id].file}")
        seen[row.id] = row
        stage = rulebook.table_of(row).stage
        for column, words in row.when.items():
            if column not in COLUMNS[stage]:
                raise broken(row, f"there is no cell {column!r} here", COLUMNS[stage])
            allowed = rulebook.words.allowed(column)
            for word in sorted(words - set(allowed), key=str):
                near = get_close_matches(str(word), map(str, allowed)) if column == "component" else allowed
                raise broken(row, f"cell {column}: {word!r} is no word of ours", near)
        if row.then not in HARDEST_FIRST:
            raise broken(row, f"cell then: {row.then!r} is no outcome", HARDEST_FIRST)
    taken = [finding for table in rulebook.tables for finding in sorted(table.findings)]
    for finding in taken:
        if taken.count(finding) > 1 or finding not in rulebook.words.speaks_of:
            raise BrokenKnowledge(f"Finding {finding} stands in no table, or in two, or is no finding.", "Mend a head.")


def no_reading_is_never_inside(parts: Product, cells: Iterable[Cell]) -> None:
    """At a step that claims to be inside its limit, a safety part is reuse only where the readings say inside."""
    safety = parts.parts("duty", ["safety"])
    for cell in cells:
        claims = (cell.finding, cell.step) in parts.book.words.claims
        if claims and cell.measured != "inside" and (bits := cell.outcomes["reuse"] & safety):
            raise _unsafe(parts, cell, bits, "counts as inside its limit without a reading and a limit")


def nothing_dangerous_is_easy(parts: Product, cells: Iterable[Cell]) -> None:
    """A crack, a hole, a repair nobody knows on a safety part is never less than examine first; sheet metal may."""
    sheet = parts.parts("class", SHEET) & parts.parts("material", SHEET_METALS)
    watched = parts.parts("duty", ["safety"]) & ~sheet
    for cell in cells:
        if cell.step in NEVER_EASY.get(cell.finding, ()):
            for outcome, bits in cell.outcomes.items():
                if HARDNESS[outcome] < HARDNESS["examine-first"] and bits & watched:
                    raise _unsafe(parts, cell, bits & watched, f"is let through as {outcome}")


def worse_is_never_easier(parts: Product, cells: Iterable[Cell]) -> None:
    """A worse step of the same finding never grades easier, nor does a reading beyond its limit."""
    by = {(cell.finding, cell.step, cell.measured): cell for cell in cells}
    for (finding, step, measured), cell in by.items():
        for worse in (by.get((finding, step + 1, measured)), by.get((finding, max(step, 3), "over"))):
            easier = 0
            for outcome in reversed(HARDEST_FIRST) if worse else ():
                if worse and (bits := cell.outcomes[outcome] & easier):
                    row = parts.winner(worse, bits)
                    asked = f"{worse.finding} {worse.step}, measured {worse.measured}"
                    where = f"{asked}, by row {row.id} ({row.file}, line {row.line}): {row.then}"
                    raise _unsafe(parts, cell, bits, f"is graded harder than a worse step of it, {where}")
                easier |= worse.outcomes[outcome] if worse else 0


def finish_never_condemns(parts: Product, cells: Iterable[Cell]) -> None:
    """What speaks of the finish or of dirt never has a safety or running part replaced."""
    watched = parts.parts("duty", ["safety", "running"])
    for cell in cells:
        coat = parts.book.words.subject(cell.finding) in ("finish", "dirt")
        if coat and (bits := cell.outcomes["replace"] & watched):
            raise _unsafe(parts, cell, bits, "is condemned for what lies on it")


def _unsafe(parts: Product, cell: Cell, bits: int, fault: str) -> BrokenKnowledge:
    return broken(parts.winner(cell, bits), f"{parts.question(cell, bits)} {fault}")


# the later stages ------------------------------------------------------------------------------------------------

Claim = tuple[str, Callable[[Inputs, int], bool]]


def _safety_unseen(inputs: Inputs) -> bool:
    return inputs["duty"] == "safety" and inputs["seen"] != "bare"


# What has to hold of each later stage: the fault if it does not, and the claim over its inputs and how hard the
# outcome is, that of the finding counted in where the stage has one.
_CLAIMS: dict[str, tuple[Claim, ...]] = {
    "looks": (
        ("is answered by nothing", lambda _, hard: hard > 0),
        ("is reuse without bare metal", lambda i, hard: not _safety_unseen(i) or hard > HARDNESS["reuse"]),
    ),
    "looking": (
        (
            "is reuse without bare metal",
            lambda i, hard: not _safety_unseen(i) or i["speaks-of"] != "substance" or hard > HARDNESS["reuse"],
        ),
        (
            "is reuse though nobody saw it",
            lambda i, hard: i["seen"] != "unseen" or i["speaks-of"] == "absence" or hard > HARDNESS["reuse"],
        ),
    ),
    "whole": (
        ("is answered by nothing", lambda i, hard: i["found"] != "nothing" or hard >= HARDNESS["not-looked-at"]),
        (
            "is graded by its finish alone",
            lambda i, hard: (
                i["found"] != "finish" or i["duty"] not in ("safety", "running") or hard > HARDNESS["reuse"]
            ),
        ),
        (
            "is reuse though nobody knows what it is",
            lambda i, hard: i["class"] != UNKNOWN or hard > HARDNESS["reuse"],
        ),
    ),
}


def later_stages(rulebook: Rulebook) -> set[str]:
    """Prove the stages after the findings; the ids of their rows that hold somewhere.

    Every look is answered, by one row; what nobody saw, or saw through paint, is never reuse on a safety part;
    nothing recorded, only the finish recorded, no name: never reuse.
    """
    alive: set[str] = set()
    for table in rulebook.tables:
        for inputs in _inputs(rulebook, table) if table.stage in _CLAIMS else ():
            rows = rulebook.after(table.stage, inputs)
            alive.update(row.id for row in rows)
            if table.hit == "unique" and len(rows) > 1:
                raise broken(rows[1], f"{rows[0].id} answers too for {_told(inputs)}")
            first = HARDNESS[str(inputs["first"])] if "first" in inputs else 0
            # "not-looked-at" as what came before says nothing of a part of which nothing is recorded.
            first = 0 if inputs.get("found") == "nothing" else first
            hard = max(first, *(HARDNESS[row.then] for row in rows)) if rows else first
            for fault, holds in _CLAIMS[table.stage]:
                if not holds(inputs, hard):
                    told = f"{table.file}: a part with {_told(inputs)} {fault}."
                    raise BrokenKnowledge(told, "Mend the table's rows.")
    return alive


def _told(inputs: Inputs) -> str:
    return ", ".join(f"{column} {word}" for column, word in inputs.items())


def _inputs(rulebook: Rulebook, table: RuleTable) -> Iterator[Inputs]:
    """Every input of a later stage, one word standing for all that every row of the table treats alike."""
    columns = COLUMNS[table.stage]
    choices = [_told_apart(rulebook, table, column) for column in columns]
    for values in product(*choices):
        yield dict(zip(columns, values, strict=True))


def _told_apart(rulebook: Rulebook, table: RuleTable, column: str) -> Sequence[Value]:
    words = rulebook.words.allowed(column)
    if column not in _ALIKE:
        return words
    kept: dict[tuple[object, ...], Value] = {}
    for word in words:
        treated = tuple(word in (row.words(column) or words) for row in table.rows)
        kept.setdefault((word in (UNKNOWN, "reuse"), *treated), word)
    return tuple(kept.values())
