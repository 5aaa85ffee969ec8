//! What else stands in a warranty's terms: reductions, pro-rata credit, conditions.

use crate::world::{World, code, day, km, mi};
use model::horizon::Credit;
use model::{DistanceFrom, Duty, LastDay, ProRataStep, Reduction, ReductionCause};
use quantity::Distance;
use rstest::rstest;

const COMMERCIAL: ReductionCause = ReductionCause::CommercialUse;
const SECOND: ReductionCause = ReductionCause::SecondOwner;

fn reduction(when: ReductionCause, months: Option<u32>, kilometres: Option<f64>) -> Reduction {
    Reduction { when, months, distance: kilometres.map(km) }
}

/// Five years or 100,000 km from 1 March 2024.
fn five_years() -> World {
    World::new().new_on("2024-03-01").window(Some(60), Some(km(100_000.0)))
}

fn reduced(world: World, reductions: &[Reduction]) -> World {
    world.terms(|terms| terms.reduced_if = reductions.to_vec())
}

#[test]
fn commercial_use_holds_cover_to_its_lower_limits() {
    let world = reduced(five_years(), &[reduction(COMMERCIAL, Some(36), Some(60_000.0))]);
    let window = world.first_window();
    assert_eq!(window.last_day, Some(day("2027-02-28")));
    assert_eq!(window.odometer_limit, Some(Distance::from_km(60_000)));
    assert_eq!(window.reduced_by, [COMMERCIAL]);
}

#[test]
fn a_pool_car_of_its_first_owner_is_covered_in_full() {
    let both = [reduction(COMMERCIAL, Some(36), None), reduction(SECOND, Some(24), None)];
    let window = reduced(five_years().duty(Duty::Pool), &both).first_window();
    assert_eq!((window.last_day, window.reduced_by), (Some(day("2029-02-28")), vec![]));
}

#[test]
fn one_commercial_year_is_enough_however_it_is_used_now() {
    let mut world = reduced(five_years(), &[reduction(COMMERCIAL, Some(36), None)]);
    let mut pool = world.facts.vehicle.attributes[0].clone();
    (pool.duty, pool.from) = (Duty::Pool, day("2025-01-01"));
    world.facts.vehicle.attributes.push(pool);
    assert_eq!(world.first_window().reduced_by, [COMMERCIAL]);
}

#[rstest]
#[case::thirty_days_after_its_first("2024-03-31", false)]
#[case::a_day_more("2024-04-01", true)]
fn a_vehicle_is_second_hand_when_it_came_more_than_thirty_days_after_its_first_day(
    #[case] acquired: &str,
    #[case] is_second: bool,
) {
    let world = reduced(five_years().acquired(acquired), &[reduction(SECOND, Some(24), None)]);
    assert_eq!(world.first_window().reduced_by == [SECOND], is_second);
}

#[test]
fn a_vehicle_whose_past_is_unknown_is_second_hand() {
    let unknown_day = reduced(World::new().window(Some(60), None), &[reduction(SECOND, Some(24), None)]);
    let mut world = unknown_day.clone();
    world.facts.vehicle.in_service_on = None;
    assert_eq!(world.first_window().reduced_by, [SECOND]);
    world = unknown_day;
    world.facts.vehicle.history_unknown = true;
    assert_eq!(world.first_window().reduced_by, [SECOND]);
}

#[test]
fn of_several_reductions_the_lower_limit_of_each_kind_holds() {
    let world = reduced(
        five_years().acquired("2024-09-01"),
        &[reduction(COMMERCIAL, Some(36), Some(80_000.0)), reduction(SECOND, Some(48), Some(60_000.0))],
    );
    let window = world.first_window();
    assert_eq!(window.last_day, Some(day("2027-02-28")));
    assert_eq!(window.odometer_limit, Some(Distance::from_km(60_000)));
    assert_eq!(window.reduced_by, [COMMERCIAL, SECOND]);
}

#[test]
fn a_reduction_never_widens_cover_and_is_not_named_when_others_are_lower() {
    let wide = [reduction(COMMERCIAL, Some(72), None), reduction(COMMERCIAL, Some(36), Some(200_000.0))];
    let window = reduced(five_years(), &wide).first_window();
    assert_eq!(window.last_day, Some(day("2027-02-28")));
    assert_eq!(window.odometer_limit, Some(Distance::from_km(100_000)));
    let none = reduced(five_years(), &wide[..1]).first_window();
    assert!(none.reduced_by.is_empty());
}

#[test]
fn a_reduction_may_bring_a_limit_that_was_not_there() {
    let endless = World::new().new_on("2024-03-01").window(Some(60), None);
    let window = reduced(endless, &[reduction(COMMERCIAL, None, Some(60_000.0))]).first_window();
    assert_eq!(
        (window.odometer_limit, window.reduced_by),
        (Some(Distance::from_km(60_000)), vec![COMMERCIAL])
    );
}

