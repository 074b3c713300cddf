"""What to do next after a refusal: every key has its words at both doors, and nothing below them names a command."""

from __future__ import annotations

import ast
import re

import pytest
from flask import Flask
from house import modules
from web_client import CheckedClient

from survey.cli.next_steps import next_step_words
from survey.errors import BadValue, NextStep, NoSuchThing, Refusal
from survey.parts.verbs import add_part
from survey.photos.verbs import remove_mark
from survey.store.survey import Survey
from web.next_steps import advice

A_COMMAND = re.compile(r"\bteachest |(?<![\w-])--[a-z]")

# What the command line says; scripts may read it, so it stays as it is.
ON_THE_COMMAND_LINE = {
    NextStep.SEE_PARTS: "See them with: teachest parts FOLDER",
    NextStep.SEE_PHOTOS: "See them with: teachest photos FOLDER",
    NextStep.SEE_SCHEDULE: "See them with: teachest schedule FOLDER",
    NextStep.SEE_STEPS: "See them with: teachest order FOLDER",
    NextStep.SEE_PAIRS: "See them with: teachest order FOLDER --pairs",
    NextStep.SEE_WANTS: "See what is wanted: teachest wants FOLDER",
    NextStep.SEE_MONEY: "See them with: teachest money FOLDER",
    NextStep.SEE_BATCHES: "See them with: teachest batch FOLDER",
    NextStep.SEE_ITEMS: "See them with: teachest docket FOLDER BATCH",
    NextStep.SEE_BIN: "See what is, with: teachest bin FOLDER",
    NextStep.SEE_HISTORY: "See what was done with: teachest history FOLDER",
    NextStep.SEE_FINDINGS: "A finding has steps 1, 2, 3 and 4: see teachest rules --findings",
    NextStep.SEE_KINDS: "It may be the name of a catalogue; see them with: teachest kinds.",
    NextStep.LOOK_AGAIN: "",
    NextStep.CALL_IT_WRONG: "If the part is not right, say: teachest missing FOLDER B006 --state wrong",
    NextStep.GIVE_ALL_THREE: "Give all three; see teachest component --help",
    NextStep.CHOOSE_PHOTO: "Say which with --photo.",
    NextStep.NAME_SURVEY: 'Give one with --name, for example --name "Dairy find".',
    NextStep.MAKE_SURVEY: "Make a survey with: teachest new FOLDER --kind lightweight",
    NextStep.MAKE_AGAIN: "Run teachest new again.",
    NextStep.MAKE_OR_PUT_BACK: "If the survey is new, run teachest new again; if not, put back a copy of survey.db.",
    NextStep.NAME_SURVEY_FOLDER: "Name the folder that 'teachest new' made, or make one with it.",
    NextStep.NAME_FOLDER_OR_REPLACE: "Name a new folder; or say --replace: the survey as it is now is kept beside it.",
    NextStep.CHECK_SURVEY: "See all of it with: teachest check FOLDER. Until it is mended, copy the whole folder.",
    NextStep.TAKE_IN_AGAIN: "Take the photo in again from the phone or a copy; teachest check names any other that is"
    " damaged.",
    NextStep.TAKE_IN_COPY: "It was taken in once: copy it out of the survey and take the copy in, with teachest"
    " intake.",
}


@pytest.mark.parametrize("step", NextStep, ids=lambda step: step.value)
def test_the_command_line_has_its_words_for_every_key(step: NextStep) -> None:
    assert next_step_words(step, "B006") == ON_THE_COMMAND_LINE[step]


@pytest.mark.parametrize("step", NextStep, ids=lambda step: step.value)
def test_a_page_has_its_words_for_every_key_and_leads_on(app: Flask, client: CheckedClient, step: NextStep) -> None:
    with app.test_request_context():
        said = advice(step, "B006")
    assert said.sentence.endswith(".") and not A_COMMAND.search(said.sentence + said.link)
    assert bool(said.link) == bool(said.address)
    if said.address:
        address, _, anchor = said.address.partition("#")
        page = client.get(address)
        assert not anchor or page.by_id(anchor)


def test_a_sentence_that_is_the_same_at_both_doors_is_said_as_it_is(app: Flask) -> None:
    assert next_step_words("Write it again.") == "Write it again."
    with app.test_request_context():
        assert advice("Write it again.").sentence == "Write it again."


def test_a_refusal_carries_its_key_and_what_it_is_about() -> None:
    refusal = BadValue("It is taken.", NextStep.CALL_IT_WRONG, "B006")
    assert (refusal.next_step, refusal.about, str(refusal)) == (NextStep.CALL_IT_WRONG, "B006", "It is taken.")
    assert str(Refusal("It is taken.", "Choose another.")) == "It is taken. Choose another."


def test_nothing_below_the_doors_names_a_command_or_an_option() -> None:
    found = []
    for module in modules():
        if not module.name.startswith("survey") or module.name.startswith("survey.cli"):
            continue
        about = {
            id(node.body[0].value)
            for node in ast.walk(module.tree)
            if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef) and node.body
            and isinstance(node.body[0], ast.Expr)
        }  # fmt: skip
        found += [
            f"{module.where(node)}: {node.value!r}"
            for node in ast.walk(module.tree)
            if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in about
            and A_COMMAND.search(node.value)
        ]  # fmt: skip
    assert not found, (
        "Sentences that only one door can say: give the refusal a NextStep of survey/errors.py, and its words in"
        " survey/cli/next_steps.py and web/next_steps.py:\n  " + "\n  ".join(found)
    )


def test_a_page_that_refuses_says_what_to_do_next(client: CheckedClient, survey: Survey) -> None:
    for address, sentence, link, there in (
        ("/parts/999", "The parts are listed under Parts.", "See the parts", "/parts/"),
        ("/photos/999", "The photos are on the sheet under Photos.", "See the photos", "/photos/"),
        ("/plan/outwork/999", "The batches are listed on the page Outwork.", "See the batches", "/plan/outwork/"),
    ):
        page = client.get(address, 404)
        assert sentence in page.words and page.links[link] == there
    page = client.post("/gaps/answer", {"component": "no such place", "state": "missing"}, 404)
    assert page.links["See the schedule"] == "/gaps/?show=all"


def test_a_position_that_is_filled_is_opened_from_the_page_that_refuses(client: CheckedClient, survey: Survey) -> None:
    add_part(survey, "B006")
    page = client.post("/gaps/answer", {"component": "B006", "state": "missing"}, 400)
    assert "open B006 under Gaps and answer “Here but wrong”" in page.words
    assert page.links["Open it under Gaps"] == "/gaps/?show=all#B006"


def test_our_scripts_are_told_the_same_sentence(client: CheckedClient) -> None:
    answer = client.client.get("/photos/999", headers={"Accept": "application/json"})
    assert answer.get_json() == {
        "says": "There is no photo 999 in this survey.",
        "next": "The photos are on the sheet under Photos.",
    }


def test_what_was_taken_off_since_is_told_in_the_browser_and_not_on_the_command_line(survey: Survey) -> None:
    with pytest.raises(NoSuchThing) as refused:
        remove_mark(survey, 999)
    assert refused.value.next_step is NextStep.LOOK_AGAIN
    assert next_step_words(refused.value.next_step) == ""
