"""The schema's diary: numbered steps, and what each column is for.

Every table that a person changes carries ``gone_at``: a row is never deleted, it is put aside with the time.
``COLUMNS`` is pasted into docs/reference/schema.md; a test proves that it names every column there is.
"""

from __future__ import annotations

from sqlite_utils import Database, Migrations

from survey.model import DUTIES, GRADES, POSITION_STATES, SEEN, SHAPES
from survey.planning.order import SAID_OF_STEPS
from survey.planning.wants import WANT_STATES

APPLICATION_ID = 0x54434853  # "TCHS", so that another program's survey.db is told from ours

migrations = Migrations("teachest")


def step_names(steps: Migrations) -> list[str]:
    """The names of all steps of a diary: what an empty database would still have to go through."""
    empty = Database(memory=True, execute_plugins=False)
    try:
        return [step.name for step in steps.pending(empty)]
    finally:
        empty.close()


@migrations()
def step_001_first_house(db: Database) -> None:
    """The tables of the first version."""
    for statement in _FIRST_HOUSE:
        db.execute(_with_checks(statement))


@migrations()
def step_002_taking_back(db: Database) -> None:
    """What undo and redo need: which act an act turns, and own components that can be put aside."""
    db.execute("ALTER TABLE event ADD COLUMN turns TEXT")
    db.execute("ALTER TABLE component ADD COLUMN gone_at TEXT")
    db.execute("CREATE INDEX event_batch ON event (batch)")


@migrations()
def step_003_order(db: Database) -> None:
    """What the owner says of the order of the build: own pairs, pairs out of use, steps done or not needed."""
    for statement in (
        """CREATE TABLE before_pair (
            id INTEGER PRIMARY KEY, first TEXT NOT NULL, after TEXT NOT NULL,
            hard INTEGER NOT NULL DEFAULT 1 CHECK (hard IN (0, 1)), reason TEXT NOT NULL,
            by TEXT NOT NULL DEFAULT '', at TEXT NOT NULL, gone_at TEXT)""",
        """CREATE TABLE pair_off (
            pair TEXT PRIMARY KEY, reason TEXT NOT NULL, by TEXT NOT NULL DEFAULT '', at TEXT NOT NULL)""",
        """CREATE TABLE step_said (
            step TEXT PRIMARY KEY, state TEXT NOT NULL, note TEXT NOT NULL DEFAULT '', by TEXT NOT NULL DEFAULT '',
            at TEXT NOT NULL)""",
    ):
        db.execute(_with_checks(statement))


@migrations()
def step_004_wants(db: Database) -> None:
    """What the owner says of things to get, and the currency its prices are in."""
    db.execute("ALTER TABLE machine ADD COLUMN currency TEXT NOT NULL DEFAULT 'GBP'")
    db.execute(
        _with_checks("""CREATE TABLE want (
        id INTEGER PRIMARY KEY, component TEXT REFERENCES component(id), label TEXT NOT NULL DEFAULT '',
        state TEXT NOT NULL DEFAULT 'wanted', quantity INTEGER CHECK (quantity > 0), who TEXT NOT NULL DEFAULT '',
        since TEXT NOT NULL, sizes TEXT NOT NULL DEFAULT '{}', also TEXT NOT NULL DEFAULT '', low TEXT, likely TEXT,
        high TEXT, note TEXT NOT NULL DEFAULT '', by TEXT NOT NULL DEFAULT '', at TEXT NOT NULL, gone_at TEXT)""")
    )
    db.execute("CREATE UNIQUE INDEX want_component ON want (component) WHERE gone_at IS NULL")


@migrations()
def step_005_stuck(db: Database) -> None:
    """What is stuck, seized or snapped on a part, and what has been tried."""
    db.execute("""CREATE TABLE stuck (
        id INTEGER PRIMARY KEY, part INTEGER NOT NULL REFERENCES part(id), what TEXT NOT NULL, thing TEXT NOT NULL,
        conditions TEXT NOT NULL DEFAULT '[]' CHECK (json_valid(conditions)), holds TEXT NOT NULL DEFAULT '',
        tried TEXT NOT NULL DEFAULT '[]' CHECK (json_valid(tried)), note TEXT NOT NULL DEFAULT '',
        out INTEGER NOT NULL DEFAULT 0, by TEXT NOT NULL DEFAULT '', at TEXT NOT NULL, gone_at TEXT)""")
    db.execute("CREATE INDEX stuck_part ON stuck (part)")


