//! Grades and findings that ask for work.

mod history;

pub(crate) use history::{History, Run};

use crate::known::Known;
use crate::timeline::marks_of;
use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use gauge::{Part, Subject};
use model::horizon::{Basis, Cycle, DueItem, Graded, ItemKey, ItemKind, Moment, Timeline};
use model::{Finding, FindingWeight, Grade, Inspection, LAST_DAY, Place};
use std::cell::OnceCell;

/// What asks for work and is left for so many days is overdue (house setting, no source).
pub(crate) const ATTEND_WITHIN_DAYS: i64 = 7;

/// Check points that measure a component which can be replaced at its place, by the component's kind.
const MEASURES: [(&str, &str); 9] = [
    ("tread-depth", "tyre"),
    ("cold-pressure", "tyre"),
    ("hot-pressure", "tyre"),
    ("tyre-damage", "tyre"),
    ("tyre-date-code", "tyre"),
    ("pad-thickness", "pad-set"),
    ("shoe-thickness", "shoe-set"),
    ("shoe-over-rivets", "shoe-set"),
    ("rotor-thickness", "rotor"),
];

/// The newest grade of each point and place, in that order, without those of components that have been replaced since.
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
    gauge::grade_all(&Subject { yardstick: known.yardstick(), inspections, parts: &parts })
}

/// Whether another component has been fitted at the place since the measurement.
fn is_replaced(known: &Known<'_>, graded: &Graded) -> bool {
    let measured_on = known.day(graded.measured_at);
    component_kind(&graded.point)
        .is_some_and(|kind| is_fitted_between(known, kind, graded.place, measured_on, LAST_DAY))
}

/// The kind of component that the point measures, if it can be replaced at its place.
pub(crate) fn component_kind(point: &str) -> Option<&'static str> {
    MEASURES.iter().find(|(measures, _)| *measures == point).map(|(_, kind)| *kind)
}

/// Whether a component of the kind was fitted at the place after the one day and by the other.
fn is_fitted_between(known: &Known<'_>, kind: &str, place: Place, after: NaiveDate, by: NaiveDate) -> bool {
    known.facts.fittings.iter().any(|fitting| {
        let is_between = fitting.place == place && fitting.from > after && fitting.from <= by;
        is_between
            && known
                .facts
                .components
                .iter()
                .any(|component| component.id == fitting.component && component.kind.as_str() == kind)
    })
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
