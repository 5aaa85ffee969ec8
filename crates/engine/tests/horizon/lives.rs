//! How long components last, and what that costs.

use crate::world::{World, at, code, day, id, km};
use engine::{Fate, FittedTime, PartLife, Run, achieved_lives, ends_life, fitted_times};
use model::{
    Component, Cost, EndReason, Fitting, FittingId, LifeWithheld, NoDistance, NoLifeLaw, Place, Position,
    VehicleId,
};
use proptest::prelude::*;
use quantity::{Distance, Unit};

/// 100 km a day from 1 January 2024, read every nine days until 9 April: 9,900 km.
fn driven() -> World {
    World::new().steady("2024-01-01", "2024-04-09", 9, km(100.0))
}

/// Fits the component fitted first once more; odometers in kilometres as told.
fn again(mut world: World, place: Place, from: (&str, i64), to: Option<(&str, i64)>) -> World {
    let number = world.next_id();
    let first = world.facts.fittings[0].clone();
    world.facts.fittings.push(Fitting {
        id: number,
        place,
        from: day(from.0),
        from_odometer: Distance::from_km(from.1),
        to: to.map(|(on, _)| day(on)),
        to_odometer: to.map(|(_, km)| Distance::from_km(km)),
        ..first
    });
    world
}

/// A tyre with these fittings alone.
fn tyre(world: World, place: Place, from: (&str, i64), to: Option<(&str, i64)>) -> World {
    let mut world = again(world.fitted("tyre", place, from.0), place, from, to);
    world.facts.fittings.remove(0);
    world
}

fn times(world: &World, now: &str) -> Vec<FittedTime> {
    let all = world.facts.components.iter().map(|component| component.id).collect();
    fitted_times(&world.facts, &world.policy, &all, at(now))
}

fn ran(kilometres: i64, estimated: bool) -> Run {
    Run { distance: Distance::from_km(kilometres), estimated }
}

#[test]
fn a_tyre_runs_from_the_day_it_came_to_the_day_it_went() {
    let world = tyre(driven(), Place::FrontLeft, ("2024-01-11", 1000), Some(("2024-02-10", 4000)));
    let world = again(world, Place::RearLeft, ("2024-03-01", 6000), None);
    let told = times(&world, "2024-04-20 12:00");
    assert_eq!((told[0].days, told[0].run), (30, Ok(ran(3000, false))));
    // 1 March to 20 April; the last reading that counts is that of 9 April.
    assert_eq!((told[1].days, told[1].run), (50, Ok(ran(3900, false))));
    let part = part_of(&world, told, None);
    assert_eq!((part.position(), part.fate(), part.days()), (Some(Position::Several), Fate::Fitted, 80));
    assert_eq!(part.run(), Ok(ran(6900, false)));
}

/// Told as 49,000 km; the readings of 15 and 24 February say 4,900 km at noon of the 19th.
#[test]
fn an_odometer_that_readings_speak_against_gives_way_to_them() {
    let world = tyre(driven(), Place::FrontLeft, ("2024-01-10", 900), Some(("2024-02-19", 49_000)));
    assert_eq!(times(&world, "2024-04-20 12:00")[0].run, Ok(ran(4000, true)));
}

#[test]
fn a_distance_that_no_reading_tells_has_its_reason_instead() {
    let cases = [
        (driven(), ("2024-04-10", 10_000), None, NoDistance::NoReadingSince),
        (World::new(), ("2024-01-10", 900), None, NoDistance::NoReadingSince),
        (World::new(), ("2024-01-10", 900), Some(("2024-02-10", 800)), NoDistance::RunsBackwards),
        (driven(), ("2023-12-20", 5000), Some(("2024-02-10", 4000)), NoDistance::BeforeReadings),
    ];
    for (world, from, to, expected) in cases {
        let world = tyre(world, Place::FrontLeft, from, to);
        assert_eq!(times(&world, "2024-04-20 12:00")[0].run, Err(expected), "{from:?}");
    }
}

#[test]
fn a_vehicle_that_left_the_fleet_takes_its_tyres_along() {
    let mut world = tyre(driven(), Place::FrontLeft, ("2024-01-11", 1000), None);
    world.facts.vehicle.retired_on = Some(day("2024-04-01"));
    let told = times(&world, "2026-04-20 12:00");
    assert_eq!((told[0].days, told[0].left_with_vehicle), (81, true));
    assert_eq!(part_of(&world, told, None).fate(), Fate::LeftWithVehicle);
}