_CLOSED: dict[str, dict[str, tuple[str, ...]]] = {
    "component": {"duty": DUTIES},
    "position": {"state": POSITION_STATES},
    "photo": {"taken_from": ("original", "digitized", "file")},
    "finding": {"seen": SEEN},
    "look": {"seen": SEEN},
    "mark": {"shape": SHAPES},
    "own_grade": {"grade": GRADES},
    "step_said": {"state": SAID_OF_STEPS},
    "want": {"state": WANT_STATES},
}
_JSON = {
    "component": ("other_materials", "names", "faults", "likely", "sizes"),
    "mark": ("points",),
    "want": ("sizes",),
}


def _with_checks(statement: str) -> str:
    """A CREATE TABLE with the checks of its closed words and its JSON; anything else as it is."""
    table = statement.split()[2]
    checks = [f"{column} IN {words}" for column, words in _CLOSED.get(table, {}).items()]
    checks += [f"json_valid({column})" for column in _JSON.get(table, ())]
    if not statement.startswith("CREATE TABLE"):
        return statement
    return (
        statement.removesuffix(")") + "".join(f", CHECK ({check})" for check in checks) + ")" if checks else statement
    )


_FIRST_HOUSE = (
    """CREATE TABLE machine (
        id INTEGER PRIMARY KEY CHECK (id = 1), name TEXT NOT NULL, kind TEXT NOT NULL, maker TEXT NOT NULL DEFAULT '',
        model TEXT NOT NULL DEFAULT '', year TEXT NOT NULL DEFAULT '', engine TEXT NOT NULL DEFAULT '',
        bought TEXT NOT NULL DEFAULT '', surveyor TEXT NOT NULL DEFAULT '', note TEXT NOT NULL DEFAULT '')""",
    """CREATE TABLE number (
        id INTEGER PRIMARY KEY, place TEXT NOT NULL, text TEXT NOT NULL, note TEXT NOT NULL DEFAULT '',
        gone_at TEXT)""",
    """CREATE TABLE component (
        id TEXT PRIMARY KEY, ordinal INTEGER NOT NULL, label TEXT NOT NULL, assembly TEXT NOT NULL,
        inside TEXT REFERENCES component(id) DEFERRABLE INITIALLY DEFERRED,
        quantity INTEGER NOT NULL CHECK (quantity > 0), duty TEXT NOT NULL,
        class TEXT NOT NULL, material TEXT NOT NULL, other_materials TEXT NOT NULL DEFAULT '[]',
        finish TEXT NOT NULL DEFAULT '', names TEXT NOT NULL DEFAULT '[]', often_missing INTEGER NOT NULL DEFAULT 0,
        faults TEXT NOT NULL DEFAULT '[]', likely TEXT NOT NULL DEFAULT '[]', sizes TEXT NOT NULL DEFAULT '[]',
        everywhere INTEGER NOT NULL DEFAULT 1, own INTEGER NOT NULL DEFAULT 0)""",
    """CREATE TABLE position (
        component TEXT PRIMARY KEY REFERENCES component(id), state TEXT NOT NULL, note TEXT NOT NULL DEFAULT '',
        by TEXT NOT NULL DEFAULT '', at TEXT NOT NULL)""",
    """CREATE TABLE photo (
        id INTEGER PRIMARY KEY, sha256 TEXT NOT NULL UNIQUE, name TEXT NOT NULL, format TEXT NOT NULL,
        width INTEGER NOT NULL, height INTEGER NOT NULL, bytes INTEGER NOT NULL, path TEXT NOT NULL,
        taken TEXT, taken_from TEXT, offset TEXT, make TEXT NOT NULL DEFAULT '', model TEXT NOT NULL DEFAULT '',
        has_position INTEGER NOT NULL DEFAULT 0, pixel_hash TEXT NOT NULL DEFAULT '', source TEXT NOT NULL DEFAULT '',
        added_at TEXT NOT NULL, aside INTEGER NOT NULL DEFAULT 0, box TEXT NOT NULL DEFAULT '',
        note TEXT NOT NULL DEFAULT '', gone_at TEXT)""",
    "CREATE INDEX photo_taken ON photo (taken)",
    "CREATE INDEX photo_pixel_hash ON photo (pixel_hash)",
    """CREATE TABLE part (
        id INTEGER PRIMARY KEY, component TEXT REFERENCES component(id), label TEXT NOT NULL DEFAULT '',
        quantity INTEGER NOT NULL DEFAULT 1 CHECK (quantity > 0), inside INTEGER REFERENCES part(id), material TEXT,
        box TEXT NOT NULL DEFAULT '', note TEXT NOT NULL DEFAULT '', added_at TEXT NOT NULL, gone_at TEXT)""",
    "CREATE INDEX part_component ON part (component)",
    """CREATE TABLE part_photo (
        part INTEGER NOT NULL REFERENCES part(id), photo INTEGER NOT NULL REFERENCES photo(id),
        PRIMARY KEY (part, photo)) WITHOUT ROWID""",
    "CREATE INDEX part_photo_photo ON part_photo (photo)",
    """CREATE TABLE finding (
        id INTEGER PRIMARY KEY, part INTEGER NOT NULL REFERENCES part(id), kind TEXT NOT NULL,
        step INTEGER NOT NULL CHECK (step BETWEEN 1 AND 4), seen TEXT NOT NULL, note TEXT NOT NULL DEFAULT '',
        by TEXT NOT NULL DEFAULT '', at TEXT NOT NULL, gone_at TEXT)""",
    "CREATE INDEX finding_part ON finding (part)",
    """CREATE TABLE finding_photo (
        finding INTEGER NOT NULL REFERENCES finding(id), photo INTEGER NOT NULL REFERENCES photo(id),
        PRIMARY KEY (finding, photo)) WITHOUT ROWID""",
    """CREATE TABLE look (
        id INTEGER PRIMARY KEY, part INTEGER NOT NULL REFERENCES part(id), seen TEXT NOT NULL,
        note TEXT NOT NULL DEFAULT '', by TEXT NOT NULL DEFAULT '', at TEXT NOT NULL, gone_at TEXT)""",
    "CREATE INDEX look_part ON look (part)",
    """CREATE TABLE look_photo (
        look INTEGER NOT NULL REFERENCES look(id), photo INTEGER NOT NULL REFERENCES photo(id),
        PRIMARY KEY (look, photo)) WITHOUT ROWID""",
    """CREATE TABLE mark (
        id INTEGER PRIMARY KEY, photo INTEGER NOT NULL REFERENCES photo(id), part INTEGER REFERENCES part(id),
        finding INTEGER REFERENCES finding(id), shape TEXT NOT NULL, points TEXT NOT NULL, gone_at TEXT)""",
    "CREATE INDEX mark_photo ON mark (photo)",
    """CREATE TABLE reading (
        id INTEGER PRIMARY KEY, part INTEGER NOT NULL REFERENCES part(id), name TEXT NOT NULL, value REAL NOT NULL,
        unit TEXT NOT NULL, written TEXT NOT NULL, tool TEXT NOT NULL DEFAULT '', uncertainty REAL,
        by TEXT NOT NULL DEFAULT '', at TEXT NOT NULL, gone_at TEXT)""",
    "CREATE INDEX reading_part ON reading (part)",
    """CREATE TABLE own_grade (
        part INTEGER PRIMARY KEY REFERENCES part(id), grade TEXT NOT NULL, reason TEXT NOT NULL,
        by TEXT NOT NULL DEFAULT '', at TEXT NOT NULL)""",
    """CREATE TABLE event (
        id INTEGER PRIMARY KEY AUTOINCREMENT, at TEXT NOT NULL, batch TEXT NOT NULL, by TEXT NOT NULL DEFAULT '',
        verb TEXT NOT NULL, entity TEXT NOT NULL, entity_id TEXT NOT NULL, before TEXT, after TEXT)""",
    "CREATE INDEX event_entity ON event (entity, entity_id)",
    """CREATE TRIGGER event_is_kept_update BEFORE UPDATE ON event
        BEGIN SELECT RAISE(ABORT, 'the history is only ever added to'); END""",
    """CREATE TRIGGER event_is_kept_delete BEFORE DELETE ON event
        BEGIN SELECT RAISE(ABORT, 'the history is only ever added to'); END""",
)

