//! When fitted components meet their limits.

use crate::world::{World, at, code, day, id, km};
use chrono::Days;
use model::horizon::WearOutlook;
use model::{ComponentHistory, MeasuredElsewhere, Measurement, Place, SpellElsewhere, WearRate, Zone};
use proptest::prelude::*;
use quantity::{Distance, Entered, Unit};
use std::collections::BTreeSet;

/// 49 CFR 570.9(a): 2/32 in, and 0.8 mm above it the house asks for work.
const LIMIT_MM: f64 = 2.3875;

/// 100 km a day from 1 January 2024, read every ten days until 9 April: 9,900 km, a day short of 100.
fn driven() -> World {
    World::new().steady("2024-01-01", "2024-04-09", 9, km(100.0))
}

fn mm(value: f64) -> Entered {
    Entered::new(value, Unit::Millimetre)
}

trait Fit: Sized {
    /// A tyre, 8 mm when new, fitted on this day.
    fn new_tyre(self, place: Place, from: &str) -> Self;
    /// Takes the component fitted last out on `to` and fits it elsewhere on `again`.
    fn moved(self, to: &str, place: Place, again: &str) -> Self;
    fn outlook(&self) -> WearOutlook;
}

fn odometer_on(on: &str) -> Distance {
    let days = (day(on) - day("2024-01-01")).num_days();
    Distance::from_km(100 * days)
}

impl Fit for World {
    fn new_tyre(self, place: Place, from: &str) -> Self {
        let mut world = self.fitted("tyre", place, from);
        world.facts.components.last_mut().expect("fitted").depth_new = Some(mm(8.0));
        world.facts.fittings.last_mut().expect("fitted").from_odometer = odometer_on(from);
        world
    }

    fn moved(mut self, to: &str, place: Place, again: &str) -> Self {
        let last = self.facts.fittings.last_mut().expect("one was fitted");
        last.to = Some(day(to));
        last.to_odometer = Some(odometer_on(to));
        let next = model::Fitting {
            id: id(9000 + u64::from(place as u8)),
            place,
            from: day(again),
            from_odometer: odometer_on(again),
            to: None,
            to_odometer: None,
            ..last.clone()
        };
        self.facts.fittings.push(next);
        self
    }

    fn outlook(&self) -> WearOutlook {
        let mut wear = self.horizon().wear;
        assert_eq!(wear.len(), 1, "{wear:?}");
        wear.swap_remove(0)
    }
}

fn near(one: f64, other: f64) -> bool {
    (one - other).abs() < 1e-6 * other.abs().max(1.0)
}

#[test]
fn a_new_tyre_wears_as_its_kind_does_until_it_is_measured() {
    let outlook = driven().new_tyre(Place::FrontLeft, "2024-01-01").outlook();
    // House setting: 0.16 mm over 1,000 km in front; 9.9 thousand km have been driven.
    let likely = (8.0 - LIMIT_MM) / 0.16 * 1000.0 - 9900.0;
    assert!(near(outlook.depth_mm, 8.0 - 0.16 * 9.9), "{outlook:?}");
    assert!(near(outlook.km_left[1].unwrap(), likely) && near(outlook.limit_mm, LIMIT_MM), "{outlook:?}");
    assert_eq!((outlook.measurements, outlook.point.as_str()), (0, "tread-depth"));
}

/// Posterior, Fieller's bounds and the days of the nine distances by numpy 2.4.6 and scipy 1.17.1:
/// `tests/oracles/wear_dates.py`, row `front_then_measured` (computed).
#[test]
fn measurements_tell_the_pace_as_numpy_and_scipy_find_it() {
    let world = driven()
        .new_tyre(Place::FrontLeft, "2024-01-01")
        .tread("2024-02-15 12:00", Place::FrontLeft, 7.1)
        .tread("2024-04-09 12:00", Place::FrontLeft, 6.0);
    let outlook = world.outlook();
    let expected = ORACLE_KM;
    for (found, expected) in outlook.km_left.iter().zip(expected) {
        assert!(near(found.unwrap(), expected), "{found:?} against {expected}");
    }
    let found = [outlook.crossing.early, outlook.crossing.likely, outlook.crossing.late];
    // 147.762244, 193.281689 and 249.611003 days from noon of 9 April.
    let expected = ["2024-09-04", "2024-10-19", "2024-12-15"].map(|on| Some(day(on)));
    assert_eq!(found, expected, "{outlook:?}");
}

