//! Words on an inspection, and the grades they come to.

use crate::world::{advises, car, check};
use model::Grade::{Attend, DoNotDrive, Good};
use model::{Jurisdiction, Place};

#[test]
fn of_several_answers_at_a_point_the_worst_decides_and_the_others_are_told() {
    let graded = check(1, "2027-03-01")
        .answered("warning-lamps", Place::Vehicle, "engine")
        .answered("warning-lamps", Place::Vehicle, "oil_pressure")
        .graded_at(Place::Vehicle, &car(Jurisdiction::Us));
    assert_eq!((graded.grade, graded.seen.as_deref()), (DoNotDrive, Some("oil pressure, red")));
    assert!(graded.reason.starts_with("The oil-pressure lamp is lit"), "{}", graded.reason);
    assert!(advises(&graded, "Switch the engine off at once"), "{:?}", graded.advice);
    assert!(advises(&graded, "The engine lamp is lit steadily"), "{:?}", graded.advice);
    assert!(advises(&graded, "Have the fault read out"), "{:?}", graded.advice);
}

#[test]
fn nothing_wrong_beside_something_wrong_counts_for_nothing() {
    let graded = check(1, "2027-03-01")
        .answered("leaks", Place::Vehicle, "none")
        .answered("leaks", Place::Vehicle, "fuel")
        .graded_at(Place::Vehicle, &car(Jurisdiction::Us));
    assert_eq!((graded.grade, graded.seen.as_deref()), (DoNotDrive, Some("fuel")));
}

#[test]
fn damage_stops_a_vehicle_whatever_the_depth_but_not_on_the_spare() {
    let vehicle = car(Jurisdiction::Us);
    let bulge = |place| {
        let round = check(1, "2027-03-01").answered("tyre-damage", place, "bulge");
        round.graded_at(place, &vehicle)
    };
    assert_eq!([bulge(Place::RearLeft).grade, bulge(Place::Spare).grade], [DoNotDrive, Attend]);
    assert!(bulge(Place::Spare).reason.contains("it is the spare"), "{}", bulge(Place::Spare).reason);
}

#[test]
fn a_later_answer_stands_in_for_an_earlier_one() {
    let vehicle = car(Jurisdiction::Us);
    let inspections = [
        check(1, "2027-03-01").answered("joints", Place::FrontLeft, "play").done(),
        check(2, "2027-03-02").answered("joints", Place::FrontLeft, "sound").done(),
    ];
    let grades = crate::world::grade_all(&vehicle, &inspections);
    assert_eq!(grades.iter().map(|graded| graded.grade).collect::<Vec<_>>(), [Good]);
}

#[test]
fn every_word_of_every_point_comes_to_the_grade_of_its_answer() {
    let vehicle = car(Jurisdiction::Us);
    for point in gauge::points().filter(|point| point.is_graded()) {
        for answer in point.answers {
            let place = point.places[0];
            let graded = check(1, "2027-03-01").answered(point.code, place, answer.word).graded(&vehicle);
            let found: Vec<_> = graded.iter().map(|graded| (graded.grade, graded.seen.as_deref())).collect();
            assert_eq!(found, [(answer.grade, Some(answer.title))], "{} {}", point.code, answer.word);
        }
    }
}
