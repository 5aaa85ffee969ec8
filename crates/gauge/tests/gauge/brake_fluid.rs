//! Brake fluid: the boiling points of the classes against the published table, and what is made of a measurement.

use crate::world::{advises, car, check, grade_all};
use gauge::brake_fluid::{FluidClass, FluidLevel, advice_for_age, new_minimum, wet_minimum};
use gauge::{Standing, Yardstick, point};
use model::Grade::{self, Attend, DoNotDrive, Good, Watch};
use model::horizon::Graded;
use model::{Jurisdiction, Place, Zone};
use proptest::prelude::*;
use quantity::{Entered, Unit};

const fn celsius(value: f64) -> Entered {
    Entered::new(value, Unit::Celsius)
}

const fn fahrenheit(value: f64) -> Entered {
    Entered::new(value, Unit::Fahrenheit)
}

/// What this point comes to in fluid of a class that was said long before.
fn measured(class: Option<FluidClass>, code: &str, entered: Entered) -> Graded {
    let mut inspections = Vec::new();
    if let Some(class) = class {
        let word = point("brake-fluid-class").expect("a point").answered(class.word()).expect("an answer");
        let said = check(1, "2026-03-01").measured("brake-fluid-class", Place::Vehicle, Zone::Whole, word);
        inspections.push(said.done());
    }
    inspections.push(check(2, "2027-03-01").measured(code, Place::Vehicle, Zone::Whole, entered).done());
    let graded = grade_all(&car(Jurisdiction::Uk), &inspections);
    graded.into_iter().find(|graded| graded.point == code).expect("a grade")
}

fn boiling(class: Option<FluidClass>, entered: Entered) -> Graded {
    measured(class, "brake-fluid-boiling", entered)
}

fn water(class: Option<FluidClass>, percent: f64) -> Graded {
    measured(class, "brake-fluid-water", Entered::new(percent, Unit::Percent))
}

#[test]
fn classes_ask_for_the_boiling_points_of_the_published_table() {
    // Sources and standings at the head of the table: DOT verified second-hand, ISO 4925 from memory.
    let rows: Vec<Vec<&str>> = include_str!("brake_fluid_grades.csv")
        .lines()
        .filter(|line| !line.starts_with('#'))
        .skip(1)
        .map(|line| line.split(',').collect())
        .collect();
    assert_eq!(rows.len(), FluidClass::ALL.len());
    for (class, row) in FluidClass::ALL.iter().copied().zip(rows) {
        assert!(class.answer().title.to_lowercase().ends_with(&row[0].to_lowercase()), "{class:?} {row:?}");
        let number = |cell: &str| celsius(cell.parse().expect("degrees"));
        assert_eq!(new_minimum(class).bound.value(), Some(number(row[2])), "{class:?}");
        assert_eq!(wet_minimum(class).bound.value(), Some(number(row[3])), "{class:?}");
        let from_memory = row[row.len() - 1] == "memory";
        assert_eq!(wet_minimum(class).standing == Standing::Memory, from_memory, "{class:?}");
    }
}

#[test]
fn the_published_fahrenheit_figures_are_the_same_limits() {
    // 284 F, 311 F and 356 F are 140 C, 155 C and 180 C exactly (49 CFR 571.116, restated in both units).
    for (class, least) in [(FluidClass::Dot3, 284.0), (FluidClass::Dot4, 311.0), (FluidClass::Dot51, 356.0)] {
        let steps = [least - 0.1, least].map(|value| boiling(Some(class), fahrenheit(value)).grade);
        assert_eq!(steps, [Attend, Watch], "{class:?}");
    }
}

#[test]
fn fluid_that_boils_below_the_wet_minimum_of_its_class_is_to_be_replaced() {
    // The margin of 10 K is a house setting (common practice, no source).
    let graded = |value| boiling(Some(FluidClass::Dot4), celsius(value));
    let steps = [154.9, 155.0, 164.9, 165.0].map(|value| graded(value).grade);
    assert_eq!(steps, [Attend, Watch, Watch, Good]);
    let attend = graded(154.9);
    assert_eq!((attend.source.as_str(), attend.standing.as_str()), ("49 CFR 571.116 S5.1.2", "verified"));
    assert_eq!(
        attend.reason,
        "Brake fluid that boils at 154.9 °C is below the 155 °C that even wet DOT 4 must stand."
    );
    assert_eq!(attend.changes_when, "At or above 155 °C it would be better.");
    assert!(attend.caution.is_some_and(|caution| caution.contains("prove the brakes")));
    assert_eq!(graded(170.0).changes_when, "Below 165 °C it would no longer be good.");
}

