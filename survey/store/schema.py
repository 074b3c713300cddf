"""The schema's diary: numbered steps. ``tables.py`` has what each column is for.

Every table that a person changes carries ``gone_at``: a row is never deleted, it is put aside with the time.

A released step is never edited, and none of its SQL comes from another module: surveys were made by it, and they keep
the words of their CHECKs. One more closed word is one more step (``schema_change.py``).
"""

from __future__ import annotations

from sqlite_utils import Database, Migrations

APPLICATION_ID = 0x54434853  # "TCHS", so that another program's survey.db is not taken for ours

migrations = Migrations("teachest")


def step_names(steps: Migrations) -> list[str]:
    """The names of all steps, in order: those that an empty database has before it."""
    empty = Database(memory=True, execute_plugins=False)
    try:
        return [step.name for step in steps.pending(empty)]
    finally:
        empty.close()


@migrations()
def step_001_first_house(db: Database) -> None:
    """The tables of the first version."""
    for statement in _FIRST_HOUSE:
        db.execute(statement)


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
        (
            """CREATE TABLE step_said (
            step TEXT PRIMARY KEY, state TEXT NOT NULL, note TEXT NOT NULL DEFAULT '', by TEXT NOT NULL DEFAULT '',
            at TEXT NOT NULL"""
            ", CHECK (state IN ('done', 'not-needed')))"
        ),
    ):
        db.execute(statement)


