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

_Value = TypeVar("_Value")
_Verb = TypeVar("_Verb", bound=Callable[..., Any])

WrittenRow = tuple[str, dict[str, Any]]
"""A row that was written: its table and the row itself."""


_WHERE_TO_LOOK = {
    "part": NextStep.SEE_PARTS,
    "photo": NextStep.SEE_PHOTOS,
    "finding": NextStep.SEE_PARTS,
}


def get_local_day() -> str:
    """The day it is here, ``YYYY-MM-DD``."""
    return date.today().isoformat()


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
        compute: Callable[[], _Value],
        refresh: Callable[[_Value, list[WrittenRow]], _Value | None] | None = None,
    ) -> _Value:
        """A value computed from these tables, cached under a name until one of the tables changes.

        Nobody may change what is returned. ``refresh`` makes the new value from the cached one where only a few rows
        were written, given as (table, row); None from it means that the value must be computed again.
        """
        with self.store.read_locked():
            return self._cached_or_computed(name, tables, compute, refresh)

    def _cached_or_computed(
        self,
        name: str,
        tables: tuple[str, ...],
        compute: Callable[[], _Value],
        refresh: Callable[[_Value, list[WrittenRow]], _Value | None] | None,
    ) -> _Value:
        versions = self.store.table_versions(*tables)
        position, changes = self.store.changes_since(tables, 0)
        if name in self._kept:
            cached_versions, since_position, value = self._kept[name]
            if cached_versions == versions:
                return cast(_Value, value)
            position, changes = self.store.changes_since(tables, since_position)
            if refresh is not None and changes is not None and cached_versions[0] == versions[0]:
                refreshed = refresh(cast(_Value, value), changes)
                if refreshed is not None:
                    self._kept[name] = (versions, position, refreshed)
                    return refreshed
        computed = compute()
        self._kept[name] = (versions, position, computed)
        return computed

    @cached_property
    def references(self) -> References:
        """Which column of which table names a row of which other."""
        return References(self.store)

    @property
    def by(self) -> str:
        """Who is recorded with what is written now."""
        return self._by or str((self.store.row("SELECT surveyor FROM machine") or {"surveyor": ""})["surveyor"])

    def together(self) -> AbstractContextManager[None]:
        """One transaction around several acts, all or nothing: one command, one form."""
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
    """Run a verb in one transaction: what it has read is still true when it writes."""

    @wraps(verb)
    def verb_in_transaction(survey: Survey, *args: Any, **fields: Any) -> Any:
        with survey.together():
            return verb(survey, *args, **fields)

    return cast(_Verb, verb_in_transaction)


def put_row_aside(survey: Survey, table: str, row_id: int, verb: Verb) -> None:
    """Mark a row as gone; it stays in the database and in the history.

    Raises:
        NoSuchThing: there is no such row, or it is in the bin.
    """
    require_live_row(survey, table, row_id)
    with survey.store.change(verb, survey.by) as change:
        change.update(table, [row_id], {"gone_at": change.at})


def require_live_row(survey: Survey, table: str, row_id: int) -> dict[str, Any]:
    """The row of that number, if it is there and not in the bin.

    Raises:
        NoSuchThing: it never was there, was put aside, or is in the bin with what it belongs to.
    """
    rows = survey.store.rows_of(table, "WHERE id = ? AND gone_at IS NULL", [row_id])
    if not rows:
        raise NoSuchThing(
            f"There is no {table} {row_id} in this survey.", _WHERE_TO_LOOK.get(table, NextStep.LOOK_AGAIN)
        )
    if holder := find_holder_in_bin(survey.store, survey.references, table, rows[0]):
        raise NoSuchThing(f"The {table} {row_id} lies in the bin with {holder}.", f"Put {holder} back first.")
    return rows[0]
