//! Bad input in the meter log: what is held, why, and what was probably meant.

use crate::world::{World, at, every_km, id, km, mi};
use model::{Decision, Doubt, ReadingSource, Verdict};
use quantity::{Distance, Entered, Unit};
use rstest::rstest;

fn counted(value: f64) -> Verdict {
    Verdict::Counted { odometer: Distance::parse(km(value)).expect("a distance") }
}

fn doubt(verdict: Verdict) -> (Doubt, Option<Entered>) {
    match verdict {
        Verdict::Held { doubt, suggested } => (doubt, suggested),
        other => panic!("{other:?} is not held"),
    }
}

/// A year of weekly readings at 100 km a day, the last on 23 December 2024 at 35,700 km.
fn a_year() -> World {
    World::new().steady("2024-01-01", "2024-12-29", 7, km(100.0))
}

#[test]
fn a_clean_log_counts_whole() {
    let judgements = a_year().horizon().judgements;
    assert!(judgements.iter().all(|judged| matches!(judged.verdict, Verdict::Counted { .. })));
    assert_eq!(judgements.len(), 52);
}

#[test]
fn a_reading_below_the_one_before_it_runs_backwards() {
    let world = a_year().reading("2025-01-05 12:00", 31_000.0);
    let (doubt, _) = doubt(world.judgement(52));
    let before = Distance::from_km(35_700);
    assert_eq!(doubt, Doubt::RunsBackwards { before, before_at: at("2024-12-23 12:00") });
}

#[test]
fn a_reading_further_than_a_vehicle_can_go_jumps() {
    // Two weeks at 1,600 km a day and 300 km on top: 22,700 km from 35,700 km is the most (house setting).
    let over = a_year().reading("2025-01-06 12:00", 58_401.0);
    let (doubt, _) = doubt(over.judgement(52));
    let jump = Doubt::Jumps { before: Distance::from_km(35_700), plausible_most: Distance::from_km(58_400) };
    assert_eq!(doubt, jump);
    assert_eq!(a_year().reading("2025-01-06 12:00", 58_400.0).judgement(52), counted(58_400.0));
}

#[test]
fn a_first_reading_further_than_the_vehicle_can_have_gone_since_its_start_jumps() {
    // In service on 1 January 2024 at 0 km; ten days and a half at 1,600 km and 300 km on top (house setting).
    let world = World::new().reading("2024-01-11 12:00", 9_000_000.0);
    let (doubt, _) = doubt(world.judgement(0));
    assert_eq!(doubt, Doubt::Jumps { before: Distance::ZERO, plausible_most: Distance::from_km(17_100) });
}

#[test]
fn two_readings_that_agree_outvote_a_start_of_service_that_does_not() {
    let world = World::new().reading("2024-01-11 12:00", 80_000.0).reading("2024-01-18 12:00", 80_500.0);
    assert_eq!((world.judgement(0), world.judgement(1)), (counted(80_000.0), counted(80_500.0)));
}

#[test]
fn a_reading_above_what_came_later_runs_ahead() {
    let world = a_year().reading("2024-06-06 12:00", 20_000.0);
    let (doubt, _) = doubt(world.judgement(52));
    let after = Distance::from_km(16_100);
    assert_eq!(doubt, Doubt::RunsAhead { after, after_at: at("2024-06-10 12:00") });
}

#[test]
fn a_reading_too_far_below_what_came_soon_after_falls_short() {
    // Three readings of one hour say 9,000 km; a fourth just before them says it had not moved since a month.
    let world = World::new()
        .reading("2024-01-01 12:00", 0.0)
        .reading("2024-01-31 11:00", 100.0)
        .reading("2024-01-31 12:00", 9000.0)
        .reading("2024-01-31 13:00", 9010.0);
    let (doubt, _) = doubt(world.judgement(1));
    assert!(
        matches!(doubt, Doubt::FallsShort { after, .. } if after == Distance::from_km(9000)),
        "{doubt:?}"
    );
}

