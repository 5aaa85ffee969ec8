//! Worlds for letters: a fleet that exists nowhere, and what there is to tell about it.

use chrono::{DateTime, NaiveDate, Utc};
use letters::links::{ItemLinks, LinkKey};
use letters::{
    About, CalendarChanges, Content, InCalendar, Language, LetterFacts, Listing, Reader, Telling, Told,
    VehicleCard, VehicleLine, vehicle_lines,
};
use model::horizon::{Band, Basis, Cycle, DueItem, ItemKey, ItemKind, Moment, Timeline, WindowOutlook};
use model::{FindingId, FleetId, LetterId, PersonId, Role, VehicleId, WindowId};
use quantity::{Distance, Unit};
use uuid::Uuid;

pub fn day(text: &str) -> NaiveDate {
    text.parse().expect("a day")
}

pub fn at(text: &str) -> DateTime<Utc> {
    text.parse().expect("an instant")
}

/// Tuesday 2 March 2027, half past seven in the morning.
pub fn now() -> DateTime<Utc> {
    at("2027-03-02T07:30:00Z")
}

pub const BASE: &str = "https://ostler.fleet.example/";

pub fn fleet() -> FleetId {
    FleetId(Uuid::from_u128(3))
}

pub fn ada() -> PersonId {
    PersonId(Uuid::from_u128(4))
}

pub fn key() -> LinkKey {
    LinkKey::new([7; 32])
}

pub fn manager() -> Reader {
    manager_reading(Language::British)
}

pub fn manager_reading(language: Language) -> Reader {
    Reader { role: Role::Manager, now: now(), language }
}

pub fn van(number: u128) -> VehicleCard {
    VehicleCard {
        id: VehicleId(Uuid::from_u128(number)),
        label: format!("Van {number}"),
        plate: Some(format!("QX{number:02} ZZZ")),
        make_model: "Corvane Trow".to_owned(),
        odometer_unit: Unit::Kilometre,
        zone: chrono_tz::Europe::London,
    }
}

fn moment(day: &str, basis: Basis) -> Moment {
    Moment { at: at(&format!("{day}T00:00:00Z")), basis }
}

/// A rule with limits in both, due on `due`, overdue a week later.
pub fn oil(due: &str) -> DueItem {
    let limit = day(due);
    DueItem {
        hours_limit_seconds: None,
        key: ItemKey("rule:engine-oil".to_owned()),
        cycle: Cycle("service:1".to_owned()),
        kind: ItemKind::Rule,
        title: "Engine oil and filter".to_owned(),
        timeline: Timeline {
            approaching: Some(moment("2027-01-01", Basis::Date)),
            due: Some(moment(due, Basis::Date)),
            overdue: Some(Moment {
                at: at(&format!("{due}T00:00:00Z")) + chrono::TimeDelta::days(7),
                basis: Basis::Date,
            }),
        },
        do_not_drive_from: None,
        date_limit: Some(limit),
        odometer_limit: Some(Distance::from_km(48_000)),
        crossing: Some(Band {
            early: Some(limit + chrono::TimeDelta::days(2)),
            likely: Some(limit + chrono::TimeDelta::days(9)),
            late: Some(limit + chrono::TimeDelta::days(21)),
        }),
        grade: None,
        covers: Vec::new(),
        authority: Some("maintenance manual".to_owned()),
        caution: Some("Hot oil burns: let the engine cool. Secure a raised vehicle on stands.".to_owned()),
        marks: Vec::new(),
    }
}

/// An item of another kind, without limits.
pub fn other(kind: ItemKind, title: &str) -> DueItem {
    DueItem {
        hours_limit_seconds: None,
        key: ItemKey(format!("{kind}:{title}")),
        kind,
        title: title.to_owned(),
        timeline: Timeline { due: Some(moment("2027-03-01", Basis::Date)), ..Timeline::default() },
        date_limit: None,
        odometer_limit: None,
        crossing: None,
        authority: None,
        caution: None,
        ..oil("2027-03-01")
    }
}

pub fn paper(expires: &str) -> DueItem {
    DueItem {
        hours_limit_seconds: None,
        date_limit: Some(day(expires)),
        timeline: Timeline { due: Some(moment(expires, Basis::Date)), ..Timeline::default() },
        ..other(ItemKind::Paper, "Annual test")
    }
}

