//! What can go wrong with keeping things, told apart where a caller acts differently.

use crate::drivers;
use sqlx::error::{DatabaseError, ErrorKind};
use sqlx::migrate::MigrateError;
use std::fmt::Display;

/// Why the store did not do as asked. `statement` is the statement's name, or what was being done.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// A row with this key is already there.
    #[error("{statement}: a row with this key is already kept")]
    Unique {
        /// Which statement.
        statement: &'static str,
        /// What the engine said.
        source: sqlx::Error,
    },
    /// The row belongs to one that is not there, or others still belong to it.
    #[error("{statement}: the row belongs to one that is not kept")]
    ForeignKey {
        /// Which statement.
        statement: &'static str,
        /// What the engine said.
        source: sqlx::Error,
    },
    /// The schema forbids the value: a check, or a missing value.
    #[error("{statement}: the schema forbids the value")]
    Forbidden {
        /// Which statement.
        statement: &'static str,
        /// What the engine said.
        source: sqlx::Error,
    },
    /// The store cannot answer now; the same may succeed later. Nothing was written, or it is not known.
    #[error("{statement}: the store cannot answer now")]
    Unavailable {
        /// Which statement.
        statement: &'static str,
        /// What the engine said.
        source: sqlx::Error,
    },
    /// What is kept cannot be read.
    #[error("what is kept cannot be read: {what}")]
    Corrupt {
        /// Where, and what stands there.
        what: String,
    },
    /// A newer program has changed the schema in a way this one cannot read.
    #[error(
        "the schema is at version {schema}, readable from program schema {readable_from} on; this program knows {known}"
    )]
    TooNew {
        /// The schema's version.
        schema: i64,
        /// The oldest program's version that can read it.
        readable_from: i64,
        /// The newest version this program knows.
        known: i64,
    },
    /// The schema could not be brought up to date.
    #[error("the schema could not be brought up to date")]
    Migration(#[source] MigrateError),
    /// Anything else: a mistake in the program.
    #[error("{statement}: the store refused")]
    Other {
        /// Which statement.
        statement: &'static str,
        /// What the engine said.
        source: sqlx::Error,
    },
}

impl StoreError {
    /// Tells apart what `source` means, for the statement of that name.
    pub fn of(statement: &'static str, source: sqlx::Error) -> Self {
        match &source {
            sqlx::Error::Database(refusal) => match refusal.kind() {
                ErrorKind::UniqueViolation => Self::Unique { statement, source },
                ErrorKind::ForeignKeyViolation => Self::ForeignKey { statement, source },
                ErrorKind::NotNullViolation | ErrorKind::CheckViolation => {
                    Self::Forbidden { statement, source }
                }
                _ if drivers::is_passing(refusal.as_ref()) => Self::Unavailable { statement, source },
                _ if drivers::is_damage(refusal.as_ref()) => {
                    Self::Corrupt { what: format!("{statement}: {source}") }
                }
                _ => Self::Other { statement, source },
            },
            sqlx::Error::Io(_)
            | sqlx::Error::Tls(_)
            | sqlx::Error::PoolTimedOut
            | sqlx::Error::PoolClosed
            | sqlx::Error::WorkerCrashed
            | sqlx::Error::Protocol(_)
            | sqlx::Error::BeginFailed => Self::Unavailable { statement, source },
            sqlx::Error::ColumnDecode { .. } | sqlx::Error::Decode(_) => {
                Self::Corrupt { what: format!("{statement}: {source}") }
            }
            _ => Self::Other { statement, source },
        }
    }

    /// A stored value that does not parse: where it stands, and what is wrong with it.
    pub fn corrupt(place: impl Display, problem: impl Display) -> Self {
        Self::Corrupt { what: format!("{place}: {problem}") }
    }

    /// Whether PostgreSQL gave up waiting for another session's lock (SQLSTATE 55P03).
    pub(crate) fn is_lock_timeout(cause: &sqlx::Error) -> bool {
        cause.as_database_error().and_then(DatabaseError::code).is_some_and(|code| code == "55P03")
    }

    /// Whether the key was already taken.
    pub fn is_unique(&self) -> bool {
        matches!(self, Self::Unique { .. })
    }

    /// Whether a row this one belongs to is missing.
    pub fn is_foreign_key(&self) -> bool {
        matches!(self, Self::ForeignKey { .. })
    }

    /// Whether the same may succeed later: busy, disk full, connection lost, server stopping.
    pub fn is_unavailable(&self) -> bool {
        matches!(self, Self::Unavailable { .. })
    }
}
