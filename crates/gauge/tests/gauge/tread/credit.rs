//! What a promise of tread wear comes to (common practice, no source, but where one is named).

use gauge::{TreadPromise, promised_distance, tread_wear_credit, treadwear_against_control};
use proptest::prelude::*;
use quantity::{Distance, Entered, Unit};

fn miles(value: f64) -> Distance {
    Distance::parse(Entered::new(value, Unit::Mile)).expect("a distance")
}

#[test]
fn the_credit_is_the_price_times_the_share_not_driven() {
    // price x (W - m) / W.
    let credit = |driven| tread_wear_credit(18_000, miles(60_000.0), miles(driven));
    assert_eq!([0.0, 15_000.0, 45_000.0, 60_000.0, 70_000.0].map(credit), [18_000, 13_500, 4_500, 0, 0]);
}

#[test]
fn a_part_of_a_cent_is_not_credited() {
    assert_eq!(tread_wear_credit(100, miles(3.0), miles(1.0)), 66);
}

#[test]
fn rear_tyres_of_another_size_are_promised_half_the_distance() {
    // 60 000 mi, staggered sizes not rotatable: 30 000 mi for the rear tyres (usual maker's term).
    let half = promised_distance(miles(60_000.0), TreadPromise::HalfForRearOfStaggered);
    assert_eq!(half, miles(30_000.0));
    assert_eq!(promised_distance(miles(60_000.0), TreadPromise::Whole), miles(60_000.0));
    assert_eq!(tread_wear_credit(18_000, half, miles(15_000.0)), 9_000);
}

#[test]
fn a_treadwear_grade_is_relative_to_the_control() {
    // 49 CFR 575.104(d)(2) and (e), from memory: 400 is four times the control.
    assert!((treadwear_against_control(400) - 4.0).abs() < 1e-12);
}

proptest! {
    #[test]
    fn a_credit_never_grows_with_distance_nor_beyond_the_price(
        price in any::<i64>(),
        promised in any::<i64>(),
        a in any::<i64>(),
        b in any::<i64>(),
    ) {
        let credit = |driven| tread_wear_credit(price, Distance::from_mm(promised), Distance::from_mm(driven));
        prop_assert!(credit(a.min(b)) >= credit(a.max(b)));
        prop_assert!((0..=price.max(0)).contains(&credit(a)));
    }
}
