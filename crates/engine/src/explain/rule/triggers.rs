//! Steps of rules that recur by no interval: seasons, calendars, grades, limits.

use super::super::Step;
use super::super::duty_step::DutyStep;
use super::{anchor, asking};
use crate::known::Known;
use crate::rules::begins_on;
use crate::rules::{CalendarPlan, GradePlan, LimitPlan, RuleDuty, SeasonPlan};
use model::Reach;
use quantity::Distance;

pub(super) fn season(known: &Known<'_>, duty: &RuleDuty<'_>, plan: &SeasonPlan) -> Vec<Step> {
    let mut steps: Vec<Step> = plan.done.iter().map(|(done, _)| anchor(done)).collect();
    steps.push(Step::Duty(DutyStep::Season {
        asking: asking(duty.version),
        from: plan.season.from,
        to: plan.season.to,
        done_for: plan.done.map(|(_, opened_on)| opened_on),
        came_on: begins_on(known, duty.version),
        window: plan.window,
        lead_days: plan.around.lead_days,
    }));
    steps.push(around(plan.around.lead_days, plan.around.grace));
    steps
}

pub(super) fn calendar(known: &Known<'_>, duty: &RuleDuty<'_>, plan: &CalendarPlan<'_>) -> Vec<Step> {
    let mut steps: Vec<Step> = plan.done.iter().map(anchor).collect();
    steps.push(Step::Duty(DutyStep::Calendar {
        asking: asking(duty.version),
        cron: plan.cron.to_owned(),
        done_on: plan.done.map(|done| done.on),
        came_on: begins_on(known, duty.version),
        lead_days: plan.around.lead_days,
        at: plan.at,
        shown: plan.at.with_timezone(&known.zone).naive_local(),
    }));
    steps.push(around(plan.around.lead_days, plan.around.grace));
    steps
}

pub(super) fn grade(known: &Known<'_>, duty: &RuleDuty<'_>, plan: &GradePlan) -> Step {
    Step::Duty(DutyStep::GradeAsks {
        asking: asking(duty.version),
        point: plan.point.clone(),
        at_least: plan.at_least,
        places: plan.places.clone(),
        opened_by: plan.opened_by.measurement,
        since: known.day(plan.opened_by.measured_at),
        overdue_after_days: plan.overdue_after_days,
    })
}

pub(super) fn limit(known: &Known<'_>, duty: &RuleDuty<'_>, plan: &LimitPlan) -> Vec<Step> {
    let nears = Step::Duty(DutyStep::LimitNears {
        asking: asking(duty.version),
        kind: plan.outlook.kind.clone(),
        place: plan.outlook.place,
        fitting: plan.fitting,
        likely: plan.outlook.crossing.likely,
        within: plan.within,
        by_days: plan.by_days,
        by_distance: plan.by_distance.map(|(odometer, day)| (known.shown_now(odometer), day)),
    });
    let grace = Reach { days: u32::try_from(plan.grace_days).ok(), distance: None };
    vec![nears, around(plan.lead_days, grace)]
}

fn around(lead_days: i64, grace: Reach) -> Step {
    Step::Duty(DutyStep::LeadAndGrace { lead_days, lead: Distance::ZERO, grace })
}
