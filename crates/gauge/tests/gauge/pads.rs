//! Brake pads against floors of inspection (sources beside each row) and workshop habit (common practice, no source).

use crate::world::{advises, car, check, grade_all, in32, mm, pads_of, weighing};
use gauge::{Yardstick, pad_limits};
use model::Grade::{Attend, DoNotDrive, Good, Watch};
use model::Jurisdiction::{Eu, Uk, Us};
use model::{Place, Zone};
use quantity::Depth;

#[test]
fn pads_are_watched_at_four_attended_to_at_three_and_stop_the_vehicle_at_two_millimetres() {
    let rows = [
        (4.01, Good),
        (4.0, Watch),
        (3.01, Watch),
        (3.0, Attend),
        (2.01, Attend),
        (2.0, DoNotDrive),
        (0.0, DoNotDrive),
    ];
    for (value, expected) in rows {
        assert_eq!(pads_of(mm(value), &car(Eu)).grade, expected, "{value} mm");
    }
}

#[test]
fn below_a_floor_of_inspection_the_rule_is_named() {
    let rows = [
        // 49 CFR 570.59(c): 1/16 in bonded, over 10 000 lb (verified first-hand).
        (weighing(5000, car(Us)), in32(1.9), "49 CFR 570.59(c)", "verified"),
        // 49 CFR 570.5: the same figure to 10 000 lb (from memory).
        (car(Us), in32(1.9), "49 CFR 570.5", "memory"),
        // UK annual test: below 1.5 mm dangerous (from memory).
        (car(Uk), mm(1.49), "UK annual test, below it dangerous", "memory"),
        (car(Uk), mm(1.5), "house setting for pads, no source", "common practice"),
        (car(Eu), mm(1.0), "house setting for pads, no source", "common practice"),
    ];
    for (vehicle, value, source, standing) in rows {
        let graded = pads_of(value, &vehicle);
        assert_eq!(graded.grade, DoNotDrive);
        assert_eq!((graded.source.as_str(), graded.standing.as_str()), (source, standing), "{value}");
    }
}

#[test]
fn with_the_inner_pad_unseen_the_grade_is_watch_at_best() {
    let outer = |value| {
        check(1, "2027-03-01").outer_pad(Place::RearLeft, mm(value)).graded_at(Place::RearLeft, &car(Eu))
    };
    assert_eq!([outer(10.0), outer(3.0), outer(1.0)].map(|graded| graded.grade), [Watch, Attend, DoNotDrive]);
    assert_eq!(outer(10.0).reason, "Only the outer pad was measured (10 mm); the inner one may be lower.");
}

#[test]
fn of_two_equal_pads_the_inner_one_governs_whichever_was_measured_first() {
    let inner_first = check(1, "2027-03-01").pads(Place::FrontLeft, mm(3.0), mm(3.0));
    let outer_first = check(1, "2027-03-01").outer_pad(Place::FrontLeft, mm(3.0)).measured(
        "pad-thickness",
        Place::FrontLeft,
        Zone::Inner,
        mm(3.0),
    );
    let reasons = [inner_first, outer_first].map(|check| check.graded_at(Place::FrontLeft, &car(Eu)).reason);
    let expected =
        "Friction material of 3 mm on the inner pad is at or below 3 mm, where pads are to be replaced.";
    assert_eq!(reasons, [expected, expected]);
}

#[test]
fn pads_of_one_caliper_that_differ_by_more_than_two_millimetres_point_to_it() {
    // Inner 4 mm, outer 7 mm: difference 3 mm, above 2 mm, sticking slide pin or piston suspected (common practice).
    let graded = |inner, outer| {
        check(1, "2027-03-01")
            .pads(Place::FrontLeft, mm(inner), mm(outer))
            .graded_at(Place::FrontLeft, &car(Eu))
    };
    assert_eq!(graded(6.0, 8.0).grade, Good);
    let suspect = graded(6.0, 8.1);
    assert_eq!(suspect.grade, Watch);
    assert!(suspect.reason.contains("sticking piston or slide pin"), "{}", suspect.reason);
    assert!(suspect.caution.is_some(), "brakes are opened");
    assert!(advises(&graded(4.0, 7.0), "Attend to the caliper"));
}

#[test]
fn wheels_of_one_axle_that_differ_by_more_than_two_millimetres_point_to_a_caliper() {
    let axle = |left, right| {
        check(1, "2027-03-01")
            .pads(Place::RearLeft, mm(left), mm(left))
            .pads(Place::RearRight, mm(right), mm(right))
            .graded(&car(Eu))
            .into_iter()
            .map(|graded| graded.grade)
            .collect::<Vec<_>>()
    };
    assert_eq!(axle(6.0, 8.0), [Good, Good]);
    // Only the thinner one is graded for it: more wear of the other must never make its grade better.
    assert_eq!(axle(6.0, 8.1), [Watch, Good]);
    assert_eq!(axle(8.1, 6.0), [Good, Watch]);
}

#[test]
fn wheels_of_different_axles_or_days_are_not_compared() {
    let vehicle = car(Eu);
    let axles = check(1, "2027-03-01").pads(Place::FrontLeft, mm(5.0), mm(5.0)).pads(
        Place::RearLeft,
        mm(9.0),
        mm(9.0),
    );
    let earlier = check(1, "2027-02-01").pads(Place::RearRight, mm(5.0), mm(5.0)).done();
    let later = check(2, "2027-03-01").pads(Place::RearLeft, mm(9.0), mm(9.0)).done();
    let grades = axles.graded(&vehicle).into_iter().chain(grade_all(&vehicle, &[earlier, later]));
    assert!(grades.into_iter().all(|graded| graded.grade == Good));
}

#[test]
fn a_wheel_whose_inner_pad_was_seen_is_not_compared_with_one_whose_was_not() {
    let graded = check(1, "2027-03-01")
        .pads(Place::FrontLeft, mm(7.0), mm(8.5))
        .outer_pad(Place::FrontRight, mm(9.5))
        .graded_at(Place::FrontLeft, &car(Eu));
    assert_eq!(graded.grade, Good);
}

#[test]
fn forecasts_are_given_the_thicknesses_at_which_grades_change() {
    let limits = pad_limits(&Yardstick::shipped(&weighing(5000, car(Us))), Place::FrontLeft);
    let expected = [2.0, 3.0, 4.0].map(|value| Depth::parse(mm(value)).expect("a depth"));
    assert_eq!([limits.do_not_drive, limits.attend, limits.watch], expected);
}
