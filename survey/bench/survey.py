"""Making and opening a survey: the handle that every other verb takes first."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager, suppress
from datetime import UTC, datetime
from functools import cache, cached_property, wraps
from pathlib import Path
from types import TracebackType
from typing import Any, TypeVar, cast

from survey import knowledge
from survey.bench.ledger import Ledger
from survey.bench.said import prove_text
from survey.errors import BadValue, NextStep, NoSuchThing, Refusal
from survey.folder import records
from survey.folder.arriving import broken_off
from survey.folder.binned import holder_in_bin
from survey.folder.holding import References
from survey.folder.store import Change, Store, create_store, open_store
from survey.folder.values import Words
from survey.folder.verb import Verb
from survey.model import Catalogue, Event, Machine, Number, Verdict

_Found = TypeVar("_Found")
_Verb = TypeVar("_Verb", bound=Callable[..., Any])
Touched = tuple[str, dict[str, Any]]

MACHINE_FIELDS = ("name", "maker", "model", "year", "engine", "bought", "surveyor", "note")

MAKE_SURVEY = Verb("make survey", "Survey made", undoable=False)
DESCRIBE_MACHINE = Verb("describe machine", "Machine described")
ADD_NUMBER = Verb("write number", "Number written down")
REMOVE_NUMBER = Verb("remove number", "Number put aside")
MACHINE_VERBS = (DESCRIBE_MACHINE, ADD_NUMBER, REMOVE_NUMBER)


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


def alone(verb: _Verb) -> _Verb:
    """A verb that nothing comes between: what it looked at is still so when it writes."""

    @wraps(verb)
    def verb_alone(survey: Survey, *args: Any, **fields: Any) -> Any:
        with survey.together():
            return verb(survey, *args, **fields)

    return cast(_Verb, verb_alone)


@cache
def closed_words() -> Words:
    """The closed words of the product's data that columns of the survey hold, by vocabulary."""
    words = knowledge.vocabulary()
    return {
        "class": words.class_,
        "material": words.material,
        "trade": {trade.id for trade in knowledge.trades().trades},
        "finding": {kind.id for kind in knowledge.finding_kinds()},
        "evidence": knowledge.belonging().kinds,
    }


def _with_closed_words(survey: Survey) -> Survey:
    survey.store.words = closed_words
    return survey


def kinds() -> tuple[Catalogue, ...]:
    """The catalogues a survey can start from."""
    return knowledge.catalogues()


def make_survey(folder: Path, kind: str, name: str, *, by: str = "", clock: Callable[[], str] = utc_now) -> Survey:
    """Make a survey folder with its schedule from the catalogue of that kind.

    Raises:
        NoSuchThing: there is no such kind.
        BadValue: the name is empty.
        AlreadyASurvey, CannotWrite: the folder cannot be had.
    """
    catalogue = knowledge.catalogue(kind)
    called, maker = prove_text("name", name), prove_text("surveyor", by)
    if not called:
        raise BadValue("The survey needs a name.", NextStep.NAME_SURVEY)

    def fill(change: Change) -> None:
        change.insert("machine", {"id": 1, "name": called, "kind": kind, "surveyor": maker})
        for ordinal, component in enumerate(catalogue.components):
            change.insert("component", records.component_row(component, ordinal))

    return _with_closed_words(Survey(folder, create_store(folder, clock, MAKE_SURVEY, fill, by), by))


def open_survey(folder: Path, *, by: str = "", clock: Callable[[], str] = utc_now) -> Survey:
    """Open a survey that is there, and finish what an intake that was broken off has left.

    Raises:
        NotASurvey, ForeignDatabase, NewerSurvey, CannotWrite: see ``survey.folder.store.open_store``.
    """
    survey = _with_closed_words(Survey(folder, open_store(folder, clock), by))
    if broken_off(survey.folder):
        from survey.folder.intake import mend

        with suppress(Refusal):  # it may be read only, or not broken off but going on; the next intake looks again
            mend(survey.folder, Ledger(survey.store, lambda: survey.by))
    return survey


def machine(survey: Survey) -> Machine:
    """What the survey is of, with numbers as stamped."""
    return records.machine(survey.store)


def describe(survey: Survey, **fields: str) -> Machine:
    """Change what is written of the machine. Fields: ``MACHINE_FIELDS``.

    Raises:
        BadValue: an unknown field, or an empty name.
    """
    unknown = sorted(set(fields) - set(MACHINE_FIELDS))
    if unknown:
        raise BadValue(f"A machine has no {unknown[0]!r}.", "It has: " + ", ".join(MACHINE_FIELDS) + ".")
    changes: dict[str, Any] = {field: prove_text(field, text) for field, text in fields.items()}
    if changes.get("name") == "":
        raise BadValue("The survey needs a name.", "Give one, or leave the name as it is.")
    if changes:
        with survey.store.change(DESCRIBE_MACHINE, survey.by) as change:
            change.update("machine", [1], changes)
    return machine(survey)


def add_number(survey: Survey, place: str, text: str, note: str = "") -> Number:
    """Write down a number exactly as it is stamped, cast or written.

    The text is kept character for character; only the place must not be empty.
    """
    said = {"place": prove_text("place", place), "text": text, "note": prove_text("note", note)}
    if not said["place"] or not prove_text("number", text):
        raise BadValue(
            "A number needs the place where it stands and its characters.", "For example: frame 'HP 1057 *'."
        )
    with survey.store.change(ADD_NUMBER, survey.by) as change:
        row = change.insert("number", said)
    return Number(row["id"], row["place"], row["text"], row["note"])


def remove_number(survey: Survey, number_id: int) -> None:
    """Put a number aside that was written wrongly; the history keeps it."""
    put_aside(survey, "number", number_id, REMOVE_NUMBER)


def put_aside(survey: Survey, table: str, row_id: int, verb: Verb) -> None:
    """Mark a row as gone; it stays in the database and in the history.

    Raises:
        NoSuchThing: no such row stands.
    """
    standing(survey, table, row_id)
    with survey.store.change(verb, survey.by) as change:
        change.update(table, [row_id], {"gone_at": change.at})


def standing(survey: Survey, table: str, row_id: int) -> dict[str, Any]:
    """The row of that number, if it stands.

    Raises:
        NoSuchThing: it never was, was put aside, or lies in the bin with what it belongs to.
    """
    rows = survey.store.rows_of(table, "WHERE id = ? AND gone_at IS NULL", [row_id])
    if not rows:
        raise NoSuchThing(
            f"There is no {table} {row_id} in this survey.", _WHERE_TO_LOOK.get(table, NextStep.LOOK_AGAIN)
        )
    if holder := holder_in_bin(survey.store, survey.references, table, rows[0]):
        raise NoSuchThing(f"The {table} {row_id} lies in the bin with {holder}.", f"Put {holder} back first.")
    return rows[0]


_WHERE_TO_LOOK = {
    "part": NextStep.SEE_PARTS,
    "photo": NextStep.SEE_PHOTOS,
    "finding": NextStep.SEE_PARTS,
}


def history(survey: Survey, entity: str | None = None, entity_id: str | None = None) -> list[Event]:
    """Every change in order: of the whole survey, of one table, or of one row."""
    return records.events(survey.store, entity, entity_id)


def describe_number(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What a number's row is, in words."""
    return f"{rows[0]['text']} on {rows[0]['place']}"
