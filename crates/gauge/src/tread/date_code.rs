//! The date code as read off a tyre, and what its age came to on that day.

use super::age::{AgeMark, DateCode, age_marks};
use crate::assessment::{Assessment, Opinion};
use crate::caution::Hazard;
use crate::grading::Bench;
use crate::limit::{Bound, Discipline, Limit, Standing};
use crate::measured::MeasuredSet;
use crate::points::{CheckPoint, FIVE_WHEELS, WHOLE};
use model::{Grade, Place};
use quantity::{Dimension, Entered, Unit};

/// A code that cannot be right for a tyre that exists.
pub(super) static UNREADABLE: Limit = Limit {
    key: "tread-date-code",
    name: "a date code that can be read",
    bound: Bound::Missing,
    grade: Some(Grade::Watch),
    source: "house setting for tread, no source",
    edition: "first edition",
    standing: Standing::CommonPractice,
    ..super::FLOOR
};

const fn figures(value: f64) -> Entered {
    Entered::new(value, Unit::Count)
}

/// Four figures as a number, which has no room for a leading zero: 119 is week 1 of 2019.
pub(super) const POINT: CheckPoint = CheckPoint {
    code: "tyre-date-code",
    title: "Date code of the tyre: the last four figures of its identification number",
    discipline: Discipline::Tread,
    dimension: Dimension::Count,
    units: &[Unit::Count],
    places: FIVE_WHEELS,
    zones: WHOLE,
    least: figures(100.0),
    most: figures(5399.0),
    answers: &[],
    assess: Some(assess),
};

const LIFT_WHEEL: &[Hazard] = &[Hazard::Lifting, Hazard::Wheel];

/// Grades the age that the tyre had on the day its code was read; nothing here knows today, so the days on which it
/// reaches the next age are told.
fn assess<'a>(bench: &Bench<'a>, set: &MeasuredSet<'a>) -> Assessment {
    let read_on = bench.day_of(set.inspection);
    let Some(code) = code_of(set.lowest.exact).filter(|code| !code.is_after(read_on)) else {
        return unreadable(bench, set);
    };
    let marks = age_marks(code, &bench.yardstick, set.place);
    let (reached, ahead): (Vec<AgeMark>, Vec<AgeMark>) = marks.iter().partition(|mark| mark.on <= read_on);
    let mut assessment = Assessment::starting_with(opinion(bench, set, code, (&reached, &ahead)));
    if let Some(mark) = ahead.first() {
        assessment.advise(format!("Look at its age again by {}: {}.", mark.on, told(mark)), &[]);
    }
    match assessment.grade() {
        Grade::DoNotDrive => {
            assessment.advise("Fit a younger tyre before the vehicle goes out.", LIFT_WHEEL);
        }
        Grade::Attend => assessment.advise(
            "Replace the tyre, or have its maker's word on its age; depth says nothing about age.",
            LIFT_WHEEL,
        ),
        Grade::Watch => {
            assessment.advise("Look for cracks at every check; have it inspected every year.", LIFT_WHEEL);
        }
        Grade::Good => {}
    }
    advise_on_figures(&mut assessment, set);
    assessment
}

/// The date code that was kept as this number of millionths; `None` for figures that are none.
pub(super) fn code_of(exact: i64) -> Option<DateCode> {
    let whole = exact % 1_000_000 == 0;
    format!("{:04}", exact / 1_000_000).parse().ok().filter(|_| whole)
}

fn told(mark: &AgeMark) -> String {
    let years = mark.limit.bound.value().map_or(0.0, |years| years.value);
    format!("{years} years, by {}", mark.limit.source)
}

fn opinion(
    bench: &Bench<'_>,
    set: &MeasuredSet<'_>,
    code: DateCode,
    (reached, ahead): (&[AgeMark], &[AgeMark]),
) -> Opinion {
    let made = format!("The tyre was made in the week of {}", code.monday());
    let worst = reached.iter().max_by_key(|mark| mark.limit.grade);
    let next = ahead.first().map_or_else(
        || "It stands until another tyre is fitted.".to_owned(),
        |mark| format!("It would be graded otherwise from {}.", mark.on),
    );
    let (mark, grade, reason) = match (worst, ahead.first()) {
        (Some(mark), _) => {
            let grade = mark.limit.grade.unwrap_or(Grade::Good);
            (mark, grade, format!("{made} and reached a limit of age on {}: {}.", mark.on, told(mark)))
        }
        (None, Some(mark)) => {
            (mark, Grade::Good, format!("{made}; it reaches no limit of age before {}.", mark.on))
        }
        (None, None) => {
            return Opinion::on_comparison(&bench.yardstick.held(&UNREADABLE), format!("{made}."));
        }
    };
    let opinion = Opinion::on_comparison(&bench.yardstick.held(mark.limit), reason).standing_on(grade, next);
    if set.place == Place::Spare {
        return opinion.at_most(Grade::Attend, "it is the spare, which is not on the road");
    }
    opinion
}

fn unreadable(bench: &Bench<'_>, set: &MeasuredSet<'_>) -> Assessment {
    let reason = format!(
        "The date code {} tells of no week before it was read: it was misread, or has three figures only.",
        padded(set)
    );
    let opinion = Opinion::on_comparison(&bench.yardstick.held(&UNREADABLE), reason);
    let mut assessment = Assessment::starting_with(opinion);
    assessment.advise("Read the code again: four figures, week and year, at the end of the number.", &[]);
    advise_on_figures(&mut assessment, set);
    assessment
}

fn padded(set: &MeasuredSet<'_>) -> String {
    format!("{:0>4}", set.lowest.entered.to_string())
}

/// Until 1999 three figures were in use, which a number cannot tell from four that begin with a zero.
fn advise_on_figures(assessment: &mut Assessment, set: &MeasuredSet<'_>) {
    if set.lowest.entered.value < 1000.0 {
        assessment.advise(
            format!(
                "Make sure that the side wall shows four figures, {}: three would mean a tyre made before 2000.",
                padded(set)
            ),
            &[],
        );
    }
}
