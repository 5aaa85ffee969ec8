//! Instruments that were replaced: what the earlier ones add to the number the present one shows.
//!
//! The engine reckons in totals: what all instruments of a meter have counted together. A total is what the instrument
//! fitted at the time shows plus what the earlier ones add. Both are in the exact base unit of the meter: millimetres
//! of distance, seconds of running time.

use chrono::{DateTime, Utc};
use model::{MeterQuantity, MeterReplacement, ReplacementId};
use quantity::Dimension;

/// One replacement.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Replaced {
    pub(crate) id: ReplacementId,
    pub(crate) at: DateTime<Utc>,
    /// What the old instrument showed last.
    pub(crate) old_shows: i64,
    /// What the new one showed first.
    pub(crate) new_shows: i64,
    /// What was to be added to the old one's numbers.
    pub(crate) added_before: i64,
    /// What is to be added to the new one's numbers.
    pub(crate) added_after: i64,
}

impl Replaced {
    /// The total at that moment.
    pub(crate) const fn total(&self) -> i64 {
        self.old_shows.saturating_add(self.added_before)
    }
}

/// The replacements of one meter, in order of time and id.
#[derive(Debug, Default)]
pub(crate) struct Meters(Vec<Replaced>);

impl Meters {
    /// Those of `quantity`. A number in a unit of something else is refused at the door; should one be here, its
    /// replacement says nothing.
    pub(crate) fn of(replacements: &[MeterReplacement], quantity: MeterQuantity) -> Self {
        let dimension = match quantity {
            MeterQuantity::Distance => Dimension::Distance,
            MeterQuantity::Hours => Dimension::RunningTime,
        };
        let mut ours: Vec<&MeterReplacement> =
            replacements.iter().filter(|replacement| replacement.quantity == quantity).collect();
        ours.sort_by_key(|replacement| (replacement.replaced_at, replacement.id));
        let mut added = 0_i64;
        let steps = ours.into_iter().filter_map(|replacement| {
            let old_shows = replacement.old_shows.exact_as(dimension).ok()?;
            let new_shows = replacement.new_shows.exact_as(dimension).ok()?;
            let added_before = added;
            added = added.saturating_add(old_shows).saturating_sub(new_shows);
            let (id, at) = (replacement.id, replacement.replaced_at);
            Some(Replaced { id, at, old_shows, new_shows, added_before, added_after: added })
        });
        Self(steps.collect())
    }

    /// All of them.
    pub(crate) fn replaced(&self) -> &[Replaced] {
        &self.0
    }

    /// What earlier instruments add to the number shown at `at`.
    pub(crate) fn added_at(&self, at: DateTime<Utc>) -> i64 {
        let later = self.0.partition_point(|replaced| replaced.at <= at);
        self.0[..later].last().map_or(0, |replaced| replaced.added_after)
    }

    /// What earlier instruments add to the number the present one shows.
    pub(crate) fn added_now(&self) -> i64 {
        self.0.last().map_or(0, |replaced| replaced.added_after)
    }
}
