//! Tread against legal floors (sources beside each row) and workshop habit (common practice, no source).

mod age;
mod credit;
mod irregular;
mod noted;
mod season;

use crate::world::{advises, car, check, in32, mm, tread_of, weighing};
use gauge::{Yardstick, tread_limits, usable_fraction};
use model::Grade::{Attend, DoNotDrive, Good, Watch};
use model::Jurisdiction::{Eu, Uk, Us};
use model::{Place, Zone};
use quantity::{Depth, Entered, Unit};

fn depth(entered: Entered) -> Depth {
    Depth::parse(entered).expect("a depth")
}

#[test]
fn a_tyre_at_the_legal_floor_may_be_driven_and_one_below_it_may_not() {
    let rows = [
        // 49 CFR 570.9(a): 2/32 in, to 10 000 lb (from memory).
        (Us, 1800, Place::FrontLeft, in32(2.0), in32(1.9)),
        (Us, 4536, Place::FrontLeft, in32(2.0), mm(1.587)),
        // 49 CFR 570.62(a): 4/32 in each front tyre, 2/32 in others, over 10 000 lb (verified first-hand).
        (Us, 4537, Place::FrontRight, in32(4.0), in32(3.9)),
        (Us, 4537, Place::RearRight, in32(2.0), in32(1.9)),
        // C&U Regulations 1986, reg 27: 1.6 mm to 3500 kg, 1.0 mm above (verified second-hand).
        (Uk, 3500, Place::FrontLeft, mm(1.6), mm(1.59)),
        (Uk, 3501, Place::FrontLeft, mm(1.0), mm(0.99)),
        // Directive 89/459/EEC: 1.6 mm (from memory).
        (Eu, 1800, Place::RearLeft, mm(1.6), mm(1.59)),
    ];
    for (law, mass, place, at_floor, below) in rows {
        let vehicle = weighing(mass, car(law));
        let grade =
            |entered| check(1, "2027-03-01").lowest_tread(place, entered).graded_at(place, &vehicle).grade;
        assert_eq!((grade(at_floor), grade(below)), (Attend, DoNotDrive), "{law} {mass} kg {place}");
    }
}

#[test]
fn a_reading_between_two_thirty_seconds_and_one_point_six_millimetres_passes_one_law_and_fails_the_other() {
    // 2/32 in = 1.5875 mm exactly (inch of 25.4 mm, computed).
    let grades = [Us, Uk, Eu].map(|law| tread_of(mm(1.59), &car(law)).grade);
    assert_eq!(grades, [Attend, DoNotDrive, DoNotDrive]);
}

#[test]
fn grades_change_at_the_floor_then_eight_tenths_above_it_then_at_the_watch_mark() {
    // Margins above the law: common practice, no source.
    let rows = [
        (Eu, 1.599, DoNotDrive),
        (Eu, 1.6, Attend),
        (Eu, 2.399, Attend),
        (Eu, 2.4, Watch),
        (Eu, 3.199, Watch),
        (Eu, 3.2, Good),
        (Us, 2.3875, Watch),
        (Us, 2.387, Attend),
    ];
    for (law, value, expected) in rows {
        assert_eq!(tread_of(mm(value), &car(law)).grade, expected, "{value} mm under {law} law");
    }
}

#[test]
fn a_heavy_vehicle_is_watched_from_higher_up_because_its_floor_is_higher() {
    // 4/32 in + 1.6 mm = 4.775 mm.
    let heavy = weighing(5000, car(Us));
    let grades = [4.774, 4.775].map(|value| tread_of(mm(value), &heavy).grade);
    assert_eq!(grades, [Watch, Good]);
    assert_eq!(tread_limits(&Yardstick::shipped(&heavy), Place::FrontLeft).watch, depth(mm(4.775)));
}

#[test]
fn the_lowest_of_three_places_governs() {
    // Outer 5, centre 3, inner 6 thirty-seconds: governing 3/32 in, spread 3/32 in, centre low, which over-inflation
    // does (common practice).
    let graded = check(1, "2027-03-01")
        .tread(Place::RearLeft, [in32(6.0), in32(3.0), in32(5.0)])
        .graded_at(Place::RearLeft, &car(Us));
    assert_eq!((graded.measured, graded.grade), (in32(3.0), Attend));
    assert!(graded.reason.starts_with("Tread of 3/32 in at the centre"), "{}", graded.reason);
    assert!(advises(&graded, "over-inflation"), "{:?}", graded.advice);
}

#[test]
fn the_margin_is_measured_less_limit_in_the_unit_entered() {
    let graded = tread_of(mm(2.0), &car(Eu));
    assert_eq!(graded.limit.map(|limit| limit.to_string()), Some("2.4 mm".to_owned()));
    assert_eq!(graded.margin.map(|margin| margin.to_string()), Some("-0.4 mm".to_owned()));
    assert_eq!(graded.source, "house setting for tread, no source; Directive 89/459/EEC");
    assert_eq!(graded.standing, "common practice");
}

#[test]
fn good_tread_is_measured_against_the_mark_where_watching_begins() {
    let graded = tread_of(mm(5.0), &car(Eu));
    assert_eq!(graded.limit.map(|limit| limit.to_string()), Some("3.2 mm".to_owned()));
    assert_eq!(
        graded.reason,
        "Tread of 5 mm at the lowest place found is not below 3.2 mm, where watching begins."
    );
}

#[test]
fn of_two_rules_that_agree_the_first_decides_and_the_other_is_told_too() {
    let graded = check(1, "2027-03-01")
        .tread(Place::RearLeft, [mm(3.0), mm(5.0), mm(5.0)])
        .graded_at(Place::RearLeft, &car(Eu));
    assert!(graded.reason.starts_with("Tread of 3 mm on the inner side is below"), "{}", graded.reason);
    assert!(advises(&graded, "the inner shoulder is low"), "{:?}", graded.advice);
}

