//! The steps of a story that touch what is known about a vehicle: one of each kind of fact, and of each record that is
//! changed in place.

use chrono::{Days, TimeDelta};
use clerk::components::{NewComponent, NewFitting};
use clerk::indicators::NewIndicator;
use clerk::inspections::FindingEntered;
use clerk::meters::{NewHours, NewReplacement};
use clerk::organisation::{DepotChange, NewWorkshop, WorkshopChange};
use clerk::papers::NewPaper;
use clerk::readings::NewReading;
use clerk::services::NewService;
use clerk::set_asides::Choice;
use clerk::stays::NewStay;
use clerk::vehicles::VehicleChange;
use clerk::{Act, ActError, replies};
use model::{
    BaselineChoice, Clock, CoverageTerms, Decision, DistanceFrom, Duty, Every, Facts, FindingWeight,
    IndicatorLeft, LastDay, MeasurementChoice, MeterQuantity, PaperKind, Place, Policy, ReadingSource,
    SetAsideReason, Transfer, VehicleId, WindowKind, WorkshopKind, local_day,
};
use quantity::{Entered, Unit};
use store::findings::ClosureKind;
use testkit::world::{World, code, instant, km, measured};

/// What the hour meter shows by now: 3 h a day, whichever instrument it is.
fn hours(world: &World) -> Entered {
    let days = (world.clock.now() - instant("2026-01-01T00:00:00Z")).num_days();
    Entered::new(f64::from(u32::try_from(days * 3).expect("a few years")), Unit::Hour)
}

/// How many kinds of steps there are.
pub const KINDS: u64 = 33;

/// Distance that the van of the story has covered by now: 90 km a day since it came into service.
fn odometer(world: &World) -> Entered {
    let days = (world.clock.now() - instant("2026-01-01T00:00:00Z")).num_days();
    km(f64::from(u32::try_from(days * 90).expect("a few years")))
}

