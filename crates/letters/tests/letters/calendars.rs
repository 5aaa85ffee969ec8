//! Days in calendars (R27): RFC 5545 and RFC 5546. A second parser reads them in `tests/checks/`.

use crate::read::Read;
use crate::samples::samples;
use crate::world::*;
use letters::{CalendarDay, DayShown, InCalendar, Language, Reader, Telling, calendar, compose};
use model::horizon::{Basis, DueItem, Moment};
use model::{CalendarMethod, Role};
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
    let uid = letters::calendar_uid(&about, fleet());
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
    for (method, status, sequence) in
        [(CalendarMethod::Publish, "CONFIRMED", 4), (CalendarMethod::Cancel, "CANCELLED", 5)]
    {
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
    let of = |telling: &letters::Telling| letters::calendar_uid(&about(telling), fleet());
    let oil_change = tell(van(7), oil("2027-04-01"));
    // Computed apart with Python's hashlib and uuid, from the parts as `About` joins them.
    assert_eq!(of(&oil_change), "c2a3d0d1-b9c9-8873-8c10-fa31411a546e");
    assert_eq!(of(&oil_change), of(&tell(van(7), oil("2027-05-01"))), "a date moves");
    assert_ne!(of(&oil_change), of(&tell(van(8), oil("2027-04-01"))), "another vehicle");
    let mut next = oil("2027-04-01");
    next.cycle.0 = "service:2".to_owned();
    assert_ne!(of(&oil_change), of(&tell(van(7), next)), "another round");
}

#[test]
fn only_days_to_come_stand_in_a_calendar() {
    let days = |telling| {
        let lines = letters::vehicle_lines(&[with_links(telling, 0)], manager());
        lines[0].items[0].dated.as_ref().map(|dated| dated.shown.day)
    };
    assert_eq!(days(tell(van(7), oil("2027-03-01"))), None, "yesterday");
    assert_eq!(days(tell(van(7), oil("2027-03-02"))), Some(day("2027-03-02")), "today");
    assert_eq!(days(tell(van(7), worn_tyre())), None, "it must not be driven at all");
    assert_eq!(days(tell_window(van(7), warranty())), Some(day("2027-05-28")));
    let untold = letters::vehicle_lines(&[tell(van(7), oil("2027-04-01"))], manager());
    assert_eq!(untold[0].items[0].dated, None, "without a revision");
    let driver = Reader { role: Role::Driver, ..manager() };
    let by_odometer = letters::vehicle_lines(&[with_links(tell_window(van(7), warranty()), 0)], driver);
    assert_eq!(by_odometer[0].items[0].dated, None, "he is told the odometer");
}

/// An item of which the calendar shows this day.
fn shown_on(item: DueItem, day_shown: &str, what: &str) -> Telling {
    let telling = tell(van(7), item);
    let shows = DayShown { day: day(day_shown), label: "Van 7".to_owned(), what: what.to_owned() };
    let calendar = InCalendar { shows: Some(shows), ..in_calendar(&telling, 3) };
    Telling { calendar: Some(calendar), ..telling }
}

#[test]
fn r27_what_the_calendar_shows_already_is_left_out() {
    let sequence = |day_shown, what| {
        let lines = letters::vehicle_lines(&[shown_on(oil("2027-04-01"), day_shown, what)], manager());
        lines[0].items[0].dated.as_ref().map(|dated| dated.sequence)
    };
    assert_eq!(sequence("2027-04-01", "Engine oil and filter due 1 Apr 2027"), None);
    assert_eq!(sequence("2027-03-31", "Engine oil and filter due 1 Apr 2027"), Some(3), "another day");
    assert_eq!(sequence("2027-04-01", "Engine oil and filter"), Some(3), "other words");
}

#[test]
fn a_day_that_moved_is_told_where_it_is_worth_a_word() {
    let forecast = |due: &str| {
        let mut item = oil(due);
        item.timeline.due = Some(Moment { at: at(&format!("{due}T00:00:00Z")), basis: Basis::Forecast });
        item
    };
    let is_told =
        |item, before| !letters::moved_lines(&[shown_on(item, before, "Engine oil")], manager()).is_empty();
    assert!(is_told(oil("2027-04-02"), "2027-04-01"), "a certain day");
    assert!(!is_told(oil("2027-04-01"), "2027-04-01"), "the same day in other words");
    assert!(!is_told(forecast("2027-04-07"), "2027-04-01"), "a forecast by six days");
    assert!(is_told(forecast("2027-04-08"), "2027-04-01"), "a forecast by a week");
    assert!(is_told(forecast("2027-03-25"), "2027-04-01"), "a forecast by a week, sooner");
    assert!(is_told(oil("2027-03-01"), "2027-04-01"), "it presses already");
    assert!(!is_told(oil("2027-03-01"), "2027-03-02"), "it presses, and stands on today");
}

