"""Stamped numbers in papers that others get to see: all but their last three characters. Pure."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable

from survey.model.machine import Number

HIDDEN = "\N{BULLET}"
"""Printed for each hidden character."""

AT_THE_END = 3
"""Letters and figures that are hidden at the end of a number."""

SHORTEST = 4
"""Letters and figures that a number must have to be looked for in other words; a shorter one is any figure."""

_BETWEEN = r"[\s.\-/]*"


def mask_number(number: str) -> str:
    """A number as stamped with its last three letters or figures hidden: ``HP57 1182 *`` as ``HP57 1••• *``."""
    to_hide = AT_THE_END
    letters = []
    for letter in reversed(number):
        is_hidden = to_hide > 0 and letter.isalnum()
        to_hide -= is_hidden
        letters.append(HIDDEN if is_hidden else letter)
    return "".join(reversed(letters))


def make_masker(numbers: Iterable[Number]) -> Callable[[str], str]:
    """What hides the end of these numbers in any text: whatever the spacing, in capitals or not.

    A run of four figures or more that is part of a number is hidden by itself, too.
    """
    patterns = [re.compile(pattern, re.IGNORECASE) for number in numbers for pattern in _make_patterns(number.text)]

    def mask(text: str) -> str:
        for pattern in patterns:
            text = pattern.sub(lambda match: mask_number(match.group()), text)
        return text

    return mask


def _make_patterns(number: str) -> Iterable[str]:
    letters = [letter for letter in number if letter.isalnum()]
    if len(letters) >= SHORTEST:
        yield _BETWEEN.join(map(re.escape, letters))
        yield _BETWEEN.join(re.escape(letter) for letter in number if not letter.isspace())
    for run in re.findall(rf"\d{{{SHORTEST},}}", number):
        yield rf"(?<!\d){run}(?!\d)"
