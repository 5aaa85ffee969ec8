//! The date code of a tyre and the days on which it reaches an age.

use crate::world::{car, weighing};
use chrono::NaiveDate;
use gauge::{AgeMark, DateCode, DateCodeError, Yardstick, age_marks};
use model::{Grade, Jurisdiction, Place};
use proptest::prelude::*;

fn code(figures: &str) -> DateCode {
    figures.parse().expect("a date code")
}

fn day(text: &str) -> NaiveDate {
    text.parse().expect("a day")
}

#[test]
fn a_date_code_tells_the_week_of_making() {
    // 49 CFR 574.5 (from memory); Mondays by Python 3.11, datetime.date.fromisocalendar.
    let rows = [
        ("4513", "2013-11-04"),
        (" 4513 ", "2013-11-04"),
        ("0100", "2000-01-03"),
        ("0121", "2021-01-04"),
        ("5320", "2020-12-28"),
        ("5224", "2024-12-23"),
        // ISO 8601 gives 2024 no week 53; it follows week 52 all the same.
        ("5324", "2024-12-30"),
    ];
    for (figures, monday) in rows {
        assert_eq!(code(figures).monday(), day(monday), "{figures}");
        assert_eq!(code(figures).to_string(), figures.trim());
    }
}

#[test]
fn what_is_no_date_code_is_refused_with_the_reason() {
    let refused = |figures: &str| figures.parse::<DateCode>().expect_err("no date code");
    assert_eq!(refused("328"), DateCodeError::BeforeTwoThousand("328".to_owned()));
    assert_eq!(refused("0013"), DateCodeError::NoSuchWeek { week: 0 });
    assert_eq!(refused("5413"), DateCodeError::NoSuchWeek { week: 54 });
    for nonsense in ["", "45", "45133", "45-13", "LMLR4513", "４５１３", "+413"] {
        assert_eq!(refused(nonsense), DateCodeError::NotFourFigures(nonsense.to_owned()));
    }
    assert!(refused("328").to_string().contains("before 2000"));
}

#[test]
fn a_code_of_a_week_that_had_not_begun_was_misread() {
    assert!(code("4513").is_after(day("2013-11-02")));
    assert!(!code("4513").is_after(day("2013-11-03")), "the regulation's week may begin on Sunday");
}

fn days(code: DateCode, law: Jurisdiction, mass: u32, place: Place) -> Vec<(NaiveDate, Option<Grade>)> {
    let marks = age_marks(code, &Yardstick::shipped(&weighing(mass, car(law))), place);
    marks.into_iter().map(|AgeMark { on, limit }| (on, limit.grade)).collect()
}

#[test]
fn makers_advice_is_reached_after_six_and_ten_years() {
    let advice = [(day("2019-11-04"), Some(Grade::Watch)), (day("2023-11-04"), Some(Grade::Attend))];
    assert_eq!(days(code("4513"), Jurisdiction::Us, 1800, Place::FrontLeft), advice);
    assert_eq!(days(code("4513"), Jurisdiction::Uk, 3500, Place::FrontLeft), advice);
    assert_eq!(days(code("4513"), Jurisdiction::Uk, 3501, Place::RearLeft), advice);
}

#[test]
fn a_heavy_vehicle_in_the_uk_may_not_go_out_on_front_tyres_over_ten_years_old() {
    for place in [Place::FrontLeft, Place::Spare] {
        let last = days(code("4513"), Jurisdiction::Uk, 3501, place).pop();
        assert_eq!(last, Some((day("2023-11-05"), Some(Grade::DoNotDrive))), "{place}");
    }
}

proptest! {
    #[test]
    fn every_week_of_the_century_has_its_marks_in_order(week in 1..=53_u8, year in 0..=99_u8, heavy in any::<bool>()) {
        let code = code(&format!("{week:02}{year:02}"));
        let mass = if heavy { 7500 } else { 1800 };
        let marks = days(code, Jurisdiction::Uk, mass, Place::FrontRight);
        prop_assert_eq!(marks.len(), if heavy { 3 } else { 2 });
        prop_assert!(marks.windows(2).all(|pair| pair[0].0 < pair[1].0 && pair[0].1 < pair[1].1));
        prop_assert!(marks[0].0 > code.monday());
    }
}
