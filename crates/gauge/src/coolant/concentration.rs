//! Glycol in water, with all that it takes to mean something.

use quantity::{Dimension, Entered, QuantityError, Unit};
use std::fmt;

/// What keeps the water from freezing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
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
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
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

/// A concentration of glycol in water, with all that it takes to mean something.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Concentration {
    pub(super) glycol: Glycol,
    pub(super) basis: Basis,
    /// In millionths of a percent, the base unit of a share.
    pub(super) share: i64,
}

/// One percent in the base unit of a share.
pub(super) const PERCENT: i64 = 1_000_000;

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
