//! The 12 V battery: bands against the published voltage table, cranking against the rating.

use crate::world::{advises, car, check, grade_all};
use gauge::point;
use gauge::starter_battery::{Band, ChargeBefore, Chemistry, corrected_gravity, cranking_share};
use model::Grade::{Attend, Good, Watch};
use model::horizon::Graded;
use model::{Jurisdiction, Place, Zone};
use proptest::prelude::*;
use quantity::{Entered, Temperature, Unit};

const FLOODED: Option<Chemistry> = Some(Chemistry::Flooded);
const AGM: Option<Chemistry> = Some(Chemistry::Agm);

const fn volts(value: f64) -> Entered {
    Entered::new(value, Unit::Volt)
}

const fn amperes(value: f64) -> Entered {
    Entered::new(value, Unit::Ampere)
}

fn word(code: &str, word: &str) -> Entered {
    point(code).expect("a point").answered(word).expect("an answer")
}

/// What the first of these measurements of one inspection comes to.
fn measured(values: &[(&str, Entered)]) -> Graded {
    let whole = |check: crate::world::Check, (code, entered): &(&str, Entered)| {
        check.measured(code, Place::Vehicle, Zone::Whole, *entered)
    };
    let inspection = values.iter().fold(check(1, "2027-03-01"), whole).done();
    let graded = grade_all(&car(Jurisdiction::Uk), &[inspection]);
    graded.into_iter().find(|graded| graded.point == values[0].0).expect("a grade")
}

fn rested(chemistry: Option<Chemistry>, value: f64) -> Graded {
    let kind = chemistry.map(|chemistry| ("battery-kind", word("battery-kind", chemistry.word())));
    let values: Vec<(&str, Entered)> = [("battery-voltage", volts(value))].into_iter().chain(kind).collect();
    measured(&values)
}

fn tested(value: f64, before: Option<ChargeBefore>) -> Graded {
    let charged = before.map(|before| ("battery-charged", word("battery-charged", before.word())));
    let values = [("battery-cranking", amperes(value)), ("battery-rating", amperes(700.0))];
    measured(&values.into_iter().chain(charged).collect::<Vec<_>>())
}

/// Whether the reason puts the battery into this band.
fn is_in(graded: &Graded, band: Band) -> bool {
    let (_, told) = graded.reason.split_once("a battery that is ").expect("a band");
    told.starts_with(band.word())
}

/// The rows of the table, fullest first: volts flooded, specific gravity, volts AGM.
fn rows() -> Vec<[f64; 3]> {
    let lines = include_str!("battery_ocv.csv").lines().filter(|line| !line.starts_with('#')).skip(1);
    lines
        .map(|line| {
            let cells: Vec<&str> = line.split(',').collect();
            [cells[1], cells[2], cells[3]].map(|cell| cell.parse().expect("a number"))
        })
        .collect()
}

#[test]
fn bands_change_at_the_rows_of_the_table() {
    let rows = rows();
    assert_eq!(rows.len(), 5);
    let steps = [
        (1, Band::Charged, Band::PartCharged),
        (2, Band::PartCharged, Band::Low),
        (3, Band::Low, Band::NearlyFlat),
        (4, Band::NearlyFlat, Band::Flat),
    ];
    for (row, at_it, below) in steps {
        for (chemistry, value) in [(FLOODED, rows[row][0]), (AGM, rows[row][2])] {
            let (upper, lower) = (rested(chemistry, value), rested(chemistry, value - 0.01));
            assert!(is_in(&upper, at_it) && is_in(&lower, below), "{chemistry:?} {value}: {lower:?}");
        }
        let gravity = |value| measured(&[("battery-gravity", Entered::new(value, Unit::Count))]);
        let (upper, lower) = (gravity(rows[row][1]), gravity(rows[row][1] - 0.001));
        assert!(is_in(&upper, at_it) && is_in(&lower, below), "{upper:?} {lower:?}");
    }
    assert!(
        [(FLOODED, rows[0][0]), (AGM, rows[0][2])]
            .iter()
            .all(|(kind, value)| rested(*kind, *value).grade == Good)
    );
}