const ORACLE_KM: [f64; 3] = [15_804.311_567_647_124, 18_685.693_197_961_737, 22_294.620_338_198_878];

fn kind_noted(world: World, when: &str, kind: &str) -> World {
    let point = engine::check_points().find(|point| point.code == "tyre-kind").expect("a point");
    world.measured(when, "tyre-kind", Place::FrontLeft, point.answered(kind).expect("an answer"))
}

/// Winter tyres are attended to below 4 mm (common practice, no source).
#[test]
fn a_winter_tyre_is_forecast_to_the_winter_limit() {
    let world = driven().new_tyre(Place::FrontLeft, "2024-01-01");
    let winter = kind_noted(world.clone(), "2024-02-01 09:00", "winter").outlook();
    // House setting: 0.16 mm over 1,000 km in front; 9.9 thousand km have been driven.
    let likely = (8.0 - 4.0) / 0.16 * 1000.0 - 9900.0;
    assert!(near(winter.limit_mm, 4.0) && near(winter.km_left[1].unwrap(), likely), "{winter:?}");
    let ordinary = kind_noted(world.clone(), "2024-02-01 09:00", "all_season").outlook();
    assert_eq!(ordinary, world.outlook());
    assert!(winter.crossing.likely < ordinary.crossing.likely);
    let other = kind_noted(driven(), "2024-02-01 09:00", "winter").new_tyre(Place::FrontLeft, "2024-02-02");
    assert!(near(other.outlook().limit_mm, LIMIT_MM), "that was the tyre before");
}

#[test]
fn nothing_is_said_of_a_tyre_of_which_nothing_is_known() {
    assert!(driven().fitted("tyre", Place::FrontLeft, "2024-01-01").horizon().wear.is_empty());
    let measured = driven().fitted("tyre", Place::FrontLeft, "2024-01-01").tread(
        "2024-02-15 12:00",
        Place::FrontLeft,
        7.1,
    );
    assert_eq!(measured.outlook().measurements, 1);
}

#[test]
fn nothing_is_said_before_a_reading_counts_nor_of_what_does_not_wear() {
    assert!(World::new().new_tyre(Place::FrontLeft, "2024-01-01").horizon().wear.is_empty());
    assert!(driven().new_tyre(Place::Spare, "2024-01-01").horizon().wear.is_empty());
    let battery = driven().fitted("battery", Place::Vehicle, "2024-01-01");
    assert!(battery.horizon().wear.is_empty());
}

#[test]
fn a_tyre_that_was_taken_out_is_not_forecast() {
    let mut world = driven().new_tyre(Place::FrontLeft, "2024-01-01");
    world.facts.fittings[0].to = Some(day("2024-03-01"));
    assert!(world.horizon().wear.is_empty());
}

#[test]
fn a_rotated_tyre_takes_its_history_along_and_time_in_store_does_not_count() {
    // 40 days in front, 20 in store, 39 behind: 4,000 km x 0.16 + 3,900 km x 0.09 in thousands.
    let world = driven()
        .new_tyre(Place::FrontLeft, "2024-01-01")
        .moved("2024-02-10", Place::RearLeft, "2024-03-01")
        .tread("2024-02-01 12:00", Place::FrontLeft, 7.6);
    let outlook = world.outlook();
    let gone = 4.0 * 0.16 + 3.9 * 0.09;
    assert_eq!((outlook.place, outlook.measurements), (Place::RearLeft, 1));
    let pace = outlook.mm_per_1000_km / 0.09;
    assert!(near(outlook.depth_mm, 8.0 - pace * gone), "{outlook:?}");
    let stayed = driven().new_tyre(Place::FrontLeft, "2024-01-01").outlook();
    assert!(outlook.crossing.likely > stayed.crossing.likely);
}

