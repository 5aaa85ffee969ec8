//! Derived rows: what follows from a vehicle's facts, kept so that lists across the fleet need no computing.
//!
//! They can be thrown away and computed again to the same bytes. [`replace`] writes only what differs, so that an
//! unchanged horizon changes no row.

mod hours;
mod lists;
mod rows;
mod subjects;

pub use hours::hour_judgements;
pub use lists::{
    DueItemRow, HeldRow, ItemFilter, WindowFilter, WindowRow, due_items, grades, held, judgements, windows,
};
pub use subjects::{Subject, SubjectKind, subject};

use crate::parse::json_text;
use crate::{Conn, StoreError};
use chrono::{DateTime, Months, NaiveTime, Utc};
use model::horizon::{DueItem, Horizon, ItemKind, WindowOutlook};
use model::{DepotId, FleetId, LAST_DAY, VehicleId, derived_id};
use rows::{Differences, Kept};
use uuid::Uuid;

statements! {
    KEPT_JUDGEMENTS = {
        "SELECT reading_id AS id, detail AS body FROM judgement WHERE fleet_id = $1 AND vehicle_id = $2"
    }
    KEPT_GRADES = {
        "SELECT point || '/' || place AS id, body FROM grade WHERE fleet_id = $1 AND vehicle_id = $2"
    }
    KEPT_USAGE = { "SELECT body FROM usage_outlook WHERE fleet_id = $1 AND vehicle_id = $2" }
    KEPT_ITEMS = {
        "SELECT item_key AS id, body, depot_id FROM due_item WHERE fleet_id = $1 AND vehicle_id = $2"
    }
    KEPT_WINDOWS = {
        "SELECT window_id AS id, body, depot_id FROM window_outlook WHERE fleet_id = $1 AND vehicle_id = $2"
    }
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
    &[CATALOGUE, hours::CATALOGUE, lists::CATALOGUE, subjects::CATALOGUE];

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
    let mut touched = replace_judgements(conn, fleet, horizon).await?;
    touched += hours::replace(conn, fleet, horizon).await?;
    touched += replace_grades(conn, fleet, horizon).await?;
    touched += replace_usage(conn, fleet, horizon).await?;
    touched += replace_items(conn, fleet, depot, horizon).await?;
    touched += replace_windows(conn, fleet, depot, horizon).await?;
    Ok(touched)
}

async fn replace_judgements(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    horizon: &Horizon,
) -> Result<u64, StoreError> {
    let vehicle = horizon.vehicle.0;
    let kept = fetch!(fetch_all, conn, (Uuid, String), KEPT_JUDGEMENTS, fleet.0, vehicle)?;
    let wanted = horizon.judgements.iter().map(|judgement| (judgement.reading.0, judgement));
    let Differences { gone, changed } = Differences::between(kept, wanted);
    let mut touched = 0;
    if !gone.is_empty() {
        touched += execute!(conn, DROP_JUDGEMENTS, fleet.0, vehicle, crate::id_list(gone))?;
    }
    touched += batch!(conn, KEEP_JUDGEMENT, changed, |(reading, judgement, detail)| [
        fleet.0,
        vehicle,
        *reading,
        rows::verdict_word(&judgement.verdict),
        rows::counted_mm(&judgement.verdict),
        detail.as_str()
    ])?;
    Ok(touched)
}

async fn replace_grades(conn: &mut Conn<'_>, fleet: FleetId, horizon: &Horizon) -> Result<u64, StoreError> {
    let vehicle = horizon.vehicle.0;
    let kept = fetch!(fetch_all, conn, (String, String), KEPT_GRADES, fleet.0, vehicle)?;
    let wanted = horizon.grades.iter().map(|graded| (format!("{}/{}", graded.point, graded.place), graded));
    let Differences { gone, changed } = Differences::between(kept, wanted);
    let mut touched = 0;
    if !gone.is_empty() {
        touched += execute!(conn, DROP_GRADES, fleet.0, vehicle, json_text(&gone))?;
    }
    touched += batch!(conn, KEEP_GRADE, changed, |(_, graded, body)| [
        fleet.0,
        vehicle,
        &graded.point,
        graded.place.word(),
        graded.grade.word(),
        body.as_str()
    ])?;
    Ok(touched)
}

