//! Entering the demo fleet, act by act, as its people would have.

use super::calendar::Calendar;
use super::file::{DemoFile, InspectionPart, VehiclePart};
use super::off_road;
use crate::{edge, seed};
use anyhow::Context;
use chrono::Datelike;
use chrono_tz::Tz;
use clerk::components::{NewComponent, NewFitting};
use clerk::inspections::{Batch, Entry, FindingEntered, MeasurementEntered, Observed, RawEntry, SheetRef};
use clerk::keys::NewKey;
use clerk::organisation::{NewDepot, NewPerson, NewWorkshop};
use clerk::papers::NewPaper;
use clerk::readings::NewReading;
use clerk::services::NewService;
use clerk::vehicles::NewVehicle;
use clerk::{Act, Clerk};
use model::{
    ComponentId, CoverageTerms, Depot, FittingId, FleetId, KeyKind, PersonId, ReadingSource, Role,
    RulebookId, Scope, VehicleId, Weekdays, WorkshopId, local_day, parse_zone,
};
use quantity::Entered;
use std::collections::BTreeMap;

const FILE: &str = include_str!("../../../../seed/demo/fleet.json");

/// A loaded demo: its fleet and two keys.
pub struct Demo {
    /// The fleet.
    pub fleet: FleetId,
    /// A manager's key: read, measure, manage, admin.
    pub manager_key: String,
    /// A technician's key: read, measure.
    pub technician_key: String,
}

/// What the vehicles of the file refer to by name.
struct Places {
    depots: BTreeMap<String, Depot>,
    workshops: BTreeMap<String, WorkshopId>,
    rulebooks: BTreeMap<&'static str, RulebookId>,
}

/// Enters the demo fleet into an empty store.
pub async fn load(clerk: &Clerk) -> anyhow::Result<Demo> {
    let file: DemoFile = serde_json::from_str(FILE).context("reading the demo fleet")?;
    let fleet = clerk::fleets::create_fleet(clerk, &file.fleet.name).await?.id;
    let mut act = clerk.begin(fleet, &edge::operator("demo"), "demo", None).await?;
    let (places, keys) = enter_organisation(&mut act, &file).await?;
    act.commit().await?;
    for vehicle in &file.vehicles {
        let mut act = clerk.begin(fleet, &edge::operator("demo"), "demo", None).await?;
        enter_vehicle(&mut act, vehicle, &places)
            .await
            .with_context(|| format!("entering {} of the demo fleet", vehicle.label))?;
        act.commit().await?;
    }
    clerk::fits::refit(clerk, fleet).await?;
    let [manager_key, technician_key] = keys;
    Ok(Demo { fleet, manager_key, technician_key })
}