#[test]
fn a_spare_does_no_work() {
    let world = tyre(driven(), Place::Spare, ("2024-01-01", 0), Some(("2024-02-10", 4000)));
    let spare = part_of(&world, times(&world, "2024-04-09 12:00"), None);
    assert_eq!((spare.position(), spare.days(), spare.run()), (None, 0, Ok(ran(0, false))));
    assert_eq!(achieved_lives(&[spare]), []);
    let world = again(world, Place::RearRight, ("2024-02-10", 4000), None);
    let fitted = part_of(&world, times(&world, "2024-04-09 12:00"), None);
    assert_eq!((fitted.position(), fitted.run()), (Some(Position::Rear), Ok(ran(5900, false))));
}

#[test]
fn what_was_worn_or_failed_by_itself_had_lived_its_life_and_nothing_else_had() {
    let over: Vec<EndReason> = EndReason::ALL.iter().copied().filter(|reason| ends_life(*reason)).collect();
    assert_eq!(over, [EndReason::Worn, EndReason::Failed]);
    for fate in [Fate::Fitted, Fate::InStore, Fate::LeftWithVehicle] {
        assert!(!fate.is_end_of_life() && !fate.is_removal());
    }
    assert!(Fate::Ended(EndReason::Damaged).is_removal());
}

fn part_of(world: &World, times: Vec<FittedTime>, end: Option<EndReason>) -> PartLife {
    PartLife { component: world.facts.components[0].clone(), end, cost: None, times }
}

/// A tyre that ran so many hundred kilometres at the front, one a day.
fn ended(number: u64, hundreds: i64, end: Option<EndReason>) -> PartLife {
    let component = Component {
        id: id(number),
        kind: code("tyre"),
        product: "Hartwell 4".to_owned(),
        depth_new: None,
        came_used: false,
        recorded_at: at("2024-01-01 09:00"),
    };
    let from = day("2024-01-01");
    let time = FittedTime {
        component: component.id,
        fitting: id::<FittingId>(number + 10_000),
        vehicle: id::<VehicleId>(7),
        place: Place::FrontLeft,
        from,
        to: end.map(|_| model::add_days(from, hundreds)),
        left_with_vehicle: false,
        days: hundreds,
        run: Ok(ran(hundreds * 100, false)),
    };
    PartLife { component, end, cost: None, times: vec![time] }
}

fn costing(minor: i64, currency: &str, part: PartLife) -> PartLife {
    PartLife { cost: Some(Cost { minor, currency: currency.to_owned() }), ..part }
}

/// The lives of NIST/SEMATECH e-Handbook 8.4.1.3 in hundreds of kilometres (verified): ten that ended, ten left at 500.
fn handbook() -> Vec<PartLife> {
    let failed = [54, 187, 216, 240, 244, 335, 361, 373, 375, 386].map(|length| (length, EndReason::Worn));
    let all = failed.into_iter().chain([(500, EndReason::Scheduled); 10]);
    all.zip(1_u64..).map(|((length, reason), number)| ended(number, length, Some(reason))).collect()
}

#[test]
fn twenty_removals_tell_the_law_of_the_handbook_and_nineteen_tell_nothing() {
    let parts = handbook();
    let told = achieved_lives(&parts).remove(0);
    let (lifetimes, law) = (told.by_distance.told.expect("20 removals"), |told: engine::Lifetimes| {
        told.weibull.expect("it is drawn from such a law")
    });
    assert!((law(lifetimes).shape - 1.7208).abs() < 5e-5, "{:?}", law(lifetimes));
    assert!((law(lifetimes).scale - 60_652.80).abs() < 0.5);
    assert_eq!(lifetimes.likely.at, Some(38_600.0), "half of twenty had ended by then");
    assert_eq!(told.by_time.told.expect("20 removals").likely.at, Some(386.0));
    assert_eq!(
        told.fates,
        [(Fate::Ended(EndReason::Worn), 10), (Fate::Ended(EndReason::Scheduled), 10)].into()
    );

    let mut one_fitted = parts.clone();
    one_fitted[19] = ended(20, 500, None);
    let hidden = achieved_lives(&one_fitted).remove(0);
    assert_eq!(hidden.by_distance.told, Err(LifeWithheld::TooFewRemovals));
    assert_eq!(
        engine::words::withheld(LifeWithheld::TooFewRemovals, &hidden.by_distance),
        "fewer than 20 removals: 19 so far"
    );
    assert_eq!((hidden.by_time.lives, hidden.by_time.removals, hidden.by_time.ends_of_life), (20, 19, 10));
}

#[test]
fn removals_without_an_end_of_life_tell_nothing_either() {
    let parts: Vec<PartLife> = (1..=20).map(|number| ended(number, 300, Some(EndReason::Damaged))).collect();
    let told = achieved_lives(&parts).remove(0);
    assert_eq!(told.by_distance.told, Err(LifeWithheld::NoEndOfLife));
}

