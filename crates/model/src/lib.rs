//! The nouns of the trade as types: who owns what, what was reported, and what follows from it.
//!
//! Pure: no clock, no chance, no IO. [`Clock`] and [`Chance`] say where time and randomness come from; only the edge of
//! the program implements them. *Facts* are what people and devices reported; everything in [`horizon`] is derived.

mod as_of;
mod calendar;
mod civil_days;
mod clocks;
mod coded;
mod component;
mod coverage;
mod cron;
mod day_ahead;
mod derived;
mod edge;
mod facts;
pub mod horizon;
mod ids;
mod inspection;
mod lives;
mod notice;
mod organisation;
mod paper;
mod reading;
mod rule;
mod rulebook;
mod service;
mod set_aside;
mod slot;
mod telling;
mod usage;
mod vehicle;
mod vin;

pub use calendar::{
    FIRST_DAY, LAST_DAY, MonthDay, MonthDayError, Weekdays, add_days, add_months, day_after, day_start,
    instant_of, local_day, noon, parse_zone,
};
pub use clocks::{CLOCKS_APART, ClockVerdict, ClockWatch};
pub use coded::{Code, CodeError};
pub use component::{
    Component, ComponentCost, ComponentEnd, ComponentHistory, Cost, EndReason, Fitting, MeasuredElsewhere,
    MeasurementAnswer, MeasurementChoice, Position, SpellElsewhere, WearRate,
};
pub use coverage::{
    CoverageTerms, CoverageWindow, DistanceFrom, ExcessPrice, LastDay, ProRataStep, Reduction,
    ReductionCause, Transfer, WindowKind,
};
pub use cron::{CronError, CronExpression, CronField};
pub use day_ahead::{DayLetter, WORK_BEGINS};
pub use derived::derived_id;
pub use edge::{Chance, Clock};
pub use facts::{Facts, HouseLimit, Policy};
pub use ids::*;
pub use inspection::{
    CheckSheet, Finding, FindingWeight, Grade, Inspection, Measurement, Place, SheetPoint, Zone,
};
pub use lives::{LifeWithheld, NoDistance, NoLifeLaw};
pub use notice::{
    Arrival, CalendarMethod, DigestKind, LetterKind, LetterState, MarkOutcome, NoticeState, OptionalLetter,
};
pub use organisation::{
    Actor, ActorKind, Depot, Fleet, Jurisdiction, KeyKind, Person, Role, Scope, Workshop, WorkshopKind,
};
pub use paper::{Paper, PaperKind};
pub use reading::{
    Decision, Doubt, HourDoubt, HourJudgement, HourReading, HourVerdict, IndicatorLeft, IndicatorReading,
    Judgement, MeterQuantity, MeterReplacement, OdometerReading, ReadingDecision, ReadingSource, Verdict,
};
pub use rule::{
    Anchoring, AppliesTo, BaselineAnswer, BaselineChoice, BaselineDefault, Calendar, Every, Expiry,
    IntervalRule, Reach, RuleOverride, RuleVersion, Season, Trigger, When,
};
pub use rulebook::{Rulebook, RulebookError};
pub use service::{Part, ServiceRecord, Stay};
pub use set_aside::{SetAside, SetAsideReason, Settled, Settlement};
pub use slot::LETTER_TIME;
pub use telling::{Acknowledgement, Ladder, Postponement, Rung};
pub use usage::{CohortFit, FitLevel, KappaFit, PinnedFit};
pub use vehicle::{Attributes, Duty, Placard, Powertrain, Vehicle};
pub use vin::{Vin, VinError};
