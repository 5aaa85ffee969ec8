//! Parameters of queries.

use crate::define::request;
use crate::number::Whole;
use crate::quantity::OdometerUnit;
use crate::text::Line;
use chrono::{DateTime, NaiveDate, Utc};
use model::horizon::{Stage, WindowStage};
use model::{Code, DepotId, Position, VehicleId};

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
    /// Which achieved lives.
    AchievedLivesAsked {
        /// Those of this kind of component.
        kind: Option<Code> = "tyre",
        /// Those of this product.
        product: Option<Line<120>> = "Gripwell Van 205/65 R16",
        /// Those in this position.
        position: Option<Position>,
        /// In which unit distances are told; in kilometres if not said.
        unit: Option<OdometerUnit>,
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
    /// As it stands when, and as known when.
    HorizonAsked {
        /// What was true then: stages are read at this instant, and what happened later is left out. If none is said,
        /// stages are read now, from everything on record.
        as_of: Option<DateTime<Utc>>,
        /// What was known then: only what was on record by this instant counts, judged by today's program. Not in the
        /// future. If none is said, everything on record counts.
        known_at: Option<DateTime<Utc>>,
    }
}

request! {
    /// Which version.
    VersionAsked {
        /// The version; the newest if none is said.
        version: Option<Whole<1, 1_000_000>> = 1,
    }
}
