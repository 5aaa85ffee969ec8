//! Derived rows: what follows from a vehicle's facts, kept so that lists across the fleet need no computing.
//!
//! They can be thrown away and computed again to the same bytes. [`replace`] writes only what differs, so that an
//! unchanged horizon changes no row; [`compare`] says what differs and writes nothing.

mod differences;
mod hours;
mod lists;
mod rows;
mod subjects;

pub use differences::{Comparison, Difference};
pub use hours::hour_judgements;
pub use lists::{
    DueItemRow, HeldRow, ItemFilter, WindowFilter, WindowRow, due_items, grades, held, judgements, windows,
};
pub use subjects::{Subject, SubjectKind, subject};

use crate::parse::json_text;
use crate::{Conn, StoreError};
use differences::Changes;
use model::horizon::{DueItem, Horizon};
use model::{DepotId, FleetId, VehicleId, derived_id};
use rows::{GradeRow, ItemRow, JudgementRow, Rows, UsageRow};
use uuid::Uuid;

statements! {
    DROP_JUDGEMENTS = {
        "DELETE FROM judgement WHERE fleet_id = $1 AND vehicle_id = $2 AND reading_id IN" ids: "$3"
    }
    DROP_GRADES = {
        "DELETE FROM grade WHERE fleet_id = $1 AND vehicle_id = $2 AND point || '/' || place IN"
        sqlite: "(SELECT value FROM json_each($3))"
        postgres: "(SELECT json_array_elements_text($3::json))"
    }
    DROP_USAGE = { "DELETE FROM usage_outlook WHERE fleet_id = $1 AND vehicle_id = $2" }
    DROP_ITEMS = {
        "DELETE FROM due_item WHERE fleet_id = $1 AND vehicle_id = $2 AND item_key IN"
        sqlite: "(SELECT value FROM json_each($3))"
        postgres: "(SELECT json_array_elements_text($3::json))"
    }
    DROP_WINDOWS = {
        "DELETE FROM window_outlook WHERE fleet_id = $1 AND vehicle_id = $2 AND window_id IN" ids: "$3"
    }
    KEEP_JUDGEMENT = {
        "INSERT INTO judgement (fleet_id, vehicle_id, reading_id, verdict, odometer_mm, detail)"
        "VALUES ($1, $2, $3, $4, $5, $6) ON CONFLICT (fleet_id, vehicle_id, reading_id) DO UPDATE SET"
        "verdict = excluded.verdict, odometer_mm = excluded.odometer_mm, detail = excluded.detail"
    }
    KEEP_GRADE = {
        "INSERT INTO grade (fleet_id, vehicle_id, point, place, grade, body) VALUES ($1, $2, $3, $4, $5, $6)"
        "ON CONFLICT (fleet_id, vehicle_id, point, place) DO UPDATE SET grade = excluded.grade, body = excluded.body"
    }
    KEEP_USAGE = {
        "INSERT INTO usage_outlook (fleet_id, vehicle_id, body) VALUES ($1, $2, $3)"
        "ON CONFLICT (fleet_id, vehicle_id) DO UPDATE SET body = excluded.body"
    }
    KEEP_ITEM = {
        "INSERT INTO due_item (fleet_id, vehicle_id, item_key, cycle, id, kind, depot_id, approaching_at, due_at,"
        "overdue_at, do_not_drive_from, sort_at, body) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13)"
        "ON CONFLICT (fleet_id, vehicle_id, item_key) DO UPDATE SET cycle = excluded.cycle, id = excluded.id,"
        "kind = excluded.kind, depot_id = excluded.depot_id, approaching_at = excluded.approaching_at,"
        "due_at = excluded.due_at, overdue_at = excluded.overdue_at, do_not_drive_from = excluded.do_not_drive_from,"
        "sort_at = excluded.sort_at, body = excluded.body"
    }
    KEEP_WINDOW = {
        "INSERT INTO window_outlook (fleet_id, vehicle_id, window_id, depot_id, ending_at, ended_at, early_end, sort_on,"
        "body) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)"
        "ON CONFLICT (fleet_id, vehicle_id, window_id) DO UPDATE SET depot_id = excluded.depot_id,"
        "ending_at = excluded.ending_at, ended_at = excluded.ended_at, early_end = excluded.early_end,"
        "sort_on = excluded.sort_on, body = excluded.body"
    }
}

/// The statements of this module and its parts.
pub(crate) const CATALOGUES: &[&[crate::Sql]] =
    &[CATALOGUE, hours::CATALOGUE, lists::CATALOGUE, rows::CATALOGUE, subjects::CATALOGUE];

/// The public id of a due item: the same vehicle, item and cycle always have the same.
pub fn item_id(vehicle: VehicleId, item: &DueItem) -> Uuid {
    derived_id(&["due-item", &vehicle.to_string(), &item.key.0, &item.cycle.0])
}

