//! Steps of the list "before it goes out again".

use super::{DutyStep, Step};
use crate::known::Known;
use crate::stays;
use model::horizon::DueItem;

/// Title and steps; `None` of a stay that is over or is not there.
pub(crate) fn explained(known: &Known<'_>, items: &[DueItem], name: &str) -> Option<(String, Vec<Step>)> {
    let stay = known.facts.stays.iter().find(|stay| stay.id.to_string() == name)?;
    let item = items.iter().find(|item| item.key == stays::key_of(stay))?;
    let stood_open = stays::before_out(items, stay.in_at);
    let items = stood_open.map(|item| (item.key.clone(), item.title.clone())).collect();
    let away = DutyStep::OffTheRoad {
        stay: stay.id,
        on: known.day(stay.in_at),
        reason: stay.reason.clone(),
        waiting_for: stay.waiting_for.clone(),
    };
    Some((item.title.clone(), vec![Step::Duty(away), Step::Duty(DutyStep::StoodOpen { items })]))
}
