//! Work done on a vehicle.

use super::{there, vehicle_of};
use crate::http::answer::Answer;
use crate::http::call::{Call, Outcome};
use crate::http::deed::FACT;
use crate::http::operation::Operation;
use clerk::services::{self, NewService, PartWarranty};
use contract::{NewServiceRecord, RecordedService, ServiceRecord, Whole};
use model::horizon::DueItem;
use model::{LastDay, Part, Scope, VehicleId};
use store::derived::ItemFilter;
use store::{Conn, StoreError};

const RECORDS: &str = "/vehicles/{vehicle}/service-records";
const RECORD: &str = "/vehicles/{vehicle}/service-records/{service_record}";

pub fn operations() -> Vec<Operation> {
    vec![
        Operation::list::<ServiceRecord>(Scope::Read, "list_service_records", RECORDS)
            .says("List service records", "Work done on the vehicle, in order of the day.")
            .does(list),
        Operation::create::<NewServiceRecord, RecordedService>(Scope::Manage, "record_service", RECORDS)
            .says(
                "Record a service",
                "The rules it names begin anew from it; its odometer goes into the meter log. What the work asks for, such as \
                 wheel fasteners tightened again, comes with the answer and is told to technician and driver. A warranty that comes \
                 with a part opens a coverage window on that component, from that day and odometer.",
            )
            .does(record),
        Operation::get::<ServiceRecord>(Scope::Read, "read_service_record", RECORD)
            .says("Read a service record", "One record of work done.")
            .does(read),
        Operation::withdraw(Scope::Manage, "withdraw_service_record", &format!("{RECORD}:withdraw"))
            .says(
                "Withdraw a service record",
                "It no longer counts, nor does its odometer, nor do the coverage windows it opened; all stay on record.",
            )
            .does(withdraw),
    ]
}

async fn list(call: Call) -> Outcome {
    let paging = call.paging().await?;
    let mut reading = call.reading().await?;
    let vehicle = vehicle_of(&call, &mut reading.conn()).await?.id;
    let (fleet, after, limit) = (call.fleet(), paging.after(), paging.fetch());
    let rows = store::services::page(&mut reading.conn(), fleet, vehicle, after, limit).await?;
    paging.answer(rows, |row| (row.done_on, row.id.0), ServiceRecord::from)
}

/// The vehicle's due items, which tell what work asks for.
async fn items_of(call: &Call, conn: &mut Conn<'_>, vehicle: VehicleId) -> Result<Vec<DueItem>, StoreError> {
    let filter = ItemFilter { vehicle: Some(vehicle), ..ItemFilter::default() };
    let rows =
        store::derived::due_items(conn, call.fleet(), &filter, call.now(), None, i64::from(u16::MAX)).await?;
    Ok(rows.into_iter().map(|row| row.item).collect())
}

async fn record(call: Call) -> Outcome {
    let vehicle: VehicleId = call.id("vehicle")?;
    let new = entered(call.written()?);
    let mut deed = call.begin().await?;
    let service = services::record(&mut deed.act, vehicle, new).await?;
    deed.act.renew().await?;
    let unit = vehicle_of(&call, &mut deed.act.conn()).await?.odometer_unit;
    let items = items_of(&call, &mut deed.act.conn(), vehicle).await?;
    let windows = store::coverage::opened_by(&mut deed.act.conn(), call.fleet(), vehicle, service.id).await?;
    let place = call.place(format!("vehicles/{vehicle}/service-records/{}", service.id));
    deed.recorded(place, &RecordedService::of(service, &items, windows, unit)).await
}

fn entered(new: NewServiceRecord) -> NewService {
    let part = |part: contract::NewPart| Part {
        name: part.name.0,
        number: part.number.map(|number| number.0),
        quantity: part.quantity.map_or(1.0, |quantity| quantity.0),
    };
    let warranty = |(index, part): (usize, &contract::NewPart)| {
        let warranty = part.warranty.clone()?;
        Some(PartWarranty {
            part: index,
            component: warranty.component,
            months: warranty.months.map(Whole::unsigned),
            distance: warranty.distance.map(|distance| distance.0),
            last_day: warranty.last_day.unwrap_or(LastDay::DayBefore),
        })
    };
    let warranties = new.parts.0.iter().enumerate().filter_map(warranty).collect();
    let (cost_minor, currency) = new.cost.map(|cost| (cost.minor.0, cost.currency.0)).unzip();
    NewService {
        done_on: new.done_on,
        odometer: new.odometer.0,
        rules: new.rules.0,
        workshop: new.workshop,
        parts: new.parts.0.into_iter().map(part).collect(),
        cost_minor,
        currency,
        evidence: new.evidence.map(|line| line.0),
        note: new.note.map(|text| text.0),
        warranties,
    }
}

async fn read(call: Call) -> Outcome {
    let (vehicle, id) = (call.id("vehicle")?, call.id("service_record")?);
    let mut reading = call.reading().await?;
    let found = there(store::services::find(&mut reading.conn(), call.fleet(), vehicle, id).await?)?;
    Ok(Answer::versioned(FACT, &ServiceRecord::from(found))?)
}

async fn withdraw(call: Call) -> Outcome {
    let (vehicle, id) = (call.id("vehicle")?, call.id("service_record")?);
    let mut deed = call.begin().await?;
    services::withdraw(&mut deed.act, vehicle, id).await?;
    call.version_of_fact()?;
    deed.ended().await
}
