//! What follows from the facts of one vehicle: absolute moments, never a state that depends on "now".

mod capacity;

pub use capacity::{CapacityForecast, CapacityMeasured, CapacityOutlook};

use crate::coded::{Code, worded};
use crate::coverage::{ReductionCause, WindowKind};
use crate::ids::{
    ComponentId, FindingId, InspectionId, MeasurementId, ReadingId, VehicleId, WindowId, WorkshopId,
};
use crate::inspection::{Grade, Place};
use crate::reading::{HourJudgement, Judgement};
use crate::usage::PinnedFit;
use chrono::{DateTime, NaiveDate, Utc};
use quantity::{Distance, Entered};
use serde::{Deserialize, Serialize};

worded! {
    /// Where a due item stands at some moment.
    Stage {
        /// Nothing to do yet.
        Clear = "clear",
        /// Soon.
        Approaching = "approaching",
        /// Now.
        Due = "due",
        /// Past its grace.
        Overdue = "overdue",
    }
}

worded! {
    /// Where a coverage window stands at some moment.
    WindowStage {
        /// In force.
        InForce = "in_force",
        /// In force, but near its end.
        Ending = "ending",
        /// Over.
        Ended = "ended",
    }
}

worded! {
    /// What a moment rests on.
    Basis {
        /// A date written down somewhere.
        Date = "date",
        /// A counted reading.
        Reading = "reading",
        /// A forecast from usage.
        Forecast = "forecast",
    }
}

worded! {
    /// What kind of duty a due item is.
    ItemKind {
        /// An interval rule.
        Rule = "rule",
        /// A paper that expires.
        Paper = "paper",
        /// The baseline check of a vehicle without history.
        Baseline = "baseline",
        /// The return check of a lease.
        ReturnCheck = "return_check",
        /// The giver of a coverage window must be told of the change of hands.
        Transfer = "transfer",
        /// What is to be seen to before a vehicle off the road goes out again.
        BeforeOut = "before_out",
        /// The closing check of a coverage window.
        ClosingCheck = "closing_check",
        /// The maker's test of a traction battery's capacity, before its cover ends.
        CapacityTest = "capacity_test",
        /// A part or a fluid grows old.
        Age = "age",
        /// A reading is wanted.
        ReadingWanted = "reading_wanted",
        /// A grade or finding that asks for work.
        Condition = "condition",
    }
}

/// A moment and what it rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Moment {
    /// When.
    pub at: DateTime<Utc>,
    /// Resting on what.
    pub basis: Basis,
}

/// The moments at which a due item's stage changes; one that is missing lies beyond ten years or never comes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Timeline {
    /// From here it is approaching.
    pub approaching: Option<Moment>,
    /// From here it is due.
    pub due: Option<Moment>,
    /// From here it is overdue.
    pub overdue: Option<Moment>,
}

impl Timeline {
    /// The stage at `now`, and what it rests on (nothing while clear).
    pub fn stage_at(&self, now: DateTime<Utc>) -> (Stage, Option<Basis>) {
        let reached = |moment: Option<Moment>| moment.filter(|m| m.at <= now).map(|m| m.basis);
        if let Some(basis) = reached(self.overdue) {
            return (Stage::Overdue, Some(basis));
        }
        if let Some(basis) = reached(self.due) {
            return (Stage::Due, Some(basis));
        }
        if let Some(basis) = reached(self.approaching) {
            return (Stage::Approaching, Some(basis));
        }
        (Stage::Clear, None)
    }
}

/// Three quantiles of a day: 10, 50 and 90 percent. A missing one lies beyond ten years.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Band {
    /// One in ten comes sooner.
    pub early: Option<NaiveDate>,
    /// As likely before as after.
    pub likely: Option<NaiveDate>,
    /// One in ten comes later.
    pub late: Option<NaiveDate>,
}

/// What a due item is called for good: kind and code, such as `rule:engine-oil`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct ItemKey(pub String);

/// Which round of a recurring duty: the root fact that opened it, never a date or a revision.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Cycle(pub String);

/// A moment on a timeline at which somebody must be told.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Mark {
    /// Which mark of the item: `approaching`, `due`, `overdue`, `days_90`, `ended`, `do_not_drive`, `reading_wanted`,
    /// `postponed_2027-03-15`.
    pub code: String,
    /// Its place in the item's order; of several past at once, the highest is told and the rest are overtaken.
    pub rank: i16,
    /// When.
    pub at: DateTime<Utc>,
}

