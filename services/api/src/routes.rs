//! The table of all operations.

use crate::http::operation::{Operation, group};
use crate::resources::{
    access_keys, achieved_lives, baseline_answers, check_sheets, components, coverage_windows, depots,
    due_items, findings, fittings, fleets, held_entries, held_measurements, horizons, hour_readings,
    indicator_readings, inspection_batches, inspections, jobs, letters, measurements, meter_replacements,
    notices, odometer_readings, papers, people, policies, rejected_entries, replicas, rule_overrides,
    rulebooks, service_records, stays, vehicles, workshops,
};

/// Every operation of the interface.
pub fn operations() -> impl Iterator<Item = Operation> {
    let places = [
        fleets::operations(),
        policies::operations(),
        depots::operations(),
        workshops::operations(),
        people::operations(),
        access_keys::operations(),
    ];
    let vehicles = [
        vehicles::operations(),
        odometer_readings::operations(),
        meter_replacements::operations(),
        hour_readings::operations(),
        indicator_readings::operations(),
        stays::operations(),
        service_records::operations(),
        papers::operations(),
        coverage_windows::operations(),
    ];
    let rules = [rulebooks::operations(), rule_overrides::operations(), baseline_answers::operations()];
    let inspections = [
        check_sheets::operations(),
        inspection_batches::operations(),
        inspections::operations(),
        measurements::operations(),
        findings::operations(),
        held_measurements::operations(),
        rejected_entries::operations(),
    ];
    let components = [components::operations(), fittings::operations(), achieved_lives::operations()];
    let coming = [
        horizons::operations(),
        due_items::operations(),
        coverage_windows::across_the_fleet(),
        held_entries::operations(),
    ];
    let told = [notices::operations(), letters::operations(), jobs::operations()];
    group("Places and people", places.into_iter().flatten().collect())
        .chain(group("Vehicles", vehicles.into_iter().flatten().collect()))
        .chain(group("Rules", rules.into_iter().flatten().collect()))
        .chain(group("Inspections", inspections.into_iter().flatten().collect()))
        .chain(group("Components", components.into_iter().flatten().collect()))
        .chain(group("What is coming", coming.into_iter().flatten().collect()))
        .chain(group("What was told", told.into_iter().flatten().collect()))
        .chain(group("Running programs", replicas::operations()))
}
