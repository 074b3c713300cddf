"""The report's own words for the closed vocabularies."""

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

DUTY_ORDER: dict[Duty, int] = {"safety": 0, "running": 1, "paperwork": 2, "cosmetic": 3}

DISCLAIMER = (
    "This is its owner's own record of what was seen and measured on the dates given. "
    "It is not an engineer's inspection, nor proof that anything is fit for the road.",
    "No safety part is passed here. A part that carries, steers or stops you is examined by somebody "
    "competent, with the means, before it is used. Local codes and licensed practice come first.",
    "A thing that is not mentioned was not looked at.",
)
