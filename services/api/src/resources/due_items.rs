//! What is due across the fleet, most urgent first.

use super::vehicles_of;
use crate::http::call::{Call, Outcome};
use crate::http::operation::Operation;
use chrono::NaiveTime;
use contract::{DueItem, DueItemsAsked};
use model::horizon::Stage;
use model::{Scope, VehicleId};
use quantity::Unit;
use std::collections::BTreeMap;
use store::derived::{DueItemRow, ItemFilter};

pub fn operations() -> Vec<Operation> {
    vec![
        Operation::list::<DueItem>(Scope::Read, "list_due_items", "/due-items")
            .says(
                "List due items across the fleet",
                "What forbids driving comes first, then what falls due first. Stages are read now.",
            )
            .filtered::<DueItemsAsked>()
            .does(list),
    ]
}

async fn list(call: Call) -> Outcome {
    let asked: DueItemsAsked = call.asked()?;
    let paging = call.paging().await?;
    let now = call.now();
    let filter = ItemFilter {
        stage: asked.stage.map(Stage::word),
        depot: asked.depot,
        vehicle: asked.vehicle,
        before: asked.before.map(|day| day.and_time(NaiveTime::MIN).and_utc()),
    };
    let mut reading = call.reading().await?;
    let (fleet, after, limit) = (call.fleet(), paging.after(), paging.fetch());
    let rows = store::derived::due_items(&mut reading.conn(), fleet, &filter, now, after, limit).await?;
    let vehicles = vehicles_of(&call, &mut reading.conn(), rows.iter().map(|row| row.vehicle)).await?;
    let units: BTreeMap<VehicleId, Unit> = vehicles.into_iter().map(|v| (v.id, v.odometer_unit)).collect();
    let told = |row: DueItemRow| {
        let unit = units.get(&row.vehicle).copied().unwrap_or(Unit::Kilometre);
        DueItem::of(&row.item, row.id, row.vehicle, unit, now)
    };
    paging.answer(rows, |row| (row.sort_at, row.id), told)
}
