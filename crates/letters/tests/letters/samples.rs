//! One letter of every kind, in every language: read word for word here, and by outside programs.

use crate::world::{
    BASE, about, ada, at, day, fleet, in_calendar, key, letter_with, listing, manager_reading, now, oil,
    other, paper, tell, tell_window, van, warranty, with_links, worn_tyre,
};
use chrono::TimeDelta;
use letters::links::{LinkFacts, Purpose, address, sign};
use letters::{
    CalendarChanges, Content, Dated, DayAhead, DayShown, DepotLines, InCalendar, Language, LetterFacts,
    NoLonger, Reader, SignIn, Tally, Telling, Unanswered, Unreachable, VehicleCard, VehicleLine, WeekAhead,
    moved_lines, vehicle_lines,
};
use model::horizon::{ActBy, Basis, DueItem, FOLLOW_UP, ItemKind, Moment, WindowOutlook};
use model::{OptionalLetter, Role};
use quantity::Unit;

/// A letter and what it is an example of.
pub struct Sample {
    pub name: &'static str,
    pub facts: LetterFacts,
}

/// Every kind in this language.
pub fn samples(language: Language) -> Vec<Sample> {
    let sample = |name, content| Sample { name, facts: letter_with(content, language) };
    let mut samples = vec![
        sample("do-not-drive", Content::AtOnce(listing(lines(&do_not_drive(), language)))),
        sample("unanswered", Content::AtOnce(listing(lines(&unanswered(), language)))),
        sample("follow-up", Content::AtOnce(listing(lines(&follow_up(), language)))),
        sample("notices", Content::Notices(listing(lines(&week(), language)))),
        sample("warranty", Content::Notices(listing(lines(&warranties(), language)))),
        sample("baseline", Content::Notices(listing(lines(&[baseline()], language)))),
        sample("later", Content::Notices(listing(lines(&later(), language)))),
        sample("driver", Content::Notices(listing(driver(language)))),
        Sample { name: "changes", facts: with_changes(language) },
        sample("week-ahead", Content::WeekAhead(week_ahead(language))),
        sample("day-ahead", Content::DayAhead(day_ahead(language))),
        sample("sign-in", Content::SignIn(sign_in())),
        sample("address-test", Content::AddressTest),
        sample("beyond-ascii", Content::AtOnce(listing(lines(&beyond_ascii(), language)))),
    ];
    if let Some(odd) = samples.last_mut() {
        "Jürgen Łukasz".clone_into(&mut odd.facts.to_name);
        "Kurierdienst Bäumli".clone_into(&mut odd.facts.fleet);
        odd.facts.base_url = None;
    }
    samples
}

fn lines(tellings: &[Telling], language: Language) -> Vec<VehicleLine> {
    vehicle_lines(tellings, manager_reading(language))
}

fn do_not_drive() -> Vec<Telling> {
    let reason = "Measured 1.4 mm in the centre groove, below the legal 1.6 mm (97 % worn).".to_owned();
    let lease = WindowOutlook {
        kind: model::WindowKind::Lease,
        title: "Lease of Tyre Centre Bow".to_owned(),
        odometer_limit: None,
        ..warranty()
    };
    vec![
        with_links(Telling { reason: Some(reason), ..tell(van(7), worn_tyre()) }, 0),
        with_links(tell(van(7), oil("2027-06-01")), 0),
        with_links(tell(van(3), paper("2027-03-06")), 2),
        tell_window(van(12), lease),
    ]
}

fn unanswered() -> Vec<Telling> {
    let reached = |minutes, told: &[&str], with_reader| {
        let told = told.iter().map(|name| (*name).to_owned()).collect();
        Some(Unanswered { since: now() - TimeDelta::minutes(minutes), told, with_reader })
    };
    let next = |van, unanswered| {
        let mark = "do_not_drive_next".to_owned();
        with_links(Telling { mark, unanswered, ..tell(van, worn_tyre()) }, 0)
    };
    let late = Telling { mark: "escalated".to_owned(), ..tell(van(5), oil("2027-02-10")) };
    vec![
        next(van(7), reached(30, &["Wyn Hart", "Ola Finch"], false)),
        next(van(8), reached(61, &["Wyn Hart"], true)),
        next(van(9), reached(1, &[], false)),
        with_links(Telling { unanswered: reached(7 * 24 * 60, &["Bede Marlow"], false), ..late }, 0),
    ]
}