#[test]
fn a_class_from_memory_says_so() {
    assert_eq!(boiling(Some(FluidClass::Iso6), celsius(160.0)).standing, "memory");
}

#[test]
fn fluid_of_unknown_class_is_never_called_good() {
    assert_eq!(boiling(None, celsius(139.9)).grade, Attend);
    let high = boiling(None, celsius(250.0));
    assert_eq!(high.grade, Watch);
    assert!(advises(&high, "Read the class off the tank's cap"), "{high:?}");
}

#[test]
fn water_is_watched_from_two_percent_and_attended_to_from_three() {
    // Common practice, no source.
    let steps = [1.9, 2.0, 2.9, 3.0, 5.0].map(|percent| water(Some(FluidClass::Dot4), percent).grade);
    assert_eq!(steps, [Good, Watch, Watch, Attend, Attend]);
    assert_eq!(water(None, 1.0).changes_when, "At or above 2 % it would no longer be good.");
    let silicone = water(Some(FluidClass::Dot5), 3.5);
    assert_eq!(silicone.grade, Good, "silicone is not judged by water");
    assert!(advises(&silicone, "boiling point"));
}

#[test]
fn copper_and_age_lead_to_advice_only() {
    // 200 ppm: AMRA/MAP guideline, restated (verified second-hand), disputed by a laboratory report. Age: common practice.
    let copper = |ppm| measured(None, "brake-fluid-copper", Entered::new(ppm, Unit::PartPerMillion));
    assert_eq!([200.0, 200.1, 900.0].map(|ppm| copper(ppm).grade), [Good; 3]);
    assert!(copper(200.0).advice.is_empty() && advises(&copper(200.1), "boiling point"));
    assert!(
        copper(200.1).reason.contains("others do not") && copper(200.1).changes_when.contains("advice only")
    );
    let vehicle = car(Jurisdiction::Uk);
    let yardstick = Yardstick::shipped(&vehicle);
    let [young, two, three] = [23, 24, 36].map(|months| advice_for_age(&yardstick, months));
    assert!(young.is_none() && two.is_some() && three.is_some() && two != three);
}

#[test]
fn a_low_level_asks_for_pads_and_leaks_and_not_for_the_bottle() {
    let steps: Vec<Grade> = FluidLevel::ALL.iter().map(|level| level.answer().grade).collect();
    assert_eq!(steps, [Good, Watch, Attend, DoNotDrive]);
    let low = FluidLevel::Low.answer();
    assert!(low.advice.starts_with("Do not just top it up: measure the pads and look for leaks"), "{low:?}");
    assert!(low.caution().is_some_and(|caution| caution.contains("brake fluid off skin")));
}

fn some_class() -> impl Strategy<Value = Option<FluidClass>> {
    prop::option::of(prop::sample::select(FluidClass::ALL.to_vec()))
}

proptest! {
    #[test]
    fn a_lower_boiling_point_never_grades_better(class in some_class(), value in 160.0..300.0_f64, lower in 0.0..100.0_f64) {
        prop_assert!(boiling(class, celsius(value - lower)).grade >= boiling(class, celsius(value)).grade);
    }

    #[test]
    fn a_boiling_point_grades_alike_in_either_unit(class in some_class(), value in 200..560_i32) {
        let value = f64::from(value);
        let in_celsius = celsius((value - 32.0) / 1.8);
        prop_assert_eq!(boiling(class, fahrenheit(value)).grade, boiling(class, in_celsius).grade);
    }

    #[test]
    fn more_water_never_grades_better(class in some_class(), value in 0.0..10.0_f64, more in 0.0..10.0_f64) {
        prop_assert!(water(class, value + more).grade >= water(class, value).grade);
    }
}