#[test]
fn what_reduced_a_window_is_explained() {
    let world = reduced(
        five_years().acquired("2024-09-01"),
        &[reduction(SECOND, Some(48), None), reduction(COMMERCIAL, Some(36), Some(60_000.0))],
    );
    let said = world.because_window();
    let expected = [
        "Starts on 1 Mar 2024: the vehicle's first day in service.",
        "For commercial use (delivery since 1 Mar 2024) at most 36 months or 60,000 km.",
        "For a second owner (it came on 1 Sep 2024, in service since 1 Mar 2024) at most 48 months; other limits are \
         lower.",
        "By the calendar: 1 Mar 2024 plus 36 months is 1 Mar 2027; the day before, 28 Feb 2027, is the last.",
        "By distance: 0 km + 60,000 km = 60,000 km.",
    ];
    assert_eq!(said[..5], expected);
}

fn pro_rata(months: Option<u32>, kilometres: Option<f64>, credit_percent: f64) -> ProRataStep {
    ProRataStep { months, distance: kilometres.map(km), credit_percent }
}

#[test]
fn each_pro_rata_step_has_its_last_day_and_odometer() {
    let world = five_years().terms(|terms| {
        terms.pro_rata = vec![
            pro_rata(Some(24), Some(40_000.0), 100.0),
            pro_rata(Some(36), None, 50.0),
            pro_rata(None, Some(90_000.0), 12.5),
        ];
        terms.distance_from = DistanceFrom::StartOdometer;
        terms.start_odometer = Some(km(500.0));
    });
    let credit = |until: Option<&str>, kilometres: Option<i64>, percent| Credit {
        until: until.map(day),
        until_odometer: kilometres.map(Distance::from_km),
        percent,
    };
    let expected = [
        credit(Some("2026-02-28"), Some(40_500), 100.0),
        credit(Some("2027-02-28"), None, 50.0),
        credit(None, Some(90_500), 12.5),
    ];
    assert_eq!(world.first_window().credits, expected);
    let said = world.because_window();
    let first = "Credited: 100 % through 28 Feb 2026 (1 Mar 2024 plus 24 months, or the end) or up to 40,500 km \
                 (40,000 km, or the end), whichever comes first.";
    assert!(said.iter().any(|line| line == first), "{said:?}");
}

#[test]
fn a_reduced_window_cuts_its_schedule_off() {
    let world = reduced(five_years(), &[reduction(COMMERCIAL, Some(30), None)]).terms(|terms| {
        terms.pro_rata = [(24, 100.0), (36, 50.0), (48, 25.0)]
            .map(|(months, share)| pro_rata(Some(months), None, share))
            .to_vec();
    });
    let until: Vec<_> =
        world.first_window().credits.iter().map(|credit| (credit.until, credit.percent)).collect();
    assert_eq!(until, [(Some(day("2026-02-28")), 100.0), (Some(day("2026-08-31")), 50.0)]);
}

#[test]
fn a_schedule_keeps_to_the_contract_s_last_day() {
    let world = five_years().terms(|terms| {
        terms.last_day = LastDay::Anniversary;
        terms.pro_rata = vec![pro_rata(Some(12), None, 100.0)];
    });
    assert_eq!(world.first_window().credits[0].until, Some(day("2025-03-01")));
}

#[test]
fn conditions_and_the_capacity_floor_are_shown_in_the_contract_s_words() {
    let world = five_years().terms(|terms| {
        terms.capacity_floor_percent = Some(70.0);
        terms.voided_by = Some("Oil changed later than 1,000 km after it was due.".to_owned());
    });
    let said = world.because_window();
    let expected = [
        "Covered below 70 % of the traction battery's capacity when new.",
        "Void, in the contract's words: Oil changed later than 1,000 km after it was due.",
    ];
    assert_eq!(said[said.len() - 2..], expected);
}

#[test]
fn a_part_whose_own_reading_is_held_counts_from_the_readings_around_it() {
    // 360,000 km at the service is a digit too many; between 35,700 km on the 23rd and 36,400 km on the 30th, both at
    // noon, the 26th at noon is at 36,000 km.
    let world = World::new()
        .steady("2024-01-01", "2024-12-29", 7, km(100.0))
        .service("2024-12-26", km(360_000.0), &[])
        .reading("2024-12-30 12:00", 36_400.0)
        .window(Some(12), Some(km(20_000.0)));
    let service = world.facts.services[0].id;
    let world = world.terms(|terms| {
        terms.opened_by = Some(service);
        terms.distance_from = DistanceFrom::StartOdometer;
        terms.scope = vec![code("gearbox")];
    });
    assert_eq!(world.first_window().odometer_limit, Some(Distance::from_km(56_000)));
}

#[test]
fn reductions_in_other_units_of_distance_are_compared_exactly() {
    // 62,138 mi are 100,001.4 km, 62,137 mi 99,999.8 km (1 mi = 1.609344 km, 1959).
    let miles = Reduction { when: COMMERCIAL, months: None, distance: Some(mi(62_138.0)) };
    let window = reduced(five_years(), &[miles]).first_window();
    assert_eq!((window.odometer_limit, window.reduced_by), (Some(Distance::from_km(100_000)), vec![]));
    let less = Reduction { when: COMMERCIAL, months: None, distance: Some(mi(62_137.0)) };
    assert_eq!(reduced(five_years(), &[less]).first_window().reduced_by, [COMMERCIAL]);
}
