//! Does the band of a wear limit hold four cases in five? Measured on invented components, moved about and not.

#[path = "support/dice.rs"]
mod dice;
#[path = "support/worn.rs"]
mod worn;

use dice::Dice;
use forecast::wear::{Crossing, Start};
use forecast::{Band3, Usage};
use worn::{CASES, Component, Life, MOST_DAYS, dates_held, distances_held};

#[test]
fn the_nine_distances_span_eight_parts_in_nine() {
    for (life, start) in CASES {
        let held = distances_held(life, start, 71);
        println!("distance, {life:?}, {start:?}: {held:.1} %");
        assert!((held - 800.0 / 9.0).abs() <= 3.0, "{held} for {life:?}, {start:?}");
    }
}

#[test]
fn the_band_of_the_date_holds_four_in_five() {
    for (life, start) in CASES {
        let held = dates_held(life, start, 72);
        println!("date, {life:?}, {start:?}: {held:.1} %");
        assert!((held - 80.0).abs() <= 3.0, "{held} for {life:?}, {start:?}");
    }
}

#[test]
fn the_date_of_a_limit_lies_where_its_probability_says() {
    let usage = Usage { a: 0.8, shape: 60.0, scale: 6000.0 };
    let known = Component::new(Life::Rotates, Start::Unknown, &mut Dice::new(73)).known;
    let Band3 { early, likely, late } = known.days_band(&usage, MOST_DAYS);
    for (days, quantile) in [(early, 0.1), (likely, 0.5), (late, 0.9)] {
        let reached = known.probability_reached(&usage, days.expect("in time"));
        assert!((reached - quantile).abs() < 1e-4, "{reached} at {days:?}");
    }
}

#[test]
fn a_component_past_its_limit_is_due_at_once() {
    let usage = Usage { a: 0.8, shape: 60.0, scale: 6000.0 };
    let band = Crossing { km: [-1.0; 9] }.days_band(&usage, MOST_DAYS);
    assert_eq!(band, Band3 { early: Some(0.0), likely: Some(0.0), late: Some(0.0) });
}
