"""Making and opening a survey: the handle that every other verb takes first."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from datetime import UTC, date, datetime
from functools import cached_property, wraps
from pathlib import Path
from types import TracebackType
from typing import Any, TypeVar, cast

from survey.errors import NextStep, NoSuchThing
from survey.model.grading import Verdict
from survey.model.verb import Verb
from survey.store.bin import find_holder_in_bin
from survey.store.database import Store
from survey.store.references import References


def get_local_day() -> str:
    """The day it is here, ``YYYY-MM-DD``."""
    return date.today().isoformat()


_Found = TypeVar("_Found")

_Verb = TypeVar("_Verb", bound=Callable[..., Any])

Touched = tuple[str, dict[str, Any]]


def utc_now() -> str:
    """The time now, UTC, as ``YYYY-MM-DDTHH:MM:SSZ``."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


class Survey:
    """An open survey. ``by`` is who records; empty means the machine's own surveyor."""

    def __init__(self, folder: Path, store: Store, by: str = "") -> None:
        self.folder = folder.resolve()  # a library may take a relative path as relative to itself
        self.store = store
        self._by = by
        self._kept: dict[str, tuple[tuple[int, ...], int, object]] = {}
        self.judged: dict[object, Verdict] = {}

    def kept(
        self,
        name: str,
        tables: tuple[str, ...],
        work_out: Callable[[], _Found],
        mend: Callable[[_Found, list[Touched]], _Found | None] | None = None,
    ) -> _Found:
        """What was worked out from these tables as they stand; worked out anew once one of them has changed.

        Nobody may change what is returned. ``mend`` makes the new from the old where only a few rows were written,
        given as (table, row); None from it means that it cannot.
        """
        with self.store.still():
            return self._kept_or_new(name, tables, work_out, mend)

    def _kept_or_new(
        self,
        name: str,
        tables: tuple[str, ...],
        work_out: Callable[[], _Found],
        mend: Callable[[_Found, list[Touched]], _Found | None] | None,
    ) -> _Found:
        edition = self.store.edition(*tables)
        place, touched = self.store.touched(tables, 0)
        if name in self._kept:
            before, since, kept = self._kept[name]
            if before == edition:
                return cast(_Found, kept)
            place, touched = self.store.touched(tables, since)
            if mend is not None and touched is not None and before[0] == edition[0]:
                mended = mend(cast(_Found, kept), touched)
                if mended is not None:
                    self._kept[name] = (edition, place, mended)
                    return mended
        found = work_out()
        self._kept[name] = (edition, place, found)
        return found

    @cached_property
    def references(self) -> References:
        """Which column of which table names a row of which other."""
        return References(self.store)

    @property
    def by(self) -> str:
        """Who records what is said now."""
        return self._by or str((self.store.row("SELECT surveyor FROM machine") or {"surveyor": ""})["surveyor"])

    def together(self) -> AbstractContextManager[None]:
        """Several acts that all stand or all fall: one command, one form."""
        return self.store.together()

    def close(self) -> None:
        """Close the survey's database."""
        self.store.close()

    def __enter__(self) -> Survey:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


def in_one_transaction(verb: _Verb) -> _Verb:
    """A verb that nothing comes between: what it looked at is still so when it writes."""

    @wraps(verb)
    def verb_alone(survey: Survey, *args: Any, **fields: Any) -> Any:
        with survey.together():
            return verb(survey, *args, **fields)

    return cast(_Verb, verb_alone)


def put_row_aside(survey: Survey, table: str, row_id: int, verb: Verb) -> None:
    """Mark a row as gone; it stays in the database and in the history.

    Raises:
        NoSuchThing: no such row stands.
    """
    require_live_row(survey, table, row_id)
    with survey.store.change(verb, survey.by) as change:
        change.update(table, [row_id], {"gone_at": change.at})


def require_live_row(survey: Survey, table: str, row_id: int) -> dict[str, Any]:
    """The row of that number, if it stands.

    Raises:
        NoSuchThing: it never was, was put aside, or lies in the bin with what it belongs to.
    """
    rows = survey.store.rows_of(table, "WHERE id = ? AND gone_at IS NULL", [row_id])
    if not rows:
        raise NoSuchThing(
            f"There is no {table} {row_id} in this survey.", _WHERE_TO_LOOK.get(table, NextStep.LOOK_AGAIN)
        )
    if holder := find_holder_in_bin(survey.store, survey.references, table, rows[0]):
        raise NoSuchThing(f"The {table} {row_id} lies in the bin with {holder}.", f"Put {holder} back first.")
    return rows[0]


_WHERE_TO_LOOK = {
    "part": NextStep.SEE_PARTS,
    "photo": NextStep.SEE_PHOTOS,
    "finding": NextStep.SEE_PARTS,
}
