//! A value with its unit, just as a person or device gave it.

use crate::unit::{Dimension, Unit};
use serde::{Deserialize, Serialize};
use std::fmt;

/// A quantity as entered: `{"value": 48210, "unit": "km"}`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Entered {
    /// The number as entered.
    pub value: f64,
    /// The unit it was entered in.
    pub unit: Unit,
}

/// Why an entered quantity cannot be what it is meant to be.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum QuantityError {
    /// The unit measures something else.
    #[error("{entered} is not a {wanted:?}: the unit must be one of {allowed}")]
    WrongDimension {
        /// What was entered.
        entered: Entered,
        /// What was wanted.
        wanted: Dimension,
        /// Codes of the units that would do, separated by commas.
        allowed: String,
    },
    /// Not a finite number, or beyond what the exact integer holds.
    #[error("{value} {unit} is beyond what can be kept (at most {most} {unit})")]
    OutOfRange {
        /// The number entered.
        value: f64,
        /// Its unit.
        unit: Unit,
        /// The largest magnitude kept.
        most: f64,
    },
    /// Below zero where only zero or more makes sense.
    #[error("{0} is negative; zero or more is needed")]
    Negative(Entered),
}

/// Largest exact integer kept: 2^53 - 1, so that the value survives a passage through a double.
const MOST: f64 = 9_007_199_254_740_991.0;

impl Entered {
    /// A quantity of `value` `unit`s.
    pub const fn new(value: f64, unit: Unit) -> Self {
        Self { value, unit }
    }

    /// The exact integer in the base unit of the unit's dimension, rounded half away from zero.
    ///
    /// # Errors
    /// [`QuantityError::OutOfRange`] if the value is not finite or too large to keep exactly.
    pub fn exact(self) -> Result<i64, QuantityError> {
        let scaled = ((self.value + self.unit.offset()) * self.unit.scale()).round();
        if scaled.is_finite() && scaled.abs() <= MOST {
            #[expect(clippy::cast_possible_truncation, reason = "whole and within 2^53, checked above")]
            return Ok(scaled as i64);
        }
        Err(QuantityError::OutOfRange { value: self.value, unit: self.unit, most: MOST / self.unit.scale() })
    }

    /// The exact integer, if the unit measures `wanted`.
    ///
    /// # Errors
    /// [`QuantityError::WrongDimension`] or [`QuantityError::OutOfRange`].
    pub fn exact_as(self, wanted: Dimension) -> Result<i64, QuantityError> {
        if self.unit.dimension() == wanted {
            return self.exact();
        }
        let allowed: Vec<&str> =
            Unit::ALL.iter().filter(|unit| unit.dimension() == wanted).map(|unit| unit.code()).collect();
        Err(QuantityError::WrongDimension { entered: self, wanted, allowed: allowed.join(", ") })
    }

    /// The difference of two quantities whose exact integers differ by `exact`, expressed in `unit`: of temperatures 10 K
    /// are 18 degrees Fahrenheit, not -441.67.
    pub fn difference(exact: i64, unit: Unit) -> Self {
        #[expect(clippy::cast_precision_loss, reason = "exact integers are kept within 2^53")]
        let value = exact as f64 / unit.scale();
        Self { value, unit }
    }

    /// The quantity whose exact integer is `exact`, expressed in `unit`.
    pub fn from_exact(exact: i64, unit: Unit) -> Self {
        #[expect(clippy::cast_precision_loss, reason = "exact integers are kept within 2^53")]
        let value = exact as f64 / unit.scale() - unit.offset();
        Self { value, unit }
    }
}

impl fmt::Display for Entered {
    /// At most three decimals, none that are zero: `48210 km`, `2.5 mm`, `4.6/32 in`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut number = format!("{:.3}", self.value);
        let kept = number.trim_end_matches('0').trim_end_matches('.').len();
        number.truncate(kept);
        let number = if number == "-0" { "0" } else { number.as_str() };
        match self.unit {
            Unit::ThirtySecondInch | Unit::Count => write!(f, "{number}{}", self.unit.symbol()),
            unit => write!(f, "{number} {}", unit.symbol()),
        }
    }
}
