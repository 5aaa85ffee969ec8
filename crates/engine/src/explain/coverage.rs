//! Steps of a coverage window and its closing check.

use super::{Step, forecasting};
use crate::coverage::{Outlook, closing_day};
use crate::known::Known;
use model::horizon::Basis;

pub(crate) fn steps(known: &Known<'_>, outlook: &Outlook<'_>) -> Vec<Step> {
    let terms = &outlook.window.terms;
    let mut steps = vec![Step::WindowStarts { on: outlook.starts_on, start: outlook.start }];
    steps.extend(outlook.last_day.map(|limit| Step::DateLimit {
        from: outlook.starts_on,
        months: terms.months,
        days: None,
        limit,
    }));
    if let (Some((from, limit)), Some(distance)) = (outlook.odometers, terms.distance) {
        steps.push(Step::OdometerLimit { from, distance, limit });
        steps.extend(forecasting::steps(known, limit, &outlook.crossing));
    }
    if let (Some(probability), Some(last_day)) = (outlook.distance_first, outlook.last_day) {
        steps.push(Step::DistanceFirst { probability, last_day });
    }
    let by_distance = outlook.crossing.band(known.zone).and_then(|band| band.likely);
    steps.extend(outlook.ends.likely.map(|first| Step::WhicheverFirst {
        by_date: outlook.last_day,
        by_distance,
        first,
        basis: match outlook.ended {
            Some(ended) if ended.basis == Basis::Reading => Basis::Reading,
            _ if Some(first) == outlook.last_day => Basis::Date,
            _ => Basis::Forecast,
        },
    }));
    steps
}

pub(crate) fn closing_steps(known: &Known<'_>, outlook: &Outlook<'_>) -> Vec<Step> {
    let mut steps = steps(known, outlook);
    if let (Some(early_end), Some(due_on)) = (outlook.ends.early, closing_day(known, outlook)) {
        steps.push(Step::ClosingCheck { early_end, days: known.policy.closing_check_days, due_on });
    }
    steps
}
