//! How much coolant to let out and replace so that the concentration comes right.

use super::concentration::{Basis, Concentration, PERCENT};

/// The richest target, in percent: where the freeze tables end.
const RICHEST_TARGET: i64 = 60;

/// What to fill in for what was let out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Refill {
    /// Concentrate, taken to be all glycol. It holds about 5 % of inhibitors and water, which is left out of account
    /// (common practice, no source).
    Concentrate,
    /// Demineralised water.
    Water,
}

/// Let out so much, fill in the same amount.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Exchange {
    /// Litres to let out, and to fill in.
    pub litres: f64,
    /// What to fill in.
    pub refill: Refill,
}

/// Why an exchange cannot be worked out.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum ExchangeError {
    /// Volumes cannot be reckoned from shares of mass.
    #[error("{0} is given by mass; volumes to exchange follow from a share by volume")]
    ByMass(Concentration),
    /// Two glycols.
    #[error("the system holds {now}, the target is {target}: they are not the same glycol")]
    TwoGlycols {
        /// What is in the system.
        now: Concentration,
        /// What is wanted.
        target: Concentration,
    },
    /// No volume.
    #[error("a system of {litres} litres cannot be; a finite volume above zero is needed")]
    NotAVolume {
        /// What was given.
        litres: f64,
    },
    /// Nothing to strengthen.
    #[error("{now} is rich enough already; {target} was asked for")]
    RichEnough {
        /// What is in the system.
        now: Concentration,
        /// What is wanted.
        target: Concentration,
    },
    /// Nothing to thin.
    #[error("{now} is thin enough already; {target} was asked for")]
    ThinEnough {
        /// What is in the system.
        now: Concentration,
        /// What is wanted.
        target: Concentration,
    },
    /// No protection is known there.
    #[error("{target} is above {most} %, where protection is uncertain and falls again")]
    TargetTooRich {
        /// What is wanted.
        target: Concentration,
        /// The richest target.
        most: i64,
    },
}

/// How much to let out of a full system of `litres` and replace by concentrate: V (ct - c0) / (1 - c0) with shares by volume.
///
/// # Errors
/// [`ExchangeError`]: rich enough already, a target above 60 %, a share by mass, two glycols, no volume.
pub fn strengthen(litres: f64, now: Concentration, target: Concentration) -> Result<Exchange, ExchangeError> {
    let (now_share, target_share) = shares(litres, now, target)?;
    if target_share <= now_share {
        return Err(ExchangeError::RichEnough { now, target });
    }
    let litres = litres * (target_share - now_share) / (1.0 - now_share);
    Ok(Exchange { litres, refill: Refill::Concentrate })
}

/// How much to let out of a full system of `litres` and replace by water: V (c0 - ct) / c0 with shares by volume.
///
/// # Errors
/// [`ExchangeError`]: thin enough already, a target above 60 %, a share by mass, two glycols, no volume.
pub fn thin(litres: f64, now: Concentration, target: Concentration) -> Result<Exchange, ExchangeError> {
    let (now_share, target_share) = shares(litres, now, target)?;
    if target_share >= now_share {
        return Err(ExchangeError::ThinEnough { now, target });
    }
    Ok(Exchange { litres: litres * (now_share - target_share) / now_share, refill: Refill::Water })
}

/// Both shares from 0 to 1, once they can be reckoned with.
fn shares(litres: f64, now: Concentration, target: Concentration) -> Result<(f64, f64), ExchangeError> {
    if let Some(by_mass) = [now, target].into_iter().find(|one| one.basis == Basis::Mass) {
        return Err(ExchangeError::ByMass(by_mass));
    }
    if now.glycol != target.glycol {
        return Err(ExchangeError::TwoGlycols { now, target });
    }
    if !(litres.is_finite() && litres > 0.0) {
        return Err(ExchangeError::NotAVolume { litres });
    }
    if target.share > RICHEST_TARGET * PERCENT {
        return Err(ExchangeError::TargetTooRich { target, most: RICHEST_TARGET });
    }
    Ok((now.percent().value / 100.0, target.percent().value / 100.0))
}
