//! Reading stored text: words, codes, JSON and quantities. What does not parse is named by table, row and column.

use crate::StoreError;
use chrono_tz::Tz;
use model::Code;
use quantity::{Entered, Unit};
use serde::Serialize;
use serde::de::DeserializeOwned;
use std::fmt::Display;
use uuid::Uuid;

/// The row being read, for faults that name it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct InRow<I = Uuid> {
    table: &'static str,
    id: I,
}

impl<I: Display> InRow<I> {
    /// The row `id` of `table`.
    pub(crate) const fn new(table: &'static str, id: I) -> Self {
        Self { table, id }
    }

    /// A stored value that does not parse.
    pub(crate) fn fault(&self, column: &str, problem: impl Display) -> StoreError {
        StoreError::corrupt(format_args!("{} {}, {column}", self.table, self.id), problem)
    }

    /// The variant with this word.
    pub(crate) fn word<T>(
        &self,
        column: &str,
        word: &str,
        from_word: impl Fn(&str) -> Option<T>,
    ) -> Result<T, StoreError> {
        from_word(word).ok_or_else(|| self.fault(column, format_args!("{word:?} is no word known here")))
    }

    /// A code.
    pub(crate) fn code(&self, column: &str, text: &str) -> Result<Code, StoreError> {
        Code::new(text).map_err(|problem| self.fault(column, problem))
    }

    /// Whatever was written as JSON.
    pub(crate) fn json<T: DeserializeOwned>(&self, column: &str, text: &str) -> Result<T, StoreError> {
        serde_json::from_str(text).map_err(|problem| self.fault(column, problem))
    }

    /// A time zone.
    pub(crate) fn zone(&self, column: &str, name: &str) -> Result<Tz, StoreError> {
        self.word(column, name, model::parse_zone)
    }

    /// A unit.
    pub(crate) fn unit(&self, column: &str, code: &str) -> Result<Unit, StoreError> {
        self.word(column, code, Unit::from_code)
    }

    /// A quantity as entered.
    pub(crate) fn entered(&self, column: &str, value: f64, unit: &str) -> Result<Entered, StoreError> {
        Ok(Entered::new(value, self.unit(column, unit)?))
    }

    /// A quantity as entered, of which either both parts are kept or none.
    pub(crate) fn entered_if_any(
        &self,
        column: &str,
        value: Option<f64>,
        unit: Option<&str>,
    ) -> Result<Option<Entered>, StoreError> {
        match (value, unit) {
            (Some(value), Some(unit)) => self.entered(column, value, unit).map(Some),
            (None, None) => Ok(None),
            (Some(_), None) => Err(self.fault(column, "a value without a unit")),
            (None, Some(_)) => Err(self.fault(column, "a unit without a value")),
        }
    }

    /// A whole number of a narrower type.
    pub(crate) fn whole<T: TryFrom<i64>>(&self, column: &str, number: i64) -> Result<T, StoreError> {
        T::try_from(number).map_err(|_| self.fault(column, format_args!("{number} is out of range")))
    }
}

/// As JSON text, the same for the same value every time.
pub(crate) fn json_text<T: Serialize>(value: &T) -> String {
    serde_json::to_string(value)
        .expect("the nouns of the trade have string keys only, so they always serialise")
}
