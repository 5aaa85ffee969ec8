//! Renewing horizons: from facts in the store to derived rows in the store, in the caller's transaction.

use crate::error::ActError;
use crate::{audience, facts, off_road, retraction};
use chrono::{DateTime, Utc};
use model::horizon::{Cycle, Horizon, ItemKey, Mark};
use model::{Facts, FleetId, Policy, VehicleId};
use store::Conn;
use store::notices::NoticeKey;

/// What renewing came to.
pub(crate) struct Renewed {
    /// The horizons, in order of vehicles.
    pub(crate) horizons: Vec<Horizon>,
    /// Derived rows and waiting marks that had to change.
    pub(crate) written: u64,
}

/// Computes the horizons of `vehicles` from the facts in the store and writes what differs. `now` decides only which
/// waiting notices are still true.
pub(crate) async fn renew(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicles: &[VehicleId],
    now: DateTime<Utc>,
) -> Result<Renewed, ActError> {
    let policy = store::fleets::policy(conn, fleet).await?;
    let mut renewed = Renewed { horizons: Vec::with_capacity(vehicles.len()), written: 0 };
    for facts in facts::load(conn, fleet, vehicles, &policy).await? {
        let (horizon, written) = renew_one(conn, &facts, &policy, now).await?;
        renewed.horizons.push(horizon);
        renewed.written += written;
    }
    Ok(renewed)
}

async fn renew_one(
    conn: &mut Conn<'_>,
    facts: &Facts,
    policy: &Policy,
    now: DateTime<Utc>,
) -> Result<(Horizon, u64), ActError> {
    let (fleet, vehicle) = (facts.vehicle.fleet, facts.vehicle.id);
    let horizon = engine::horizon(facts, policy);
    let mut written = 0;
    if let Some(depot) = facts.vehicle.attributes_now().map(|a| a.depot) {
        written += store::derived::replace(conn, fleet, depot, &horizon).await?;
    }
    let marks = marks_of(&horizon);
    written += store::marks::sync(conn, fleet, vehicle, &marks).await?;
    withdraw_untrue(conn, fleet, vehicle, &marks, now).await?;
    off_road::hush(conn, facts, &horizon, now).await?;
    let wakes_at = store::marks::next_waiting(conn, fleet, vehicle).await?;
    store::states::set_done(conn, fleet, vehicle, engine::ENGINE_VERSION, wakes_at).await?;
    Ok((horizon, written))
}

/// Every mark of a horizon with the item it belongs to.
pub(crate) fn marks_of(horizon: &Horizon) -> Vec<(ItemKey, Cycle, Mark)> {
    let items = horizon.items.iter().map(|item| (&item.key, &item.cycle, &item.marks));
    let windows = horizon.windows.iter().map(|window| (&window.key, &window.cycle, &window.marks));
    items
        .chain(windows)
        .flat_map(|(key, cycle, marks)| marks.iter().map(|mark| (key.clone(), cycle.clone(), mark.clone())))
        .collect()
}

/// Takes back notices that no letter carries and that are not true at `now`.
async fn withdraw_untrue(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    marks: &[(ItemKey, Cycle, Mark)],
    now: DateTime<Utc>,
) -> Result<(), ActError> {
    let is_true = |key: &NoticeKey| {
        marks.iter().any(|(item, cycle, mark)| {
            item.0 == key.item_key
                && cycle.0 == key.cycle
                && mark.code == audience::standing_on(&key.mark)
                && mark.at <= now
        })
    };
    let mut untrue = store::notices::uncarried(conn, fleet, vehicle).await?;
    untrue.retain(|notice| !is_true(&notice.key));
    retraction::take_back(conn, fleet, &untrue, now).await
}
