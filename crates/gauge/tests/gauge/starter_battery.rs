//! The 12 V battery: bands against the published voltage table, cranking against the rating.

use gauge::starter_battery::{
    Band, ChargeBefore, Chemistry, CrankingError, RATING_NOTE, bands_within_meter_error, corrected_gravity,
    cranking_met, cranking_share, gravity_band, is_near_the_table, is_rested, limits, rested_band,
    rested_met,
};
use gauge::{Discipline, Standing};
use model::Grade;
use proptest::prelude::*;
use quantity::{Entered, Temperature, Unit};

const FLOODED: Option<Chemistry> = Some(Chemistry::Flooded);
const AGM: Option<Chemistry> = Some(Chemistry::Agm);

fn microvolts(volts: f64) -> i64 {
    Entered::new(volts, Unit::Volt).exact().expect("a voltage")
}

fn at(value: f64, unit: Unit) -> Temperature {
    Temperature::parse(Entered::new(value, unit)).expect("a temperature")
}

fn grade(chemistry: Option<Chemistry>, volts: f64) -> Grade {
    rested_met(chemistry, microvolts(volts)).1.and_then(|limit| limit.grade).unwrap_or(Grade::Good)
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
    let [full, fair, half, quarter, empty] = [0, 1, 2, 3, 4].map(|place| rows[place]);
    for (place, chemistry) in [(0, FLOODED), (2, AGM)] {
        let band = |volts: f64| rested_band(chemistry, microvolts(volts));
        assert_eq!(band(full[place]), Band::Charged);
        for (row, at_it, below) in [
            (fair, Band::Charged, Band::PartCharged),
            (half, Band::PartCharged, Band::Low),
            (quarter, Band::Low, Band::NearlyFlat),
            (empty, Band::NearlyFlat, Band::Flat),
        ] {
            assert_eq!((band(row[place]), band(row[place] - 0.01)), (at_it, below), "{chemistry:?} {row:?}");
        }
    }
    for (row, expected) in [(full, Band::Charged), (half, Band::PartCharged), (empty, Band::NearlyFlat)] {
        assert_eq!(gravity_band(row[1]).map(|(band, _)| band), Some(expected), "{row:?}");
    }
}

#[test]
fn a_battery_three_quarters_charged_is_good_and_one_below_half_is_to_be_charged() {
    // Voltages verified second-hand; that grades change there is a house setting.
    assert_eq!([12.65, 12.45].map(|volts| grade(FLOODED, volts)), [Grade::Good; 2]);
    assert_eq!([12.44, 12.24].map(|volts| grade(FLOODED, volts)), [Grade::Watch; 2]);
    assert_eq!([12.23, 12.0, 11.0, 0.0].map(|volts| grade(FLOODED, volts)), [Grade::Attend; 4]);
}

#[test]
fn where_the_chemistry_is_unknown_the_lower_band_counts() {
    assert_eq!(rested_band(None, microvolts(12.5)), Band::PartCharged, "AGM would be that low");
    assert_eq!(rested_band(None, microvolts(11.85)), Band::Flat, "flooded would be that low");
}

#[test]
fn one_percent_of_a_meter_is_more_than_half_a_band() {
    // A 1 % error is 0.12 V (read second-hand): 12.45 V may be 12.33 V or 12.57 V.
    let within = bands_within_meter_error(FLOODED, microvolts(12.45));
    assert_eq!(within, (Band::PartCharged, Band::Charged));
    assert_eq!(bands_within_meter_error(FLOODED, microvolts(12.2)), (Band::Low, Band::PartCharged));
}

#[test]
fn the_acid_is_corrected_by_four_thousandths_for_ten_degrees_fahrenheit() {
    // Common practice, weak source; 80 F is 26.7 C.
    let corrected = |fahrenheit| corrected_gravity(1.250, at(fahrenheit, Unit::Fahrenheit));
    for (fahrenheit, expected) in [(80.0, 1.250), (90.0, 1.254), (30.0, 1.230)] {
        assert!((corrected(fahrenheit) - expected).abs() < 1e-6, "{fahrenheit}: {}", corrected(fahrenheit));
    }
    assert_eq!(gravity_band(f64::NAN), None);
}

