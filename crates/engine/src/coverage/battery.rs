//! The traction battery that is in the vehicle now: since when, and how old and how far driven it is on any day.

use crate::known::Known;
use crate::usage::to_nine_digits;
use crate::wear::at_inspection;
use chrono::{DateTime, NaiveDate, Utc};
use forecast::capacity::CapacityReading;
use gauge::Noted;
use model::{Fitting, Inspection, day_after, day_start};
use quantity::{Entered, Unit};

const DAYS_A_YEAR: f64 = 365.25;
const SECONDS_A_DAY: f64 = 86_400.0;

/// The battery in the vehicle now.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Battery {
    /// The day it came, where it is not the one the vehicle was made with.
    fitted_on: Option<NaiveDate>,
    /// Its first day and the total distance then, km; `None` where nobody knows how old it is.
    new: Option<(NaiveDate, f64)>,
}

/// One fitted after the vehicle came is new, unless it has been in another vehicle; else it is as old as the vehicle.
pub(crate) fn battery(known: &Known<'_>) -> Battery {
    let vehicle = &known.facts.vehicle;
    match replaced(known) {
        Some(fitting) => {
            let was_elsewhere =
                known.facts.elsewhere.iter().any(|history| history.component == fitting.component);
            let km = known.total_on(fitting.from_odometer, fitting.from).km();
            Battery { fitted_on: Some(fitting.from), new: (!was_elsewhere).then_some((fitting.from, km)) }
        }
        None => Battery {
            fitted_on: None,
            new: vehicle.in_service_on.map(|first| (first, vehicle.in_service_odometer.km())),
        },
    }
}

/// The newest fitting of a traction battery later than the day the vehicle came.
fn replaced<'a>(known: &Known<'a>) -> Option<&'a Fitting> {
    let is_battery = |fitting: &&Fitting| {
        let component = known.facts.components.iter().find(|component| component.id == fitting.component);
        component.is_some_and(|component| component.kind.as_str() == "traction-battery")
    };
    let later = known.facts.fittings.iter().filter(|one| one.from > known.facts.vehicle.acquired_on);
    later.filter(is_battery).max_by_key(|fitting| (fitting.from, fitting.id))
}

impl Battery {
    pub(crate) fn new_on(&self) -> Option<NaiveDate> {
        self.new.map(|(on, _)| on)
    }

    /// Whether it was there: on the day of a change nobody knows which of the two was measured.
    pub(crate) fn is_of_it(&self, known: &Known<'_>, inspection: &Inspection) -> bool {
        self.fitted_on.is_none_or(|fitted_on| known.day(inspection.performed_at) > fitted_on)
    }

    /// What was measured, with its age and distance then.
    pub(crate) fn reading(&self, known: &Known<'_>, noted: &Noted<'_>) -> Option<CapacityReading> {
        let (new_on, new_km) = self.new?;
        let capacity = Entered::from_exact(noted.value.exact, Unit::Percent).value;
        let total = at_inspection(known, noted.inspection).map_or(new_km, |stand| stand.km);
        Some(CapacityReading {
            years: years_between(day_start(new_on, known.zone), noted.inspection.performed_at),
            km: to_nine_digits((total - new_km).max(0.0)),
            loss_percent: 100.0 - capacity,
        })
    }

    /// Its age and distance at the end of `day`: as counted readings say, after the last at the mean day's distance.
    pub(crate) fn stand_after(&self, known: &Known<'_>, day: NaiveDate) -> Option<(f64, f64)> {
        let (new_on, new_km) = self.new?;
        let end = day_after(day, known.zone);
        let total = known.driving.as_ref().map_or(Some(new_km), |driving| {
            if end <= driving.anchor.at {
                return known.odometer_at_instant(end).map(quantity::Distance::km);
            }
            let days = driving.calendar.days_between(driving.anchor.at, end);
            Some(driving.anchor.odometer.km() + driving.km_per_day() * days)
        });
        let years = years_between(day_start(new_on, known.zone), end);
        Some((years, to_nine_digits((total? - new_km).max(0.0))))
    }

    /// Its age at the end of `day` when the vehicle has gone so far in all, and its own distance then.
    pub(crate) fn stand_at(&self, known: &Known<'_>, day: NaiveDate, total_km: f64) -> Option<(f64, f64)> {
        let (new_on, new_km) = self.new?;
        let years = years_between(day_start(new_on, known.zone), day_after(day, known.zone));
        Some((years, to_nine_digits((total_km - new_km).max(0.0))))
    }
}

fn years_between(from: DateTime<Utc>, to: DateTime<Utc>) -> f64 {
    to_nine_digits(((to - from).as_seconds_f64() / SECONDS_A_DAY / DAYS_A_YEAR).max(0.0))
}
