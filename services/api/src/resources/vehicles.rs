//! The register of vehicles.

use super::{there, vehicle_of};
use crate::http::answer::Answer;
use crate::http::call::{Call, Outcome};
use crate::http::conditional::Tag;
use crate::http::operation::Operation;
use crate::http::refusal::Stop;
use clerk::vehicles::{self, NewVehicle as New, VehicleChange as Change};
use contract::{
    DayOfWeek, Line, Many, NewPlacard, NewVehicle, Retirement, Vehicle, VehicleChange, VehiclesAsked, Whole,
};
use model::{Placard, Scope, Weekdays};
use store::vehicles::Filter;

pub fn operations() -> Vec<Operation> {
    vec![
        Operation::list::<Vehicle>(Scope::Read, "list_vehicles", "/vehicles")
            .says("List vehicles", "Vehicles in the order in which they were registered.")
            .filtered::<VehiclesAsked>()
            .does(list),
        Operation::create::<NewVehicle, Vehicle>(Scope::Manage, "register_vehicle", "/vehicles")
            .says("Register a vehicle", "Its VIN is checked, and its label and plate must be free.")
            .does(register),
        Operation::get::<Vehicle>(Scope::Read, "read_vehicle", "/vehicles/{vehicle}")
            .says("Read a vehicle", "One vehicle as it stands now.")
            .does(read),
        Operation::change::<VehicleChange, Vehicle>(Scope::Manage, "change_vehicle", "/vehicles/{vehicle}")
            .says(
                "Change a vehicle",
                "Depot, duty, label, plate and the like change from a day on: what held before stays on record.",
            )
            .does(change),
        Operation::act::<Retirement, Vehicle>(Scope::Manage, "retire_vehicle", "/vehicles/{vehicle}:retire")
            .says("Retire a vehicle", "It leaves the fleet: nothing falls due any more, and its record stays.")
            .versioned()
            .does(retire),
    ]
}

fn told(vehicle: model::Vehicle) -> Result<Vehicle, Stop> {
    there(Vehicle::of(vehicle))
}

async fn list(call: Call) -> Outcome {
    let asked: VehiclesAsked = call.asked()?;
    let paging = call.paging().await?;
    let filter = Filter { depot: asked.depot, with_retired: asked.retired.unwrap_or(false) };
    let mut reading = call.reading().await?;
    let rows =
        store::vehicles::page(&mut reading.conn(), call.fleet(), filter, paging.after(), paging.fetch())
            .await?;
    let shown: Vec<Vehicle> = rows.into_iter().filter_map(Vehicle::of).collect();
    paging.answer(shown, |vehicle| vehicle.id, |vehicle| vehicle)
}

async fn register(call: Call) -> Outcome {
    let new = entered(call.written()?);
    let mut deed = call.begin().await?;
    let vehicle = vehicles::register(&mut deed.act, new).await?;
    let (place, tag) = (call.place(format!("vehicles/{}", vehicle.id)), Tag::version(vehicle.version));
    deed.made(place, tag, &told(vehicle)?).await
}

fn entered(new: NewVehicle) -> New {
    New {
        vin: new.vin.map(|vin| vin.to_string()),
        make: new.make.0,
        model: new.model.0,
        model_year: new.model_year.and_then(|year| i32::try_from(year.0).ok()),
        powertrain: new.powertrain,
        gross_mass_kg: new.gross_mass_kg.map(Whole::unsigned),
        tags: lines(new.tags),
        in_service_on: new.in_service_on,
        in_service_odometer: new.in_service_odometer.map(|distance| distance.0),
        history_unknown: new.history_unknown.unwrap_or(false),
        acquired_on: new.acquired_on,
        odometer_unit: new.odometer_unit.0,
        placard: new.placard.as_ref().map(placard).unwrap_or_default(),
        depot: new.depot,
        duty: new.duty,
        severe: new.severe,
        label: new.label.0,
        plate: new.plate.map(|plate| plate.0),
        parked: new.parked.unwrap_or(false),
        operating_weekdays: new.operating_weekdays.as_ref().map_or(Weekdays::ALL, weekdays),
        rulebook: new.rulebook,
    }
}

fn lines<const MOST: usize, const ITEMS: usize>(lines: Many<Line<MOST>, 0, ITEMS>) -> Vec<String> {
    lines.0.into_iter().map(|line| line.0).collect()
}

fn placard(given: &NewPlacard) -> Placard {
    Placard { front: given.front.map(|p| p.0), rear: given.rear.map(|p| p.0) }
}

/// A list of at least one day is never an empty set.
fn weekdays(days: &Many<DayOfWeek, 1, 7>) -> Weekdays {
    DayOfWeek::set(&days.0).unwrap_or(Weekdays::ALL)
}

async fn read(call: Call) -> Outcome {
    let mut reading = call.reading().await?;
    let vehicle = vehicle_of(&call, &mut reading.conn()).await?;
    Ok(Answer::versioned(vehicle.version, &told(vehicle)?)?)
}

async fn change(call: Call) -> Outcome {
    let change = wanted(call.written()?);
    let (id, version) = (call.id("vehicle")?, call.version()?);
    let mut deed = call.begin().await?;
    let vehicle = vehicles::change(&mut deed.act, id, version, change).await?;
    deed.changed(vehicle.version, &told(vehicle)?).await
}

fn wanted(change: VehicleChange) -> Change {
    Change {
        from: change.from,
        depot: change.depot.wanted(),
        duty: change.duty.wanted(),
        severe: change.severe.wanted(),
        label: change.label.map(|label| label.0),
        plate: change.plate.map(|plate| plate.map(|plate| plate.0)),
        parked: change.parked.wanted(),
        operating_weekdays: change.operating_weekdays.map(|days| weekdays(&days)),
        rulebook: change.rulebook.wanted(),
        tags: change.tags.map(lines),
        placard: change.placard.map(|given| placard(&given)),
        gross_mass_kg: change.gross_mass_kg.map(|mass| mass.map(Whole::unsigned)),
        model_year: change.model_year.map(|year| year.and_then(|year| i32::try_from(year.0).ok())),
    }
}

async fn retire(call: Call) -> Outcome {
    let Retirement { on } = call.written()?;
    let (id, version) = (call.id("vehicle")?, call.version()?);
    let mut deed = call.begin().await?;
    vehicles::retire(&mut deed.act, id, version, on).await?;
    let vehicle = there(store::vehicles::find(&mut deed.act.conn(), call.fleet(), id).await?)?;
    deed.changed(vehicle.version, &told(vehicle)?).await
}
