//! Why something about the life of components is not told.

use crate::coded::worded;

worded! {
    /// Why a distance run is not known.
    NoDistance {
        /// No reading has counted since the day it was fitted.
        NoReadingSince = "no_reading_since",
        /// It was fitted before the first counted reading, which speaks against the odometer told then.
        BeforeReadings = "before_readings",
        /// The odometers told at its ends run backwards.
        RunsBackwards = "runs_backwards",
    }
}

worded! {
    /// Why no achieved life is told.
    LifeWithheld {
        /// Too few components were taken off for good: it would tell of chance more than of the product.
        TooFewRemovals = "too_few_removals",
        /// None of them had reached the end of its life.
        NoEndOfLife = "no_end_of_life",
    }
}

worded! {
    /// Why no law of lives is told.
    NoLifeLaw {
        /// All ended at one length that none outlived.
        NoSpread = "no_spread",
        /// It does not follow the lives: it leaves the bounds of their curve.
        DoesNotHold = "does_not_hold",
    }
}
