//! How long components last: what one has run and cost so far, and what the fleet's products achieve.
//!
//! Nothing is stored of it: it follows from fittings, ends, costs and the logs of the vehicles as judged, read at one moment.

use crate::error::ActError;
use crate::horizons::View;
use crate::{Clerk, facts};
use engine::{AchievedLife, FittedTime, PartLife};
use model::{Code, Component, ComponentId, FleetId, VehicleId};
use std::collections::{BTreeMap, BTreeSet};
use store::{Conn, Reach};

/// So many vehicles are read at once.
const SLICE: usize = 64;

/// The life of a component; none if there is no such one in the fleet.
///
/// # Errors
/// Storage errors.
pub async fn of(clerk: &Clerk, fleet: FleetId, id: ComponentId) -> Result<Option<PartLife>, ActError> {
    let mut tx = clerk.store().reader(Reach::Fleet(fleet)).await?;
    let conn = &mut tx.conn();
    let Some(component) = store::components::find(conn, fleet, id).await? else { return Ok(None) };
    Ok(parts(clerk, conn, fleet, vec![component]).await?.pop())
}

/// Which products are asked about; all where nothing is named.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Alike {
    /// Of this kind.
    pub kind: Option<Code>,
    /// Of this name.
    pub product: Option<String>,
}

/// What the fleet's products achieve, by kind, product and position.
///
/// # Errors
/// Storage errors.
pub async fn achieved(clerk: &Clerk, fleet: FleetId, alike: &Alike) -> Result<Vec<AchievedLife>, ActError> {
    let mut tx = clerk.store().reader(Reach::Fleet(fleet)).await?;
    let conn = &mut tx.conn();
    let (kind, product) = (alike.kind.as_ref(), alike.product.as_deref());
    let components = store::components::alike(conn, fleet, kind, product).await?;
    let parts = parts(clerk, conn, fleet, components).await?;
    Ok(engine::achieved_lives(&parts))
}

/// The lives of these components, in their order.
async fn parts(
    clerk: &Clerk,
    conn: &mut Conn<'_>,
    fleet: FleetId,
    components: Vec<Component>,
) -> Result<Vec<PartLife>, ActError> {
    let ids: Vec<ComponentId> = components.iter().map(|component| component.id).collect();
    let ends = store::component_ends::of_components(conn, fleet, &ids).await?;
    let ends: BTreeMap<_, _> = ends.into_iter().map(|end| (end.component, end.reason)).collect();
    let mut costs = store::component_costs::of_components(conn, fleet, &ids).await?;
    let mut times = times(clerk, conn, fleet, &ids).await?;
    let part = |component: Component| {
        let id = component.id;
        PartLife {
            component,
            end: ends.get(&id).copied(),
            cost: costs.remove(&id),
            times: times.remove(&id).unwrap_or_default(),
        }
    };
    Ok(components.into_iter().map(part).collect())
}

/// The times these components were fitted, on whatever vehicles, by day.
async fn times(
    clerk: &Clerk,
    conn: &mut Conn<'_>,
    fleet: FleetId,
    ids: &[ComponentId],
) -> Result<BTreeMap<ComponentId, Vec<FittedTime>>, ActError> {
    let fittings = store::fittings::of_components(conn, fleet, ids).await?;
    let vehicles: BTreeSet<VehicleId> = fittings.iter().map(|fitting| fitting.vehicle).collect();
    let vehicles: Vec<VehicleId> = vehicles.into_iter().collect();
    let (wanted, policy) = (ids.iter().copied().collect(), store::fleets::policy(conn, fleet).await?);
    let mut times: BTreeMap<ComponentId, Vec<FittedTime>> = BTreeMap::new();
    for slice in vehicles.chunks(SLICE) {
        for facts in facts::own(conn, fleet, slice, View::default()).await? {
            for time in engine::fitted_times(&facts, &policy, &wanted, clerk.now()) {
                times.entry(time.component).or_default().push(time);
            }
        }
    }
    for of_one in times.values_mut() {
        of_one.sort_by_key(|time| (time.from, time.fitting));
    }
    Ok(times)
}
