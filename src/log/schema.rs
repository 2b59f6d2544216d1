//! The tables of the file, and the guards by which the database itself refuses to change a fact.

/// What says in the first bytes of a file that it is a cellar of this program.
pub const APPLICATION_ID: i32 = 0x43fe_11e7;

/// The version of the tables. A file with a higher one comes from a newer program.
pub const SCHEMA_VERSION: i32 = 1;

/// The bytes of a page. Twice as large scans a twentieth faster, but then the slowest appends take half as long again:
/// every append writes whole pages.
pub const PAGE_BYTES: i32 = 8 * 1024;

/// The tables. The columns that the fold needs stand first in a fact, so that reading stops before the rest of the row.
///
/// `late` is empty where a fact arrived in its place, and holds the device's name where a fact of a later place had
/// arrived before it: the few late facts are thereby kept in the fold's order by an index of their own, and all the
/// others are in it already by `position`.
pub const TABLES: &str = "
CREATE TABLE cellar (
    only_row INTEGER PRIMARY KEY CHECK (only_row = 1),
    id TEXT NOT NULL,
    created_instant INTEGER NOT NULL,
    created_offset INTEGER NOT NULL
) STRICT;

CREATE TABLE devices (
    device INTEGER PRIMARY KEY,
    name TEXT NOT NULL UNIQUE
) STRICT;

CREATE TABLE facts (
    position INTEGER PRIMARY KEY,
    device INTEGER NOT NULL REFERENCES devices (device),
    n INTEGER NOT NULL,
    instant INTEGER NOT NULL,
    offset_minutes INTEGER NOT NULL,
    kind TEXT NOT NULL,
    body TEXT NOT NULL,
    late TEXT,
    written_instant INTEGER NOT NULL,
    written_offset INTEGER NOT NULL,
    author TEXT NOT NULL,
    version INTEGER NOT NULL,
    job TEXT,
    note TEXT,
    link BLOB NOT NULL CHECK (length(link) = 32),
    UNIQUE (device, n)
) STRICT;

CREATE INDEX late_facts ON facts (instant, late, n) WHERE late IS NOT NULL;
CREATE INDEX retractions ON facts (position) WHERE kind = 'retracted';
";

/// The guards: name and text of each trigger.
///
/// `INSERT OR REPLACE` would walk past the guards against changing and deleting, so the guards against inserting refuse
/// everything that is already there, as well as everything that would leave a gap.
pub const GUARDS: &[(&str, &str)] = &[
    (
        "facts_follow_each_other",
        "CREATE TRIGGER facts_follow_each_other BEFORE INSERT ON facts BEGIN
            SELECT RAISE(ABORT, 'a fact must follow the last one of its device')
                WHERE NEW.n IS NOT 1 + coalesce((SELECT max(n) FROM facts WHERE device = NEW.device), 0);
            SELECT RAISE(ABORT, 'a fact must take the next position')
                WHERE NEW.position IS NOT 1 + coalesce((SELECT max(position) FROM facts), 0);
        END",
    ),
    (
        "facts_are_never_changed",
        "CREATE TRIGGER facts_are_never_changed BEFORE UPDATE ON facts BEGIN
            SELECT RAISE(ABORT, 'a fact is never changed');
        END",
    ),
    (
        "facts_are_never_deleted",
        "CREATE TRIGGER facts_are_never_deleted BEFORE DELETE ON facts BEGIN
            SELECT RAISE(ABORT, 'a fact is never deleted');
        END",
    ),
    (
        "devices_follow_each_other",
        "CREATE TRIGGER devices_follow_each_other BEFORE INSERT ON devices BEGIN
            SELECT RAISE(ABORT, 'a device must be new')
                WHERE NEW.device IS NOT 1 + coalesce((SELECT max(device) FROM devices), 0)
                    OR EXISTS (SELECT 1 FROM devices WHERE name = NEW.name);
        END",
    ),
    (
        "devices_are_never_changed",
        "CREATE TRIGGER devices_are_never_changed BEFORE UPDATE ON devices BEGIN
            SELECT RAISE(ABORT, 'a device is never changed');
        END",
    ),
    (
        "devices_are_never_deleted",
        "CREATE TRIGGER devices_are_never_deleted BEFORE DELETE ON devices BEGIN
            SELECT RAISE(ABORT, 'a device is never deleted');
        END",
    ),
    (
        "a_cellar_is_named_once",
        "CREATE TRIGGER a_cellar_is_named_once BEFORE INSERT ON cellar BEGIN
            SELECT RAISE(ABORT, 'the cellar has its name already') WHERE EXISTS (SELECT 1 FROM cellar);
        END",
    ),
    (
        "a_cellar_is_never_renamed",
        "CREATE TRIGGER a_cellar_is_never_renamed BEFORE UPDATE ON cellar BEGIN
            SELECT RAISE(ABORT, 'the name of the cellar is never changed');
        END",
    ),
    (
        "a_cellar_is_never_unnamed",
        "CREATE TRIGGER a_cellar_is_never_unnamed BEFORE DELETE ON cellar BEGIN
            SELECT RAISE(ABORT, 'the name of the cellar is never deleted');
        END",
    ),
];
