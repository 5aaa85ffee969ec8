//! The register of vehicles.

use crate::entered::read_odometer;
use crate::error::{ActError, Fault, none_of};
use crate::{Act, fits};
use chrono::NaiveDate;
use model::{
    Attributes, Depot, DepotId, Duty, Placard, Powertrain, RulebookId, Vehicle, VehicleId, Vin, Weekdays,
    local_day,
};
use quantity::{Dimension, Entered, Unit};

/// A vehicle to be entered.
#[derive(Debug, Clone)]
pub struct NewVehicle {
    /// Identification number as written.
    pub vin: Option<String>,
    /// Who made it.
    pub make: String,
    /// Which model.
    pub model: String,
    /// Model year.
    pub model_year: Option<i32>,
    /// What drives it.
    pub powertrain: Powertrain,
    /// Gross vehicle mass rating, kg.
    pub gross_mass_kg: Option<u32>,
    /// Free tags.
    pub tags: Vec<String>,
    /// First day in service.
    pub in_service_on: Option<NaiveDate>,
    /// Odometer on that day; zero where none is said.
    pub in_service_odometer: Option<Entered>,
    /// Whether it comes with a past that is not on record here.
    pub history_unknown: bool,
    /// First day in this fleet; the in-service day, or today.
    pub acquired_on: Option<NaiveDate>,
    /// What its odometer shows: km or mi.
    pub odometer_unit: Unit,
    /// Cold tyre pressures.
    pub placard: Placard,
    /// Where it stands.
    pub depot: DepotId,
    /// What it is used for.
    pub duty: Duty,
    /// Whether severe intervals apply; by duty where nothing is said.
    pub severe: Option<bool>,
    /// The fleet's own name for it.
    pub label: String,
    /// Registration plate.
    pub plate: Option<String>,
    /// Out of use.
    pub parked: bool,
    /// Days of the week on which it runs.
    pub operating_weekdays: Weekdays,
    /// The rulebook that applies.
    pub rulebook: Option<RulebookId>,
}

/// What to change about a vehicle. What changes its [`Attributes`] starts a new version of them.
#[derive(Debug, Clone, Default)]
pub struct VehicleChange {
    /// First day on which changed attributes are in force; today where none is said.
    pub from: Option<NaiveDate>,
    /// Where it stands.
    pub depot: Option<DepotId>,
    /// What it is used for.
    pub duty: Option<Duty>,
    /// Whether severe intervals apply.
    pub severe: Option<bool>,
    /// The fleet's own name for it.
    pub label: Option<String>,
    /// Registration plate.
    pub plate: Option<Option<String>>,
    /// Out of use.
    pub parked: Option<bool>,
    /// Days of the week on which it runs.
    pub operating_weekdays: Option<Weekdays>,
    /// The rulebook that applies.
    pub rulebook: Option<Option<RulebookId>>,
    /// Free tags.
    pub tags: Option<Vec<String>>,
    /// Cold tyre pressures.
    pub placard: Option<Placard>,
    /// Gross vehicle mass rating, kg.
    pub gross_mass_kg: Option<Option<u32>>,
    /// Model year.
    pub model_year: Option<Option<i32>>,
}

/// Enters a vehicle and computes its first horizon.
///
/// # Errors
/// All faults: VIN, depot or rulebook unknown, odometer; a conflict if VIN, label or plate are in use; storage errors.
pub async fn register(act: &mut Act, new: NewVehicle) -> Result<Vehicle, ActError> {
    act.take_turn_at_grounds().await?;
    let fleet = act.fleet();
    let mut faults = Vec::new();
    let depot = depot_or_fault(act, new.depot, &mut faults).await?;
    let vin = new.vin.as_deref().and_then(|text| read_vin(text, depot.as_ref(), &mut faults));
    let in_service_odometer = read_odometer(new.in_service_odometer, "/in_service_odometer", &mut faults);
    check_odometer_unit(new.odometer_unit, &mut faults);
    check_placard(new.placard, &mut faults);
    check_rulebook(act, new.rulebook, &mut faults).await?;
    none_of(faults)?;
    let depot = depot.ok_or(ActError::NotFound { kind: "depot" })?;
    let today = local_day(act.at(), depot.zone);
    let acquired_on = new.acquired_on.or(new.in_service_on).unwrap_or(today);
    let vin_text = vin.as_ref().map(ToString::to_string);
    let names = [vin_text.as_deref(), Some(new.label.as_str()), new.plate.as_deref()];
    check_free(act, names.into_iter().flatten(), None, today).await?;
    let attributes = Attributes {
        from: acquired_on,
        depot: depot.id,
        duty: new.duty,
        severe: new.severe.unwrap_or_else(|| new.duty.starts_severe()),
        label: new.label,
        plate: new.plate,
        parked: new.parked,
        operating_weekdays: new.operating_weekdays,
        rulebook: new.rulebook,
    };
    let vehicle = Vehicle {
        id: VehicleId(act.new_id()),
        fleet,
        vin,
        make: new.make,
        model: new.model,
        model_year: new.model_year,
        powertrain: new.powertrain,
        gross_mass_kg: new.gross_mass_kg,
        tags: new.tags,
        in_service_on: new.in_service_on,
        in_service_odometer,
        history_unknown: new.history_unknown,
        acquired_on,
        odometer_unit: new.odometer_unit,
        placard: new.placard,
        retired_on: None,
        attributes: vec![attributes],
        zone: depot.zone,
        jurisdiction: depot.jurisdiction,
        design_low: depot.design_low,
        version: 1,
    };
    let stamp = act.stamp();
    store::vehicles::insert(&mut act.conn(), fleet, &vehicle, &stamp).await?;
    store::states::insert(&mut act.conn(), fleet, vehicle.id).await?;
    fits::pin_newcomer(act, &vehicle).await?;
    act.touch(vehicle.id);
    act.note("vehicle", vehicle.id, "create", None, Some(&vehicle));
    Ok(vehicle)
}

