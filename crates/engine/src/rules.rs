//! Interval rules: which are in force for a vehicle, and when each falls due.

mod bounds;
mod calendar;
mod duty;
mod grid;
mod in_force;
mod indicator;
mod interval;
mod last_done;
mod limits;
mod season;
mod when;
mod work;

pub(crate) use bounds::{Bounds, RunningTime};
pub(crate) use calendar::CalendarPlan;
pub(crate) use duty::{Plan, RuleDuty};
pub(crate) use grid::GridPoint;
pub(crate) use in_force::{RuleInForce, in_force};
pub(crate) use indicator::Indicated;
pub(crate) use interval::{IntervalPlan, Round};
pub(crate) use last_done::Anchor;
pub(crate) use limits::{Around, Limits};
pub(crate) use season::SeasonPlan;
pub(crate) use when::{GradePlan, LimitPlan};
pub(crate) use work::WorkPlan;

use crate::known::Known;
use chrono::NaiveDate;
use last_done::LastDone;
use model::horizon::{Graded, WearOutlook};
use model::{Code, RuleVersion, Trigger, When};
use std::collections::BTreeSet;

/// What rules may ask about besides the calendar and the odometer.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Measured<'a> {
    /// The standing grades.
    pub(crate) grades: &'a [Graded],
    /// When fitted components meet their limits.
    pub(crate) wear: &'a [WearOutlook],
}

/// The rules with something to count from, and the intervals without.
pub(crate) fn duties<'a>(
    known: &'a Known<'a>,
    measured: Measured<'_>,
) -> (Vec<RuleDuty<'a>>, Vec<&'a RuleVersion>) {
    let last_done = LastDone::of(known.facts);
    let mut proven = Vec::with_capacity(known.rules.len());
    let mut unproven = Vec::new();
    for rule in &known.rules {
        let version = rule.version;
        if let Some(interval) = &rule.every {
            match last_done.anchor(known, &version.rule.code) {
                Some(anchor) => proven.push(interval::duty(known, rule, interval, anchor)),
                None => unproven.push(version),
            }
            continue;
        }
        let done = last_done.done(known, &version.rule.code);
        proven.extend(match &version.rule.trigger {
            Trigger::Season(window) => Some(season::duty(known, version, *window, done)),
            Trigger::Calendar(calendar) => calendar::duty(known, version, calendar, done),
            Trigger::When(When::Grade { point, at_least }) => {
                when::grade_duty(known, version, (point, *at_least), measured.grades, done)
            }
            Trigger::When(When::Limit { component, within }) => {
                when::limit_duty(known, version, (component, *within), measured.wear, done)
            }
            Trigger::When(When::Work { of, within }) => work::duty(known, version, (of, *within), &last_done),
            Trigger::Every(_) | Trigger::Expiry(_) => None,
        });
    }
    (proven, unproven)
}

/// The first day on which a season or an instant of this rule can be the vehicle's duty: it came, and the rule was there.
pub(crate) fn begins_on(known: &Known<'_>, version: &RuleVersion) -> NaiveDate {
    known.facts.vehicle.acquired_on.max(known.day(version.since))
}

/// All codes that doing `done` satisfies, through as many steps as it takes, itself left out.
pub(crate) fn also_satisfied<'a>(rules: &'a [RuleVersion], done: &'a Code) -> BTreeSet<&'a Code> {
    let mut reached = BTreeSet::new();
    let mut open = vec![done];
    while let Some(code) = open.pop() {
        let named = rules.iter().filter(|version| version.rule.code == *code);
        for next in named.flat_map(|version| &version.rule.satisfies) {
            if next != done && reached.insert(next) {
                open.push(next);
            }
        }
    }
    reached
}
