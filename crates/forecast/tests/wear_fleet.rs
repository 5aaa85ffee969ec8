//! Does a fleet find the rates of wear and the spread that its components were made with?

#[path = "support/dice.rs"]
mod dice;

use dice::Dice;
use forecast::wear::{FittedRates, LEAST_COMPONENTS, Rates, Worn, WornReading, fit_rates};

/// What is shipped is wrong about all of it.
const SHIPPED: Rates = Rates { mm_per_km: [1.6e-4, 0.9e-4], tau: 0.3 };
const TRUTH: Rates = Rates { mm_per_km: [2.2e-4, 0.7e-4], tau: 0.18 };
const GAUGE_SD_MM: f64 = 0.2;

/// Where a component is driven: every 6,000 km or so it may change its axle.
#[derive(Clone, Copy, PartialEq)]
enum Life {
    Front,
    Rotates,
}

fn component(life: Life, knows_new: bool, dice: &mut Dice) -> Worn {
    let pace = 1.0 + TRUTH.tau * dice.normal();
    let mut km = [0.0, 0.0];
    let readings = (0..5).map(|number| {
        km[if life == Life::Rotates { number % 2 } else { 0 }] += 1000.0 * dice.gamma(6.0);
        let gone = pace * (TRUTH.mm_per_km[0] * km[0] + TRUTH.mm_per_km[1] * km[1]);
        WornReading { km, depth_mm: 8.0 - gone + GAUGE_SD_MM * dice.normal() }
    });
    Worn { readings: readings.collect(), new_mm: knows_new.then_some(8.0) }
}

fn fleet(count: usize, life: Life, knows_new: bool, seed: u64) -> FittedRates {
    let mut dice = Dice::new(seed);
    let components: Vec<Worn> = (0..count).map(|_| component(life, knows_new, &mut dice)).collect();
    fit_rates(&components, &SHIPPED, GAUGE_SD_MM)
}

fn off_by(found: f64, truth: f64) -> f64 {
    (found / truth - 1.0).abs()
}

#[test]
fn rates_and_spread_are_those_the_components_were_made_with() {
    for (knows_new, seed) in [(true, 1), (false, 2)] {
        let FittedRates { rates, components } = fleet(400, Life::Rotates, knows_new, seed);
        println!("new known: {knows_new}: {rates:?}");
        assert_eq!(components, 400);
        assert!(off_by(rates.mm_per_km[0], TRUTH.mm_per_km[0]) < 0.03, "{rates:?}");
        assert!(off_by(rates.mm_per_km[1], TRUTH.mm_per_km[1]) < 0.08, "{rates:?}");
        assert!(off_by(rates.tau, TRUTH.tau) < 0.12, "{rates:?}");
    }
}

/// Over many fleets of twenty the rates are right on average, but for what is drawn towards those shipped.
#[test]
fn fleets_of_twenty_are_right_on_average() {
    let found: Vec<Rates> = (0..200).map(|seed| fleet(20, Life::Rotates, false, 100 + seed).rates).collect();
    let mean = |part: fn(&Rates) -> f64| found.iter().map(part).sum::<f64>() / 200.0;
    let (front, rear, tau) =
        (mean(|rates| rates.mm_per_km[0]), mean(|rates| rates.mm_per_km[1]), mean(|rates| rates.tau));
    println!("front {front:e}, rear {rear:e}, tau {tau}");
    assert!(off_by(front, TRUTH.mm_per_km[0]) < 0.02 && off_by(rear, TRUTH.mm_per_km[1]) < 0.05);
    // Two parts in seven of its square are the shipped spread's.
    let drawn = libm::sqrt((20.0 * TRUTH.tau * TRUTH.tau + 8.0 * SHIPPED.tau * SHIPPED.tau) / 28.0);
    assert!(off_by(tau, drawn) < 0.05, "{tau} against {drawn}");
}

#[test]
fn an_axle_on_which_nothing_was_driven_keeps_the_shipped_rate() {
    let rates = fleet(100, Life::Front, true, 7).rates;
    assert!(off_by(rates.mm_per_km[1], SHIPPED.mm_per_km[1]) < 1e-9, "{rates:?}");
    assert!(off_by(rates.mm_per_km[0], TRUTH.mm_per_km[0]) < 0.05, "{rates:?}");
}

#[test]
fn fewer_than_eight_components_leave_the_shipped_rates() {
    let shipped = FittedRates { rates: SHIPPED, components: 0 };
    assert_eq!(fleet(LEAST_COMPONENTS - 1, Life::Rotates, true, 3), shipped);
    assert_ne!(fleet(LEAST_COMPONENTS, Life::Rotates, true, 3), shipped);
}

#[test]
fn a_component_measured_once_and_of_unknown_depth_tells_nothing() {
    let mut dice = Dice::new(5);
    let mut components: Vec<Worn> = (0..8).map(|_| component(Life::Front, false, &mut dice)).collect();
    components[3].readings.truncate(1);
    assert_eq!(fit_rates(&components, &SHIPPED, GAUGE_SD_MM).components, 0);
    components[3].new_mm = Some(8.0);
    assert_eq!(fit_rates(&components, &SHIPPED, GAUGE_SD_MM).components, 8);
}

/// On one axle and with all first depths known, two rounds by hand: with equal distances the rate is the mean of the
/// components' own, but for the belief in the shipped one.
#[test]
fn components_driven_alike_give_the_mean_of_their_own_rates() {
    let gone = [2.0, 2.2, 1.8, 2.4, 1.6, 2.1, 1.9, 2.0, 2.3, 1.7];
    let components: Vec<Worn> = gone
        .iter()
        .map(|gone| Worn {
            new_mm: Some(8.0),
            readings: vec![WornReading { km: [10_000.0, 0.0], depth_mm: 8.0 - gone }],
        })
        .collect();
    let rates = fit_rates(&components, &SHIPPED, GAUGE_SD_MM).rates;
    // Variance of one component's rate: gauge and spread (those of the gauge explain all the spread there is here).
    let of_mean = (0.2_f64 / 10_000.0) * (0.2 / 10_000.0) / 10.0;
    let spread = gone.iter().map(|gone| (gone - 2.0) * (gone - 2.0)).sum::<f64>() / 9.0 - 0.04;
    let of_mean = of_mean + (spread.max(0.0) / 1e8) / 10.0;
    let belief = (0.5 * 1.6e-4) * (0.5 * 1.6e-4);
    let expected = (2.0e-4 / of_mean + 1.6e-4 / belief) / (1.0 / of_mean + 1.0 / belief);
    assert!(off_by(rates.mm_per_km[0], expected) < 1e-6, "{rates:?} against {expected}");
}