async fn enter_organisation(act: &mut Act, file: &DemoFile) -> anyhow::Result<(Places, [String; 2])> {
    let rulebooks = seed::plant(act).await?;
    let mut depots = BTreeMap::new();
    for part in &file.depots {
        let zone = parse_zone(&part.zone).with_context(|| format!("there is no zone {}", part.zone))?;
        let new = NewDepot {
            name: part.name.clone(),
            zone,
            jurisdiction: part.jurisdiction,
            design_low: part.design_low,
        };
        depots.insert(part.r#ref.clone(), clerk::organisation::create_depot(act, new).await?);
    }
    let mut workshops = BTreeMap::new();
    for part in &file.workshops {
        let new = NewWorkshop {
            name: part.name.clone(),
            kind: part.kind,
            lead_days: part.lead_days,
            warranty_work: None,
            working_weekdays: None,
        };
        workshops.insert(part.r#ref.clone(), clerk::organisation::create_workshop(act, new).await?.id);
    }
    let mut people: BTreeMap<Role, PersonId> = BTreeMap::new();
    for part in &file.people {
        let own: Vec<&Depot> = part.depots.iter().filter_map(|name| depots.get(name)).collect();
        let new = NewPerson {
            role: part.role,
            depots: own.iter().map(|depot| depot.id).collect(),
            name: part.name.clone(),
            email: part.email.clone(),
            language: part.language.clone(),
            zone: own.first().map_or(Tz::UTC, |depot| depot.zone),
            quiet_hours: None,
            letter_days: None,
            letter_time: None,
            declined_letters: Vec::new(),
        };
        let person = clerk::organisation::create_person(act, new).await?;
        people.entry(part.role).or_insert(person.id);
    }
    let manager = [Scope::Read, Scope::Measure, Scope::Manage, Scope::Admin];
    let manager = key(act, "Demo manager", people.get(&Role::Manager), &manager).await?;
    let technician =
        key(act, "Demo technician", people.get(&Role::Technician), &[Scope::Read, Scope::Measure]).await?;
    Ok((Places { depots, workshops, rulebooks }, [manager, technician]))
}

async fn key(
    act: &mut Act,
    label: &str,
    person: Option<&PersonId>,
    scopes: &[Scope],
) -> anyhow::Result<String> {
    let new = NewKey {
        kind: KeyKind::Person,
        person: person.copied(),
        vehicle: None,
        label: label.to_owned(),
        scopes: scopes.to_vec(),
        expires_at: None,
    };
    Ok(clerk::keys::create_key(act, new).await?.1)
}

async fn enter_vehicle(act: &mut Act, part: &VehiclePart, places: &Places) -> anyhow::Result<()> {
    let depot = places.depots.get(&part.depot).with_context(|| format!("no depot {}", part.depot))?;
    let calendar = Calendar { today: local_day(act.at(), depot.zone), zone: depot.zone, now: act.at() };
    let new = new_vehicle(part, depot, places, &calendar)?;
    let vehicle = clerk::vehicles::register(act, new).await?.id;
    for (days_ago, time, value, source) in &part.readings {
        let source = ReadingSource::from_word(source).with_context(|| format!("no source {source}"))?;
        let value = Entered::new(*value, part.odometer_unit);
        let read_at = calendar.instant(*days_ago, time)?;
        clerk::readings::record(act, vehicle, NewReading { value, read_at, source }).await?;
    }
    enter_services(act, vehicle, part, places, &calendar).await?;
    enter_documents(act, vehicle, part, &calendar).await?;
    enter_components(act, vehicle, part, &calendar).await?;
    enter_inspections(act, vehicle, part, &calendar).await?;
    off_road::enter_stays(act, vehicle, part, &places.workshops, &calendar).await?;
    off_road::enter_indicators(act, vehicle, part, &calendar).await?;
    off_road::enter_hours(act, vehicle, part, &calendar).await
}

fn new_vehicle(
    part: &VehiclePart,
    depot: &Depot,
    places: &Places,
    calendar: &Calendar,
) -> anyhow::Result<NewVehicle> {
    let rulebook = places.rulebooks.get(part.rulebook.as_str());
    Ok(NewVehicle {
        vin: part.vin.clone(),
        make: part.make.clone(),
        model: part.model.clone(),
        model_year: part.model_year_offset.map(|offset| calendar.today.year() + offset),
        powertrain: part.powertrain,
        gross_mass_kg: part.gross_mass_kg,
        tags: part.tags.clone(),
        in_service_on: part.in_service_days_ago.map(|ago| calendar.day(ago)),
        in_service_odometer: part.in_service_odometer,
        history_unknown: part.history_unknown,
        acquired_on: part.acquired_days_ago.map(|ago| calendar.day(ago)),
        odometer_unit: part.odometer_unit,
        placard: part.placard,
        depot: depot.id,
        duty: part.duty,
        severe: part.severe,
        label: part.label.clone(),
        plate: part.plate.clone(),
        parked: false,
        operating_weekdays: Weekdays::from_bits(part.operating_weekdays).context("no operating weekdays")?,
        rulebook: Some(*rulebook.with_context(|| format!("no rulebook {}", part.rulebook))?),
    })
}

async fn enter_services(
    act: &mut Act,
    vehicle: VehicleId,
    part: &VehiclePart,
    places: &Places,
    calendar: &Calendar,
) -> anyhow::Result<()> {
    for service in &part.services {
        let new = NewService {
            done_on: calendar.day(service.days_ago),
            odometer: service.odometer,
            rules: service.rules.clone(),
            workshop: service.workshop.as_ref().and_then(|name| places.workshops.get(name)).copied(),
            parts: service.parts.clone(),
            cost_minor: service.cost_minor,
            currency: service.currency.clone(),
            evidence: service.evidence.clone(),
            note: service.note.clone(),
            warranties: Vec::new(),
        };
        clerk::services::record(act, vehicle, new).await?;
    }
    Ok(())
}

async fn enter_documents(
    act: &mut Act,
    vehicle: VehicleId,
    part: &VehiclePart,
    calendar: &Calendar,
) -> anyhow::Result<()> {
    for paper in &part.papers {
        let new = NewPaper {
            kind: paper.kind,
            reference: paper.reference.clone(),
            issued_on: paper.issued_days_ago.map(|ago| calendar.day(ago)),
            expires_on: calendar.day(paper.expires_days_ago),
        };
        clerk::papers::record(act, vehicle, new).await?;
    }
    for window in &part.windows {
        let starts_on = window.starts_days_ago.map(|ago| calendar.day(ago));
        let terms = CoverageTerms { starts_on, ..window.terms.clone() };
        clerk::coverage::open(act, vehicle, terms).await?;
    }
    Ok(())
}

/// Fits and removes components in the order of days, so that a place is free when the next one comes to it.
async fn enter_components(
    act: &mut Act,
    vehicle: VehicleId,
    part: &VehiclePart,
    calendar: &Calendar,
) -> anyhow::Result<()> {
    let mut events = Vec::new();
    for component in &part.components {
        let new = NewComponent {
            kind: component.kind.clone(),
            product: component.product.clone(),
            depth_new: component.depth_new,
            came_used: component.came_used,
            cost: component.cost.clone(),
        };
        let id = clerk::components::create(act, new).await?.id;
        for fitting in &component.fittings {
            events.push((calendar.day(fitting.from_days_ago), Change::Fit, id, fitting));
            if let Some(ago) = fitting.to_days_ago {
                events.push((calendar.day(ago), Change::Remove, id, fitting));
            }
        }
    }
    events.sort_by_key(|(day, change, _, _)| (*day, *change));
    let mut fitted: BTreeMap<ComponentId, FittingId> = BTreeMap::new();
    for (day, change, component, fitting) in events {
        match change {
            Change::Fit => {
                let odometer = fitting.from_odometer;
                let new = NewFitting { component, place: fitting.place, from: day, odometer };
                fitted.insert(component, clerk::components::fit(act, vehicle, new).await?.id);
            }
            Change::Remove => {
                let open = fitted.remove(&component).context("a component is removed before it is fitted")?;
                let odometer = fitting.to_odometer.context("a removal without odometer")?;
                let reason = "moved or replaced".to_owned();
                clerk::components::remove(act, vehicle, open, day, odometer, reason).await?;
            }
        }
    }
    Ok(())
}

/// What happens to a component on a day; removals come first.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Change {
    Remove,
    Fit,
}

async fn enter_inspections(
    act: &mut Act,
    vehicle: VehicleId,
    part: &VehiclePart,
    calendar: &Calendar,
) -> anyhow::Result<()> {
    let mut entries = Vec::with_capacity(part.inspections.len());
    for inspection in &part.inspections {
        entries.push(entry(act, vehicle, inspection, calendar)?);
    }
    if entries.is_empty() {
        return Ok(());
    }
    let batch = Batch {
        id: act.new_id(),
        device_id: "demo".to_owned(),
        device_seq: None,
        device_sent_at: act.at(),
        received_at: act.at(),
        raw: "{}".to_owned(),
        entries,
    };
    for result in clerk::inspections::take_in(act, batch).await? {
        if let clerk::inspections::EntryOutcome::Rejected { faults, .. } = result.outcome {
            anyhow::bail!("an inspection was refused: {faults:?}");
        }
    }
    Ok(())
}

fn entry(
    act: &Act,
    vehicle: VehicleId,
    part: &InspectionPart,
    calendar: &Calendar,
) -> anyhow::Result<RawEntry> {
    let id = act.new_id();
    let measurement = |(point, place, zone, value, unit): &(String, String, String, f64, String)| {
        let (point, place, unit) = (point.clone(), place.clone(), unit.clone());
        MeasurementEntered {
            point,
            place,
            zone: Some(zone.clone()),
            observed: Observed::Measured { value: *value, unit },
        }
    };
    let finding = |found: &super::file::FindingPart| FindingEntered {
        code: found.code.clone(),
        component: found.component.clone(),
        place: found.place,
        weight: found.weight,
        note: found.note.clone(),
    };
    let entry = Entry {
        entry_id: id,
        vehicle: vehicle.to_string(),
        check_sheet: SheetRef { code: part.sheet.clone(), version: None },
        performed_at: calendar.instant(part.days_ago, &part.time)?,
        odometer: part.odometer,
        unread_odometer: None,
        measurements: part.measurements.iter().map(measurement).collect(),
        findings: part.findings.iter().map(finding).collect(),
        note: part.note.clone(),
        corrects: None,
        unknown_members: Vec::new(),
    };
    let raw = serde_json::json!({ "entry_id": id });
    Ok(RawEntry { raw, entry_id_text: Some(id.to_string()), parsed: Ok(entry) })
}
