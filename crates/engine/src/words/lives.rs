//! Why something about the life of components is not told, in words.

use crate::lives::Achieved;
use forecast::survival::LEAST_REMOVALS;
use model::{LifeWithheld, NoDistance};

/// "fewer than 20 removals: 9 so far".
pub fn withheld(why: LifeWithheld, achieved: &Achieved) -> String {
    match why {
        LifeWithheld::TooFewRemovals => {
            format!("fewer than {LEAST_REMOVALS} removals: {} so far", achieved.removals)
        }
        LifeWithheld::NoEndOfLife => {
            format!("none of {} removed had reached the end of its life", achieved.removals)
        }
    }
}

/// "no reading has counted since it was fitted".
pub const fn no_distance(why: NoDistance) -> &'static str {
    match why {
        NoDistance::NoReadingSince => "no reading has counted since it was fitted",
        NoDistance::BeforeReadings => {
            "it was fitted before the first counted reading, which speaks against the odometer told then"
        }
        NoDistance::RunsBackwards => "the odometers told when it came and went run backwards",
    }
}
