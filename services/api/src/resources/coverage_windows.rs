//! Coverage windows: their terms, vehicle by vehicle, and where they lead, across the fleet.

use super::{there, vehicle_of, vehicles_of};
use crate::http::answer::Answer;
use crate::http::call::{Call, Outcome};
use crate::http::deed::FACT;
use crate::http::operation::Operation;
use clerk::coverage;
use contract::{CoverageOutlook, CoverageWindow, NewCoverageWindow, WindowsAsked};
use model::horizon::WindowStage;
use model::{Scope, VehicleId};
use quantity::Unit;
use std::collections::BTreeMap;
use store::derived::{WindowFilter, WindowRow};

const WINDOWS: &str = "/vehicles/{vehicle}/coverage-windows";
const WINDOW: &str = "/vehicles/{vehicle}/coverage-windows/{coverage_window}";

pub fn operations() -> Vec<Operation> {
    vec![
        Operation::list::<CoverageWindow>(Scope::Read, "list_coverage_windows", WINDOWS)
            .says("List coverage windows", "Warranties and leases of the vehicle: their terms, as recorded.")
            .does(list),
        Operation::create::<NewCoverageWindow, CoverageWindow>(
            Scope::Manage,
            "open_coverage_window",
            WINDOWS,
        )
        .says("Open a coverage window", "A warranty or lease, with limits in time, distance or both.")
        .does(open),
        Operation::get::<CoverageWindow>(Scope::Read, "read_coverage_window", WINDOW)
            .says("Read a coverage window", "The terms of one warranty or lease.")
            .does(read),
        Operation::withdraw(Scope::Manage, "withdraw_coverage_window", &format!("{WINDOW}:withdraw"))
            .says("Withdraw a coverage window", "It no longer counts; it stays on record.")
            .does(withdraw),
    ]
}

pub fn across_the_fleet() -> Vec<Operation> {
    vec![
        Operation::list::<CoverageOutlook>(Scope::Read, "list_coverage_outlooks", "/coverage-windows")
            .says(
                "List coverage windows across the fleet",
                "Where each warranty and lease leads, the one that ends first on top, with the odometer limit beside the \
                 date. A forecast alone never says that one has ended.",
            )
            .filtered::<WindowsAsked>()
            .does(list_outlooks),
    ]
}

async fn list(call: Call) -> Outcome {
    let paging = call.paging().await?;
    let mut reading = call.reading().await?;
    let vehicle = vehicle_of(&call, &mut reading.conn()).await?.id;
    let rows =
        store::coverage::page(&mut reading.conn(), call.fleet(), vehicle, paging.after(), paging.fetch())
            .await?;
    paging.answer(rows, |row| row.id, CoverageWindow::from)
}

async fn open(call: Call) -> Outcome {
    let vehicle: VehicleId = call.id("vehicle")?;
    let terms = call.written::<NewCoverageWindow>()?.terms();
    let mut deed = call.begin().await?;
    let window = coverage::open(&mut deed.act, vehicle, terms).await?;
    let place = call.place(format!("vehicles/{vehicle}/coverage-windows/{}", window.id));
    deed.recorded(place, &CoverageWindow::from(window)).await
}

async fn read(call: Call) -> Outcome {
    let (vehicle, id) = (call.id("vehicle")?, call.id("coverage_window")?);
    let mut reading = call.reading().await?;
    let window = there(store::coverage::find(&mut reading.conn(), call.fleet(), vehicle, id).await?)?;
    Ok(Answer::versioned(FACT, &CoverageWindow::from(window))?)
}

async fn withdraw(call: Call) -> Outcome {
    let (vehicle, id) = (call.id("vehicle")?, call.id("coverage_window")?);
    let mut deed = call.begin().await?;
    coverage::withdraw(&mut deed.act, vehicle, id).await?;
    call.version_of_fact()?;
    deed.ended().await
}

async fn list_outlooks(call: Call) -> Outcome {
    let asked: WindowsAsked = call.asked()?;
    let paging = call.paging().await?;
    let now = call.now();
    let filter =
        WindowFilter { stage: asked.stage.map(WindowStage::word), depot: asked.depot, vehicle: None };
    let mut reading = call.reading().await?;
    let rows = store::derived::windows(
        &mut reading.conn(),
        call.fleet(),
        &filter,
        now,
        paging.after(),
        paging.fetch(),
    )
    .await?;
    let vehicles = vehicles_of(&call, &mut reading.conn(), rows.iter().map(|row| row.vehicle)).await?;
    let units: BTreeMap<VehicleId, Unit> = vehicles.into_iter().map(|v| (v.id, v.odometer_unit)).collect();
    let told = |row: WindowRow| {
        let unit = units.get(&row.vehicle).copied().unwrap_or(Unit::Kilometre);
        CoverageOutlook::of(&row.window, row.vehicle, unit, now)
    };
    paging.answer(rows, |row| (row.sort_on, row.window.window.0), told)
}