/// Changes a vehicle that still has the version `expected`.
///
/// # Errors
/// [`ActError::NotFound`], [`ActError::Stale`], faults as for [`register`]; storage errors.
pub async fn change(
    act: &mut Act,
    id: VehicleId,
    expected: i64,
    change: VehicleChange,
) -> Result<Vehicle, ActError> {
    if change.rulebook.is_some() || change.depot.is_some() {
        act.take_turn_at_grounds().await?;
    }
    act.lock(&[id]).await?;
    let before = find(act, id).await?;
    if before.version != expected {
        return Err(ActError::Stale);
    }
    let mut faults = Vec::new();
    check_rulebook(act, change.rulebook.flatten(), &mut faults).await?;
    if let Some(placard) = change.placard {
        check_placard(placard, &mut faults);
    }
    let attributes = changed_attributes(act, &before, &change, &mut faults).await?;
    none_of(faults)?;
    let mut after = before.clone();
    after.version = expected + 1;
    after.tags = change.tags.unwrap_or(after.tags);
    after.placard = change.placard.unwrap_or(after.placard);
    after.gross_mass_kg = change.gross_mass_kg.unwrap_or(after.gross_mass_kg);
    after.model_year = change.model_year.unwrap_or(after.model_year);
    let (fleet, stamp) = (act.fleet(), act.stamp());
    if !store::vehicles::update(&mut act.conn(), fleet, &after, expected).await? {
        return Err(ActError::Stale);
    }
    if let Some(new) = attributes {
        store::vehicles::insert_attributes(&mut act.conn(), fleet, id, &new, &stamp).await?;
    }
    let after = find(act, id).await?;
    let cohort = |vehicle: &Vehicle| vehicle.attributes_now().map(|now| (now.depot, now.duty));
    if cohort(&before) != cohort(&after) {
        fits::pin_newcomer(act, &after).await?;
    }
    act.note("vehicle", id, "change", Some(&before), Some(&after));
    Ok(after)
}

/// The new version of the attributes, if `change` makes one.
async fn changed_attributes(
    act: &mut Act,
    before: &Vehicle,
    change: &VehicleChange,
    faults: &mut Vec<Fault>,
) -> Result<Option<Attributes>, ActError> {
    let today = local_day(act.at(), before.zone);
    let Some(old) = before.attributes_now().cloned() else { return Ok(None) };
    if let Some(depot) = change.depot {
        depot_or_fault(act, depot, faults).await?;
    }
    let label = change.label.as_deref().filter(|label| *label != old.label);
    let plate =
        change.plate.as_ref().and_then(Option::as_deref).filter(|plate| old.plate.as_deref() != Some(plate));
    check_free(act, label.into_iter().chain(plate), Some(before.id), today).await?;
    let from = change.from.unwrap_or(today).max(old.from);
    let new = Attributes {
        from,
        depot: change.depot.unwrap_or(old.depot),
        duty: change.duty.unwrap_or(old.duty),
        severe: change.severe.unwrap_or(old.severe),
        label: change.label.clone().unwrap_or_else(|| old.label.clone()),
        plate: change.plate.clone().unwrap_or_else(|| old.plate.clone()),
        parked: change.parked.unwrap_or(old.parked),
        operating_weekdays: change.operating_weekdays.unwrap_or(old.operating_weekdays),
        rulebook: change.rulebook.unwrap_or(old.rulebook),
    };
    let same = Attributes { from: old.from, ..new.clone() } == old;
    Ok((!same).then_some(new))
}

