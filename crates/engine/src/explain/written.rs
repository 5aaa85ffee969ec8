//! Steps as JSON: distances in kilometres with their unit, as a person can reckon with them.

use chrono::NaiveDate;
use quantity::{Distance, Unit};
use serde::{Serialize, Serializer};

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands a reference")]
pub(super) fn kilometres<S: Serializer>(distance: &Distance, serializer: S) -> Result<S::Ok, S::Error> {
    distance.to(Unit::Kilometre).serialize(serializer)
}

#[expect(clippy::ref_option, reason = "serde hands a reference")]
pub(super) fn maybe_kilometres<S: Serializer>(
    distance: &Option<Distance>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    distance.map(|distance| distance.to(Unit::Kilometre)).serialize(serializer)
}

#[expect(clippy::ref_option, reason = "serde hands a reference")]
pub(super) fn dated_kilometres<S: Serializer>(
    dated: &Option<(Distance, NaiveDate)>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    dated.map(|(distance, on)| (distance.to(Unit::Kilometre), on)).serialize(serializer)
}
