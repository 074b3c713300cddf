"""Reads the scale for stuck things from survey/data/removal.toml and proves it."""

from __future__ import annotations

from functools import lru_cache

from survey.gauge.stuck import ONE_OF, Band, Condition, Danger, Removal, Way
from survey.knowledge.reader import Closed, TomlFile, data_text, fault, line_of
from survey.knowledge.vocabulary import Vocabulary, vocabulary

_FILE = "removal.toml"


@lru_cache(maxsize=1)
def removal() -> Removal:
    """The scale for stuck, seized and snapped things. Raises BrokenKnowledge at a faulty file."""
    return read_removal(data_text(_FILE), vocabulary())


def read_removal(text: str, words: Vocabulary, name: str = _FILE) -> Removal:
    """The scale that stands in a TOML text, proved: known words only, every group and every sum answered."""
    file = TomlFile(name, text, ("thing", "condition", "band", "way", "danger"))
    things = {row.id: str(row.cells["label"]) for row in file.rows("thing")}
    known = Closed(things, "is no thing")
    groups = Closed((*ONE_OF, ""), "is no group")
    conditions = file.records("condition", Condition, {"things": known, "group": groups}, empty=("group",))
    brought_by = {
        "classes": words.class_, "materials": words.material, "duties": words.duty,
        "conditions": [one.id for one in conditions],
    }  # fmt: skip
    scale = Removal(
        things=things,
        conditions=conditions,
        bands=file.records("band", Band),
        ways=file.records("way", Way, {"things": known}),
        dangers=file.records(
            "danger", Danger, {cell: Closed(sorted(one), "is not known") for cell, one in brought_by.items()}
        ),
    )
    for group in ONE_OF:
        for thing in things:
            if not any(one.group == group and thing in one.things for one in conditions):
                raise file.fault_of(group, "group", f"nothing answers it for {thing}", ("one condition at least",))
    least = [band.least for band in scale.bands]
    if not least or least[0] != 0 or least != sorted(set(least)):
        wrong = f"they begin at {', '.join(map(str, least)) or 'nothing'}"
        line = line_of(text, r"\[\[band\]\]")
        raise fault(name, line, "the bands", "least", wrong, ("nought, then more and more",))
    return scale
