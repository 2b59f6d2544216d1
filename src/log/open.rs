//! Making a cellar's file and opening it, with every setting that the safety of the facts hangs on.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use rusqlite::config::DbConfig;
use rusqlite::limits::Limit;
use rusqlite::{Connection, ErrorCode, MAIN_DB, OpenFlags, params};

use super::append::Top;
use super::error::{LogError, show};
use super::files;
use super::half_made::{HalfMade, Room};
use super::mark::MarkKeeper;
use super::place::{Place, hold};
use super::schema::{APPLICATION_ID, GUARDS, PAGE_BYTES, SCHEMA_VERSION, TABLES};
use super::trouble::Trouble;
use super::{Access, Log, header, leftover};
use crate::cellar::core::moment::Moment;

/// How long to wait for another program that holds the file, where somebody waits for an answer.
pub const PATIENCE: Duration = Duration::from_secs(2);
/// The first SQLite without the fault that could reset the write-ahead log too early.
const OLDEST_SQLITE: i32 = 3_051_003;
/// No row is longer than this: a body is at most 1 MiB, a note at most 2,000 characters.
const ROW_BYTES: i32 = 2 * 1024 * 1024;
/// No statement is longer than this.
const STATEMENT_BYTES: i32 = 64 * 1024;
/// The write-ahead log is cut back to this after a large import.
const SIDECAR_BYTES: i32 = 64 * 1024 * 1024;

/// A cellar in the making. Unless it is finished, nothing is left of it.
#[derive(Debug)]
pub struct NewCellar {
    half_made: HalfMade,
    path: PathBuf,
}

impl NewCellar {
    /// Where it stands until it is finished.
    #[must_use]
    pub fn path(&self) -> &Path {
        self.half_made.path()
    }

    /// Puts it in its place, with all that was entered into it. It must be closed.
    pub fn finish(self) -> Result<(), LogError> {
        let failed = |problem: Trouble| LogError::CannotCreate { path: show(&self.path), problem };
        self.half_made.put_cellar_in_place(|error| failed(Trouble::of(&error)))
    }
}

impl Log {
    /// Makes a new cellar's file where nothing was before, and opens it. On any failure nothing is left behind.
    pub fn create(path: &Path, created: Moment) -> Result<Log, LogError> {
        Log::begin(path, created)?.finish()?;
        Log::open(path, Access::ReadWrite)
    }

    /// Begins a new cellar where nothing was before: an empty one under a hidden name, that is put in its place when it is finished.
    pub fn begin(path: &Path, created: Moment) -> Result<NewCellar, LogError> {
        check_sqlite()?;
        let failed = |problem: Trouble| LogError::CannotCreate { path: show(path), problem };
        let half_made = HalfMade::cellar_beside(path, Room::New, |error| failed(Trouble::of(&error)))?;
        let id = files::random_hex(16).map_err(|error| failed(Trouble::of(&error)))?;
        lay_out(half_made.path(), &format!("c-{id}"), created)
            .map_err(|error| failed(Trouble::at(half_made.path(), &error).unwrap_or(Trouble::Unnamed)))?;
        Ok(NewCellar { half_made, path: path.to_owned() })
    }

    /// Opens a cellar's file. What is missing from it against the mark beside it is told by [`Log::warnings`].
    pub fn open(path: &Path, access: Access) -> Result<Log, LogError> {
        check_sqlite()?;
        header::check(path)?;
        let cannot_read =
            |error: std::io::Error| LogError::CannotRead { path: show(path), problem: Trouble::of(&error) };
        let named = path;
        let path = std::fs::canonicalize(named).map_err(cannot_read)?;
        leftover::refuse_left_beside_link(named, &path)?;
        // Held before the database opens the file: what is opened is what was looked at.
        let held = hold(&path).map_err(cannot_read)?;
        // Another opening of this program looked at what stands beside it, and is at work with that.
        let first = Arc::strong_count(&held) == 1;
        let set_aside = if first { leftover::settle(&path)? } else { None };
        let connection = connect(&path, access)?;
        let explain = |error: rusqlite::Error| LogError::from_database(&path, &error);
        let cellar: String = connection.query_row("SELECT id FROM cellar", [], |row| row.get(0)).map_err(explain)?;
        let top = Top::of(&connection).map_err(explain)?;
        let (keeper, mut warnings) = MarkKeeper::open(&path, &cellar, access, &connection)?;
        warnings.splice(0..0, set_aside);
        let place = Place::of(&path, held, &cellar, access, &connection)?;
        if !leftover::holds_something(&files::beside(&path, "-wal")) {
            place.is_sound(u64::try_from(top.head.0).ok());
        }
        Ok(Log {
            path,
            cellar,
            access,
            connection: Some(connection),
            place,
            top,
            mark: keeper,
            warnings,
            doubt: None,
            newest: Vec::new(),
        })
    }

