//! How the engine runs: from counted readings of the hour meter to the days on which a running time is met.

mod crossing;

pub(crate) use crossing::HourCrossing;

use crate::counted::{CountedHours, hour_log};
use crate::judging::hour_meter;
use crate::known::Known;
use crate::meters::Meters;
use crate::operating::{OperatingCalendar, Origin};
use crate::usage::{gaps_between, rounded, to_nine_digits};
use chrono::NaiveDate;
use forecast::{Cohort, Gap, HALF_LIFE_DAYS, Kappa};
use model::horizon::{Band, RunningOutlook};
use model::{Facts, MeterQuantity};

const SECONDS_AN_HOUR: f64 = 3600.0;

/// Seconds as hours.
pub(crate) fn hours(seconds: i64) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "a running time, kept within 2^53")]
    let seconds = seconds as f64;
    seconds / SECONDS_AN_HOUR
}

/// What the hour meter says about the days to come: the usage of distance with hours in place of kilometres.
pub(crate) struct Running {
    pub(crate) anchor: CountedHours,
    calendar: OperatingCalendar,
    origin: Origin,
    /// As computed, with a width of 1.
    pub(crate) usage: forecast::Usage,
    cohort: Cohort,
    kappa: Kappa,
    pub(crate) is_kappa_measured: bool,
    pub(crate) gaps: u32,
    /// Operating days within ten years of the anchor.
    most_days: f64,
}

/// The days on which a running time is met.
#[derive(Debug, Clone, Copy)]
pub(crate) struct HoursAhead {
    /// Operating days from the anchor.
    pub(crate) days: forecast::Band3,
    pub(crate) band: Band,
    pub(crate) kappa: f64,
    pub(crate) usage: forecast::Usage,
}

/// Operating days and engine hours between counted readings of the hour meter, oldest first: what a cohort's running
/// time is fitted to. As for distance, of readings less than 12 hours apart the later is kept.
pub fn hour_gaps(facts: &Facts) -> Vec<Gap> {
    let meters = Meters::of(&facts.meter_replacements, MeterQuantity::Hours);
    let log = hour_log(&hour_meter(facts, &meters));
    gaps_of(&OperatingCalendar::of(&facts.vehicle, &facts.stays), &log)
}

fn gaps_of(calendar: &OperatingCalendar, log: &[CountedHours]) -> Vec<Gap> {
    let run = |earlier: &CountedHours, later: &CountedHours| hours(later.seconds - earlier.seconds);
    gaps_between(calendar, log, |counted| counted.at, run)
}

impl Running {
    /// `None` before the first counted reading: nothing to count from.
    pub(crate) fn of(facts: &Facts, log: &[CountedHours]) -> Option<Self> {
        let anchor = *log.last()?;
        let calendar = OperatingCalendar::of(&facts.vehicle, &facts.stays);
        let gaps = gaps_of(&calendar, log);
        let fit = &facts.running.fit;
        let cohort = Cohort { a: fit.a, p: fit.p, q: fit.q };
        let kappa = fit.kappa.map_or(Kappa::UNMEASURED, |fit| Kappa {
            at_30: fit.at_30,
            at_90: fit.at_90,
            at_180: fit.at_180,
        });
        Some(Self {
            anchor,
            origin: calendar.origin(anchor.at),
            usage: rounded(forecast::Usage::from_gaps(&cohort, &gaps, Some(HALF_LIFE_DAYS), 1.0)),
            cohort,
            kappa,
            is_kappa_measured: fit.kappa.is_some(),
            gaps: u32::try_from(gaps.len()).unwrap_or(u32::MAX),
            most_days: calendar.most_days(anchor.at),
            calendar,
        })
    }

    /// What is left until the total `limit`, seconds, in hours.
    pub(crate) fn hours_left(&self, limit: i64) -> f64 {
        hours(limit.saturating_sub(self.anchor.seconds))
    }

    /// The three days called early, likely and late, as wide as the likely one under a width of 1 asks for.
    fn crossing(&self, limit: i64) -> HoursAhead {
        let left = self.hours_left(limit);
        let likely = self.usage.likely_days(left, f64::MAX);
        let kappa = to_nine_digits(self.kappa.at(likely.unwrap_or(f64::INFINITY)));
        let usage = rounded(self.usage.widened(&self.cohort, kappa));
        let days = usage.days_band(left, self.most_days);
        let day = |operating_days: Option<f64>| self.calendar.day_reached(&self.origin, operating_days?);
        let band: [Option<NaiveDate>; 3] = [days.early, days.likely, days.late].map(day);
        let [early, likely, late] = band;
        HoursAhead { days, band: Band { early, likely, late }, kappa, usage }
    }

    /// Hours expected on an operating day.
    pub(crate) fn hours_per_day(&self) -> f64 {
        to_nine_digits(self.usage.mean_km_per_day())
    }

    pub(crate) fn outlook(&self, known: &Known<'_>) -> RunningOutlook {
        RunningOutlook {
            anchor: self.anchor.id,
            anchored_at: self.anchor.at,
            seconds: known.hours_shown_now(self.anchor.seconds),
            a: self.usage.a,
            shape: self.usage.shape,
            scale_hours: self.usage.scale,
            hours_per_day: self.hours_per_day(),
            gaps: self.gaps,
            prior: known.facts.running,
        }
    }
}
