//! What heavier vehicles have: kinds of brake with floors of their own, drums, play of the linkage, dual tyres (sources beside
//! each row; else common practice, no source).

use crate::world::{advises, car, check, grade_all, in32, kpa, mm, psi, weighing};
use gauge::{BrakeKind, MadeAs, Yardstick, point, wear_point_of};
use model::Grade::{self, Attend, DoNotDrive, Good, Watch};
use model::Jurisdiction::{Eu, Uk, Us};
use model::horizon::Graded;
use model::{Jurisdiction, Place, Vehicle, Zone};
use proptest::prelude::*;
use quantity::{Entered, Unit};

const fn inches(value: f64) -> Entered {
    Entered::new(value, Unit::Count)
}

/// The lining of a wheel whose kind of brake was noted.
fn lining(code: &str, kind: &str, place: Place, entered: Entered, vehicle: &Vehicle) -> Graded {
    let zone = if code == "pad-thickness" { Zone::Inner } else { Zone::Lowest };
    let round =
        check(1, "2027-03-01").answered("brake-kind", place, kind).measured(code, place, zone, entered);
    round.graded(vehicle).into_iter().find(|graded| graded.point == code).expect("a grade")
}

/// 49 CFR 393.47(d) (read second-hand): 3/16 in of one strip and 1/4 in of two pads on a steered axle, 1/4 in elsewhere; air
/// discs 1/8 in; hydraulic 1/16 in.
#[test]
fn the_lining_of_a_commercial_vehicle_is_held_to_the_floor_of_its_kind_of_brake() {
    let heavy = weighing(9000, car(Us));
    let rows = [
        ("shoe-thickness", "air_drum_strip", Place::FrontLeft, 6.0),
        ("shoe-thickness", "air_drum_two_pads", Place::FrontLeft, 8.0),
        ("shoe-thickness", "air_drum_strip", Place::RearLeft, 8.0),
        ("pad-thickness", "air_disc", Place::RearLeft, 4.0),
    ];
    for (code, kind, place, floor) in rows {
        let graded = |value| lining(code, kind, place, in32(value), &heavy);
        let below = graded(floor - 0.1);
        assert_eq!((below.grade, below.source.as_str()), (DoNotDrive, "49 CFR 393.47(d)"), "{kind} {place}");
        assert_eq!(below.limit, Some(in32(floor)), "{below:?}");
        assert_ne!(graded(floor).source, "49 CFR 393.47(d)", "at the floor it is met: {kind} {place}");
    }
    let hydraulic = lining("shoe-thickness", "hydraulic", Place::RearLeft, in32(1.9), &heavy);
    assert_eq!((hydraulic.grade, hydraulic.source.as_str()), (DoNotDrive, "49 CFR 570.59(c)"));
}

/// The house's margins lie above the floor, as they do above its own setting: shoes 1.6, 2.0 and 2.5 mm.
#[test]
fn house_settings_move_up_with_a_commercial_floor() {
    let heavy = weighing(9000, car(Us));
    let grade = |value| lining("shoe-thickness", "air_drum_strip", Place::RearLeft, mm(value), &heavy).grade;
    // 1/4 in is 6.35 mm: attend to 6.75, watch to 7.25.
    let grades = [6.349, 6.35, 6.351, 6.75, 6.751, 7.25, 7.251].map(grade);
    assert_eq!(grades, [DoNotDrive, DoNotDrive, Attend, Attend, Watch, Watch, Good]);
    let shoes = wear_point_of("shoe-set").expect("it wears");
    let made_as = MadeAs { brake: Some(BrakeKind::AirDrumStrip), tyre: None };
    let limit = shoes.attend_limit(&Yardstick::shipped(&heavy), Place::RearLeft, made_as);
    assert_eq!(limit.depth.nm(), 6_750_000);
    assert!(limit.source.ends_with("above the floor of 49 CFR 393.47(d)"), "{}", limit.source);
}

#[test]
fn light_vehicles_and_other_laws_know_no_floor_by_kind() {
    for vehicle in [car(Us), weighing(9000, car(Eu)), weighing(None, car(Us))] {
        let graded = lining("shoe-thickness", "air_drum_strip", Place::RearLeft, mm(3.0), &vehicle);
        assert_eq!(graded.grade, Good, "{graded:?}");
    }
}

fn drum(diameter: Entered, vehicle: &Vehicle) -> Graded {
    check(1, "2027-03-01")
        .measured("drum-maximum", Place::RearLeft, Zone::Whole, mm(230.0))
        .measured("drum-diameter", Place::RearLeft, Zone::Whole, diameter)
        .graded_at(Place::RearLeft, vehicle)
}

