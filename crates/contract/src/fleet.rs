//! A fleet, its depots and its workshops.

use crate::define::{answer, request};
use crate::list::{Change, Many};
use crate::moment::DayOfWeek;
use crate::number::Whole;
use crate::quantity::{Quantity, Temperature};
use crate::text::Line;
use ::quantity::Unit;
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
        /// The coldest its vehicles must stand without harm; null where nobody has said.
        design_low: Option<Quantity> = {"value": -25, "unit": "degC"},
        /// Its version; in quotes it is the `ETag`.
        version: i64,
    }
}

impl From<model::Depot> for Depot {
    fn from(depot: model::Depot) -> Self {
        let model::Depot { id, name, zone, jurisdiction, design_low, version } = depot;
        let design_low = design_low.map(|low| low.to(Unit::Celsius).into());
        Self { id, name, zone, jurisdiction, design_low, version }
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
        /// The coldest its vehicles must stand without harm; coolant is held to it.
        design_low: Option<Temperature>,
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
        /// The coldest its vehicles must stand without harm.
        design_low: Change<Option<Temperature>>,
    }
}

answer! {
    /// A workshop.
    Workshop {
        /// Its id.
        id: WorkshopId,
        /// Its name.
        name: String = "Quayside Motors",
        /// What it is.
        kind: WorkshopKind,
        /// Working days of notice it needs.
        lead_days: u32 = 5,
        /// Whether it does work that a warranty pays for.
        warranty_work: bool = true,
        /// Days of the week on which it works.
        working_weekdays: Vec<DayOfWeek>,
        /// Its version; in quotes it is the `ETag`.
        version: i64,
    }
}

impl From<model::Workshop> for Workshop {
    fn from(workshop: model::Workshop) -> Self {
        let model::Workshop { id, name, kind, lead_days, warranty_work, working_weekdays, version } =
            workshop;
        let working_weekdays = DayOfWeek::of(working_weekdays);
        Self { id, name, kind, lead_days, warranty_work, working_weekdays, version }
    }
}

request! {
    /// A workshop to be made.
    NewWorkshop {
        /// Its name.
        name: Line<120> = "Quayside Motors",
        /// What it is.
        kind: WorkshopKind,
        /// Working days of notice it needs.
        lead_days: Whole<0, 365> = 5,
        /// Whether it does work that a warranty pays for; a dealer does if not said.
        warranty_work: Option<bool> = true,
        /// Days of the week on which it works; Monday to Friday if none are said.
        working_weekdays: Option<Many<DayOfWeek, 1, 7>>,
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
        /// Whether it does work that a warranty pays for.
        warranty_work: Change<bool> = true,
        /// Days of the week on which it works.
        working_weekdays: Change<Many<DayOfWeek, 1, 7>>,
    }
}
