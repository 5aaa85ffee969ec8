//! Facts about vehicles, whole: what the store keeps of each, and what its components went through on others.
//!
//! How far another vehicle was driven is told by its log as judged. The store judges nothing, so it says only whose logs
//! those are; they are loaded in one set and asked through the engine.

use crate::error::ActError;
use crate::horizons::View;
use chrono::{DateTime, Utc};
use model::{
    ComponentHistory, ComponentId, Facts, FleetId, Policy, SpellElsewhere, Vehicle, VehicleId, local_day,
};
use std::collections::{BTreeMap, BTreeSet};
use store::elsewhere::Shared;
use store::{AsKnown, Conn};

/// What is known about these vehicles, in order of their ids; those that are not of this fleet are missing.
pub(crate) async fn load(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicles: &[VehicleId],
    policy: &Policy,
) -> Result<Vec<Facts>, ActError> {
    seen(conn, fleet, vehicles, policy, View::default()).await
}

/// The same seen from another time; vehicles that were not on record then are missing.
pub(crate) async fn seen(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicles: &[VehicleId],
    policy: &Policy,
    view: View,
) -> Result<Vec<Facts>, ActError> {
    let mut facts = own(conn, fleet, vehicles, view).await?;
    let shared = store::elsewhere::of_vehicles(conn, fleet, vehicles, view.known()).await?;
    if shared.is_empty() {
        return Ok(facts);
    }
    let is_loaded = |id: &VehicleId| facts.iter().any(|facts| facts.vehicle.id == *id);
    let others: BTreeSet<VehicleId> = shared.iter().map(|one| one.elsewhere).collect();
    let others: Vec<VehicleId> = others.into_iter().filter(|id| !is_loaded(id)).collect();
    let others = own(conn, fleet, &others, view).await?;
    let told = told(facts.iter().chain(&others), policy, &shared);
    for facts in &mut facts {
        facts.elsewhere = elsewhere(facts, &told, &shared);
    }
    Ok(facts)
}

/// What the store keeps of each vehicle, without what its components went through on others.
pub(crate) async fn own(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicles: &[VehicleId],
    view: View,
) -> Result<Vec<Facts>, ActError> {
    let mut all = store::facts::load_as_known(conn, fleet, vehicles, view.known()).await?;
    if let Some(as_of) = view.as_of {
        for facts in &mut all {
            move_to_depot_of(conn, &mut facts.vehicle, as_of, view.known()).await?;
            *facts = facts.as_of(as_of);
        }
    }
    Ok(all)
}

/// Gives the vehicle the zone and law of the depot it stood at then, where that is not the one of its newest attributes.
async fn move_to_depot_of(
    conn: &mut Conn<'_>,
    vehicle: &mut Vehicle,
    as_of: DateTime<Utc>,
    known: AsKnown,
) -> Result<(), ActError> {
    let then = vehicle.attributes_on(local_day(as_of, vehicle.zone)).map(|version| version.depot);
    let Some(depot) = then.filter(|depot| vehicle.attributes_now().is_some_and(|now| now.depot != *depot))
    else {
        return Ok(());
    };
    if let Some(depot) = store::depots::find_as_known(conn, vehicle.fleet, depot, known).await? {
        vehicle.stand_at(&depot);
    }
    Ok(())
}

/// What components went through, by the vehicle that tells it and the component.
pub(crate) type Told = BTreeMap<(VehicleId, ComponentId), Vec<SpellElsewhere>>;

/// What the vehicles called elsewhere tell of the components they shared.
fn told<'a>(facts: impl Iterator<Item = &'a Facts>, policy: &Policy, shared: &[Shared]) -> Told {
    let mut asked: BTreeMap<VehicleId, BTreeSet<ComponentId>> = BTreeMap::new();
    for one in shared {
        asked.entry(one.elsewhere).or_default().insert(one.component);
    }
    let mut told = Told::new();
    for facts in facts {
        let vehicle = facts.vehicle.id;
        let Some(components) = asked.get(&vehicle) else { continue };
        let histories = engine::component_histories(facts, policy, components);
        told.extend(histories.into_iter().map(|history| ((vehicle, history.component), history.spells)));
    }
    told
}

/// The same, where their facts are not at hand.
pub(crate) async fn told_by(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    policy: &Policy,
    shared: &[Shared],
) -> Result<Told, ActError> {
    let tellers: BTreeSet<VehicleId> = shared.iter().map(|one| one.elsewhere).collect();
    let tellers: Vec<VehicleId> = tellers.into_iter().collect();
    let facts = own(conn, fleet, &tellers, View::default()).await?;
    Ok(told(facts.iter(), policy, shared))
}

/// What is told of the components that are or were fitted here, by the time the facts are seen from.
fn elsewhere(facts: &Facts, told: &Told, shared: &[Shared]) -> Vec<ComponentHistory> {
    let mut spells: BTreeMap<ComponentId, Vec<SpellElsewhere>> = BTreeMap::new();
    let is_fitted = |id: ComponentId| facts.components.iter().any(|component| component.id == id);
    let mine = shared.iter().filter(|one| one.vehicle == facts.vehicle.id && is_fitted(one.component));
    for one in mine {
        let there = told.get(&(one.elsewhere, one.component));
        spells.entry(one.component).or_default().extend(there.into_iter().flatten().cloned());
    }
    spells.retain(|_, spells| !spells.is_empty());
    for spells in spells.values_mut() {
        spells.sort_by_key(|spell| (spell.from, spell.fitting));
    }
    spells.into_iter().map(|(component, spells)| ComponentHistory { component, spells }).collect()
}