#[test]
fn a_measurement_at_the_place_before_the_tyre_came_is_another_tyres() {
    let world = driven()
        .new_tyre(Place::FrontLeft, "2024-01-01")
        .moved("2024-02-10", Place::RearLeft, "2024-02-10")
        .tread("2024-02-01 12:00", Place::RearLeft, 3.0)
        .tread("2024-02-10 12:00", Place::RearLeft, 7.4);
    assert_eq!(world.outlook().measurements, 1);
}

#[test]
fn three_places_are_told_by_their_lowest_and_one_pad_gives_way_to_both() {
    let three = |world: World, when: &str, zones: [(Zone, f64); 3]| {
        zones.into_iter().fold(world.inspection("yard-check", when), |mut world, (zone, depth)| {
            let number = 5000 + u64::try_from(world.facts.inspections.len()).unwrap() * 10 + zone as u64;
            let measurement = Measurement {
                id: id(number),
                point: code("tread-depth"),
                place: Place::FrontLeft,
                zone,
                entered: mm(depth),
                exact: mm(depth).exact().unwrap(),
            };
            world.facts.inspections.last_mut().unwrap().measurements.push(measurement);
            world
        })
    };
    let fresh = || driven().fitted("tyre", Place::FrontLeft, "2024-01-01");
    let zones = [(Zone::Inner, 5.0), (Zone::Centre, 4.0), (Zone::Outer, 5.1)];
    let of_three = three(fresh(), "2024-04-09 12:00", zones).outlook();
    let of_lowest = fresh().tread("2024-04-09 12:00", Place::FrontLeft, 4.0).outlook();
    assert_eq!(of_three.km_left, of_lowest.km_left);
    let zones = [(Zone::Centre, 3.0), (Zone::Outer, 3.1), (Zone::Outer, 3.2)];
    let partly = three(fresh().tread("2024-04-01 12:00", Place::FrontLeft, 4.0), "2024-04-09 12:00", zones);
    assert_eq!(partly.outlook().measurements, 1);
}

#[test]
fn a_step_up_begins_a_new_history_of_unknown_depth() {
    let before =
        driven().new_tyre(Place::FrontLeft, "2024-01-01").tread("2024-02-15 12:00", Place::FrontLeft, 4.0);
    let stepped = before.tread("2024-04-09 12:00", Place::FrontLeft, 7.0).outlook();
    let fresh = driven()
        .fitted("tyre", Place::FrontLeft, "2024-01-01")
        .tread("2024-04-09 12:00", Place::FrontLeft, 7.0)
        .outlook();
    assert_eq!(stepped.measurements, 1);
    assert_eq!((stepped.km_left, stepped.crossing), (fresh.km_left, fresh.crossing));
}

#[test]
fn a_measurement_after_the_last_reading_is_put_where_the_vehicle_is_expected() {
    let with = |when: &str, depth| {
        let world = driven().fitted("tyre", Place::FrontLeft, "2024-01-01");
        world.tread(when, Place::FrontLeft, depth).outlook()
    };
    // Forty days later, nearly 4,000 km on: what is 5 mm then was more at the last reading.
    let (later, at_once) = (with("2024-05-19 12:00", 5.0), with("2024-04-09 12:00", 5.0));
    assert!(later.depth_mm > at_once.depth_mm + 0.16 * 3.0, "{later:?}");
}

