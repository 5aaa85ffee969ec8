//! All-wheel drive: tyres that differ too much wear the driveline; how much is too much the maker says.

use super::TyreTread;
use quantity::Depth;

/// What differences between the tyres of an all-wheel drive mean.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Driveline {
    /// Fewer than four tyres have been measured, and those that were differ no more than allowed.
    NotEnoughMeasured,
    /// No more than the maker allows.
    Within {
        /// Deepest less shallowest tyre, averages across the tread.
        difference: Depth,
    },
    /// More than the maker allows.
    TooMuch {
        /// Deepest less shallowest tyre, averages across the tread.
        difference: Depth,
        /// What the maker allows.
        allowed: Depth,
    },
    /// The maker's limit is not on record.
    LookUp {
        /// Deepest less shallowest tyre, averages across the tread.
        difference: Depth,
    },
}

/// Holds four tyres of an all-wheel drive to the maker's limit on the difference of tread, if it is known.
///
/// Makers differ, some name a rolling circumference instead; there is no general number, so without one it only asks.
/// Two tyres that differ too much are enough to say so.
pub fn driveline(tyres: [Option<TyreTread>; 4], allowed: Option<Depth>) -> Driveline {
    let known: Vec<Depth> = tyres.iter().flatten().map(TyreTread::average).collect();
    let (Some(deepest), Some(shallowest)) = (known.iter().max(), known.iter().min()) else {
        return Driveline::NotEnoughMeasured;
    };
    let difference = *deepest - *shallowest;
    match allowed {
        Some(allowed) if difference > allowed => Driveline::TooMuch { difference, allowed },
        _ if known.len() < tyres.len() => Driveline::NotEnoughMeasured,
        Some(_) => Driveline::Within { difference },
        None => Driveline::LookUp { difference },
    }
}

impl Driveline {
    /// What to do, in one sentence; nothing where nothing is to be done.
    pub const fn advice(self) -> Option<&'static str> {
        match self {
            Self::NotEnoughMeasured | Self::Within { .. } => None,
            Self::TooMuch { .. } => Some(
                "The tyres differ by more than the maker of this all-wheel drive allows: renew them as the maker says, \
                 often all four at once, before the driveline suffers.",
            ),
            Self::LookUp { .. } => Some(
                "All-wheel drive: look up by how much the maker allows tyres to differ, and record it, before fitting \
                 fewer than four.",
            ),
        }
    }
}
