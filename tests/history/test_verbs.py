"""The verbs of the history: each declared once, beside the function that does it, and known where history is read.

A test that fails here says which file wants the line that is missing.
"""

from __future__ import annotations

import ast
from pathlib import Path

from house import Module, modules

from survey.history.verbs import DESCRIBE_ROWS, VERBS, list_acts, undo_act
from survey.machine.verbs import get_machine
from survey.model.verb import Verb
from survey.shelf.verbs import make_survey
from survey.store.tables import BIN_TABLES
from web.words import MESSAGES

# What the database of every survey in the world may hold, and what the history makes of it. A name that stands here
# is never changed and never taken out; a new verb is written down here once.
PAST = {
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

# The call, and which of its arguments is the verb.
TAKE_A_VERB = {"change": 0, "put_row_aside": 3, "create_store": 2}


def declarations() -> list[tuple[str, str]]:
    """Where each verb is declared, and the name that it has in the database."""
    return [
        (module.where(node), node.args[0].value)
        for module in modules()
        for node in ast.walk(module.tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "Verb"
        and node.args and isinstance(node.args[0], ast.Constant) and node.args[0].value
    ]  # fmt: skip


def acts_of(module: Module) -> list[ast.expr]:
    """What is given as the verb wherever the module writes an act."""
    found = []
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Call):
            called = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
            place = TAKE_A_VERB.get(called)
            if place is not None and len(node.args) > place:
                found.append(node.args[place])
    return found


def is_declared(verb: ast.expr) -> bool:
    """A constant in capitals, one of two of them, or one looked up in a constant; a parameter of type Verb."""
    if isinstance(verb, ast.IfExp):
        return is_declared(verb.body) and is_declared(verb.orelse)
    if isinstance(verb, ast.Subscript):
        return is_declared(verb.value)
    return isinstance(verb, ast.Name) and (verb.id.isupper() or verb.id == "verb")


def test_every_act_is_given_a_declared_verb() -> None:
    written = [(module, verb) for module in modules() if module.name.startswith("survey") for verb in acts_of(module)]
    assert len(written) > 60
    found = [f"{module.where(verb)}: {ast.unparse(verb)}" for module, verb in written if not is_declared(verb)]
    assert not found, (
        "Acts whose verb is not declared: write NAME = Verb(...) above the functions of that file and give NAME:\n  "
        + "\n  ".join(found)
    )


def test_every_declared_verb_is_collected_by_the_history() -> None:
    found = [f"{where}: {name!r}" for where, name in declarations() if name not in VERBS]
    assert not found, (
        "Verbs that the history does not know: add each to the tuple ..._VERBS of its file, a new tuple to VERBS in "
        + "survey/history/verbs.py:\n  " + "\n  ".join(found)
    )  # fmt: skip


def test_every_name_is_declared_once() -> None:
    names = [name for _, name in declarations()]
    assert sorted(names) == sorted(VERBS), "a verb is declared twice, or collected without being declared"


def test_every_verb_keeps_its_name_and_its_words() -> None:
    assert {name: verb.past for name, verb in VERBS.items()} == PAST, "a new verb is written down in PAST of this file"
    assert all(verb.name == name and verb.past for name, verb in VERBS.items())


def test_undo_leaves_only_what_is_no_edit_and_stops_at_the_emptied_bin() -> None:
    assert [name for name, verb in VERBS.items() if not verb.undoable] == ["make survey", "take in"]
    assert [name for name, verb in VERBS.items() if verb.ends_undo] == ["empty bin"]


def test_every_table_of_the_bin_says_what_its_rows_are() -> None:
    assert set(BIN_TABLES) <= set(DESCRIBE_ROWS), (
        "a function describe_... beside the verbs, and a line in survey/history/verbs.py"
    )


def test_a_verb_of_an_older_or_unknown_name_is_told_by_its_name_and_taken_back(tmp_path: Path) -> None:
    with make_survey(tmp_path / "heap", "lightweight", "Dairy find", by="Wren") as survey:
        with survey.store.change(Verb("paint swatch", "never asked for"), "Wren") as change:
            change.update("machine", [1], {"note": "maroon"})
        assert list_acts(survey)[0].words == "Paint swatch"
        assert undo_act(survey).words == "Paint swatch"
        assert get_machine(survey).note == ""


def test_a_page_that_says_what_the_history_says_has_its_words() -> None:
    told = {key: MESSAGES[key] for key in ("found", "marked", "moved", "added", "put-back", "undone", "redone")}
    assert told == {
        "found": "Finding recorded.", "marked": "Mark drawn.", "moved": "Mark moved.", "added": "Part recorded.",
        "put-back": "Put back.", "undone": "Taken back.", "redone": "Done again.",
    }  # fmt: skip