/// 49 CFR 570.59(b) (verified first-hand): within the limit embossed on it.
#[test]
fn a_drum_is_graded_against_its_own_stamp() {
    let heavy = weighing(5000, car(Us));
    let grades = [229.5, 229.6, 230.0, 230.1].map(|value| drum(mm(value), &heavy).grade);
    assert_eq!(grades, [Good, Watch, Watch, DoNotDrive]);
    let rejected = drum(mm(230.1), &heavy);
    assert_eq!(rejected.source, "49 CFR 570.59(b)");
    assert_eq!(rejected.margin.map(|margin| margin.to_string()), Some("0.1 mm".to_owned()));
    assert_eq!(rejected.changes_when, "At or below 230 mm it would be better.");
    assert!(rejected.caution.is_some_and(|caution| caution.contains("brake dust")));
    assert_eq!(drum(mm(230.1), &car(Eu)).source, "the maker's own stamp, by house setting, no source");
    let unstamped = check(1, "2027-03-01")
        .measured("drum-diameter", Place::RearLeft, Zone::Whole, mm(229.0))
        .graded_at(Place::RearLeft, &heavy);
    assert_eq!((unstamped.grade, unstamped.limit), (Watch, None));
    assert!(advises(&unstamped, "off the drum itself"));
}

fn play(rim: Option<f64>, entered: Entered, vehicle: &Vehicle) -> Graded {
    let round = check(1, "2027-03-01");
    let round = match rim {
        Some(rim) => round.measured("rim-inches", Place::Vehicle, Zone::Whole, inches(rim)),
        None => round,
    };
    let round = round.measured("steering-play", Place::FrontLeft, Zone::Whole, entered);
    round.graded_at(Place::FrontLeft, vehicle)
}

/// 49 CFR 570.60, table 3 (read first-hand), over 10 000 lb: 1/4 in to 16 in, 3/8 in to 18 in, 1/2 in above.
#[test]
fn the_play_of_a_heavy_vehicles_linkage_is_held_to_the_size_of_its_rims() {
    let heavy = weighing(5000, car(Us));
    for (rim, most) in [(16.0, 8.0), (17.5, 12.0), (18.0, 12.0), (19.5, 16.0), (22.5, 16.0)] {
        let above = play(Some(rim), in32(most + 0.1), &heavy);
        assert_eq!((above.grade, above.source.as_str()), (DoNotDrive, "49 CFR 570.60, table 3"), "{rim} in");
        assert!(play(Some(rim), in32(most), &heavy).grade < DoNotDrive, "{rim} in");
    }
}

#[test]
fn play_asks_for_work_but_stops_nobody_where_the_rims_are_not_known() {
    let heavy = play(None, in32(20.0), &weighing(5000, car(Us)));
    assert_eq!(heavy.grade, Attend);
    assert!(
        heavy.reason.ends_with("is not on record.") && advises(&heavy, "diameter of the rims"),
        "{heavy:?}"
    );
}

#[test]
fn elsewhere_play_is_watched_above_an_eighth_and_attended_to_above_a_quarter_of_an_inch() {
    for vehicle in [car(Us), car(Uk), weighing(9000, car(Eu))] {
        let grades = [4.0, 4.1, 8.0, 8.1, 60.0].map(|value| play(Some(16.0), in32(value), &vehicle).grade);
        assert_eq!(grades, [Good, Watch, Watch, Attend, Attend]);
    }
}

fn dual(code: &str, entered: Entered, vehicle: &Vehicle) -> Graded {
    check(1, "2027-03-01")
        .measured(code, Place::RearLeft, Zone::Whole, entered)
        .graded_at(Place::RearLeft, vehicle)
}

/// Maryland COMAR 11.14.05.05 (read first-hand): within half an inch, 12.7 mm, of each other.
#[test]
fn dual_tyres_are_to_be_of_one_size() {
    let us = dual("dual-difference", mm(12.71), &car(Us));
    assert_eq!((us.grade, us.source.as_str()), (Attend, "Maryland COMAR 11.14.05.05"));
    assert_eq!(dual("dual-difference", in32(16.0), &car(Us)).grade, Good);
    let elsewhere = dual("dual-difference", mm(12.71), &car(Uk));
    assert_eq!((elsewhere.grade, elsewhere.standing.as_str()), (Attend, "common practice"));
}

