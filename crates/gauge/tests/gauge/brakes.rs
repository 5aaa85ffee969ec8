//! Drum shoes, rotors and yearly care (sources beside each row; else common practice, no source).

use crate::world::{advises, car, check, component, grade_with, in32, mm, weighing};
use chrono::NaiveDate;
use gauge::{
    Axle, BrakeKind, Part, Yardstick, brake_care, commercial_lining_floor, drum_grade, over_rivets_floor,
    rotor_grade, shoe_limits,
};
use model::Grade::{Attend, DoNotDrive, Good, Watch};
use model::Jurisdiction::{Eu, Uk, Us};
use model::{Grade, Jurisdiction, Place, Powertrain, Vehicle, Zone};
use proptest::prelude::*;
use quantity::{Depth, Entered};

fn depth(entered: Entered) -> Depth {
    Depth::parse(entered).expect("a depth")
}

fn shoes_of(entered: Entered, vehicle: &Vehicle) -> Grade {
    let round = check(1, "2027-03-01").measured("shoe-thickness", Place::RearLeft, Zone::Lowest, entered);
    round.graded_at(Place::RearLeft, vehicle).grade
}

#[test]
fn shoes_have_a_row_of_their_own() {
    // New 4 to 6 mm, watch 2.5, attend 2.0, do_not_drive 1.6 mm.
    let rows = [
        (4.0, Good),
        (2.501, Good),
        (2.5, Watch),
        (2.001, Watch),
        (2.0, Attend),
        (1.601, Attend),
        (1.6, DoNotDrive),
    ];
    for (value, expected) in rows {
        for law in [Us, Uk, Eu] {
            assert_eq!(shoes_of(mm(value), &car(law)), expected, "{value} mm under {law} law");
        }
    }
}

#[test]
fn below_the_floor_of_inspection_the_law_is_named() {
    let source = |entered, vehicle: &Vehicle| {
        let round = check(1, "2027-03-01").measured("shoe-thickness", Place::RearLeft, Zone::Lowest, entered);
        round.graded_at(Place::RearLeft, vehicle).source
    };
    // 49 CFR 570.5 (from memory), 49 CFR 570.59(c) (verified first-hand): 1/16 in bonded, which is 1.5875 mm.
    assert_eq!(source(in32(1.9), &car(Us)), "49 CFR 570.5");
    assert_eq!(source(in32(1.9), &weighing(4537, car(Us))), "49 CFR 570.59(c)");
    assert_eq!(source(mm(1.49), &car(Uk)), "UK annual test, below it dangerous");
    assert_eq!(source(in32(2.0), &car(Us)), "house setting for shoes, no source");
}

#[test]
fn a_riveted_lining_keeps_one_thirty_second_over_its_rivets() {
    // 49 CFR 570.59(c) over 10 000 lb (verified first-hand), 570.5 below (from memory): 1/32 in over the fastener.
    for (law, mass) in [(Us, 1800), (Us, 4537), (Eu, 1800)] {
        let vehicle = weighing(mass, car(law));
        let grade = |entered| {
            check(1, "2027-03-01")
                .measured("shoe-over-rivets", Place::RearLeft, Zone::Lowest, entered)
                .graded_at(Place::RearLeft, &vehicle)
                .grade
        };
        assert_eq!([in32(1.0), mm(0.793)].map(grade), [Good, DoNotDrive], "{law} {mass} kg");
    }
    let floor = |vehicle: &Vehicle| over_rivets_floor(&Yardstick::shipped(vehicle), Place::RearLeft);
    assert_eq!(floor(&car(Us)), Some(depth(in32(1.0))));
    assert_eq!(floor(&car(Eu)), None);
}

#[test]
fn the_thinner_of_two_unlike_wheels_is_watched() {
    let vehicle = car(Us);
    let round = check(1, "2027-03-01")
        .measured("shoe-thickness", Place::RearLeft, Zone::Lowest, mm(3.0))
        .measured("shoe-thickness", Place::RearRight, Zone::Lowest, mm(5.1));
    let left = round.clone().graded_at(Place::RearLeft, &vehicle);
    assert_eq!((left.grade, round.graded_at(Place::RearRight, &vehicle).grade), (Watch, Good));
    assert!(left.reason.contains("differ by 2.1 mm") && advises(&left, "cylinder"), "{left:?}");
    assert!(left.caution.is_some_and(|caution| caution.contains("service mode")));
}

