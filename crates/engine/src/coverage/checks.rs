//! What is to be inspected before a window ends: the closing check of a warranty, the return check of a lease.

use super::Outlook;
use crate::known::Known;
use crate::timeline::{from_start_of, marks_of, not_before};
use chrono::NaiveDate;
use model::horizon::{Basis, Cycle, DueItem, ItemKey, ItemKind, Moment, Timeline};
use model::{add_days, day_start};

/// The check sheet of a closing check.
const CLOSING_SHEET: &str = "closing-check";
/// The check sheet of a return check.
const RETURN_SHEET: &str = "return-check";
/// Either is announced so many days before it is due, a closing check overdue as many after (house setting, no source).
const MARGIN_DAYS: i64 = 14;
/// A check made so many days before it was due still serves (house setting, no source).
const SERVES_DAYS: i64 = 60;

/// The day on which the closing check of a warranty is due; `None` where there is none to make.
pub(crate) fn closing_day(known: &Known<'_>, outlook: &Outlook<'_>) -> Option<NaiveDate> {
    if outlook.is_lease() || outlook.was_over(known) || outlook.is_run_out() {
        return None;
    }
    Some(add_days(outlook.ends.early?, -i64::from(known.policy.closing_check_days)))
}

/// The day on which the return check of a lease is due; `None` where there is none to make.
pub(crate) fn return_day(known: &Known<'_>, outlook: &Outlook<'_>) -> Option<NaiveDate> {
    if !outlook.is_lease() || outlook.was_over(known) {
        return None;
    }
    Some(add_days(outlook.last_day?, -i64::from(known.policy.return_check_days)))
}

/// The closing check before a warranty ends, unless it has been made.
pub(crate) fn closing_check(known: &Known<'_>, outlook: &Outlook<'_>) -> Option<DueItem> {
    let due_on = closing_day(known, outlook).filter(|day| !is_made(known, CLOSING_SHEET, *day))?;
    let basis = outlook.early_basis();
    let on = |day| Some(Moment { basis, ..from_start_of(day, known.zone) });
    let timeline = Timeline {
        approaching: on(add_days(due_on, -MARGIN_DAYS)),
        due: on(due_on),
        overdue: on(add_days(due_on, MARGIN_DAYS)),
    };
    Some(DueItem {
        date_limit: (basis == Basis::Date).then_some(due_on),
        ..bare(known, outlook, ("closing", "Closing check"), ItemKind::ClosingCheck, timeline)
    })
}

/// The return check before a lease ends, unless it has been made. Only its last day ends a lease.
pub(crate) fn return_check(known: &Known<'_>, outlook: &Outlook<'_>) -> Option<DueItem> {
    let due_on = return_day(known, outlook).filter(|day| !is_made(known, RETURN_SHEET, *day))?;
    let on = |day| Some(from_start_of(day, known.zone));
    let timeline = Timeline {
        approaching: on(add_days(due_on, -MARGIN_DAYS)),
        due: on(due_on),
        overdue: on(outlook.last_day?),
    };
    let timeline = not_before(day_start(outlook.starts_on, known.zone), timeline);
    Some(DueItem {
        date_limit: Some(due_on),
        ..bare(known, outlook, ("return", "Return check"), ItemKind::ReturnCheck, timeline)
    })
}

/// Whether the sheet was followed early enough to serve for the check due on `due_on`.
pub(super) fn is_made(known: &Known<'_>, sheet: &str, due_on: NaiveDate) -> bool {
    let serves_from = day_start(add_days(due_on, -SERVES_DAYS), known.zone);
    let mut inspections = known.facts.inspections.iter();
    inspections.any(|inspection| inspection.sheet.as_str() == sheet && inspection.performed_at >= serves_from)
}

pub(super) fn bare(
    known: &Known<'_>,
    outlook: &Outlook<'_>,
    (code, title): (&str, &str),
    kind: ItemKind,
    timeline: Timeline,
) -> DueItem {
    DueItem {
        key: ItemKey(format!("{code}:{}", outlook.window.id)),
        cycle: Cycle(outlook.key().0),
        kind,
        title: format!("{title}: {}", outlook.window.terms.title),
        timeline,
        do_not_drive_from: None,
        date_limit: None,
        odometer_limit: outlook.odometer_shown(known),
        hours_limit_seconds: None,
        crossing: outlook.crossing.band(known.zone),
        grade: None,
        covers: Vec::new(),
        authority: None,
        caution: None,
        marks: marks_of(&timeline, None),
    }
}
