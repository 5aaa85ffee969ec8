//! Parameters of queries.

use crate::define::request;
use crate::number::Whole;
use crate::text::Line;
use chrono::{DateTime, NaiveDate, Utc};
use model::horizon::{Stage, WindowStage};
use model::{DepotId, VehicleId};

request! {
    /// Which page of a list.
    PageAsked {
        /// How many items at most; 50 if not said.
        limit: Option<Whole<1, 200>> = 50,
        /// Where the page begins: `next_cursor` of the page before. It fits this list with this filter only.
        cursor: Option<Line<512>> = "q83vEjRWeJCrze8SNFZ4kFsxXQ",
    }
}

request! {
    /// Which vehicles.
    VehiclesAsked {
        /// Those of this depot.
        depot: Option<DepotId>,
        /// Also those that left the fleet; no if not said.
        retired: Option<bool> = true,
    }
}

request! {
    /// Which due items.
    DueItemsAsked {
        /// Those that stand there now.
        stage: Option<Stage> = "due",
        /// Those of vehicles of this depot.
        depot: Option<DepotId>,
        /// Those of this vehicle.
        vehicle: Option<VehicleId>,
        /// Those that fall due before this day, read in UTC.
        before: Option<NaiveDate> = "2026-12-01",
    }
}

request! {
    /// Which coverage windows.
    WindowsAsked {
        /// Those that stand there now.
        stage: Option<WindowStage> = "ending",
        /// Those of vehicles of this depot.
        depot: Option<DepotId>,
    }
}

request! {
    /// Which findings.
    FindingsAsked {
        /// Those of this vehicle.
        vehicle: Option<VehicleId>,
        /// Also those fixed or dismissed; no if not said.
        closed: Option<bool> = true,
    }
}

request! {
    /// As it stands when.
    HorizonAsked {
        /// The instant at which stages are read; now if none is said.
        as_of: Option<DateTime<Utc>>,
    }
}

request! {
    /// Which version.
    VersionAsked {
        /// The version; the newest if none is said.
        version: Option<Whole<1, 1_000_000>> = 1,
    }
}