#[test]
fn a_later_day_than_is_true_is_moved_to_today() {
    let days = |item| {
        let lines = letters::vehicle_lines(&[shown_on(item, "2027-04-01", "Engine oil")], manager());
        lines[0].items[0].dated.as_ref().map(|dated| (dated.shown.day, dated.shown.what.clone()))
    };
    let today = day("2027-03-02");
    let overdue = "Engine oil and filter overdue".to_owned();
    assert_eq!(days(oil("2027-02-20")), Some((today, overdue)));
    assert_eq!(days(worn_tyre()).map(|(day, _)| day), Some(today), "it must not be driven at all");
}

/// What is attached never shortens the text, and there is no more of it than somebody may look through.
#[test]
fn r26_many_days_are_capped_and_the_text_is_the_same_without_them() {
    // The text of 100 leaves room for some, that of 400 for none.
    for (vehicles, expected) in [(10, 10..=10), (50, 50..=50), (100, 10..=49), (400, 0..=0)] {
        let told: Vec<Telling> = (0..vehicles).map(|number| tell(van(number), oil("2027-03-05"))).collect();
        let with: Vec<Telling> = told
            .iter()
            .map(|told| Telling { calendar: Some(in_calendar(told, 7)), ..told.clone() })
            .collect();
        let (with, without) =
            (compose(&letter_of(&with)).expect("a letter"), compose(&letter_of(&told)).expect("a letter"));
        let read = Read::of(&with.bytes);
        assert_eq!(read.plain, Read::of(&without.bytes).plain);
        let days: usize = read.calendars.iter().map(|(_, text)| text.matches("BEGIN:VEVENT").count()).sum();
        assert!(expected.contains(&days), "{days} days of {vehicles} vehicles");
        assert_eq!(with.days.len(), days);
        assert!(with.bytes.len() < 100 * 1024, "{}", with.bytes.len());
    }
}

/// What is taken out comes first: it is told once.
#[test]
fn r27_the_letter_says_which_days_it_tells() {
    let sample =
        samples(Language::British).into_iter().find(|sample| sample.name == "changes").expect("a sample");
    let letter = compose(&sample.facts).expect("a letter");
    let told: Vec<(CalendarMethod, u32, String)> = letter
        .days
        .iter()
        .map(|day| (day.method, day.dated.sequence, day.dated.shown.label.clone()))
        .collect();
    let (publish, cancel) = (CalendarMethod::Publish, CalendarMethod::Cancel);
    let expected =
        [(cancel, 5, "Van 9"), (cancel, 2, "Van 10"), (publish, 4, "Van 6"), (publish, 1, "Van 8")];
    assert_eq!(told, expected.map(|(method, sequence, van)| (method, sequence, van.to_owned())));
    let calendars = Read::of(&letter.bytes).calendars;
    assert_eq!(calendars.len(), 2, "a part for each method");
    for day in &letter.days {
        let (_, text) = &calendars[usize::from(day.method == CalendarMethod::Cancel)];
        let lines = unfolded(text);
        assert!(lines.contains(&format!("UID:{}", day.dated.uid)), "{text}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(2000) })]

    // RFC 5545, 3.1: 75 octets a line without its end, never within a character.
    #[test]
    fn r27_lines_are_folded_and_texts_escaped(summary in ".{0,200}", notes in prop::collection::vec("[ -~]{0,120}|.{0,90}|🚐{0,60}", 0..5)) {
        let day = CalendarDay {
            uid: "8f1c6f0e-0000-8000-8000-000000000001".to_owned(),
            sequence: 0,
            day: day("2027-04-01"),
            summary: summary.clone(),
            description: notes.clone(),
        };
        let text = calendar(CalendarMethod::Publish, "ostler@fleet.example", now(), &[day]);
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