fn terms(title: String) -> CoverageTerms {
    CoverageTerms {
        kind: WindowKind::Warranty,
        title,
        scope: Vec::new(),
        starts_on: None,
        start_odometer: None,
        opened_by: None,
        months: Some(36),
        distance: Some(km(100_000.0)),
        distance_from: DistanceFrom::Zero,
        last_day: LastDay::DayBefore,
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

/// One step of a story that touches what is known about the van; some are refused where they make no sense.
pub async fn step(
    world: &World,
    act: &mut Act,
    van: VehicleId,
    known: &Facts,
    kind: u64,
) -> Result<(), ActError> {
    match kind {
        0..6 => work(world, act, van, known, kind).await,
        6..12 => wear(world, act, van, known, kind).await,
        19..26 => off_road(world, act, van, known, kind).await,
        26..28 => sister(world, act, van, kind).await,
        28..31 => held(world, act, van, kind).await,
        31.. => reply(world, act, van, kind).await,
        _ => settings(world, act, van, known, kind).await,
    }
}

async fn work(
    world: &World,
    act: &mut Act,
    van: VehicleId,
    known: &Facts,
    kind: u64,
) -> Result<(), ActError> {
    let (now, today) = (world.clock.now(), local_day(world.clock.now(), known.vehicle.zone));
    let nothing = || ActError::NotFound { kind: "thing to withdraw" };
    match kind {
        0 => {
            let new = NewReading { value: odometer(world), read_at: now, source: ReadingSource::Driver };
            clerk::readings::record(act, van, new).await.map(drop)
        }
        1 => {
            let (rules, odometer) = (vec![code("engine-oil")], odometer(world));
            let (workshop, evidence, note, currency) = (None, None, None, None);
            let (done_on, parts, cost_minor) = (today, Vec::new(), None);
            let new = NewService {
                done_on,
                odometer,
                rules,
                workshop,
                parts,
                cost_minor,
                currency,
                evidence,
                note,
                warranties: Vec::new(),
            };
            clerk::services::record(act, van, new).await.map(drop)
        }
        2 => {
            let service = known.services.last().ok_or_else(nothing)?.id;
            clerk::services::withdraw(act, van, service).await
        }
        3 => {
            let new = NewPaper {
                kind: PaperKind::AnnualTest,
                reference: None,
                issued_on: None,
                expires_on: today + Days::new(40),
            };
            clerk::papers::record(act, van, new).await.map(drop)
        }
        4 => {
            let paper = known.papers.last().ok_or_else(nothing)?.id;
            clerk::papers::withdraw(act, van, paper).await
        }
        _ => {
            let reading = known.readings.first().ok_or_else(nothing)?.id;
            let why = "Looked again.".to_owned();
            clerk::readings::decide(act, van, reading, Decision::Release, why).await.map(drop)
        }
    }
}

async fn wear(
    world: &World,
    act: &mut Act,
    van: VehicleId,
    known: &Facts,
    kind: u64,
) -> Result<(), ActError> {
    let today = local_day(world.clock.now(), known.vehicle.zone);
    let nothing = || ActError::NotFound { kind: "thing to end" };
    match kind {
        6 => {
            let mut entry = world.entry("Van 1");
            entry.measurements = vec![measured("tread-depth", "front_left", "lowest", 4.1, "mm")];
            entry.findings = vec![FindingEntered {
                code: code("suspension-noise"),
                component: Some(code("suspension")),
                place: Some(Place::FrontRight),
                weight: FindingWeight::Attend,
                note: "Knocks over kerbs.".to_owned(),
            }];
            let batch = world.batch(world.clerk.new_id(), &[entry]);
            clerk::inspections::take_in(act, batch).await.map(drop)
        }
        7 => {
            let finding = known.findings.iter().find(|finding| finding.closed_at.is_none());
            let (finding, why) = (finding.ok_or_else(nothing)?.id, "Nothing there.".to_owned());
            clerk::findings::close(act, van, finding, ClosureKind::Dismissed, why, None).await.map(drop)
        }
        8 => {
            let new = NewComponent {
                kind: code("tyre"),
                product: "Grip 9".to_owned(),
                depth_new: None,
                came_used: false,
                cost: None,
            };
            let component = clerk::components::create(act, new).await?.id;
            let new =
                NewFitting { component, place: Place::FrontLeft, from: today, odometer: odometer(world) };
            clerk::components::fit(act, van, new).await.map(drop)
        }
        9 => {
            let fitting = known.fittings.iter().find(|fitting| fitting.to.is_none());
            let (fitting, why) = (fitting.ok_or_else(nothing)?.id, "Worn.".to_owned());
            clerk::components::remove(act, van, fitting, today, odometer(world), why).await.map(drop)
        }
        10 => clerk::coverage::open(act, van, terms(format!("Cover of {today}"))).await.map(drop),
        _ => {
            let window = known.windows.last().ok_or_else(nothing)?.id;
            clerk::coverage::withdraw(act, van, window).await
        }
    }
}

async fn off_road(
    world: &World,
    act: &mut Act,
    van: VehicleId,
    known: &Facts,
    kind: u64,
) -> Result<(), ActError> {
    let (now, why) = (world.clock.now(), "Gearbox".to_owned());
    let nothing = || ActError::NotFound { kind: "thing to end" };
    let (source, value) = (ReadingSource::Driver, hours(world));
    match kind {
        19 => {
            let new = NewStay { workshop: None, in_at: now, out_at: None, reason: why, waiting_for: None };
            clerk::stays::open(act, van, new).await.map(drop)
        }
        20 => {
            let stay = known.stays.iter().find(|stay| stay.out_at.is_none()).ok_or_else(nothing)?.id;
            clerk::stays::close(act, van, stay, now).await.map(drop)
        }
        21 => {
            let stay = known.stays.last().ok_or_else(nothing)?.id;
            clerk::stays::withdraw(act, van, stay).await.map(drop)
        }
        22 => clerk::meters::record_hours(act, van, NewHours { value, read_at: now, source }).await.map(drop),
        23 => {
            let (quantity, new_shows) = (MeterQuantity::Hours, Entered::new(0.0, Unit::Hour));
            let new = NewReplacement { quantity, replaced_at: now, old_shows: value, new_shows, reason: why };
            clerk::meters::replace(act, van, new).await.map(drop)
        }
        24 => {
            let (rule, left) = (code("engine-oil"), IndicatorLeft::Percent { percent: 60.0 });
            let new = NewIndicator { rule, left, odometer: None, read_at: now, source };
            clerk::indicators::record(act, van, new).await.map(drop)
        }
        _ => {
            let measured = known.inspections.iter().flat_map(|inspection| &inspection.measurements).next();
            let measurement = measured.ok_or_else(nothing)?.id;
            clerk::answers::answer(act, van, measurement, MeasurementChoice::Mistaken, None).await.map(drop)
        }
    }
}

/// A tyre comes from another van, or something is recorded late about the time it was there.
async fn sister(world: &World, act: &mut Act, van: VehicleId, kind: u64) -> Result<(), ActError> {
    let ids = store::vehicles::ids(&mut act.conn(), world.fleet).await?;
    let sister = match ids.into_iter().find(|id| *id != van) {
        Some(sister) => sister,
        None => clerk::vehicles::register(act, world.new_van("Van 2")).await?.id,
    };
    let today = local_day(world.clock.now(), chrono_tz::UTC);
    if kind == 26 {
        let depth_new = Some(Entered::new(8.0, Unit::Millimetre));
        let new = NewComponent {
            kind: code("tyre"),
            product: "Grip 9".to_owned(),
            depth_new,
            came_used: false,
            cost: None,
        };
        let component = clerk::components::create(act, new).await?.id;
        let (place, from) = (Place::RearRight, today - Days::new(40));
        let new = NewFitting { component, place, from, odometer: km(1_000.0) };
        let fitting = clerk::components::fit(act, sister, new).await?.id;
        let why = "For the other van.".to_owned();
        clerk::components::remove(act, sister, fitting, today, km(5_000.0), why).await?;
        let new = NewFitting { component, place, from: today, odometer: odometer(world) };
        return clerk::components::fit(act, van, new).await.map(drop);
    }
    let mut entry = world.entry("Van 2");
    entry.performed_at = world.clock.now() - TimeDelta::days(20);
    entry.measurements = vec![measured("tread-depth", "rear_right", "lowest", 6.1, "mm")];
    entry.odometer = Some(km(3_000.0));
    let batch = world.batch(world.clerk.new_id(), &[entry]);
    clerk::inspections::take_in(act, batch).await.map(drop)
}

/// A measurement is set aside, and one that waits is taken or dismissed.
async fn held(world: &World, act: &mut Act, van: VehicleId, kind: u64) -> Result<(), ActError> {
    if kind == 28 {
        let mut entry = world.entry("Van 1");
        let [first, second] = ["front_right", "rear_left"];
        entry.measurements = vec![
            measured("tread-depth", first, "lowest", 5.2, "kPa"),
            measured("shoe-size", second, "lowest", 42.0, "mm"),
        ];
        let batch = world.batch(world.clerk.new_id(), &[entry]);
        return clerk::inspections::take_in(act, batch).await.map(drop);
    }
    let waiting =
        store::set_asides::waiting_of(&mut act.conn(), world.fleet, van, store::AsKnown::NOW).await?;
    let wanted = if kind == 29 { SetAsideReason::Unit } else { SetAsideReason::PointUnknown };
    let one = waiting.into_iter().find(|one| one.reason == wanted);
    let id = one.ok_or(ActError::NotFound { kind: "held measurement" })?.id;
    let choice = match kind {
        29 => Choice::Take(measured("tread-depth", "front_right", "lowest", 5.2, "mm")),
        _ => Choice::Dismiss,
    };
    clerk::set_asides::settle_set_aside(act, id, choice, "Asked.".to_owned()).await.map(drop)
}

async fn settings(
    world: &World,
    act: &mut Act,
    van: VehicleId,
    known: &Facts,
    kind: u64,
) -> Result<(), ActError> {
    let now = world.clock.now();
    match kind {
        12 => {
            let every = Every { months: Some(6), ..Every::default() };
            let why = "Short trips.".to_owned();
            clerk::rulebooks::override_rule(act, van, code("engine-oil"), Some(every), why).await.map(drop)
        }
        13 => {
            let exception = known.overrides.last().ok_or(ActError::NotFound { kind: "exception" })?.id;
            clerk::rulebooks::withdraw_override(act, van, exception).await
        }
        14 => {
            let on = local_day(now, known.vehicle.zone);
            let choice = BaselineChoice::StartFrom { on, odometer: odometer(world) };
            clerk::rulebooks::answer_baseline(act, van, vec![(code("brake-fluid"), choice)]).await.map(drop)
        }
        15 => {
            let tags = vec![format!("since {now}")];
            let is_pool = known.vehicle.attributes_now().is_some_and(|now| now.duty == Duty::Pool);
            let duty = if is_pool { Duty::Delivery } else { Duty::Pool };
            let change = VehicleChange { duty: Some(duty), tags: Some(tags), ..VehicleChange::default() };
            clerk::vehicles::change(act, van, known.vehicle.version, change).await.map(drop)
        }
        16 => change_places(world, act, known).await,
        17 => {
            let (version, policy) =
                store::fleets::versioned_policy(&mut act.conn(), world.fleet).await?.expect("a fleet");
            let days = policy.lead_days + 3;
            clerk::fleets::change_policy(act, version, &Policy { lead_days: days, ..policy }).await
        }
        _ => {
            let book = store::rulebooks::find(&mut act.conn(), world.fleet, world.rulebook).await?;
            let book = book.expect("a rulebook");
            let mut rules = book.rules;
            rules[0].lead.days = Some(rules[0].lead.days.unwrap_or(0) + 5);
            clerk::rulebooks::revise(act, book.id, book.version, book.title, rules).await.map(drop)
        }
    }
}

/// The depot moves to the next zone, and a workshop opens or takes its time.
async fn change_places(world: &World, act: &mut Act, known: &Facts) -> Result<(), ActError> {
    let depot = store::depots::find(&mut act.conn(), world.fleet, world.depot).await?.expect("a depot");
    let zones = [chrono_tz::Europe::Dublin, chrono_tz::Pacific::Auckland, chrono_tz::America::Denver];
    let next = zones[usize::try_from(depot.version).expect("a few") % zones.len()];
    let change = DepotChange { zone: Some(next), ..DepotChange::default() };
    clerk::organisation::change_depot(act, depot.id, depot.version, change).await?;
    match known.workshops.first() {
        None => {
            let new = NewWorkshop {
                name: "Quay".to_owned(),
                kind: WorkshopKind::Dealer,
                lead_days: 2,
                warranty_work: None,
                working_weekdays: None,
            };
            clerk::organisation::create_workshop(act, new).await.map(drop)
        }
        Some(workshop) => {
            let change =
                WorkshopChange { lead_days: Some(workshop.lead_days + 1), ..WorkshopChange::default() };
            clerk::organisation::change_workshop(act, workshop.id, workshop.version, change).await.map(drop)
        }
    }
}

/// A reminder of the van is acknowledged or put off: the newest whose item still stands.
async fn reply(world: &World, act: &mut Act, van: VehicleId, kind: u64) -> Result<(), ActError> {
    let notices = store::notices::page(&mut act.conn(), world.fleet, None, 1_000).await?;
    let until = local_day(world.clock.now(), chrono_tz::UTC) + Days::new(9);
    for notice in notices.iter().rev().filter(|notice| notice.notice.vehicle == van) {
        let id = notice.notice.id;
        let replied = match kind {
            31 => replies::acknowledge(act, id, Some("Booked in.".to_owned())).await.map(drop),
            _ => replies::postpone(act, id, until, "Parts are on their way.".to_owned()).await.map(drop),
        };
        if replied.is_ok() {
            return replied;
        }
    }
    Err(ActError::NotFound { kind: "reminder" })
}
