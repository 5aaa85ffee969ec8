//! The maker's own test of a traction battery, asked for while a claim can still be made: only that test counts for one.

use super::Outlook;
use super::checks::{bare, closing_day, is_made};
use crate::known::Known;
use crate::timeline::{from_start_of, marks_of, not_before};
use chrono::NaiveDate;
use model::horizon::{Basis, Cycle, DueItem, ItemKind, Moment, Timeline};
use model::{Grade, Inspection, add_days, day_start};

/// The check sheet of a capacity test.
pub(crate) const CAPACITY_SHEET: &str = "capacity-test";
/// Asked for where a reading at the end of cover is at least as likely below the floor as not (house setting, no source).
const LIKELY_ENOUGH: f64 = 0.5;
/// Announced so many days before it is due, overdue as many after (house setting, no source).
const MARGIN_DAYS: i64 = 14;

/// Why and when a test is asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct TestWanted {
    pub(crate) due_on: NaiveDate,
    pub(crate) basis: Basis,
}

/// Due once a reading is below the floor; else, where that is likely before cover ends, on the likely day, but no later
/// than the closing check.
pub(crate) fn test_wanted(known: &Known<'_>, outlook: &Outlook<'_>) -> Option<TestWanted> {
    let closing_on = closing_day(known, outlook);
    if outlook.is_lease() || outlook.was_over(known) || outlook.is_run_out() {
        return None;
    }
    let capacity = outlook.capacity.as_ref()?;
    let last = capacity.last.as_ref()?;
    let measured_on = known.day(last.inspection.performed_at);
    if last.verdict.grade >= Grade::Attend {
        return Some(TestWanted { due_on: measured_on, basis: Basis::Reading });
    }
    let losing = capacity.losing.as_ref()?;
    losing.probability.filter(|probability| *probability >= LIKELY_ENOUGH)?;
    let due_on = losing.likely().into_iter().chain(closing_on).min()?;
    Some(TestWanted { due_on: due_on.max(measured_on), basis: Basis::Forecast })
}

/// The test as a due item, unless it has been made.
pub(crate) fn capacity_test(known: &Known<'_>, outlook: &Outlook<'_>) -> Option<DueItem> {
    let TestWanted { due_on, basis } = test_wanted(known, outlook)?;
    let last = outlook.capacity.as_ref()?.last.as_ref()?;
    let is_made = match basis {
        // A test made before the reading that fell below the floor says nothing of it; one may be that very reading.
        Basis::Reading => tests(known).any(|test| test.performed_at >= last.inspection.performed_at),
        Basis::Date | Basis::Forecast => is_made(known, CAPACITY_SHEET, due_on),
    };
    if is_made {
        return None;
    }
    let on = |day| Some(Moment { basis, ..from_start_of(day, known.zone) });
    let timeline = Timeline {
        approaching: on(add_days(due_on, -MARGIN_DAYS)),
        due: on(due_on),
        overdue: on(add_days(due_on, MARGIN_DAYS)),
    };
    // What was not known before the last reading was nobody's duty before it, nor before the window began.
    let start = day_start(outlook.starts_on, known.zone).max(last.inspection.performed_at);
    let timeline = not_before(start, timeline);
    Some(DueItem {
        cycle: cycle(known, outlook),
        grade: Some(last.verdict.grade).filter(|grade| *grade >= Grade::Attend),
        authority: Some(format!("{} ({})", last.verdict.source, last.verdict.standing.word())),
        caution: Some(CAUTION.to_owned()),
        marks: marks_of(&timeline, None),
        ..bare(known, outlook, ("capacity", "Capacity test by the maker"), ItemKind::CapacityTest, timeline)
    })
}

const CAUTION: &str = "High voltage kills: only qualified persons work on the traction battery or anything its orange cables \
     lead to, by the maker's procedure and local codes.";

/// The tests that were made.
fn tests<'a>(known: &Known<'a>) -> impl Iterator<Item = &'a Inspection> {
    known.facts.inspections.iter().filter(|inspection| inspection.sheet.as_str() == CAPACITY_SHEET)
}

/// Named by the last test that was made, else by the window: one that is asked for again is told again.
fn cycle(known: &Known<'_>, outlook: &Outlook<'_>) -> Cycle {
    let last = tests(known).max_by_key(|inspection| (inspection.performed_at, inspection.id));
    last.map_or_else(|| Cycle(outlook.key().0), |inspection| Cycle(format!("inspection:{}", inspection.id)))
}
