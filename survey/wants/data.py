"""Reads which kind of stall has which class of part from survey/data/stalls.toml and proves it."""

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
    """The kinds of stall that stand in a TOML text: every class of part at exactly one, and one for all the rest."""
    file = TomlFile(name, text)
    found = file.records("stall", Stall, {"classes": Closed(words.class_, "is no class")}, empty=("classes",))
    at: dict[str, str] = {}
    for stall in found:
        for word in stall.classes:
            if word in at:
                raise file.fault_of(stall.id, "classes", f"{word!r} is at {at[word]} already", ("one stall a class",))
            at[word] = stall.id
    left = [word for word in words.class_ if word not in at]
    if left or not found or found[-1].classes:
        what = f"no stall has {', '.join(left)}" if left else "the last is not for whatever has no class"
        raise make_fault(name, 1, "the whole file", "classes", what, ("every class once, the last stall empty",))
    return Stalls(found, tuple(file.content.get("tell_tale", ())), str(file.content.get("source", "")))
