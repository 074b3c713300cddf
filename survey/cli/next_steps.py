"""What the command line says to do next, for each key that a refusal may carry."""

from __future__ import annotations

from survey.errors import NextStep

_WORDS = {
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
    NextStep.CALL_IT_WRONG: "If the part is not right, say: teachest missing FOLDER {about} --state wrong",
    NextStep.GIVE_ALL_THREE: "Give all three; see teachest component --help",
    NextStep.CHOOSE_PHOTO: "Say which with --photo.",
    NextStep.NAME_SURVEY: 'Give one with --name, for example --name "Dairy find".',
    NextStep.MAKE_SURVEY: "Make a survey with: teachest new FOLDER --kind lightweight",
    NextStep.MAKE_AGAIN: "Run teachest new again.",
    NextStep.MAKE_OR_PUT_BACK: "If the survey is new, run teachest new again; if not, put back a copy of survey.db.",
    NextStep.NAME_SURVEY_FOLDER: "Name the folder that 'teachest new' made, or make one with it.",
    NextStep.NAME_FOLDER_OR_REPLACE: (
        "Name a new folder; or say --replace: the survey as it is now is kept beside it."
    ),
    NextStep.CHECK_SURVEY: "See all of it with: teachest check FOLDER. Until it is mended, copy the whole folder.",
    NextStep.TAKE_IN_AGAIN: (
        "Take the photo in again from the phone or a copy; teachest check names any other that is damaged."
    ),
    NextStep.TAKE_IN_COPY: (
        "It was taken in once: copy it out of the survey and take the copy in, with teachest intake."
    ),
}


def next_step_words(step: str | NextStep, about: str = "") -> str:
    """The next step in a sentence, with the commands to type; empty where there is none to tell.

    ``about``: what the words speak of, as the refusal has it.
    """
    return _WORDS[step].format(about=about) if isinstance(step, NextStep) else step
