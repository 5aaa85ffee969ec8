//! Which measurements tell wear, which may be held against each other, and the depth at which a part asks for work.

use crate::world::{Check, THREE, WHEELS, car, check, grade_all, in32, mm};
use gauge::{MadeAs, Yardstick, depth_sets, wear_point_of, wear_points};
use model::{Grade, Jurisdiction, Measurement, Place, Vehicle, Zone};
use quantity::Entered;

const PLACE: Place = Place::FrontLeft;

/// The two lowest values that may be compared, in the unit entered.
fn compared(before: Check, now: Check) -> Option<[f64; 2]> {
    let inspections = [before.done(), now.done()];
    let sets = depth_sets(&inspections);
    sets[0].comparable(&sets[1]).map(|pair| pair.map(|value: &Measurement| value.entered.value))
}

fn earlier() -> Check {
    check(1, "2027-03-01")
}

fn later() -> Check {
    check(2, "2027-06-01")
}

#[test]
fn depths_come_in_the_order_of_time_whatever_the_order_of_inspections() {
    let inspections = [
        later().lowest_tread(PLACE, mm(5.0)).done(),
        earlier().tread(PLACE, [6.5, 6.0, 6.2].map(mm)).pads(PLACE, mm(7.0), mm(8.0)).done(),
        check(3, "2027-04-01").lowest_tread(PLACE, mm(9.9)).clock_in_doubt().done(),
        check(4, "2027-05-01").measured("tread-depth", PLACE, Zone::Lowest, mm(90.0)).done(),
    ];
    let found: Vec<(&str, f64)> =
        depth_sets(&inspections).iter().map(|set| (set.point(), set.lowest().entered.value)).collect();
    assert_eq!(found, [("pad-thickness", 7.0), ("tread-depth", 6.0), ("tread-depth", 5.0)]);
}

#[test]
fn three_places_and_the_lowest_place_may_be_compared_and_one_pad_with_that_pad_only() {
    let three = earlier().tread(PLACE, [6.5, 6.0, 6.2].map(mm));
    assert_eq!(compared(three.clone(), later().lowest_tread(PLACE, mm(5.0))), Some([6.0, 5.0]));
    let centre = later().measured("tread-depth", PLACE, Zone::Centre, mm(5.5));
    assert_eq!(compared(three, centre.clone()), Some([6.0, 5.5]));
    let inner = earlier().measured("tread-depth", PLACE, Zone::Inner, mm(4.0));
    assert_eq!(compared(inner, centre), None);
    let both_pads = earlier().pads(PLACE, mm(4.0), mm(8.0));
    assert_eq!(compared(both_pads, later().outer_pad(PLACE, mm(7.5))), Some([8.0, 7.5]));
}

#[test]
fn only_an_outer_pad_or_two_of_three_places_is_not_the_whole() {
    let is_whole = |check: Check| depth_sets(&[check.done()])[0].is_whole();
    assert!(is_whole(earlier().lowest_tread(PLACE, mm(5.0))));
    assert!(is_whole(earlier().tread(PLACE, [6.5, 6.0, 6.2].map(mm))));
    assert!(is_whole(earlier().pads(PLACE, mm(4.0), mm(8.0))));
    assert!(!is_whole(earlier().outer_pad(PLACE, mm(8.0))));
    let two =
        THREE[..2].iter().fold(earlier(), |check, zone| check.measured("tread-depth", PLACE, *zone, mm(5.0)));
    assert!(!is_whole(two));
}

/// The grade of one part of this kind at exactly this depth.
fn grade_at(kind: &str, vehicle: &Vehicle, exact: i64) -> Grade {
    let zones: &[Zone] = if kind == "pad-set" { &[Zone::Inner, Zone::Outer] } else { &[Zone::Lowest] };
    let point = wear_point_of(kind).expect("a kind that wears").point;
    let mut inspection = zones
        .iter()
        .fold(earlier(), |check, zone| check.measured(point, Place::RearLeft, *zone, mm(5.0)))
        .done();
    inspection.measurements.iter_mut().for_each(|value| value.exact = exact);
    grade_all(vehicle, &[inspection])[0].grade
}

#[test]
fn the_limit_of_wear_is_where_the_grade_becomes_attend() {
    for jurisdiction in [Jurisdiction::Us, Jurisdiction::Uk, Jurisdiction::Eu] {
        let vehicle = car(jurisdiction);
        for point in wear_points() {
            let limit = point
                .attend_limit(&Yardstick::shipped(&vehicle), Place::RearLeft, MadeAs::default())
                .depth
                .nm();
            let above = grade_at(point.kind, &vehicle, limit + 1);
            assert!(above < Grade::Attend, "{} under {jurisdiction:?}: {above:?}", point.kind);
            let below = grade_at(point.kind, &vehicle, limit - 1);
            assert_eq!(below, Grade::Attend, "{} under {jurisdiction:?}", point.kind);
        }
    }
}

/// House settings: 0.8 mm of tread above the law (2/32 in is 1.5875 mm, 49 CFR 570.9), 3 mm of pad, 2 mm of shoe.
#[test]
fn the_limits_are_told_with_their_sources() {
    let vehicle = car(Jurisdiction::Us);
    let of = |kind: &str| {
        wear_point_of(kind).expect("it wears").attend_limit(
            &Yardstick::shipped(&vehicle),
            PLACE,
            MadeAs::default(),
        )
    };
    let (tread, pads, shoes) = (of("tyre"), of("pad-set"), of("shoe-set"));
    assert_eq!([tread.depth.nm(), pads.depth.nm(), shoes.depth.nm()], [2_387_500, 3_000_000, 2_000_000]);
    assert_eq!(tread.source, "house setting for tread, no source, above the floor of 49 CFR 570.9(a)");
    assert_eq!(pads.source, "house setting for pads, no source");
    assert_eq!(shoes.source, "house setting for shoes, no source");
}

#[test]
fn more_than_the_error_of_a_gauge_is_better() {
    let is_better = |kind: &str, before: Entered, now: Entered| {
        let [before, now] = [before, now].map(|value| value.exact().expect("a depth"));
        wear_point_of(kind).expect("it wears").is_better(before, now)
    };
    assert!(!is_better("tyre", mm(5.0), mm(5.8)) && is_better("tyre", mm(5.0), mm(5.81)));
    // 1/32 in is 0.79 mm: the finest step of a tread gauge is no improvement.
    assert!(!is_better("tyre", in32(7.0), in32(8.0)) && is_better("tyre", in32(7.0), in32(9.0)));
    assert!(!is_better("pad-set", mm(5.0), mm(6.0)) && is_better("pad-set", mm(5.0), mm(6.01)));
}

#[test]
fn a_spare_does_not_wear_and_other_kinds_have_no_point() {
    for point in wear_points() {
        assert_eq!(point.mm_per_1000_km(Place::Spare), None);
        assert!(WHEELS.into_iter().all(|place| point.mm_per_1000_km(place) > Some(0.0)));
        assert!(point.source.contains("no source") && point.tau > 0.0);
    }
    assert!(wear_point_of("battery").is_none());
}
