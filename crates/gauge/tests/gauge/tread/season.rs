//! Winter tyres (common practice, no source), wet roads (as published) and what a set has left.

use crate::world::{advises, car, in32, mm, tread_of, weighing};
use gauge::{
    Fitment, RotationAdvice, TyreTread, Yardstick, rotation_advice, tread_limits, usable_fraction_of_set,
    wet_grip_caution, winter_tread_limits,
};
use model::{Jurisdiction, Place};
use quantity::{Depth, Entered};

fn depth(entered: Entered) -> Depth {
    Depth::parse(entered).expect("a depth")
}

#[test]
fn a_winter_tyre_is_attended_to_below_four_millimetres() {
    let vehicle = car(Jurisdiction::Eu);
    let winter = winter_tread_limits(&Yardstick::shipped(&vehicle), Place::RearLeft);
    assert_eq!((winter.attend, winter.watch), (depth(mm(4.0)), depth(mm(4.0))));
    assert_eq!(
        winter.do_not_drive,
        tread_limits(&Yardstick::shipped(&vehicle), Place::RearLeft).do_not_drive
    );
}

#[test]
fn where_the_law_asks_for_more_a_winter_tyre_is_held_to_that() {
    // 49 CFR 570.62(a): 4/32 in on the front axle over 10 000 lb, so watched below 3.175 + 1.6 mm.
    let winter =
        winter_tread_limits(&Yardstick::shipped(&weighing(5000, car(Jurisdiction::Us))), Place::FrontLeft);
    assert_eq!((winter.attend, winter.watch), (depth(mm(4.0)), depth(mm(4.775))));
}

#[test]
fn at_four_thirty_seconds_the_wet_road_is_told_of_in_the_publishers_words() {
    // AAA with the Automobile Club of Southern California, 2018, read second-hand.
    let vehicle = car(Jurisdiction::Eu);
    let told = wet_grip_caution(&Yardstick::shipped(&vehicle), depth(in32(4.0))).expect("a caution");
    assert!(told.contains("AAA (2018)") && told.contains("87 ft") && told.contains("43 %"), "{told}");
    assert_eq!(wet_grip_caution(&Yardstick::shipped(&vehicle), depth(in32(4.1))), None);
    assert!(advises(&tread_of(in32(4.0), &vehicle), "wet road"));
    assert!(!advises(&tread_of(in32(4.1), &vehicle), "wet road"));
}

#[test]
fn four_tyres_at_about_five_thirty_seconds_have_47_percent_left_and_need_no_rotation() {
    // Common practice, no source: averages of 4.6, 5.7, 5.4 and 5.5 thirty-seconds, new at 9, floor 2.
    let tyre =
        |middle: f64| TyreTread::of_three([middle - 0.3, middle + 0.4, middle - 0.1].map(|d| depth(in32(d))));
    let tyres = [4.6, 5.7, 5.4, 5.5].map(tyre);
    let share = usable_fraction_of_set(&tyres, depth(in32(9.0)), depth(in32(2.0))).expect("a share");
    assert_eq!(format!("{:.0} %", share * 100.0), "47 %");
    let [front_left, front_right, rear_left, rear_right] = tyres.map(Some);
    let advice = rotation_advice(
        &Yardstick::shipped(&car(Jurisdiction::Us)),
        [front_left, front_right],
        [rear_left, rear_right],
        Fitment::default(),
    );
    assert!(matches!(advice, RotationAdvice::NotDue { .. }), "{advice:?}");
    assert_eq!(usable_fraction_of_set(&[], depth(in32(9.0)), depth(in32(2.0))), None);
}
