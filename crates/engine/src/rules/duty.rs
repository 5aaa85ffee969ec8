//! One rule's open round: what it rests on, its limits, and its due item.

use super::{Bounds, CalendarPlan, GradePlan, IntervalPlan, LimitPlan, SeasonPlan, also_satisfied};
use crate::known::Known;
use crate::timeline::marks_of;
use model::RuleVersion;
use model::horizon::{Band, Cycle, DueItem, ItemKey, ItemKind, Timeline};

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
}

impl RuleDuty<'_> {
    pub(crate) fn item(&self, known: &Known<'_>) -> DueItem {
        let rule = &self.version.rule;
        let satisfied = also_satisfied(&known.facts.rules, &rule.code);
        let mut covers: Vec<String> = satisfied.into_iter().map(|code| code.as_str().to_owned()).collect();
        let mut grade = None;
        match &self.plan {
            Plan::Grade(plan) => {
                covers.extend(plan.places.iter().map(|(place, _)| place.word().to_owned()));
                grade = plan.places.iter().map(|(_, grade)| *grade).max();
            }
            Plan::Limit(plan) => covers.push(plan.outlook.place.word().to_owned()),
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
            odometer_limit: self.bounds.odometer,
            hours_limit_seconds: self.bounds.running,
            crossing: self.crossing,
            grade,
            covers,
            authority: rule.authority.clone(),
            caution: rule.caution.clone(),
            marks: marks_of(&self.timeline, None),
        }
    }
}