#[rstest]
// The mix-up: miles on the dash written down as kilometres, and the other way about (1 mi = 1.609344 km, 1959).
#[case::miles_written_as_kilometres("2025-01-06 12:00", km(22_990.0), mi(22_990.0))]
#[case::kilometres_written_as_miles("2025-01-06 12:00", mi(37_000.0), km(37_000.0))]
// Slips of a digit around 37,100 km.
#[case::one_digit_too_many("2025-01-06 12:00", km(371_000.0), km(37_100.0))]
#[case::one_digit_missing("2025-01-06 12:00", km(3710.0), km(37_100.0))]
#[case::two_digits_swapped("2025-01-06 12:00", km(73_100.0), km(37_100.0))]
#[case::one_digit_wrong("2025-01-06 12:00", km(87_100.0), km(37_100.0))]
fn what_was_probably_meant_is_suggested(
    #[case] when: &str,
    #[case] entered: Entered,
    #[case] meant: Entered,
) {
    let world = a_year().reading_from(when, entered, ReadingSource::Driver);
    let (_, suggested) = doubt(world.judgement(52));
    assert_eq!(suggested, Some(meant));
}

#[test]
fn between_two_counted_readings_the_suggestion_lies_between_them() {
    let world = a_year().reading("2024-06-06 12:00", 51_700.0);
    let (_, suggested) = doubt(world.judgement(52));
    assert_eq!(suggested, Some(km(15_700.0)));
}

#[test]
fn a_number_that_no_slip_explains_gets_no_suggestion() {
    let world = a_year().reading("2025-01-06 12:00", 999_999.0);
    assert_eq!(doubt(world.judgement(52)).1, None);
}

#[test]
fn a_slip_far_from_what_was_expected_is_no_more_than_a_guess() {
    // 37,100 km are expected; the nearest slip, 44,999 km, lies beyond three times the 1,400 km since the last reading.
    let world = a_year().reading("2025-01-06 12:00", 94_999.0);
    assert_eq!(doubt(world.judgement(52)).1, None);
}

#[test]
fn a_wrong_reading_that_came_first_is_outvoted_by_those_that_follow() {
    let alone = World::new().reading("2024-02-01 12:00", 48_200.0).reading("2024-02-08 12:00", 5100.0);
    let outvoted = alone.clone().reading("2024-02-15 12:00", 5600.0);
    assert_eq!(alone.judgement(0), counted(48_200.0));
    assert!(matches!(alone.judgement(1), Verdict::Held { .. }));
    assert!(matches!(outvoted.judgement(0), Verdict::Held { doubt: Doubt::RunsAhead { .. }, .. }));
    assert_eq!(outvoted.judgement(1), counted(5100.0));
}

#[rstest]
#[case::within_one_percent(48_000.0, 47_930.0, true)]
#[case::fifty_miles_or_more(48_000.0, 47_919.0, false)]
#[case::within_one_percent_of_little(2000.0, 1981.0, true)]
#[case::one_percent_of_little_or_more(2000.0, 1980.0, false)]
fn readings_of_different_sources_may_disagree_a_little(
    #[case] technician: f64,
    #[case] satellite: f64,
    #[case] counts: bool,
) {
    let world = World::new().reading("2024-03-01 12:00", technician).reading_from(
        "2024-03-02 12:00",
        km(satellite),
        ReadingSource::Gps,
    );
    assert_eq!(matches!(world.judgement(1), Verdict::Counted { .. }), counts);
}

#[rstest]
#[case::just_short_of_fifty_miles(29_951.0, true)]
#[case::fifty_miles(29_950.0, false)]
fn fifty_miles_are_too_much_for_any_disagreement(#[case] satellite: f64, #[case] counts: bool) {
    let world = World::new()
        .reading_from("2024-03-01 12:00", mi(30_000.0), ReadingSource::Technician)
        .reading_from("2024-03-02 12:00", mi(satellite), ReadingSource::Gps);
    assert_eq!(matches!(world.judgement(1), Verdict::Counted { .. }), counts);
}

