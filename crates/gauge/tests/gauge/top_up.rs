//! Engine oil and urea solution: rates from top-ups, by hand; their limits are common practice, no source.

use crate::world::{advises, car, whole};
use gauge::engine_oil::OilLevel;
use gauge::top_up::{Consumption, TopUp, TopUpError, Trend, consumption, trend};
use gauge::urea::UreaLevel;
use gauge::{Standing, Verdict, Yardstick, engine_oil, urea};
use model::Grade::{self, Attend, DoNotDrive, Good, Watch};
use model::Jurisdiction;
use proptest::prelude::*;
use quantity::{Distance, Entered, Unit};

const fn top_up(km: i64, litres: f64) -> TopUp {
    TopUp { odometer: Distance::from_km(km), litres }
}

const FILLED: Distance = Distance::from_km(10_000);

fn rate(top_ups: &[TopUp]) -> Consumption {
    consumption(FILLED, top_ups, engine_oil::MARK_ERROR_LITRES).expect("a rate")
}

fn near(ours: f64, expected: f64) -> bool {
    (ours - expected).abs() < 1e-9
}

#[test]
fn the_rate_is_all_that_was_topped_up_over_all_that_was_driven() {
    // 0.5 + 1.0 + 0.9 = 2.4 L over 6,000 km; which order they were entered in does not matter.
    let found = rate(&[top_up(12_000, 0.5), top_up(16_000, 0.9), top_up(14_000, 1.0)]);
    assert!(near(found.litres_per_1000_km, 0.4), "{found:?}");
    assert_eq!(found.distance, Distance::from_km(6000));
    // Residuals -0.3, 0.2, 0.1 L over 2,000 km each: s2 = (0.09 + 0.04 + 0.01) / 2000 / 2, error = sqrt(s2 / 6000).
    assert!(near(found.standard_error, 1000.0 * (0.14_f64 / 2000.0 / 2.0 / 6000.0).sqrt()), "{found:?}");
}

#[test]
fn even_top_ups_are_no_surer_than_the_mark_can_be_read() {
    // Twice 0.1 L misread over 4,000 km: sqrt(2) * 0.1 / 4 = 0.0354 L over 1,000 km.
    let found = rate(&[top_up(12_000, 1.0), top_up(14_000, 1.0)]);
    assert!((found.standard_error - 0.035_355).abs() < 1e-6, "{found:?}");
    let once = rate(&[top_up(12_000, 1.0)]);
    assert!(near(once.litres_per_1000_km, 0.5) && (once.standard_error - 0.070_711).abs() < 1e-6, "{once:?}");
}

#[test]
fn two_cans_at_one_odometer_are_one_top_up() {
    let two = rate(&[top_up(12_000, 0.5), top_up(12_000, 0.5), top_up(14_000, 0.6)]);
    assert_eq!(two, rate(&[top_up(12_000, 1.0), top_up(14_000, 0.6)]));
}

#[test]
fn what_gives_no_rate_is_refused_by_name() {
    let refused = |top_ups: &[TopUp]| consumption(FILLED, top_ups, 0.1).expect_err("refused");
    assert_eq!(refused(&[]), TopUpError::TooShort { driven: Distance::ZERO });
    let short = TopUpError::TooShort { driven: Distance::from_km(999) };
    assert_eq!(refused(&[top_up(10_999, 1.0)]), short);
    let before = TopUpError::BeforeTheFill { odometer: Distance::from_km(9000), filled_at: FILLED };
    assert_eq!(refused(&[top_up(12_000, 1.0), top_up(9000, 1.0)]), before);
    assert_eq!(refused(&[top_up(12_000, -0.5)]), TopUpError::NotAVolume { litres: -0.5 });
    assert!(matches!(refused(&[top_up(12_000, f64::NAN)]), TopUpError::NotAVolume { .. }));
}

fn oil(used: &Consumption, trend: Option<&Trend>) -> Verdict {
    engine_oil::judge_use(&Yardstick::shipped(&car(Jurisdiction::Uk)), used, trend)
}

fn halves(top_ups: &[TopUp]) -> Option<Trend> {
    trend(FILLED, top_ups, 0.1).expect("amounts")
}

#[test]
fn a_rise_is_told_only_beyond_its_uncertainty() {
    let steady = [top_up(12_000, 0.5), top_up(14_000, 0.6), top_up(16_000, 0.6), top_up(18_000, 0.5)];
    let rising = [top_up(12_000, 0.5), top_up(14_000, 0.5), top_up(16_000, 1.2), top_up(18_000, 1.4)];
    let judged = |top_ups: &[TopUp]| oil(&rate(top_ups), halves(top_ups).as_ref());
    assert_eq!((judged(&steady).grade, judged(&rising).grade), (Good, Watch));
    assert!(
        judged(&rising).reason.starts_with("The use of oil is growing: 0.25 L (give or take "),
        "{:?}",
        judged(&rising)
    );
    let trend = halves(&rising).expect("four top-ups");
    assert!(near(trend.earlier.litres_per_1000_km, 0.25) && near(trend.later.litres_per_1000_km, 0.65));
    assert_eq!(halves(&rising[..3]), None, "three top-ups make no trend");
    assert_eq!(
        halves(&[10_300, 10_600, 10_900, 13_000].map(|km| top_up(km, 0.5))),
        None,
        "half of it too short"
    );
}

