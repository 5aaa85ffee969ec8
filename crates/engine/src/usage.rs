//! How a vehicle is used: from counted readings to the days on which a distance is met.

use crate::operating::OperatingCalendar;
use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use forecast::{Cohort, EARLY, Gap, HALF_LIFE_DAYS, LATE, LIKELY};
use model::horizon::{Band, UsageOutlook};
use model::{CohortFit, Judgement, OdometerReading, PinnedFit, ReadingId, Vehicle, Verdict};
use quantity::Distance;
use std::collections::BTreeMap;

/// Of readings closer than this the later is kept: a shorter gap says more about the hour than about the usage.
const LEAST_GAP: TimeDelta = TimeDelta::hours(12);
/// Width of the bands, until back-tests give one for each cohort.
const KAPPA: f64 = 1.0;

/// A counted reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Counted {
    pub(crate) id: ReadingId,
    pub(crate) at: DateTime<Utc>,
    /// The highest value counted so far: a small disagreement between sources is no distance driven backwards.
    pub(crate) odometer: Distance,
}

/// The counted readings in order of reading time and id.
pub(crate) fn counted_log(readings: &[OdometerReading], judgements: &[Judgement]) -> Vec<Counted> {
    let read_at: BTreeMap<ReadingId, DateTime<Utc>> =
        readings.iter().map(|reading| (reading.id, reading.read_at)).collect();
    let mut log: Vec<Counted> = judgements
        .iter()
        .filter_map(|judgement| match judgement.verdict {
            Verdict::Counted { odometer } => {
                read_at.get(&judgement.reading).map(|at| Counted { id: judgement.reading, at: *at, odometer })
            }
            Verdict::Held { .. } | Verdict::Withdrawn => None,
        })
        .collect();
    log.sort_by_key(|counted| (counted.at, counted.id));
    let mut highest = Distance::ZERO;
    for counted in &mut log {
        // More than a tenth backwards is no disagreement: a person said so, as when the instrument was replaced.
        let is_new_start = counted.odometer.mm() < highest.mm() / 10 * 9;
        highest = if is_new_start { counted.odometer } else { highest.max(counted.odometer) };
        counted.odometer = highest;
    }
    log
}

/// The gaps between a vehicle's counted readings, oldest first, in operating days and kilometres.
///
/// Of readings less than 12 hours apart, or with no operating time between them, the later is kept.
pub fn gaps(vehicle: &Vehicle, readings: &[OdometerReading], judgements: &[Judgement]) -> Vec<Gap> {
    gaps_of(&OperatingCalendar::of(vehicle), &counted_log(readings, judgements))
}

fn gaps_of(calendar: &OperatingCalendar, log: &[Counted]) -> Vec<Gap> {
    let mut newest_first = log.iter().rev();
    let Some(mut later) = newest_first.next() else { return Vec::new() };
    let mut gaps = Vec::with_capacity(log.len());
    for earlier in newest_first {
        if later.at - earlier.at < LEAST_GAP {
            continue;
        }
        let days = calendar.days_between(earlier.at, later.at);
        if days > 0.0 {
            gaps.push(Gap { days, km: (later.odometer - earlier.odometer).km().max(0.0) });
            later = earlier;
        }
    }
    gaps.reverse();
    gaps
}

/// What the readings say about the days to come.
pub(crate) struct Driving {
    pub(crate) anchor: Counted,
    pub(crate) calendar: OperatingCalendar,
    pub(crate) usage: forecast::Usage,
    pub(crate) gaps: u32,
    /// Operating days within ten years of the anchor.
    most_days: f64,
}

impl Driving {
    /// `None` before the first counted reading: nothing to count distance from.
    pub(crate) fn of(calendar: OperatingCalendar, log: &[Counted], fit: &CohortFit) -> Option<Self> {
        let anchor = *log.last()?;
        let gaps = gaps_of(&calendar, log);
        let cohort = Cohort { a: fit.a, p: fit.p, q: fit.q };
        let usage = forecast::Usage::from_gaps(&cohort, &gaps, Some(HALF_LIFE_DAYS), KAPPA);
        // Forecasts run on the rounded parameters, so that whoever reads them can follow every date.
        let usage = forecast::Usage {
            a: to_nine_digits(usage.a),
            shape: to_nine_digits(usage.shape),
            scale: to_nine_digits(usage.scale),
        };
        let most_days = calendar.most_days(anchor.at);
        Some(Self { anchor, calendar, usage, gaps: u32::try_from(gaps.len()).unwrap_or(u32::MAX), most_days })
    }

    /// Operating days within ten years of the anchor: no forecast looks further.
    pub(crate) const fn most_days(&self) -> f64 {
        self.most_days
    }

    /// What is left until `limit`, in kilometres.
    pub(crate) fn km_left(&self, limit: Distance) -> f64 {
        (limit - self.anchor.odometer).km()
    }

    /// Operating days from the anchor until `limit` is met with probability `quantile`; `None` beyond ten years.
    pub(crate) fn days_until(&self, limit: Distance, quantile: f64) -> Option<f64> {
        self.usage.days_until(self.km_left(limit), quantile, self.most_days)
    }

    /// The day on which `limit` is met with probability `quantile`.
    pub(crate) fn day_met(&self, limit: Distance, quantile: f64) -> Option<NaiveDate> {
        self.calendar.day_reached(self.anchor.at, self.days_until(limit, quantile)?)
    }

    /// The day on which `limit` is as likely met as not.
    pub(crate) fn likely_day(&self, limit: Distance) -> Option<NaiveDate> {
        self.day_met(limit, LIKELY)
    }

    /// The three days called early, likely and late.
    pub(crate) fn crossing(&self, limit: Distance) -> Band {
        let [early, likely, late] = [EARLY, LIKELY, LATE].map(|quantile| self.day_met(limit, quantile));
        Band { early, likely, late }
    }

    /// Probability that `limit` is met before `end`.
    pub(crate) fn probability_by(&self, limit: Distance, end: DateTime<Utc>) -> f64 {
        let days = self.calendar.days_between(self.anchor.at, end);
        to_nine_digits(self.usage.probability_reached(self.km_left(limit), days))
    }

    /// Kilometres expected on an operating day.
    pub(crate) fn km_per_day(&self) -> f64 {
        to_nine_digits(self.usage.mean_km_per_day())
    }

    pub(crate) fn outlook(&self, prior: &PinnedFit) -> UsageOutlook {
        UsageOutlook {
            anchor: self.anchor.id,
            anchored_at: self.anchor.at,
            odometer: self.anchor.odometer,
            earlier_meters: Distance::ZERO,
            a: self.usage.a,
            shape: self.usage.shape,
            scale_km: self.usage.scale,
            km_per_day: self.km_per_day(),
            gaps: self.gaps,
            prior: *prior,
        }
    }
}

/// The number rounded to nine significant digits: what is stored must not depend on the last bit of a computation.
pub(crate) fn to_nine_digits(value: f64) -> f64 {
    format!("{value:.8e}").parse().unwrap_or(value)
}
