//! What a traction battery still holds against the floor of a window, and when it falls below.
//!
//! The last value stands against the floor by itself; from five readings on the law of loss is fitted, and a forecast tells
//! on which days and how probably a *reading* falls below the floor before cover ends.

use super::Outlook;
use super::battery::{Battery, battery};
use super::cover_ends::cover_ends;
use crate::known::Known;
use crate::usage::to_nine_digits;
use chrono::NaiveDate;
use forecast::capacity::{CapacityOdds, CapacityReading, CoverEnd};
use forecast::{EARLY, LATE, LIKELY};
use gauge::{Noted, Verdict, series};
use model::horizon::{Band, CapacityForecast, CapacityMeasured, CapacityOutlook};
use model::{Inspection, Measurement, add_days, add_months};
use quantity::{Entered, Unit};

/// Forecasts reach this far beyond the last counted reading.
const MOST_MONTHS: u32 = 120;

/// A window's floor with what was measured of the battery.
pub(crate) struct Capacity {
    pub(crate) floor_percent: f64,
    pub(crate) last: Option<Last>,
    pub(crate) losing: Option<Losing>,
}

/// The last value, held to the floor.
pub(crate) struct Last {
    pub(crate) inspection: Inspection,
    pub(crate) value: Measurement,
    pub(crate) verdict: Verdict,
}

/// The law of the battery's loss, and where it leads.
pub(crate) struct Losing {
    pub(crate) battery: Battery,
    pub(crate) odds: CapacityOdds,
    pub(crate) readings: u32,
    /// What may be lost until the floor, per cent.
    pub(crate) allowed_percent: f64,
    /// When a reading is below the floor, at each quantile.
    pub(crate) below_floor: [(f64, Option<BelowFloor>); 3],
    /// Ages and distances at which cover may end, each as likely as any other.
    pub(crate) ends: Vec<CoverEnd>,
    pub(crate) probability: Option<f64>,
}

/// A day with the battery's age and distance by its end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct BelowFloor {
    pub(crate) on: NaiveDate,
    pub(crate) years: f64,
    pub(crate) km: f64,
}

/// For a window with a floor.
pub(crate) fn capacity(known: &Known<'_>, outlook: &Outlook<'_>) -> Option<Capacity> {
    let floor_percent = outlook.window.terms.capacity_floor_percent?;
    let floor = Entered::new(floor_percent, Unit::Percent);
    let believed = crate::questions::believed(known.facts);
    let battery = battery(known);
    let mut measured = series("traction-capacity", &believed);
    measured.retain(|noted| battery.is_of_it(known, noted.inspection));
    let last = measured.last().and_then(|noted| {
        let verdict = gauge::traction_battery::against_cover(&known.yardstick(), noted.value.entered, floor);
        Some(Last {
            inspection: noted.inspection.clone(),
            value: noted.value.clone(),
            verdict: verdict.ok()?,
        })
    });
    let losing = Losing::of(known, outlook, battery, &measured, 100.0 - floor_percent);
    Some(Capacity { floor_percent, last, losing })
}

impl Losing {
    /// `None` from fewer than five readings, and where nobody knows how old the battery is.
    fn of(
        known: &Known<'_>,
        outlook: &Outlook<'_>,
        battery: Battery,
        measured: &[Noted<'_>],
        allowed_percent: f64,
    ) -> Option<Self> {
        let readings: Vec<CapacityReading> =
            measured.iter().map(|noted| battery.reading(known, noted)).collect::<Option<_>>()?;
        let odds = CapacityOdds::of(&readings)?;
        let quantiles = [EARLY, LIKELY, LATE];
        let below_floor = quantiles
            .map(|quantile| (quantile, below_floor(known, &battery, &odds, (allowed_percent, quantile))));
        let ends = cover_ends(known, outlook, &battery);
        let probability = odds.probability_lost_under_cover(allowed_percent, &ends).map(to_nine_digits);
        let readings = u32::try_from(readings.len()).unwrap_or(u32::MAX);
        Some(Self { battery, odds, readings, allowed_percent, below_floor, ends, probability })
    }

    /// When a reading is as likely below the floor as not.
    pub(crate) fn likely(&self) -> Option<NaiveDate> {
        self.below_floor[1].1.map(|below| below.on)
    }
}

/// The first day by whose end a reading shows more than `allowed` lost with probability `quantile`; `None` if not within
/// ten years of the last counted reading. Loss only grows, so halving finds it.
fn below_floor(
    known: &Known<'_>,
    battery: &Battery,
    odds: &CapacityOdds,
    (allowed, quantile): (f64, f64),
) -> Option<BelowFloor> {
    let at = |days: i64| {
        let on = add_days(battery.new_on()?, days);
        let (years, km) = battery.stand_after(known, on)?;
        Some(BelowFloor { on, years, km })
    };
    let is_below =
        |days: i64| Some(odds.probability_lost(allowed, at(days)?.years, at(days)?.km) >= quantile);
    let from = known.driving.as_ref().map(|driving| known.day(driving.anchor.at));
    let horizon = add_months(from.or(battery.new_on())?, MOST_MONTHS);
    let (mut least, mut most) = (-1, (horizon - battery.new_on()?).num_days());
    if most < 0 || !is_below(most)? {
        return None;
    }
    while most - least > 1 {
        let middle = least + (most - least) / 2;
        if is_below(middle)? {
            most = middle;
        } else {
            least = middle;
        }
    }
    at(most)
}

impl Capacity {
    pub(crate) fn outlook(&self) -> CapacityOutlook {
        CapacityOutlook {
            floor_percent: self.floor_percent,
            last: self.last.as_ref().map(Last::outlook),
            forecast: self.losing.as_ref().map(Losing::outlook),
        }
    }
}

impl Last {
    fn outlook(&self) -> CapacityMeasured {
        let Verdict { grade, reason, advice, source, standing, caution } = self.verdict.clone();
        CapacityMeasured {
            measurement: self.value.id,
            measured_at: self.inspection.performed_at,
            capacity: self.value.entered,
            grade,
            reason,
            advice,
            source,
            standing: standing.word().to_owned(),
            caution,
        }
    }
}

impl Losing {
    fn outlook(&self) -> CapacityForecast {
        let [early, likely, late] = self.below_floor.map(|(_, below)| below.map(|below| below.on));
        let fit = self.odds.fit();
        CapacityForecast {
            readings: self.readings,
            percent_per_root_year: to_nine_digits(fit.percent_per_root_year),
            percent_per_1000_km: to_nine_digits(fit.percent_per_km * 1000.0),
            below_floor: Band { early, likely, late },
            probability: self.probability,
        }
    }
}
