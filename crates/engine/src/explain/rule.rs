//! Steps of an interval rule.

use super::duty_step::{Asking, DutyStep};
use super::{IntervalSource, NoForecast, Step, forecasting, running};
use crate::known::{Crossing, Known};
use crate::rules::{Bounds, GridPoint, IntervalPlan, Limits, Plan, Round, RuleDuty, WorkPlan};
use crate::running::HourCrossing;
use chrono::NaiveDate;
use model::horizon::Moment;
use model::{Every, RuleVersion, add_days, add_months};
use quantity::{Dimension, Entered, Unit};

mod triggers;

pub(crate) fn steps(known: &Known<'_>, duty: &RuleDuty<'_>) -> Vec<Step> {
    let mut steps = match &duty.plan {
        Plan::Interval(plan) => interval(known, duty, plan),
        Plan::Season(plan) => triggers::season(known, duty, plan),
        Plan::Calendar(plan) => triggers::calendar(known, duty, plan),
        Plan::Grade(plan) => vec![triggers::grade(known, duty, plan)],
        Plan::Limit(plan) => triggers::limit(known, duty, plan),
        Plan::Work(plan) => work(known, duty, plan),
    };
    let day_of = |moment: Option<Moment>| moment.map(|m| (known.day(m.at), m.basis));
    steps.push(Step::Around {
        approaching: day_of(duty.timeline.approaching),
        overdue: day_of(duty.timeline.overdue),
    });
    let authority = duty.version.rule.authority.clone();
    steps.extend(authority.map(|authority| Step::Authority { authority }));
    steps
}

fn asking(version: &RuleVersion) -> Asking {
    Asking { rule: version.rule.code.clone(), rulebook: version.rulebook, version: version.version }
}

fn interval(known: &Known<'_>, duty: &RuleDuty<'_>, plan: &IntervalPlan<'_>) -> Vec<Step> {
    let mut steps = vec![anchor(&plan.anchor)];
    let own = match &plan.round {
        Round::Now => Bounds::default(),
        Round::First(first) => {
            let severe = matches!(plan.source, IntervalSource::Severe);
            steps.push(every(duty.version, first, IntervalSource::First { severe }));
            since_done(plan, first, &mut steps)
        }
        Round::Next => {
            steps.push(every(duty.version, &plan.every, plan.source.clone()));
            since_done(plan, &plan.every, &mut steps)
        }
        Round::Grid(point) => {
            steps.push(every(duty.version, &plan.every, plan.source.clone()));
            on_grid(plan, point, &mut steps)
        }
    };
    steps.extend(indicator(plan, &own));
    if !matches!(plan.round, Round::Now) {
        steps.extend(met(known, plan));
    }
    steps.extend(whichever_first(known, duty, &plan.limits));
    if !matches!(plan.round, Round::Now) {
        steps.push(lead_and_grace(&plan.limits));
    }
    steps
}

fn work(known: &Known<'_>, duty: &RuleDuty<'_>, plan: &WorkPlan) -> Vec<Step> {
    let mut steps = vec![anchor(&plan.anchor)];
    steps.push(Step::Duty(DutyStep::WorkAsks {
        asking: asking(duty.version),
        work: plan.work.clone(),
        within: plan.within,
    }));
    let from = plan.anchor.on;
    steps.extend(duty.bounds.date.map(|limit| Step::DateLimit {
        from,
        months: None,
        days: plan.within.days,
        limit,
    }));
    let counted = plan.within.distance.zip(plan.anchor.odometer).zip(duty.bounds.odometer);
    steps.extend(counted.map(|((distance, from), limit)| Step::OdometerLimit { from, distance, limit }));
    if let Some(limit) = duty.bounds.odometer {
        steps.extend(forecasting::steps(known, limit, &plan.limits.crossing));
    }
    steps.extend(whichever_first(known, duty, &plan.limits));
    steps.push(lead_and_grace(&plan.limits));
    steps
}

pub(super) fn anchor(anchor: &crate::rules::Anchor) -> Step {
    Step::Anchor {
        opening: anchor.opening,
        on: anchor.on,
        odometer: anchor.odometer,
        estimated: anchor.estimated,
    }
}

fn every(version: &RuleVersion, every: &Every, source: IntervalSource) -> Step {
    let Asking { rule, rulebook, version } = asking(version);
    Step::Interval { rule, rulebook, version, every: *every, source }
}

