//! How a vehicle is used: from counted readings to the days on which a distance is met.

use crate::counted::{Counted, odometer_log};
use crate::judging::odometer;
use crate::meters::Meters;
use crate::operating::{OperatingCalendar, Origin};
use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use forecast::{Cohort, Gap, HALF_LIFE_DAYS, Kappa};
use model::horizon::{Band, UsageOutlook};
use model::{CohortFit, Facts, MeterQuantity, PinnedFit};
use quantity::Distance;

/// Of readings closer than this the later is kept: a shorter gap says more about the hour than about the usage.
const LEAST_GAP: TimeDelta = TimeDelta::hours(12);

/// The gaps between a vehicle's counted readings, oldest first, in operating days and kilometres.
///
/// Of readings less than 12 hours apart, or with no operating time between them, the later is kept. Days of stays that
/// are over are no operating days.
pub fn gaps(facts: &Facts) -> Vec<Gap> {
    let meters = Meters::of(&facts.meter_replacements, MeterQuantity::Distance);
    let log = odometer_log(&odometer(facts, &meters));
    gaps_of(&OperatingCalendar::of(&facts.vehicle, &facts.stays), &log)
}

fn gaps_of(calendar: &OperatingCalendar, log: &[Counted]) -> Vec<Gap> {
    let driven = |earlier: &Counted, later: &Counted| (later.odometer - earlier.odometer).km();
    gaps_between(calendar, log, |counted| counted.at, driven)
}