    /// A second opening of the same file, for reading only: another thread can read while this one appends.
    pub fn reader(&self) -> Result<Log, LogError> {
        let connection = connect(&self.path, Access::ReadOnly)?;
        Ok(Log {
            path: self.path.clone(),
            cellar: self.cellar.clone(),
            access: Access::ReadOnly,
            connection: Some(connection),
            place: self.place.for_reading(),
            top: self.top.clone(),
            mark: self.mark.for_reading(),
            warnings: Vec::new(),
            doubt: None,
            newest: Vec::new(),
        })
    }

    /// When the cellar was made.
    pub fn created(&self) -> Result<Moment, LogError> {
        let select = "SELECT created_instant, created_offset FROM cellar";
        let moment = |row: &rusqlite::Row<'_>| Ok(Moment::new(row.get(0)?, row.get(1)?));
        self.connection()?.query_row(select, [], moment).map_err(|error| self.explain(&error))
    }
}

fn check_sqlite() -> Result<(), LogError> {
    if rusqlite::version_number() < OLDEST_SQLITE {
        return Err(LogError::OldSqlite(rusqlite::version().to_owned()));
    }
    Ok(())
}

/// Writes the tables of a new cellar into an empty file.
fn lay_out(path: &Path, id: &str, created: Moment) -> rusqlite::Result<()> {
    let connection = Connection::open_with_flags(path, OpenFlags::SQLITE_OPEN_READ_WRITE)?;
    connection.pragma_update(None, "page_size", PAGE_BYTES)?;
    connection.pragma_update(None, "synchronous", "FULL")?;
    connection.pragma_update(None, "fullfsync", true)?;
    connection.execute_batch("BEGIN IMMEDIATE")?;
    connection.pragma_update(None, "application_id", APPLICATION_ID)?;
    connection.pragma_update(None, "user_version", SCHEMA_VERSION)?;
    connection.execute_batch(TABLES)?;
    connection.execute(
        "INSERT INTO cellar (only_row, id, created_instant, created_offset) VALUES (1, ?1, ?2, ?3)",
        params![id, created.instant(), created.offset_minutes()],
    )?;
    for (_, guard) in GUARDS {
        connection.execute_batch(guard)?;
    }
    connection.execute_batch("COMMIT")?;
    connection.pragma_update(None, "journal_mode", "WAL")?;
    connection.close().map_err(|(_, error)| error)
}

/// Opens a file that was found to be a cellar.
pub fn connect(path: &Path, access: Access) -> Result<Connection, LogError> {
    connect_within(path, access, PATIENCE)
}

/// The same, where another program that holds the file is waited for no longer than that.
pub fn connect_within(path: &Path, access: Access, patience: Duration) -> Result<Connection, LogError> {
    let outcome = match access {
        Access::ReadWrite => open_for_writing(path, patience),
        Access::ReadOnly => open_for_reading(path, patience),
    };
    outcome.map_err(|error| match error {
        Refusal::Said(error) => error,
        Refusal::Database(error) => LogError::from_database(path, &error),
    })
}

/// Why a connection was not made: already in words, or in the database's.
enum Refusal {
    Said(LogError),
    Database(rusqlite::Error),
}

impl From<rusqlite::Error> for Refusal {
    fn from(error: rusqlite::Error) -> Refusal {
        Refusal::Database(error)
    }
}

impl From<LogError> for Refusal {
    fn from(error: LogError) -> Refusal {
        Refusal::Said(error)
    }
}

/// One thread at a time uses a connection, so SQLite need not guard against more.
const ALWAYS: OpenFlags = OpenFlags::SQLITE_OPEN_NO_MUTEX;

fn open_for_writing(path: &Path, patience: Duration) -> Result<Connection, Refusal> {
    free_what_is_beside(path);
    let connection = Connection::open_with_flags(path, ALWAYS | OpenFlags::SQLITE_OPEN_READ_WRITE)?;
    guard(&connection, patience)?;
    if connection.is_readonly(MAIN_DB)? {
        return Err(LogError::WriteProtected(show(path)).into());
    }
    check_again(&connection, path)?;
    let mode: String = connection.pragma_update_and_check(None, "journal_mode", "WAL", |row| row.get(0))?;
    if mode != "wal" {
        return Err(unsafe_setting(path, "journal_mode", &mode).into());
    }
    connection.pragma_update(None, "synchronous", "FULL")?;
    // Where a plain sync does not reach the disk itself, ask for the one that does.
    connection.pragma_update(None, "fullfsync", true)?;
    connection.pragma_update(None, "checkpoint_fullfsync", true)?;
    connection.pragma_update(None, "foreign_keys", true)?;
    connection.pragma_update(None, "recursive_triggers", true)?;
    connection.pragma_update_and_check(None, "journal_size_limit", SIDECAR_BYTES, |_| Ok(()))?;
    for (setting, wanted) in [
        ("synchronous", 2),
        ("foreign_keys", 1),
        ("recursive_triggers", 1),
        ("trusted_schema", 0),
        ("cell_size_check", 1),
    ] {
        let found: i64 = connection.pragma_query_value(None, setting, |row| row.get(0))?;
        if found != wanted {
            return Err(unsafe_setting(path, setting, &found.to_string()).into());
        }
    }
    Ok(connection)
}

