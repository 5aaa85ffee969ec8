//! How long parts last, when many of them have not failed yet.
//!
//! A part still fitted, sold with its vehicle or taken off for another reason is no failure, but it has shown that it lasts
//! at least so long: it is counted as censored. Leaving it out would make every product look worse than it is.

mod kaplan_meier;
mod weibull;

pub use kaplan_meier::{KaplanMeier, Step};
pub use weibull::Weibull;

/// With fewer failures and other removals together than this, no achieved life is shown: it would tell of chance more
/// than of the product. A house setting, no source; the estimators themselves work from one failure or two.
pub const LEAST_REMOVALS: usize = 20;

/// What one part has shown of its life, in whatever the caller counts (kilometres, days).
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Life {
    /// It failed, or was worn out, after so much.
    Failed(f64),
    /// It lasted at least so much; what would have come then is not known.
    Censored(f64),
}

impl Life {
    /// How long it was watched.
    pub const fn length(self) -> f64 {
        match self {
            Self::Failed(length) | Self::Censored(length) => length,
        }
    }

    /// How long it lasted, if it failed.
    pub const fn failed_at(self) -> Option<f64> {
        match self {
            Self::Failed(length) => Some(length),
            Self::Censored(_) => None,
        }
    }
}

/// Why lives say nothing.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum SurvivalError {
    /// A length that is no length.
    #[error("a part cannot have lasted {length}; a finite length above zero is needed")]
    NotALength {
        /// What was given.
        length: f64,
    },
    /// Nothing failed, so nothing is known of when parts fail. Also where there are no lives at all.
    #[error("none of {lives} parts has failed, so their life cannot be told yet")]
    NoFailures {
        /// How many lives there were, all of them censored.
        lives: usize,
    },
    /// All failures at one length that no part outlived: the curve that fits best has no width.
    #[error(
        "all {failures} failures came at {length} and no part outlived them, so the spread cannot be told"
    )]
    NoSpread {
        /// How many failures there were.
        failures: usize,
        /// The one length.
        length: f64,
    },
}

/// How many of them failed, once each is known to be a length.
fn count_failures(lives: &[Life]) -> Result<usize, SurvivalError> {
    let is_length = |length: f64| length.is_finite() && length > 0.0;
    if let Some(wrong) = lives.iter().map(|life| life.length()).find(|length| !is_length(*length)) {
        return Err(SurvivalError::NotALength { length: wrong });
    }
    match lives.iter().filter(|life| life.failed_at().is_some()).count() {
        0 => Err(SurvivalError::NoFailures { lives: lives.len() }),
        failures => Ok(failures),
    }
}