#[test]
fn a_battery_three_quarters_charged_is_good_and_one_below_half_is_to_be_charged() {
    // Voltages verified second-hand; that grades change there is a house setting.
    let steps = [12.65, 12.45, 12.44, 12.24, 12.23, 11.0].map(|value| rested(FLOODED, value).grade);
    assert_eq!(steps, [Good, Good, Watch, Watch, Attend, Attend]);
    let low = rested(FLOODED, 11.95);
    assert_eq!(low.changes_when, "At or above 12.24 V it would be better.");
    assert_eq!(low.standing, "verified");
    assert_eq!(rested(AGM, 11.95).standing, "memory");
    assert!(low.caution.is_some_and(|caution| caution.contains("never charge a frozen battery")));
}

#[test]
fn no_percentage_is_ever_told() {
    for value in [11.0, 12.0, 12.3, 12.5, 12.9] {
        for chemistry in [FLOODED, AGM, None] {
            let graded = rested(chemistry, value);
            let told = graded.reason.replace("with a meter 1 % wrong", "");
            assert!(
                !told.contains('%') && graded.advice.iter().all(|sentence| !sentence.contains('%')),
                "{graded:?}"
            );
        }
    }
}

#[test]
fn what_a_meter_may_have_got_wrong_is_told() {
    // A 1 % error is 0.12 V (read second-hand): 12.45 V may be 12.33 V, 12.2 V may be 12.32 V.
    assert!(
        rested(FLOODED, 12.45).reason.ends_with("charged; with a meter 1 % wrong it may be partly charged.")
    );
    assert!(rested(FLOODED, 12.2).reason.ends_with("low; with a meter 1 % wrong it may be partly charged."));
    assert!(rested(FLOODED, 13.0).reason.ends_with("charged."));
}

#[test]
fn where_the_chemistry_is_unknown_the_table_that_grades_worse_counts() {
    assert_eq!([12.5, 12.25].map(|value| rested(None, value).grade), [Watch, Attend], "as AGM would be");
    assert!(advises(&rested(None, 12.9), "Say whether it is flooded or AGM"));
}

#[test]
fn a_battery_that_has_not_rested_is_neither_good_nor_low() {
    let graded = |value, hours| {
        let rest = ("battery-rest", Entered::new(hours, Unit::Hour));
        measured(&[
            ("battery-voltage", volts(value)),
            ("battery-kind", word("battery-kind", "flooded")),
            rest,
        ])
    };
    let steps =
        [(12.9, 3.9), (11.0, 3.9), (12.9, 4.0), (11.0, 4.0)].map(|(value, hours)| graded(value, hours).grade);
    assert_eq!(steps, [Watch, Watch, Good, Attend]);
    assert!(advises(&graded(12.9, 1.0), "neither charged nor loaded"));
}

#[test]
fn far_from_the_tables_temperature_a_note_is_told_and_nothing_corrected() {
    let graded = |entered| {
        let kind = ("battery-kind", word("battery-kind", "flooded"));
        measured(&[("battery-voltage", volts(12.45)), kind, ("battery-temperature", entered)])
    };
    let noted = [9.9, 10.0, 40.0, 40.1].map(|value| {
        let graded = graded(Entered::new(value, Unit::Celsius));
        (graded.grade, advises(&graded, "The voltage table is for 26.7 °C"))
    });
    assert_eq!(noted, [(Good, true), (Good, false), (Good, false), (Good, true)]);
    assert!(advises(&graded(Entered::new(49.9, Unit::Fahrenheit)), "The voltage table"));
    assert!(!advises(&graded(Entered::new(50.0, Unit::Fahrenheit)), "The voltage table"));
}

