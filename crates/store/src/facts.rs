//! Everything known about vehicles, loaded in sets: one query a table, sorted to its vehicles here.

use crate::{AsKnown, Conn, StoreError, id_list};
use crate::{
    answers, baselines, components, coverage, findings, fits, fittings, indicators, inspections, meters,
    overrides, papers, readings, replies, rulebooks, services, stays, vehicles, wear_rates, workshops,
};
use model::{
    CohortFit, Component, Facts, FitLevel, FleetId, MeterQuantity, PinnedFit, RuleVersion, RulebookId,
    Vehicle, VehicleId, WearRate,
};
use std::collections::{BTreeMap, BTreeSet};

/// The fit a vehicle is judged by until it is pinned to one of its cohort: 80 km a day, no source.
const SHIPPED: PinnedFit = PinnedFit {
    id: None,
    fit: CohortFit { a: 1.0, p: 6.0, q: 400.0, level: FitLevel::Shipped, vehicles: 0, kappa: None },
};

/// The same of an engine's running time: 4 h a day, no source.
pub const SHIPPED_RUNNING: PinnedFit = PinnedFit {
    id: None,
    fit: CohortFit { a: 1.0, p: 6.0, q: 20.0, level: FitLevel::Shipped, vehicles: 0, kappa: None },
};

/// Facts of one kind by the vehicle they are about.
struct Sorted<T>(BTreeMap<VehicleId, Vec<T>>);

impl<T> Sorted<T> {
    fn new(facts: Vec<(VehicleId, T)>) -> Self {
        let mut sorted: BTreeMap<VehicleId, Vec<T>> = BTreeMap::new();
        for (vehicle, fact) in facts {
            sorted.entry(vehicle).or_default().push(fact);
        }
        Self(sorted)
    }

    fn take(&mut self, vehicle: VehicleId) -> Vec<T> {
        self.0.remove(&vehicle).unwrap_or_default()
    }
}

/// The facts known about these vehicles, in order of their ids; what was withdrawn is left out, and so are vehicles
/// that are not of this fleet.
///
/// What components went through on other vehicles is left empty: how far these were driven is told by their logs as
/// judged, and judging is not the store's. [`crate::elsewhere`] says whose logs those are.
pub async fn load(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicles: &[VehicleId],
) -> Result<Vec<Facts>, StoreError> {
    load_as_known(conn, fleet, vehicles, AsKnown::NOW).await
}

/// The facts as they were known then: what was recorded by then and not yet withdrawn, rules and fits in the versions
/// that held. Vehicles that were not yet on record are missing.
pub async fn load_as_known(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicles: &[VehicleId],
    known: AsKnown,
) -> Result<Vec<Facts>, StoreError> {
    if vehicles.is_empty() {
        return Ok(Vec::new());
    }
    let list = &id_list(vehicles.iter().map(|vehicle| vehicle.0));
    let vehicles = vehicles::of_ids(conn, fleet, list, known).await?;
    let rules = rules(conn, fleet, &vehicles, known).await?;
    let mut readings = Sorted::new(readings::of_vehicles(conn, fleet, list, known).await?);
    let mut hours = Sorted::new(readings::hours::of_vehicles(conn, fleet, list, known).await?);
    let mut meters = Sorted::new(meters::of_vehicles(conn, fleet, list, known).await?);
    let mut indicators = Sorted::new(indicators::of_vehicles(conn, fleet, list, known).await?);
    let mut decisions = Sorted::new(readings::decisions_of_vehicles(conn, fleet, list, known).await?);
    let mut services = Sorted::new(services::of_vehicles(conn, fleet, list, known).await?);
    let mut stays = Sorted::new(stays::of_vehicles(conn, fleet, list, known).await?);
    let mut overrides = Sorted::new(overrides::of_vehicles(conn, fleet, list, known).await?);
    let mut baselines = Sorted::new(baselines::of_vehicles(conn, fleet, list, known).await?);
    let mut papers = Sorted::new(papers::of_vehicles(conn, fleet, list, known).await?);
    let mut windows = Sorted::new(coverage::of_vehicles(conn, fleet, list, known).await?);
    let mut inspections = Sorted::new(inspections::of_vehicles(conn, fleet, list, known).await?);
    let mut findings = Sorted::new(findings::of_vehicles(conn, fleet, list, known).await?);
    let mut components = Sorted::new(components::of_vehicles(conn, fleet, list, known).await?);
    let fitted = fittings::of_vehicles(conn, fleet, list, known).await?;
    let mut fittings = Sorted::new(fitted.into_iter().map(|fitting| (fitting.vehicle, fitting)).collect());
    let mut answers = Sorted::new(answers::of_vehicles(conn, fleet, list, known).await?);
    let mut acknowledgements = Sorted::new(replies::acknowledgements_of(conn, fleet, list, known).await?);
    let mut postponements = Sorted::new(replies::postponements_of(conn, fleet, list, known).await?);
    let mut fits = Sorted::new(fits::of_vehicles(conn, fleet, MeterQuantity::Distance, list, known).await?);
    let mut hour_fits = Sorted::new(fits::of_vehicles(conn, fleet, MeterQuantity::Hours, list, known).await?);
    let rates = wear_rates::newest(conn, fleet, known).await?;
    let workshops = workshops::all_as_known(conn, fleet, known).await?;
    let facts = vehicles.into_iter().map(|vehicle| {
        let id = vehicle.id;
        let components = components.take(id);
        Facts {
            readings: readings.take(id),
            hour_readings: hours.take(id),
            meter_replacements: meters.take(id),
            indicators: indicators.take(id),
            stays: stays.take(id),
            decisions: decisions.take(id),
            services: services.take(id),
            rules: rulebook_of(&vehicle).and_then(|book| rules.get(&book)).cloned().unwrap_or_default(),
            overrides: overrides.take(id),
            baselines: baselines.take(id),
            papers: papers.take(id),
            windows: windows.take(id),
            inspections: inspections.take(id),
            findings: findings.take(id),
            fittings: fittings.take(id),
            elsewhere: Vec::new(),
            wear_rates: rates_of(&components, &rates),
            components,
            answers: answers.take(id),
            acknowledgements: acknowledgements.take(id),
            postponements: postponements.take(id),
            workshops: workshops.clone(),
            usage: fits.take(id).pop().unwrap_or(SHIPPED),
            running: hour_fits.take(id).pop().unwrap_or(SHIPPED_RUNNING),
            vehicle,
        }
    });
    Ok(facts.collect())
}

/// The rates of the products that are or were fitted.
fn rates_of(components: &[Component], rates: &[WearRate]) -> Vec<WearRate> {
    let is_fitted = |rate: &&WearRate| {
        components.iter().any(|component| component.kind == rate.kind && component.product == rate.product)
    };
    rates.iter().filter(is_fitted).cloned().collect()
}

fn rulebook_of(vehicle: &Vehicle) -> Option<RulebookId> {
    vehicle.attributes_now().and_then(|attributes| attributes.rulebook)
}

/// The newest rules known then of every rulebook that one of the vehicles is under.
async fn rules(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicles: &[Vehicle],
    known: AsKnown,
) -> Result<BTreeMap<RulebookId, Vec<RuleVersion>>, StoreError> {
    let books: BTreeSet<RulebookId> = vehicles.iter().filter_map(rulebook_of).collect();
    rulebooks::newest_rules(conn, fleet, &id_list(books.into_iter().map(|book| book.0)), known).await
}
