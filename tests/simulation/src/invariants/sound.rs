//! The file is sound at the end, and what happened is counted.

use super::decisions::both;
use crate::life::Broken;
use crate::world::World;
use store::{Engine, Reach, Sql, fetch};

const INTEGRITY: Sql = both("integrity", "PRAGMA integrity_check");
const REFERENCES: Sql = both("references", "SELECT \"table\" FROM pragma_foreign_key_check");

const COUNTS: [(&str, Sql); 4] = [
    ("mark", both("marks", "SELECT outcome, COUNT(*) FROM mark GROUP BY outcome")),
    ("notice", both("notices", "SELECT state, COUNT(*) FROM notice GROUP BY state")),
    ("letter", both("letters", "SELECT state, COUNT(*) FROM letter GROUP BY state")),
    (
        "attempt",
        both(
            "attempts",
            "SELECT COALESCE(outcome, 'cut short'), COUNT(*) FROM letter_attempt GROUP BY outcome",
        ),
    ),
];

/// SQLite itself finds its file sound.
pub async fn is_the_file(world: &World) -> Result<(), Broken> {
    if world.place.engine() == Engine::Postgres {
        return Ok(());
    }
    let mut tx = world.store().reader(Reach::All).await?;
    let conn = &mut tx.conn();
    let said = fetch!(fetch_all, conn, (String,), INTEGRITY)?;
    if said != [("ok".to_owned(),)] {
        return Err(Broken::new("the file is sound", format!("{said:?}")));
    }
    let dangling = fetch!(fetch_all, conn, (String,), REFERENCES)?;
    if dangling.is_empty() { Ok(()) } else { Err(Broken::new("rows refer to rows", format!("{dangling:?}"))) }
}

/// Counts what became of marks, notices, letters and attempts.
pub async fn tally(world: &mut World) -> Result<(), Broken> {
    for (kind, statement) in COUNTS {
        let mut tx = world.store().reader(Reach::All).await?;
        let rows = fetch!(fetch_all, &mut tx.conn(), (String, i64), statement)?;
        drop(tx);
        for (word, number) in rows {
            world.tally.add(format!("{kind}: {word}"), u64::try_from(number).unwrap_or(0));
        }
    }
    let taken = world.relay.taken();
    let letters: std::collections::BTreeSet<_> = taken.iter().map(|one| &one.message_id).collect();
    let seconds = taken.len() - letters.len();
    world.tally.add("letter: second copy", u64::try_from(seconds).unwrap_or(0));
    for told in taken.iter().flat_map(|one| super::calendars::told(one)) {
        world.tally.count(format!("calendar: {}", told.method));
    }
    let relays = world.relay.tally();
    world.tally.join(&relays);
    Ok(())
}