/// The gaps of any meter's log: `amount` is what it counted from the earlier to the later.
pub(crate) fn gaps_between<T>(
    calendar: &OperatingCalendar,
    log: &[T],
    at: impl Fn(&T) -> DateTime<Utc>,
    amount: impl Fn(&T, &T) -> f64,
) -> Vec<Gap> {
    let mut newest_first = log.iter().rev();
    let Some(mut later) = newest_first.next() else { return Vec::new() };
    let mut gaps = Vec::with_capacity(log.len());
    for earlier in newest_first {
        if at(later) - at(earlier) < LEAST_GAP {
            continue;
        }
        let days = calendar.days_between(at(earlier), at(later));
        if days > 0.0 {
            gaps.push(Gap { days, km: amount(earlier, later).max(0.0) });
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
    /// The anchor's place in the calendar.
    pub(crate) origin: Origin,
    /// As computed, with a width of 1.
    pub(crate) usage: forecast::Usage,
    cohort: Cohort,
    kappa: Kappa,
    pub(crate) is_kappa_measured: bool,
    pub(crate) gaps: u32,
    /// Operating days within ten years of the anchor.
    most_days: f64,
}

/// The usage that one limit is forecast by: as wide as its likely day asks for.
#[derive(Debug, Clone, Copy)]
pub(crate) struct ItemUsage {
    pub(crate) kappa: f64,
    pub(crate) usage: forecast::Usage,
}

/// The days on which a limit is met.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Ahead {
    /// Operating days from the anchor.
    pub(crate) days: forecast::Band3,
    pub(crate) band: Band,
    pub(crate) item: ItemUsage,
}

impl Driving {
    /// `None` before the first counted reading: nothing to count distance from.
    pub(crate) fn of(calendar: OperatingCalendar, log: &[Counted], fit: &CohortFit) -> Option<Self> {
        let anchor = *log.last()?;
        let gaps = gaps_of(&calendar, log);
        let cohort = Cohort { a: fit.a, p: fit.p, q: fit.q };
        let usage = rounded(forecast::Usage::from_gaps(&cohort, &gaps, Some(HALF_LIFE_DAYS), 1.0));
        let kappa = fit.kappa.map_or(Kappa::UNMEASURED, |fit| Kappa {
            at_30: fit.at_30,
            at_90: fit.at_90,
            at_180: fit.at_180,
        });
        let most_days = calendar.most_days(anchor.at);
        let origin = calendar.origin(anchor.at);
        let gaps = u32::try_from(gaps.len()).unwrap_or(u32::MAX);
        let is_kappa_measured = fit.kappa.is_some();
        Some(Self { anchor, calendar, origin, usage, cohort, kappa, is_kappa_measured, gaps, most_days })
    }

    /// Operating days within ten years of the anchor: no forecast looks further.
    pub(crate) const fn most_days(&self) -> f64 {
        self.most_days
    }

    /// What is left until `limit`, in kilometres.
    pub(crate) fn km_left(&self, limit: Distance) -> f64 {
        (limit - self.anchor.odometer).km()
    }

    /// How `limit` is forecast: the width is found at its likely day under a width of 1, one for everything about it.
    pub(crate) fn for_limit(&self, limit: Distance) -> ItemUsage {
        self.for_km(self.km_left(limit))
    }

    /// How a limit is forecast that is met after so many more kilometres.
    pub(crate) fn for_km(&self, km_left: f64) -> ItemUsage {
        let is_level = self.kappa.at_30.total_cmp(&self.kappa.at_180).is_eq();
        let kappa = if is_level {
            self.kappa.at_30
        } else {
            let likely = self.usage.likely_days(km_left, f64::MAX);
            to_nine_digits(self.kappa.at(likely.unwrap_or(f64::INFINITY)))
        };
        ItemUsage { kappa, usage: rounded(self.usage.widened(&self.cohort, kappa)) }
    }

    /// The day on which `limit` is as likely met as not, by the usage of one item.
    pub(crate) fn likely_day(&self, item: &ItemUsage, limit: Distance) -> Option<NaiveDate> {
        self.day_after(item.usage.likely_days(self.km_left(limit), self.most_days))
    }

    /// The three days called early, likely and late.
    pub(crate) fn crossing(&self, limit: Distance) -> Ahead {
        let item = self.for_limit(limit);
        let days = item.usage.days_band(self.km_left(limit), self.most_days);
        let band = Band {
            early: self.day_after(days.early),
            likely: self.day_after(days.likely),
            late: self.day_after(days.late),
        };
        Ahead { days, band, item }
    }

    pub(crate) fn day_after(&self, operating_days: Option<f64>) -> Option<NaiveDate> {
        self.calendar.day_reached(&self.origin, operating_days?)
    }

    /// Probability that `limit` is met before `end`.
    pub(crate) fn probability_by(&self, limit: Distance, end: DateTime<Utc>) -> f64 {
        let days = self.calendar.days_between(self.anchor.at, end);
        to_nine_digits(self.for_limit(limit).usage.probability_reached(self.km_left(limit), days))
    }

    /// How the distance of so many operating days is forecast.
    pub(crate) fn for_days(&self, days: f64) -> ItemUsage {
        let kappa = to_nine_digits(self.kappa.at(days));
        ItemUsage { kappa, usage: rounded(self.usage.widened(&self.cohort, kappa)) }
    }

    /// Kilometres expected on an operating day.
    pub(crate) fn km_per_day(&self) -> f64 {
        to_nine_digits(self.usage.mean_km_per_day())
    }

    pub(crate) fn outlook(&self, prior: &PinnedFit, earlier_meters: Distance) -> UsageOutlook {
        UsageOutlook {
            anchor: self.anchor.id,
            anchored_at: self.anchor.at,
            odometer: self.anchor.odometer - earlier_meters,
            earlier_meters,
            a: self.usage.a,
            shape: self.usage.shape,
            scale_km: self.usage.scale,
            km_per_day: self.km_per_day(),
            gaps: self.gaps,
            prior: *prior,
        }
    }
}

/// Forecasts run on rounded parameters, so that whoever reads them can follow every date.
pub(crate) fn rounded(usage: forecast::Usage) -> forecast::Usage {
    forecast::Usage {
        a: to_nine_digits(usage.a),
        shape: to_nine_digits(usage.shape),
        scale: to_nine_digits(usage.scale),
    }
}

/// Powers of ten that a double holds exactly.
const POWERS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18,
    1e19, 1e20, 1e21, 1e22,
];

/// The number rounded to nine significant digits: what is stored must not depend on the last bit of a computation.
pub(crate) fn to_nine_digits(value: f64) -> f64 {
    // Nine digits stand before the point after one multiplication or division by an exact power of ten; the way back
    // is rounded once, which gives the double nearest to the decimal.
    let size = value.abs();
    if let Some(whole_digits) = POWERS.iter().position(|power| size < *power)
        && size >= 1.0
    {
        return if whole_digits <= 9 {
            let power = POWERS[9 - whole_digits];
            libm::round(value * power) / power
        } else {
            let power = POWERS[whole_digits - 9];
            libm::round(value / power) * power
        };
    }
    if (1e-9..1.0).contains(&size) {
        let leading_zeros = POWERS.iter().take(10).rposition(|power| size * power < 1.0).unwrap_or(0);
        let power = POWERS[9 + leading_zeros];
        return libm::round(value * power) / power;
    }
    format!("{value:.8e}").parse().unwrap_or(value)
}
