//! A slow leak: how fast a tyre loses air, from readings brought to one temperature.

use super::SETTING;
use super::air::{Air, gauge_at};
use crate::limit::{Bound, Limit};
use crate::yardstick::{Held, Yardstick};
use chrono::NaiveDate;
use model::Grade;
use quantity::{Entered, Pressure, Temperature, Unit};

const fn psi(value: f64) -> Entered {
    Entered::new(value, Unit::Psi)
}

pub(super) static LOSS: Limit = Limit {
    key: "pressure-leak",
    name: "loss in 30 days, if all of its band is a loss",
    grade: Some(Grade::Watch),
    bound: Bound::Above(psi(2.0)),
    ..SETTING
};
/// Twice what a gauge may be wrong by.
static REFILL: Limit = Limit {
    key: "pressure-refill",
    name: "rise between readings at one temperature that begins a new run",
    grade: None,
    bound: Bound::Above(psi(1.0)),
    ..SETTING
};
/// Some days are 15 K warmer than the last.
static REFILL_UNCORRECTED: Limit = Limit {
    key: "pressure-refill-uncorrected",
    name: "rise between readings at unknown temperatures that begins a new run",
    bound: Bound::Above(psi(3.0)),
    ..REFILL
};

pub(super) fn limits() -> impl Iterator<Item = &'static Limit> {
    [&LOSS, &REFILL, &REFILL_UNCORRECTED].into_iter()
}

/// The temperature to which readings are brought: 20 °C.
const COMMON: Temperature = Temperature::from_mk(293_150);
/// What a gauge may be wrong by: 0.5 psi (common practice, no source).
const GAUGE_KPA: f64 = 0.5 * 6.894_757_293_168_361;
const FEWEST: usize = 3;

/// One cold pressure of one tyre.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LeakReading {
    /// The day it was read.
    pub day: NaiveDate,
    /// What the gauge showed.
    pub pressure: Pressure,
    /// The temperature of the tyre, if anybody noted it.
    pub temperature: Option<Temperature>,
}

/// How fast a tyre loses air, kPa in 30 days; a gain is negative.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeakRate {
    /// One in ten is less than this.
    pub least_kpa: f64,
    /// The line through the readings.
    pub likely_kpa: f64,
    /// One in ten is more than this.
    pub most_kpa: f64,
    /// Readings of the run it rests on.
    pub readings: usize,
    /// First day of the run.
    pub since: NaiveDate,
    /// Last day of the run.
    pub until: NaiveDate,
    /// Whether every reading was brought to 20 °C; if not, a change of weather may be all there is to it.
    pub at_one_temperature: bool,
}

impl LeakRate {
    /// Whether even the least of the band is a loss.
    pub fn is_losing(&self) -> bool {
        self.least_kpa > 0.0
    }

    /// What it comes to, and by which limit: a loss that is certain enough and large enough is watched.
    pub fn grade(&self, yardstick: &Yardstick<'_>) -> (Grade, &'static Limit) {
        let likely = Entered::new(self.likely_kpa, Unit::Kilopascal).exact().unwrap_or(i64::MAX);
        let is_met = self.is_losing() && yardstick.held(&LOSS).is_met(likely);
        (if is_met { Grade::Watch } else { Grade::Good }, &LOSS)
    }
}

