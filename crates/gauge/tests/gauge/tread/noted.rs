//! Winter tyres and date codes on an inspection (common practice, no source, but where one is named).

use crate::world::{Check, advises, car, check, component, grade_with, mm, weighing};
use gauge::Part;
use model::Grade::{Attend, DoNotDrive, Good, Watch};
use model::horizon::Graded;
use model::{Grade, Jurisdiction, Place, Zone};
use quantity::{Entered, Unit};

fn winter(depth: f64) -> Check {
    check(1, "2027-03-01")
        .answered("tyre-kind", Place::RearLeft, "winter")
        .lowest_tread(Place::RearLeft, mm(depth))
}

#[test]
fn a_winter_tyre_asks_for_work_below_four_millimetres() {
    let vehicle = car(Jurisdiction::Eu);
    let graded = |depth| winter(depth).graded_at(Place::RearLeft, &vehicle);
    assert_eq!([4.0, 3.9, 1.6, 1.5].map(|depth| graded(depth).grade), [Good, Attend, Attend, DoNotDrive]);
    assert_eq!(
        graded(3.9).reason,
        "Tread of 3.9 mm at the lowest place found is below 4 mm, too little for a winter tyre."
    );
}

#[test]
fn a_summer_tyre_fitted_since_is_no_winter_tyre() {
    let vehicle = car(Jurisdiction::Eu);
    let noted = check(1, "2027-02-01").answered("tyre-kind", Place::RearLeft, "winter").done();
    let measured = check(2, "2027-04-20").lowest_tread(Place::RearLeft, mm(3.9)).done();
    let tyre = component(7, "tyre");
    let grade = |since: &str| {
        let part = Part { component: &tyre, place: Place::RearLeft, since: since.parse().expect("a day") };
        grade_with(&vehicle, &[noted.clone(), measured.clone()], &[part])[0].grade
    };
    assert_eq!([grade("2026-11-01"), grade("2027-04-10")], [Attend, Good]);
}

fn aged(figures: f64, day: &str, mass: u32, law: Jurisdiction, place: Place) -> Graded {
    let code = Entered::new(figures, Unit::Count);
    let round = check(1, day).measured("tyre-date-code", place, Zone::Whole, code);
    round.graded_at(place, &weighing(mass, car(law)))
}

fn grade_of(figures: f64, day: &str) -> Grade {
    aged(figures, day, 1800, Jurisdiction::Us, Place::FrontLeft).grade
}

#[test]
fn a_tyre_is_graded_by_the_age_it_had_when_its_code_was_read() {
    // Week 45 of 2013 begins on 2013-11-04 (49 CFR 574.5, from memory; Python 3.11); six and ten years, makers' advice.
    let rows = [("2019-11-03", Good), ("2019-11-04", Watch), ("2023-11-03", Watch), ("2023-11-04", Attend)];
    for (day, expected) in rows {
        assert_eq!(grade_of(4513.0, day), expected, "{day}");
    }
}

#[test]
fn the_day_on_which_the_next_age_is_reached_is_told() {
    let graded = aged(4513.0, "2016-01-01", 1800, Jurisdiction::Us, Place::FrontLeft);
    assert_eq!(
        graded.reason,
        "The tyre was made in the week of 2013-11-04; it reaches no limit of age before 2019-11-04."
    );
    assert_eq!(graded.changes_when, "It would be graded otherwise from 2019-11-04.");
    assert!(advises(&graded, "Look at its age again by 2019-11-04: 6 years, by tyre makers' advice"));
}

#[test]
fn a_heavy_vehicle_in_the_uk_stays_in_on_front_tyres_over_ten_years_old() {
    // Ban read second-hand, its axles from memory.
    let grade = |day, place| aged(4513.0, day, 7500, Jurisdiction::Uk, place).grade;
    assert_eq!(grade("2023-11-04", Place::FrontLeft), Attend);
    assert_eq!(grade("2023-11-05", Place::FrontLeft), DoNotDrive);
    assert_eq!(grade("2023-11-05", Place::RearLeft), Attend);
    assert_eq!(grade("2023-11-05", Place::Spare), Attend);
}

#[test]
fn a_code_of_the_future_and_half_a_week_cannot_be_read() {
    for (figures, day) in [(328.0, "2027-03-01"), (4513.0, "2013-11-02"), (4513.5, "2027-03-01")] {
        let graded = aged(figures, day, 1800, Jurisdiction::Us, Place::FrontLeft);
        assert_eq!(graded.grade, Watch, "{figures}");
        assert!(graded.reason.contains("tells of no week before it was read"), "{}", graded.reason);
        assert!(advises(&graded, "Read the code again"));
    }
}

#[test]
fn a_code_that_begins_with_zero_is_told_from_three_figures_by_a_look() {
    // 0119 is week 1 of 2019; 119 would be week 11 of a year 9 before 2000.
    let graded = aged(119.0, "2020-03-01", 1800, Jurisdiction::Us, Place::FrontLeft);
    assert!(graded.reason.contains("week of 2018-12-31"), "{}", graded.reason);
    assert!(advises(&graded, "shows four figures, 0119: three would mean a tyre made before 2000"));
    let point = gauge::point("tyre-date-code").expect("a point");
    for nonsense in [13.0, 5413.0, 45_133.0, -4513.0] {
        assert!(point.plausible(Entered::new(nonsense, Unit::Count)).is_err(), "{nonsense}");
    }
}
