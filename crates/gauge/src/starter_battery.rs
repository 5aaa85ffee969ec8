//! The 12 V battery: how far it is charged, in bands, and whether it still turns an engine over in the cold.
//!
//! Bands and never percentages: a meter that is 1 % wrong is 0.12 V wrong, which is about 15 % of the charge (read
//! second-hand). A voltage says how far a battery is charged, not what it can still do; that takes a cranking test.

mod cranking;
mod resting;

pub use cranking::{ChargeBefore, CrankingError, RATING_NOTE, cranking_met, cranking_share};
pub use resting::{
    Band, Chemistry, TEMPERATURE_NOTE, bands_within_meter_error, corrected_gravity, gravity_band,
    is_near_the_table, is_rested, rested_band, rested_met,
};

use crate::limit::{Bound, Class, Discipline, Limit, Standing, Wheels};
use model::Grade;

const SETTING: Limit = Limit {
    key: "",
    discipline: Discipline::StarterBattery,
    name: "hours at rest",
    jurisdiction: None,
    class: Class::ANY,
    wheels: Wheels::Any,
    grade: Some(Grade::Watch),
    bound: Bound::Missing,
    source: "house setting for 12 V batteries, no source",
    edition: "first edition",
    standing: Standing::CommonPractice,
};

/// Every limit of this discipline.
pub fn limits() -> impl Iterator<Item = &'static Limit> {
    resting::limits().chain(cranking::limits())
}
