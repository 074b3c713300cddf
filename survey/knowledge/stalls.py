"""Reads which kind of stall has which class of part from survey/data/stalls.toml and proves it."""

from __future__ import annotations

from functools import lru_cache

from survey.knowledge.vocabulary import Vocabulary, data_text, fault, line_of, toml, vocabulary
from survey.planning.wants import Stall, Stalls

_FILE = "stalls.toml"
_KEYS = ("id", "label", "classes")


@lru_cache(maxsize=1)
def stalls() -> Stalls:
    """The kinds of stall, in the order of the walk. Raises BrokenKnowledge at a faulty file."""
    return read_stalls(data_text(_FILE), vocabulary())


def read_stalls(text: str, words: Vocabulary, name: str = _FILE) -> Stalls:
    """The kinds of stall that stand in a TOML text: every class of part at exactly one, and one for all the rest."""
    content = toml(text, name)
    found: list[Stall] = []
    at: dict[str, str] = {}
    for raw in content.get("stall", []):
        row = str(raw.get("id", "without an id"))
        line = line_of(text, f'id = "{row}"')
        if tuple(raw) != _KEYS:
            raise fault(name, line, row, "stall", f"it has the cells {', '.join(raw)}", _KEYS)
        for word in raw["classes"]:
            if word not in words.class_:
                raise fault(name, line, row, "classes", f"{word!r} is no class", words.class_)
            if word in at:
                raise fault(name, line, row, "classes", f"{word!r} is at {at[word]} already", ("one stall a class",))
            at[word] = row
        found.append(Stall(row, raw["label"], tuple(raw["classes"])))
    left = [word for word in words.class_ if word not in at]
    if left or not found or found[-1].classes:
        what = f"no stall has {', '.join(left)}" if left else "the last is not for whatever has no class"
        raise fault(name, 1, "the whole file", "classes", what, ("every class once, the last stall empty",))
    return Stalls(tuple(found), tuple(content.get("tell_tale", ())), str(content.get("source", "")))
