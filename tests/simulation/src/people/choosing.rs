//! What people come to want: mostly readings and work, now and then everything else.

use super::{Deed, fitting, house, replying};
use crate::dice::Dice;
use crate::faults::ZONES;
use crate::fleet::{Fleet, Van, day_of};
use crate::life::Broken;
use crate::rules;
use crate::world::World;
use chrono::{DateTime, NaiveDate, NaiveTime, TimeDelta, Utc};
use clerk::findings::ClosureKind;
use clerk::organisation::PersonChange;
use clerk::vehicles::NewVehicle;
use model::{
    BaselineChoice, CoverageTerms, Decision, DistanceFrom, Duty, Every, FindingId, LastDay, NoticeId,
    PaperKind, Placard, Powertrain, Role, Transfer, Weekdays, WindowKind, add_days,
};
use quantity::{Entered, Unit};
use store::{Reach, Sql, fetch};
use testkit::world::km;
use uuid::Uuid;

/// How often what is wanted.
const WEIGHTS: &[(&str, u64)] = &[
    ("read", 26),
    ("serve", 26),
    ("undo service", 7),
    ("decide", 4),
    ("paper", 6),
    ("undo paper", 3),
    ("cover", 5),
    ("undo cover", 2),
    ("go in", 5),
    ("come out", 6),
    ("undo stay", 2),
    ("override", 3),
    ("undo override", 3),
    ("revise rules", 3),
    ("hire", 2),
    ("change person", 2),
    ("erase person", 1),
    ("release address", 4),
    ("move zone", 1),
    ("close finding", 5),
    ("answer baseline", 3),
    ("register", 3),
    ("retire", 1),
    ("acknowledge", 8),
    ("postpone", 5),
    ("decree", 2),
    ("find workshop", 2),
    ("change workshop", 1),
    ("buy", 3),
    ("fit", 4),
    ("take off", 2),
    ("undo end", 2),
];

/// Something somebody of `fleet` wants at `now`; none if there is no occasion for what came to mind.
pub fn deed(dice: &Dice, fleet: &mut Fleet, now: DateTime<Utc>) -> Option<Deed> {
    let wanted = wanted(dice);
    match wanted {
        "register" => Some(Deed::Register(Box::new(new_van(dice, fleet, now)))),
        "hire" | "change person" | "erase person" => of_people(dice, fleet, wanted),
        "release address" => fleet.unreachable.pop().map(|person| Deed::ReleaseAddress { person }),
        "move zone" => {
            let (depot, version) = fleet.depot;
            Some(Deed::MoveZone { depot, version, zone: *dice.pick(&ZONES) })
        }
        "revise rules" => {
            let (rulebook, version) = fleet.rulebook;
            Some(Deed::ReviseRules { rulebook, version, rules: rules::edited(dice) })
        }
        "decree" | "find workshop" | "change workshop" => house::any(dice, fleet, wanted).map(Deed::House),
        "buy" | "fit" | "take off" | "undo end" => fitting::any(dice, fleet, now, wanted).map(Deed::Fitting),
        "go in" => go_in(dice, fleet, now),
        of_vehicle => {
            let van = fleet.any_van(dice)?;
            of_van(dice, &fleet.vans[van], now, of_vehicle)
        }
    }
}

const FINDINGS: Sql = Sql { name: "open findings", sqlite: OPEN_FINDINGS, postgres: OPEN_FINDINGS };

const OPEN_FINDINGS: &str = "SELECT f.id, f.vehicle_id FROM finding AS f WHERE f.fleet_id = $1
    AND f.withdrawn_at IS NULL AND NOT EXISTS (SELECT 1 FROM finding_closure AS c
    WHERE c.fleet_id = f.fleet_id AND c.finding_id = f.id) ORDER BY f.id";

const TOLD: Sql = Sql { name: "reminders that were told", sqlite: TOLD_NOTICES, postgres: TOLD_NOTICES };

const TOLD_NOTICES: &str = "SELECT id, vehicle_id FROM notice WHERE fleet_id = $1 AND state = 'told'
    ORDER BY created_at, id";

/// People look now and then which findings are open, and what they were told.
///
/// # Errors
/// Storage errors.
pub async fn look_around(world: &mut World) -> Result<(), Broken> {
    if !world.dice.percent(30) {
        return Ok(());
    }
    for place in 0..world.fleets.len() {
        let mut tx = world.store().reader(Reach::All).await?;
        let open = fetch!(fetch_all, &mut tx.conn(), (Uuid, Uuid), FINDINGS, world.fleets[place].id.0)?;
        let told = fetch!(fetch_all, &mut tx.conn(), (Uuid, Uuid), TOLD, world.fleets[place].id.0)?;
        for van in &mut world.fleets[place].vans {
            let own = open.iter().filter(|(_, vehicle)| *vehicle == van.id.0);
            van.findings = own.map(|(finding, _)| FindingId(*finding)).collect();
            let own = told.iter().filter(|(_, vehicle)| *vehicle == van.id.0);
            van.notices = own.map(|(notice, _)| NoticeId(*notice)).collect();
        }
    }
    Ok(())
}