#[test]
fn a_rotor_below_its_own_stamp_is_rejected_even_if_the_pads_are_new() {
    // 49 CFR 570.59(b) (verified first-hand; 570.5 from memory): 21.9 mm, stamped 22.0 mm.
    let grade = |thickness| {
        check(1, "2027-03-01")
            .measured("rotor-minimum", Place::FrontLeft, Zone::Whole, mm(22.0))
            .measured("rotor-thickness", Place::FrontLeft, Zone::Lowest, mm(thickness))
            .pads(Place::FrontLeft, mm(12.0), mm(12.0))
            .graded(&weighing(5000, car(Us)))
            .into_iter()
            .find(|graded| graded.point == "rotor-thickness")
            .expect("a grade")
    };
    let rejected = grade(21.9);
    assert_eq!((rejected.grade, rejected.source.as_str()), (DoNotDrive, "49 CFR 570.59(b)"));
    assert_eq!(rejected.margin.map(|margin| margin.to_string()), Some("-0.1 mm".to_owned()));
    assert!(advises(&rejected, "however good the pads"), "{:?}", rejected.advice);
    assert_eq!([22.0, 22.49, 22.5].map(|value| grade(value).grade), [Watch, Watch, Good]);
}

#[test]
fn a_rotor_without_its_stamp_is_not_judged_but_the_gap_is_told() {
    let graded = check(1, "2027-03-01")
        .measured("rotor-thickness", Place::FrontLeft, Zone::Lowest, mm(21.9))
        .graded_at(Place::FrontLeft, &car(Us));
    assert_eq!((graded.grade, graded.limit), (Watch, None));
    assert!(graded.reason.contains("is not on record") && advises(&graded, "off the rotor itself"));
}

#[test]
fn the_stamp_of_a_rotor_that_has_been_replaced_says_nothing_of_the_new_one() {
    let vehicle = car(Us);
    let inspections = [
        check(1, "2027-02-01").measured("rotor-minimum", Place::FrontLeft, Zone::Whole, mm(22.0)).done(),
        check(2, "2027-03-01").measured("rotor-thickness", Place::FrontLeft, Zone::Lowest, mm(21.9)).done(),
    ];
    let component = component(7, "rotor");
    let grade = |day: &str| {
        let since: NaiveDate = day.parse().expect("a day");
        let part = Part { component: &component, place: Place::FrontLeft, since };
        grade_with(&vehicle, &inspections, &[part])[0].grade
    };
    assert_eq!([grade("2027-02-01"), grade("2027-02-02")], [DoNotDrive, Watch]);
}

#[test]
fn a_stamp_has_no_grade_of_its_own() {
    let grades = check(1, "2027-03-01")
        .measured("rotor-minimum", Place::FrontLeft, Zone::Whole, mm(22.0))
        .graded(&car(Us));
    assert_eq!(grades, []);
}

#[test]
fn a_drum_turned_beyond_its_stamp_is_rejected() {
    // 49 CFR 570.59(b) (verified first-hand): within the limit embossed on it.
    let heavy = weighing(5000, car(Us));
    let grade = |diameter, vehicle: &Vehicle| {
        let yardstick = Yardstick::shipped(vehicle);
        drum_grade(&yardstick, Place::RearLeft, depth(mm(diameter)), depth(mm(230.0)))
    };
    let grades = [229.5, 229.6, 230.0, 230.1].map(|value| grade(value, &heavy).0);
    assert_eq!(grades, [Good, Watch, Watch, DoNotDrive]);
    assert_eq!(grade(230.1, &heavy).1.source, "49 CFR 570.59(b)");
    assert_eq!(grade(230.1, &car(Eu)).0, DoNotDrive);
}

