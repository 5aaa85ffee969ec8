//! What a notice is about, as it stands now: a due item or a coverage window.

use crate::parse::InRow;
use crate::{Conn, StoreError};
use chrono::{DateTime, Utc};
use model::horizon::{DueItem, WindowOutlook};
use model::{DepotId, FleetId, VehicleId};
use uuid::Uuid;

statements! {
    ITEM = {
        "SELECT depot_id, body FROM due_item WHERE fleet_id = $1 AND vehicle_id = $2 AND item_key = $3"
    }
    WINDOW = {
        "SELECT o.depot_id, o.body, o.ended_at, w.recorded_at FROM window_outlook AS o"
        "JOIN coverage_window AS w ON w.fleet_id = o.fleet_id AND w.id = o.window_id"
        "WHERE o.fleet_id = $1 AND o.vehicle_id = $2 AND o.window_id = $3"
    }
}

/// A due item or coverage window with the depot of its vehicle.
#[derive(Debug, Clone, PartialEq)]
pub struct Subject {
    /// Where the vehicle stands.
    pub depot: DepotId,
    /// As kept, JSON.
    pub body: String,
    /// What it is.
    pub kind: SubjectKind,
    late_record: bool,
}

/// One of the two things a notice can be about.
#[derive(Debug, Clone, PartialEq)]
pub enum SubjectKind {
    /// Something to do.
    Item(Box<DueItem>),
    /// A coverage window.
    Window(Box<WindowOutlook>),
}

impl Subject {
    /// Whether it is a window that was over before it was put on record: its end is no news.
    pub const fn ended_before_record(&self) -> bool {
        self.late_record
    }
}

#[derive(sqlx::FromRow)]
struct WindowRow {
    depot_id: Uuid,
    body: String,
    ended_at: Option<DateTime<Utc>>,
    recorded_at: DateTime<Utc>,
}

/// The due item or window of that key.
pub async fn subject(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    key: &str,
) -> Result<Option<Subject>, StoreError> {
    match key.strip_prefix("window:").and_then(|id| Uuid::parse_str(id).ok()) {
        Some(window) => window_subject(conn, fleet, vehicle, window).await,
        None => item_subject(conn, fleet, vehicle, key).await,
    }
}

async fn item_subject(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    key: &str,
) -> Result<Option<Subject>, StoreError> {
    let row = fetch!(fetch_optional, conn, (Uuid, String), ITEM, fleet.0, vehicle.0, key)?;
    let Some((depot, body)) = row else { return Ok(None) };
    let item: DueItem = InRow::new("due_item", vehicle).json("body", &body)?;
    let kind = SubjectKind::Item(Box::new(item));
    Ok(Some(Subject { depot: DepotId(depot), body, kind, late_record: false }))
}

async fn window_subject(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    window: Uuid,
) -> Result<Option<Subject>, StoreError> {
    let row = fetch!(fetch_optional, conn, WindowRow, WINDOW, fleet.0, vehicle.0, window)?;
    let Some(WindowRow { depot_id, body, ended_at, recorded_at }) = row else { return Ok(None) };
    let outlook: WindowOutlook = InRow::new("window_outlook", window).json("body", &body)?;
    let kind = SubjectKind::Window(Box::new(outlook));
    let late_record = ended_at.is_some_and(|end| end <= recorded_at);
    Ok(Some(Subject { depot: DepotId(depot_id), body, kind, late_record }))
}
