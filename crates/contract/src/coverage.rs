//! Coverage windows: the terms of warranties and leases.

mod capacity;
mod clauses;
mod outlook;

pub use capacity::{Capacity, CapacityForecast, CapacityMeasured};
pub use clauses::{ExcessPrice, NewExcessPrice, NewProRataStep, NewReduction, ProRataStep, Reduction};
pub use outlook::{ActBy, CoverageOutlook, Credit, Excess, ExcessAt};

use crate::define::{answer, request};
use crate::list::Many;
use crate::number::{Percent, Whole};
use crate::quantity::{Distance, Quantity};
use crate::reader::Reader;
use crate::text::{Line, Text};
use chrono::{DateTime, NaiveDate, Utc};
use model::{Code, DistanceFrom, LastDay, ServiceId, Transfer, WindowId, WindowKind};

answer! {
    /// The terms of a warranty or lease of a vehicle.
    CoverageWindow {
        /// Its id.
        id: WindowId,
        /// Warranty or lease.
        kind: WindowKind,
        /// As a person reads it.
        title: String = "Powertrain warranty",
        /// Codes of the components covered; empty means the whole vehicle.
        scope: Vec<Code> = ["engine", "gearbox"],
        /// First day covered; the in-service date where null.
        starts_on: Option<NaiveDate> = "2024-03-01",
        /// Odometer at the start, as entered.
        start_odometer: Option<Quantity> = null,
        /// The service record that opened it, for a replaced part.
        opened_by: Option<ServiceId> = null,
        /// Months it lasts.
        months: Option<u32> = 60,
        /// Distance it lasts.
        distance: Option<Quantity> = {"value": 100_000, "unit": "km"},
        /// From where the distance counts.
        distance_from: DistanceFrom,
        /// Which day is the last.
        last_day: LastDay,
        /// Capacity below which a traction battery is covered, percent.
        capacity_floor_percent: Option<f64> = null,
        /// Limits that hold instead where the vehicle is used or owned otherwise.
        reduced_if: Vec<Reduction>,
        /// What is credited as the window is used up, in order; empty where all of it is.
        pro_rata: Vec<ProRataStep>,
        /// What becomes of it when the vehicle changes hands.
        transfer: Transfer,
        /// Days from acquisition within which its giver must be told of the change of hands.
        transfer_within_days: Option<u32> = null,
        /// The day on which its giver was told.
        transferred_on: Option<NaiveDate> = null,
        /// What distance beyond a lease's cap costs.
        excess: Option<ExcessPrice> = null,
        /// What voids it, in the contract's words.
        voided_by: Option<String> = null,
        /// When it was recorded.
        recorded_at: DateTime<Utc>,
    }
}

impl From<model::CoverageWindow> for CoverageWindow {
    fn from(window: model::CoverageWindow) -> Self {
        let model::CoverageWindow { id, terms, recorded_at } = window;
        Self {
            id,
            kind: terms.kind,
            title: terms.title,
            scope: terms.scope,
            starts_on: terms.starts_on,
            start_odometer: terms.start_odometer.map(Quantity::from),
            opened_by: terms.opened_by,
            months: terms.months,
            distance: terms.distance.map(Quantity::from),
            distance_from: terms.distance_from,
            last_day: terms.last_day,
            capacity_floor_percent: terms.capacity_floor_percent,
            reduced_if: terms.reduced_if.into_iter().map(Reduction::from).collect(),
            pro_rata: terms.pro_rata.into_iter().map(ProRataStep::from).collect(),
            transfer: terms.transfer,
            transfer_within_days: terms.transfer_within_days,
            transferred_on: terms.transferred_on,
            excess: terms.excess.map(ExcessPrice::from),
            voided_by: terms.voided_by,
            recorded_at,
        }
    }
}

request! {
    /// The terms of a warranty or lease, as written in its contract.
    NewCoverageWindow {
        /// Warranty or lease.
        kind: WindowKind,
        /// As a person reads it.
        title: Line<120> = "Powertrain warranty",
        /// Codes of the components covered; none means the whole vehicle.
        scope: Many<Code, 0, 100> = ["engine", "gearbox"],
        /// First day covered; the in-service date if none is said.
        starts_on: Option<NaiveDate> = "2024-03-01",
        /// Odometer at the start.
        start_odometer: Option<Distance> = null,
        /// The service record that opened it, for a replaced part.
        opened_by: Option<ServiceId> = null,
        /// Months it lasts. At least one of `months` and `distance` is needed.
        months: Option<Whole<1, 600>> = 60,
        /// Distance it lasts.
        distance: Option<Distance> = {"value": 100_000, "unit": "km"},
        /// From where the distance counts; from zero if not said.
        distance_from: Option<DistanceFrom>,
        /// Which day is the last; the day before the anniversary if not said.
        last_day: Option<LastDay>,
        /// Capacity below which a traction battery is covered, percent.
        capacity_floor_percent: Option<Percent> = null,
        /// Limits that hold instead where the vehicle is used or owned otherwise; of several that apply the lower holds.
        reduced_if: Many<NewReduction, 0, 4>,
        /// What is credited as the window is used up, in order; all of it if none is said.
        pro_rata: Many<NewProRataStep, 0, 50>,
        /// What becomes of it when the vehicle changes hands; it goes along if not said.
        transfer: Option<Transfer>,
        /// Days from acquisition within which its giver must be told of the change of hands.
        transfer_within_days: Option<Whole<0, 3650>> = null,
        /// The day on which its giver was told.
        transferred_on: Option<NaiveDate> = null,
        /// What distance beyond a lease's cap costs.
        excess: Option<NewExcessPrice> = null,
        /// What voids it, in the contract's words.
        voided_by: Option<Text<4000>> = null,
    } checked by has_a_limit
}

fn has_a_limit(window: &NewCoverageWindow, reader: &mut Reader) {
    if window.months.is_none() && window.distance.is_none() {
        reader.fault("no-limit", "a coverage window needs `months`, `distance` or both");
    }
}

impl NewCoverageWindow {
    /// The terms in the model's words, with what holds where nothing was said.
    pub fn terms(self) -> model::CoverageTerms {
        model::CoverageTerms {
            kind: self.kind,
            title: self.title.0,
            scope: self.scope.0,
            starts_on: self.starts_on,
            start_odometer: self.start_odometer.map(|distance| distance.0),
            opened_by: self.opened_by,
            months: self.months.map(Whole::unsigned),
            distance: self.distance.map(|distance| distance.0),
            distance_from: self.distance_from.unwrap_or(DistanceFrom::Zero),
            last_day: self.last_day.unwrap_or(LastDay::DayBefore),
            capacity_floor_percent: self.capacity_floor_percent.map(|percent| percent.0),
            reduced_if: self.reduced_if.0.into_iter().map(model::Reduction::from).collect(),
            pro_rata: self.pro_rata.0.into_iter().map(model::ProRataStep::from).collect(),
            transfer: self.transfer.unwrap_or(Transfer::Automatic),
            transfer_within_days: self.transfer_within_days.map(Whole::unsigned),
            transferred_on: self.transferred_on,
            excess: self.excess.map(model::ExcessPrice::from),
            voided_by: self.voided_by.map(|text| text.0),
        }
    }
}