/// And now and then whom no letter reaches.
///
/// # Errors
/// Storage errors.
pub async fn look_for_unreachable(world: &mut World) -> Result<(), Broken> {
    if !world.dice.percent(30) {
        return Ok(());
    }
    for place in 0..world.fleets.len() {
        let mut tx = world.store().reader(Reach::All).await?;
        let unreachable = clerk::unreachable::all(&mut tx.conn(), world.fleets[place].id).await?;
        world.fleets[place].unreachable = unreachable.into_iter().map(|one| one.person).collect();
    }
    Ok(())
}

fn wanted(dice: &Dice) -> &'static str {
    let all: u64 = WEIGHTS.iter().map(|(_, weight)| weight).sum();
    let mut place = dice.below(all);
    for (wanted, weight) in WEIGHTS {
        if place < *weight {
            return wanted;
        }
        place -= weight;
    }
    "read"
}

fn of_people(dice: &Dice, fleet: &mut Fleet, wanted: &str) -> Option<Deed> {
    let name = fleet.next_name("person");
    let letter = fleet.letter.to_ascii_lowercase();
    let address = format!("{name}@{letter}.example");
    if wanted == "hire" {
        let email = dice.percent(75).then_some(address);
        let role = *dice.pick(&[Role::Manager, Role::Technician, Role::Driver]);
        return (fleet.people.len() < 4).then(|| Deed::Hire { role, email, zone: *dice.pick(&ZONES) });
    }
    if fleet.people.is_empty() {
        return None;
    }
    let one = fleet.people[dice.place(fleet.people.len())].clone();
    if wanted == "erase person" {
        return Some(Deed::ErasePerson { person: one.id, version: one.version });
    }
    let change = if dice.percent(50) {
        PersonChange { email: Some(dice.percent(50).then_some(address)), ..PersonChange::default() }
    } else {
        hours(dice)
    };
    Some(Deed::ChangePerson { person: one.id, version: one.version, change })
}

/// Other hours for letters.
fn hours(dice: &Dice) -> PersonChange {
    let time = |hour| NaiveTime::from_hms_opt(hour, 30, 0).unwrap_or_default();
    let quiet = *dice.pick(&[None, Some((20, 7)), Some((22, 5)), Some((11, 14))]);
    PersonChange {
        quiet_hours: Some(quiet.map(|(from, to)| (time(from), time(to)))),
        letter_days: Some(*dice.pick(&[Weekdays::ALL, Weekdays::MONDAY_TO_FRIDAY])),
        letter_time: Some(time(*dice.pick(&[6, 8, 12, 16]))),
        ..PersonChange::default()
    }
}

fn of_van(dice: &Dice, van: &Van, now: DateTime<Utc>, wanted: &str) -> Option<Deed> {
    let vehicle = van.id;
    let deed = match wanted {
        "read" => {
            let at = now - dice.span(60, 86_400 * 3);
            Deed::Read { vehicle, at, value: odometer(dice, van, at) }
        }
        "decide" => {
            let right = Decision::Correct { value: van.odometer(now) };
            let decision = *dice.pick(&[Decision::Release, Decision::Withdraw, right]);
            Deed::Decide { vehicle, reading: *van.readings.last()?, decision }
        }
        "serve" => {
            let (on, rule) = (day_of(now - dice.span(60, 86_400 * 4)), rules::any_done(dice));
            Deed::Serve { vehicle, on, value: van.odometer(now), rule }
        }
        "undo service" => Deed::UndoService { vehicle, service: van.services.last()?.0 },
        "undo paper" => Deed::UndoPaper { vehicle, paper: *van.papers.last()? },
        "undo cover" => Deed::UndoCover { vehicle, window: *van.windows.last()? },
        "undo override" => Deed::UndoOverride { vehicle, exception: *van.overrides.last()? },
        "undo stay" => Deed::UndoStay { vehicle, stay: *van.past_stays.last()? },
        "answer baseline" => Deed::AnswerBaseline { vehicle, answers: answers(dice, van, now) },
        "acknowledge" | "postpone" => Deed::Reply(replying::any(dice, van, now, wanted)?),
        "retire" => Deed::Retire { vehicle, version: van.version, on: day_of(now) },
        others => return now_and_then(dice, van, now, others),
    };
    Some(deed)
}

fn go_in(dice: &Dice, fleet: &Fleet, now: DateTime<Utc>) -> Option<Deed> {
    let van = &fleet.vans[fleet.any_van(dice)?];
    let somewhere = (!fleet.workshops.is_empty()).then(|| dice.pick(&fleet.workshops).0);
    let (at, workshop) = (now - dice.span(60, 7200), somewhere.filter(|_| dice.percent(70)));
    van.stay.is_none().then_some(Deed::GoIn { vehicle: van.id, at, workshop })
}