/// The limits one interval on from when it was last done, and the same as bounds.
fn since_done(plan: &IntervalPlan<'_>, every: &Every, steps: &mut Vec<Step>) -> Bounds {
    let from = plan.anchor.on;
    let by_months = every.months.map(|months| add_months(from, months));
    let by_days = every.days.map(|days| add_days(from, i64::from(days)));
    let date = by_months.into_iter().chain(by_days).min();
    steps.extend(date.map(|limit| {
        let months = every.months.filter(|_| by_months == Some(limit));
        let days = every.days.filter(|_| months.is_none());
        Step::DateLimit { from, months, days, limit }
    }));
    let odometer = every.distance.zip(plan.anchor.odometer).and_then(|(distance, from)| {
        let limit = from + quantity::Distance::parse(distance).ok()?;
        steps.push(Step::OdometerLimit { from, distance, limit });
        Some(limit)
    });
    if every.distance.is_some() && plan.anchor.odometer.is_none() {
        steps.push(Step::NoForecast { reason: NoForecast::NoOdometer });
    }
    let hours = every.engine_hours.and_then(|hours| hours.exact_as(Dimension::RunningTime).ok());
    let running = hours.zip(plan.running).map(|(hours, from)| {
        steps.push(Step::Duty(DutyStep::HoursLimit { from, hours, limit: from.saturating_add(hours) }));
        from.saturating_add(hours)
    });
    Bounds { date, odometer, running }
}

fn on_grid(plan: &IntervalPlan<'_>, point: &GridPoint, steps: &mut Vec<Step>) -> Bounds {
    let (from, odometer) = point.from;
    steps.push(Step::Duty(DutyStep::Grid {
        number: point.number,
        from,
        odometer,
        is_done: point.number > 1,
        lead_days: plan.limits.around.lead_days,
        lead: plan.limits.around.lead,
    }));
    steps.extend(point.bounds.date.map(|limit| {
        let months = point.offset.months.filter(|months| add_months(from, *months) == limit);
        let days = point.offset.days.filter(|_| months.is_none());
        Step::DateLimit { from, months, days, limit }
    }));
    steps.extend(point.offset.distance.zip(point.bounds.odometer).map(|(far, limit)| {
        let unit = plan.every.distance.map_or(Unit::Kilometre, |distance| distance.unit);
        Step::OdometerLimit { from: odometer, distance: Entered::from_exact(far.mm(), unit), limit }
    }));
    steps.extend(
        point.offset.running.map(|hours| Step::Duty(DutyStep::HoursLimit { from: 0, hours, limit: hours })),
    );
    point.bounds
}

fn indicator(plan: &IntervalPlan<'_>, own: &Bounds) -> Option<Step> {
    let indicated = plan.indicated.as_ref()?;
    let (date, limit) = (indicated.bounds.date, indicated.bounds.odometer);
    Some(Step::Duty(DutyStep::Indicator {
        indicator: indicated.id,
        read_on: indicated.read_on,
        left: indicated.left,
        odometer: indicated.odometer,
        date,
        limit,
        governs_date: date.is_some_and(|date| own.date.is_none_or(|own| date < own)),
        governs_odometer: limit.is_some_and(|limit| own.odometer.is_none_or(|own| limit < own)),
    }))
}

/// How readings and forecasts stand to the limits.
fn met(known: &Known<'_>, plan: &IntervalPlan<'_>) -> Vec<Step> {
    let limits = &plan.limits;
    let mut steps = Vec::new();
    if let Some(limit) = limits.bounds.odometer {
        steps.extend(forecasting::steps(known, limit, &limits.crossing));
    }
    if let Some(limit) = limits.bounds.running {
        steps.extend(running::steps(known, limit, &limits.running));
    } else if plan.every.engine_hours.is_some() {
        steps.push(Step::Duty(DutyStep::HoursNotMet));
    }
    steps
}

fn whichever_first(known: &Known<'_>, duty: &RuleDuty<'_>, limits: &Limits) -> Option<Step> {
    let due = duty.timeline.due?;
    let by_distance: Option<NaiveDate> = match limits.crossing {
        Crossing::Unknown => None,
        crossing => crossing.band(known.zone).and_then(|band| band.likely),
    };
    Some(Step::WhicheverFirst {
        by_date: duty.bounds.date,
        by_distance,
        by_hours: match limits.running {
            HourCrossing::Unknown => None,
            crossing => crossing.band(known).and_then(|band| band.likely),
        },
        first: known.day(due.at),
        basis: due.basis,
    })
}

fn lead_and_grace(limits: &Limits) -> Step {
    let around = limits.around;
    Step::Duty(DutyStep::LeadAndGrace { lead_days: around.lead_days, lead: around.lead, grace: around.grace })
}
