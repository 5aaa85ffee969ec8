//! Steps of an interval rule.

use super::{NoForecast, Opening, Step, forecasting};
use crate::known::Known;
use crate::rules::RuleDuty;
use chrono::NaiveDate;
use model::add_months;
use model::horizon::Moment;

pub(crate) fn steps(known: &Known<'_>, duty: &RuleDuty<'_>) -> Vec<Step> {
    let anchor = &duty.anchor;
    let mut steps = vec![Step::Anchor {
        opening: anchor.opening,
        on: anchor.on,
        odometer: anchor.odometer,
        estimated: anchor.estimated,
    }];
    if !matches!(anchor.opening, Opening::DoNow(_)) {
        steps.push(interval(duty));
        steps.extend(date_limit(duty));
        steps.extend(distance(known, duty));
    }
    steps.extend(whichever_first(known, duty));
    let day_of = |moment: Option<Moment>| moment.map(|m| (known.day(m.at), m.basis));
    steps.push(Step::Around {
        approaching: day_of(duty.timeline.approaching),
        overdue: day_of(duty.timeline.overdue),
    });
    let authority = duty.version.rule.authority.clone();
    steps.extend(authority.map(|authority| Step::Authority { authority }));
    steps
}

fn interval(duty: &RuleDuty<'_>) -> Step {
    Step::Interval {
        rule: duty.version.rule.code.clone(),
        rulebook: duty.version.rulebook,
        version: duty.version.version,
        every: duty.every,
        source: duty.source.clone(),
    }
}

fn date_limit(duty: &RuleDuty<'_>) -> Option<Step> {
    let limit = duty.date_limit?;
    let months = duty.every.months.filter(|months| add_months(duty.anchor.on, *months) == limit);
    let days = duty.every.days.filter(|_| months.is_none());
    Some(Step::DateLimit { from: duty.anchor.on, months, days, limit })
}

fn distance(known: &Known<'_>, duty: &RuleDuty<'_>) -> Vec<Step> {
    let Some(distance) = duty.every.distance else { return Vec::new() };
    let (Some(from), Some(limit)) = (duty.anchor.odometer, duty.odometer_limit) else {
        return vec![Step::NoForecast { reason: NoForecast::NoOdometer }];
    };
    let mut steps = vec![Step::OdometerLimit { from, distance, limit }];
    steps.extend(forecasting::steps(known, limit, &duty.crossing));
    steps
}

fn whichever_first(known: &Known<'_>, duty: &RuleDuty<'_>) -> Option<Step> {
    let due = duty.timeline.due?;
    let by_distance: Option<NaiveDate> = duty.crossing.band(known.zone).and_then(|band| band.likely);
    Some(Step::WhicheverFirst {
        by_date: duty.date_limit,
        by_distance,
        first: known.day(due.at),
        basis: due.basis,
    })
}