#[test]
fn the_odometer_told_at_a_fitting_gives_way_to_counted_readings_that_speak_against_it() {
    let mut slipped = driven().new_tyre(Place::FrontLeft, "2024-02-10");
    let told = slipped.outlook();
    slipped.facts.fittings[0].from_odometer = Distance::from_km(40_000);
    let found = slipped.outlook();
    // Between the readings of 6 and 15 February lies noon of the tenth: 4,000 km, as told.
    assert!(near(found.km_left[1].unwrap(), told.km_left[1].unwrap()), "{found:?} against {told:?}");
}

#[test]
fn a_replaced_odometer_loses_nothing_of_what_a_tyre_was_driven() {
    // At 19,600 km the new one showed 12; the tyre came at 2,812 km of it and has been driven 14,000 since.
    let mut world = World::new().steady("2024-01-01", "2024-07-15", 7, km(100.0));
    for weeks in 1..=24_u32 {
        let on = day("2024-07-15") + Days::new(u64::from(weeks) * 7);
        world = world.reading(&format!("{on} 12:00"), 12.0 + f64::from(weeks) * 700.0);
    }
    let mut world =
        world.replaced("2024-07-15 13:00", km(19_600.0), km(12.0)).new_tyre(Place::FrontLeft, "2024-08-12");
    world.facts.fittings[0].from_odometer = Distance::from_km(2812);
    assert!(near(world.outlook().depth_mm, 8.0 - 0.16 * 14.0), "{:?}", world.outlook());
    let said = world.because(&format!("wear:{}", world.facts.components[0].id));
    assert!(
        said.iter().any(|line| line.starts_with("Last counted reading: 16,812 km on 30 Dec 2024;")),
        "{said:?}"
    );
}

#[test]
fn the_odometer_told_at_a_fitting_is_of_the_instrument_of_that_day() {
    // Between 2,812 km on the 12th and 3,512 km on the 19th of the new one; told were 3,400 km on the 14th, where a
    // steady pace would have 3,012.
    let mut world = World::new()
        .reading("2024-07-15 12:00", 19_600.0)
        .replaced("2024-07-15 13:00", km(19_600.0), km(12.0))
        .reading("2024-08-12 12:00", 2812.0)
        .reading("2024-08-19 12:00", 3512.0)
        .new_tyre(Place::FrontLeft, "2024-08-14");
    world.facts.fittings[0].from_odometer = Distance::from_km(3400);
    assert!(near(world.outlook().depth_mm, 8.0 - 0.16 * 0.112), "{:?}", world.outlook());
}

#[test]
fn what_happened_on_another_vehicle_counts() {
    let plain = driven().new_tyre(Place::FrontLeft, "2024-01-01");
    let mut moved_in = plain.clone();
    let component = moved_in.facts.components[0].id;
    let measured = Measurement {
        id: id(7001),
        point: code("tread-depth"),
        place: Place::RearLeft,
        zone: Zone::Lowest,
        entered: mm(7.2),
        exact: mm(7.2).exact().unwrap(),
    };
    moved_in.facts.elsewhere.push(ComponentHistory {
        component,
        spells: vec![SpellElsewhere {
            fitting: id(7000),
            place: Place::RearLeft,
            from: day("2023-01-01"),
            to: day("2023-06-01"),
            driven: Distance::from_km(10_000),
            measurements: vec![MeasuredElsewhere {
                measurement: measured,
                at: at("2023-05-01 12:00"),
                driven: Distance::from_km(8000),
                is_whole: true,
            }],
        }],
    });
    let outlook = moved_in.outlook();
    let pace = outlook.mm_per_1000_km / 0.16;
    assert_eq!(outlook.measurements, 1);
    assert!(near(outlook.depth_mm, 8.0 - pace * (10.0 * 0.09 + 9.9 * 0.16)), "{outlook:?}");
    // Expected wear of the reading is 0.72 mm, and 0.8 are gone: tau 0.3, gauge 0.2 mm.
    let expected = (1.0 / 0.09 + 0.72 * 0.8 / 0.04) / (1.0 / 0.09 + 0.72 * 0.72 / 0.04);
    assert!(near(pace, expected), "{pace} against {expected}");
    let said = moved_in.because(&format!("wear:{component}"));
    let elsewhere = "Measured 7.2 mm on 1 May 2023 after 8,000 km on another vehicle, after an expected wear z of 0.72 mm.";
    assert!(said.iter().any(|line| line == elsewhere), "{said:?}");
}