fn follow_up() -> Vec<Telling> {
    let nuts = DueItem {
        title: "Tighten wheel nuts again after 50 to 100 km".to_owned(),
        odometer_limit: Some(quantity::Distance::from_km(48_100)),
        authority: Some("House practice; the tyre fitter's note decides".to_owned()),
        caution: Some(
            "Torque wrench only, vehicle on its wheels, parked at the kerb side or off the road.".to_owned(),
        ),
        ..other(ItemKind::Rule, "")
    };
    vec![with_links(Telling { urgent: true, mark: FOLLOW_UP.to_owned(), ..tell(van(4), nuts) }, 0)]
}

fn forecast_first() -> DueItem {
    let due = Moment { at: at("2027-03-28T00:00:00Z"), basis: Basis::Forecast };
    let item = oil("2027-05-20");
    let band = model::horizon::Band {
        early: Some(day("2027-03-22")),
        likely: Some(day("2027-03-28")),
        late: Some(day("2027-04-06")),
    };
    let timeline = model::horizon::Timeline { due: Some(due), overdue: None, ..item.timeline };
    DueItem { title: "Tyre rotation".to_owned(), timeline, crossing: Some(band), ..item }
}

fn week() -> Vec<Telling> {
    vec![
        with_links(tell(van(3), oil("2027-02-20")), 0),
        with_links(tell(van(4), paper("2027-03-06")), 1),
        with_links(tell(van(5), oil("2027-03-02")), 0),
        tell(van(5), other(ItemKind::ReadingWanted, "Odometer reading")),
        with_links(tell(van(6), oil("2027-04-20")), 0),
        with_links(tell(van(6), forecast_first()), 0),
        tell(van(8), oil("2027-04-19")),
    ]
}

fn later() -> Vec<Telling> {
    vec![with_links(tell(van(6), forecast_first()), 3), with_links(tell_window(van(7), bookable()), 1)]
}

/// A warranty with a day to book by.
fn bookable() -> WindowOutlook {
    let act_by = ActBy {
        book_by: day("2027-05-20"),
        in_by: day("2027-05-27"),
        workshop: model::WorkshopId(uuid::Uuid::from_u128(6)),
    };
    WindowOutlook { act_by: Some(act_by), ..warranty() }
}

fn warranties() -> Vec<Telling> {
    let unproven = WindowOutlook { start_proven: false, findings: Vec::new(), ..warranty() };
    let ended = WindowOutlook { ended: Some(Moment { at: now(), basis: Basis::Date }), ..warranty() };
    let closing = DueItem {
        date_limit: Some(day("2027-03-08")),
        ..other(ItemKind::ClosingCheck, "Closing check: Powertrain warranty")
    };
    vec![
        tell_window(van(7), warranty()),
        tell(van(7), closing),
        tell_window(van(8), unproven),
        tell_window(van(9), ended),
    ]
}

fn baseline() -> Telling {
    let covers = ["timing-belt", "brake-fluid", "tyre-check"].map(str::to_owned).to_vec();
    let date_limit = Some(day("2027-03-07"));
    tell(van(11), DueItem { covers, date_limit, ..other(ItemKind::Baseline, "Baseline check") })
}

fn driver(language: Language) -> Vec<VehicleLine> {
    let in_miles = VehicleCard { odometer_unit: Unit::Mile, ..van(7) };
    let driver = Reader { role: Role::Driver, ..manager_reading(language) };
    vehicle_lines(&[tell_window(in_miles, warranty())], driver)
}

