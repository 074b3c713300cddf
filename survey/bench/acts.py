"""What was done, act by act, in words; taking it back and doing it again."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from itertools import groupby
from typing import Any

from survey import knowledge
from survey.bench.survey import Survey, alone
from survey.errors import NothingToTurn
from survey.folder import records, rewind
from survey.model import Act, Event
from survey.planning.fits import FIT_WORDS
from survey.planning.wants import WANT_WORDS
from survey.words import capital

ENOUGH_TO_TELL = 60
"""So many of an act's events say what it was about; one act may have changed thousands of rows."""

_VERBS = {
    "make survey": "Survey made",
    "take in": "Photos taken in",
    "describe machine": "Machine described",
    "write number": "Number written down",
    "remove number": "Number put aside",
    "add component": "Component added",
    "remove component": "Component put aside",
    "set quantity": "Quantity changed",
    "add part": "Part recorded",
    "change part": "Part changed",
    "remove part": "Part put aside",
    "remove photo": "Photo put in the bin",
    "put back": "Put back",
    "empty bin": "Bin emptied",
    "own grade": "Own grade",
    "place photo": "Photo placed",
    "unplace photo": "Photo taken off the part",
    "set aside": "Photo set aside",
    "bring back": "Photo brought back",
    "note photo": "Photo noted",
    "put in box": "Put in its place",
    "mark": "Mark drawn",
    "move mark": "Mark moved",
    "remove mark": "Mark put aside",
    "add finding": "Finding recorded",
    "remove finding": "Finding put aside",
    "nothing wrong seen": "Nothing wrong seen",
    "remove look": "Look put aside",
    "add reading": "Reading taken",
    "remove reading": "Reading put aside",
    "say missing": "Missing",
    "say wrong": "Here but wrong",
    "say unseen": "Inside and unseen",
    "say not-fitted": "Not fitted to this machine",
    "say not-looked": "Not looked for",
    "say nothing": "No answer any more",
    "add before": "Goes on before",
    "remove before": "Own pair put aside",
    "pair out of use": "Pair out of use",
    "pair in use": "Pair in use again",
    "step done": "Step done",
    "step not needed": "Step not needed",
    "step open": "Step open again",
    "want": "Want noted",
    "drop want": "Want put aside",
    "currency": "Currency said",
    "add stuck": "Stuck thing recorded",
    "change stuck": "Stuck thing noted",
    "stuck thing out": "It is out",
    "remove stuck": "Stuck thing put aside",
    "make batch": "Batch made up",
    "change batch": "Batch noted",
    "remove batch": "Batch put aside",
    "add to batch": "Put into a batch",
    "change item": "Item of a batch noted",
    "remove item": "Taken out of a batch",
    "batch out": "Batch sent out",
    "taken back in": "Taken back in",
    "batch back": "Batch back, all accounted for",
    "add evidence": "Evidence recorded",
    "remove evidence": "Evidence put aside",
    "keep as pattern": "Kept as a pattern",
    "keep no longer": "No pattern any more",
    "add fit": "Trial fit recorded",
    "change fit": "Trial fit noted",
    "remove fit": "Trial fit put aside",
    "add money line": "Line of money written",
    "change money line": "Line of money changed",
    "remove money line": "Line of money put aside",
    "pay": "Paid",
    "add comparison": "Comparison written",
    "remove comparison": "Comparison put aside",
    "sale price": "What it would fetch",
    "contingency": "Contingency said",
    "say of gate": "Owner’s word on a gate",
    "gate open": "Owner’s word on a gate taken back",
    "undo": "Taken back",
    "redo": "Done again",
}


@alone
def undo(survey: Survey, batch: str | None = None) -> Act:
    """Take back the latest act that stands; returns it. Across restarts, by either door.

    ``batch``: the act one means to take back; refused when another was done since.

    Raises:
        NothingToTurn: nothing is left to take back, or it is another act's turn.
    """
    return _turn(survey, "undo", rewind.next_turns(survey.store)[0], batch)