#[test]
fn a_disagreement_between_sources_is_no_distance() {
    let world = World::new()
        .reading("2024-03-01 12:00", 48_000.0)
        .reading_from("2024-03-03 12:00", km(47_950.0), ReadingSource::Gps)
        .reading("2024-03-05 12:00", 48_100.0);
    let gaps = engine::gaps(&world.facts);
    assert_eq!(gaps.iter().map(|gap| gap.km).collect::<Vec<_>>(), [0.0, 100.0]);
}

#[test]
fn one_source_may_not_run_backwards_at_all() {
    let world = World::new().reading("2024-03-01 12:00", 48_000.0).reading("2024-03-02 12:00", 47_999.0);
    assert!(matches!(world.judgement(1), Verdict::Held { doubt: Doubt::RunsBackwards { .. }, .. }));
}

#[test]
fn a_reading_of_doubtful_time_is_held_whatever_it_says() {
    let mut world = a_year();
    world.facts.readings[20].clock_in_doubt = true;
    assert_eq!(doubt(world.judgement(20)), (Doubt::ClockInDoubt, None));
}

#[test]
fn a_reading_below_the_odometer_at_the_start_of_service_is_held() {
    let mut world = World::new().reading("2024-03-01 12:00", 4990.0);
    world.facts.vehicle.in_service_odometer = Distance::from_km(5000);
    let at_start = Distance::from_km(5000);
    assert_eq!(doubt(world.judgement(0)).0, Doubt::BeforeService { at_start });
    // A slip to 4,999 km would lie near what was expected, and still below the start.
    let followed = world.reading("2024-03-06 12:00", 5600.0);
    assert_eq!(doubt(followed.judgement(0)).1, None);
}

#[test]
fn a_release_counts_and_what_contradicts_it_is_held_instead() {
    let world = World::new()
        .reading("2024-02-01 12:00", 5000.0)
        .reading("2024-02-08 12:00", 2000.0)
        .reading("2024-02-12 12:00", 6000.0)
        .decide(1, Decision::Release, "2024-02-13 08:00");
    assert_eq!(world.judgement(1), counted(2000.0));
    assert!(matches!(world.judgement(0), Verdict::Held { doubt: Doubt::RunsAhead { .. }, .. }));
    assert_eq!(world.judgement(2), counted(6000.0));
}

#[test]
fn a_correction_counts_with_its_own_value() {
    let value = km(37_100.0);
    let world = a_year().reading("2025-01-06 12:00", 371_000.0).decide(
        52,
        Decision::Correct { value },
        "2025-01-06 14:00",
    );
    assert_eq!(world.judgement(52), counted(37_100.0));
}

#[test]
fn a_correction_that_is_no_distance_changes_nothing() {
    let value = Entered::new(4.0, Unit::Millimetre);
    let world = a_year().decide(3, Decision::Correct { value }, "2025-01-06 14:00");
    assert_eq!(world.judgement(3), counted(2100.0));
}

#[test]
fn the_latest_decision_holds_and_of_two_at_once_the_higher_id() {
    let world = a_year()
        .decide(3, Decision::Withdraw, "2025-01-06 14:00")
        .decide(3, Decision::Release, "2025-01-06 13:00")
        .decide(4, Decision::Release, "2025-01-06 14:00")
        .decide(4, Decision::Withdraw, "2025-01-06 14:00");
    assert_eq!(world.judgement(3), Verdict::Withdrawn);
    assert_eq!(world.judgement(4), Verdict::Withdrawn);
}

#[test]
fn two_readings_at_one_instant_are_judged_in_the_order_of_their_ids() {
    let mut world = World::new().reading("2024-02-01 12:00", 900.0).reading("2024-02-01 12:00", 800.0);
    assert!(matches!(world.judgement(1), Verdict::Held { .. }));
    world.facts.readings[1].id = id(1);
    assert_eq!((world.judgement(0), world.judgement(1)), (counted(900.0), counted(800.0)));
}

