"""What the photo search was asked for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from survey.errors import BadValue
from survey.model.photos import Photo
from survey.placing.verbs import find_photos
from survey.store.survey import Survey
from web import forms


@dataclass(frozen=True, slots=True)
class PhotoSearch:
    """Words, position, kind of finding, box and days; each empty where nothing was asked of it."""

    words: str = ""
    component: str = ""
    finding: str = ""
    box: str = ""
    since: str = ""
    until: str = ""

    @property
    def narrowed(self) -> bool:
        """Whether more than words was asked."""
        return bool(self.component or self.finding or self.box or self.since or self.until)

    @property
    def given(self) -> dict[str, str]:
        """What was asked, as an address carries it."""
        said = {
            "q": self.words, "component": self.component, "finding": self.finding,
            "box": self.box, "since": self.since, "until": self.until,
        }  # fmt: skip
        return {name: value for name, value in said.items() if value}

    def photos(self, survey: Survey) -> list[Photo]:
        """The photos that answer."""
        return find_photos(
            survey,
            self.words,
            component=self.component or None,
            finding=self.finding or None,
            box=self.box,
            since=self.since,
            until=self.until,
        )


def parse_search(args: Mapping[str, str]) -> PhotoSearch:
    """What an address asks for.

    Raises:
        BadValue: a day cannot be read.
    """
    return PhotoSearch(
        words=forms.text(args, "q"),
        component=forms.text(args, "component"),
        finding=forms.text(args, "finding"),
        box=forms.text(args, "box"),
        since=_day(args, "since"),
        until=_day(args, "until"),
    )


def _day(args: Mapping[str, str], name: str) -> str:
    said = forms.text(args, name)
    if not said:
        return ""
    try:
        return date.fromisoformat(said).isoformat()
    except ValueError:
        raise BadValue(f"{said[:40]!r} is no day.", "Write it as 2026-06-19.") from None
