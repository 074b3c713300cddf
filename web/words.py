"""The browser door's words: how closed words, times and counts are said on a page."""

from __future__ import annotations

from datetime import datetime

from survey.history.verbs import VERBS
from survey.model.photos import Photo
from survey.model.schedule import PositionState

# What there is to do next.
NEXT_WORDS = {
    "place": "Place", "examine": "Have examined", "read": "Measure", "look": "Look over", "search": "Look for",
    "fit": "Find out why", "unpack": "Make a spacer", "pass-on": "Pass on",
}  # fmt: skip

# What the keys of a laptop do; each presses the link or button that carries it, where the page has one.
KEYS = (
    ("1–9", "the part, or the finding, that carries the figure; then 1–4 for its step"),
    ("/", "write what it is called, or what is looked for"),
    ("g", "nothing wrong seen"),
    ("n", "the next photo that waits, or the next useful thing"),
    ("← →", "the photo before, the photo after"),
    ("p", "it shows another part too; on the sheet: the ticked photos show"),
    ("m", "to the picture: + and − enlarge it, 0 shows all of it, the arrows shift it"),
    ("Tab", "on the picture, its marks: arrows move one, with Shift further, Delete takes it off"),
    ("s", "set the photo aside, or bring it back"),
    ("u", "take back what was done last"),
    ("r", "do it again"),
    ("Esc", "close what is open, leave a field"),
    ("?", "this list"),
)

SEEN_SHORT = {"bare": "Bare", "paint": "Through a coat", "unseen": "Not seen"}

# What can be answered for a position, in the order the buttons stand.
ANSWERS: tuple[tuple[PositionState, str], ...] = (
    ("missing", "Missing"),
    ("wrong", "Here but wrong"),
    ("unseen", "Inside, not seen"),
    ("not-fitted", "Not fitted"),
    ("not-looked", "Not looked for"),
)

# The three stretches of a dry build.
PHASES = {"proof": "Looked at and measured bare", "build": "Put together dry", "finish": "Apart again, mended, coated"}

TAKEN_FROM = {"original": "the camera’s clock", "digitized": "when it was digitised", "file": "the file’s own time"}

# Where a page says the same as the history, it has the verb's own words.
_VERB_OF = {
    "found": "add finding", "marked": "mark", "moved": "move mark", "added": "add part", "put-back": "put back",
    "undone": "undo", "redone": "redo",
}  # fmt: skip

# What a page says after something was done; an address carries only the key.
MESSAGES = {key: f"{VERBS[verb].past}." for key, verb in _VERB_OF.items()} | {
    "placed": "Placed.",
    "made": "Part recorded and photo placed.",
    "unplaced": "The photo no longer shows that part.",
    "nothing": "Recorded: nothing wrong seen.",
    "unmarked": "Mark taken off.",
    "noted": "Saved.",
    "aside": "Set aside.",
    "back": "Brought back.",
    "reading": "Reading recorded.",
    "removed": "Removed. The history keeps it.",
    "graded": "Your own grade stands beside the ruling.",
    "ungraded": "Your own grade is taken back.",
    "gone": "Part removed. Its photos wait again.",
    "answered": "Answer recorded.",
    "cleared": "Answer taken back.",
    "binned": "The photo is in the bin, and can be put back from there.",
    "several": "Placed, all of them.",
    "boxed": "Saved where they are.",
    "added-batch": "Batch made up. Say of each part what is to be done to it.",
    "sent-out": "Sent out: it counts as away from now on.",
}


def format_day(taken: str | None) -> str:
    """``2026-06-03T14:05:09`` or a date alone as ``3 June 2026``; empty for None."""
    return f"{_moment(taken).day} {_moment(taken):%B %Y}" if taken else ""


def format_time(taken: str | None) -> str:
    """The time of day, ``14:05``; empty for None."""
    return f"{_moment(taken):%H:%M}" if taken else ""


def format_file_size(octets: int) -> str:
    """A file's size: ``840 kB``, ``3.4 MB``."""
    return f"{octets / 1e6:.1f} MB" if octets >= 1e6 else f"{max(1, round(octets / 1e3))} kB"


def describe_camera(make: str, model: str) -> str:
    """The camera; many write their maker's name into the model again: ``Corvale Lantern 3``."""
    said = make.casefold().split()
    doubled = bool(said) and model.casefold().split()[: len(said)] == said
    return " ".join((model if doubled else f"{make} {model}").split())


def describe_run(run: list[Photo]) -> str:
    """When a run of photos was taken: ``3 June 2026, 14:05 to 14:11``."""
    first, last = run[0].taken, run[-1].taken
    if first is None or last is None:
        return "Without a time"
    if format_day(first) != format_day(last):
        return f"{format_day(first)}, {format_time(first)} to {format_day(last)}, {format_time(last)}"
    end = "" if format_time(first) == format_time(last) else f" to {format_time(last)}"
    return f"{format_day(first)}, {format_time(first)}{end}"


def _moment(taken: str | None) -> datetime:
    return datetime.fromisoformat((taken or "").replace("Z", "+00:00"))
