//! One rule's open round: what it rests on, its limits, and its due item.

use super::{Bounds, CalendarPlan, GradePlan, IntervalPlan, LimitPlan, SeasonPlan, WorkPlan, also_satisfied};
use crate::known::{Crossing, Known};
use crate::running::HourCrossing;
use crate::timeline::marks_of;
use model::RuleVersion;
use model::horizon::{Band, Cycle, DueItem, ItemKey, ItemKind, Timeline};
use quantity::Distance;

/// A rule with what it counts from, its limits, and its timeline.
pub(crate) struct RuleDuty<'a> {
    pub(crate) version: &'a RuleVersion,
    pub(crate) cycle: Cycle,
    pub(crate) plan: Plan<'a>,
    pub(crate) bounds: Bounds,
    pub(crate) crossing: Option<Band>,
    pub(crate) timeline: Timeline,
}

/// What the round rests on, by trigger.
pub(crate) enum Plan<'a> {
    Interval(Box<IntervalPlan<'a>>),
    Season(SeasonPlan),
    Calendar(CalendarPlan<'a>),
    Grade(Box<GradePlan>),
    Limit(Box<LimitPlan>),
    Work(Box<WorkPlan>),
}

impl RuleDuty<'_> {
    /// How the limits of distance and running time are met, where the rule has any.
    fn crossings(&self) -> (Crossing, HourCrossing) {
        match &self.plan {
            Plan::Interval(plan) => (plan.limits.crossing, plan.limits.running),
            Plan::Work(plan) => (plan.limits.crossing, plan.limits.running),
            Plan::Season(_) | Plan::Calendar(_) | Plan::Grade(_) | Plan::Limit(_) => {
                (Crossing::Unknown, HourCrossing::Unknown)
            }
        }
    }

    /// The odometer allowed, as a person sees it.
    fn odometer_shown(&self, known: &Known<'_>) -> Option<Distance> {
        let (crossing, _) = self.crossings();
        self.bounds.odometer.map(|limit| known.limit_shown(limit, &crossing))
    }

    /// The running time allowed, as a person sees it.
    fn hours_shown(&self, known: &Known<'_>) -> Option<i64> {
        let (_, crossing) = self.crossings();
        self.bounds.running.map(|limit| known.hours_limit_shown(limit, &crossing))
    }

    pub(crate) fn item(&self, known: &Known<'_>) -> DueItem {
        let rule = &self.version.rule;
        let satisfied = also_satisfied(&known.facts.rules, &rule.code);
        let mut covers: Vec<String> = satisfied.into_iter().map(|code| code.as_str().to_owned()).collect();
        let (mut grade, mut marks) = (None, marks_of(&self.timeline, None));
        match &self.plan {
            Plan::Grade(plan) => {
                covers.extend(plan.places.iter().map(|(place, _)| place.word().to_owned()));
                grade = plan.places.iter().map(|(_, grade)| *grade).max();
            }
            Plan::Limit(plan) => covers.push(plan.outlook.place.word().to_owned()),
            Plan::Work(plan) => marks.clone_from(&plan.marks),
            Plan::Interval(_) | Plan::Season(_) | Plan::Calendar(_) => {}
        }
        DueItem {
            key: ItemKey(format!("rule:{}", rule.code)),
            cycle: self.cycle.clone(),
            kind: ItemKind::Rule,
            title: rule.title.clone(),
            timeline: self.timeline,
            do_not_drive_from: None,
            date_limit: self.bounds.date,
            odometer_limit: self.odometer_shown(known),
            hours_limit_seconds: self.hours_shown(known),
            crossing: self.crossing,
            grade,
            covers,
            authority: rule.authority.clone(),
            caution: rule.caution.clone(),
            marks,
        }
    }
}
