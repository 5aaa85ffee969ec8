//! What the meter log and the service records add to what was measured (limits common practice or from memory, as named).

use crate::world::{advises, car, check, id};
use gauge::{Background, Subject, Yardstick};
use model::Grade::{Attend, Good, Watch};
use model::horizon::Graded;
use model::{Inspection, InspectionId, Jurisdiction, Place, Zone};
use quantity::{Distance, Entered, Unit};

const fn litres(value: f64) -> Entered {
    Entered::new(value, Unit::Litre)
}

/// Top-ups at these odometers, one a month, and where the vehicle stood then.
fn top_ups(point: &str, filled: &[(i64, f64)]) -> (Vec<Inspection>, Vec<(InspectionId, Distance)>) {
    let numbered = || filled.iter().enumerate().map(|(index, (km, value))| (index + 1, *km, *value));
    let inspections = numbered().map(|(number, _, value)| {
        let round = check(number, &format!("2027-{number:02}-01"));
        round.measured(point, Place::Vehicle, Zone::Whole, litres(value)).done()
    });
    let stands = numbered().map(|(number, km, _)| (id(number), Distance::from_km(km)));
    (inspections.collect(), stands.collect())
}

fn graded(point: &str, filled: &[(i64, f64)], oil_changes: &[i64]) -> Graded {
    let (inspections, stands) = top_ups(point, filled);
    let vehicle = car(Jurisdiction::Eu);
    let oil_changes: Vec<Distance> = oil_changes.iter().map(|km| Distance::from_km(*km)).collect();
    let background = Background { stands: &stands, oil_changes: &oil_changes, ..Background::default() };
    let yardstick = Yardstick::shipped(&vehicle);
    gauge::grade_all(&Subject { yardstick, inspections: &inspections, parts: &[], background }).remove(0)
}

/// Makers' usual allowance, from memory: a litre over 1,000 km; watched from half of it (house setting).
#[test]
fn oil_is_graded_by_what_is_used_since_it_was_changed() {
    // 2.0 L over 2,000 km since the change at 10,000 km: 1 L over 1,000 km.
    let thirsty = graded("oil-top-up", &[(11_000, 1.0), (12_000, 1.0)], &[10_000]);
    assert_eq!((thirsty.grade, thirsty.standing.as_str()), (Attend, "memory"), "{thirsty:?}");
    assert!(thirsty.reason.contains("uses 1 L (give or take"), "{}", thirsty.reason);
    assert_eq!(thirsty.limit, None, "a rate is on another scale than what was filled in");
    let watched = graded("oil-top-up", &[(11_000, 0.5), (12_000, 0.5)], &[10_000]);
    assert_eq!(watched.grade, Watch);
    let good = graded("oil-top-up", &[(12_000, 0.4), (14_000, 0.4)], &[10_000]);
    assert!(good.grade == Good && advises(&good, "uses 0.2 L"), "{good:?}");
}

#[test]
fn without_a_change_on_record_the_first_top_up_is_the_fill() {
    // 1.0 L at 12,000 km, 2,000 km after the first: half a litre over 1,000 km, whatever the first was.
    let watched = graded("oil-top-up", &[(10_000, 0.9), (12_000, 1.0)], &[]);
    assert_eq!(watched.grade, Watch, "{watched:?}");
    assert!(graded("oil-top-up", &[(10_000, 0.9)], &[]).advice.is_empty());
}

#[test]
fn the_newest_stretch_between_changes_that_tells_a_rate_is_told() {
    // 1 L over 1,000 km before the change at 20,000 km; after it 0.1 L over only 500 km tells nothing yet.
    let filled = [(11_000, 1.0), (12_000, 1.0), (20_500, 0.1)];
    assert_eq!(graded("oil-top-up", &filled, &[10_000, 20_000]).grade, Attend);
    let again = [(11_000, 1.0), (12_000, 1.0), (20_500, 0.1), (22_000, 0.1)];
    assert_eq!(graded("oil-top-up", &again, &[10_000, 20_000]).grade, Good);
}

#[test]
fn a_use_that_grows_is_told() {
    // By hand: 0.1 L then 0.6 L over each 2,000 km, errors by the mark 0.0354 L over 1,000 km each: 0.25 / 0.05 = 5 of them.
    let filled = [(12_000, 0.1), (14_000, 0.1), (16_000, 0.6), (18_000, 0.6)];
    let growing = graded("oil-top-up", &filled, &[10_000]);
    assert_eq!(growing.grade, Watch);
    assert!(growing.reason.contains("The use of oil is growing"), "{}", growing.reason);
}

/// House setting: watched from 3 L over 1,000 km.
#[test]
fn urea_is_graded_by_what_is_used_from_brim_to_brim() {
    let graded = |value| graded("urea-top-up", &[(10_000, 12.0), (14_000, value)], &[]);
    assert_eq!([11.9, 12.0].map(|value| graded(value).grade), [Good, Watch]);
    assert!(advises(&graded(12.0), "leaks at tank and injector"));
}

#[test]
fn top_ups_at_unknown_odometers_tell_no_rate() {
    let (inspections, _) = top_ups("oil-top-up", &[(10_000, 1.0), (11_000, 1.0)]);
    let vehicle = car(Jurisdiction::Eu);
    let (yardstick, background) = (Yardstick::shipped(&vehicle), Background::default());
    let grades = gauge::grade_all(&Subject { yardstick, inspections: &inspections, parts: &[], background });
    assert_eq!((grades[0].grade, grades[0].advice.len()), (Good, 0));
}

/// Months of age from the last change: tested from 24, replaced from 36 (common practice, no source).
#[test]
fn the_age_of_the_brake_fluid_stands_beside_its_water() {
    let inspection = check(1, "2027-03-01").measured(
        "brake-fluid-water",
        Place::Vehicle,
        Zone::Whole,
        Entered::new(1.0, Unit::Percent),
    );
    let inspections = [inspection.done()];
    let vehicle = car(Jurisdiction::Eu);
    let graded = |changed: &str| {
        let changes = [changed.parse().expect("a day"), "2020-01-01".parse().expect("a day")];
        let background = Background { brake_fluid_changes: &changes, ..Background::default() };
        let yardstick = Yardstick::shipped(&vehicle);
        gauge::grade_all(&Subject { yardstick, inspections: &inspections, parts: &[], background }).remove(0)
    };
    assert!(graded("2025-03-02").advice.is_empty(), "23 months and some days");
    assert!(advises(&graded("2025-03-01"), "24 months old then. Have the boiling point"));
    assert!(advises(&graded("2024-03-01"), "36 months old then. Have the brake fluid replaced"));
    assert_eq!(graded("2024-03-01").grade, Good, "age is advice only");
}
