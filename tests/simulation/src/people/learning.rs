//! What people know after an answer.

use super::{Answer, Deed, Errand};
use crate::fleet::{Colleague, Fleet, Kind, Standing, Van};
use chrono::{DateTime, Utc};
use model::{OverrideId, PaperId, PersonId, ReadingId, ServiceId, StayId, VehicleId, WindowId};
use uuid::Uuid;

/// Which kind of fact a deed makes, of those that are counted.
pub fn makes(deed: &Deed) -> Option<Kind> {
    match deed {
        Deed::Read { .. } => Some(Kind::Reading),
        Deed::Serve { .. } => Some(Kind::Service),
        Deed::Paper { .. } => Some(Kind::Paper),
        Deed::Cover { .. } => Some(Kind::Window),
        Deed::GoIn { .. } => Some(Kind::Stay),
        Deed::Override { .. } => Some(Kind::Override),
        _ => None,
    }
}

/// The fact that a deed withdraws.
pub fn withdraws(deed: &Deed) -> Option<(Kind, Uuid)> {
    match deed {
        Deed::UndoService { service, .. } => Some((Kind::Service, service.0)),
        Deed::UndoPaper { paper, .. } => Some((Kind::Paper, paper.0)),
        Deed::UndoCover { window, .. } => Some((Kind::Window, window.0)),
        Deed::UndoStay { stay, .. } => Some((Kind::Stay, stay.0)),
        Deed::UndoOverride { exception, .. } => Some((Kind::Override, exception.0)),
        _ => None,
    }
}

/// Takes in what was answered to `errand`; `daily` is how far a new vehicle really goes a day, km.
pub fn learn(fleet: &mut Fleet, errand: &Errand, answer: &Answer, now: DateTime<Utc>, daily: f64) {
    if let (Some(id), Some(kind)) = (answer.id, makes(&errand.deed)) {
        fleet.note(kind, id, Standing::Stands);
    }
    if let Some((kind, id)) = withdraws(&errand.deed) {
        fleet.note(kind, id, Standing::Withdrawn);
    }
    for (entry, outcome) in &answer.entries {
        if !outcome.starts_with("rejected") {
            fleet.note(Kind::Entry, *entry, Standing::Stands);
        }
    }
    if answer.is_bare {
        let (kind, number) = match &errand.deed {
            Deed::Batch(batch) => (Some(Kind::Entry), batch.entries.len()),
            deed => (makes(deed), 1),
        };
        *kind.map_or(&mut 0, |kind| fleet.unnamed.entry(kind).or_default()) += number;
        return;
    }
    let made = answer.id.unwrap_or_default();
    match &errand.deed {
        Deed::Register(new) => {
            let start = new.in_service_odometer.map_or(0.0, |entered| entered.value);
            fleet.vans.push(van(VehicleId(made), &new.label, (now, start), daily));
        }
        Deed::Hire { .. } => fleet.people.push(Colleague { id: PersonId(made), version: 1 }),
        Deed::ErasePerson { person, .. } => fleet.people.retain(|one| one.id != *person),
        Deed::ChangePerson { person, version, .. } => {
            fleet.people.iter_mut().filter(|one| one.id == *person).for_each(|one| one.version = version + 1);
        }
        Deed::MoveZone { version, .. } => fleet.depot.1 = version + 1,
        Deed::ReviseRules { version, .. } => fleet.rulebook.1 = version + 1,
        Deed::House(house) => house.learn(fleet, made),
        Deed::Fitting(fitting) => fitting.learn(fleet, made),
        of_vehicle => learn_of_vehicle(fleet, of_vehicle, made),
    }
}

/// The vehicle whose record a deed changes.
pub fn vehicle_of(deed: &Deed) -> Option<VehicleId> {
    match deed {
        Deed::Retire { vehicle, .. }
        | Deed::Read { vehicle, .. }
        | Deed::Serve { vehicle, .. }
        | Deed::UndoService { vehicle, .. }
        | Deed::Paper { vehicle, .. }
        | Deed::UndoPaper { vehicle, .. }
        | Deed::Cover { vehicle, .. }
        | Deed::UndoCover { vehicle, .. }
        | Deed::GoIn { vehicle, .. }
        | Deed::ComeOut { vehicle, .. }
        | Deed::UndoStay { vehicle, .. }
        | Deed::Override { vehicle, .. }
        | Deed::UndoOverride { vehicle, .. } => Some(*vehicle),
        _ => None,
    }
}

fn learn_of_vehicle(fleet: &mut Fleet, deed: &Deed, made: Uuid) {
    let Some(van) = vehicle_of(deed).and_then(|vehicle| fleet.van(vehicle)) else { return };
    match deed {
        Deed::Retire { .. } => van.is_retired = true,
        Deed::Read { .. } => van.readings.push(ReadingId(made)),
        Deed::Serve { rule, on, .. } => van.services.push((ServiceId(made), rule.clone(), *on)),
        Deed::UndoService { service, .. } => van.services.retain(|(id, _, _)| id != service),
        Deed::Paper { .. } => van.papers.push(PaperId(made)),
        Deed::UndoPaper { paper, .. } => van.papers.retain(|id| id != paper),
        Deed::Cover { .. } => van.windows.push(WindowId(made)),
        Deed::UndoCover { window, .. } => van.windows.retain(|id| id != window),
        Deed::GoIn { .. } => van.stay = Some(StayId(made)),
        Deed::ComeOut { stay, .. } => {
            van.stay = None;
            van.past_stays.push(*stay);
        }
        Deed::UndoStay { stay, .. } => {
            van.past_stays.retain(|id| id != stay);
            van.stay = van.stay.filter(|id| id != stay);
        }
        Deed::Override { .. } => van.overrides.push(OverrideId(made)),
        Deed::UndoOverride { exception, .. } => van.overrides.retain(|id| id != exception),
        _ => {}
    }
}

fn van(id: VehicleId, label: &str, since: (DateTime<Utc>, f64), daily: f64) -> Van {
    Van {
        id,
        label: label.to_owned(),
        version: 1,
        since,
        daily,
        is_retired: false,
        readings: Vec::new(),
        services: Vec::new(),
        papers: Vec::new(),
        windows: Vec::new(),
        overrides: Vec::new(),
        stay: None,
        past_stays: Vec::new(),
        findings: Vec::new(),
        notices: Vec::new(),
    }
}