/// A tyre that must not be driven on since this morning.
pub fn worn_tyre() -> DueItem {
    DueItem {
        hours_limit_seconds: None,
        do_not_drive_from: Some(at("2027-03-02T07:12:00Z")),
        timeline: Timeline { due: Some(moment("2027-03-02", Basis::Reading)), ..Timeline::default() },
        caution: Some("Never work under a vehicle that only a jack holds.".to_owned()),
        grade: Some(model::Grade::DoNotDrive),
        ..other(ItemKind::Condition, "Tread depth, front left")
    }
}

pub fn warranty() -> WindowOutlook {
    WindowOutlook {
        reduced_by: Vec::new(),
        credits: Vec::new(),
        excess: None,
        act_by: None,
        capacity: None,
        window: WindowId(Uuid::from_u128(77)),
        key: ItemKey("window:77".to_owned()),
        cycle: Cycle("window:77".to_owned()),
        kind: model::WindowKind::Warranty,
        title: "Powertrain warranty".to_owned(),
        starts_on: day("2025-05-04"),
        start_proven: true,
        last_day: Some(day("2028-05-03")),
        odometer_limit: Some(Distance::from_km(100_000)),
        ends: Band {
            early: Some(day("2027-05-28")),
            likely: Some(day("2027-06-17")),
            late: Some(day("2027-07-11")),
        },
        distance_first: Some(0.97),
        ending: Some(moment("2027-02-27", Basis::Forecast)),
        ended: None,
        findings: vec![FindingId(Uuid::from_u128(5))],
        marks: Vec::new(),
    }
}

pub fn tell(vehicle: VehicleCard, item: DueItem) -> Telling {
    Telling {
        vehicle,
        urgent: item.do_not_drive_from.is_some(),
        mark: if item.do_not_drive_from.is_some() { "do_not_drive" } else { "due" }.to_owned(),
        told: Told::Item(Box::new(item)),
        reason: None,
        unanswered: None,
        links: ItemLinks::default(),
        calendar: None,
    }
}

pub fn tell_window(vehicle: VehicleCard, window: WindowOutlook) -> Telling {
    Telling {
        vehicle,
        urgent: false,
        mark: "days_90".to_owned(),
        told: Told::Window(Box::new(window)),
        reason: None,
        unanswered: None,
        links: ItemLinks::default(),
        calendar: None,
    }
}

pub fn about(telling: &Telling) -> About {
    let (item, cycle) = match &telling.told {
        Told::Item(item) => (&item.key, &item.cycle),
        Told::Window(window) => (&window.key, &window.cycle),
    };
    About { vehicle: telling.vehicle.id, item: item.clone(), cycle: cycle.clone() }
}

/// The telling with its links and its day for calendars.
pub fn with_links(telling: Telling, sequence: u32) -> Telling {
    let until = now() + chrono::TimeDelta::days(14);
    let links = ItemLinks::signed((fleet(), ada()), &about(&telling), until, (BASE, &key())).expect("links");
    let calendar = Some(in_calendar(&telling, sequence));
    Telling { links, calendar, ..telling }
}

/// Told to the reader's calendar with this revision, of which nobody knows what it shows.
pub fn in_calendar(telling: &Telling, sequence: u32) -> InCalendar {
    InCalendar { uid: letters::calendar_uid(&about(telling), fleet()), sequence, shows: None }
}

pub fn listing(lines: Vec<VehicleLine>) -> Listing {
    Listing { ring: Some("Bede Marlow".to_owned()), lines }
}

pub fn letter_with(content: Content, language: Language) -> LetterFacts {
    LetterFacts {
        from: "Ostler <ostler@fleet.example>".to_owned(),
        to_name: "Ada Quill".to_owned(),
        to_address: "ada@fleet.example".to_owned(),
        message_id: letters::message_id(LetterId(Uuid::from_u128(9)), "fleet.example"),
        date: now(),
        zone: chrono_tz::Europe::London,
        language,
        fleet: "Moor Lane Couriers".to_owned(),
        fleet_id: fleet(),
        base_url: Some(BASE.to_owned()),
        content,
        changes: CalendarChanges::default(),
    }
}

pub fn letter(lines: Vec<VehicleLine>) -> LetterFacts {
    letter_with(Content::Notices(listing(lines)), Language::British)
}

pub fn letter_of(tellings: &[Telling]) -> LetterFacts {
    letter(vehicle_lines(tellings, manager()))
}