#[test]
fn dual_tyres_are_to_be_of_one_pressure() {
    let grades = [5.0, 5.1].map(|value| dual("dual-pressure-difference", psi(value), &car(Us)).grade);
    assert_eq!(grades, [Good, Watch]);
    let watched = dual("dual-pressure-difference", kpa(40.0), &car(Us));
    assert!(advises(&watched, "look for a leak") && watched.caution.is_some(), "{watched:?}");
}

#[test]
fn none_of_it_is_taken_where_there_is_none() {
    let refused = |code: &str, place| {
        let point = point(code).expect("a point");
        point.accepts(place, Zone::Whole, point.units[0]).is_err()
    };
    assert!(refused("steering-play", Place::RearLeft) && refused("dual-difference", Place::FrontLeft));
    let noted = check(1, "2027-03-01")
        .answered("brake-kind", Place::FrontLeft, "air_disc")
        .measured("rim-inches", Place::Vehicle, Zone::Whole, inches(22.5))
        .measured("drum-maximum", Place::RearLeft, Zone::Whole, mm(230.0));
    assert_eq!(grade_all(&car(Us), &[noted.done()]), [], "what is only noted has no grade");
}

fn vehicles() -> impl Strategy<Value = Vehicle> {
    let law = prop::sample::select(Jurisdiction::ALL.to_vec());
    (law, prop::option::of(1000..12_000_u32)).prop_map(|(law, mass)| weighing(mass, car(law)))
}

proptest! {
    #[test]
    fn more_of_what_is_too_much_never_grades_better(
        vehicle in vehicles(), a in 0.0..1.0_f64, b in 0.0..1.0_f64, rim in prop::option::of(10.0..24.0_f64)
    ) {
        let (less, more) = (a.min(b), a.max(b));
        let drums = [less, more].map(|share| drum(mm(225.0 + 10.0 * share), &vehicle).grade);
        let plays = [less, more].map(|share| play(rim, mm(20.0 * share), &vehicle).grade);
        let duals = [less, more].map(|share| dual("dual-difference", mm(30.0 * share), &vehicle).grade);
        let apart = [less, more].map(|share| dual("dual-pressure-difference", kpa(90.0 * share), &vehicle).grade);
        for [one, other] in [drums, plays, duals, apart] {
            prop_assert!(one <= other);
        }
    }

    #[test]
    fn thinner_linings_of_any_kind_of_brake_never_grade_better(
        vehicle in vehicles(), kind in prop::sample::select(BrakeKind::ALL.to_vec()), a in 0.0..12.0_f64, b in 0.0..12.0_f64
    ) {
        for code in ["shoe-thickness", "pad-thickness"] {
            for place in [Place::FrontLeft, Place::RearRight] {
                let grade = |value: f64| lining(code, kind.word(), place, mm(value), &vehicle).grade;
                prop_assert!(grade(a.min(b)) >= grade(a.max(b)), "{code} {kind:?}");
            }
        }
    }

    #[test]
    fn wear_of_one_wheels_pads_never_makes_its_grade_better(
        vehicle in vehicles(), left in 2.0..12.0_f64, right in 2.0..12.0_f64, wear in 0.0..2.0_f64
    ) {
        let grade = |left: f64| -> Grade {
            let round = check(1, "2027-03-01").pads(Place::RearLeft, mm(left), mm(left));
            round.pads(Place::RearRight, mm(right), mm(right)).graded_at(Place::RearLeft, &vehicle).grade
        };
        prop_assert!(grade(left - wear) >= grade(left));
    }

    #[test]
    fn the_unit_of_entry_never_changes_these_grades(vehicle in vehicles(), value in 0.0..30.0_f64) {
        let in_unit = |entered: Entered, unit| Entered::from_exact(entered.exact().expect("a quantity"), unit);
        let (metric, pressure) = (mm(value), kpa(3.0 * value));
        let (imperial, as_psi) = (in_unit(metric, Unit::ThirtySecondInch), in_unit(pressure, Unit::Psi));
        prop_assert_eq!(play(Some(17.5), metric, &vehicle).grade, play(Some(17.5), imperial, &vehicle).grade);
        let dual_grade = |entered| dual("dual-difference", entered, &vehicle).grade;
        prop_assert_eq!(dual_grade(metric), dual_grade(imperial));
        let apart = |entered| dual("dual-pressure-difference", entered, &vehicle).grade;
        prop_assert_eq!(apart(pressure), apart(as_psi));
        let wide = mm(215.0 + value);
        let as_inches = in_unit(wide, Unit::ThirtySecondInch);
        prop_assert_eq!(drum(wide, &vehicle).grade, drum(as_inches, &vehicle).grade);
    }
}
