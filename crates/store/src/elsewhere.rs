//! Which vehicles share the life of a component: it was fitted to one after the other.
//!
//! What a component went through on a vehicle is told by that vehicle's own facts; here is only told whose to ask.

use crate::{AsKnown, Conn, StoreError, id_list};
use model::{ComponentId, FleetId, VehicleId};
use uuid::Uuid;

statements! {
    /// Fittings that have not ended tell nothing yet: whoever has the component now knows of them itself.
    OF_VEHICLES = {
        "SELECT DISTINCT here.vehicle_id, here.component_id, there.vehicle_id AS elsewhere_id"
        "FROM fitting AS here JOIN fitting AS there ON there.fleet_id = here.fleet_id"
        "AND there.component_id = here.component_id AND there.vehicle_id <> here.vehicle_id"
        "JOIN fitting_end AS e ON e.fleet_id = there.fleet_id AND e.fitting_id = there.id AND e.recorded_at <= $3"
        "WHERE here.fleet_id = $1 AND here.vehicle_id IN" ids: "$2"
        "AND here.recorded_at <= $3 AND (here.withdrawn_at IS NULL OR here.withdrawn_at > $3)"
        "AND there.recorded_at <= $3 AND (there.withdrawn_at IS NULL OR there.withdrawn_at > $3)"
        "ORDER BY here.vehicle_id, here.component_id, there.vehicle_id"
    }
    /// The other way round, for those that have the component now.
    HEIRS = {
        "SELECT DISTINCT here.vehicle_id, here.component_id, there.vehicle_id AS elsewhere_id"
        "FROM fitting AS there JOIN fitting AS here ON here.fleet_id = there.fleet_id"
        "AND here.component_id = there.component_id AND here.vehicle_id <> there.vehicle_id"
        "LEFT JOIN fitting_end AS e ON e.fleet_id = here.fleet_id AND e.fitting_id = here.id"
        "WHERE there.fleet_id = $1 AND there.vehicle_id IN" ids: "$2"
        "AND there.withdrawn_at IS NULL AND here.withdrawn_at IS NULL AND e.to_day IS NULL"
        "ORDER BY here.vehicle_id, here.component_id, there.vehicle_id"
    }
    VEHICLES_OF = {
        "SELECT DISTINCT vehicle_id FROM fitting WHERE fleet_id = $1 AND component_id = $2 AND withdrawn_at IS NULL"
        "ORDER BY vehicle_id"
    }
}

/// A component that is or was fitted to a vehicle and was fitted to another, too.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Shared {
    /// The vehicle looked at.
    pub vehicle: VehicleId,
    /// The component.
    pub component: ComponentId,
    /// The other vehicle.
    pub elsewhere: VehicleId,
}

impl From<(Uuid, Uuid, Uuid)> for Shared {
    fn from((vehicle, component, elsewhere): (Uuid, Uuid, Uuid)) -> Self {
        Self {
            vehicle: VehicleId(vehicle),
            component: ComponentId(component),
            elsewhere: VehicleId(elsewhere),
        }
    }
}

/// The components that are or were fitted to these vehicles and have been taken out of others, as known then.
pub async fn of_vehicles(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicles: &[VehicleId],
    known: AsKnown,
) -> Result<Vec<Shared>, StoreError> {
    let list = id_list(vehicles.iter().map(|vehicle| vehicle.0));
    let rows = fetch!(fetch_all, conn, (Uuid, Uuid, Uuid), OF_VEHICLES, fleet.0, list, known.bound())?;
    Ok(rows.into_iter().map(Shared::from).collect())
}

/// The vehicles that have a component now which was on one of `vehicles` before: these are `elsewhere` in the answer.
pub async fn heirs(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicles: &[VehicleId],
) -> Result<Vec<Shared>, StoreError> {
    let list = id_list(vehicles.iter().map(|vehicle| vehicle.0));
    let rows = fetch!(fetch_all, conn, (Uuid, Uuid, Uuid), HEIRS, fleet.0, list)?;
    Ok(rows.into_iter().map(Shared::from).collect())
}

/// The vehicles that a component is or was fitted to, in order of ids.
pub async fn vehicles_of(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    component: ComponentId,
) -> Result<Vec<VehicleId>, StoreError> {
    let rows = fetch!(fetch_all, conn, (Uuid,), VEHICLES_OF, fleet.0, component.0)?;
    Ok(rows.into_iter().map(|(id,)| VehicleId(id)).collect())
}
