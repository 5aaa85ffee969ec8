//! Inspections with what was measured, and the batches they came in.

mod batches;
mod entries;
mod measurements;

pub use batches::{BatchRow, find as find_batch, insert as insert_batch};
pub use entries::{
    EntryRow, RejectedRow, by_ids as entries_by_ids, insert as insert_entries, insert_rejected, page_rejected,
};

use crate::acts::Stamp;
use crate::pages::behind;
use crate::parse::{InRow, json_text};
use crate::rows::each;
use crate::{AsKnown, Conn, Sql, StoreError, id_list, set_asides};
use chrono::{DateTime, Utc};
use model::{FleetId, Inspection, InspectionId, Measurement, ReadingId, VehicleId};
use uuid::Uuid;

statements! {
    INSERT = {
        "INSERT INTO inspection (fleet_id, id, vehicle_id, sheet_code, sheet_version, performed_at, sent_at,"
        "clock_offset_seconds, clock_corrected, clock_in_doubt, reading_id, note, unknown_members, recorded_at,"
        "recorded_by, source, act_id, supersedes)"
        "VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18)"
    }
    FIND = {
        "SELECT id, vehicle_id, sheet_code, sheet_version, performed_at, recorded_at, clock_in_doubt, reading_id, note,"
        "recorded_by FROM inspection WHERE fleet_id = $1 AND id = $2 AND withdrawn_at IS NULL"
    }
    PAGE = {
        "SELECT id, vehicle_id, sheet_code, sheet_version, performed_at, recorded_at, clock_in_doubt, reading_id, note,"
        "recorded_by FROM inspection"
        "WHERE fleet_id = $1 AND vehicle_id = $2 AND withdrawn_at IS NULL AND (performed_at, id) > ($3, $4)"
        "ORDER BY performed_at, id LIMIT $5"
    }
    OF_VEHICLES = {
        "SELECT id, vehicle_id, sheet_code, sheet_version, performed_at, recorded_at, clock_in_doubt, reading_id, note,"
        "recorded_by FROM inspection WHERE fleet_id = $1 AND vehicle_id IN" ids: "$2"
        "AND recorded_at <= $3 AND (withdrawn_at IS NULL OR withdrawn_at > $3)"
        "ORDER BY vehicle_id, performed_at, id"
    }
    WITHDRAW = {
        "UPDATE inspection SET withdrawn_at = $3 WHERE fleet_id = $1 AND id = $2 AND withdrawn_at IS NULL"
    }
}

/// The statements of this module and those below it.
pub(crate) const CATALOGUES: &[&[Sql]] =
    &[CATALOGUE, batches::CATALOGUE, entries::CATALOGUE, measurements::CATALOGUE];

/// An inspection to be kept, with how its phone's clock stood.
#[derive(Debug, Clone, PartialEq)]
pub struct InspectionRow {
    /// The vehicle.
    pub vehicle: VehicleId,
    /// The inspection with its measurements.
    pub inspection: Inspection,
    /// When it was done by the phone's clock.
    pub sent_at: DateTime<Utc>,
    /// How far that clock was behind, seconds.
    pub clock_offset_seconds: i64,
    /// Whether the time was shifted by that much.
    pub clock_corrected: bool,
    /// Members of the entry that nobody knows, by name.
    pub unknown_members: Vec<String>,
    /// The inspection it replaces.
    pub supersedes: Option<InspectionId>,
}

#[derive(sqlx::FromRow)]
struct Row {
    id: Uuid,
    vehicle_id: Uuid,
    sheet_code: String,
    sheet_version: i64,
    performed_at: DateTime<Utc>,
    recorded_at: DateTime<Utc>,
    clock_in_doubt: bool,
    reading_id: Option<Uuid>,
    note: Option<String>,
    recorded_by: Option<Uuid>,
}

/// An inspection, its vehicle, and who recorded it.
type Authored = (VehicleId, Inspection, Option<Uuid>);

/// Without its measurements, which lie in a table of their own.
impl TryFrom<Row> for Authored {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        let inspection = Inspection {
            id: InspectionId(row.id),
            sheet: InRow::new("inspection", row.id).code("sheet_code", &row.sheet_code)?,
            sheet_version: row.sheet_version,
            performed_at: row.performed_at,
            recorded_at: row.recorded_at,
            clock_in_doubt: row.clock_in_doubt,
            reading: row.reading_id.map(ReadingId),
            measurements: Vec::new(),
            note: row.note,
        };
        Ok((VehicleId(row.vehicle_id), inspection, row.recorded_by))
    }
}

