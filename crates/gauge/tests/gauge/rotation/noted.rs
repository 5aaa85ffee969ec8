//! What was noted of the tyres and the drive, and what it changes (common practice, no source).

use super::four_tyres;
use crate::world::{Check, advises, car, check, component, grade_with, in32, mm};
use gauge::Part;
use model::horizon::Graded;
use model::{Grade, Jurisdiction, Place, Zone};

fn front_left(round: Check) -> Graded {
    let grades = round.graded(&car(Jurisdiction::Us));
    let is_it = |graded: &Graded| graded.point == "tread-depth" && graded.place == Place::FrontLeft;
    grades.into_iter().find(is_it).expect("a grade")
}

fn noting(running: &str, sizes: &str) -> Graded {
    let noted = |round: Check, point, word: &str| {
        if word.is_empty() { round } else { round.answered(point, Place::Vehicle, word) }
    };
    let round = noted(four_tyres(7.0, 8.5), "tyre-running", running);
    front_left(noted(round, "tyre-sizes", sizes))
}

#[test]
fn what_was_noted_of_the_tyres_decides_how_they_may_change_places() {
    let rows = [
        ("", "", "only where sizes and running direction allow"),
        ("either_way", "alike", "than the others; follow the maker's pattern."),
        ("one_way", "alike", "on the same side only"),
        ("either_way", "staggered", "the tyres of one axle may change sides."),
        ("one_way", "staggered", "each stays where it is"),
        ("", "staggered", "only if no arrow tells"),
    ];
    for (running, sizes, words) in rows {
        let graded = noting(running, sizes);
        assert!(advises(&graded, words), "{running} {sizes}: {:?}", graded.advice);
        assert_eq!(advises(&graded, "Rotation is due"), sizes != "staggered");
    }
}

#[test]
fn what_was_noted_of_tyres_that_are_gone_says_nothing_of_their_successors() {
    let vehicle = car(Jurisdiction::Us);
    let noted = check(1, "2027-01-10")
        .answered("tyre-running", Place::Vehicle, "either_way")
        .answered("tyre-sizes", Place::Vehicle, "alike")
        .done();
    let inspections = [noted, { four_tyres(7.0, 8.5).done() }];
    let [mut first, mut second] = inspections;
    (first.id, second.id) = (crate::world::id(8), crate::world::id(9));
    let tyre = component(7, "tyre");
    let asks = |since: &str| {
        let part = Part { component: &tyre, place: Place::RearRight, since: since.parse().expect("a day") };
        let grades = grade_with(&vehicle, &[first.clone(), second.clone()], &[part]);
        grades.iter().any(|graded| advises(graded, "only where sizes and running direction allow"))
    };
    assert_eq!([asks("2027-01-10"), asks("2027-01-11")], [false, true]);
}

fn all_wheel_drive(rear_right: f64, allowed: Option<f64>) -> Vec<(Place, Grade, bool)> {
    let round = check(1, "2027-03-01")
        .answered("driven-wheels", Place::Vehicle, "all")
        .tread(Place::FrontLeft, [in32(8.0); 3])
        .tread(Place::FrontRight, [in32(8.0); 3])
        .tread(Place::RearLeft, [in32(8.0); 3])
        .tread(Place::RearRight, [in32(rear_right); 3]);
    let round = match allowed {
        Some(value) => round.measured("tread-difference-allowed", Place::Vehicle, Zone::Whole, in32(value)),
        None => round,
    };
    let grades = round.graded(&car(Jurisdiction::Us));
    grades.iter().map(|graded| (graded.place, graded.grade, advises(graded, "look up by how much"))).collect()
}

#[test]
fn an_all_wheel_drive_beyond_its_makers_limit_asks_for_work_at_the_shallowest_tyre() {
    let rear_right = |depth, allowed| all_wheel_drive(depth, allowed)[3];
    assert_eq!(rear_right(6.0, Some(2.0)).1, Grade::Good);
    assert_eq!(rear_right(6.0, Some(1.9)).1, Grade::Attend);
    assert!(all_wheel_drive(6.0, Some(1.9))[..3].iter().all(|(_, grade, _)| *grade == Grade::Good));
}

#[test]
fn where_the_makers_limit_is_unknown_it_is_asked_for_once_a_tyre_wears() {
    assert_eq!(all_wheel_drive(6.0, None)[3], (Place::RearRight, Grade::Good, false));
    assert_eq!(all_wheel_drive(3.9, None)[3], (Place::RearRight, Grade::Watch, true));
}

#[test]
fn a_drive_of_one_axle_knows_no_such_limit() {
    let graded = check(1, "2027-03-01")
        .answered("driven-wheels", Place::Vehicle, "one_axle")
        .measured("tread-difference-allowed", Place::Vehicle, Zone::Whole, mm(0.5))
        .tread(Place::RearRight, [in32(7.0); 3])
        .tread(Place::RearLeft, [in32(8.5); 3])
        .graded_at(Place::RearRight, &car(Jurisdiction::Us));
    assert_eq!(graded.grade, Grade::Good);
}
