//! Each kind of letter in each language, word for word: headers, plain text, HTML and calendars.

use crate::read::Read;
use crate::samples::samples;
use crate::world::*;
use letters::{
    Content, DayAhead, Language, LetterError, LetterFacts, Tally, Telling, Unreachable, WeekAhead, compose,
    vehicle_lines,
};
use model::horizon::{DueItem, FOLLOW_UP, ItemKind};

#[test]
fn every_kind_word_for_word() {
    for language in Language::ALL {
        for sample in samples(language) {
            let letter = Read::of(&compose(&sample.facts).expect("a letter").bytes);
            let name = format!("{}__{}", sample.name, language.tag());
            insta::assert_snapshot!(name, letter.shown());
        }
    }
}

#[test]
fn the_head_of_the_html() {
    let letter =
        Read::of(&compose(&letter_with(Content::AddressTest, Language::British)).expect("a letter").bytes);
    let (head, _) = letter.html.split_once("</head>").expect("a head");
    insta::assert_snapshot!(head);
}

#[test]
fn the_only_manager_is_not_told_to_ring_himself() {
    let mut facts = letter_of(&[tell(van(7), worn_tyre())]);
    facts.to_name = "Bede Marlow".to_owned();
    let plain = Read::of(&compose(&facts).expect("a letter").bytes).plain;
    assert!(plain.contains("Take the key, tag the wheel. You are the one to ring about it."), "{plain}");
}

#[test]
fn what_must_not_be_driven_says_first_what_can_hurt_and_cannot_be_put_off() {
    let letter = letter_of(&[with_links(tell(van(7), worn_tyre()), 0)]);
    let plain = Read::of(&compose(&letter).expect("a letter").bytes).plain;
    let place = |words: &str| plain.find(words).unwrap_or_else(|| panic!("{words}: {plain}"));
    assert!(place("Take the key") < place("Caution:") && place("Caution:") < place("Do not drive: tread"));
    assert!(plain.contains("I have seen this: https://ostler.fleet.example/links/"), "{plain}");
    assert!(!plain.contains("Postpone"), "{plain}");
}

#[test]
fn what_is_to_be_done_today_stops_no_vehicle_and_cannot_be_put_off() {
    let nuts = DueItem { title: "Tighten wheel nuts again".to_owned(), ..other(ItemKind::Rule, "") };
    let told = Telling { urgent: true, mark: FOLLOW_UP.to_owned(), ..tell(van(4), nuts) };
    let lines = vehicle_lines(&[with_links(told, 0), tell(van(5), oil("2027-03-02"))], manager());
    let facts = letter_with(Content::AtOnce(listing(lines)), Language::British);
    let letter = compose(&facts).expect("a letter");
    assert_eq!(letter.subject, "Today, Van 4: Tighten wheel nuts again due now (and 1 more)");
    let plain = Read::of(&letter.bytes).plain;
    let place = |words: &str| plain.find(words).unwrap_or_else(|| panic!("{words}: {plain}"));
    assert!(place("TODAY") < place("I have seen this") && place("I have seen this") < place("THIS WEEK"));
    assert!(!plain.contains("Take the key") && !plain.contains("Postpone"), "{plain}");
}

#[test]
fn an_overview_is_never_empty_but_may_be_of_numbers_alone() {
    let week = |tally| {
        let unsubscribe = Some(format!("{BASE}links/x"));
        let monday = day("2027-03-01");
        let (unreachable, lines) = (Vec::new(), Vec::new());
        let week = WeekAhead { monday, tally, unreachable, ring: None, lines, unsubscribe };
        compose(&letter_with(Content::WeekAhead(week), Language::British))
    };
    assert_eq!(week(Tally::default()), Err(LetterError::Empty));
    let letter = week(Tally { held: 1, ..Tally::default() }).expect("a letter");
    assert_eq!(letter.subject, "Week of 1 Mar 2027: nothing presses");
    let plain = Read::of(&letter.bytes).plain;
    assert!(plain.contains("One entry is held until somebody decides about it."), "{plain}");
    let nowhere = DayAhead { day: day("2027-03-03"), ring: None, depots: Vec::new(), unsubscribe: None };
    assert_eq!(compose(&letter_with(Content::DayAhead(nowhere), Language::British)), Err(LetterError::Empty));
}

#[test]
fn an_overview_names_a_few_whom_no_letter_reaches_and_counts_the_rest() {
    let person = |number: usize| Unreachable {
        name: format!("Person {number}\r\nBcc: eve@quill.example"),
        since: day("2027-02-24"),
        reply: "550 5.1.1 unknown".to_owned(),
    };
    let week = WeekAhead {
        monday: day("2027-03-01"),
        tally: Tally::default(),
        unreachable: (1..=12).map(person).collect(),
        ring: None,
        lines: Vec::new(),
        unsubscribe: None,
    };
    let letter = compose(&letter_with(Content::WeekAhead(week), Language::British)).expect("a letter");
    let plain = Read::of(&letter.bytes).plain.replace('\n', " ");
    assert!(plain.contains("No letter reaches Person 1"), "{plain}");
    assert!(plain.contains("since 24 Feb 2027 the address takes no mail (550 5.1.1 unknown)"), "{plain}");
    assert!(plain.contains("Person 10 ") && !plain.contains("Person 11"), "{plain}");
    assert!(plain.contains("Nor do letters reach 2 more people."), "{plain}");
}

// RFC 8058, 3.1: the address is one of HTTPS. Without it the letter still says where to press.
#[test]
fn one_click_needs_an_encrypted_way() {
    let base = "http://yard.example";
    let week = WeekAhead {
        monday: day("2027-03-01"),
        tally: Tally { held: 1, ..Tally::default() },
        unreachable: Vec::new(),
        ring: None,
        lines: Vec::new(),
        unsubscribe: Some(format!("{base}/links/x")),
    };
    let facts = letter_with(Content::WeekAhead(week), Language::British);
    let facts = LetterFacts { base_url: Some(base.to_owned()), ..facts };
    let read = Read::of(&compose(&facts).expect("a letter").bytes);
    assert!(!read.headers.contains("List-Unsubscribe"), "{}", read.headers);
    assert!(read.plain.contains("No more of these overviews: http://yard.example/links/x"), "{}", read.plain);
}

#[test]
fn what_a_person_found_stays_in_that_persons_words() {
    let mut found = worn_tyre();
    found.key.0 = "finding:1".to_owned();
    let noted =
        |item| Telling { reason: Some("Tyre sidewall bulges, 3 Mar 2027".to_owned()), ..tell(van(7), item) };
    let american = manager_reading(Language::American);
    let found = vehicle_lines(&[noted(found)], american);
    assert_eq!(found[0].items[0].because[0], "Tyre sidewall bulges, 3 Mar 2027");
    let graded = vehicle_lines(&[noted(worn_tyre())], american);
    assert_eq!(graded[0].items[0].because[0], "Tire sidewall bulges, Mar 3, 2027");
}
