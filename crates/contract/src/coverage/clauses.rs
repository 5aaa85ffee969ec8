//! The clauses of a coverage window: what reduces it, what it credits, what excess distance costs.

use crate::define::{answer, request};
use crate::number::{Amount, Percent, Whole};
use crate::quantity::{Distance, Quantity};
use crate::reader::Reader;
use crate::text::Currency;
use model::ReductionCause;

answer! {
    /// Limits that hold instead where something is so.
    Reduction {
        /// What has to be so.
        when: ReductionCause,
        /// Months it lasts then; as before where null.
        months: Option<u32> = 36,
        /// Distance it lasts then; as before where null.
        distance: Option<Quantity> = {"value": 60_000, "unit": "km"},
    }
}

request! {
    /// Limits that hold instead where something is so: `months`, `distance` or both are needed.
    NewReduction {
        /// What has to be so.
        when: ReductionCause,
        /// Months it lasts then; as before if none are said.
        months: Option<Whole<1, 600>> = 36,
        /// Distance it lasts then; as before if none is said.
        distance: Option<Distance> = {"value": 60_000, "unit": "km"},
    } checked by reduces_something
}

fn reduces_something(reduction: &NewReduction, reader: &mut Reader) {
    if reduction.months.is_none() && reduction.distance.is_none() {
        reader.fault("no-limit", "a reduction needs `months`, `distance` or both");
    }
}

answer! {
    /// One step of a pro-rata schedule: what is credited up to a point.
    ProRataStep {
        /// Up to so many months from the start.
        months: Option<u32> = 24,
        /// Up to so much distance from where the window's distance counts.
        distance: Option<Quantity> = null,
        /// Share of the price credited, percent.
        credit_percent: f64 = 50,
    }
}

request! {
    /// One step of a pro-rata schedule, up to `months`, `distance` or whichever comes first.
    NewProRataStep {
        /// Up to so many months from the start.
        months: Option<Whole<1, 600>> = 24,
        /// Up to so much distance from where the window's distance counts.
        distance: Option<Distance> = null,
        /// Share of the price credited, percent.
        credit_percent: Percent = 50,
    } checked by ends_somewhere
}

fn ends_somewhere(step: &NewProRataStep, reader: &mut Reader) {
    if step.months.is_none() && step.distance.is_none() {
        reader.fault("no-limit", "a step needs `months`, `distance` or both");
    }
}

answer! {
    /// The price of distance beyond a lease's cap.
    ExcessPrice {
        /// For each of this distance.
        per: Quantity = {"value": 1, "unit": "km"},
        /// In the minor unit of the currency: cents.
        minor: f64 = 8.5,
        /// The currency (ISO 4217).
        currency: String = "EUR",
    }
}

request! {
    /// The price of distance beyond a lease's cap.
    NewExcessPrice {
        /// For each of this distance.
        per: Distance = {"value": 1, "unit": "km"},
        /// In the minor unit of the currency: cents; parts of one are allowed.
        minor: Amount = 8.5,
        /// The currency (ISO 4217).
        currency: Currency,
    }
}

impl From<model::Reduction> for Reduction {
    fn from(reduction: model::Reduction) -> Self {
        let model::Reduction { when, months, distance } = reduction;
        Self { when, months, distance: distance.map(Quantity::from) }
    }
}

impl From<NewReduction> for model::Reduction {
    fn from(new: NewReduction) -> Self {
        let (months, distance) = (new.months.map(Whole::unsigned), new.distance.map(|one| one.0));
        Self { when: new.when, months, distance }
    }
}

impl From<model::ProRataStep> for ProRataStep {
    fn from(step: model::ProRataStep) -> Self {
        let model::ProRataStep { months, distance, credit_percent } = step;
        Self { months, distance: distance.map(Quantity::from), credit_percent }
    }
}

impl From<NewProRataStep> for model::ProRataStep {
    fn from(new: NewProRataStep) -> Self {
        let (months, distance) = (new.months.map(Whole::unsigned), new.distance.map(|one| one.0));
        Self { months, distance, credit_percent: new.credit_percent.0 }
    }
}

impl From<model::ExcessPrice> for ExcessPrice {
    fn from(price: model::ExcessPrice) -> Self {
        let model::ExcessPrice { per, minor, currency } = price;
        Self { per: per.into(), minor, currency }
    }
}

impl From<NewExcessPrice> for model::ExcessPrice {
    fn from(new: NewExcessPrice) -> Self {
        Self { per: new.per.0, minor: new.minor.0, currency: new.currency.0 }
    }
}
