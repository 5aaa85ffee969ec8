//! The battery an electric vehicle drives by: what it still holds, against the floor that its cover promises.
//!
//! The floor is the coverage window's own. What regulations ask of makers is listed in [`durability`] for comparison only:
//! it binds the maker and is no owner's claim.

mod durability;

pub use durability::{Binds, DURABILITY_NOTE, Durability, durability, durability_at};

use crate::limit::{Bound, Class, Discipline, Limit, Standing, Wheels};
use model::Grade;
use quantity::{Entered, Unit};

/// To be told with every capacity that is held to a floor.
pub const CLAIM_NOTE: &str = "Only the maker's own capacity test counts for a claim; what the dashboard or a reader shows is a reason to ask for \
     that test.";

const SETTING: Limit = Limit {
    key: "",
    discipline: Discipline::TractionBattery,
    name: "capacity less the floor of its cover, points of the capacity when new",
    jurisdiction: None,
    class: Class::ANY,
    wheels: Wheels::Any,
    grade: Some(Grade::Watch),
    bound: Bound::Missing,
    source: "house setting for traction batteries, no source",
    edition: "first edition",
    standing: Standing::CommonPractice,
};

/// That a battery below its floor is attended to is the house's choice; the floor itself is recorded with the window.
static UNDER: Limit = Limit {
    key: "traction-under-floor",
    grade: Some(Grade::Attend),
    bound: Bound::Below(Entered::new(0.0, Unit::Percent)),
    ..SETTING
};
static NEAR: Limit =
    Limit { key: "traction-near-floor", bound: Bound::Below(Entered::new(5.0, Unit::Percent)), ..SETTING };

/// Every limit of this discipline.
pub fn limits() -> impl Iterator<Item = &'static Limit> {
    [&UNDER, &NEAR].into_iter().chain(durability().iter().map(|row| &row.limit))
}

/// The limit that a capacity meets, if any; capacity and floor in millionths of a percent of the capacity when new.
pub fn floor_met(capacity: i64, floor: i64) -> Option<&'static Limit> {
    [&UNDER, &NEAR].into_iter().find(|limit| limit.bound.is_met(capacity.saturating_sub(floor)))
}