#[test]
fn the_fleets_own_rates_take_the_place_of_those_shipped() {
    let mut world = driven().new_tyre(Place::FrontLeft, "2024-01-01");
    let product = world.facts.components[0].product.clone();
    let rate = WearRate {
        kind: code("tyre"),
        product,
        front_mm_per_1000_km: 0.2,
        rear_mm_per_1000_km: 0.1,
        tau: 0.1,
        components: 12,
    };
    world.facts.wear_rates.push(WearRate { product: "another".to_owned(), tau: 0.9, ..rate.clone() });
    world.facts.wear_rates.push(rate);
    let outlook = world.outlook();
    assert!(near(outlook.mm_per_1000_km, 0.2), "{outlook:?}");
    assert!(near(outlook.km_left[1].unwrap(), (8.0 - LIMIT_MM) / 0.2 * 1000.0 - 9900.0), "{outlook:?}");
}

#[test]
fn a_vehicle_parked_until_further_notice_meets_no_limit_on_a_day() {
    let world = driven().new_tyre(Place::FrontLeft, "2024-01-01").parked_from("2024-04-10");
    let outlook = world.outlook();
    assert_eq!(outlook.crossing, model::horizon::Band::default());
    assert!(outlook.km_left[1].is_some());
}

#[test]
fn a_tyre_past_its_limit_meets_it_on_the_day_of_the_last_reading() {
    let world = driven().fitted("tyre", Place::FrontLeft, "2024-01-01").tread(
        "2024-04-09 12:00",
        Place::FrontLeft,
        1.0,
    );
    let outlook = world.outlook();
    assert!(outlook.km_left[2].unwrap() < 0.0, "{outlook:?}");
    assert_eq!(outlook.crossing.late, Some(day("2024-04-09")));
}

#[test]
fn a_fleet_learns_its_rates_from_what_its_components_went_through() {
    let world = driven()
        .new_tyre(Place::FrontLeft, "2024-01-01")
        .moved("2024-02-10", Place::RearLeft, "2024-03-01")
        .tread("2024-02-01 12:00", Place::FrontLeft, 7.6)
        .tread("2024-04-09 12:00", Place::RearLeft, 7.0);
    let worn = engine::worn_components(&world.facts, &world.policy);
    assert_eq!(worn.len(), 1);
    let found: Vec<([f64; 2], f64)> =
        worn[0].worn.readings.iter().map(|reading| (reading.km, reading.depth_mm)).collect();
    assert_eq!(found, [([3100.0, 0.0], 7.6), ([4000.0, 3900.0], 7.0)]);
    assert_eq!((worn[0].worn.new_mm, worn[0].kind.as_str()), (Some(8.0), "tyre"));
    assert_eq!(worn[0].last_fitted.0, day("2024-03-01"));
}

/// The same van's log told as that of another: the tyre comes to a van with the same readings.
fn inherited(from: &World, on: &str, place: Place) -> World {
    let mut heir = driven().new_tyre(place, on);
    let component = from.facts.components[0].clone();
    heir.facts.fittings[0].component = component.id;
    heir.facts.components = vec![component.clone()];
    let components = BTreeSet::from([component.id]);
    heir.facts.elsewhere = engine::component_histories(&from.facts, &from.policy, &components);
    heir
}

