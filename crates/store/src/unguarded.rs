//! The store without one of its guards: for tests of the tests only.
//!
//! Each guard is taken out by a cargo feature that is off by default. A simulation of a fleet's life must go red with each
//! of them; `ostler` does not compile with any.

#[cfg(any(
    feature = "without-claim-token",
    feature = "without-unique-key",
    feature = "without-vehicle-lock"
))]
use crate::Sql;

/// The guards that this build leaves out; none in every build that is meant for use.
pub const WITHOUT: &[&str] = &[
    #[cfg(feature = "without-claim-token")]
    "the claim token",
    #[cfg(feature = "without-unique-key")]
    "the unique key of notices",
    #[cfg(feature = "without-vehicle-lock")]
    "the lock on vehicles",
];

/// Says on the log what is left out.
pub(crate) fn warn() {
    if !WITHOUT.is_empty() {
        tracing::warn!(without = ?WITHOUT, "this build is for tests of the tests only: guards are left out");
    }
}

/// The statement without the row lock at its end.
#[cfg(feature = "without-vehicle-lock")]
pub(crate) const fn without_lock(sql: Sql) -> Sql {
    const LOCK: usize = "FOR UPDATE ".len();
    let (postgres, _) = sql.postgres.split_at(sql.postgres.len() - LOCK);
    Sql { postgres, ..sql }
}

/// The statement without what it does about a key that is taken.
#[cfg(feature = "without-unique-key")]
pub(crate) const fn without_conflict(sql: Sql) -> Sql {
    Sql { name: sql.name, sqlite: before_conflict(sql.sqlite), postgres: before_conflict(sql.postgres) }
}

#[cfg(feature = "without-unique-key")]
const fn before_conflict(text: &'static str) -> &'static str {
    let (bytes, wanted) = (text.as_bytes(), b" ON CONFLICT");
    let mut at = 0;
    while at + wanted.len() < bytes.len() {
        let mut same = 0;
        while same < wanted.len() && bytes[at + same] == wanted[same] {
            same += 1;
        }
        if same == wanted.len() {
            return text.split_at(at).0;
        }
        at += 1;
    }
    panic!("the statement says nothing about conflicts")
}

#[cfg(feature = "without-claim-token")]
const fn same(name: &'static str, text: &'static str) -> Sql {
    Sql { name, sqlite: text, postgres: text }
}

#[cfg(feature = "without-claim-token")]
pub(crate) const RELEASE: Sql = same(
    "RELEASE without claim token",
    "UPDATE vehicle_state SET claim_token = NULL, claimed_until = NULL, wakes_at = $4
     WHERE fleet_id = $1 AND vehicle_id = $2 AND (claim_token = $3 OR claim_token IS NULL OR claim_token <> $3)",
);

#[cfg(feature = "without-claim-token")]
pub(crate) const START: Sql = same(
    "START without claim token",
    "UPDATE letter SET state = 'sending', attempts = $4 WHERE fleet_id = $1 AND id = $2
     AND (claim_token = $3 OR claim_token IS NULL OR claim_token <> $3) AND state = 'claimed'
     AND (claimed_until >= $5 OR claimed_until < $5)",
);

#[cfg(feature = "without-claim-token")]
pub(crate) const SETTLE: Sql = same(
    "SETTLE without claim token",
    "UPDATE letter SET state = $4, last_reply = $5, next_attempt_at = $6, sent_at = $7, claim_token = NULL,
     claimed_until = NULL WHERE fleet_id = $1 AND id = $2
     AND (claim_token = $3 OR claim_token IS NULL OR claim_token <> $3)",
);

#[cfg(feature = "without-unique-key")]
const TABLE: Sql = Sql {
    name: "TABLE of notices",
    sqlite: "SELECT sql FROM sqlite_schema WHERE type = 'table' AND name = 'notice'",
    postgres: "SELECT 'ALTER TABLE notice DROP CONSTRAINT ' || conname FROM pg_constraint
        WHERE conrelid = 'notice'::regclass AND contype = 'u'",
};

/// Takes the unique key off the table of notices, which must be empty.
///
/// # Errors
/// Storage errors.
#[cfg(feature = "without-unique-key")]
pub async fn drop_unique_key(store: &crate::Store) -> Result<(), crate::StoreError> {
    let mut tx = store.writer(crate::Reach::All).await?;
    let conn = &mut tx.conn();
    let (mut text,) = fetch!(fetch_one, conn, (String,), TABLE)?;
    if conn.engine() == crate::Engine::Sqlite {
        execute!(conn, Sql { name: "drop_unique_key", sqlite: "DROP TABLE notice", postgres: "" })?;
        text = text.replace("UNIQUE (fleet_id, vehicle_id, item_key, cycle, mark, person_id),", "");
    }
    // Once for each world of a process that exists to be thrown away.
    let text: &'static str = text.leak();
    execute!(conn, Sql { name: "drop_unique_key", sqlite: text, postgres: text })?;
    tx.commit().await
}