/// One thing that will need doing on one vehicle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DueItem {
    /// What it is called.
    pub key: ItemKey,
    /// Which round of it.
    pub cycle: Cycle,
    /// What kind of duty.
    pub kind: ItemKind,
    /// As a person reads it.
    pub title: String,
    /// When its stage changes.
    pub timeline: Timeline,
    /// From here the vehicle must not be driven for this reason.
    pub do_not_drive_from: Option<DateTime<Utc>>,
    /// The last day allowed by the calendar, where one is set.
    pub date_limit: Option<NaiveDate>,
    /// The odometer allowed, where one is set.
    pub odometer_limit: Option<Distance>,
    /// The running time of the engine allowed, seconds, where it is set.
    pub hours_limit_seconds: Option<i64>,
    /// When the odometer limit is met, as forecast; `None` without a limit or a forecast.
    pub crossing: Option<Band>,
    /// The grade behind it, for a condition.
    pub grade: Option<Grade>,
    /// Rules folded into a baseline check, or satisfied along with this one.
    pub covers: Vec<String>,
    /// Who says so.
    pub authority: Option<String>,
    /// What can hurt.
    pub caution: Option<String>,
    /// When somebody must be told.
    pub marks: Vec<Mark>,
}

/// Where a coverage window leads.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WindowOutlook {
    /// The window.
    pub window: WindowId,
    /// What it is called: `window:<id>`.
    pub key: ItemKey,
    /// Its cycle: the window itself.
    pub cycle: Cycle,
    /// Warranty or lease.
    pub kind: WindowKind,
    /// As a person reads it.
    pub title: String,
    /// The day it starts; the earliest plausible one if none is known.
    pub starts_on: NaiveDate,
    /// Whether that day is proven.
    pub start_proven: bool,
    /// Last day covered by the calendar.
    pub last_day: Option<NaiveDate>,
    /// Odometer at which it lapses.
    pub odometer_limit: Option<Distance>,
    /// The last day really covered: date or distance, whichever first.
    pub ends: Band,
    /// Probability that distance ends it before the date does.
    pub distance_first: Option<f64>,
    /// From here it is ending.
    pub ending: Option<Moment>,
    /// From here it is over; only a date or a counted reading says so.
    pub ended: Option<Moment>,
    /// What has reduced its limits.
    pub reduced_by: Vec<ReductionCause>,
    /// What is credited until when.
    pub credits: Vec<Credit>,
    /// What the distance beyond a lease's cap will come to.
    pub excess: Option<Excess>,
    /// The last working day on which a suitable workshop can take the vehicle in before the early end.
    pub act_by: Option<ActBy>,
    /// What a traction battery still holds against the window's floor, where it has one.
    #[serde(default)]
    pub capacity: Option<CapacityOutlook>,
    /// Open findings within its scope.
    pub findings: Vec<FindingId>,
    /// When somebody must be told.
    pub marks: Vec<Mark>,
}

impl WindowOutlook {
    /// The stage at `now`, and what it rests on (nothing while in force).
    pub fn stage_at(&self, now: DateTime<Utc>) -> (WindowStage, Option<Basis>) {
        let reached = |moment: Option<Moment>| moment.filter(|m| m.at <= now).map(|m| m.basis);
        if let Some(basis) = reached(self.ended) {
            return (WindowStage::Ended, Some(basis));
        }
        if let Some(basis) = reached(self.ending) {
            return (WindowStage::Ending, Some(basis));
        }
        (WindowStage::InForce, None)
    }
}

/// One step of what a window credits.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Credit {
    /// Last day of the step, where months limit it.
    pub until: Option<NaiveDate>,
    /// Odometer at which the step ends, where distance limits it.
    pub until_odometer: Option<Distance>,
    /// Share credited, percent.
    pub percent: f64,
}

/// The last day to act on a window, and who can.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct ActBy {
    /// Book the vehicle in by this day.
    pub book_by: NaiveDate,
    /// The last day on which the workshop can take it.
    pub in_by: NaiveDate,
    /// The workshop.
    pub workshop: WorkshopId,
}

/// Distance beyond a lease's cap at its end, and its price; 10, 50 and 90 percent.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Excess {
    /// One in ten goes less far beyond, one in two, nine in ten.
    pub distance: [Distance; 3],
    /// The price of each, in minor units of the currency.
    pub minor: [i64; 3],
    /// Currency (ISO 4217).
    pub currency: String,
}

/// When a fitted component meets its limit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WearOutlook {
    /// The component.
    pub component: ComponentId,
    /// What it is: `tyre`, `pad-set`.
    pub kind: Code,
    /// Where it is fitted.
    pub place: Place,
    /// The check point that measures it.
    pub point: Code,
    /// How many measurements the forecast rests on.
    pub measurements: u32,
    /// Depth expected at the last counted reading, mm.
    pub depth_mm: f64,
    /// The limit it is judged by, mm.
    pub limit_mm: f64,
    /// Wear expected over 1,000 km at this place, mm.
    pub mm_per_1000_km: f64,
    /// Distance to the limit from the last counted reading, km: early, likely, late; a missing one is never met.
    pub km_left: [Option<f64>; 3],
    /// The days on which the limit is met.
    pub crossing: Band,
}