#[test]
fn far_from_the_tables_temperature_a_note_is_due() {
    let near = [9.9, 10.0, 26.7, 40.0, 40.1].map(|celsius| is_near_the_table(at(celsius, Unit::Celsius)));
    assert_eq!(near, [false, true, true, true, false]);
    assert!(is_near_the_table(at(50.0, Unit::Fahrenheit)) && !is_near_the_table(at(49.9, Unit::Fahrenheit)));
    assert_eq!([4 * 3600 - 1, 4 * 3600].map(is_rested), [false, true]);
}

#[test]
fn a_charged_battery_is_replaced_below_seventy_percent_of_its_rating() {
    // Common practice, no source.
    let met = |amperes, before| {
        let share = cranking_share(amperes, 700.0).expect("a share");
        cranking_met(share, before).and_then(|limit| limit.grade).unwrap_or(Grade::Good)
    };
    let charged = [525.0, 524.0, 490.0, 489.0].map(|amperes| met(amperes, ChargeBefore::Charged));
    assert_eq!(charged, [Grade::Good, Grade::Watch, Grade::Watch, Grade::Attend]);
    let unknown = [525.0, 524.0, 200.0].map(|amperes| met(amperes, ChargeBefore::Unknown));
    assert_eq!(unknown, [Grade::Good, Grade::Watch, Grade::Watch], "charge it first");
    assert!(RATING_NOTE.contains("-18 °C") && RATING_NOTE.contains("from memory"));
}

#[test]
fn what_is_no_current_is_refused_by_name() {
    assert_eq!(cranking_share(500.0, 0.0), Err(CrankingError::NotRated { amperes: 0.0 }));
    assert_eq!(cranking_share(-1.0, 700.0), Err(CrankingError::NotMeasured { amperes: -1.0 }));
    assert!(matches!(cranking_share(f64::NAN, 700.0), Err(CrankingError::NotMeasured { .. })));
    assert!(matches!(cranking_share(1e300, 1e-300), Err(CrankingError::NotRated { .. })));
}

#[test]
fn only_the_flooded_table_is_verified() {
    for limit in limits() {
        assert_eq!(limit.discipline, Discipline::StarterBattery);
        assert_eq!(limit.standing == Standing::Verified, limit.source.starts_with("BCI"), "{limit:?}");
    }
}

proptest! {
    #[test]
    fn a_lower_voltage_never_grades_better(
        chemistry in prop::sample::select(vec![FLOODED, AGM, None]), volts in 10.0..13.5_f64, lower in 0.0..3.0_f64,
    ) {
        prop_assert!(grade(chemistry, volts - lower) >= grade(chemistry, volts));
        let band = |volts| rested_band(chemistry, microvolts(volts));
        prop_assert!(band(volts - lower) <= band(volts));
        let (least, most) = bands_within_meter_error(chemistry, microvolts(volts));
        prop_assert!(least <= band(volts) && band(volts) <= most);
    }

    #[test]
    fn an_unknown_chemistry_is_never_graded_better_than_a_known_one(volts in 10.0..13.5_f64) {
        for known in [FLOODED, AGM] {
            prop_assert!(grade(None, volts) >= grade(known, volts));
        }
    }

    #[test]
    fn a_weaker_battery_never_grades_better(amperes in 0.0..900.0_f64, weaker in 0.0..900.0_f64) {
        for before in [ChargeBefore::Charged, ChargeBefore::Unknown] {
            let met = |amperes: f64| cranking_met(cranking_share(amperes.max(0.0), 640.0).expect("a share"), before);
            let grade = |amperes| met(amperes).and_then(|limit| limit.grade).unwrap_or(Grade::Good);
            prop_assert!(grade(amperes - weaker) >= grade(amperes));
        }
    }
}
