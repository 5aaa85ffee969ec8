//! What was found wrong, until it is closed.

use crate::acts::Stamp;
use crate::pages::behind;
use crate::parse::InRow;
use crate::rows::{each, one, one_fact};
use crate::{AsKnown, Conn, StoreError};
use chrono::{DateTime, Utc};
use model::{Finding, FindingId, FindingWeight, FleetId, InspectionId, Place, ServiceId, VehicleId};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

statements! {
    INSERT = {
        "INSERT INTO finding (fleet_id, id, vehicle_id, inspection_id, code, component, place, weight, note, found_at,"
        "recorded_at, recorded_by, source, act_id) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14)"
    }
    FIND = {
        "SELECT f.id, f.vehicle_id, f.inspection_id, f.code, f.component, f.place, f.weight, f.note, f.found_at,"
        "c.closed_at FROM finding AS f"
        "LEFT JOIN finding_closure AS c ON c.fleet_id = f.fleet_id AND c.finding_id = f.id"
        "LEFT JOIN inspection AS i ON i.fleet_id = f.fleet_id AND i.id = f.inspection_id"
        "WHERE f.fleet_id = $1 AND f.vehicle_id = $2 AND f.id = $3 AND f.withdrawn_at IS NULL AND i.withdrawn_at IS NULL"
    }
    FIND_ANYWHERE = {
        "SELECT f.id, f.vehicle_id, f.inspection_id, f.code, f.component, f.place, f.weight, f.note, f.found_at,"
        "c.closed_at FROM finding AS f"
        "LEFT JOIN finding_closure AS c ON c.fleet_id = f.fleet_id AND c.finding_id = f.id"
        "LEFT JOIN inspection AS i ON i.fleet_id = f.fleet_id AND i.id = f.inspection_id"
        "WHERE f.fleet_id = $1 AND f.id = $2 AND f.withdrawn_at IS NULL AND i.withdrawn_at IS NULL"
    }
    /// A finding goes with the inspection that reported it.
    PAGE = {
        "SELECT f.id, f.vehicle_id, f.inspection_id, f.code, f.component, f.place, f.weight, f.note, f.found_at,"
        "c.closed_at FROM finding AS f"
        "LEFT JOIN finding_closure AS c ON c.fleet_id = f.fleet_id AND c.finding_id = f.id"
        "LEFT JOIN inspection AS i ON i.fleet_id = f.fleet_id AND i.id = f.inspection_id"
        "WHERE f.fleet_id = $1 AND (f.vehicle_id = $2 OR $2 IS NULL) AND (c.closed_at IS NULL OR $3)"
        "AND f.withdrawn_at IS NULL AND i.withdrawn_at IS NULL AND (f.found_at, f.id) > ($4, $5)"
        "ORDER BY f.found_at, f.id LIMIT $6"
    }
    OF_VEHICLES = {
        "SELECT f.id, f.vehicle_id, f.inspection_id, f.code, f.component, f.place, f.weight, f.note, f.found_at,"
        "c.closed_at FROM finding AS f"
        "LEFT JOIN finding_closure AS c ON c.fleet_id = f.fleet_id AND c.finding_id = f.id AND c.recorded_at <= $3"
        "LEFT JOIN inspection AS i ON i.fleet_id = f.fleet_id AND i.id = f.inspection_id"
        "WHERE f.fleet_id = $1 AND f.vehicle_id IN" ids: "$2"
        "AND f.recorded_at <= $3 AND (f.withdrawn_at IS NULL OR f.withdrawn_at > $3)"
        "AND (i.withdrawn_at IS NULL OR i.withdrawn_at > $3)"
        "ORDER BY f.vehicle_id, f.found_at, f.id"
    }
    CLOSE = {
        "INSERT INTO finding_closure (fleet_id, finding_id, kind, reason, service_id, closed_at, recorded_at, recorded_by,"
        "source, act_id) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)"
        "ON CONFLICT (fleet_id, finding_id) DO NOTHING"
    }
    CLOSURE = {
        "SELECT finding_id, kind, reason, service_id, closed_at FROM finding_closure"
        "WHERE fleet_id = $1 AND finding_id = $2"
    }
}

/// How a finding was closed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ClosureKind {
    /// It was put right.
    Fixed,
    /// It was looked at and is nothing.
    Dismissed,
}

impl ClosureKind {
    /// The word for it, as in JSON and SQL.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Fixed => "fixed",
            Self::Dismissed => "dismissed",
        }
    }

    /// The variant with this word.
    pub fn from_word(word: &str) -> Option<Self> {
        [Self::Fixed, Self::Dismissed].into_iter().find(|kind| kind.word() == word)
    }
}

/// The end of a finding.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Closure {
    /// How.
    pub kind: ClosureKind,
    /// Why.
    pub reason: String,
    /// The service that put it right.
    pub service: Option<ServiceId>,
    /// When.
    pub closed_at: DateTime<Utc>,
}

