//! A fleet, its depots and its workshops.

use crate::define::{answer, request};
use crate::list::Change;
use crate::number::Whole;
use crate::text::Line;
use chrono_tz::Tz;
use model::{DepotId, FleetId, Jurisdiction, WorkshopId, WorkshopKind};

answer! {
    /// A fleet: the owner of everything else.
    Fleet {
        /// Its id.
        id: FleetId,
        /// Its name.
        name: String = "Harbour Couriers",
        /// How many acts have changed it so far.
        sequence: i64 = 1204,
    }
}

impl From<model::Fleet> for Fleet {
    fn from(fleet: model::Fleet) -> Self {
        Self { id: fleet.id, name: fleet.name, sequence: fleet.sequence }
    }
}

answer! {
    /// A depot: where vehicles stand, in one time zone and under one law.
    Depot {
        /// Its id.
        id: DepotId,
        /// Its name.
        name: String = "North yard",
        /// Its time zone; civil dates of its vehicles are read in it.
        zone: Tz,
        /// Whose law applies to its vehicles.
        jurisdiction: Jurisdiction,
        /// Its version; in quotes it is the `ETag`.
        version: i64,
    }
}

impl From<model::Depot> for Depot {
    fn from(depot: model::Depot) -> Self {
        let model::Depot { id, name, zone, jurisdiction, version } = depot;
        Self { id, name, zone, jurisdiction, version }
    }
}

request! {
    /// A depot to be made.
    NewDepot {
        /// Its name.
        name: Line<120>,
        /// Its time zone; civil dates of its vehicles are read in it.
        zone: Tz,
        /// Whose law applies to its vehicles.
        jurisdiction: Jurisdiction,
    }
}

request! {
    /// A change to a depot; what is left out stays.
    DepotChange {
        /// Its name.
        name: Change<Line<120>>,
        /// Its time zone. The dates of all its vehicles are computed anew.
        zone: Change<Tz>,
        /// Whose law applies to its vehicles.
        jurisdiction: Change<Jurisdiction>,
    }
}

answer! {
    /// A workshop.
    Workshop {
        /// Its id.
        id: WorkshopId,
        /// Its name.
        name: String = "Quayside Motors",
        /// What it is. A dealer can make warranty good.
        kind: WorkshopKind,
        /// Working days of notice it needs.
        lead_days: u32 = 5,
        /// Its version; in quotes it is the `ETag`.
        version: i64,
    }
}

impl From<model::Workshop> for Workshop {
    fn from(workshop: model::Workshop) -> Self {
        let model::Workshop { id, name, kind, lead_days, version, .. } = workshop;
        Self { id, name, kind, lead_days, version }
    }
}

request! {
    /// A workshop to be made.
    NewWorkshop {
        /// Its name.
        name: Line<120> = "Quayside Motors",
        /// What it is. A dealer can make warranty good.
        kind: WorkshopKind,
        /// Working days of notice it needs.
        lead_days: Whole<0, 365> = 5,
    }
}

request! {
    /// A change to a workshop; what is left out stays.
    WorkshopChange {
        /// Its name.
        name: Change<Line<120>> = "Quayside Motors",
        /// What it is.
        kind: Change<WorkshopKind>,
        /// Working days of notice it needs.
        lead_days: Change<Whole<0, 365>> = 7,
    }
}