@alone
def redo(survey: Survey, batch: str | None = None) -> Act:
    """Do again the act that was taken back last; returns it.

    Raises:
        NothingToTurn: nothing was taken back, or something new was done since, or it is another act's turn.
    """
    return _turn(survey, "redo", rewind.next_turns(survey.store)[1], batch)


def next_turns(survey: Survey) -> tuple[Act | None, Act | None]:
    """The act that ``undo`` would take back and the one that ``redo`` would do again."""
    back, again = rewind.next_turns(survey.store)
    return _act(survey, back), _act(survey, again)


def row_words(survey: Survey, table: str, row: dict[str, Any]) -> str:
    """What a row is, in words: ``part 3 (Handlebar)``."""
    return _TELL[table](survey, [row])


def acts(survey: Survey, *, part: int | None = None, last: int = 50) -> list[Act]:
    """The latest acts in words, newest first; of the whole survey, or those that touched a part.

    A part is touched by what changes it, its findings, looks, readings, marks, photos or own grade.
    """
    events = records.events_of_part(survey.store, part) if part is not None else records.last_events(survey.store, last)
    grouped = [list(group) for _, group in groupby(events, key=lambda event: event.batch)]
    return [_told(survey, group) for group in reversed(grouped)][:last]


def _turn(survey: Survey, way: rewind.Way, turn: rewind.Turn | None, batch: str | None) -> Act:
    doing = "take back" if way == "undo" else "do again"
    act = _act(survey, turn)
    if turn is None or act is None:
        raise NothingToTurn(f"There is nothing to {doing}.", "See what was done with: teachest history FOLDER")
    if batch is not None and batch != turn.batch:
        raise NothingToTurn(
            "Something else was done since, so that act is not the next to " + doing + ".",
            f"The next is: {act.words}.",
        )
    rewind.turn(survey.store, turn, way, survey.by)
    return act


def _act(survey: Survey, turn: rewind.Turn | None) -> Act | None:
    return None if turn is None else _told(survey, records.batch_events(survey.store, turn.batch, ENOUGH_TO_TELL))


def _told(survey: Survey, events: list[Event]) -> Act:
    first = events[0]
    turned = records.batch_events(survey.store, first.turns, ENOUGH_TO_TELL) if first.turns else None
    told = _VERBS.get(first.verb, capital(first.verb))
    about = _told(survey, turned).words if turned else _about(survey, events)
    return Act(first.batch, first.at, first.by, first.verb, f"{told}: {about}" if about else told)


def _about(survey: Survey, events: Iterable[Event]) -> str:
    """What an act was about, from its own rows: the finding, the part, the photo, the position."""
    rows: dict[str, list[dict[str, Any]]] = {}
    for event in events:
        rows.setdefault(event.entity, []).append(dict(event.after or event.before or {}))
    table = next((one for one in _TELL if one in rows), None)
    try:
        return _TELL[table](survey, rows[table]) if table else ""
    except (LookupError, TypeError, ValueError):  # a stranger's history may tell what it cannot; check names it
        return ""


def _part_words(survey: Survey, part: int | None) -> str:
    if part is None:
        return ""
    row = survey.store.row(
        "SELECT part.label AS own, component.label AS named FROM part LEFT JOIN component"
        " ON component.id = part.component WHERE part.id = ?",
        [part],
    )
    name = (row or {}).get("own") or (row or {}).get("named") or "not known yet"
    return f"part {part} ({name})"


def _position_words(survey: Survey, component: str) -> str:
    row = survey.store.row("SELECT label FROM component WHERE id = ?", [component])
    return f"{component} {row['label']}" if row else component


def _step_words(survey: Survey, step: str) -> str:
    kind = records.machine(survey.store).kind
    labels = {one.id: one.label for one in knowledge.build_order(kind).steps}
    return labels.get(step) or _position_words(survey, step)


def _gate_words(gate: str) -> str:
    return next((one.label for one in knowledge.gate_kinds() if one.id == gate), gate)


def _finding_words(survey: Survey, rows: list[dict[str, Any]]) -> str:
    row = rows[0]
    return f"{knowledge.finding_kind(row['kind']).label}, step {row['step']}, {_part_words(survey, row['part'])}"


