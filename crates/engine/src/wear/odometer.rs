//! What the odometer stood at on a day or at an instant, by counted readings.

use crate::counted::Counted;
use crate::known::Known;
use chrono::{DateTime, NaiveDate, Utc};
use model::{Inspection, noon};
use quantity::Distance;

/// An odometer and how it is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Stand {
    /// Total kilometres, over all instruments.
    pub(crate) km: f64,
    /// Whether it was read off between counted readings, or carried beyond the last at the mean day's distance.
    pub(crate) estimated: bool,
}

impl Stand {
    const fn read(km: f64) -> Self {
        Self { km, estimated: false }
    }
}

/// The odometer on the day a component was fitted or taken out: what was told then, unless counted readings on either
/// side speak against it; then what they say themselves. `None` before the first counted reading.
pub(crate) fn on_day(known: &Known<'_>, day: NaiveDate, told: Option<Distance>) -> Option<Stand> {
    let before = known.log.iter().rev().find(|counted| known.day(counted.at) < day);
    let after = known.log.iter().find(|counted| known.day(counted.at) > day);
    let agrees = |told: Distance| {
        before.is_none_or(|before| before.odometer <= told)
            && after.is_none_or(|after| told <= after.odometer)
    };
    // Told as the instrument of that day showed it.
    match told.map(|shown| known.total_on(shown, day)).filter(|total| agrees(*total)) {
        Some(total) => Some(Stand::read(total.km())),
        None => at(known, noon(day, known.zone)),
    }
}

/// The odometer at an inspection: its own reading where that counts.
pub(crate) fn at_inspection(known: &Known<'_>, inspection: &Inspection) -> Option<Stand> {
    let own = inspection.reading.and_then(|reading| known.log.iter().find(|counted| counted.id == reading));
    own.map_or_else(|| at(known, inspection.performed_at), |counted| Some(Stand::read(counted.odometer.km())))
}

/// The odometer at an instant: between counted readings by time, after the last at the mean day's distance, before the
/// first as at the first.
fn at(known: &Known<'_>, at: DateTime<Utc>) -> Option<Stand> {
    let next = known.log.partition_point(|counted| counted.at < at);
    let before = next.checked_sub(1).and_then(|index| known.log.get(index));
    let km = match (before, known.log.get(next)) {
        (_, Some(after)) if after.at == at => return Some(Stand::read(after.odometer.km())),
        (Some(before), Some(after)) => between(before, after, at),
        (Some(before), None) => before.odometer.km() + driven_since(known, before, at),
        (None, after) => after?.odometer.km(),
    };
    Some(Stand { km, estimated: true })
}

fn between(before: &Counted, after: &Counted, at: DateTime<Utc>) -> f64 {
    let share = (at - before.at).as_seconds_f64() / (after.at - before.at).as_seconds_f64();
    before.odometer.km() + (after.odometer - before.odometer).km() * share
}

fn driven_since(known: &Known<'_>, last: &Counted, at: DateTime<Utc>) -> f64 {
    known
        .driving
        .as_ref()
        .map_or(0.0, |driving| driving.km_per_day() * driving.calendar.days_between(last.at, at))
}
