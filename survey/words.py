"""How the closed words of the model are said to people: one wording for the page, the paper and the command line."""

from __future__ import annotations

from survey.model import Duty, GapState, Outcome, Seen

OUTCOME_WORDS: dict[Outcome, str] = {
    "reuse": "Reuse",
    "repair": "Repair",
    "replace": "Replace",
    "examine-first": "Examine first",
    "take-a-reading": "Take a reading",
    "not-looked-at": "Not looked at",
}

SEEN_WORDS: dict[Seen, str] = {
    "bare": "on bare metal",
    "paint": "through paint, plating or dirt",
    "unseen": "not seen: suspected or told",
}

GAP_WORDS: dict[GapState, str] = {
    "missing": "Missing",
    "wrong": "Here but wrong",
    "short": "Short",
    "unseen": "Inside, not seen",
    "not-looked": "Not looked for",
}

DUTY_WORDS: dict[Duty, str] = {
    "safety": "safety part",
    "running": "running part",
    "cosmetic": "looks and comfort",
    "paperwork": "paperwork",
}

STATE_WORDS: dict[str, str] = {
    "here": "Here",
    **{str(state): words for state, words in GAP_WORDS.items()},
    "not-fitted": "Not fitted to this machine",
}
