//! Grades and findings that ask for work.

use crate::known::Known;
use crate::timeline::marks_of;
use chrono::{DateTime, TimeDelta, Utc};
use model::horizon::{Basis, Cycle, DueItem, Graded, ItemKey, ItemKind, Moment, Timeline};
use model::{Facts, Finding, FindingWeight, Grade, Place};

/// What asks for work and is left for so many days is overdue (house setting, no source).
const ATTEND_WITHIN_DAYS: i64 = 7;

/// Check points that measure a component which can be replaced at its place, by the component's kind.
const MEASURES: [(&str, &str); 3] =
    [("tread-depth", "tyre"), ("cold-pressure", "tyre"), ("pad-thickness", "pad-set")];

/// The newest grade of each point and place, in that order, without those of components that have been replaced since.
pub(crate) fn standing_grades(known: &Known<'_>) -> Vec<Graded> {
    let facts = known.facts;
    let mut grades = gauge::grade_all(&facts.vehicle, &crate::questions::believed(facts));
    grades.retain(|graded| !is_replaced(known, graded));
    grades.sort_by(|one, other| (&one.point, one.place).cmp(&(&other.point, other.place)));
    grades
}

/// Whether another component has been fitted at the place since the measurement.
fn is_replaced(known: &Known<'_>, graded: &Graded) -> bool {
    let measured_on = known.day(graded.measured_at);
    let kind = MEASURES.iter().find(|(point, _)| *point == graded.point).map(|(_, kind)| *kind);
    kind.is_some_and(|kind| {
        known.facts.fittings.iter().any(|fitting| {
            fitting.place == graded.place
                && fitting.from > measured_on
                && known
                    .facts
                    .components
                    .iter()
                    .any(|component| component.id == fitting.component && component.kind.as_str() == kind)
        })
    })
}

/// A due item for each grade and each open finding that asks for work.
pub(crate) fn items(facts: &Facts, grades: &[Graded]) -> Vec<DueItem> {
    let of_grades = grades.iter().filter_map(from_grade);
    let of_findings =
        facts.findings.iter().filter(|finding| finding.closed_at.is_none()).filter_map(from_finding);
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

fn from_grade(graded: &Graded) -> Option<DueItem> {
    let urgency = Urgency::of_grade(graded.grade)?;
    Some(DueItem {
        cycle: Cycle(format!("measurement:{}", graded.measurement)),
        title: title(&graded.point, graded.place),
        grade: Some(graded.grade),
        authority: Some(format!("{} ({})", graded.source, graded.standing)),
        caution: graded.caution.clone(),
        ..bare(key_of(graded), graded.measured_at, urgency)
    })
}

fn from_finding(finding: &Finding) -> Option<DueItem> {
    let (urgency, grade) = match finding.weight {
        FindingWeight::Note => return None,
        FindingWeight::Attend => (Urgency::Attend, Grade::Attend),
        FindingWeight::DoNotDrive => (Urgency::DoNotDrive, Grade::DoNotDrive),
    };
    let key = key_of_finding(finding);
    Some(DueItem {
        cycle: Cycle(key.0.clone()),
        title: title(finding.code.as_str(), finding.place),
        grade: Some(grade),
        ..bare(key, finding.found_at, urgency)
    })
}

#[derive(Clone, Copy, PartialEq)]
enum Urgency {
    Attend,
    DoNotDrive,
}

impl Urgency {
    const fn of_grade(grade: Grade) -> Option<Self> {
        match grade {
            Grade::Good | Grade::Watch => None,
            Grade::Attend => Some(Self::Attend),
            Grade::DoNotDrive => Some(Self::DoNotDrive),
        }
    }
}

/// An item that is due from the moment it was seen.
fn bare(key: ItemKey, seen_at: DateTime<Utc>, urgency: Urgency) -> DueItem {
    let moment = |at| Some(Moment { at, basis: Basis::Reading });
    let do_not_drive_from = (urgency == Urgency::DoNotDrive).then_some(seen_at);
    let overdue_at = do_not_drive_from.unwrap_or(seen_at + TimeDelta::days(ATTEND_WITHIN_DAYS));
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
