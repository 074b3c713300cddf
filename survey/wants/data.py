"""Reads which kind of stall has which class of part from survey/data/stalls.toml and validates it."""

from __future__ import annotations

from functools import lru_cache

from survey.data_files import Closed, TomlFile, make_fault, read_data_text
from survey.vocabulary import Vocabulary, load_vocabulary
from survey.wants.want_lines import Stall, Stalls

_FILE = "stalls.toml"


@lru_cache(maxsize=1)
def load_stalls() -> Stalls:
    """The kinds of stall, in the order of the walk. Raises BrokenKnowledge at a faulty file."""
    return parse_stalls(read_data_text(_FILE), load_vocabulary())


def parse_stalls(text: str, words: Vocabulary, name: str = _FILE) -> Stalls:
    """The kinds of stall of a TOML text: every class of part at exactly one, and one for all the rest."""
    file = TomlFile(name, text)
    stalls = file.records("stall", Stall, {"classes": Closed(words.class_, "is no class")}, empty=("classes",))
    stall_of: dict[str, str] = {}
    for stall in stalls:
        for word in stall.classes:
            if word in stall_of:
                raise file.fault_of(
                    stall.id, "classes", f"{word!r} is at {stall_of[word]} already", ("one stall a class",)
                )
            stall_of[word] = stall.id
    unassigned = [word for word in words.class_ if word not in stall_of]
    if unassigned or not stalls or stalls[-1].classes:
        problem = f"no stall has {', '.join(unassigned)}" if unassigned else "the last is not for whatever has no class"
        raise make_fault(name, 1, "the whole file", "classes", problem, ("every class once, the last stall empty",))
    return Stalls(stalls, tuple(file.content.get("tell_tale", ())), str(file.content.get("source", "")))