@migrations()
def step_004_wants(db: Database) -> None:
    """What the owner says of things to get, and the currency its prices are in."""
    db.execute("ALTER TABLE machine ADD COLUMN currency TEXT NOT NULL DEFAULT 'GBP'")
    db.execute(
        """CREATE TABLE want (
        id INTEGER PRIMARY KEY, component TEXT REFERENCES component(id), label TEXT NOT NULL DEFAULT '',
        state TEXT NOT NULL DEFAULT 'wanted', quantity INTEGER CHECK (quantity > 0), who TEXT NOT NULL DEFAULT '',
        since TEXT NOT NULL, sizes TEXT NOT NULL DEFAULT '{}', also TEXT NOT NULL DEFAULT '', low TEXT, likely TEXT,
        high TEXT, note TEXT NOT NULL DEFAULT '', by TEXT NOT NULL DEFAULT '', at TEXT NOT NULL, gone_at TEXT"""
        ", CHECK (state IN ('wanted', 'asked', 'promised', 'bought', 'here'))"
        ", CHECK (json_valid(sizes)))"
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


@migrations()
def step_006_belongs_and_fits(db: Database) -> None:
    """What speaks for and against parts, what they are kept as patterns for, and trial fits of two parts."""
    for statement in (
        """CREATE TABLE evidence (
            id INTEGER PRIMARY KEY, part INTEGER NOT NULL REFERENCES part(id), kind TEXT NOT NULL,
            note TEXT NOT NULL DEFAULT '', who TEXT NOT NULL DEFAULT '', photo INTEGER REFERENCES photo(id),
            by TEXT NOT NULL DEFAULT '', at TEXT NOT NULL, gone_at TEXT)""",
        "CREATE INDEX evidence_part ON evidence (part)",
        """CREATE TABLE pattern (
            part INTEGER PRIMARY KEY REFERENCES part(id), component TEXT NOT NULL REFERENCES component(id),
            by TEXT NOT NULL DEFAULT '', at TEXT NOT NULL)""",
        (
            """CREATE TABLE fit (
            id INTEGER PRIMARY KEY, part INTEGER NOT NULL REFERENCES part(id),
            other INTEGER NOT NULL REFERENCES part(id), result TEXT NOT NULL, side TEXT NOT NULL DEFAULT '',
            packed TEXT NOT NULL DEFAULT '', gap TEXT NOT NULL DEFAULT '', width TEXT NOT NULL DEFAULT '',
            note TEXT NOT NULL DEFAULT '', by TEXT NOT NULL DEFAULT '', at TEXT NOT NULL, gone_at TEXT,
            CHECK (part <> other)"""
            ", CHECK (result IN ('goes', 'packing', 'does-not', 'not-tried'))"
            ", CHECK (side IN ('', 'near', 'off', 'both')))"
        ),
        "CREATE INDEX fit_part ON fit (part)",
        "CREATE INDEX fit_other ON fit (other)",
        """CREATE TABLE fit_photo (
            fit INTEGER NOT NULL REFERENCES fit(id), photo INTEGER NOT NULL REFERENCES photo(id),
            PRIMARY KEY (fit, photo)) WITHOUT ROWID""",
    ):
        db.execute(statement)


@migrations()
def step_007_outwork(db: Database) -> None:
    """Work sent away: batches, and what is in each."""
    for statement in (
        (
            """CREATE TABLE batch (
            id INTEGER PRIMARY KEY, trade TEXT NOT NULL, who TEXT NOT NULL DEFAULT '',
            contact TEXT NOT NULL DEFAULT '', state TEXT NOT NULL DEFAULT 'draft', out_at TEXT NOT NULL DEFAULT '',
            promised TEXT NOT NULL DEFAULT '', back_at TEXT NOT NULL DEFAULT '', carriage TEXT NOT NULL DEFAULT '',
            insured TEXT, low TEXT, likely TEXT, high TEXT, agreed INTEGER NOT NULL DEFAULT 0 CHECK (agreed IN (0, 1)),
            paid TEXT, answers TEXT NOT NULL DEFAULT '{}', out_by TEXT NOT NULL DEFAULT '',
            in_by TEXT NOT NULL DEFAULT '', anyway TEXT NOT NULL DEFAULT '', note TEXT NOT NULL DEFAULT '',
            by TEXT NOT NULL DEFAULT '', at TEXT NOT NULL, gone_at TEXT"""
            ", CHECK (state IN ('draft', 'out', 'back'))"
            ", CHECK (json_valid(answers)))"
        ),
        (
            """CREATE TABLE batch_item (
            id INTEGER PRIMARY KEY, batch INTEGER NOT NULL REFERENCES batch(id),
            part INTEGER NOT NULL REFERENCES part(id), count INTEGER NOT NULL CHECK (count > 0),
            tag TEXT NOT NULL DEFAULT '', finish TEXT NOT NULL DEFAULT '', plug TEXT NOT NULL DEFAULT '',
            keep_off TEXT NOT NULL DEFAULT '', before TEXT NOT NULL DEFAULT '{}', after TEXT NOT NULL DEFAULT '{}',
            photo_one INTEGER REFERENCES photo(id), photo_other INTEGER REFERENCES photo(id),
            hydrogen TEXT NOT NULL DEFAULT '', said TEXT NOT NULL DEFAULT '{}',
            came_back INTEGER CHECK (came_back >= 0), back_at TEXT NOT NULL DEFAULT '', checked_at TEXT,
            threads TEXT NOT NULL DEFAULT '', damage TEXT NOT NULL DEFAULT '', short_note TEXT NOT NULL DEFAULT '',
            note TEXT NOT NULL DEFAULT '', by TEXT NOT NULL DEFAULT '', at TEXT NOT NULL, gone_at TEXT"""
            ", CHECK (hydrogen IN ('', 'bake', 'no-plate', 'not-hard'))"
            ", CHECK (threads IN ('', 'run', 'closed'))"
            ", CHECK (json_valid(before)), CHECK (json_valid(after)), CHECK (json_valid(said)))"
        ),
        "CREATE INDEX batch_item_batch ON batch_item (batch)",
        "CREATE INDEX batch_item_part ON batch_item (part)",
        "CREATE UNIQUE INDEX batch_item_once ON batch_item (batch, part) WHERE gone_at IS NULL",
    ):
        db.execute(statement)


@migrations()
def step_008_money(db: Database) -> None:
    """What it costs, what it may be worth, what parts would fetch, and the owner's word on the gates."""
    db.execute(
        "ALTER TABLE want ADD COLUMN scarcity TEXT NOT NULL DEFAULT ''"
        " CHECK (scarcity IN ('', 'common', 'clubs', 'used', 'nobody'))"
    )
    for statement in (
        (
            """CREATE TABLE money_line (
            id INTEGER PRIMARY KEY, want INTEGER REFERENCES want(id), what TEXT NOT NULL, kind TEXT NOT NULL,
            low TEXT, likely TEXT, high TEXT, state TEXT NOT NULL DEFAULT 'guess', spent TEXT NOT NULL DEFAULT '0.00',
            spent_at TEXT NOT NULL DEFAULT '', receipt TEXT NOT NULL DEFAULT '', note TEXT NOT NULL DEFAULT '',
            by TEXT NOT NULL DEFAULT '', at TEXT NOT NULL, gone_at TEXT"""
            ", CHECK (state IN ('guess', 'committed', 'paid'))"
            ", CHECK (kind IN ('machine', 'part', 'outwork', 'consumables', 'paperwork', 'carriage', 'tools',"
            " 'other')))"
        ),
        """CREATE TABLE comparison (
            id INTEGER PRIMARY KEY, what TEXT NOT NULL, seen_on TEXT NOT NULL, price TEXT NOT NULL,
            sold INTEGER NOT NULL DEFAULT 1 CHECK (sold IN (0, 1)), condition TEXT NOT NULL DEFAULT '',
            place TEXT NOT NULL DEFAULT '', low TEXT, high TEXT, note TEXT NOT NULL DEFAULT '',
            by TEXT NOT NULL DEFAULT '', at TEXT NOT NULL, gone_at TEXT)""",
        """CREATE TABLE sale_price (
            part INTEGER PRIMARY KEY REFERENCES part(id), low TEXT, likely TEXT, high TEXT,
            held TEXT NOT NULL DEFAULT '', note TEXT NOT NULL DEFAULT '', by TEXT NOT NULL DEFAULT '',
            at TEXT NOT NULL)""",
        """CREATE TABLE budget (
            id INTEGER PRIMARY KEY CHECK (id = 1), contingency TEXT, by TEXT NOT NULL DEFAULT '', at TEXT NOT NULL)""",
        (
            """CREATE TABLE gate_said (
            gate TEXT PRIMARY KEY, said TEXT NOT NULL, reason TEXT NOT NULL, by TEXT NOT NULL DEFAULT '',
            at TEXT NOT NULL"""
            ", CHECK (said IN ('yes', 'no', 'no-matter')))"
        ),
    ):
        db.execute(statement)


_FIRST_HOUSE = (
    """CREATE TABLE machine (
        id INTEGER PRIMARY KEY CHECK (id = 1), name TEXT NOT NULL, kind TEXT NOT NULL, maker TEXT NOT NULL DEFAULT '',
        model TEXT NOT NULL DEFAULT '', year TEXT NOT NULL DEFAULT '', engine TEXT NOT NULL DEFAULT '',
        bought TEXT NOT NULL DEFAULT '', surveyor TEXT NOT NULL DEFAULT '', note TEXT NOT NULL DEFAULT '')""",
    """CREATE TABLE number (
        id INTEGER PRIMARY KEY, place TEXT NOT NULL, text TEXT NOT NULL, note TEXT NOT NULL DEFAULT '',
        gone_at TEXT)""",
    (
        """CREATE TABLE component (
        id TEXT PRIMARY KEY, ordinal INTEGER NOT NULL, label TEXT NOT NULL, assembly TEXT NOT NULL,
        inside TEXT REFERENCES component(id) DEFERRABLE INITIALLY DEFERRED,
        quantity INTEGER NOT NULL CHECK (quantity > 0), duty TEXT NOT NULL,
        class TEXT NOT NULL, material TEXT NOT NULL, other_materials TEXT NOT NULL DEFAULT '[]',
        finish TEXT NOT NULL DEFAULT '', names TEXT NOT NULL DEFAULT '[]', often_missing INTEGER NOT NULL DEFAULT 0,
        faults TEXT NOT NULL DEFAULT '[]', likely TEXT NOT NULL DEFAULT '[]', sizes TEXT NOT NULL DEFAULT '[]',
        everywhere INTEGER NOT NULL DEFAULT 1, own INTEGER NOT NULL DEFAULT 0"""
        ", CHECK (duty IN ('safety', 'running', 'cosmetic', 'paperwork'))"
        ", CHECK (json_valid(other_materials)), CHECK (json_valid(names)), CHECK (json_valid(faults))"
        ", CHECK (json_valid(likely)), CHECK (json_valid(sizes)))"
    ),
    (
        """CREATE TABLE position (
        component TEXT PRIMARY KEY REFERENCES component(id), state TEXT NOT NULL, note TEXT NOT NULL DEFAULT '',
        by TEXT NOT NULL DEFAULT '', at TEXT NOT NULL"""
        ", CHECK (state IN ('missing', 'wrong', 'unseen', 'not-fitted', 'not-looked')))"
    ),
    (
        """CREATE TABLE photo (
        id INTEGER PRIMARY KEY, sha256 TEXT NOT NULL UNIQUE, name TEXT NOT NULL, format TEXT NOT NULL,
        width INTEGER NOT NULL, height INTEGER NOT NULL, bytes INTEGER NOT NULL, path TEXT NOT NULL,
        taken TEXT, taken_from TEXT, offset TEXT, make TEXT NOT NULL DEFAULT '', model TEXT NOT NULL DEFAULT '',
        has_position INTEGER NOT NULL DEFAULT 0, pixel_hash TEXT NOT NULL DEFAULT '', source TEXT NOT NULL DEFAULT '',
        added_at TEXT NOT NULL, aside INTEGER NOT NULL DEFAULT 0, box TEXT NOT NULL DEFAULT '',
        note TEXT NOT NULL DEFAULT '', gone_at TEXT"""
        ", CHECK (taken_from IN ('original', 'digitized', 'file')))"
    ),
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
    (
        """CREATE TABLE finding (
        id INTEGER PRIMARY KEY, part INTEGER NOT NULL REFERENCES part(id), kind TEXT NOT NULL,
        step INTEGER NOT NULL CHECK (step BETWEEN 1 AND 4), seen TEXT NOT NULL, note TEXT NOT NULL DEFAULT '',
        by TEXT NOT NULL DEFAULT '', at TEXT NOT NULL, gone_at TEXT"""
        ", CHECK (seen IN ('bare', 'paint', 'unseen')))"
    ),
    "CREATE INDEX finding_part ON finding (part)",
    """CREATE TABLE finding_photo (
        finding INTEGER NOT NULL REFERENCES finding(id), photo INTEGER NOT NULL REFERENCES photo(id),
        PRIMARY KEY (finding, photo)) WITHOUT ROWID""",
    (
        """CREATE TABLE look (
        id INTEGER PRIMARY KEY, part INTEGER NOT NULL REFERENCES part(id), seen TEXT NOT NULL,
        note TEXT NOT NULL DEFAULT '', by TEXT NOT NULL DEFAULT '', at TEXT NOT NULL, gone_at TEXT"""
        ", CHECK (seen IN ('bare', 'paint', 'unseen')))"
    ),
    "CREATE INDEX look_part ON look (part)",
    """CREATE TABLE look_photo (
        look INTEGER NOT NULL REFERENCES look(id), photo INTEGER NOT NULL REFERENCES photo(id),
        PRIMARY KEY (look, photo)) WITHOUT ROWID""",
    (
        """CREATE TABLE mark (
        id INTEGER PRIMARY KEY, photo INTEGER NOT NULL REFERENCES photo(id), part INTEGER REFERENCES part(id),
        finding INTEGER REFERENCES finding(id), shape TEXT NOT NULL, points TEXT NOT NULL, gone_at TEXT"""
        ", CHECK (shape IN ('pin', 'box', 'outline'))"
        ", CHECK (json_valid(points)))"
    ),
    "CREATE INDEX mark_photo ON mark (photo)",
    """CREATE TABLE reading (
        id INTEGER PRIMARY KEY, part INTEGER NOT NULL REFERENCES part(id), name TEXT NOT NULL, value REAL NOT NULL,
        unit TEXT NOT NULL, written TEXT NOT NULL, tool TEXT NOT NULL DEFAULT '', uncertainty REAL,
        by TEXT NOT NULL DEFAULT '', at TEXT NOT NULL, gone_at TEXT)""",
    "CREATE INDEX reading_part ON reading (part)",
    (
        """CREATE TABLE own_grade (
        part INTEGER PRIMARY KEY REFERENCES part(id), grade TEXT NOT NULL, reason TEXT NOT NULL,
        by TEXT NOT NULL DEFAULT '', at TEXT NOT NULL"""
        ", CHECK (grade IN ('reuse', 'repair', 'replace')))"
    ),
    """CREATE TABLE event (
        id INTEGER PRIMARY KEY AUTOINCREMENT, at TEXT NOT NULL, batch TEXT NOT NULL, by TEXT NOT NULL DEFAULT '',
        verb TEXT NOT NULL, entity TEXT NOT NULL, entity_id TEXT NOT NULL, before TEXT, after TEXT)""",
    "CREATE INDEX event_entity ON event (entity, entity_id)",
    """CREATE TRIGGER event_is_kept_update BEFORE UPDATE ON event
        BEGIN SELECT RAISE(ABORT, 'the history is only ever added to'); END""",
    """CREATE TRIGGER event_is_kept_delete BEFORE DELETE ON event
        BEGIN SELECT RAISE(ABORT, 'the history is only ever added to'); END""",
)
