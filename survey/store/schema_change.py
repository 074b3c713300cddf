"""What a new step of the schema can do that SQLite's ALTER TABLE cannot: widen a CHECK."""

from __future__ import annotations

import sqlite3

from sqlite_utils import Database


def replace_check(db: Database, table: str, old: str, new: str) -> None:
    """Make a table anew with a wider CHECK. Its rows, indices, triggers and the rows that refer to it are kept.

    No released step calls it yet: it is for the recipe "A closed word" in DEVELOPERS.md. Call it inside a step, which
    is a transaction. ``old``: the text of the CHECK in the table as the steps before have left it, for example
    ``state IN ('out', 'back')``; it must be there once. ``new``: the text to put in its place. Both are written out in
    the step, so that the step never changes. The columns stay as they are, and no foreign key may have an ON DELETE
    action, which would be carried out here.

    The way is that of SQLite's documentation (ALTER TABLE, section 7, "Making Other Kinds Of Table Schema Changes")
    with one difference. There the new table is renamed at the end, which asks for foreign keys to be switched off
    before the transaction. Here the rows wait in a table of their own while the old table is dropped and made anew
    under its own name; the checks of foreign keys wait for the commit (PRAGMA defer_foreign_keys), when all keys are
    there again.

    Raises:
        sqlite3.DatabaseError: the table has no such CHECK: it was changed from outside.
        sqlite3.IntegrityError: a row does not pass the new CHECK.
    """
    found = db.execute("SELECT sql FROM sqlite_master WHERE type = 'table' AND name = ?", [table]).fetchone()
    sql = str(found[0]) if found else ""
    if sql.count(old) != 1:
        raise sqlite3.DatabaseError(f"the table {table} has no CHECK {old}")
    others = db.execute(
        "SELECT sql FROM sqlite_master WHERE type IN ('index', 'trigger') AND tbl_name = ? AND sql IS NOT NULL", [table]
    ).fetchall()
    for statement in (
        "PRAGMA defer_foreign_keys = ON",
        f'CREATE TABLE "rows of {table}" AS SELECT * FROM "{table}"',
        f'DROP TABLE "{table}"',
        sql.replace(old, new),
        f'INSERT INTO "{table}" SELECT * FROM "rows of {table}"',
        f'DROP TABLE "rows of {table}"',
        *(other for (other,) in others),
    ):
        db.execute(statement)