/// Twenty that end early and twenty that end late: no law of Weibull's has a plain between two cliffs.
#[test]
fn a_law_that_leaves_the_bounds_of_the_curve_is_not_told() {
    let two = (1..=60).map(|number| {
        ended(
            number,
            if number > 30 { 900 } else { 10 + i64::try_from(number).expect("few") },
            Some(EndReason::Worn),
        )
    });
    let told = achieved_lives(&two.collect::<Vec<_>>()).remove(0);
    let lifetimes = told.by_distance.told.expect("60 removals");
    assert_eq!(lifetimes.weibull, Err(NoLifeLaw::DoesNotHold));
    let alike: Vec<PartLife> = (1..=20).map(|number| ended(number, 300, Some(EndReason::Worn))).collect();
    let told = achieved_lives(&alike).remove(0).by_distance.told.expect("20 removals");
    assert_eq!(
        (told.weibull, told.early.at, told.late.at),
        (Err(NoLifeLaw::NoSpread), Some(30_000.0), Some(30_000.0))
    );
}

#[test]
fn what_came_used_or_has_no_length_is_left_out_and_counted() {
    let mut parts = handbook();
    let (mut used, unread, new) =
        (ended(21, 100, Some(EndReason::Worn)), ended(22, 100, None), ended(23, 0, None));
    used.component.came_used = true;
    let mut unread = unread;
    unread.times[0].run = Err(NoDistance::NoReadingSince);
    parts.extend([used, unread, new]);
    let told = achieved_lives(&parts).remove(0);
    assert_eq!((told.parts, told.came_used), (23, 1));
    assert_eq!((told.by_distance.lives, told.by_distance.unknown), (20, 2));
    assert_eq!((told.by_time.lives, told.by_time.unknown), (21, 1));
}

/// 114.00 over 38,000 km is 3.00 for each 1,000; with 90.00 over 22,000 km it is 204.00 over 60,000: 3.40. One that runs on
/// has been paid for and not yet run for it.
#[test]
fn a_product_costs_what_its_ended_components_cost_over_what_they_ran() {
    let parts = [
        costing(11_400, "EUR", ended(1, 380, Some(EndReason::Worn))),
        costing(9_000, "EUR", ended(2, 220, Some(EndReason::Damaged))),
        costing(10_000, "USD", ended(3, 500, Some(EndReason::Worn))),
        costing(10_000, "EUR", ended(4, 20, None)),
        ended(5, 300, Some(EndReason::Worn)),
        costing(10_000, "EUR", ended(6, 0, Some(EndReason::Failed))),
    ];
    let one = parts[0].cost_of_run().expect("both are known");
    assert_eq!(one.minor_per_1000(Unit::Kilometre), Some(300.0));
    let cost = achieved_lives(&parts).remove(0).cost;
    let sums: Vec<_> =
        cost.sums.iter().map(|sum| (sum.currency.as_str(), sum.components, sum.minor)).collect();
    assert_eq!(sums, [("EUR", 2, 20_400), ("USD", 1, 10_000)]);
    let per = |index: usize, unit| cost.sums[index].minor_per_1000(unit).expect("some was run");
    assert!((per(0, Unit::Kilometre) - 340.0).abs() < 1e-9 && (per(1, Unit::Kilometre) - 200.0).abs() < 1e-9);
    // A mile is 1.609344 km.
    assert!((per(0, Unit::Mile) - 547.176_96).abs() < 1e-6, "{}", per(0, Unit::Mile));
    assert_eq!((cost.still_in_use, cost.without_cost, cost.without_distance), (1, 1, 1));
}

proptest! {
    /// The order in which components come carries no meaning, and each is counted once.
    #[test]
    fn what_products_achieve_does_not_hang_on_the_order_of_components(
        lengths in prop::collection::vec((0..900_i64, 0..9_usize), 1..60),
        turn in 0..60_usize,
    ) {
        let part = |((length, reason), number): ((i64, usize), u64)| {
            ended(number, length, EndReason::ALL.get(reason).copied())
        };
        let parts: Vec<PartLife> = lengths.into_iter().zip(1..).map(part).collect();
        let mut turned = parts.clone();
        turned.rotate_left(turn % parts.len());
        let told = achieved_lives(&parts);
        prop_assert_eq!(&told, &achieved_lives(&turned));
        let counted: u32 = told[0].fates.values().sum();
        prop_assert_eq!(usize::try_from(counted).expect("few"), parts.len());
        prop_assert_eq!(told[0].by_time.lives + told[0].by_time.unknown, counted);
    }
}
