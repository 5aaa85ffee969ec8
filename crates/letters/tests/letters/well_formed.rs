//! Headers and order: read back by a parser that is not ours.

use crate::read::Read;
use crate::world::*;
use letters::{
    Content, LetterError, LetterFacts, Listing, Reader, SignIn, Telling, Urgency, VehicleCard, compose,
    vehicle_lines,
};
use mail_parser::MessageParser;
use model::Role;
use model::horizon::{Cycle, DueItem, ItemKind};
use proptest::prelude::*;

/// As the parser spells them; we write `List-Id` like RFC 2919.
const HEADERS: [&str; 11] = [
    "From",
    "To",
    "Subject",
    "Date",
    "Message-ID",
    "In-Reply-To",
    "References",
    "List-ID",
    "Auto-Submitted",
    "MIME-Version",
    "Content-Type",
];

/// Texts as people, phones and attackers type them.
fn typed() -> impl Strategy<Value = String> {
    let piece = prop_oneof![
        Just("\r\nBcc: all@example.test\r\n".to_owned()),
        Just("\r\n\r\nA second body".to_owned()),
        Just("\r\n.\r\n".to_owned()),
        Just("\0".to_owned()),
        Just("\r".to_owned()),
        Just("\n ".to_owned()),
        Just("=?utf-8?q?=0D=0AX:_y?=".to_owned()),
        Just("\" <x@example.test>, \"".to_owned()),
        Just("\u{202e}\u{2066}\u{200f}אב".to_owned()),
        Just("🚐👩🏽‍🔧é".to_owned()),
        Just("\u{2028}\u{85}\u{7f}\u{1b}[31m".to_owned()),
        ".{0,20}",
        "[ -~]{0,80}",
        (1..3000_usize).prop_map(|n| "W".repeat(n)),
    ];
    prop::collection::vec(piece, 0..6).prop_map(|pieces| pieces.concat())
}

fn worded(texts: &[String; 6]) -> LetterFacts {
    let [name, fleet, ring, label, title, note] = texts.clone();
    let card = VehicleCard { label, plate: Some(note.clone()), make_model: note.clone(), ..van(1) };
    let stopped =
        DueItem { title: title.clone(), caution: Some(note.clone()), authority: Some(note), ..worn_tyre() };
    let baseline = DueItem { covers: vec![title; 3], ..other(ItemKind::Baseline, "Baseline check") };
    let told = [with_links(tell(card.clone(), stopped), 0), with_links(tell(card, baseline), 1)];
    let lines = vehicle_lines(&told, manager());
    let content = Content::AtOnce(Listing { ring: Some(ring), ..listing(lines) });
    LetterFacts { to_name: name, fleet, content, ..letter(Vec::new()) }
}

/// A long run asks for more by `PROPTEST_CASES`.
fn at_least(cases: u32) -> u32 {
    ProptestConfig::default().cases.max(cases)
}

/// What RFC 5322 asks of every message, checked on the bytes.
fn assert_well_formed(bytes: &[u8]) {
    let text = std::str::from_utf8(bytes).expect("ASCII");
    assert!(text.is_ascii(), "{text}");
    assert!(!text.contains('\0'));
    assert!(text.ends_with("\r\n"));
    let bare = text.replace("\r\n", "");
    assert!(!bare.contains(['\r', '\n']), "a bare CR or LF: {text:?}");
    assert!(text.split("\r\n").all(|line| line.len() <= 998), "RFC 5322, 2.1.1");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: at_least(2000), failure_persistence: None, ..ProptestConfig::default() })]

    // R25. The fields are those we wrote, in our order, and the independent parser reads back what was meant.
    #[test]
    fn r25_no_typed_text_adds_a_header_or_breaks_one(texts in prop::array::uniform6(typed())) {
        let facts = worded(&texts);
        let letter = compose(&facts).expect("a letter");
        assert_well_formed(&letter.bytes);
        let message = MessageParser::new().parse(&letter.bytes).expect("a message");
        let names: Vec<&str> = message.headers().iter().map(mail_parser::Header::name).collect();
        prop_assert_eq!(names, HEADERS);
        prop_assert_eq!(message.subject(), Some(letter.subject.as_str()));
        let to = message.to().and_then(|to| to.first()).expect("a recipient");
        prop_assert_eq!(to.address(), Some("ada@fleet.example"));
        let name = letters::text::one_line(&facts.to_name, 100);
        prop_assert_eq!(to.name().unwrap_or_default(), name);
        prop_assert_eq!(message.to().map(|to| to.iter().count()), Some(1));
        prop_assert_eq!(message.message_id(), Some(facts.message_id.as_str()));
        let read = Read::of(&letter.bytes);
        let unwrapped = read.plain.split_whitespace().collect::<Vec<_>>().join(" ");
        prop_assert!(unwrapped.contains("Take the key, tag the wheel"), "{}", read.plain);
        crate::lint::assert_same_facts(&read);
        crate::lint::assert_harmless(&read.html);
        prop_assert!(letter.bytes.len() < 100 * 1024);
    }

    #[test]
    fn the_same_facts_give_the_same_bytes(texts in prop::array::uniform6(typed())) {
        let facts = worded(&texts);
        prop_assert_eq!(compose(&facts), compose(&facts));
    }

}

