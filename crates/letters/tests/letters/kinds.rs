//! Each kind of letter, word for word.

use crate::world::*;
use letters::{Reader, compose, vehicle_lines};
use model::Role;
use model::horizon::{DueItem, ItemKind, WindowOutlook};
use quantity::Unit;

fn written(facts: &letters::LetterFacts) -> String {
    String::from_utf8(compose(facts).expect("a letter").bytes).expect("ASCII").replace("\r\n", "\n")
}

#[test]
fn a_vehicle_that_must_not_be_driven() {
    let facts = letter_of(&[
        tell(van(7), worn_tyre()),
        tell(van(7), oil("2027-06-01")),
        tell(van(3), paper("2027-03-06")),
    ]);
    insta::assert_snapshot!(written(&facts));
}

#[test]
fn a_week_with_something_due_on_several_vehicles() {
    let facts = letter_of(&[
        tell(van(3), oil("2027-02-20")),
        tell(van(4), paper("2027-03-06")),
        tell(van(5), oil("2027-03-02")),
        tell(van(5), other(ItemKind::ReadingWanted, "Odometer reading")),
        tell(van(6), oil("2027-04-20")),
        tell(van(8), oil("2027-04-19")),
    ]);
    insta::assert_snapshot!(written(&facts));
}

#[test]
fn a_warranty_on_its_way_out() {
    let unproven = WindowOutlook { start_proven: false, findings: Vec::new(), ..warranty() };
    let ended = WindowOutlook {
        ended: Some(model::horizon::Moment { at: now(), basis: model::horizon::Basis::Date }),
        ..warranty()
    };
    let closing = DueItem {
        date_limit: Some(day("2027-03-08")),
        ..other(ItemKind::ClosingCheck, "Closing check: Powertrain warranty")
    };
    let facts = letter_of(&[
        tell_window(van(7), warranty()),
        tell(van(7), closing),
        tell_window(van(8), unproven),
        tell_window(van(9), ended),
    ]);
    insta::assert_snapshot!(written(&facts));
}

#[test]
fn a_used_vehicle_without_history() {
    let covers = vec!["timing-belt".to_owned(), "brake-fluid".to_owned(), "coolant".to_owned()];
    let baseline = DueItem {
        covers,
        date_limit: Some(day("2027-03-07")),
        ..other(ItemKind::Baseline, "Baseline check")
    };
    insta::assert_snapshot!(written(&letter_of(&[tell(van(11), baseline)])));
}

#[test]
fn a_driver_is_told_the_odometer_and_no_date() {
    let driver = Reader { role: Role::Driver, now: now() };
    let in_miles = letters::VehicleCard { odometer_unit: Unit::Mile, ..van(7) };
    let lines = vehicle_lines(&[tell_window(in_miles, warranty())], driver);
    insta::assert_snapshot!(written(&letter(lines)));
}

#[test]
fn the_only_manager_is_not_told_to_ring_himself() {
    let facts = letters::LetterFacts {
        ring: Some("Ada Quill".to_owned()),
        ..letter_of(&[tell(van(7), worn_tyre())])
    };
    let text = written(&facts);
    assert!(text.contains("Take the key, tag the wheel. You are the one to ring about it."), "{text}");
}

#[test]
fn a_name_beyond_ascii() {
    let card = letters::VehicleCard { label: "Bus Zürich „Möwe“ 🚐".to_owned(), ..van(2) };
    let facts = letters::LetterFacts {
        to_name: "Jürgen Łukasz".to_owned(),
        fleet: "Kurierdienst Bäumli".to_owned(),
        ring: None,
        base_url: None,
        ..letter_of(&[tell(card, worn_tyre())])
    };
    insta::assert_snapshot!(written(&facts));
}