/// Makes the derived rows of a vehicle those of its horizon; says how many rows had to change.
pub async fn replace(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    depot: DepotId,
    horizon: &Horizon,
) -> Result<u64, StoreError> {
    let kept = Rows::kept(conn, fleet, horizon.vehicle).await?;
    let wanted = Rows::of(depot, horizon);
    let (fleet, vehicle) = (fleet.0, horizon.vehicle.0);
    let judgements = Changes::between(kept.judgements, wanted.judgements);
    let mut touched = replace_judgements(conn, fleet, vehicle, judgements).await?;
    touched += hours::replace(conn, fleet, vehicle, Changes::between(kept.hours, wanted.hours)).await?;
    touched += replace_grades(conn, fleet, vehicle, Changes::between(kept.grades, wanted.grades)).await?;
    touched += replace_usage(conn, fleet, vehicle, Changes::between(kept.usage, wanted.usage)).await?;
    touched += replace_items(conn, fleet, vehicle, Changes::between(kept.items, wanted.items)).await?;
    touched += replace_windows(conn, fleet, vehicle, Changes::between(kept.windows, wanted.windows)).await?;
    Ok(touched)
}

/// How the derived rows of a vehicle, as they are kept, differ from those of its horizon, byte for byte.
pub async fn compare(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    depot: DepotId,
    horizon: &Horizon,
) -> Result<Comparison, StoreError> {
    let kept = Rows::kept(conn, fleet, horizon.vehicle).await?;
    let wanted = Rows::of(depot, horizon);
    let mut comparison = Comparison::default();
    comparison.add(kept.judgements, &wanted.judgements);
    comparison.add(kept.hours, &wanted.hours);
    comparison.add(kept.grades, &wanted.grades);
    comparison.add(kept.usage, &wanted.usage);
    comparison.add(kept.items, &wanted.items);
    comparison.add(kept.windows, &wanted.windows);
    Ok(comparison)
}

async fn replace_judgements(
    conn: &mut Conn<'_>,
    fleet: Uuid,
    vehicle: Uuid,
    changes: Changes<JudgementRow>,
) -> Result<u64, StoreError> {
    let mut touched = 0;
    if !changes.gone.is_empty() {
        let gone = crate::id_list(changes.gone.iter().map(|row| row.reading_id));
        touched += execute!(conn, DROP_JUDGEMENTS, fleet, vehicle, gone)?;
    }
    touched += batch!(conn, KEEP_JUDGEMENT, changes.changed, |row| [
        fleet,
        vehicle,
        row.reading_id,
        row.verdict.as_str(),
        row.odometer_mm,
        row.detail.as_str()
    ])?;
    Ok(touched)
}

async fn replace_grades(
    conn: &mut Conn<'_>,
    fleet: Uuid,
    vehicle: Uuid,
    changes: Changes<GradeRow>,
) -> Result<u64, StoreError> {
    let mut touched = 0;
    if !changes.gone.is_empty() {
        let gone: Vec<String> = changes.gone.iter().map(rows::DerivedRow::key).collect();
        touched += execute!(conn, DROP_GRADES, fleet, vehicle, json_text(&gone))?;
    }
    touched += batch!(conn, KEEP_GRADE, changes.changed, |row| [
        fleet,
        vehicle,
        row.point.as_str(),
        row.place.as_str(),
        row.grade.as_str(),
        row.body.as_str()
    ])?;
    Ok(touched)
}

async fn replace_usage(
    conn: &mut Conn<'_>,
    fleet: Uuid,
    vehicle: Uuid,
    changes: Changes<UsageRow>,
) -> Result<u64, StoreError> {
    if !changes.gone.is_empty() {
        return execute!(conn, DROP_USAGE, fleet, vehicle);
    }
    batch!(conn, KEEP_USAGE, changes.changed, |row| [fleet, vehicle, row.body.as_str()])
}

async fn replace_items(
    conn: &mut Conn<'_>,
    fleet: Uuid,
    vehicle: Uuid,
    changes: Changes<ItemRow>,
) -> Result<u64, StoreError> {
    let mut touched = 0;
    if !changes.gone.is_empty() {
        let gone: Vec<&str> = changes.gone.iter().map(|row| row.item_key.as_str()).collect();
        touched += execute!(conn, DROP_ITEMS, fleet, vehicle, json_text(&gone))?;
    }
    touched += batch!(conn, KEEP_ITEM, changes.changed, |row| [
        fleet,
        vehicle,
        row.item_key.as_str(),
        row.cycle.as_str(),
        row.id,
        row.kind.as_str(),
        row.depot_id,
        row.approaching_at,
        row.due_at,
        row.overdue_at,
        row.do_not_drive_from,
        row.sort_at,
        row.body.as_str()
    ])?;
    Ok(touched)
}

async fn replace_windows(
    conn: &mut Conn<'_>,
    fleet: Uuid,
    vehicle: Uuid,
    changes: Changes<rows::WindowRow>,
) -> Result<u64, StoreError> {
    let mut touched = 0;
    if !changes.gone.is_empty() {
        let gone = crate::id_list(changes.gone.iter().map(|row| row.window_id));
        touched += execute!(conn, DROP_WINDOWS, fleet, vehicle, gone)?;
    }
    touched += batch!(conn, KEEP_WINDOW, changes.changed, |row| [
        fleet,
        vehicle,
        row.window_id,
        row.depot_id,
        row.ending_at,
        row.ended_at,
        row.early_end,
        row.sort_on,
        row.body.as_str()
    ])?;
    Ok(touched)
}