/// A megabyte of what a person may type, whichever field it lands in.
#[test]
fn r25_a_megabyte_in_every_field() {
    for piece in ["W", "🚐", "\u{202e}א ", "\r\nBcc: x\r\n", "\0", "&<>\"'", "; , : \\ "] {
        let long = piece.repeat(1_000_000 / piece.len());
        let facts = worded(&std::array::from_fn(|_| long.clone()));
        let letter = compose(&facts).expect("a letter");
        assert_well_formed(&letter.bytes);
        assert!(letter.bytes.len() < 100 * 1024, "{piece:?}: {}", letter.bytes.len());
        let message = MessageParser::new().parse(&letter.bytes).expect("a message");
        let names: Vec<&str> = message.headers().iter().map(mail_parser::Header::name).collect();
        assert_eq!(names, HEADERS, "{piece:?}");
        crate::lint::assert_same_facts(&Read::of(&letter.bytes));
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: at_least(30), failure_persistence: None, ..ProptestConfig::default() })]

    // R26: below 100 KiB, whatever there is to tell; what does not fit is counted.
    #[test]
    fn r26_a_letter_stays_below_100_kib(vehicles in 1..600_u128, note in typed()) {
        let item = DueItem { title: format!("Ärger {note}"), authority: Some("ß".repeat(300)), ..oil("2027-03-02") };
        let told: Vec<Telling> =
            (0..vehicles).map(|number| with_links(tell(van(number), item.clone()), 1)).collect();
        let letter = compose(&letter_of(&told)).expect("a letter");
        prop_assert!(letter.bytes.len() < 100 * 1024, "{}", letter.bytes.len());
        let read = Read::of(&letter.bytes);
        crate::lint::assert_same_facts(&read);
        let shown = read.plain.matches("Postpone it").count();
        let days: usize = read.calendars.iter().map(|(_, text)| text.matches("BEGIN:VEVENT").count()).sum();
        prop_assert!(days <= shown.min(50), "{days} of {shown}");
        let told_all = format!("{} more things are on the list.", vehicles as usize - shown);
        prop_assert!(shown == vehicles as usize || read.plain.contains(&told_all) || read.plain.contains("One more"));
    }
}

// RFC 5322, 3.3 (date), RFC 3834, 5 (Auto-Submitted), RFC 2919, 3 (List-Id).
#[test]
fn r26_the_headers_of_a_program_that_writes_by_itself() {
    let letter = compose(&letter_of(&[tell(van(7), worn_tyre())])).expect("a letter");
    let message = MessageParser::new().parse(&letter.bytes).expect("a message");
    assert_eq!(
        message.date().map(mail_parser::DateTime::to_rfc3339),
        Some("2027-03-02T07:30:00Z".to_owned())
    );
    assert_eq!(message.header_raw("Auto-Submitted").map(str::trim), Some("auto-generated"));
    let list_id = "Moor Lane Couriers\r\n <letters.00000000000000000000000000000003.fleet.example>";
    assert_eq!(message.header_raw("List-Id").map(str::trim), Some(list_id));
}

#[test]
fn r26_thousands_of_items_make_one_letter() {
    let told: Vec<Telling> = (0..5_000).map(|number| tell(van(number), oil("2027-03-02"))).collect();
    let letter = compose(&letter_of(&told)).expect("a letter");
    assert_eq!(letter.subject, "Van 0: Engine oil and filter due now (and 4999 more)");
    assert!(letter.bytes.len() < 100 * 1024 && letter.bytes.len() > 95 * 1024, "{}", letter.bytes.len());
    let plain = Read::of(&letter.bytes).plain;
    let shown = plain.matches("Engine oil and filter").count();
    assert!(plain.contains(&format!("{} more things are on the list.", 5_000 - shown)), "{shown}");
}

#[test]
fn what_must_not_be_driven_comes_first_then_the_week_then_the_rest() {
    let told = [
        tell(van(1), oil("2027-06-01")),
        tell(van(2), oil("2027-03-05")),
        tell(van(3), worn_tyre()),
        tell(van(4), oil("2027-02-01")),
        tell(van(5), worn_tyre()),
    ];
    let lines = vehicle_lines(&told, manager());
    let order: Vec<(&str, Urgency)> =
        lines.iter().map(|line| (line.label.as_str(), line.urgency())).collect();
    let expected = [
        ("Van 3", Urgency::DoNotDrive),
        ("Van 5", Urgency::DoNotDrive),
        ("Van 4", Urgency::ThisWeek),
        ("Van 2", Urgency::ThisWeek),
        ("Van 1", Urgency::Later),
    ];
    assert_eq!(order, expected);
}