fn shown(day_shown: &str, label: &str, what: &str) -> DayShown {
    DayShown { day: day(day_shown), label: label.to_owned(), what: what.to_owned() }
}

/// One thing to tell; another has moved in the reader's calendar, two are to be taken out of it.
fn with_changes(language: Language) -> LetterFacts {
    let content =
        Content::Notices(listing(lines(&[with_links(tell(van(6), oil("2027-03-05")), 4)], language)));
    let moved = tell(van(8), oil("2027-06-20"));
    let before = shown("2027-04-19", "Van 8", "Engine oil and filter due 19 Apr 2027");
    let calendar = InCalendar { shows: Some(before), ..in_calendar(&moved, 1) };
    let moved = moved_lines(&[Telling { calendar: Some(calendar), ..moved }], manager_reading(language));
    let gone = |telling: Telling, sequence, shown: DayShown| NoLonger {
        dated: Dated { uid: in_calendar(&telling, sequence).uid, sequence, shown },
        about: about(&telling),
    };
    let no_longer = vec![
        gone(
            tell(van(9), oil("2027-04-01")),
            5,
            shown("2027-04-01", "Van 9", "Wheel alignment; brakes, due 1 Apr 2027"),
        ),
        gone(
            tell(van(10), paper("2027-04-02")),
            2,
            shown("2027-04-02", "Van 10", "Annual test expires 2 Apr 2027"),
        ),
    ];
    LetterFacts { changes: CalendarChanges { moved, no_longer }, ..letter_with(content, language) }
}

fn link(purpose: Purpose) -> String {
    let expires_at = now() + chrono::TimeDelta::days(30);
    let facts = LinkFacts { purpose, fleet: fleet(), person: ada(), expires_at };
    address(BASE, &sign(&facts, &key()).expect("a token"))
}

fn week_ahead(language: Language) -> WeekAhead {
    WeekAhead {
        monday: day("2027-03-01"),
        tally: Tally { do_not_drive: 1, overdue: 2, off_road: 1, held: 3, readings_wanted: 1 },
        unreachable: vec![Unreachable {
            name: "Cyn Abbot".to_owned(),
            since: day("2027-02-24"),
            reply: "550 5.1.1 the address: no such mailbox here".to_owned(),
        }],
        ring: Some("Bede Marlow".to_owned()),
        lines: lines(&[do_not_drive(), week()].concat(), language),
        unsubscribe: Some(link(Purpose::Unsubscribe(OptionalLetter::WeekAhead))),
    }
}

fn day_ahead(language: Language) -> DayAhead {
    let depot = |name: &str, tellings: &[Telling]| DepotLines {
        depot: name.to_owned(),
        lines: lines(tellings, language),
    };
    DayAhead {
        day: day("2027-03-03"),
        ring: Some("Bede Marlow".to_owned()),
        depots: vec![
            depot("Moor Lane", &[tell(van(3), oil("2027-02-20")), tell(van(7), worn_tyre())]),
            depot("Harbour Tyre Yard", &[tell(van(5), oil("2027-03-02"))]),
        ],
        unsubscribe: Some(link(Purpose::Unsubscribe(OptionalLetter::DayAhead))),
    }
}

fn sign_in() -> SignIn {
    SignIn { link: link(Purpose::SignIn), good_until: at("2027-03-02T07:45:00Z") }
}

fn beyond_ascii() -> Vec<Telling> {
    let card = VehicleCard { label: "Bus Zürich „Möwe“ 🚐".to_owned(), ..van(2) };
    let hebrew =
        VehicleCard {
            label: "רכב <7> & \"co\"".to_owned(), plate: Some("12-345-67".to_owned()), ..van(13)
        };
    vec![with_links(tell(card, worn_tyre()), 0), with_links(tell(hebrew, oil("2027-03-04")), 0)]
        .into_iter()
        .map(|telling| Telling { links: letters::links::ItemLinks::default(), ..telling })
        .collect()
}
