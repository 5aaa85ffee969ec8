//! Engine coolant: how much glycol is in the water, by which measure, and what cold it stands.
//!
//! A concentration says nothing without its basis: 50 % by volume of ethylene glycol is 52.7 % by mass, and the freeze
//! points of the two differ by more than a gauge can tell. So every concentration here carries glycol and basis.

mod exchange;
mod freeze_point;
mod freeze_table;
mod limits;

pub use exchange::{Exchange, ExchangeError, Refill, strengthen, thin};
pub use freeze_point::{FreezeError, FreezePoint, freeze_point};
pub use limits::{limits, met};

use quantity::{Dimension, Entered, QuantityError, Unit};
use serde::{Deserialize, Serialize};
use std::fmt;

/// What keeps the water from freezing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Glycol {
    /// Ethylene glycol, as in most coolants. Poisonous.
    Ethylene,
    /// Propylene glycol.
    Propylene,
}

impl Glycol {
    /// As a person reads it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Ethylene => "ethylene glycol",
            Self::Propylene => "propylene glycol",
        }
    }

    /// Density at 20 °C, kg/m3. Ethylene glycol from the handbook value that check tables use, propylene glycol from the
    /// same tables' conversion (computed).
    const fn density(self) -> f64 {
        match self {
            Self::Ethylene => 1113.2,
            Self::Propylene => 1036.1,
        }
    }
}

/// Density of water at 20 °C, kg/m3.
const WATER_DENSITY: f64 = 998.2;

/// What a share of glycol is a share of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// Of the volumes of glycol and water before they were mixed: what testers and labels usually mean.
    Volume,
    /// Of the mass.
    Mass,
}

impl Basis {
    /// As a person reads it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Volume => "by volume",
            Self::Mass => "by mass",
        }
    }
}

/// How a concentration was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Tester {
    /// A refractometer with a scale for this glycol.
    Refractometer,
    /// A float or balls in the liquid; made for one glycol and one temperature.
    Hydrometer,
    /// A strip that changes colour. Steps are coarse and the colour drifts, so what it says is advisory.
    Strip,
}

impl Tester {
    /// Whether its reading can only lead to a better one being taken (common practice, no source).
    pub const fn is_advisory(self) -> bool {
        matches!(self, Self::Strip)
    }
}

/// A concentration of glycol in water, with all that it takes to mean something.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Concentration {
    glycol: Glycol,
    basis: Basis,
    /// In millionths of a percent, the base unit of a share.
    share: i64,
}

/// One percent in the base unit of a share.
const PERCENT: i64 = 1_000_000;

/// Why a concentration is none.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ConcentrationError {
    /// No share at all.
    #[error(transparent)]
    Quantity(#[from] QuantityError),
    /// Less than nothing, or more than the whole.
    #[error("{0} is no share of glycol in water; it must be from 0 to 100 %")]
    NotAShare(Entered),
}

impl Concentration {
    /// From what was entered.
    ///
    /// # Errors
    /// [`ConcentrationError`] for what is no share from 0 to 100 %.
    pub fn parse(entered: Entered, glycol: Glycol, basis: Basis) -> Result<Self, ConcentrationError> {
        let share = entered.exact_as(Dimension::Share)?;
        if (0..=100 * PERCENT).contains(&share) {
            return Ok(Self { glycol, basis, share });
        }
        Err(ConcentrationError::NotAShare(entered))
    }

    /// Which glycol.
    pub const fn glycol(self) -> Glycol {
        self.glycol
    }

    /// On which basis.
    pub const fn basis(self) -> Basis {
        self.basis
    }

    /// In percent.
    pub fn percent(self) -> Entered {
        Entered::from_exact(self.share, Unit::Percent)
    }

    /// The exact integer, in millionths of a percent.
    pub const fn exact(self) -> i64 {
        self.share
    }

    /// The same mixture on the other basis, by the densities at 20 °C, or itself where it has that basis already.
    ///
    /// Mass w of glycol in one of mixture fills w/g and the water (1 - w)/h of the parts' volumes, with densities g and h.
    #[must_use]
    pub fn on(self, basis: Basis) -> Self {
        if basis == self.basis {
            return self;
        }
        let (share, ratio) = (self.percent().value / 100.0, self.glycol.density() / WATER_DENSITY);
        let converted = match basis {
            Basis::Mass => share * ratio / (share * ratio + 1.0 - share),
            Basis::Volume => share / ratio / (share / ratio + 1.0 - share),
        };
        let share = Entered::new(100.0 * converted, Unit::Percent).exact().unwrap_or(self.share);
        Self { basis, share, ..self }
    }
}

impl fmt::Display for Concentration {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {} {}", self.percent(), self.glycol.word(), self.basis.word())
    }
}