fn now_and_then(dice: &Dice, van: &Van, now: DateTime<Utc>, wanted: &str) -> Option<Deed> {
    let vehicle = van.id;
    let deed = match wanted {
        "paper" => {
            let kind = *dice.pick(&[PaperKind::AnnualTest, PaperKind::AnnualTest, PaperKind::Insurance]);
            let days = i64::try_from(dice.below(400)).unwrap_or(0) - 10;
            Deed::Paper { vehicle, kind, expires_on: add_days(day_of(now), days) }
        }
        "cover" if van.windows.len() < 3 => {
            Deed::Cover { vehicle, terms: Box::new(terms(dice, day_of(now))) }
        }
        "come out" => Deed::ComeOut { vehicle, stay: van.stay?, at: now - TimeDelta::seconds(30) },
        "close finding" => {
            let kind = if dice.percent(50) { ClosureKind::Fixed } else { ClosureKind::Dismissed };
            Deed::CloseFinding { vehicle, finding: *van.findings.last()?, kind }
        }
        "override" => {
            let shorter = Every { days: Some(30), ..Every::default() };
            let every = dice.percent(60).then_some(shorter);
            Deed::Override { vehicle, rule: rules::any_interval(dice), every }
        }
        _ => return None,
    };
    Some(deed)
}

/// Mostly right; now and then a nought too many, miles for kilometres, or backwards.
fn odometer(dice: &Dice, van: &Van, at: DateTime<Utc>) -> Entered {
    let right = van.odometer(at);
    match dice.below(14) {
        0 => km(right.value * 10.0),
        1 => Entered::new(right.value, Unit::Mile),
        2 => km((right.value / 2.0).round()),
        _ => right,
    }
}

fn answers(dice: &Dice, van: &Van, now: DateTime<Utc>) -> Vec<(String, BaselineChoice)> {
    let (on, odometer) = (day_of(now), van.odometer(now));
    let choice = match dice.below(3) {
        0 => BaselineChoice::DoNow { on },
        1 => BaselineChoice::StartFrom { on, odometer },
        _ => BaselineChoice::Proven { done_on: add_days(on, -100), odometer },
    };
    vec![(rules::any_interval(dice), choice)]
}

fn terms(dice: &Dice, today: NaiveDate) -> CoverageTerms {
    let age = i64::try_from(dice.below(900)).unwrap_or(0);
    CoverageTerms {
        kind: if dice.percent(80) { WindowKind::Warranty } else { WindowKind::Lease },
        title: "Cover".to_owned(),
        scope: Vec::new(),
        starts_on: Some(add_days(today, -age)),
        start_odometer: None,
        opened_by: None,
        months: Some(*dice.pick(&[12, 24, 36])),
        distance: dice.percent(70).then(|| km(60_000.0)),
        distance_from: DistanceFrom::Zero,
        last_day: *dice.pick(&[LastDay::DayBefore, LastDay::Anniversary]),
        capacity_floor_percent: None,
        reduced_if: Vec::new(),
        pro_rata: Vec::new(),
        transfer: Transfer::Automatic,
        transfer_within_days: None,
        transferred_on: None,
        excess: None,
        voided_by: None,
    }
}

/// A vehicle that comes at `now`, new or used.
pub fn new_van(dice: &Dice, fleet: &mut Fleet, now: DateTime<Utc>) -> NewVehicle {
    let is_used = dice.percent(30);
    let age = i64::try_from(dice.between(1, if is_used { 1800 } else { 500 })).unwrap_or(1);
    let start = f64::from(u32::try_from(dice.below(60_000)).unwrap_or(0));
    NewVehicle {
        vin: None,
        make: "Harrow".to_owned(),
        model: "Carter".to_owned(),
        model_year: Some(2026),
        powertrain: *dice.pick(&[Powertrain::Diesel, Powertrain::Diesel, Powertrain::BatteryElectric]),
        gross_mass_kg: Some(3200),
        tags: Vec::new(),
        in_service_on: Some(add_days(day_of(now), -age)),
        in_service_odometer: Some(km(if is_used { start } else { 0.0 })),
        history_unknown: is_used,
        acquired_on: None,
        odometer_unit: Unit::Kilometre,
        placard: Placard {
            front: Some(Entered::new(300.0, Unit::Kilopascal)),
            rear: Some(Entered::new(350.0, Unit::Kilopascal)),
        },
        depot: fleet.depot.0,
        duty: *dice.pick(&[Duty::Delivery, Duty::Pool]),
        severe: None,
        label: fleet.next_name("van"),
        plate: None,
        parked: false,
        operating_weekdays: Weekdays::ALL,
        rulebook: Some(fleet.rulebook.0),
    }
}