_GONE = "UTC time at which it was put aside, or empty while it stands"
_BY = "who recorded it"
_AT = "UTC time of recording"
_NOTE = "the owner's note"

COLUMNS: dict[str, dict[str, str]] = {
    "machine": {
        "id": "always 1: a survey is of one machine",
        "name": "what the owner calls it",
        "kind": "the catalogue its schedule came from",
        "maker": "maker, as the owner writes it",
        "model": "model, as the owner writes it",
        "year": "year, as the owner writes it",
        "engine": "engine, for example 147 cc two-stroke",
        "bought": "how it was bought: when, from whom, what was said",
        "surveyor": "who looks, unless said otherwise",
        "note": _NOTE,
        "currency": "the one currency of the survey's prices, three letters of ISO 4217",
    },
    "number": {
        "id": "number of the row",
        "place": "what it is stamped, cast or written on",
        "text": "the characters exactly as read",
        "note": _NOTE,
        "gone_at": _GONE,
    },
    "component": {
        "id": "id of the position, stable within its catalogue",
        "ordinal": "place in the schedule's order",
        "label": "name of the component",
        "assembly": "assembly it belongs to",
        "inside": "component it sits in",
        "quantity": "how many a complete machine has",
        "duty": "safety, running, cosmetic or paperwork",
        "class": "class word that the rules read",
        "material": "material family",
        "other_materials": "JSON list: other families it is met in",
        "finish": "usual original finish",
        "names": "JSON list: other names for it",
        "often_missing": "1 if it is often missing",
        "faults": "JSON list: usual faults, in words",
        "likely": "JSON list: finding kinds it usually suffers, likeliest first",
        "sizes": "JSON list: sizes worth recording",
        "everywhere": "0 if not every machine of the kind carried it",
        "own": "1 if the owner added it",
        "gone_at": _GONE,
    },
    "position": {
        "component": "the position spoken of",
        "state": "missing, wrong, unseen, not-fitted or not-looked",
        "note": _NOTE,
        "by": _BY,
        "at": _AT,
    },
    "photo": {
        "id": "number of the photo",
        "sha256": "SHA-256 of the original's bytes",
        "name": "file name it came with",
        "format": "jpeg, mpo, heif, avif, png, webp or tiff, by content",
        "width": "pixels across, upright",
        "height": "pixels down, upright",
        "bytes": "size of the original",
        "path": "the original, relative to the folder",
        "taken": "local wall-clock time of exposure, or empty",
        "taken_from": "original, digitized or file: where the time comes from",
        "offset": "offset from UTC as the camera wrote it, or empty",
        "make": "camera maker, as written in the file",
        "model": "camera model, as written in the file",
        "has_position": "1 if the original carries a place; the place itself is not copied here",
        "pixel_hash": "hash of the decoded picture, to tell the same picture in another wrapping",
        "source": "path it was taken in from",
        "added_at": "UTC time of intake",
        "aside": "1 if set aside",
        "box": "box it was unpacked from",
        "note": _NOTE,
        "gone_at": _GONE,
    },
    "part": {
        "id": "number of the part",
        "component": "the position it answers to, or empty while unknown",
        "label": "the owner's own name for it",
        "quantity": "how many are in hand",
        "inside": "the part it sits in",
        "material": "material family, where the owner knows better than the schedule",
        "box": "where it is",
        "note": _NOTE,
        "added_at": "UTC time it was recorded",
        "gone_at": _GONE,
    },
    "part_photo": {"part": "the part", "photo": "a photo that shows it"},
    "finding": {
        "id": "number of the finding",
        "part": "the part it is on",
        "kind": "kind of finding",
        "step": "step 1 to 4",
        "seen": "bare, paint or unseen",
        "note": _NOTE,
        "by": _BY,
        "at": _AT,
        "gone_at": _GONE,
    },
    "finding_photo": {"finding": "the finding", "photo": "a photo that shows it"},
    "look": {
        "id": "number of the look",
        "part": "the part looked over, with nothing wrong seen",
        "seen": "bare, paint or unseen",
        "note": _NOTE,
        "by": _BY,
        "at": _AT,
        "gone_at": _GONE,
    },
    "look_photo": {"look": "the look", "photo": "a photo that shows it"},
    "mark": {
        "id": "number of the mark",
        "photo": "the photo it is drawn on",
        "part": "the part it points at",
        "finding": "the finding it points at",
        "shape": "pin, box or outline",
        "points": "JSON list of [x, y], fractions of the upright picture",
        "gone_at": _GONE,
    },
    "reading": {
        "id": "number of the reading",
        "part": "the part measured",
        "name": "which reading, a word of the readings data",
        "value": "the value in its unit",
        "unit": "mm, % or the reading's own unit",
        "written": "as the owner wrote it",
        "tool": "what it was measured with",
        "uncertainty": "half-width of the 95 % interval in the same unit, or empty",
        "by": _BY,
        "at": _AT,
        "gone_at": _GONE,
    },
    "own_grade": {
        "part": "the part",
        "grade": "the owner's grade: reuse, repair or replace",
        "reason": "why",
        "by": _BY,
        "at": _AT,
    },
    "before_pair": {
        "id": "number of the owner's pair",
        "first": "what goes before: a step, or a component to be put on",
        "after": "what comes after it",
        "hard": "1 if the later is not to be begun without the earlier, 0 if it is only better so",
        "reason": "why",
        "by": _BY,
        "at": _AT,
        "gone_at": _GONE,
    },
    "pair_off": {
        "pair": "a pair of the catalogue that the owner put out of use",
        "reason": "why",
        "by": _BY,
        "at": _AT,
    },
    "step_said": {
        "step": "a step of the build",
        "state": "done or not-needed",
        "note": _NOTE,
        "by": _BY,
        "at": _AT,
    },
    "want": {
        "id": "number of the want",
        "component": "the position it is for, or empty for a thing of the owner's own",
        "label": "what it is, where it is for no position",
        "state": "wanted, asked, promised, bought (and not come) or here; none but a recorded part fills a position",
        "quantity": "how many, where it is not what the schedule lacks",
        "who": "who was asked, promised it or sold it",
        "since": "UTC time from which the state holds",
        "sizes": "JSON object: name of a size and its value as written",
        "also": "what would also do",
        "low": "decimal: the least that all of them may cost",
        "likely": "decimal: what they will likely cost",
        "high": "decimal: the most to be paid",
        "note": _NOTE,
        "by": _BY,
        "at": _AT,
        "gone_at": _GONE,
    },
    "stuck": {
        "id": "number of the stuck thing",
        "part": "the part it is stuck in",
        "what": "what it is, in the owner's words",
        "thing": "fastener, spindle or tube",
        "conditions": "JSON list: what is seen of it, words of the removal scale",
        "tried": "JSON list: ways that were tried, words of the removal scale",
        "holds": "what waits for it, in the owner's words",
        "note": _NOTE,
        "out": "1 once it is out",
        "by": _BY,
        "at": _AT,
        "gone_at": _GONE,
    },
    "event": {
        "id": "number of the event, in order",
        "at": "UTC time",
        "batch": "one act of a person; all its events share it",
        "by": "who",
        "verb": "what was done",
        "entity": "table changed",
        "entity_id": "row changed",
        "before": "JSON of the row before, or empty when it is new",
        "after": "JSON of the row after, or empty when it is gone",
        "turns": "the act that this one takes back or does again, or empty",
    },
}