def _photo_words(survey: Survey, numbers: Iterable[int]) -> str:
    known = list(dict.fromkeys(numbers))
    many = f"{len(known)} photos" if len(known) < ENOUGH_TO_TELL // 2 else "many photos"
    return many if len(known) > 3 else ", ".join(f"photo {number}" for number in known)


def _batch_words(row: dict[str, Any]) -> str:
    trade = {one.id: one.label for one in knowledge.trades().trades}.get(row["trade"], row["trade"])
    return f"batch {row['id']} ({trade}{', ' + row['who'] if row['who'] else ''})"


# The likeliest to be what the act was about comes first; what it took along is not told.
_TELL: dict[str, Callable[[Survey, list[dict[str, Any]]], str]] = {
    "finding": _finding_words,
    "look": lambda survey, rows: _part_words(survey, rows[0]["part"]),
    "reading": lambda survey, rows: f"{rows[0]['name']} {rows[0]['written']}, {_part_words(survey, rows[0]['part'])}",
    "evidence": lambda survey, rows: (
        f"{knowledge.belonging().kinds[rows[0]['kind']].label}, {_part_words(survey, rows[0]['part'])}"
    ),
    "pattern": lambda survey, rows: (
        f"{_part_words(survey, rows[0]['part'])}, for {_position_words(survey, rows[0]['component'])}"
    ),
    "fit": lambda survey, rows: (
        f"{_part_words(survey, rows[0]['other'])} to {_part_words(survey, rows[0]['part'])},"
        f" {FIT_WORDS[rows[0]['result']].lower()}"
    ),
    "own_grade": lambda survey, rows: f"{rows[0]['grade']}, {_part_words(survey, rows[0]['part'])}",
    "part": lambda survey, rows: ", ".join(dict.fromkeys(_part_words(survey, row["id"]) for row in rows[:3])),
    "part_photo": lambda survey, rows: (
        f"{_photo_words(survey, (row['photo'] for row in rows))}, {_part_words(survey, rows[0]['part'])}"
    ),
    "mark": lambda survey, rows: (
        f"{rows[0]['shape']} of {len(json.loads(rows[0]['points']))} on photo {rows[0]['photo']}"
    ),
    "photo": lambda survey, rows: _photo_words(survey, (row["id"] for row in rows)),
    "position": lambda survey, rows: ", ".join(_position_words(survey, row["component"]) for row in rows[:3]),
    "before_pair": lambda survey, rows: (
        f"{_step_words(survey, rows[0]['first'])} before {_step_words(survey, rows[0]['after'])}"
    ),
    "pair_off": lambda survey, rows: str(rows[0]["pair"]),
    "step_said": lambda survey, rows: _step_words(survey, rows[0]["step"]),
    "number": lambda survey, rows: f"{rows[0]['text']} on {rows[0]['place']}",
    "stuck": lambda survey, rows: f"{rows[0]['what']}, {_part_words(survey, rows[0]['part'])}",
    "batch": lambda survey, rows: _batch_words(rows[0]),
    "batch_item": lambda survey, rows: f"{_part_words(survey, rows[0]['part'])}, batch {rows[0]['batch']}",
    "money_line": lambda survey, rows: rows[0]["what"],
    "comparison": lambda survey, rows: f"{rows[0]['what']}, {rows[0]['seen_on']}",
    "sale_price": lambda survey, rows: _part_words(survey, rows[0]["part"]),
    "budget": lambda survey, rows: f"{rows[0]['contingency']} per cent" if rows[0]["contingency"] else "none",
    "gate_said": lambda survey, rows: f"{_gate_words(rows[0]['gate'])}: {rows[0]['said'].replace('-', ' ')}",
    "want": lambda survey, rows: ", ".join(
        (_position_words(survey, row["component"]) if row["component"] else row["label"])
        + f" ({WANT_WORDS[row['state']].lower()})"
        for row in rows[:3]
    ),
    "component": lambda survey, rows: ", ".join(f"{row['id']} {row['label']}" for row in rows[:3]),
}
