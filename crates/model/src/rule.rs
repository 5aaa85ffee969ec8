//! Interval rules, the rulebooks they stand in, and a vehicle's exceptions.

use crate::calendar::MonthDay;
use crate::coded::{Code, worded};
use crate::ids::{BaselineId, OverrideId, RulebookId};
use crate::inspection::Grade;
use crate::paper::PaperKind;
use crate::vehicle::{Powertrain, Vehicle};
use chrono::{DateTime, NaiveDate, Utc};
use quantity::{Distance, Entered};
use serde::{Deserialize, Serialize};

/// How far something reaches in time and distance, each optional.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Reach {
    /// Days.
    pub days: Option<u32>,
    /// Distance, as entered.
    pub distance: Option<Entered>,
}

impl Reach {
    /// The distance, exact; nothing where none was said.
    pub fn distance_exact(&self) -> Distance {
        self.distance.and_then(|entered| Distance::parse(entered).ok()).unwrap_or_default()
    }

    /// The days; nothing where none were said.
    pub fn days_or_none(&self) -> i64 {
        i64::from(self.days.unwrap_or(0))
    }
}

/// A recurring interval; whichever limit comes first. At least one is set.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Every {
    /// Distance, as entered.
    pub distance: Option<Entered>,
    /// Calendar months, counted from the anchor and clamped to the month's end.
    pub months: Option<u32>,
    /// Days.
    pub days: Option<u32>,
    /// Running time of the engine, as entered.
    #[serde(default)]
    pub engine_hours: Option<Entered>,
}

impl Every {
    /// Whether no limit at all is set.
    pub const fn says_nothing(&self) -> bool {
        self.distance.is_none() && self.months.is_none() && self.days.is_none() && self.engine_hours.is_none()
    }
}

/// What makes a rule fall due: exactly one trigger.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Trigger {
    /// Again and again after so much time or distance.
    Every(Every),
    /// Once a year inside a window of days.
    Season(Season),
    /// At instants of a calendar.
    Calendar(Calendar),
    /// When something measured asks for it.
    When(When),
    /// When a paper expires.
    Expiry(Expiry),
}

/// A window of days in every year; one that ends before it begins runs over the new year.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Season {
    /// Its first day.
    pub from: MonthDay,
    /// Its last day.
    pub to: MonthDay,
}

/// Instants of a calendar, read in the depot's zone.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Calendar {
    /// The usual five fields: minute, hour, day of the month, month, day of the week.
    pub cron: String,
}

/// Something measured, or done, that asks for work.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum When {
    /// A check point is graded this badly or worse.
    Grade {
        /// The check point.
        point: Code,
        /// The mildest grade that makes it due.
        at_least: Grade,
    },
    /// A fitted component is forecast to meet its limit within so many days or so much distance.
    Limit {
        /// The kind of component: `tyre`, `pad-set`.
        component: Code,
        /// How far ahead, in days or distance.
        within: Reach,
    },
    /// Work on one of these rules was done: it follows within so many days or so much distance, whichever first.
    Work {
        /// The rules whose work it follows.
        of: Vec<Code>,
        /// How soon after, in days or distance.
        within: Reach,
    },
}

worded! {
    /// From where an interval counts.
    Anchoring {
        /// From when it was last done.
        LastDone = "last_done",
        /// Multiples from the first day in service and the odometer then: late work does not shift the next.
        Grid = "grid",
    }
}

/// The expiry of a paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Expiry {
    /// Which paper.
    pub paper: PaperKind,
    /// Earliest renewal that keeps the anniversary: so many days before expiry.
    #[serde(default)]
    pub renew_from_days: Option<u32>,
    /// Whether the vehicle must not be driven from the day after.
    #[serde(default)]
    pub no_paper_no_drive: bool,
}

/// Which vehicles a rule applies to; an empty list means all.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct AppliesTo {
    /// Powertrains.
    pub powertrains: Vec<Powertrain>,
    /// Makes, compared without regard to case.
    pub makes: Vec<String>,
    /// Models, compared without regard to case.
    pub models: Vec<String>,
    /// First model year.
    pub model_year_from: Option<i32>,
    /// Last model year.
    pub model_year_to: Option<i32>,
    /// Tags, one of which the vehicle must bear.
    pub tags: Vec<String>,
}

