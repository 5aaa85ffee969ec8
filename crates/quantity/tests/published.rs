//! Conversions against published factors.
//!
//! Source of every row: definitional factors as printed in NIST SP 811 (from memory) and recomputed with pint 0.25.3
//! (standing: computed).

use proptest::prelude::*;
use quantity::{Depth, Dimension, Distance, Entered, Pressure, QuantityError, Temperature, Unit};

fn convert(value: f64, from: Unit, to: Unit) -> f64 {
    Entered::from_exact(Entered::new(value, from).exact().expect("in range"), to).value
}

#[test]
fn published_conversion_factors_are_met() {
    let cases = [
        (1.0, Unit::Mile, Unit::Kilometre, 1.609_344, 0.0),
        (100.0, Unit::Kilometre, Unit::Mile, 62.137_119_223_7, 1e-9),
        (1.0, Unit::ThirtySecondInch, Unit::Millimetre, 0.793_75, 0.0),
        (2.0, Unit::ThirtySecondInch, Unit::Millimetre, 1.587_5, 0.0),
        (3.0, Unit::ThirtySecondInch, Unit::Millimetre, 2.381_25, 0.0),
        (4.0, Unit::ThirtySecondInch, Unit::Millimetre, 3.175, 0.0),
        (1.6, Unit::Millimetre, Unit::ThirtySecondInch, 2.015_748, 1e-6),
        (1.0, Unit::Bar, Unit::Kilopascal, 100.0, 0.0),
        (1.0, Unit::Bar, Unit::Psi, 14.503_774, 1e-6),
        (36.0, Unit::Psi, Unit::Kilopascal, 248.211, 1e-3),
        (205.0, Unit::Celsius, Unit::Fahrenheit, 401.0, 1e-3),
        (-34.0, Unit::Fahrenheit, Unit::Celsius, -36.666_666_666_7, 1e-3),
        // A US gallon is 3.785411784 L.
        (4.0, Unit::UsQuart, Unit::Litre, 3.785_411_784, 1e-6),
        (200.0, Unit::PartPerMillion, Unit::Percent, 0.02, 0.0),
    ];
    for (value, from, to, expected, tolerance) in cases {
        let got = convert(value, from, to);
        assert!((got - expected).abs() <= tolerance + 1e-12, "{value} {from} is {got} {to}, not {expected}");
    }
}

/// A difference of 10 degF is 5.5556 K (pint 0.25.3, computed).
#[test]
fn a_difference_of_temperatures_knows_no_zero() {
    let ten = Entered::difference(5556, Unit::Fahrenheit);
    assert!((ten.value - 10.0).abs() < 1e-3, "{ten}");
    assert_eq!(Entered::difference(-2500, Unit::Celsius), Entered::new(-2.5, Unit::Celsius));
    assert_eq!(
        Entered::difference(793_750, Unit::ThirtySecondInch),
        Entered::new(1.0, Unit::ThirtySecondInch)
    );
}

#[test]
fn two_thirty_seconds_are_less_than_one_point_six_millimetres() {
    let floor_us = Depth::parse(Entered::new(2.0, Unit::ThirtySecondInch)).expect("a depth");
    let floor_eu = Depth::parse(Entered::new(1.6, Unit::Millimetre)).expect("a depth");
    assert_eq!((floor_us.nm(), floor_eu.nm()), (1_587_500, 1_600_000));
}

#[test]
fn a_unit_of_another_dimension_is_refused_with_the_units_that_would_do() {
    let error = Distance::parse(Entered::new(3.0, Unit::Psi)).expect_err("psi is no distance");
    assert!(
        matches!(&error, QuantityError::WrongDimension { allowed, .. } if allowed == "km, mi"),
        "{error}"
    );
}

#[test]
fn what_cannot_be_kept_exactly_is_refused() {
    for value in [f64::NAN, f64::INFINITY, -1e300, 1e11] {
        assert!(matches!(
            Entered::new(value, Unit::Kilometre).exact(),
            Err(QuantityError::OutOfRange { .. })
        ));
    }
}

#[test]
fn a_person_reads_no_idle_zeros() {
    let shown = [
        (Entered::new(48_210.0, Unit::Kilometre), "48210 km"),
        (Entered::new(2.5, Unit::Millimetre), "2.5 mm"),
        (Entered::new(4.6, Unit::ThirtySecondInch), "4.6/32 in"),
        (Entered::new(-0.0001, Unit::Celsius), "0 °C"),
    ];
    for (entered, expected) in shown {
        assert_eq!(entered.to_string(), expected);
    }
}

#[test]
fn every_code_names_one_unit() {
    for unit in Unit::ALL {
        assert_eq!(Unit::from_code(unit.code()), Some(unit));
        assert_eq!(serde_json::to_value(unit).expect("a unit is a string"), unit.code());
    }
    assert_eq!(Unit::from_code("furlong"), None);
}

proptest! {
    #[test]
    fn an_entered_value_comes_back_from_its_exact_integer(thousandths in -9_000_000_i64..9_000_000, index in 0..Unit::ALL.len()) {
        let unit = Unit::ALL[index];
        #[expect(clippy::cast_precision_loss, reason = "small whole numbers")]
        let value = thousandths as f64 / 1000.0;
        let back = Entered::from_exact(Entered::new(value, unit).exact().expect("in range"), unit).value;
        // Half a base unit is all that rounding may cost: for most the coarsest is the millikelvin, 0.0018 degF; a part per
        // million has a hundred base units, an answer is one.
        let most = match unit {
            Unit::Answer => 0.5,
            Unit::PartPerMillion => 0.005,
            _ => 0.0009,
        };
        prop_assert!((back - value).abs() <= most + 1e-9, "{value} {unit} came back as {back}");
    }

    #[test]
    fn order_does_not_depend_on_the_unit(a in 0.0_f64..20.0, b in 0.0_f64..20.0) {
        let mm = Depth::parse(Entered::new(a, Unit::Millimetre)).expect("a depth");
        let other = Depth::parse(Entered::new(b / 0.793_75, Unit::ThirtySecondInch)).expect("a depth");
        if (a - b).abs() > 1e-5 { prop_assert_eq!(mm < other, a < b); }
    }
}

#[test]
fn temperatures_and_pressures_reach_the_units_of_physics() {
    let cold = Temperature::parse(Entered::new(20.0, Unit::Celsius)).expect("a temperature");
    let placard = Pressure::parse(Entered::new(2.5, Unit::Bar)).expect("a pressure");
    assert_eq!(Dimension::Pressure, Unit::Bar.dimension());
    assert!((cold.kelvin() - 293.15).abs() < 1e-9 && (placard.kpa() - 250.0).abs() < 1e-9);
}