async fn replace_usage(conn: &mut Conn<'_>, fleet: FleetId, horizon: &Horizon) -> Result<u64, StoreError> {
    let vehicle = horizon.vehicle.0;
    let kept = fetch!(fetch_optional, conn, (String,), KEPT_USAGE, fleet.0, vehicle)?.map(|row| row.0);
    let wanted = horizon.usage.as_ref().map(json_text);
    match wanted {
        wanted if wanted == kept => Ok(0),
        Some(body) => execute!(conn, KEEP_USAGE, fleet.0, vehicle, body),
        None => execute!(conn, DROP_USAGE, fleet.0, vehicle),
    }
}

async fn replace_items(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    depot: DepotId,
    horizon: &Horizon,
) -> Result<u64, StoreError> {
    let vehicle = horizon.vehicle;
    let kept = fetch!(fetch_all, conn, Kept<String>, KEPT_ITEMS, fleet.0, vehicle.0)?;
    let kept = rows::of_depot(kept, depot);
    let wanted = horizon.items.iter().map(|item| (item.key.0.clone(), item));
    let Differences { gone, changed } = Differences::between(kept, wanted);
    let mut touched = 0;
    if !gone.is_empty() {
        touched += execute!(conn, DROP_ITEMS, fleet.0, vehicle.0, json_text(&gone))?;
    }
    touched += batch!(conn, KEEP_ITEM, changed, |(key, item, body)| [
        fleet.0,
        vehicle.0,
        key,
        &item.cycle.0,
        item_id(vehicle, item),
        item.kind.word(),
        depot.0,
        item.timeline.approaching.map(|moment| moment.at),
        item.timeline.due.map(|moment| moment.at),
        item.timeline.overdue.map(|moment| moment.at),
        item.do_not_drive_from,
        urgency(item),
        body.as_str()
    ])?;
    Ok(touched)
}

async fn replace_windows(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    depot: DepotId,
    horizon: &Horizon,
) -> Result<u64, StoreError> {
    let vehicle = horizon.vehicle.0;
    let kept = fetch!(fetch_all, conn, Kept<Uuid>, KEPT_WINDOWS, fleet.0, vehicle)?;
    let kept = rows::of_depot(kept, depot);
    let wanted = horizon.windows.iter().map(|window| (window.window.0, window));
    let Differences { gone, changed } = Differences::between(kept, wanted);
    let mut touched = 0;
    if !gone.is_empty() {
        touched += execute!(conn, DROP_WINDOWS, fleet.0, vehicle, crate::id_list(gone))?;
    }
    touched += batch!(conn, KEEP_WINDOW, changed, |(id, window, body)| [
        fleet.0,
        vehicle,
        *id,
        depot.0,
        window.ending.map(|moment| moment.at),
        window.ended.map(|moment| moment.at),
        window.ends.early,
        sort_day(window),
        body.as_str()
    ])?;
    Ok(touched)
}

/// What sorts lists of due items: the moment driving is forbidden or the item is due; the end of the calendar for
/// what is neither within ten years. What a measurement or finding forbids to drive comes before everything else,
/// the longest standing first: its moment counts as a century earlier.
fn urgency(item: &DueItem) -> DateTime<Utc> {
    if let (ItemKind::Condition, Some(from)) = (item.kind, item.do_not_drive_from) {
        return from.checked_sub_months(Months::new(1200)).unwrap_or(from);
    }
    let due = item.timeline.due.map(|moment| moment.at);
    let moments = item.do_not_drive_from.into_iter().chain(due);
    moments.min().unwrap_or_else(|| LAST_DAY.and_time(NaiveTime::MIN).and_utc())
}

/// What sorts lists of coverage windows: the early end.
fn sort_day(window: &WindowOutlook) -> chrono::NaiveDate {
    window.ends.early.or(window.last_day).unwrap_or(LAST_DAY)
}