#[test]
fn commercial_floors_hang_on_kind_and_axle() {
    // 49 CFR 393.47(d) (verified second-hand).
    let rows = [
        (BrakeKind::AirDrumStrip, Axle::Front, Some(6.0)),
        (BrakeKind::AirDrumTwoPads, Axle::Front, Some(8.0)),
        (BrakeKind::AirDisc, Axle::Front, Some(4.0)),
        (BrakeKind::Hydraulic, Axle::Front, Some(2.0)),
        (BrakeKind::Electric, Axle::Front, None),
        (BrakeKind::AirDrumStrip, Axle::Rear, Some(8.0)),
        (BrakeKind::AirDrumTwoPads, Axle::Rear, Some(8.0)),
        (BrakeKind::AirDisc, Axle::Rear, Some(4.0)),
        (BrakeKind::Hydraulic, Axle::Rear, Some(2.0)),
        (BrakeKind::Electric, Axle::Rear, Some(2.0)),
    ];
    for (kind, axle, thirty_seconds) in rows {
        let floor = commercial_lining_floor(kind, axle).map(gauge::Limit::exact);
        let expected = thirty_seconds.map(|value| in32(value).exact().expect("a depth"));
        assert_eq!(floor, expected, "{kind:?} {axle:?}");
    }
}

#[test]
fn electrics_and_hybrids_have_their_brakes_freed_every_year() {
    for powertrain in [Powertrain::BatteryElectric, Powertrain::Hybrid] {
        let care = brake_care(powertrain).expect("care");
        assert_eq!(care.every_months, 12);
        assert!(care.tasks.iter().any(|task| task.contains("slide pins")));
        assert!(care.tasks.iter().any(|task| task.contains("rust")));
        assert!(care.caution.contains("service mode") && care.caution.contains("orange"));
    }
    assert_eq!([Powertrain::Petrol, Powertrain::Diesel].map(brake_care), [None, None]);
}

fn any_vehicle() -> impl Strategy<Value = Vehicle> {
    let law = prop::sample::select(Jurisdiction::ALL.to_vec());
    (law, prop::option::of(1000..9000_u32)).prop_map(|(law, mass)| weighing(mass, car(law)))
}

proptest! {
    #[test]
    fn thinner_shoes_and_rotors_never_grade_better(vehicle in any_vehicle(), a in 0.0..25.0_f64, b in 0.0..25.0_f64) {
        let (less, more) = (mm(a.min(b)), mm(a.max(b)));
        prop_assert!(shoes_of(less, &vehicle) >= shoes_of(more, &vehicle));
        let yardstick = Yardstick::shipped(&vehicle);
        let rotor = |entered| rotor_grade(&yardstick, Place::FrontLeft, depth(entered), depth(mm(12.0))).0;
        prop_assert!(rotor(less) >= rotor(more));
        let drum = |entered| drum_grade(&yardstick, Place::RearLeft, depth(entered), depth(mm(12.0))).0;
        prop_assert!(drum(less) <= drum(more));
    }

    #[test]
    fn the_unit_changes_no_grade_of_shoes(vehicle in any_vehicle(), thirty_seconds in 0.0..30.0_f64) {
        let inches = in32(thirty_seconds);
        let millimetres = Entered::from_exact(inches.exact().expect("a depth"), quantity::Unit::Millimetre);
        prop_assert_eq!(shoes_of(inches, &vehicle), shoes_of(millimetres, &vehicle));
    }

    #[test]
    fn forecasts_are_given_the_thickness_at_which_shoes_ask_for_work(vehicle in any_vehicle()) {
        let limits = shoe_limits(&Yardstick::shipped(&vehicle), Place::RearLeft);
        for (depth, at, above) in
            [(limits.do_not_drive, DoNotDrive, Attend), (limits.attend, Attend, Watch), (limits.watch, Watch, Good)]
        {
            let grade = |nm: i64| shoes_of(Entered::from_exact(nm, quantity::Unit::Millimetre), &vehicle);
            prop_assert_eq!([grade(depth.nm()), grade(depth.nm() + 1)], [at, above]);
        }
    }
}