#[test]
fn a_litre_over_a_thousand_kilometres_is_attended_to() {
    // Makers' usual allowance, from memory; half of it watched is common practice, no source.
    let judged = |litres| oil(&rate(&[top_up(12_000, litres)]), None);
    assert_eq!([0.99, 1.0, 1.99, 2.0].map(|litres| judged(litres).grade), [Good, Watch, Watch, Attend]);
    assert_eq!(
        [1.0, 2.0].map(|litres| judged(litres).standing),
        [Standing::CommonPractice, Standing::Memory]
    );
    assert_eq!(
        judged(2.0).reason,
        "The engine uses 1 L (give or take 0.14 L) over 1,000 km of oil: as much as makers usually allow, or more."
    );
    assert!(judged(2.0).caution.is_some() && !judged(1.0).advice.is_empty());
}

#[test]
fn the_use_of_urea_and_how_far_it_will_go_follow_from_the_same_rate() {
    let used =
        |litres| consumption(FILLED, &[top_up(15_000, litres)], urea::MARK_ERROR_LITRES).expect("a rate");
    let vehicle = car(Jurisdiction::Uk);
    let grade = |litres| urea::judge_use(&Yardstick::shipped(&vehicle), &used(litres)).grade;
    assert_eq!([14.9, 15.0].map(grade), [Good, Watch]);
    assert_eq!(used(10.0).distance_on(5.0), Some(Distance::from_km(2500)));
    assert_eq!(used(0.0).distance_on(5.0), None, "nothing is used");
}

#[test]
fn the_distance_left_is_graded_in_either_unit() {
    let graded = |value, unit| whole("urea-range", Entered::new(value, unit));
    let km = [2500.0, 2499.0, 1000.0, 999.0].map(|value| graded(value, Unit::Kilometre).grade);
    assert_eq!(km, [Good, Watch, Watch, Attend]);
    let miles = [1554.0, 1553.0, 622.0, 621.0].map(|value| graded(value, Unit::Mile).grade);
    assert_eq!(miles, [Good, Watch, Watch, Attend]);
    assert!(advises(&graded(500.0, Unit::Mile), "never put it into the fuel"));
}

#[test]
fn one_top_up_says_little_and_much_at_once_a_little_more() {
    let grade = |point, value, unit| whole(point, Entered::new(value, unit)).grade;
    assert_eq!([1.0, 1.01].map(|litres| grade("oil-top-up", litres, Unit::Litre)), [Good, Watch]);
    // 1.06 US quarts are 1.003 L.
    assert_eq!([1.05, 1.06].map(|quarts| grade("oil-top-up", quarts, Unit::UsQuart)), [Good, Watch]);
    assert_eq!([30.0, 30.1].map(|litres| grade("urea-top-up", litres, Unit::Litre)), [Good, Watch]);
}

#[test]
fn levels_stop_an_engine_without_oil_and_no_other() {
    let oil: Vec<Grade> = OilLevel::ALL.iter().map(|level| level.answer().grade).collect();
    assert_eq!(oil, [Good, Attend, Attend, DoNotDrive]);
    let urea: Vec<Grade> = UreaLevel::ALL.iter().map(|level| level.answer().grade).collect();
    assert_eq!(urea, [Good, Watch, Attend]);
    assert!(OilLevel::None.answer().advice.starts_with("Do not start the engine"));
}

proptest! {
    #[test]
    fn more_oil_never_grades_better(km in 1000..20_000_i64, litres in 0.0..10.0_f64, more in 0.0..10.0_f64) {
        let grade = |litres| oil(&rate(&[top_up(10_000 + km, litres)]), None).grade;
        prop_assert!(grade(litres + more) >= grade(litres));
    }

    #[test]
    fn a_rate_is_the_same_whether_driven_in_miles_or_kilometres(
        miles in prop::collection::vec(1000..90_000_u32, 1..8), litres in 0.1..2.0_f64,
    ) {
        let of = |unit: Unit, factor: f64| {
            let at = |miles: u32| Distance::parse(Entered::new(f64::from(miles) * factor, unit)).expect("one");
            let top_ups: Vec<TopUp> = miles.iter().map(|miles| TopUp { odometer: at(*miles), litres }).collect();
            consumption(Distance::ZERO, &top_ups, 0.1).expect("a rate").litres_per_1000_km
        };
        let (in_miles, in_km) = (of(Unit::Mile, 1.0), of(Unit::Kilometre, 1.609_344));
        prop_assert!((in_miles - in_km).abs() <= 1e-9 * in_km, "{in_miles} {in_km}");
    }

    #[test]
    fn splitting_a_top_up_never_changes_the_rate(litres in 0.2..3.0_f64, share in 0.1..0.9_f64) {
        let whole = rate(&[top_up(13_000, litres), top_up(15_000, 0.4)]);
        let split = rate(&[top_up(11_000, share * litres), top_up(13_000, (1.0 - share) * litres), top_up(15_000, 0.4)]);
        prop_assert!((whole.litres_per_1000_km - split.litres_per_1000_km).abs() < 1e-9);
    }
}
