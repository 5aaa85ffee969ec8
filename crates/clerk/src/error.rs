//! Why an act was not done.

use model::{CodeError, VinError};
use quantity::QuantityError;
use serde::{Deserialize, Serialize};
use std::fmt::Display;
use store::StoreError;

/// One thing wrong with a request: where, what kind of fault, and what is allowed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Fault {
    /// JSON pointer (RFC 6901) into the request.
    pub pointer: String,
    /// Kind of fault, a stable kebab-case word.
    pub code: String,
    /// What is wrong and what is allowed, for a person.
    pub detail: String,
}

impl Fault {
    /// A fault of `code` at `pointer`.
    pub fn new(pointer: impl Into<String>, code: &str, detail: impl Display) -> Self {
        Self { pointer: pointer.into(), code: code.to_owned(), detail: detail.to_string() }
    }

    /// A quantity that cannot be what it is meant to be.
    pub fn quantity(pointer: impl Into<String>, error: &QuantityError) -> Self {
        Self::new(pointer, "quantity", error)
    }

    /// A text that is no code.
    pub fn code(pointer: impl Into<String>, error: &CodeError) -> Self {
        Self::new(pointer, "code", error)
    }

    /// A text that is no VIN, or not that of the vehicle.
    pub fn vin(pointer: impl Into<String>, error: &VinError) -> Self {
        Self::new(pointer, "vin", error)
    }
}

/// Why an act was not done. Nothing of it is stored.
#[derive(Debug, thiserror::Error)]
pub enum ActError {
    /// No such thing in this fleet.
    #[error("there is no such {kind} in this fleet")]
    NotFound {
        /// What was looked for.
        kind: &'static str,
    },
    /// The request cannot be done as it stands; all faults found.
    #[error("{} fault(s): {}", .0.len(), .0.iter().map(|f| format!("{}: {}", f.pointer, f.detail)).collect::<Vec<_>>().join("; "))]
    Faults(Vec<Fault>),
    /// It clashes with what is on record.
    #[error("{detail}")]
    Conflict {
        /// Kind of clash, a stable kebab-case word.
        code: &'static str,
        /// What clashes with what.
        detail: String,
    },
    /// The record was changed by somebody else since it was read.
    #[error("the record was changed since it was read")]
    Stale,
    /// The idempotency key was used with another body.
    #[error("this key was used before with another body")]
    KeyReused,
    /// Another request stored the same thing at the same moment; asked again, this one finds it.
    #[error("another request stored the same thing at the same moment")]
    Raced(#[source] StoreError),
    /// The database cannot be reached or written just now; the same request may go through later.
    #[error("the store is not available just now")]
    Unavailable(#[source] StoreError),
    /// The store failed.
    #[error("the store failed")]
    Store(#[source] StoreError),
}

impl From<StoreError> for ActError {
    fn from(error: StoreError) -> Self {
        if error.is_unavailable() {
            return Self::Unavailable(error);
        }
        if error.is_unique() { Self::Raced(error) } else { Self::Store(error) }
    }
}

impl ActError {
    /// A single fault.
    pub fn fault(pointer: impl Into<String>, code: &str, detail: impl Display) -> Self {
        Self::Faults(vec![Fault::new(pointer, code, detail)])
    }
}

/// `Ok` if `faults` is empty.
pub(crate) fn none_of(faults: Vec<Fault>) -> Result<(), ActError> {
    if faults.is_empty() { Ok(()) } else { Err(ActError::Faults(faults)) }
}
