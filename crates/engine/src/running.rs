//! How the engine runs: from counted readings of the hour meter to the days on which a running time is met.

use crate::counted::CountedHours;
use crate::known::Known;
use crate::operating::OperatingCalendar;
use crate::usage::{gaps_between, to_nine_digits};
use forecast::{Cohort, HALF_LIFE_DAYS};
use model::horizon::RunningOutlook;
use model::{CohortFit, Vehicle};

const SECONDS_AN_HOUR: f64 = 3600.0;
/// Width of the bands: running time has no back-tests of its own.
const KAPPA: f64 = 1.0;

/// Seconds as hours.
pub(crate) fn hours(seconds: i64) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "a running time, kept within 2^53")]
    let seconds = seconds as f64;
    seconds / SECONDS_AN_HOUR
}

/// What the hour meter says about the days to come: the usage of distance with hours in place of kilometres.
pub(crate) struct Running {
    pub(crate) anchor: CountedHours,
    pub(crate) usage: forecast::Usage,
    pub(crate) gaps: u32,
}

impl Running {
    /// `None` before the first counted reading: nothing to count from.
    pub(crate) fn of(vehicle: &Vehicle, log: &[CountedHours], fit: &CohortFit) -> Option<Self> {
        let anchor = *log.last()?;
        let calendar = OperatingCalendar::of(vehicle);
        let run = |earlier: &CountedHours, later: &CountedHours| hours(later.seconds - earlier.seconds);
        let gaps = gaps_between(&calendar, log, |counted| counted.at, run);
        let cohort = Cohort { a: fit.a, p: fit.p, q: fit.q };
        let usage = forecast::Usage::from_gaps(&cohort, &gaps, Some(HALF_LIFE_DAYS), KAPPA);
        // Forecasts run on the rounded parameters, so that whoever reads them can follow every date.
        let usage = forecast::Usage {
            a: to_nine_digits(usage.a),
            shape: to_nine_digits(usage.shape),
            scale: to_nine_digits(usage.scale),
        };
        Some(Self { anchor, usage, gaps: u32::try_from(gaps.len()).unwrap_or(u32::MAX) })
    }

    /// Hours expected on an operating day.
    pub(crate) fn hours_per_day(&self) -> f64 {
        to_nine_digits(self.usage.mean_km_per_day())
    }

    pub(crate) fn outlook(&self, known: &Known<'_>) -> RunningOutlook {
        RunningOutlook {
            anchor: self.anchor.id,
            anchored_at: self.anchor.at,
            seconds: self.anchor.seconds.saturating_sub(known.hour_meters.added_now()),
            a: self.usage.a,
            shape: self.usage.shape,
            scale_hours: self.usage.scale,
            hours_per_day: self.hours_per_day(),
            gaps: self.gaps,
            prior: known.facts.running,
        }
    }
}
