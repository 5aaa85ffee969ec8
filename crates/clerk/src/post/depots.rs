//! At which depots the vehicles of a letter stand, by name.

use super::gathering::VehicleCard;
use crate::error::ActError;
use model::{DepotId, FleetId, VehicleId};
use std::collections::BTreeMap;
use std::collections::btree_map::Entry;
use store::Conn;

/// The depots of vehicles; nothing is looked up for a letter that does not go by depots.
#[derive(Debug, Clone, Default)]
pub struct Depots(BTreeMap<VehicleId, (String, DepotId)>);

impl Depots {
    pub(super) async fn of(
        conn: &mut Conn<'_>,
        fleet: FleetId,
        vehicles: impl Iterator<Item = &VehicleCard>,
    ) -> Result<Self, ActError> {
        let mut names: BTreeMap<DepotId, String> = BTreeMap::new();
        let mut depots = BTreeMap::new();
        for vehicle in vehicles {
            let Some(depot) = vehicle.depot else { continue };
            let name = match names.entry(depot) {
                Entry::Occupied(known) => known.into_mut(),
                Entry::Vacant(unknown) => {
                    let found = store::depots::find(conn, fleet, depot).await?;
                    unknown.insert(found.map(|depot| depot.name).unwrap_or_default())
                }
            };
            depots.insert(vehicle.id, (name.clone(), depot));
        }
        Ok(Self(depots))
    }

    /// Where a vehicle stands: the depot's name, and its id, which tells apart two of one name.
    pub fn of_vehicle(&self, vehicle: VehicleId) -> Option<(&str, DepotId)> {
        self.0.get(&vehicle).map(|(name, depot)| (name.as_str(), *depot))
    }
}
