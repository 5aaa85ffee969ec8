//! Steps that only coverage windows take.

use super::written::{kilometres, maybe_kilometres};
use chrono::NaiveDate;
use model::horizon::Basis;
use model::{Duty, Grade, LastDay, MeasurementId, ReductionCause};
use quantity::{Distance, Entered};
use serde::Serialize;

/// One step from a window's terms to its dates.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "step", rename_all = "snake_case")]
pub enum CoverStep {
    /// Limits of the terms hold only as far as others do not lower them.
    Reduced {
        /// What lowers them.
        cause: ReductionCause,
        /// The commercial duty it follows from, and its first day; nothing for a second owner.
        duty: Option<(Duty, NaiveDate)>,
        /// Day the vehicle came.
        acquired_on: NaiveDate,
        /// Its first day in service, where known.
        in_service_on: Option<NaiveDate>,
        /// Months that hold at most.
        months: Option<u32>,
        /// Distance that holds at most, as entered.
        distance: Option<Entered>,
        /// Whether one of these limits is the lowest of its kind.
        holds: bool,
    },
    /// The last day by the calendar.
    LastDay {
        /// First day covered.
        from: NaiveDate,
        /// Months it lasts.
        months: u32,
        /// The same day so many months later.
        anniversary: NaiveDate,
        /// Whether that day itself is covered.
        rule: LastDay,
        /// The last day covered.
        last_day: NaiveDate,
    },
    /// The window ended when the vehicle changed hands.
    HandsEnded {
        /// Day the vehicle came.
        acquired_on: NaiveDate,
        /// The day before.
        last_day: NaiveDate,
    },
    /// The window goes along if its giver is told of the change of hands.
    HandsOnNotice {
        /// Day the vehicle came.
        acquired_on: NaiveDate,
        /// Days from then that the terms allow; `None` where they set no deadline.
        within_days: Option<u32>,
        /// The last day to tell.
        by: NaiveDate,
        /// The day on which the giver was told.
        told_on: Option<NaiveDate>,
    },
    /// One step of a pro-rata schedule.
    Credited {
        /// Share credited, percent.
        percent: f64,
        /// Months from the first day, as the terms say.
        months: Option<u32>,
        /// First day covered.
        from: NaiveDate,
        /// Its last day, cut at the window's own.
        until: Option<NaiveDate>,
        /// Distance, as the terms say.
        distance: Option<Entered>,
        /// The odometer at its end, cut at the window's own.
        #[serde(serialize_with = "maybe_kilometres")]
        until_odometer: Option<Distance>,
    },
    /// A traction battery is covered below this capacity.
    CapacityFloor {
        /// Share of the capacity when new, percent.
        percent: f64,
    },
    /// The last capacity measured, held to the floor.
    CapacityMeasured {
        /// The measurement.
        measurement: MeasurementId,
        /// Its civil day at the depot.
        on: NaiveDate,
        /// As entered.
        capacity: Entered,
        /// What it comes to.
        grade: Grade,
        /// Why, in one sentence.
        reason: String,
        /// Where the limit comes from.
        source: String,
        /// How well that source is known.
        standing: String,
    },
    /// The law of the battery's loss, fitted to its readings.
    CapacityLaw {
        /// How many readings.
        readings: u32,
        /// The battery's first day.
        new_on: NaiveDate,
        /// Loss with the root of a year, per cent.
        percent_per_root_year: f64,
        /// Loss with a kilometre, per cent.
        percent_per_km: f64,
        /// Standard deviation of a reading around the curve, per cent.
        reading_sd_percent: f64,
        /// Degrees of freedom of Student's t.
        freedom: f64,
    },
    /// One quantile of the day on which a reading is below the floor.
    BelowFloor {
        /// Probability that it is by the end of that day.
        quantile: f64,
        /// The day; `None` beyond ten years.
        on: Option<NaiveDate>,
        /// What may be lost, per cent.
        allowed_percent: f64,
        /// The battery's age at the end of the day, years, and its distance, km.
        age_and_km: Option<(f64, f64)>,
        /// Loss expected by then, per cent, and the standard deviation of a reading.
        loss_and_spread: Option<(f64, f64)>,
        /// A line for Python with `scipy.stats` whose value is at least the quantile.
        check: Option<String>,
    },
    /// Probability that a reading is below the floor when cover ends.
    BelowFloorUnderCover {
        /// The probability.
        probability: f64,
        /// Ages at the end of cover, years, and distances, km, each as likely as any other.
        ends: Vec<(f64, f64)>,
        /// A line for Python with `numpy` and `scipy.stats` whose value is the probability.
        check: String,
    },
    /// When the maker's capacity test is to be made.
    CapacityTest {
        /// The day.
        due_on: NaiveDate,
        /// Whether a reading below the floor asks for it, or the forecast.
        basis: Basis,
    },
    /// What voids the window.
    VoidedBy {
        /// In the contract's words.
        conditions: String,
    },
    /// The last day to act.
    ActBy {
        /// The early end.
        early_end: NaiveDate,
        /// The workshop's last working day no later than that.
        in_by: NaiveDate,
        /// Working days of notice the workshop wants.
        lead_days: u32,
        /// So many working days before.
        book_by: NaiveDate,
        /// Its name.
        workshop: String,
    },
    /// Only its last day ends a lease.
    LeaseEnds {
        /// The last day.
        last_day: NaiveDate,
    },
    /// Probability that the cap of a lease is passed before its end.
    CapPassed {
        /// The probability.
        probability: f64,
        /// The last day.
        last_day: NaiveDate,
    },
    /// What distance beyond the cap costs.
    Price {
        /// For each of this distance.
        per: Entered,
        /// In minor units of the currency.
        minor: f64,
        /// Currency (ISO 4217).
        currency: String,
    },
    /// One quantile of the distance driven beyond the cap.
    Beyond {
        /// Probability that no more is driven.
        quantile: f64,
        /// Operating days from the last counted reading to the end; `None` where the end lies before that reading.
        operating_days: Option<f64>,
        /// Driven in them, km.
        km: f64,
        /// Left to the cap at the last counted reading.
        #[serde(serialize_with = "kilometres")]
        left: Distance,
        /// Beyond the cap at the end.
        #[serde(serialize_with = "kilometres")]
        beyond: Distance,
        /// Its price in minor units, and the currency.
        price: Option<(i64, String)>,
        /// A line for Python with `scipy.stats` whose value is the distance driven.
        check: Option<String>,
    },
    /// When the return check is to be made.
    ReturnCheck {
        /// The last day it counts back from.
        last_day: NaiveDate,
        /// So many days before.
        days: u32,
        /// The day.
        due_on: NaiveDate,
    },
}