#[derive(sqlx::FromRow)]
struct Row {
    id: Uuid,
    vehicle_id: Uuid,
    inspection_id: Option<Uuid>,
    code: String,
    component: Option<String>,
    place: String,
    weight: String,
    note: String,
    found_at: DateTime<Utc>,
    closed_at: Option<DateTime<Utc>>,
}

impl TryFrom<Row> for (VehicleId, Finding) {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        let at = InRow::new("finding", row.id);
        let finding = Finding {
            id: FindingId(row.id),
            inspection: row.inspection_id.map(InspectionId),
            code: at.code("code", &row.code)?,
            component: row.component.map(|component| at.code("component", &component)).transpose()?,
            place: at.word("place", &row.place, Place::from_word)?,
            weight: at.word("weight", &row.weight, FindingWeight::from_word)?,
            note: row.note,
            found_at: row.found_at,
            closed_at: row.closed_at,
        };
        Ok((VehicleId(row.vehicle_id), finding))
    }
}

#[derive(sqlx::FromRow)]
struct ClosureRow {
    finding_id: Uuid,
    kind: String,
    reason: String,
    service_id: Option<Uuid>,
    closed_at: DateTime<Utc>,
}

impl TryFrom<ClosureRow> for Closure {
    type Error = StoreError;

    fn try_from(row: ClosureRow) -> Result<Self, StoreError> {
        let at = InRow::new("finding_closure", row.finding_id);
        Ok(Self {
            kind: at.word("kind", &row.kind, ClosureKind::from_word)?,
            reason: row.reason,
            service: row.service_id.map(ServiceId),
            closed_at: row.closed_at,
        })
    }
}

/// Keeps findings in one statement. They are open: closing is a fact of its own.
pub async fn insert_many(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    findings: &[(VehicleId, Finding)],
    stamp: &Stamp,
) -> Result<(), StoreError> {
    batch!(conn, INSERT, findings, |(vehicle, finding)| [
        fleet.0,
        finding.id.0,
        vehicle.0,
        finding.inspection.map(|inspection| inspection.0),
        finding.code.as_str(),
        finding.component.as_ref().map(model::Code::as_str),
        finding.place.word(),
        finding.weight.word(),
        &finding.note,
        finding.found_at,
        stamp.recorded_at,
        stamp.recorded_by,
        &stamp.source,
        stamp.act.0,
    ])?;
    Ok(())
}

/// The finding of that id, open or closed, unless it was withdrawn with its inspection.
pub async fn find(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    id: FindingId,
) -> Result<Option<Finding>, StoreError> {
    one_fact(fetch!(fetch_optional, conn, Row, FIND, fleet.0, vehicle.0, id.0)?)
}

/// The finding of that id on whichever vehicle of the fleet, with that vehicle.
pub async fn find_with_vehicle(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    id: FindingId,
) -> Result<Option<(VehicleId, Finding)>, StoreError> {
    one(fetch!(fetch_optional, conn, Row, FIND_ANYWHERE, fleet.0, id.0)?)
}

/// Which findings a page shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Filter {
    /// Those of this vehicle; of all where none is named.
    pub vehicle: Option<VehicleId>,
    /// Closed ones too.
    pub with_closed: bool,
}

/// Findings of the fleet behind `after` with their vehicles, by when they were found.
pub async fn page(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    filter: Filter,
    after: Option<(DateTime<Utc>, Uuid)>,
    limit: i64,
) -> Result<Vec<(VehicleId, Finding)>, StoreError> {
    let (at, id) = behind(after);
    let vehicle = filter.vehicle.map(|vehicle| vehicle.0);
    each(fetch!(fetch_all, conn, Row, PAGE, fleet.0, vehicle, filter.with_closed, at, id, limit)?)
}

/// Closes a finding; `false` if it is closed already. `ForeignKey` if there is none.
pub async fn close(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    id: FindingId,
    closure: &Closure,
    stamp: &Stamp,
) -> Result<bool, StoreError> {
    let touched = execute!(
        conn,
        CLOSE,
        fleet.0,
        id.0,
        closure.kind.word(),
        &closure.reason,
        closure.service.map(|service| service.0),
        closure.closed_at,
        stamp.recorded_at,
        stamp.recorded_by,
        &stamp.source,
        stamp.act.0,
    )?;
    Ok(touched == 1)
}

/// How a finding was closed, if it was.
pub async fn closure(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    id: FindingId,
) -> Result<Option<Closure>, StoreError> {
    one(fetch!(fetch_optional, conn, ClosureRow, CLOSURE, fleet.0, id.0)?)
}

/// Findings of the vehicles on a list, open and closed, that are not withdrawn.
pub(crate) async fn of_vehicles(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    list: &str,
    known: AsKnown,
) -> Result<Vec<(VehicleId, Finding)>, StoreError> {
    each(fetch!(fetch_all, conn, Row, OF_VEHICLES, fleet.0, list, known.bound())?)
}
