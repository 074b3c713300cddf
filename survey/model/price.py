"""A price as three figures."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from survey.errors import BadValue


@dataclass(frozen=True, slots=True)
class Price:
    """Low, likely and high for all pieces that are wanted together; None where it is not known.

    Raises:
        BadValue: low is more than likely, or likely more than high.
    """

    low: Decimal | None = None
    likely: Decimal | None = None
    high: Decimal | None = None

    def __post_init__(self) -> None:
        known = [figure for figure in (self.low, self.likely, self.high) if figure is not None]
        if known != sorted(known):
            raise BadValue(
                "A low price is no more than the likely one, and the likely one no more than the high one.",
                "Write the three in their order, or leave out the one you do not know.",
            )

    @property
    def known(self) -> bool:
        """Whether any of the three is given."""
        return any(figure is not None for figure in (self.low, self.likely, self.high))
