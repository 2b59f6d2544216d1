//! Damage to a cellar's file, as a failing disk does it: past the guards, and past the program.

use std::path::Path;

use rusqlite::Connection;

/// Changes a file and leaves its guards as they were.
pub fn without_guards(path: &Path, change: &str) {
    let connection = Connection::open(path).unwrap();
    let guards: Vec<(String, String)> = {
        let mut statement = connection.prepare("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'").unwrap();
        let rows = statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?))).unwrap();
        rows.collect::<Result<_, _>>().unwrap()
    };
    for (name, _) in &guards {
        connection.execute_batch(&format!("DROP TRIGGER {name}")).unwrap();
    }
    connection.execute_batch("PRAGMA foreign_keys = OFF").unwrap();
    connection.execute_batch(change).unwrap();
    for (_, sql) in &guards {
        connection.execute_batch(sql).unwrap();
    }
}
