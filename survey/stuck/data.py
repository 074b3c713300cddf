"""Reads the scale for stuck things from survey/data/removal.toml and validates it."""

from __future__ import annotations

from functools import lru_cache

from survey.data_files import Closed, TomlFile, find_line, make_fault, read_data_text
from survey.stuck.removal import EXCLUSIVE_GROUPS, Band, Condition, Danger, RemovalScale, Way
from survey.vocabulary import Vocabulary, load_vocabulary

_FILE = "removal.toml"


@lru_cache(maxsize=1)
def load_removal_scale() -> RemovalScale:
    """The scale for stuck, seized and snapped things. Raises BrokenKnowledge at a faulty file."""
    return parse_removal_scale(read_data_text(_FILE), load_vocabulary())


def parse_removal_scale(text: str, words: Vocabulary, name: str = _FILE) -> RemovalScale:
    """The scale in a TOML text, validated: known words only, a condition for every group, a band for every sum."""
    file = TomlFile(name, text, ("thing", "condition", "band", "way", "danger"))
    things = {row.id: str(row.cells["label"]) for row in file.rows("thing")}
    known_thing = Closed(things, "is no thing")
    groups = Closed((*EXCLUSIVE_GROUPS, ""), "is no group")
    conditions = file.records("condition", Condition, {"things": known_thing, "group": groups}, empty=("group",))
    allowed_by_cell = {
        "classes": words.class_, "materials": words.material, "duties": words.duty,
        "conditions": [condition.id for condition in conditions],
    }  # fmt: skip
    scale = RemovalScale(
        things=things,
        conditions=conditions,
        bands=file.records("band", Band),
        ways=file.records("way", Way, {"things": known_thing}),
        dangers=file.records(
            "danger",
            Danger,
            {cell: Closed(sorted(allowed), "is not known") for cell, allowed in allowed_by_cell.items()},
        ),
    )
    for group in EXCLUSIVE_GROUPS:
        for thing in things:
            if not any(condition.group == group and thing in condition.things for condition in conditions):
                raise file.fault_of(group, "group", f"nothing answers it for {thing}", ("one condition at least",))
    least = [band.least for band in scale.bands]
    if not least or least[0] != 0 or least != sorted(set(least)):
        fault = f"they begin at {', '.join(map(str, least)) or 'nothing'}"
        line = find_line(text, r"\[\[band\]\]")
        raise make_fault(name, line, "the bands", "least", fault, ("nought, then more and more",))
    return scale