impl AppliesTo {
    /// Whether it takes in `vehicle`. A model year that is not known matches every range: better one duty too many.
    pub fn includes(&self, vehicle: &Vehicle) -> bool {
        let named = |list: &[String], name: &str| {
            list.is_empty() || list.iter().any(|n| n.eq_ignore_ascii_case(name))
        };
        let year = |wanted: &dyn Fn(i32) -> bool| vehicle.model_year.is_none_or(wanted);
        (self.powertrains.is_empty() || self.powertrains.contains(&vehicle.powertrain))
            && named(&self.makes, &vehicle.make)
            && named(&self.models, &vehicle.model)
            && year(&|y| self.model_year_from.is_none_or(|from| from <= y))
            && year(&|y| self.model_year_to.is_none_or(|to| y <= to))
            && (self.tags.is_empty() || self.tags.iter().any(|tag| vehicle.tags.contains(tag)))
    }
}

worded! {
    /// What the baseline check proposes for a rule without history.
    BaselineDefault {
        /// Ask when it was last done.
        Ask = "ask",
        /// Propose to do it now.
        DoNow = "do_now",
    }
}

/// One recurring duty.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct IntervalRule {
    /// Its code, unique in the rulebook.
    pub code: Code,
    /// Its title, as a person reads it.
    pub title: String,
    /// What makes it fall due.
    #[serde(flatten)]
    pub trigger: Trigger,
    /// The first interval, where it differs from those that follow.
    #[serde(default)]
    pub first: Option<Every>,
    /// From where the interval counts.
    #[serde(default = "last_done")]
    pub anchor: Anchoring,
    /// Whether the dash's own service indicator counts too: due is the earlier of the two, once it was read.
    #[serde(default)]
    pub indicator: bool,
    /// The interval under severe duty.
    #[serde(default)]
    pub severe: Option<Every>,
    /// How long before due it is approaching.
    #[serde(default)]
    pub lead: Reach,
    /// How long after due it is not yet overdue.
    #[serde(default)]
    pub grace: Reach,
    /// Rules that this work also satisfies.
    #[serde(default)]
    pub satisfies: Vec<Code>,
    /// Check points of what this work renews whole: what they measured before it speaks no longer.
    #[serde(default)]
    pub renews: Vec<Code>,
    /// Which vehicles it applies to.
    #[serde(default)]
    pub applies_to: AppliesTo,
    /// Who says so: maintenance manual, regulation, house practice.
    #[serde(default)]
    pub authority: Option<String>,
    /// What can hurt.
    #[serde(default)]
    pub caution: Option<String>,
    /// What the baseline check proposes.
    #[serde(default = "ask")]
    pub baseline: BaselineDefault,
}

const fn last_done() -> Anchoring {
    Anchoring::LastDone
}

const fn ask() -> BaselineDefault {
    BaselineDefault::Ask
}

/// One version of a rule in force for a vehicle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RuleVersion {
    /// The rulebook.
    pub rulebook: RulebookId,
    /// The rulebook's version, counted from 1.
    pub version: i64,
    /// When a rule of this code was first recorded in that rulebook: seasons and instants before it were nobody's duty.
    pub since: DateTime<Utc>,
    /// The rule.
    pub rule: IntervalRule,
}

/// A vehicle's exception to a rule, with the reason kept.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RuleOverride {
    /// Its id.
    pub id: OverrideId,
    /// The rule.
    pub rule: Code,
    /// The interval that holds instead; none means that the rule does not apply to this vehicle.
    pub every: Option<Every>,
    /// Why.
    pub reason: String,
    /// When it was recorded; the newest holds.
    pub recorded_at: DateTime<Utc>,
}

/// An answer to the baseline check of a used vehicle, for one rule.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BaselineAnswer {
    /// Its id.
    pub id: BaselineId,
    /// The rule.
    pub rule: Code,
    /// What was answered.
    pub choice: BaselineChoice,
    /// When it was recorded; the newest holds.
    pub recorded_at: DateTime<Utc>,
}

/// How an unproven rule was settled.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "kind")]
pub enum BaselineChoice {
    /// There is proof: last done on this day at this odometer.
    Proven {
        /// The day.
        done_on: NaiveDate,
        /// The odometer, as entered.
        odometer: Entered,
    },
    /// It is due at once.
    DoNow {
        /// The day it was said.
        on: NaiveDate,
    },
    /// It counts from this day and odometer.
    StartFrom {
        /// The day.
        on: NaiveDate,
        /// The odometer, as entered.
        odometer: Entered,
    },
}
