"""What a page says to do next, for each key that a refusal may carry, and the page where it is done."""

from __future__ import annotations

from dataclasses import dataclass

from flask import url_for

from survey.errors import NextStep


@dataclass(frozen=True, slots=True)
class Advice:
    """One sentence, and the link that leads on: its words and its address, both empty where no page helps."""

    sentence: str
    link: str = ""
    address: str = ""


# The sentence; what the link is called; its endpoint and what stands in its address.
_WORDS: dict[NextStep, tuple[str, str, str, dict[str, str]]] = {
    NextStep.SEE_PARTS: ("The parts are listed under Parts.", "See the parts", "parts.listed", {}),
    NextStep.SEE_PHOTOS: ("The photos are on the sheet under Photos.", "See the photos", "photos.contact_sheet", {}),
    NextStep.SEE_SCHEDULE: (
        "The whole schedule is listed under Gaps.", "See the schedule", "gaps.tree", {"show": "all"},
    ),
    NextStep.SEE_STEPS: (
        "The steps are listed in their order on the page Dry build.", "See the steps", "plan.order", {},
    ),
    NextStep.SEE_PAIRS: (
        "Pairs of your own and pairs out of use are listed on the page Dry build.", "See the pairs", "plan.order",
        {"_anchor": "own-pairs"},
    ),
    NextStep.SEE_WANTS: ("What is wanted is listed on the page Wants.", "See the wants", "wants.listed", {}),
    NextStep.SEE_MONEY: (
        "The lines are listed on the page Money.", "See the lines", "money.listed", {"_anchor": "lines"},
    ),
    NextStep.SEE_BATCHES: ("The batches are listed on the page Outwork.", "See the batches", "outwork.listed", {}),
    NextStep.SEE_ITEMS: (
        "Open the batch on the page Outwork: what is in it is listed there.", "See the batches", "outwork.listed", {},
    ),
    NextStep.SEE_BIN: ("What is in the bin is listed on the page Bin.", "Open the bin", "binned.listed", {}),
    NextStep.SEE_HISTORY: (
        "Everything is listed on the page What was done.", "See what was done", "acts.history", {},
    ),
    NextStep.SEE_FINDINGS: (
        "A finding has steps 1, 2, 3 and 4; what each looks like is listed under Rules.", "See the steps of each",
        "rules.findings", {},
    ),
    NextStep.SEE_KINDS: ("It may be the name of a catalogue, for example lightweight.", "", "", {}),
    NextStep.LOOK_AGAIN: ("Go back and look again: it may have been taken off since.", "", "", {}),
    NextStep.CALL_IT_WRONG: (
        "If the part is not right, open {about} under Gaps and answer “Here but wrong”.", "Open it under Gaps",
        "gaps.tree", {"show": "all", "_anchor": "{about}"},
    ),
    NextStep.GIVE_ALL_THREE: ("Go back and give all three.", "", "", {}),
    NextStep.CHOOSE_PHOTO: ("Go back and choose the photo first.", "See the photos", "photos.contact_sheet", {}),
    NextStep.NAME_SURVEY: ("Write a name, for example: Dairy find.", "", "", {}),
    NextStep.MAKE_SURVEY: ("Close Teachest, and start it with the folder of a survey.", "", "", {}),
    NextStep.MAKE_AGAIN: ("Close Teachest, and make the survey again in that folder.", "", "", {}),
    NextStep.MAKE_OR_PUT_BACK: (
        "Close Teachest. If the survey is new, make it again; if not, put back a copy of survey.db.", "", "", {},
    ),
    NextStep.NAME_SURVEY_FOLDER: ("Close Teachest, and start it with the folder that holds the survey.", "", "", {}),
    NextStep.NAME_FOLDER_OR_REPLACE: ("Put the backup back into a new folder.", "", "", {}),
    NextStep.CHECK_SURVEY: ("Until it is mended, copy the whole folder of the survey.", "", "", {}),
    NextStep.TAKE_IN_AGAIN: (
        "Take the photo in again from the phone or a copy, under Add photos.", "Add photos", "upload.form", {},
    ),
    NextStep.TAKE_IN_COPY: (
        "It was taken in once: copy it out of the survey and take the copy in, under Add photos.", "Add photos",
        "upload.form", {},
    ),
}  # fmt: skip


def advice(step: str | NextStep, about: str = "") -> Advice:
    """The next step as a page says it. ``about``: what the words speak of, as the refusal has it."""
    if not isinstance(step, NextStep):
        return Advice(step)
    sentence, link, endpoint, values = _WORDS[step]
    filled = {name: value.format(about=about) for name, value in values.items()}
    return Advice(sentence.format(about=about), link, url_for(endpoint, **filled) if endpoint else "")  # type: ignore[arg-type]