#[test]
fn a_tyre_from_another_vehicle_is_forecast_as_one_moved_on_its_own() {
    let before = driven()
        .new_tyre(Place::FrontLeft, "2024-01-01")
        .tread("2024-01-21 12:00", Place::FrontLeft, 7.8)
        .tread("2024-02-01 12:00", Place::FrontLeft, 7.6);
    let mut left = before.clone();
    left.facts.fittings[0].to = Some(day("2024-02-10"));
    left.facts.fittings[0].to_odometer = Some(odometer_on("2024-02-10"));
    let moved = before.moved("2024-02-10", Place::RearLeft, "2024-03-01");
    assert_eq!(moved.outlook().measurements, 2);
    assert_eq!(inherited(&left, "2024-03-01", Place::RearLeft).outlook(), moved.outlook());
}

#[test]
fn what_is_told_of_a_component_goes_by_the_vehicles_own_counted_readings() {
    let mut left =
        driven().new_tyre(Place::FrontLeft, "2024-01-10").tread("2024-01-21 12:00", Place::FrontLeft, 7.8);
    let component = left.facts.components[0].id;
    let told = |world: &World| {
        let all = engine::component_histories(&world.facts, &world.policy, &BTreeSet::from([component]));
        all.into_iter().flat_map(|history| history.spells).collect::<Vec<_>>()
    };
    assert_eq!(told(&left), [], "it is fitted still");
    left.facts.fittings[0].to = Some(day("2024-02-19"));
    // Told wrongly; the readings of 15 and 24 February say 4,900 km at noon of the 19th.
    left.facts.fittings[0].to_odometer = Some(Distance::from_km(49_000));
    let spells = told(&left);
    let spell = &spells[0];
    assert_eq!((spell.driven, spell.to), (Distance::from_km(4000), day("2024-02-19")));
    let measured = &spell.measurements[0];
    // At noon of the 21st the van stood at 2,000 km, 1,100 after the tyre came.
    assert_eq!((measured.driven, measured.is_whole), (Distance::from_km(1100), true));
    assert_eq!(measured.measurement.entered, mm(7.8));
}

#[test]
fn a_partial_measurement_elsewhere_gives_way_to_one_of_the_whole() {
    let mut left =
        driven().new_tyre(Place::FrontLeft, "2024-01-01").tread("2024-01-21 12:00", Place::FrontLeft, 7.8);
    left.facts.inspections[0].measurements[0].zone = Zone::Outer;
    left.facts.fittings[0].to = Some(day("2024-02-10"));
    left.facts.fittings[0].to_odometer = Some(odometer_on("2024-02-10"));
    let heir = inherited(&left, "2024-03-01", Place::FrontLeft);
    assert!(!heir.facts.elsewhere[0].spells[0].measurements[0].is_whole);
    assert_eq!(heir.outlook().measurements, 1, "the only one there is");
    assert_eq!(heir.tread("2024-03-21 12:00", Place::FrontLeft, 7.0).outlook().measurements, 1);
}

/// Depths at three checks, whether it was moved, and whether it is known when new.
fn any_life() -> impl Strategy<Value = World> {
    let depths = prop::collection::vec((0_u64..99, 1.0..9.0_f64), 0..6);
    (depths, any::<bool>(), any::<bool>()).prop_map(|(depths, is_moved, is_known)| {
        let mut world = driven().new_tyre(Place::FrontLeft, "2024-01-01");
        if !is_known {
            world.facts.components[0].depth_new = None;
        }
        if is_moved {
            world = world.moved("2024-02-10", Place::RearLeft, "2024-03-01");
        }
        depths.into_iter().fold(world, |world, (after, depth)| {
            let on = day("2024-01-01") + Days::new(after);
            let place = if is_moved && after >= 60 { Place::RearLeft } else { Place::FrontLeft };
            world.tread(&format!("{on} 15:00"), place, (depth * 10.0).round() / 10.0)
        })
    })
}