#[test]
fn a_vehicle_has_one_line_and_says_nothing_twice() {
    let told = [tell(van(1), oil("2027-03-02")), tell(van(1), worn_tyre()), tell(van(1), oil("2027-03-02"))];
    let lines = vehicle_lines(&told, manager());
    assert_eq!(lines.len(), 1);
    let items: Vec<Urgency> = lines[0].items.iter().map(|item| item.urgency).collect();
    assert_eq!(items, [Urgency::DoNotDrive, Urgency::ThisWeek]);
}

#[test]
fn the_subject_says_the_one_most_important_thing() {
    let stopped = |number| tell(van(number), worn_tyre());
    let missing = DueItem {
        cycle: Cycle("no-paper:annual_test".to_owned()),
        title: "No annual test on record".to_owned(),
        ..paper("2027-02-01")
    };
    let cases: [(Vec<Telling>, &str); 7] = [
        (vec![tell(van(2), missing)], "Van 2: No annual test on record"),
        (vec![stopped(7), tell(van(1), oil("2027-02-01"))], "Do not drive Van 7: Tread depth, front left"),
        (vec![stopped(7), stopped(9)], "Do not drive Van 7 and Van 9"),
        (vec![stopped(7), stopped(8), stopped(9)], "Do not drive Van 7, Van 8 and 1 more"),
        (
            vec![tell(van(1), oil("2027-02-01")), tell(van(2), oil("2027-06-01"))],
            "Van 1: Engine oil and filter overdue (and 1 more)",
        ),
        (vec![tell(van(2), paper("2027-06-01"))], "Van 2: Annual test expires 1 Jun 2027"),
        (vec![tell_window(van(2), warranty())], "Van 2: Powertrain warranty may end as early as 28 May 2027"),
    ];
    for (told, subject) in cases {
        assert_eq!(compose(&letter_of(&told)).expect("a letter").subject, subject);
    }
}

#[test]
fn the_odometer_limit_of_a_window_stands_beside_its_date() {
    let lines = vehicle_lines(&[tell_window(van(7), warranty())], manager());
    assert_eq!(
        lines[0].items[0].text,
        "Powertrain warranty ends after 3 May 2028 or at 100,000 km, whichever comes first; likely 17 Jun 2027; 1 open finding \
         may be claimed"
    );
}

#[test]
fn a_driver_gets_no_date_of_a_window_with_an_odometer_limit() {
    let lines = vehicle_lines(&[tell_window(van(7), warranty())], Reader { role: Role::Driver, ..manager() });
    let item = &lines[0].items[0];
    assert_eq!(item.text, "Powertrain warranty ends at 100,000 km on the odometer");
    assert_eq!((item.headline.as_str(), &item.forecast), ("Powertrain warranty ends at 100,000 km", &None));
}

#[test]
fn what_cannot_be_a_letter_is_refused_by_name() {
    let good = letter_of(&[tell(van(7), worn_tyre())]);
    let refused = |facts: LetterFacts| compose(&facts).expect_err("no letter");
    let empty = Content::Notices(listing(Vec::new()));
    assert_eq!(refused(LetterFacts { content: empty, ..good.clone() }), LetterError::Empty);
    for from in ["", "nobody", "a@b\r\nBcc: c@d", "Ostler <ostler@fleet.example>\r\nX: y"] {
        assert!(matches!(
            refused(LetterFacts { from: from.to_owned(), ..good.clone() }),
            LetterError::Sender { .. }
        ));
    }
    for address in [
        "",
        "ada",
        "ada@",
        "ada@fleet.example\r\nBcc: x@y",
        "a b@fleet.example",
        "ädä@fleet.example",
        "a@b>,<c@d",
    ] {
        let facts = LetterFacts { to_address: address.to_owned(), ..good.clone() };
        assert!(matches!(refused(facts), LetterError::Recipient { .. }), "{address}");
    }
    for message_id in ["", "no-sign", "a@b@c", "a@b\r\nX: y", "a b@c", ".@c"] {
        let facts = LetterFacts { message_id: message_id.to_owned(), ..good.clone() };
        assert!(matches!(refused(facts), LetterError::Id { header: "Message-ID", .. }), "{message_id}");
    }
    for url in ["", "ostler.example", "javascript:x", "https://a b", "https://a\r\nhttps://evil"] {
        let facts = LetterFacts { base_url: Some(url.to_owned()), ..good.clone() };
        assert!(matches!(refused(facts), LetterError::BaseUrl(_)), "{url}");
    }
    for link in [
        "https://evil.example/links/x",
        "https://ostler.fleet.example.evil.example/",
        "javascript:x",
        "/links/x",
    ] {
        let content = Content::SignIn(SignIn { link: link.to_owned(), good_until: now() });
        assert!(matches!(refused(LetterFacts { content, ..good.clone() }), LetterError::Link(_)), "{link}");
    }
    let linked = letter_of(&[with_links(tell(van(7), oil("2027-03-05")), 0)]);
    let nowhere = refused(LetterFacts { base_url: None, ..linked });
    assert!(matches!(nowhere, LetterError::Link(_)), "a link without pages");
    let far = LetterFacts { date: chrono::DateTime::<chrono::Utc>::MAX_UTC, ..good };
    assert!(matches!(refused(far), LetterError::Date(_)));
}