/// Retires a vehicle: its record stays, nothing more falls due.
///
/// # Errors
/// [`ActError::NotFound`], [`ActError::Stale`], a conflict if it is retired already; storage errors.
pub async fn retire(act: &mut Act, id: VehicleId, expected: i64, on: NaiveDate) -> Result<(), ActError> {
    act.lock(&[id]).await?;
    let before = find(act, id).await?;
    if before.version != expected {
        return Err(ActError::Stale);
    }
    if let Some(day) = before.retired_on {
        let detail = format!("the vehicle was retired on {day}");
        return Err(ActError::Conflict { code: "already-retired", detail });
    }
    let after = Vehicle { retired_on: Some(on), version: expected + 1, ..before.clone() };
    let fleet = act.fleet();
    if !store::vehicles::update(&mut act.conn(), fleet, &after, expected).await? {
        return Err(ActError::Stale);
    }
    act.note("vehicle", id, "retire", Some(&before), Some(&after));
    Ok(())
}

/// A vehicle of the fleet acted in.
pub(crate) async fn find(act: &mut Act, id: VehicleId) -> Result<Vehicle, ActError> {
    let fleet = act.fleet();
    store::vehicles::find(&mut act.conn(), fleet, id).await?.ok_or(ActError::NotFound { kind: "vehicle" })
}

async fn depot_or_fault(
    act: &mut Act,
    id: DepotId,
    faults: &mut Vec<Fault>,
) -> Result<Option<Depot>, ActError> {
    let fleet = act.fleet();
    let found = store::depots::find(&mut act.conn(), fleet, id).await?;
    if found.is_none() {
        faults.push(Fault::new("/depot", "unknown", format!("there is no depot {id}")));
    }
    Ok(found)
}

fn read_vin(text: &str, depot: Option<&Depot>, faults: &mut Vec<Fault>) -> Option<Vin> {
    let checked = Vin::parse(text).and_then(|vin| match depot {
        Some(depot) => vin.check(depot.jurisdiction).map(|()| vin),
        None => Ok(vin),
    });
    checked.map_err(|error| faults.push(Fault::vin("/vin", &error))).ok()
}

fn check_odometer_unit(unit: Unit, faults: &mut Vec<Fault>) {
    if unit.dimension() != Dimension::Distance {
        faults.push(Fault::new(
            "/odometer_unit",
            "unit",
            format!("{unit} is no unit of an odometer: km or mi"),
        ));
    }
}

fn check_placard(placard: Placard, faults: &mut Vec<Fault>) {
    for (pointer, entered) in [("/placard/front", placard.front), ("/placard/rear", placard.rear)] {
        let Some(entered) = entered else { continue };
        match entered.exact_as(Dimension::Pressure) {
            Ok(exact) if exact > 0 => {}
            Ok(_) => faults.push(Fault::new(pointer, "range", "a placard pressure is above zero")),
            Err(error) => faults.push(Fault::quantity(pointer, &error)),
        }
    }
}

async fn check_rulebook(
    act: &mut Act,
    id: Option<RulebookId>,
    faults: &mut Vec<Fault>,
) -> Result<(), ActError> {
    let Some(id) = id else { return Ok(()) };
    let fleet = act.fleet();
    if store::rulebooks::find(&mut act.conn(), fleet, id).await?.is_none() {
        faults.push(Fault::new("/rulebook", "unknown", format!("there is no rulebook {id}")));
    }
    Ok(())
}

/// Refuses a VIN, label or plate that another vehicle bears: a batch names vehicles by any of them.
async fn check_free(
    act: &mut Act,
    names: impl Iterator<Item = &str>,
    own: Option<VehicleId>,
    today: NaiveDate,
) -> Result<(), ActError> {
    let fleet = act.fleet();
    // Names hold from a day on, so that no unique index can guard them: of two who give the same name one waits here.
    store::turns::take(&mut act.conn(), &format!("names of {fleet}")).await?;
    for name in names {
        let bearers = store::vehicles::resolve(&mut act.conn(), fleet, name, today).await?;
        if bearers.iter().any(|id| Some(*id) != own) {
            let detail = format!("another vehicle of this fleet bears {name}");
            return Err(ActError::Conflict { code: "name-in-use", detail });
        }
    }
    Ok(())
}