#[test]
fn a_held_reading_moves_no_due_date() {
    let world = a_year().rule("engine-oil", every_km(50_000.0));
    let mistaken = world.clone().reading("2025-01-06 12:00", 371_000.0);
    assert_eq!(mistaken.due("engine-oil"), world.due("engine-oil"));
    assert_eq!(mistaken.horizon().usage, world.horizon().usage);
}

#[test]
fn a_service_with_a_mistaken_odometer_counts_from_the_readings_around_it() {
    // 36,500 km written with a digit too many: 365,000 km would put the next service out of reach.
    let world = a_year().rule("engine-oil", every_km(10_000.0));
    let world =
        world.service("2024-12-26", km(360_000.0), &["engine-oil"]).reading("2024-12-30 12:00", 36_400.0);
    let item = world.due("engine-oil");
    // Between 35,700 km on the 23rd and 36,400 km on the 30th, both at noon, the 26th at noon is at 36,000 km.
    assert_eq!(item.odometer_limit, Some(Distance::from_km(46_000)));
}

#[rstest]
// From 0 km at the first midnight of 2024 to 35,700 km 357.5 days on, and 14 days more: 37,098.04 km are expected, give
// or take 1,112.94 km. 23,742 mi are 38,209.05 km, 23,743 mi 38,210.65 km, 23,744 mi 38,212.26 km; 22,361 mi are
// 35,986.54 km, 22,360 mi 35,984.93 km (1 mi = 1.609344 km, 1959).
#[case::just_within_above(23_743.0, true)]
#[case::just_beyond_above(23_744.0, false)]
#[case::just_within_below(22_361.0, true)]
#[case::just_beyond_below(22_360.0, false)]
fn a_mix_up_of_units_is_evident_within_three_percent(#[case] entered: f64, #[case] is_mix_up: bool) {
    let world = a_year().reading_from("2025-01-06 12:00", km(entered), ReadingSource::Driver);
    let (_, suggested) = doubt(world.judgement(52));
    assert_eq!(suggested == Some(mi(entered)), is_mix_up, "{suggested:?}");
}

#[rstest]
#[case::the_technician_came_first("08:00", "12:00")]
#[case::the_technician_came_last("12:00", "08:00")]
fn of_two_readings_of_a_day_that_contradict_each_other_the_more_trusted_counts(
    #[case] technician: &str,
    #[case] satellite: &str,
) {
    let world = World::new().reading(&format!("2024-03-01 {technician}"), 48_000.0).reading_from(
        &format!("2024-03-01 {satellite}"),
        km(46_000.0),
        ReadingSource::Gps,
    );
    let mut world = world;
    world.facts.vehicle.in_service_on = None;
    assert_eq!(world.judgement(0), counted(48_000.0));
    assert!(matches!(world.judgement(1), Verdict::Held { .. }));
}

#[test]
fn numbers_outvote_trust() {
    let world = World::new()
        .reading_from("2024-03-01 12:00", km(48_000.0), ReadingSource::DashPhoto)
        .reading_from("2024-03-02 12:00", km(9000.0), ReadingSource::Gps)
        .reading_from("2024-03-03 12:00", km(9100.0), ReadingSource::Gps);
    assert!(matches!(world.judgement(0), Verdict::Held { .. }));
}

#[test]
fn a_less_trusted_number_gives_way_in_the_forecast_though_it_counts() {
    // The satellite shows 48,050 km an hour before the technician reads 48,000 km: within 1 %, so both count, but the
    // forecast starts from the technician's number.
    let world = World::new()
        .reading_from("2024-03-01 11:00", km(48_050.0), ReadingSource::Gps)
        .reading("2024-03-01 12:00", 48_000.0);
    assert_eq!(world.judgement(0), counted(48_050.0));
    assert_eq!(world.horizon().usage.unwrap().odometer, Distance::from_km(48_000));
    let limit = world.window(None, Some(km(48_040.0))).first_window();
    assert_eq!(limit.ended, None);
}