/// Keeps many inspections in one statement, and their measurements in another; readings must be kept already.
pub async fn insert_many(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    rows: &[InspectionRow],
    stamp: &Stamp,
) -> Result<(), StoreError> {
    batch!(conn, INSERT, rows, |row| [
        fleet.0,
        row.inspection.id.0,
        row.vehicle.0,
        row.inspection.sheet.as_str(),
        row.inspection.sheet_version,
        row.inspection.performed_at,
        row.sent_at,
        row.clock_offset_seconds,
        row.clock_corrected,
        row.inspection.clock_in_doubt,
        row.inspection.reading.map(|reading| reading.0),
        row.inspection.note.as_deref(),
        unknown_members(row),
        stamp.recorded_at,
        stamp.recorded_by,
        &stamp.source,
        stamp.act.0,
        row.supersedes.map(|earlier| earlier.0),
    ])?;
    measurements::insert(conn, fleet, rows).await
}

fn unknown_members(row: &InspectionRow) -> Option<String> {
    (!row.unknown_members.is_empty()).then(|| json_text(&row.unknown_members))
}

/// The inspection of that id, unless withdrawn.
pub async fn find(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    id: InspectionId,
) -> Result<Option<Inspection>, StoreError> {
    let found = find_with_author(conn, fleet, id).await?;
    Ok(found.filter(|(of, _, _)| *of == vehicle).map(|(_, inspection, _)| inspection))
}

/// The same with its vehicle and who recorded it, whichever vehicle it is of.
pub async fn find_with_author(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    id: InspectionId,
) -> Result<Option<(VehicleId, Inspection, Option<Uuid>)>, StoreError> {
    let rows = fetch!(fetch_all, conn, Row, FIND, fleet.0, id.0)?;
    let mut found: Vec<Authored> = each(rows)?;
    measurements::add_to(conn, fleet, &mut found).await?;
    Ok(found.pop())
}

/// A vehicle's inspections behind `after`, by when they were performed.
pub async fn page(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    after: Option<(DateTime<Utc>, Uuid)>,
    limit: i64,
) -> Result<Vec<Inspection>, StoreError> {
    let (performed_at, id) = behind(after);
    let rows = fetch!(fetch_all, conn, Row, PAGE, fleet.0, vehicle.0, performed_at, id, limit)?;
    let mut found: Vec<Authored> = each(rows)?;
    measurements::add_to(conn, fleet, &mut found).await?;
    Ok(found.into_iter().map(|(_, inspection, _)| inspection).collect())
}

/// Keeps a measurement of an inspection that came on record later than it did, behind those that are there. `Unique` if
/// the spot was measured in it already.
pub async fn insert_measurement(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    inspection: InspectionId,
    measurement: &Measurement,
    stamp: &Stamp,
) -> Result<(), StoreError> {
    measurements::insert_later(conn, fleet, vehicle, inspection, measurement, stamp).await
}

/// Withdraws an inspection with what was measured in it and what of it is set aside; `false` if there is none or it is
/// withdrawn already.
pub async fn withdraw(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    id: InspectionId,
    at: DateTime<Utc>,
) -> Result<bool, StoreError> {
    set_asides::withdraw_of(conn, fleet, id, at).await?;
    Ok(execute!(conn, WITHDRAW, fleet.0, id.0, at)? == 1)
}

/// Inspections of the vehicles on a list that are not withdrawn.
pub(crate) async fn of_vehicles(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    list: &str,
    known: AsKnown,
) -> Result<Vec<(VehicleId, Inspection)>, StoreError> {
    let rows = fetch!(fetch_all, conn, Row, OF_VEHICLES, fleet.0, list, known.bound())?;
    let mut found: Vec<Authored> = each(rows)?;
    let measured = measurements::of_vehicles(conn, fleet, list, known).await?;
    measurements::sort_into(&mut found, measured);
    Ok(found.into_iter().map(|(vehicle, inspection, _)| (vehicle, inspection)).collect())
}

/// The ids of inspections as a list for [`measurements::of_inspections`].
fn list_of(inspections: &[Authored]) -> String {
    id_list(inspections.iter().map(|(_, inspection, _)| inspection.id.0))
}