/// The rate at which one tyre loses air since it was last filled: least squares over days, with the 80 % band of
/// Student's t, no narrower than a gauge's error of 0.5 psi makes it.
///
/// Readings of one day keep the order given. Where each has a temperature all are brought to 20 °C by [`gauge_at`] at sea
/// level; else, if three or more have one, those alone count; else none is corrected. A rise beyond what gauge and
/// weather explain is a refill, and only what came after it counts. `None` with fewer than three readings since, or all
/// on one day.
pub fn leak_rate(yardstick: &Yardstick<'_>, readings: &[LeakReading]) -> Option<LeakRate> {
    let mut in_order = readings.to_vec();
    in_order.sort_by_key(|reading| reading.day);
    let corrected: Vec<(NaiveDate, f64)> = in_order.iter().filter_map(brought_to_common).collect();
    let at_one_temperature = corrected.len() == in_order.len() || corrected.len() >= FEWEST;
    let points = if at_one_temperature {
        corrected
    } else {
        in_order.iter().map(|reading| (reading.day, reading.pressure.kpa())).collect()
    };
    let refill = if at_one_temperature { &REFILL } else { &REFILL_UNCORRECTED };
    let run = since_refill(&points, &yardstick.held(refill));
    let (since, until) = (run.first()?.0, run.last()?.0);
    let line = line_through(run, since)?;
    Some(LeakRate {
        least_kpa: -line.slope * 30.0 - line.half_width * 30.0,
        likely_kpa: -line.slope * 30.0,
        most_kpa: -line.slope * 30.0 + line.half_width * 30.0,
        readings: run.len(),
        since,
        until,
        at_one_temperature,
    })
}

fn brought_to_common(reading: &LeakReading) -> Option<(NaiveDate, f64)> {
    let then = Air::at_sea_level(reading.temperature?);
    Some((reading.day, gauge_at(reading.pressure, then, Air::at_sea_level(COMMON))?.kpa()))
}

fn since_refill<'a>(points: &'a [(NaiveDate, f64)], refill: &Held<'_>) -> &'a [(NaiveDate, f64)] {
    let is_refill = |pair: &[(NaiveDate, f64)]| {
        let rise = Entered::new(pair[1].1 - pair[0].1, Unit::Kilopascal);
        rise.exact().is_ok_and(|rise| refill.is_met(rise))
    };
    let last = points.windows(2).rposition(is_refill);
    &points[last.map_or(0, |index| index + 1)..]
}

struct Line {
    /// kPa a day.
    slope: f64,
    /// Half of the 80 % band of the slope, kPa a day.
    half_width: f64,
}

fn line_through(run: &[(NaiveDate, f64)], since: NaiveDate) -> Option<Line> {
    if run.len() < FEWEST {
        return None;
    }
    let points: Vec<(f64, f64)> = run.iter().map(|(day, kpa)| (days_between(since, *day), *kpa)).collect();
    let count = count_as_f64(points.len());
    let mean_day = points.iter().map(|(day, _)| day).sum::<f64>() / count;
    let mean_kpa = points.iter().map(|(_, kpa)| kpa).sum::<f64>() / count;
    let spread: f64 = points.iter().map(|(day, _)| (day - mean_day) * (day - mean_day)).sum();
    if spread <= 0.0 {
        return None;
    }
    let together: f64 = points.iter().map(|(day, kpa)| (day - mean_day) * (kpa - mean_kpa)).sum();
    let slope = together / spread;
    let residual = |(day, kpa): &(f64, f64)| kpa - mean_kpa - slope * (day - mean_day);
    let squares: f64 = points.iter().map(|point| residual(point) * residual(point)).sum();
    let deviation = libm::sqrt(squares / (count - 2.0));
    let half_width = (t_of_ninety_percent(points.len() - 2) * deviation).max(GAUGE_KPA) / libm::sqrt(spread);
    Some(Line { slope, half_width })
}

fn days_between(since: NaiveDate, day: NaiveDate) -> f64 {
    i32::try_from((day - since).num_days()).map_or(f64::from(i32::MAX), f64::from)
}

fn count_as_f64(count: usize) -> f64 {
    u32::try_from(count).map_or(f64::from(u32::MAX), f64::from)
}

/// Student's t at 90 % by degrees of freedom from 1 (SciPy 1.17.1, `stats.t.ppf(0.9, df)`); beyond the table its last
/// value, which is a little wide.
fn t_of_ninety_percent(freedom: usize) -> f64 {
    const T: [f64; 20] = [
        3.0777, 1.8856, 1.6377, 1.5332, 1.4759, 1.4398, 1.4149, 1.3968, 1.3830, 1.3722, 1.3634, 1.3562,
        1.3502, 1.3450, 1.3406, 1.3368, 1.3334, 1.3304, 1.3277, 1.3253,
    ];
    T[freedom.clamp(1, T.len()) - 1]
}
