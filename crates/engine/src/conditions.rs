//! Grades and findings that ask for work.

mod history;
mod renewed;
mod told;

pub(crate) use history::{History, Run};
pub(crate) use renewed::{is_renewed_between, renews};
use told::Told;

use crate::known::Known;
use crate::timeline::marks_of;
use chrono::{DateTime, TimeDelta, Utc};
use gauge::{Part, Subject};
use model::horizon::{Basis, Cycle, DueItem, Graded, ItemKey, ItemKind, Moment, Timeline};
use model::{Finding, FindingWeight, Grade, Inspection, LAST_DAY, Place};
use std::cell::OnceCell;

/// What asks for work and is left for so many days is overdue (house setting, no source).
pub(crate) const ATTEND_WITHIN_DAYS: i64 = 7;

/// The newest grade of each point and place, in that order, without those of what has been replaced since.
pub(crate) fn standing_grades(known: &Known<'_>) -> Vec<Graded> {
    let mut grades = graded(known, &crate::questions::believed(known.facts));
    grades.retain(|graded| !is_replaced(known, graded));
    grades.sort_by(|one, other| (&one.point, one.place).cmp(&(&other.point, other.place)));
    grades
}

/// What these inspections of the vehicle mean.
fn graded(known: &Known<'_>, inspections: &[Inspection]) -> Vec<Graded> {
    let fitted = known.facts.fittings.iter().filter(|fitting| fitting.to.is_none());
    let mut parts: Vec<Part<'_>> = fitted
        .filter_map(|fitting| {
            let component = known.facts.components.iter().find(|one| one.id == fitting.component)?;
            Some(Part { component, place: fitting.place, since: fitting.from })
        })
        .collect();
    parts.sort_by_key(|part| (part.place, part.component.id));
    let told = Told::of(known, inspections);
    gauge::grade_all(&Subject {
        yardstick: known.yardstick(),
        inspections,
        parts: &parts,
        background: told.background(),
    })
}

/// Whether what was measured has been replaced since.
fn is_replaced(known: &Known<'_>, graded: &Graded) -> bool {
    let since = (known.day(graded.measured_at), LAST_DAY);
    is_renewed_between(known, &graded.point, graded.place, since)
}

/// A due item for each grade and each open finding that asks for work.
pub(crate) fn items(known: &Known<'_>, grades: &[Graded]) -> Vec<DueItem> {
    let history = OnceCell::new();
    let asking = grades.iter().filter(|graded| graded.grade >= Grade::Attend);
    let of_grades = asking.map(|graded| {
        let history = history.get_or_init(|| History::of(known));
        from_grade(graded, &history.run_of(graded))
    });
    let findings = known.facts.findings.iter();
    let of_findings = findings.filter(|finding| finding.closed_at.is_none()).filter_map(from_finding);
    of_grades.chain(of_findings).collect()
}

/// The key of a grade's due item.
pub(crate) fn key_of(graded: &Graded) -> ItemKey {
    ItemKey(format!("condition:{}:{}", graded.point, graded.place))
}

/// The key of a finding's due item.
pub(crate) fn key_of_finding(finding: &Finding) -> ItemKey {
    ItemKey(format!("finding:{}", finding.id))
}

/// The item of a grade: named by the measurement that opened its run, so that measuring the same part again opens none.
fn from_grade(graded: &Graded, run: &Run) -> DueItem {
    DueItem {
        cycle: Cycle(format!("measurement:{}", run.opened_by.measurement)),
        title: title(&graded.point, graded.place),
        grade: Some(graded.grade),
        authority: Some(format!("{} ({})", graded.source, graded.standing)),
        caution: graded.caution.clone(),
        ..bare(key_of(graded), run.opened_by.measured_at, run.do_not_drive_from)
    }
}

fn from_finding(finding: &Finding) -> Option<DueItem> {
    let (do_not_drive_from, grade) = match finding.weight {
        FindingWeight::Note => return None,
        FindingWeight::Attend => (None, Grade::Attend),
        FindingWeight::DoNotDrive => (Some(finding.found_at), Grade::DoNotDrive),
    };
    let key = key_of_finding(finding);
    Some(DueItem {
        cycle: Cycle(key.0.clone()),
        title: title(finding.code.as_str(), finding.place),
        grade: Some(grade),
        ..bare(key, finding.found_at, do_not_drive_from)
    })
}

/// An item that is due from the moment it was seen.
fn bare(key: ItemKey, seen_at: DateTime<Utc>, do_not_drive_from: Option<DateTime<Utc>>) -> DueItem {
    let moment = |at| Some(Moment { at, basis: Basis::Reading });
    let left_too_long = seen_at + TimeDelta::days(ATTEND_WITHIN_DAYS);
    let overdue_at = do_not_drive_from.map_or(left_too_long, |from| from.min(left_too_long));
    let timeline =
        Timeline { approaching: moment(seen_at), due: moment(seen_at), overdue: moment(overdue_at) };
    DueItem {
        cycle: Cycle(key.0.clone()),
        key,
        kind: ItemKind::Condition,
        title: String::new(),
        timeline,
        do_not_drive_from,
        date_limit: None,
        odometer_limit: None,
        hours_limit_seconds: None,
        crossing: None,
        grade: None,
        covers: Vec::new(),
        authority: None,
        caution: None,
        marks: marks_of(&timeline, do_not_drive_from),
    }
}

/// `tread-depth` at the front left is "Tread depth, front left".
pub(crate) fn title(code: &str, place: Place) -> String {
    let words = crate::words::of_code(code);
    match place {
        Place::Vehicle => words,
        place => format!("{words}, {}", place.title()),
    }
}
