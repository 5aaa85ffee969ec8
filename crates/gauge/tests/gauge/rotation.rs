//! Rotation: guards and trigger. Rules and check values: common practice, no source.

mod fitment;
mod noted;

use crate::world::{Check, advises, car, check, grade_all, in32};
use gauge::{Axle, Fitment, Moves, RotationAdvice, RotationBar, TyreTread, Yardstick, rotation_advice};
use model::{Jurisdiction, Place};
use quantity::Depth;

fn depth(thirty_seconds: f64) -> Depth {
    Depth::parse(in32(thirty_seconds)).expect("a depth")
}

fn of_three(thirty_seconds: f64) -> TyreTread {
    TyreTread::of_three([depth(thirty_seconds); 3])
}

fn of_single(thirty_seconds: f64) -> TyreTread {
    TyreTread::of_single(depth(thirty_seconds))
}

const UNKNOWN: Fitment = Fitment { running: None, sizes: None };

fn due(shallower: Axle, difference: Depth) -> RotationAdvice {
    RotationAdvice::Due { shallower, difference, moves: Moves::LookUp }
}

fn advice_for(front: [TyreTread; 2], rear: [TyreTread; 2]) -> RotationAdvice {
    rotation_advice(&Yardstick::shipped(&car(Jurisdiction::Us)), front.map(Some), rear.map(Some), UNKNOWN)
}

#[test]
fn rotation_is_due_when_averages_of_three_differ_by_more_than_one_thirty_second() {
    // Front 7/32, rear 8/32: not triggered; rear 8.1/32: triggered.
    let advice = |rear| advice_for([of_three(7.0); 2], [of_three(rear); 2]);
    assert_eq!(advice(8.0), RotationAdvice::NotDue { difference: depth(1.0) });
    assert_eq!(advice(8.1), due(Axle::Front, depth(1.1)));
}

#[test]
fn four_tyres_at_about_five_thirty_seconds_need_no_rotation() {
    let advice = advice_for([of_three(4.6), of_three(5.7)], [of_three(5.4), of_three(5.5)]);
    assert_eq!(advice, RotationAdvice::NotDue { difference: depth(0.3) });
}

#[test]
fn single_values_must_differ_by_more_than_two_thirty_seconds() {
    let advice = |front| advice_for([of_single(front); 2], [of_three(8.0); 2]);
    assert_eq!(advice(10.0), RotationAdvice::NotDue { difference: depth(2.0) });
    assert_eq!(advice(10.1), due(Axle::Rear, depth(2.1)));
}

#[test]
fn the_rear_is_never_left_more_than_two_thirty_seconds_shallower_than_the_front() {
    let at_guard = advice_for([of_three(7.0); 2], [of_three(9.0); 2]);
    let beyond = advice_for([of_three(6.9); 2], [of_three(9.0); 2]);
    assert_eq!(at_guard, due(Axle::Front, depth(2.0)));
    let bar = RotationBar::RearShallower { by: depth(2.1) };
    assert_eq!(beyond, RotationAdvice::NeverBecause { shallower: Axle::Front, bar });
}

#[test]
fn a_deep_neighbour_does_not_hide_a_shallow_tyre_from_the_guard() {
    let advice = advice_for([of_three(5.0), of_three(10.0)], [of_three(9.0); 2]);
    let bar = RotationBar::RearShallower { by: depth(4.0) };
    assert_eq!(advice, RotationAdvice::NeverBecause { shallower: Axle::Front, bar });
}

#[test]
fn no_tyre_below_four_thirty_seconds_comes_to_the_rear() {
    let uneven = TyreTread::of_three([depth(5.5), depth(3.9), depth(5.5)]);
    let advice = advice_for([uneven, of_three(5.0)], [of_three(3.0); 2]);
    let bar = RotationBar::RearTooLow { lowest: depth(3.9) };
    assert_eq!(advice, RotationAdvice::NeverBecause { shallower: Axle::Rear, bar });
}

#[test]
fn three_tyres_are_not_enough() {
    let advice = rotation_advice(
        &Yardstick::shipped(&car(Jurisdiction::Us)),
        [Some(of_three(7.0)), None],
        [Some(of_three(9.0)); 2],
        UNKNOWN,
    );
    assert_eq!(advice, RotationAdvice::NotEnoughMeasured);
}

fn four_tyres(front: f64, rear: f64) -> Check {
    check(1, "2027-03-01")
        .tread(Place::FrontLeft, [in32(front); 3])
        .tread(Place::FrontRight, [in32(front); 3])
        .tread(Place::RearLeft, [in32(rear); 3])
        .tread(Place::RearRight, [in32(rear); 3])
}

#[test]
fn the_advice_stands_at_the_tyres_of_the_shallower_axle_with_its_caution() {
    let vehicle = car(Jurisdiction::Us);
    let grades = four_tyres(7.0, 8.5).graded(&vehicle);
    let told: Vec<Place> = grades
        .iter()
        .filter(|graded| advises(graded, "Rotation is due"))
        .map(|graded| graded.place)
        .collect();
    assert_eq!(told, [Place::FrontLeft, Place::FrontRight]);
    assert!(grades[0].caution.as_ref().is_some_and(|caution| caution.contains("jack stands")));
}

#[test]
fn a_forbidden_rotation_is_told_as_such() {
    let front = four_tyres(6.0, 9.0).graded_at(Place::FrontLeft, &car(Jurisdiction::Us));
    assert!(advises(
        &front,
        "Do not rotate: a front tyre would come to the rear 3/32 in shallower than the front"
    ));
}

#[test]
fn tyres_measured_on_different_days_are_not_compared() {
    let vehicle = car(Jurisdiction::Us);
    let whole = four_tyres(7.0, 8.5).done();
    let later = check(2, "2027-04-01").tread(Place::RearRight, [in32(8.4); 3]).done();
    let grades = grade_all(&vehicle, &[whole, later]);
    assert!(!grades.iter().any(|graded| advises(graded, "Rotation")), "{grades:?}");
}