#[test]
fn the_reason_shows_the_law_in_the_unit_entered_and_as_published() {
    let graded = tread_of(mm(1.2), &car(Us));
    assert_eq!(
        graded.reason,
        "Tread of 1.2 mm at the lowest place found is below the legal floor of 1.587 mm (2/32 in)."
    );
    assert_eq!((graded.source.as_str(), graded.standing.as_str()), ("49 CFR 570.9(a)", "memory"));
}

#[test]
fn uneven_wear_is_named_by_its_pattern_and_watched() {
    // Patterns and threshold: common practice, no source.
    let rows = [
        ([8.0, 6.9, 8.0], Some("the centre is low")),
        ([6.9, 8.0, 6.9], Some("both shoulders are low")),
        ([6.9, 8.0, 8.0], Some("the inner shoulder is low")),
        ([8.0, 8.0, 7.0], Some("the outer shoulder is low")),
        ([5.0, 6.5, 8.0], Some("the inner shoulder is low")),
        ([6.5, 5.0, 8.0], Some("the centre is low")),
        ([8.0, 7.01, 7.5], None),
    ];
    for (zones, pattern) in rows {
        let graded =
            check(1, "2027-03-01").tread(Place::RearLeft, zones.map(mm)).graded_at(Place::RearLeft, &car(Eu));
        let expected = if pattern.is_some() { Watch } else { Good };
        assert_eq!(graded.grade, expected, "{zones:?}");
        assert!(pattern.is_none_or(|words| graded.reason.contains(words)), "{zones:?}: {}", graded.reason);
    }
}

#[test]
fn one_value_below_four_millimetres_asks_for_three_places() {
    let vehicle = car(Eu);
    let asks = |graded| advises(&graded, "one value never proves");
    assert!(asks(tread_of(mm(3.9), &vehicle)));
    assert!(!asks(tread_of(mm(4.0), &vehicle)));
    let three = check(1, "2027-03-01").tread(Place::RearLeft, [mm(3.5); 3]);
    assert!(!asks(three.graded_at(Place::RearLeft, &vehicle)));
    let one_zone = check(1, "2027-03-01").measured("tread-depth", Place::RearLeft, Zone::Centre, mm(3.5));
    assert!(asks(one_zone.graded_at(Place::RearLeft, &vehicle)));
}

#[test]
fn a_worn_out_spare_is_attended_to_but_stops_nobody() {
    let spare = check(1, "2027-03-01").lowest_tread(Place::Spare, mm(0.5)).graded_at(Place::Spare, &car(Uk));
    assert_eq!(spare.grade, Attend);
    assert!(spare.reason.ends_with("it is the spare, which is not on the road."), "{}", spare.reason);
}

#[test]
fn a_spare_of_a_heavy_vehicle_is_held_to_the_floor_of_the_front_where_it_may_have_to_go() {
    let limits = tread_limits(&Yardstick::shipped(&weighing(5000, car(Us))), Place::Spare);
    assert_eq!(limits.do_not_drive, depth(in32(4.0)));
}

#[test]
fn a_vehicle_of_unknown_mass_counts_as_light_and_is_told_so_where_it_matters() {
    let unknown = weighing(None, car(Us));
    let front = tread_of(in32(3.5), &unknown);
    let rear =
        check(1, "2027-03-01").lowest_tread(Place::RearLeft, in32(3.5)).graded_at(Place::RearLeft, &unknown);
    assert_eq!(tread_limits(&Yardstick::shipped(&unknown), Place::FrontLeft).do_not_drive, depth(in32(2.0)));
    assert!(advises(&front, "No gross mass is on record"));
    assert!(!advises(&rear, "No gross mass is on record"), "both classes have the same floor at the rear");
}

#[test]
fn usable_tread_is_a_share_of_what_a_new_tyre_has_above_the_floor() {
    // (d - dmin)/(dnew - dmin), clamped: common practice, no source.
    let rows = [(6.0, 10.0, 2.0, 0.5), (1.5, 10.0, 2.0, 0.0), (11.0, 10.0, 2.0, 1.0)];
    for (left, new, floor, expected) in rows {
        let share =
            usable_fraction(depth(in32(left)), depth(in32(new)), depth(in32(floor))).expect("a share");
        assert!((share - expected).abs() < 1e-9, "{left} of {new} above {floor} is {share}");
    }
    assert_eq!(usable_fraction(depth(mm(3.0)), depth(mm(1.6)), depth(mm(1.6))), None);
}

#[test]
fn each_law_has_a_floor_for_every_mass_and_place() {
    let places = [Place::FrontLeft, Place::FrontRight, Place::RearLeft, Place::RearRight, Place::Spare];
    for law in [Us, Uk, Eu] {
        for mass in [None, Some(0), Some(3500), Some(3501), Some(4536), Some(4537), Some(u32::MAX)] {
            for place in places {
                let limits = tread_limits(&Yardstick::shipped(&weighing(mass, car(law))), place);
                assert!(limits.do_not_drive >= depth(mm(1.0)), "{law} {mass:?} {place}");
                assert!(limits.do_not_drive < limits.attend && limits.attend < limits.watch);
            }
        }
    }
}

#[test]
fn no_reason_claims_that_a_tyre_is_legal() {
    for tenths in 0..120 {
        let graded = tread_of(Entered::new(f64::from(tenths) / 10.0, Unit::Millimetre), &car(Uk));
        let said = graded.reason.to_lowercase();
        assert!(!said.contains("is legal") && !said.contains("all round"), "{said}");
    }
}
