//! Days in calendars (R27): RFC 5545 and RFC 5546. A second parser reads them in `tests/checks/`.

use crate::read::Read;
use crate::samples::samples;
use crate::world::*;
use letters::{CalendarDay, Language, Method, calendar, compose};
use proptest::prelude::*;

/// Content lines, unfolded (RFC 5545, 3.1).
fn unfolded(text: &str) -> Vec<String> {
    text.replace("\r\n ", "").split_terminator("\r\n").map(str::to_owned).collect()
}

/// A text with its escapes taken back (RFC 5545, 3.3.11).
fn plain(text: &str) -> String {
    let mut plain = String::new();
    let mut letters = text.chars();
    while let Some(letter) = letters.next() {
        match (letter, letter == '\\') {
            (_, false) => plain.push(letter),
            (_, true) => plain.push(match letters.next() {
                Some('n' | 'N') => '\n',
                Some(escaped @ ('\\' | ';' | ',')) => escaped,
                other => panic!("no escape: {other:?}"),
            }),
        }
    }
    plain
}

fn value(lines: &[String], name: &str) -> String {
    let found: Vec<&str> = lines.iter().filter_map(|line| line.strip_prefix(&format!("{name}:"))).collect();
    assert_eq!(found.len(), 1, "{name}: {lines:?}");
    found[0].to_owned()
}

#[test]
fn r27_a_day_is_published_and_taken_back_under_one_uid() {
    let about = about(&tell(van(7), oil("2027-04-01")));
    let uid = letters::calendar_uid(&about, fleet(), "fleet.example");
    let of = |method, sequence| {
        let day = CalendarDay {
            uid: uid.clone(),
            sequence,
            day: day("2027-04-01"),
            summary: "Van 7: Engine oil and filter due 1 Apr 2027".to_owned(),
            description: vec!["At 48,000 km; or before".to_owned(), "Second line".to_owned()],
        };
        unfolded(&calendar(method, "ostler@fleet.example", now(), &[day]))
    };
    for (method, status, sequence) in [(Method::Publish, "CONFIRMED", 4), (Method::Cancel, "CANCELLED", 5)] {
        let lines = of(method, sequence);
        assert_eq!(value(&lines, "METHOD"), method.word());
        assert_eq!(value(&lines, "STATUS"), status);
        assert_eq!(value(&lines, "SEQUENCE"), sequence.to_string());
        assert_eq!(value(&lines, "UID"), uid);
        assert_eq!(value(&lines, "ORGANIZER"), "mailto:ostler@fleet.example");
        assert_eq!(value(&lines, "DTSTAMP"), "20270302T073000Z");
        assert_eq!(value(&lines, "DTSTART;VALUE=DATE"), "20270401");
        assert_eq!(value(&lines, "DESCRIPTION"), "At 48\\,000 km\\; or before\\nSecond line");
        assert_eq!(value(&lines, "TRANSP"), "TRANSPARENT");
    }
}

#[test]
fn r27_the_method_is_that_of_the_part() {
    for language in Language::ALL {
        for sample in samples(language) {
            for (content_type, text) in Read::of(&compose(&sample.facts).expect("a letter").bytes).calendars {
                let method = value(&unfolded(&text), "METHOD");
                assert_eq!(content_type, format!("text/calendar; method={method}"), "{}", sample.name);
            }
        }
    }
}

#[test]
fn a_uid_is_the_same_for_ever_and_no_other_items() {
    let of = |telling: &letters::Telling| letters::calendar_uid(&about(telling), fleet(), "fleet.example");
    let oil_change = tell(van(7), oil("2027-04-01"));
    // Computed apart with Python's hashlib, from the parts as `About` joins them.
    assert_eq!(of(&oil_change), "day.c2a3d0d1b9c98873cc10fa31411a546e@fleet.example");
    assert_eq!(of(&oil_change), of(&tell(van(7), oil("2027-05-01"))), "a date moves");
    assert_ne!(of(&oil_change), of(&tell(van(8), oil("2027-04-01"))), "another vehicle");
    let mut next = oil("2027-04-01");
    next.cycle.0 = "service:2".to_owned();
    assert_ne!(of(&oil_change), of(&tell(van(7), next)), "another round");
}

#[test]
fn only_days_to_come_stand_in_a_calendar() {
    let days = |telling| letters::vehicle_lines(&[with_links(telling, 0)], manager())[0].items[0].dated;
    assert_eq!(days(tell(van(7), oil("2027-03-01"))), None, "yesterday");
    assert_eq!(
        days(tell(van(7), oil("2027-03-02"))).map(|dated| dated.day),
        Some(day("2027-03-02")),
        "today"
    );
    assert_eq!(days(tell(van(7), worn_tyre())), None, "it must not be driven at all");
    assert_eq!(days(tell_window(van(7), warranty())).map(|dated| dated.day), Some(day("2027-05-28")));
    let untold = letters::vehicle_lines(&[tell(van(7), oil("2027-04-01"))], manager());
    assert_eq!(untold[0].items[0].dated, None, "without a revision");
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(2000) })]

    // RFC 5545, 3.1: 75 octets a line without its end, never within a character.
    #[test]
    fn r27_lines_are_folded_and_texts_escaped(summary in ".{0,200}", notes in prop::collection::vec("[ -~]{0,120}|.{0,90}|🚐{0,60}", 0..5)) {
        let day = CalendarDay {
            uid: "day.1@fleet.example".to_owned(),
            sequence: 0,
            day: day("2027-04-01"),
            summary: summary.clone(),
            description: notes.clone(),
        };
        let text = calendar(Method::Publish, "ostler@fleet.example", now(), &[day]);
        prop_assert!(text.ends_with("\r\n"));
        prop_assert!(text.split("\r\n").all(|line| line.len() <= 75), "{text}");
        prop_assert!(!text.replace("\r\n", "").contains(['\r', '\n']));
        let lines = unfolded(&text);
        prop_assert_eq!(plain(&value(&lines, "SUMMARY")), letters::text::one_line(&summary, 150));
        let told: Vec<String> = notes.iter().map(|note| letters::text::one_line(note, 600)).filter(|note| !note.is_empty()).collect();
        if !told.is_empty() && told.join("\n").chars().count() <= 600 {
            prop_assert_eq!(plain(&value(&lines, "DESCRIPTION")), told.join("\n"));
        }
    }
}
