//! Which inspection counts when several measured the same.

use crate::world::{car, check, grade_all, id, in32, kpa, mm};
use model::{Grade, Jurisdiction, Place};

#[test]
fn the_newest_inspection_that_measured_a_place_counts_there_whole() {
    let old = check(1, "2027-03-01")
        .tread(Place::FrontLeft, [mm(1.0), mm(5.0), mm(5.0)])
        .lowest_tread(Place::FrontRight, mm(6.0))
        .done();
    let new = check(2, "2027-03-02").lowest_tread(Place::FrontLeft, mm(8.0)).done();
    let grades = grade_all(&car(Jurisdiction::Eu), &[old, new]);
    let seen: Vec<_> = grades.iter().map(|graded| (graded.place, graded.inspection, graded.grade)).collect();
    assert_eq!(
        seen,
        [(Place::FrontLeft, id(2), Grade::Good), (Place::FrontRight, id(1), Grade::Good)],
        "a later lowest value stands in for three earlier ones"
    );
}

#[test]
fn of_two_at_the_same_moment_the_higher_id_counts() {
    let one = check(1, "2027-03-01").lowest_tread(Place::FrontLeft, mm(8.0)).done();
    let two = check(2, "2027-03-01").lowest_tread(Place::FrontLeft, mm(7.0)).done();
    let grades = grade_all(&car(Jurisdiction::Eu), &[two, one]);
    assert_eq!(grades[0].measured, mm(7.0));
}

#[test]
fn an_inspection_whose_time_is_in_doubt_is_left_out() {
    let sure = check(1, "2027-03-01").lowest_tread(Place::FrontLeft, mm(8.0)).done();
    let unsure = check(2, "2027-03-02").lowest_tread(Place::FrontLeft, mm(1.0)).clock_in_doubt().done();
    let grades = grade_all(&car(Jurisdiction::Eu), &[sure, unsure]);
    assert_eq!((grades.len(), grades[0].measured), (1, mm(8.0)));
}

#[test]
fn grades_come_in_the_order_of_point_and_place() {
    let round = check(1, "2027-03-01")
        .lowest_tread(Place::Spare, mm(8.0))
        .lowest_tread(Place::FrontLeft, in32(8.0))
        .pressure(Place::RearRight, kpa(230.0))
        .pads(Place::FrontRight, mm(9.0), mm(8.0));
    let order: Vec<_> =
        round.graded(&car(Jurisdiction::Us)).into_iter().map(|graded| (graded.point, graded.place)).collect();
    let expected = [
        ("cold-pressure", Place::RearRight),
        ("pad-thickness", Place::FrontRight),
        ("tread-depth", Place::FrontLeft),
        ("tread-depth", Place::Spare),
    ];
    assert_eq!(order, expected.map(|(point, place)| (point.to_owned(), place)));
}

#[test]
fn the_grade_names_its_inspection_measurement_and_time() {
    let round = check(7, "2027-03-01").pads(Place::FrontRight, mm(9.0), mm(8.0)).done();
    let grades = grade_all(&car(Jurisdiction::Us), std::slice::from_ref(&round));
    assert_eq!((grades[0].inspection, grades[0].measurement), (id(7), round.measurements[1].id));
    assert_eq!(grades[0].measured_at, round.performed_at);
}

#[test]
fn a_vehicle_never_measured_has_no_grades() {
    assert_eq!(grade_all(&car(Jurisdiction::Us), &[]), []);
}