worded! {
    /// What the program asks because facts alone do not tell.
    QuestionKind {
        /// A measurement is better than the last by more than gauge error: is the component new, or was it moved?
        NewOrMoved = "new_or_moved",
    }
}

/// A question to a person; one answer closes it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Question {
    /// What is asked.
    pub kind: QuestionKind,
    /// The measurement that raised it.
    pub measurement: MeasurementId,
    /// The check point.
    pub point: String,
    /// Where.
    pub place: Place,
    /// What was measured before, as entered.
    pub before: Entered,
    /// What was measured now, as entered.
    pub now: Entered,
    /// When.
    pub measured_at: DateTime<Utc>,
}

/// How the engine runs, as far as its hour meter tells.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RunningOutlook {
    /// The last counted reading.
    pub anchor: ReadingId,
    /// When it was read.
    pub anchored_at: DateTime<Utc>,
    /// What it said, seconds.
    pub seconds: i64,
    /// Regularity a', per operating day.
    pub a: f64,
    /// Posterior shape P.
    pub shape: f64,
    /// Posterior scale Q, hours.
    pub scale_hours: f64,
    /// Expected running time an operating day, hours.
    pub hours_per_day: f64,
    /// How many gaps between readings it rests on.
    pub gaps: u32,
    /// The fit it started from.
    pub prior: PinnedFit,
}

/// The code of the mark at which work just recorded tells what it asks for.
pub const FOLLOW_UP: &str = "follow_up";

/// What a set of measurements at one place means.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Graded {
    /// The inspection it was measured in.
    pub inspection: InspectionId,
    /// The measurement that governs.
    pub measurement: MeasurementId,
    /// Check point code.
    pub point: String,
    /// Where.
    pub place: Place,
    /// The grade.
    pub grade: Grade,
    /// What governs, as entered.
    pub measured: Entered,
    /// What was answered, in words, where the point is not measured.
    pub seen: Option<String>,
    /// The limit compared with, in the unit entered.
    pub limit: Option<Entered>,
    /// Measured less limit, in the unit entered; negative below the limit.
    pub margin: Option<Entered>,
    /// Why, in one sentence.
    pub reason: String,
    /// What would change the grade, in one sentence.
    pub changes_when: String,
    /// What to do, in one sentence each.
    pub advice: Vec<String>,
    /// Where the limit comes from.
    pub source: String,
    /// How well that source is known: verified, computed, memory, common practice.
    pub standing: String,
    /// What can hurt.
    pub caution: Option<String>,
    /// When it was measured.
    pub measured_at: DateTime<Utc>,
}

/// How the vehicle is used, as far as its readings tell.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct UsageOutlook {
    /// The last counted reading.
    pub anchor: ReadingId,
    /// When it was read.
    pub anchored_at: DateTime<Utc>,
    /// What it said, on the instrument fitted now.
    pub odometer: Distance,
    /// What the odometers before the present one add to it.
    pub earlier_meters: Distance,
    /// Regularity a', per operating day.
    pub a: f64,
    /// Posterior shape P.
    pub shape: f64,
    /// Posterior scale Q, km.
    pub scale_km: f64,
    /// Expected distance an operating day, km.
    pub km_per_day: f64,
    /// How many gaps between readings it rests on.
    pub gaps: u32,
    /// The cohort fit it started from.
    pub prior: PinnedFit,
}

/// Everything coming for one vehicle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Horizon {
    /// The vehicle.
    pub vehicle: VehicleId,
    /// How each reading was judged, in order of reading time and id.
    pub judgements: Vec<Judgement>,
    /// How each reading of the hour meter was judged, in the same order.
    #[serde(default)]
    pub hour_judgements: Vec<HourJudgement>,
    /// How it is used; `None` before the first counted reading.
    pub usage: Option<UsageOutlook>,
    /// How the engine runs; `None` before the first counted reading of its hour meter.
    pub running: Option<RunningOutlook>,
    /// When fitted components meet their limits, in the order of place, kind and component.
    pub wear: Vec<WearOutlook>,
    /// What a person is asked, in the order of measuring time and id.
    pub questions: Vec<Question>,
    /// What the newest measurements mean, one for each point and place.
    pub grades: Vec<Graded>,
    /// What will need doing, in the order of their keys.
    pub items: Vec<DueItem>,
    /// Where the coverage windows lead, in the order of their keys.
    pub windows: Vec<WindowOutlook>,
}
