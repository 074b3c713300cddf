"""Reads the closed words of survey/data/vocabulary.toml."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from survey.data_files import TomlFile, find_line, make_fault, read_data_text

_SECTIONS = ("class", "material", "duty", "outcome", "seen", "speaks_of", "least_duty")


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """The words catalogues and rules may use, each with what it stands for; in the file's own order.

    ``least_duty``: class -> the least duty a part of that class may be given; a class not in it may have any.
    """

    class_: dict[str, str]
    material: dict[str, str]
    duty: dict[str, str]
    outcome: dict[str, str]
    seen: dict[str, str]
    speaks_of: dict[str, str]
    least_duty: dict[str, str]

    def too_light(self, duty: str, part_class: str) -> bool:
        """Whether that duty is too light for a part of that class."""
        duties = list(self.duty)
        least = self.least_duty.get(part_class)
        return least is not None and duties.index(duty) > duties.index(least)


@lru_cache(maxsize=1)
def load_vocabulary() -> Vocabulary:
    """The closed words, read once. Raises BrokenKnowledge where the file is not a list of words with meanings."""
    return parse_vocabulary(read_data_text("vocabulary.toml"))


def parse_vocabulary(text: str, name: str = "vocabulary.toml") -> Vocabulary:
    """The closed words in a TOML text; ``name`` is what an error calls the file."""
    content = TomlFile(name, text, _SECTIONS).content
    for section in _SECTIONS:
        words = content.get(section)
        if not isinstance(words, dict) or not words:
            raise make_fault(name, 1, section, "section", "it is not there, or holds no word", _SECTIONS)
        for word, meaning in words.items():
            if not isinstance(meaning, str) or not meaning.strip():
                raise make_fault(
                    name, find_line(text, word), word, section, f"{meaning!r} is no meaning", ("a sentence",)
                )
    for word, duty in content["least_duty"].items():
        line = find_line(text, f'{word} = "{duty}"')
        if word not in content["class"]:
            raise make_fault(name, line, word, "least_duty", f"{word!r} is no class", content["class"])
        if duty not in content["duty"]:
            raise make_fault(name, line, word, "least_duty", f"{duty!r} is no duty", content["duty"])
    return Vocabulary(*(content[section] for section in _SECTIONS))
