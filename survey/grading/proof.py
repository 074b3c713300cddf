"""The proof that the rule tables answer every question once, and never against safety.

It runs whenever the rules are read, over the whole product of the vocabularies: every duty x class x material (and
every component a row names) x finding x step x state of the readings, then every way of looking. Nothing is sampled.
A faulty table raises survey.errors.BrokenKnowledge naming file, line, row and cell.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from difflib import get_close_matches
from itertools import product

from survey.errors import BrokenKnowledge
from survey.grading.facts import HARDNESS, UNKNOWN
from survey.grading.product import Cell, Product, make_row_error
from survey.grading.rows import COLUMNS, Row, RuleTable
from survey.grading.rulebook import Rulebook
from survey.grading.tables import Value
from survey.model.grading import HARDEST_FIRST, STEPS
from survey.model.schedule import Component

Inputs = dict[str, Value]

# Findings and steps that on a safety part are never less than "examine first".
NEVER_EASY: dict[str, tuple[int, ...]] = {"crack": STEPS, "perforation": STEPS, "previous_repair": (2, 3, 4)}
# Sheet metal that carries nobody may be repaired at home; a lamp's glass, plastic or die-cast parts are not sheet.
SHEET: tuple[str, ...] = ("tinware", "lamp")
SHEET_METALS: tuple[str, ...] = ("steel", "aluminium", "copper-alloy")
# Columns of the later stages in which one word is tried for all words that every row treats alike.
_ALIKE = ("class", "crack-test", "measured", "first")


def prove_rulebook(rulebook: Rulebook, components: Iterable[Component]) -> None:
    """Prove the rulebook over the vocabularies and these components; raises BrokenKnowledge at the first fault.

    ``components``: every component of every catalogue. A row that can win for none of them is dead.
    """
    _prove_words_known(rulebook)
    parts = Product(rulebook, tuple(components))
    cells = parts.cells()
    _prove_no_reading_is_never_inside(parts, cells)
    _prove_danger_is_never_easy(parts, cells)
    _prove_worse_is_never_easier(parts, cells)
    _prove_finish_never_condemns(parts, cells)
    alive = parts.won | _prove_later_stages(rulebook)
    for row in rulebook.rows:
        if row.id not in alive:
            raise make_row_error(row, "it can never win: nearer rows answer everything it speaks of")


def _prove_words_known(rulebook: Rulebook) -> None:
    """Refuse an id used twice, a cell its table does not have, and a word its cell does not allow."""
    seen: dict[str, Row] = {}
    for row in rulebook.rows:
        if row.id in seen:
            raise make_row_error(row, f"the id is taken by line {seen[row.id].line} of {seen[row.id].file}")
        seen[row.id] = row
        stage = rulebook.table_of(row).stage
        for column, words in row.when.items():
            if column not in COLUMNS[stage]:
                raise make_row_error(row, f"there is no cell {column!r} here", COLUMNS[stage])
            allowed = rulebook.words.allowed(column)
            for word in sorted(words - set(allowed), key=str):
                near = get_close_matches(str(word), map(str, allowed)) if column == "component" else allowed
                raise make_row_error(row, f"cell {column}: {word!r} is no word of ours", near)
        if row.then not in HARDEST_FIRST:
            raise make_row_error(row, f"cell then: {row.then!r} is no outcome", HARDEST_FIRST)
    taken = [finding for table in rulebook.tables for finding in sorted(table.findings)]
    for finding in taken:
        if taken.count(finding) > 1 or finding not in rulebook.words.speaks_of:
            raise BrokenKnowledge(f"Finding {finding} stands in no table, or in two, or is no finding.", "Mend a head.")


def _prove_no_reading_is_never_inside(parts: Product, cells: Iterable[Cell]) -> None:
    """At a step that claims to be inside its limit, a safety part is "reuse" only if its readings are inside."""
    safety = parts.parts("duty", ["safety"])
    for cell in cells:
        claims = (cell.finding, cell.step) in parts.book.words.claims
        if claims and cell.measured != "inside" and (bits := cell.outcomes["reuse"] & safety):
            raise _make_unsafe_error(parts, cell, bits, "counts as inside its limit without a reading and a limit")


def _prove_danger_is_never_easy(parts: Product, cells: Iterable[Cell]) -> None:
    """A crack, hole or unknown repair on a safety part is never less than "examine first", except in sheet metal."""
    sheet = parts.parts("class", SHEET) & parts.parts("material", SHEET_METALS)
    watched = parts.parts("duty", ["safety"]) & ~sheet
    for cell in cells:
        if cell.step in NEVER_EASY.get(cell.finding, ()):
            for outcome, bits in cell.outcomes.items():
                if HARDNESS[outcome] < HARDNESS["examine-first"] and bits & watched:
                    raise _make_unsafe_error(parts, cell, bits & watched, f"is let through as {outcome}")


def _prove_worse_is_never_easier(parts: Product, cells: Iterable[Cell]) -> None:
    """A worse step of the same finding, or a reading beyond its limit, never gives an easier grade."""
    by_question = {(cell.finding, cell.step, cell.measured): cell for cell in cells}
    for (finding, step, measured), cell in by_question.items():
        for worse in (by_question.get((finding, step + 1, measured)), by_question.get((finding, max(step, 3), "over"))):
            easier = 0
            for outcome in reversed(HARDEST_FIRST) if worse else ():
                if worse and (bits := cell.outcomes[outcome] & easier):
                    row = parts.winner(worse, bits)
                    question = f"{worse.finding} {worse.step}, measured {worse.measured}"
                    where = f"{question}, by row {row.id} ({row.file}, line {row.line}): {row.then}"
                    raise _make_unsafe_error(parts, cell, bits, f"is graded harder than a worse step of it, {where}")
                easier |= worse.outcomes[outcome] if worse else 0


def _prove_finish_never_condemns(parts: Product, cells: Iterable[Cell]) -> None:
    """A finding about the finish or dirt never makes a safety or running part "replace"."""
    watched = parts.parts("duty", ["safety", "running"])
    for cell in cells:
        coat = parts.book.words.subject(cell.finding) in ("finish", "dirt")
        if coat and (bits := cell.outcomes["replace"] & watched):
            raise _make_unsafe_error(parts, cell, bits, "is condemned for what lies on it")


def _make_unsafe_error(parts: Product, cell: Cell, bits: int, fault: str) -> BrokenKnowledge:
    return make_row_error(parts.winner(cell, bits), f"{parts.question(cell, bits)} {fault}")


# the later stages ------------------------------------------------------------------------------------------------

_Claim = tuple[str, Callable[[Inputs, int], bool]]


def _safety_unseen(inputs: Inputs) -> bool:
    return inputs["duty"] == "safety" and inputs["seen"] != "bare"


# What must be true of each later stage: the words of the fault, and a check of its inputs and of how hard the outcome
# is (with the outcome so far included if the stage has one).
_CLAIMS: dict[str, tuple[_Claim, ...]] = {
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


def _prove_later_stages(rulebook: Rulebook) -> set[str]:
    """Prove the stages after the findings, and return the ids of their rows that can apply.

    Every look is answered by exactly one row. On a safety part, what was not seen or only seen through paint is never
    "reuse". No part is "reuse" with nothing recorded or without a component, no safety or running part with only its
    finish recorded.
    """
    alive: set[str] = set()
    for table in rulebook.tables:
        for inputs in _list_inputs(rulebook, table) if table.stage in _CLAIMS else ():
            rows = rulebook.after(table.stage, inputs)
            alive.update(row.id for row in rows)
            if table.hit == "unique" and len(rows) > 1:
                raise make_row_error(rows[1], f"{rows[0].id} answers too for {_describe_inputs(inputs)}")
            first = HARDNESS[str(inputs["first"])] if "first" in inputs else 0
            # If nothing is recorded, "not-looked-at" is not an outcome of an earlier stage.
            first = 0 if inputs.get("found") == "nothing" else first
            hard = max(first, *(HARDNESS[row.then] for row in rows)) if rows else first
            for fault, holds in _CLAIMS[table.stage]:
                if not holds(inputs, hard):
                    sentence = f"{table.file}: a part with {_describe_inputs(inputs)} {fault}."
                    raise BrokenKnowledge(sentence, "Mend the table's rows.")
    return alive


def _describe_inputs(inputs: Inputs) -> str:
    return ", ".join(f"{column} {word}" for column, word in inputs.items())


def _list_inputs(rulebook: Rulebook, table: RuleTable) -> Iterator[Inputs]:
    """Every input of a later stage, with one word for all words that every row of the table treats alike."""
    columns = COLUMNS[table.stage]
    choices = [_list_distinct_words(rulebook, table, column) for column in columns]
    for values in product(*choices):
        yield dict(zip(columns, values, strict=True))


def _list_distinct_words(rulebook: Rulebook, table: RuleTable, column: str) -> Sequence[Value]:
    words = rulebook.words.allowed(column)
    if column not in _ALIKE:
        return words
    distinct: dict[tuple[object, ...], Value] = {}
    for word in words:
        treated = tuple(word in (row.words(column) or words) for row in table.rows)
        distinct.setdefault((word in (UNKNOWN, "reuse"), *treated), word)
    return tuple(distinct.values())
