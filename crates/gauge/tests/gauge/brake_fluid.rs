//! Brake fluid: the boiling points of the classes against the published table, and what is made of a measurement.

use gauge::brake_fluid::{
    FluidClass, age_met, boiling_met, copper_met, limits, new_minimum, water_met, wet_minimum,
};
use gauge::{Discipline, Limit, Standing};
use model::Grade;
use proptest::prelude::*;
use quantity::{Entered, Temperature, Unit};

fn at(value: f64, unit: Unit) -> Temperature {
    Temperature::parse(Entered::new(value, unit)).expect("a temperature")
}

fn celsius(value: f64) -> Temperature {
    at(value, Unit::Celsius)
}

fn share(percent: f64) -> i64 {
    Entered::new(percent, Unit::Percent).exact().expect("a share")
}

fn grade(met: Option<&Limit>) -> Option<Grade> {
    met.map_or(Some(Grade::Good), |limit| limit.grade)
}

fn degrees(limit: &Limit) -> Option<Entered> {
    limit.bound.value()
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
    for (class, row) in FluidClass::ALL.into_iter().zip(rows) {
        assert!(class.word().to_lowercase().ends_with(&row[0].to_lowercase()), "{class:?} {row:?}");
        let number = |cell: &str| Entered::new(cell.parse().expect("degrees"), Unit::Celsius);
        assert_eq!(degrees(new_minimum(class)), Some(number(row[2])), "{class:?}");
        assert_eq!(degrees(wet_minimum(class)), Some(number(row[3])), "{class:?}");
        let from_memory = row[row.len() - 1] == "memory";
        assert_eq!(wet_minimum(class).standing == Standing::Memory, from_memory, "{class:?}");
    }
}

#[test]
fn the_published_fahrenheit_figures_are_the_same_limits() {
    // 284 F and 356 F are 140 C and 180 C exactly; 311 F is 155 C exactly (49 CFR 571.116, restated in both units).
    for (class, fahrenheit) in
        [(FluidClass::Dot3, 284.0), (FluidClass::Dot4, 311.0), (FluidClass::Dot51, 356.0)]
    {
        assert_eq!(at(fahrenheit, Unit::Fahrenheit).mk(), wet_minimum(class).exact(), "{class:?}");
    }
}

#[test]
fn fluid_that_boils_below_the_wet_minimum_of_its_class_is_to_be_replaced() {
    let met = |value| boiling_met(Some(FluidClass::Dot4), celsius(value));
    assert_eq!(grade(met(154.9)), Some(Grade::Attend));
    // The margin of 10 K is a house setting (common practice, no source).
    assert_eq!(grade(met(155.0)), Some(Grade::Watch));
    assert_eq!(grade(met(164.9)), Some(Grade::Watch));
    assert_eq!(met(165.0), None);
    assert_eq!(met(154.9).map(|limit| limit.source), Some("49 CFR 571.116 S5.1.2"));
}

#[test]
fn fluid_of_unknown_class_is_never_called_good() {
    assert_eq!(grade(boiling_met(None, celsius(139.9))), Some(Grade::Attend));
    assert_eq!(grade(boiling_met(None, celsius(250.0))), Some(Grade::Watch));
}

#[test]
fn water_is_watched_from_two_percent_and_attended_to_from_three() {
    // Common practice, no source.
    let met = |percent| grade(water_met(Some(FluidClass::Dot4), share(percent)));
    assert_eq!([1.9, 2.0, 2.9].map(met), [Some(Grade::Good), Some(Grade::Watch), Some(Grade::Watch)]);
    assert_eq!([3.0, 5.0].map(met), [Some(Grade::Attend); 2]);
    assert_eq!(water_met(Some(FluidClass::Dot5), share(3.5)), None, "silicone is not judged by water");
}

#[test]
fn copper_and_age_lead_to_advice_only() {
    // 200 ppm: AMRA/MAP guideline, restated (verified second-hand), disputed by a laboratory report. Age: common practice.
    assert_eq!(copper_met(share(0.02)), None, "200 ppm itself is not above it");
    assert_eq!(copper_met(share(0.0201)).map(|limit| limit.grade), Some(None));
    assert_eq!(age_met(23), None);
    assert_eq!([24, 36, 60].map(|months| age_met(months).map(|limit| limit.grade)), [Some(None); 3]);
    assert!(limits().all(|limit| limit.discipline == Discipline::BrakeFluid));
}

proptest! {
    #[test]
    fn a_lower_boiling_point_never_grades_better(
        class in prop::option::of(prop::sample::select(FluidClass::ALL.to_vec())),
        boiling in 90.0..300.0_f64, lower in 0.0..100.0_f64,
    ) {
        let of = |value| grade(boiling_met(class, celsius(value)));
        prop_assert!(of(boiling - lower) >= of(boiling));
    }

    #[test]
    fn a_boiling_point_grades_alike_in_either_unit(
        class in prop::option::of(prop::sample::select(FluidClass::ALL.to_vec())), fahrenheit in 200..560_i32,
    ) {
        let fahrenheit = f64::from(fahrenheit);
        let in_celsius = celsius((fahrenheit - 32.0) / 1.8);
        prop_assert_eq!(boiling_met(class, at(fahrenheit, Unit::Fahrenheit)), boiling_met(class, in_celsius));
    }

    #[test]
    fn more_water_never_grades_better(water in 0.0..6.0_f64, more in 0.0..6.0_f64) {
        let of = |percent| grade(water_met(Some(FluidClass::Dot3), share(percent)));
        prop_assert!(of(water + more) >= of(water));
    }
}