proptest! {
    #[test]
    fn early_comes_before_likely_and_likely_before_late(world in any_life()) {
        for outlook in world.horizon().wear {
            let far = f64::INFINITY;
            let [early, likely, late] = outlook.km_left.map(|km| km.unwrap_or(far));
            prop_assert!(early <= likely && likely <= late, "{outlook:?}");
            let end = day("9999-01-01");
            let model::horizon::Band { early, likely, late } = outlook.crossing;
            let [early, likely, late] = [early, likely, late].map(|on| on.unwrap_or(end));
            prop_assert!(early <= likely && likely <= late, "{outlook:?}");
        }
    }

    #[test]
    fn the_order_of_facts_carries_no_meaning_for_wear(world in any_life()) {
        let mut turned = world.clone();
        turned.facts.inspections.reverse();
        turned.facts.fittings.reverse();
        turned.facts.readings.reverse();
        let (one, other) = (world.horizon(), turned.horizon());
        prop_assert_eq!((one.wear, one.questions), (other.wear, other.questions));
    }
}

#[test]
fn a_wear_outlook_is_explained_step_by_step() {
    let world = driven()
        .new_tyre(Place::FrontLeft, "2024-01-01")
        .moved("2024-02-10", Place::RearLeft, "2024-03-01")
        .tread("2024-02-01 12:00", Place::FrontLeft, 7.6);
    let key = format!("wear:{}", world.facts.components[0].id);
    let said = world.because(&key);
    let expected = [
        "Fitted front left from 1 Jan 2024: 4000 km x 0.16 mm per 1,000 km = 0.64 mm of wear to be expected.",
        "Fitted rear left from 1 Mar 2024: 3900 km x 0.09 mm per 1,000 km = 0.351 mm of wear to be expected.",
        "Those rates, and paces that differ by 0.3 among components, stand in until 8 components of the product tell \
         better ones. Source: house setting for wear of tread, no source (common practice).",
        "Measured 7.6 mm on 1 Feb 2024 at 3,100 km (estimated from counted readings), after an expected wear z of \
         0.496 mm.",
        "Its line goes through the depth when new, d0 = 8 mm at z0 = 0 (V_d = 0). The squares of z - z0 add up to S = \
         0.246016, their products with the depth gone, d0 - d, to T = 0.1984; so its pace is c = (1/0.3^2 + T/0.2^2) \
         / (1/0.3^2 + S/0.2^2) = 0.931037324 times as expected (V_c = 1 / (1/0.3^2 + S/0.2^2) = 0.0579323556); the \
         gauge errs by 0.2 mm (house setting, no source).",
        "It is to be seen to at 2.3875 mm. Source: house setting for tread, no source, above the floor of 49 CFR \
         570.9(a) (common practice).",
        "Last counted reading: 9,900 km on 9 Apr 2024; expected wear by then z = 0.991 mm, depth d0 - c (z - z0) = \
         7.07734201 mm.",
        "10 %: with A = d0 - limit it is met at z = z0 + (A c + u root(V_c A^2 + V_d (c^2 - u^2 V_c))) / (c^2 - u^2 \
         V_c), u = -1.2816, = 4.52805092 mm; left are (4.52805092 - 0.991) / 0.09 x 1,000 = 39301 km.",
        "50 %: with A = d0 - limit it is met at z = z0 + A / c = 6.02822234 mm; left are (6.02822234 - 0.991) / 0.09 x \
         1,000 = 55969 km.",
    ];
    assert_eq!(said[..expected.len()], expected);
    let likely = said.iter().find(|line| line.starts_with("50 %: within ")).expect("a likely day");
    let days = "within 579.44 operating days, on 9 Nov 2025, as the mean over nine such distances, at 1/18, ";
    assert!(likely.contains(days), "{likely}");
    let check = "(check: scipy.optimize.brentq(lambda h: numpy.mean(scipy.stats.betaprime.sf(numpy.array([36429.4137, ";
    assert!(likely.contains(check), "{likely}");
}

#[test]
fn what_has_no_wear_outlook_has_no_explanation() {
    let world = driven().fitted("tyre", Place::FrontLeft, "2024-01-01");
    let key = model::horizon::ItemKey(format!("wear:{}", world.facts.components[0].id));
    assert_eq!(engine::explain(&world.facts, &world.policy, &key), None);
}