#[test]
fn the_acid_is_corrected_by_four_thousandths_for_ten_degrees_fahrenheit() {
    // Common practice, weak source; 80 F is 26.7 C.
    for (fahrenheit, expected) in [(80.0, 1.250), (90.0, 1.254), (30.0, 1.230)] {
        let acid = Temperature::parse(Entered::new(fahrenheit, Unit::Fahrenheit)).expect("a temperature");
        assert!((corrected_gravity(1.250, acid) - expected).abs() < 1e-6, "{fahrenheit}");
    }
    // 1.230 read at 30 F is 1.210 at 80 F: partly charged, and good from 1.245 read there.
    let cold = ("battery-temperature", Entered::new(30.0, Unit::Fahrenheit));
    let graded = measured(&[("battery-gravity", Entered::new(1.230, Unit::Count)), cold]);
    assert_eq!(
        (graded.grade, graded.changes_when.as_str()),
        (Watch, "At or above 1.245 it would be better.")
    );
    assert!(graded.reason.contains("1.21 at 26.7 °C"), "{graded:?}");
}

#[test]
fn a_charged_battery_is_replaced_below_seventy_percent_of_its_rating() {
    // Common practice, no source.
    let steps = |before| [525.0, 524.0, 490.0, 489.0].map(|value| tested(value, before).grade);
    assert_eq!(steps(Some(ChargeBefore::Charged)), [Good, Watch, Watch, Attend]);
    assert_eq!(steps(Some(ChargeBefore::NotCharged)), [Good, Watch, Watch, Watch], "charge it first");
    assert_eq!(steps(None), steps(Some(ChargeBefore::NotCharged)));
    let graded = tested(489.0, Some(ChargeBefore::Charged));
    assert_eq!(graded.changes_when, "At or above 490 A it would be better.");
    assert!(advises(&graded, "at -18 °C for 30 seconds") && advises(&graded, "does not measure it"));
}

#[test]
fn a_test_without_a_rating_says_nothing() {
    let graded = measured(&[("battery-cranking", amperes(500.0))]);
    assert_eq!((graded.grade, graded.limit), (Watch, None));
    assert!(advises(&graded, "Record the cold-cranking current"));
    assert_eq!([cranking_share(1, 0), cranking_share(1, -5)], [None; 2]);
    assert_eq!(cranking_share(490_000_000, 700_000_000), Some(70_000_000));
}

#[test]
fn what_was_said_only_to_judge_by_is_graded_for_itself() {
    let grade = |code, entered| measured(&[(code, entered)]).grade;
    assert_eq!([100.0, 640.0].map(|value| grade("battery-rating", amperes(value))), [Watch, Good]);
    let temperature = |value| grade("battery-temperature", Entered::new(value, Unit::Celsius));
    assert_eq!([-20.0, 50.0, 50.1].map(temperature), [Good, Good, Watch]);
    let rest = |value| grade("battery-rest", Entered::new(value, Unit::Hour));
    assert_eq!([3.9, 4.0].map(rest), [Watch, Good]);
}

fn some_chemistry() -> impl Strategy<Value = Option<Chemistry>> {
    prop::sample::select(vec![FLOODED, AGM, None])
}

proptest! {
    #[test]
    fn a_lower_voltage_never_grades_better(chemistry in some_chemistry(), value in 10.0..13.5_f64, lower in 0.0..3.0_f64) {
        prop_assert!(rested(chemistry, value - lower).grade >= rested(chemistry, value).grade);
    }

    #[test]
    fn an_unknown_chemistry_is_never_graded_better_than_a_known_one(value in 10.0..13.5_f64) {
        for known in [FLOODED, AGM] {
            prop_assert!(rested(None, value).grade >= rested(known, value).grade);
        }
    }

    #[test]
    fn a_weaker_battery_never_grades_better(value in 0.0..900.0_f64, weaker in 0.0..900.0_f64) {
        for before in [None, Some(ChargeBefore::Charged), Some(ChargeBefore::NotCharged)] {
            let weaker = (value - weaker).max(0.0);
            prop_assert!(tested(weaker, before).grade >= tested(value, before).grade);
        }
    }

    #[test]
    fn the_voltage_told_is_where_the_grade_changes(chemistry in some_chemistry(), value in 10.0..13.5_f64) {
        let limit = rested(chemistry, value).limit.expect("on the scale of the voltage").value;
        let around = [limit - 1e-6, limit].map(|value| rested(chemistry, value).grade);
        prop_assert!(around[0] > around[1], "{limit} {around:?}");
    }
}
