//! The schema of a log file and its upgrades: numbered SQL, each kept in the file with its hash.

use rusqlite::{Connection, TransactionBehavior};
use sha2::{Digest, Sha256};

use super::error::Trouble;

/// Marks an SQLite file as ours: the letters `BxPf`.
pub(super) const APPLICATION_ID: u32 = 0x4278_5066;

/// The steps, each from the schema before it. A step that was ever released is never changed.
pub(super) const STEPS: &[&str] = &[include_str!("schema/001.sql")];

/// The number of a schema after `steps`.
fn number(steps: &[&str]) -> Result<u32, Trouble> {
    u32::try_from(steps.len()).map_err(|_| Trouble::Setting("user_version"))
}

/// The schema that a file has.
pub(super) fn of_file(conn: &Connection) -> Result<u32, Trouble> {
    Ok(conn.query_row("PRAGMA user_version", [], |row| row.get(0))?)
}

/// Whether a file of schema `found` was written by a newer program than one with `steps`.
pub(super) fn is_newer(found: u32, steps: &[&str]) -> Result<bool, Trouble> {
    Ok(found > number(steps)?)
}

/// Checks the steps that were taken and takes those that are missing, all in one transaction.
pub(super) fn upgrade(conn: &mut Connection, steps: &[&str]) -> Result<(), Trouble> {
    if of_file(conn)? == number(steps)? {
        return check(conn, steps);
    }
    let tx = conn.transaction_with_behavior(TransactionBehavior::Immediate)?;
    // Another program may have upgraded it between the look and the lock.
    let found = of_file(&tx)?;
    if is_newer(found, steps)? {
        return Err(Trouble::Newer);
    }
    let taken = usize::try_from(found).map_err(|_| Trouble::Newer)?;
    if taken > 0 {
        check(&tx, steps.get(..taken).unwrap_or_default())?;
    }
    for (n, step) in (1_u32..).zip(steps).skip(taken) {
        tx.execute_batch(step)?;
        tx.execute("INSERT INTO upgrade (n, sha256) VALUES (?1, ?2)", (n, sha256(step)))?;
    }
    tx.pragma_update(None, "user_version", number(steps)?)?;
    tx.pragma_update(None, "application_id", APPLICATION_ID)?;
    Ok(tx.commit()?)
}

/// Whether the file went through exactly these steps.
fn check(conn: &Connection, steps: &[&str]) -> Result<(), Trouble> {
    let mut asked = match conn.prepare("SELECT n, sha256 FROM upgrade ORDER BY n").map_err(Trouble::from) {
        Err(trouble) if trouble.is_other_tables() => return Err(Trouble::Wrong("the schema")),
        asked => asked?,
    };
    let taken: Vec<(u32, [u8; 32])> =
        asked.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?.collect::<Result<_, _>>()?;
    let wanted: Vec<(u32, [u8; 32])> = (1_u32..).zip(steps).map(|(n, step)| (n, sha256(step))).collect();
    // A file that came another way to the same number is from a program that this one does not know.
    if taken == wanted { Ok(()) } else { Err(Trouble::Newer) }
}

fn sha256(text: &str) -> [u8; 32] {
    Sha256::digest(text.as_bytes()).into()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn memory() -> Connection {
        Connection::open_in_memory().unwrap()
    }

    #[test]
    fn a_schema_goes_forward_and_keeps_what_is_there() {
        let mut conn = memory();
        upgrade(&mut conn, STEPS).unwrap();
        conn.execute("INSERT INTO about (only, site, kind) VALUES (1, printf('%.36c', 'x'), 'site')", []).unwrap();
        upgrade(&mut conn, STEPS).unwrap();
        let later = [STEPS, &["ALTER TABLE about ADD COLUMN more TEXT"]].concat();
        upgrade(&mut conn, &later).unwrap();
        assert_eq!(of_file(&conn).unwrap(), number(&later).unwrap());
        let kept: u32 = conn.query_row("SELECT count(more IS NULL) FROM about", [], |row| row.get(0)).unwrap();
        assert_eq!(kept, 1);
        // The older program now finds a newer file, and so does one whose own next step was another.
        assert!(is_newer(of_file(&conn).unwrap(), STEPS).unwrap());
        assert!(matches!(upgrade(&mut conn, STEPS), Err(Trouble::Newer)));
        let other = [STEPS, &["ALTER TABLE about ADD COLUMN else TEXT"]].concat();
        assert!(matches!(upgrade(&mut conn, &other), Err(Trouble::Newer)));
    }

    #[test]
    fn a_step_that_fails_leaves_the_file_as_it_was() {
        let mut conn = memory();
        upgrade(&mut conn, STEPS).unwrap();
        let later = [STEPS, &["CREATE TABLE more (x INTEGER) STRICT; SELECT no_such_thing;"]].concat();
        assert!(upgrade(&mut conn, &later).is_err());
        assert_eq!(of_file(&conn).unwrap(), number(STEPS).unwrap());
        assert!(conn.prepare("SELECT x FROM more").is_err());
        upgrade(&mut conn, STEPS).unwrap();
    }

    #[test]
    fn entries_cannot_be_changed_by_plain_sql() {
        let mut conn = memory();
        upgrade(&mut conn, STEPS).unwrap();
        let insert = "INTO entry (n, hash, author, seq, tick, body, sig) \
                      VALUES (NULL, zeroblob(32), zeroblob(32), 1, 1, 'x', zeroblob(64))";
        conn.execute(&format!("INSERT {insert}"), []).unwrap();
        for sql in [
            format!("INSERT OR REPLACE {insert}"),
            format!("REPLACE {}", insert.replace("NULL", "1").replacen("zeroblob(32)", "randomblob(32)", 1)),
            "UPDATE entry SET body = 'y'".to_owned(),
            "UPDATE OR REPLACE entry SET n = 7".to_owned(),
            "DELETE FROM entry".to_owned(),
        ] {
            assert!(conn.execute(&sql, []).is_err(), "{sql}");
        }
        let body: String = conn.query_row("SELECT group_concat(body) FROM entry", [], |row| row.get(0)).unwrap();
        assert_eq!(body, "x");
        // The guard itself does not stand in the way of new entries.
        conn.execute(&format!("INSERT {}", insert.replacen("zeroblob(32)", "randomblob(32)", 1)), []).unwrap();
    }
}
