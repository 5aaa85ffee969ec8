//! What is known of one tyre's tread when tyres are held against each other.

use crate::measured::MeasuredSet;
use crate::tread::uneven::three_places;
use quantity::Depth;

/// What is known of one tyre's tread.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TyreTread {
    pub(super) lowest: Depth,
    /// The sum of three places, or three times a single value: kept whole so that averages are compared exactly.
    pub(super) three_sum_nm: i64,
    pub(super) is_of_three: bool,
}

impl TyreTread {
    /// Measured at three places across the tread.
    pub fn of_three(places: [Depth; 3]) -> Self {
        let [a, b, c] = places;
        Self { lowest: a.min(b).min(c), three_sum_nm: a.nm() + b.nm() + c.nm(), is_of_three: true }
    }

    /// Known by one value only.
    pub fn of_single(depth: Depth) -> Self {
        Self { lowest: depth, three_sum_nm: depth.nm() * 3, is_of_three: false }
    }

    /// The lowest place known.
    pub const fn lowest(&self) -> Depth {
        self.lowest
    }

    /// The average across the tread, to the nanometre below.
    pub const fn average(&self) -> Depth {
        Depth::from_nm(self.three_sum_nm / 3)
    }

    /// From what was measured; a lower value found elsewhere on the tyre counts as its lowest place.
    pub(crate) fn measured(set: &MeasuredSet<'_>) -> Self {
        let lowest = Depth::from_nm(set.lowest.exact);
        match three_places(set) {
            Some(places) => Self { lowest, ..Self::of_three(places.map(Depth::from_nm)) },
            None => Self::of_single(lowest),
        }
    }
}