fn open_for_reading(path: &Path, patience: Duration) -> Result<Connection, Refusal> {
    let open = |connection: rusqlite::Result<Connection>| -> Result<Connection, Refusal> {
        let connection = connection?;
        guard(&connection, patience)?;
        check_again(&connection, path)?;
        Ok(connection)
    };
    let read_only = ALWAYS | OpenFlags::SQLITE_OPEN_READ_ONLY;
    if is_write_protected(path) {
        // What SQLite would lay beside it would be as write-protected, and stay in the way of whoever may write again.
        return open(alone(path));
    }
    match open(Connection::open_with_flags(path, read_only)) {
        Err(Refusal::Database(error))
            if matches!(error.sqlite_error_code(), Some(ErrorCode::CannotOpen | ErrorCode::ReadOnly)) =>
        {
            // SQLite wants to put its own files beside this one and may not. If there is nothing in them, the file
            // alone is the whole truth, and nobody can change it where nobody can write.
            let newest_apart = std::fs::metadata(files::beside(path, "-wal")).is_ok_and(|wal| wal.len() > 0);
            if newest_apart {
                return Err(LogError::NewestApart(show(path)).into());
            }
            open(Connection::open_with_flags(unchanging(path), read_only | OpenFlags::SQLITE_OPEN_URI))
        }
        outcome => outcome,
    }
}

/// Whether nobody is meant to write a file, and nothing stands beside it that is not in it yet.
fn is_write_protected(path: &Path) -> bool {
    let protected = std::fs::metadata(path).is_ok_and(|metadata| metadata.permissions().readonly());
    protected && std::fs::metadata(files::beside(path, "-wal")).map_or(true, |newest| newest.len() == 0)
}

/// Makes what an opening for reading left write-protected beside a file writable again, where the file itself is.
fn free_what_is_beside(path: &Path) {
    let Ok(of_file) = std::fs::metadata(path) else { return };
    for ending in ["-wal", "-shm"] {
        let left = files::beside(path, ending);
        let is_protected = |left: &std::fs::Metadata| left.is_file() && left.permissions().readonly();
        if !of_file.permissions().readonly() && std::fs::symlink_metadata(&left).is_ok_and(|left| is_protected(&left)) {
            // Whoever may not do this is told by the opening that what is there cannot be written.
            let _ = std::fs::set_permissions(&left, of_file.permissions());
        }
    }
}

/// The own name of the cellar in a file that is only looked at: nothing is written, and nothing laid beside it.
pub fn cellar_of(path: &Path) -> Result<String, LogError> {
    header::check(path)?;
    let explain = |error: rusqlite::Error| LogError::from_database(path, &error);
    let connection = alone(path).map_err(explain)?;
    connection.query_row("SELECT id FROM cellar", [], |row| row.get(0)).map_err(explain)
}

/// A file by itself, without what stands beside it.
pub fn alone(path: &Path) -> rusqlite::Result<Connection> {
    let flags = ALWAYS | OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_URI;
    let connection = Connection::open_with_flags(unchanging(path), flags)?;
    guard(&connection, PATIENCE)?;
    Ok(connection)
}

/// The name by which SQLite opens a file of which it may take for granted that nobody changes it.
fn unchanging(path: &Path) -> PathBuf {
    let plain = |byte: u8| byte.is_ascii_alphanumeric() || matches!(byte, b'/' | b'.' | b'-' | b'_');
    let escape = |byte: u8| if plain(byte) { char::from(byte).to_string() } else { format!("%{byte:02X}") };
    let name: String = path.as_os_str().as_encoded_bytes().iter().map(|&byte| escape(byte)).collect();
    PathBuf::from(format!("file:{name}?immutable=1"))
}

/// What holds for every connection: nothing in the file is trusted, and nothing in it may grow without bound.
fn guard(connection: &Connection, patience: Duration) -> rusqlite::Result<()> {
    connection.busy_timeout(patience)?;
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_TRUSTED_SCHEMA, false)?;
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_DEFENSIVE, true)?;
    connection.set_limit(Limit::SQLITE_LIMIT_LENGTH, ROW_BYTES)?;
    connection.set_limit(Limit::SQLITE_LIMIT_SQL_LENGTH, STATEMENT_BYTES)?;
    connection.set_limit(Limit::SQLITE_LIMIT_VARIABLE_NUMBER, 32)?;
    connection.set_limit(Limit::SQLITE_LIMIT_TRIGGER_DEPTH, 4)?;
    connection.pragma_update(None, "cell_size_check", true)
}

/// The marks of the file as the database sees them, before anything is written.
fn check_again(connection: &Connection, path: &Path) -> Result<(), Refusal> {
    let application = connection.pragma_query_value(None, "application_id", |row| row.get(0))?;
    let version = connection.pragma_query_value(None, "user_version", |row| row.get(0))?;
    Ok(header::check_marks(path, application, version)?)
}

fn unsafe_setting(path: &Path, setting: &str, found: &str) -> LogError {
    LogError::Unsafe { path: show(path), setting: setting.to_owned(), found: found.to_owned() }
}
