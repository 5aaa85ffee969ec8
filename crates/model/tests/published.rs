//! Identification numbers and calendar arithmetic against published rules and other implementations.

use chrono::{NaiveDate, TimeZone, Utc};
use model::{Jurisdiction, Vin, VinError, Weekdays, add_days, add_months, day_start, noon, parse_zone};
use proptest::prelude::*;

fn day(text: &str) -> NaiveDate {
    text.parse().expect("a date")
}

/// 49 CFR 565.15(c) tables (from memory); every row recomputed with vininfo 1.11.0 (standing: computed).
#[test]
fn check_digits_fit_where_the_federal_tables_say_so() {
    let cases = [
        ("1M8GDM9AXKP042788", 'X', true),
        ("11111111111111111", '1', true),
        ("1HGCM82633A004352", '3', true),
        ("5GZCZ43D13S812715", '1', true),
        ("1GNEK13ZX3R298984", 'X', true),
        ("JHMCM56557C404453", '5', true),
        ("SGZCZ43D13S812715", 'X', false),
        ("1M8GDM9AXKP042789", '1', false),
        ("1M8GDM9AXKP047288", '4', false),
        ("WP0ZZZ99ZTS392124", '8', false),
    ];
    for (text, computed, fits) in cases {
        let vin = Vin::parse(text).expect("of good form");
        assert_eq!((vin.computed_digit(), vin.digit_fits()), (computed, fits), "{text}");
    }
}

/// ISO 3779 leaves the digit optional outside North America (from memory): a failing one there is no error.
#[test]
fn a_failing_digit_is_an_error_only_where_the_digit_is_required() {
    let european = Vin::parse("WP0ZZZ99ZTS392124").expect("of good form");
    assert_eq!(european.check(Jurisdiction::Eu), Ok(()));
    assert_eq!(european.check(Jurisdiction::Us), Err(VinError::CheckDigit { found: 'Z', computed: '8' }));
    let american = Vin::parse("1M8GDM9AXKP042789").expect("of good form");
    assert!(american.check(Jurisdiction::Eu).is_err());
}

/// Length: 49 CFR 565.4(b), 2002 edition (verified). Characters: 565.13 and ISO 3779 (from memory; vininfo agrees).
#[test]
fn wrong_length_and_forbidden_letters_are_named() {
    assert_eq!(Vin::parse("1M8GDM9AXKP04278"), Err(VinError::Length(16)));
    assert_eq!(Vin::parse("1M8GDM9AXKPO42788"), Err(VinError::Character { position: 12, found: 'O' }));
    assert_eq!(
        Vin::parse("1m8gdm9axkp042788").map(|vin| vin.to_string()),
        Ok("1M8GDM9AXKP042788".to_owned())
    );
}

/// Position 7 for vehicles up to 4536 kg: 49 CFR 565.15(b) (verified); year codes from memory, vininfo agrees.
#[test]
fn position_seven_decides_between_two_model_years_of_a_light_vehicle() {
    let light = Vin::parse("1HGCM82633A004352").expect("of good form");
    let coach = Vin::parse("1M8GDM9AXKP042788").expect("of good form");
    assert_eq!(light.model_years(Some(1500)), [2003]);
    assert_eq!(coach.model_years(Some(16_000)), [1989, 2019]);
    assert_eq!(coach.model_years(None), [1989, 2019]);
}

/// python-dateutil 4.0.0 relativedelta (standing: computed).
#[test]
fn months_are_counted_from_the_anchor_and_clamped_to_the_months_end() {
    let cases = [
        ("2024-02-29", 12, "2025-02-28"),
        ("2024-02-29", 48, "2028-02-29"),
        ("2024-01-31", 1, "2024-02-29"),
        ("2024-01-31", 2, "2024-03-31"),
        ("2023-01-31", 1, "2023-02-28"),
        ("2023-12-31", 6, "2024-06-30"),
        ("2024-08-31", 6, "2025-02-28"),
        ("2022-03-01", 96, "2030-03-01"),
    ];
    for (from, months, expected) in cases {
        assert_eq!(add_months(day(from), months), day(expected), "{from} and {months} months");
    }
    let stepwise = add_months(add_months(day("2024-01-31"), 1), 1);
    assert_ne!(stepwise, add_months(day("2024-01-31"), 2));
}

/// Python zoneinfo with tzdata 2026f (standing: computed): 02:30 in New York on 2024-03-10 resolves to 07:30Z.
/// The day itself starts before the gap and is 23 hours long. In Cairo midnight of 2024-04-26 was skipped.
#[test]
fn a_day_begins_once_in_every_zone() {
    let new_york = parse_zone("America/New_York").expect("a zone");
    assert_eq!(day_start(day("2024-03-10"), new_york), Utc.with_ymd_and_hms(2024, 3, 10, 5, 0, 0).unwrap());
    assert_eq!(day_start(day("2024-03-11"), new_york), Utc.with_ymd_and_hms(2024, 3, 11, 4, 0, 0).unwrap());
    let cairo = parse_zone("Africa/Cairo").expect("a zone");
    assert_eq!(day_start(day("2024-04-26"), cairo), Utc.with_ymd_and_hms(2024, 4, 25, 22, 0, 0).unwrap());
    assert_eq!(noon(day("2024-04-26"), cairo), Utc.with_ymd_and_hms(2024, 4, 26, 9, 0, 0).unwrap());
    assert_eq!(parse_zone("Europe/Nowhere"), None);
}

proptest! {
    #[test]
    fn counting_operating_days_equals_walking_through_them(start in 0_i64..40_000, span in 0_i64..400, bits in 1_u8..=0x7f) {
        use chrono::Datelike;
        let week = Weekdays::from_bits(bits).expect("a week");
        let from = add_days(day("1950-01-01"), start);
        let to = add_days(from, span);
        let walked = from.iter_days().take_while(|d| *d < to).filter(|d| week.contains(d.weekday())).count();
        prop_assert_eq!(week.count_between(from, to), i64::try_from(walked).unwrap());
    }

    #[test]
    fn altering_one_character_of_a_vin_is_noticed(position in 0_usize..17, replacement in 0_usize..33) {
        let alphabet: Vec<char> = "0123456789ABCDEFGHJKLMNPRSTUVWXYZ".chars().collect();
        let mut characters: Vec<char> = "1M8GDM9AXKP042788".chars().collect();
        let weighed = |c: char| Vin::parse(&format!("{c}1111111111111111")).map(|v| v.computed_digit());
        prop_assume!(weighed(characters[position]) != weighed(alphabet[replacement]));
        characters[position] = alphabet[replacement];
        let text: String = characters.into_iter().collect();
        prop_assert!(position == 8 || !Vin::parse(&text).expect("of good form").digit_fits());
    }
}
