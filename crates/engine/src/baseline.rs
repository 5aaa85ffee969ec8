//! The baseline check: one due item for all that is not known of a used vehicle.

use crate::known::Known;
use crate::timeline::{from_start_of, marks_of, once_over};
use chrono::NaiveDate;
use model::horizon::{Cycle, DueItem, ItemKey, ItemKind, Timeline};
use model::{RuleVersion, add_days};

/// The key of the baseline check.
pub(crate) const KEY: &str = "baseline";

/// The day by which somebody should have settled what is not proven.
pub(crate) fn due_on(known: &Known<'_>) -> NaiveDate {
    add_days(known.facts.vehicle.acquired_on, i64::from(known.policy.baseline_days))
}

/// One item for all `unproven` rules; nothing if there are none.
pub(crate) fn item(known: &Known<'_>, unproven: &[&RuleVersion]) -> Option<DueItem> {
    if unproven.is_empty() {
        return None;
    }
    let due_on = due_on(known);
    let timeline = Timeline {
        approaching: Some(from_start_of(known.facts.vehicle.acquired_on, known.zone)),
        due: Some(from_start_of(due_on, known.zone)),
        overdue: Some(once_over(due_on, known.zone)),
    };
    Some(DueItem {
        key: ItemKey(KEY.to_owned()),
        cycle: Cycle(format!("vehicle:{}", known.facts.vehicle.id)),
        kind: ItemKind::Baseline,
        title: "Baseline check".to_owned(),
        timeline,
        do_not_drive_from: None,
        date_limit: Some(due_on),
        odometer_limit: None,
        hours_limit_seconds: None,
        crossing: None,
        grade: None,
        covers: unproven.iter().map(|version| version.rule.code.as_str().to_owned()).collect(),
        authority: None,
        caution: None,
        marks: marks_of(&timeline, None),
    })
}
