//! Fitted usage of cohorts, and which fit a vehicle is judged by.

use crate::acts::Stamp;
use crate::parse::{InRow, json_text};
use crate::rows::each;
use crate::{AsKnown, Conn, StoreError, id_list};
use model::{CohortFit, FitId, FitLevel, FleetId, MeterQuantity, PinnedFit, VehicleId};
use std::collections::BTreeMap;
use uuid::Uuid;

statements! {
    INSERT = {
        "INSERT INTO cohort_fit (fleet_id, id, cohort, level, vehicles, a, p, q, kappa, recorded_at, act_id)"
        "VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)"
    }
    NEWEST = {
        "SELECT f.cohort, f.id, f.level, f.vehicles, f.a, f.p, f.q, f.kappa FROM cohort_fit AS f"
        "WHERE f.fleet_id = $1 AND f.cohort IN"
        sqlite: "(SELECT value FROM json_each($2))"
        postgres: "(SELECT json_array_elements_text($2::json))"
        "AND NOT EXISTS (SELECT 1 FROM cohort_fit AS later WHERE later.fleet_id = f.fleet_id"
        "AND later.cohort = f.cohort AND (later.recorded_at, later.id) > (f.recorded_at, f.id))"
        "ORDER BY f.cohort"
    }
    INSERT_PIN = {
        "INSERT INTO fit_pin (fleet_id, vehicle_id, ordinal, fit_id, quantity, recorded_at, act_id)"
        "VALUES ($1, $2, $3, $4, $5, $6, $7)"
    }
    ORDINALS = {
        "SELECT vehicle_id, MAX(ordinal) AS ordinal FROM fit_pin WHERE fleet_id = $1 AND vehicle_id IN" ids: "$2"
        "GROUP BY vehicle_id"
    }
    PINS = {
        "SELECT p.vehicle_id, f.id, f.level, f.vehicles, f.a, f.p, f.q, f.kappa FROM fit_pin AS p"
        "JOIN cohort_fit AS f ON f.fleet_id = p.fleet_id AND f.id = p.fit_id"
        "WHERE p.fleet_id = $1 AND p.vehicle_id IN" ids: "$2"
        "AND p.quantity = $4 AND p.recorded_at <= $3 AND NOT EXISTS (SELECT 1 FROM fit_pin AS later"
        "WHERE later.fleet_id = p.fleet_id AND later.vehicle_id = p.vehicle_id AND later.quantity = p.quantity"
        "AND later.ordinal > p.ordinal AND later.recorded_at <= $3)"
        "ORDER BY p.vehicle_id"
    }
}

#[derive(sqlx::FromRow)]
struct Row {
    id: Uuid,
    level: String,
    vehicles: i64,
    a: f64,
    p: f64,
    q: f64,
    kappa: Option<String>,
}

#[derive(sqlx::FromRow)]
struct PinnedRow {
    vehicle_id: Uuid,
    #[sqlx(flatten)]
    fit: Row,
}

#[derive(sqlx::FromRow)]
struct CohortRow {
    cohort: String,
    #[sqlx(flatten)]
    fit: Row,
}

impl TryFrom<Row> for PinnedFit {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        let at = InRow::new("cohort_fit", row.id);
        let fit = CohortFit {
            a: row.a,
            p: row.p,
            q: row.q,
            level: at.word("level", &row.level, FitLevel::from_word)?,
            vehicles: at.whole("vehicles", row.vehicles)?,
            kappa: row.kappa.map(|kappa| at.json("kappa", &kappa)).transpose()?,
        };
        Ok(Self { id: Some(FitId(row.id)), fit })
    }
}

impl TryFrom<PinnedRow> for (VehicleId, PinnedFit) {
    type Error = StoreError;

    fn try_from(row: PinnedRow) -> Result<Self, StoreError> {
        Ok((VehicleId(row.vehicle_id), row.fit.try_into()?))
    }
}

impl TryFrom<CohortRow> for (String, PinnedFit) {
    type Error = StoreError;

    fn try_from(row: CohortRow) -> Result<Self, StoreError> {
        Ok((row.cohort, row.fit.try_into()?))
    }
}

/// Keeps a fit of a cohort. It is never changed: a better one is another fit.
pub async fn insert(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    id: FitId,
    cohort: &str,
    fit: &CohortFit,
    stamp: &Stamp,
) -> Result<(), StoreError> {
    let CohortFit { a, p, q, level, vehicles, kappa } = *fit;
    let (level, vehicles, kappa) = (level.word(), i64::from(vehicles), kappa.as_ref().map(json_text));
    let (at, act) = (stamp.recorded_at, stamp.act.0);
    execute!(conn, INSERT, fleet.0, id.0, cohort, level, vehicles, a, p, q, kappa, at, act)?;
    Ok(())
}

/// The newest fit of each of these cohorts; those that have none are missing from the answer.
pub async fn newest(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    cohorts: &[&str],
) -> Result<BTreeMap<String, PinnedFit>, StoreError> {
    let rows = fetch!(fetch_all, conn, CohortRow, NEWEST, fleet.0, json_text(&cohorts))?;
    Ok(each(rows)?.into_iter().collect())
}

/// Pins vehicles to fits of this quantity from now on, in one statement. Each vehicle at most once.
pub async fn pin(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    quantity: MeterQuantity,
    pins: &[(VehicleId, FitId)],
    stamp: &Stamp,
) -> Result<(), StoreError> {
    let list = id_list(pins.iter().map(|(vehicle, _)| vehicle.0));
    let rows = fetch!(fetch_all, conn, (Uuid, i64), ORDINALS, fleet.0, list)?;
    let newest: BTreeMap<Uuid, i64> = rows.into_iter().collect();
    batch!(conn, INSERT_PIN, pins, |(vehicle, fit)| [
        fleet.0,
        vehicle.0,
        newest.get(&vehicle.0).map_or(1, |ordinal| ordinal + 1),
        fit.0,
        quantity.word(),
        stamp.recorded_at,
        stamp.act.0,
    ])?;
    Ok(())
}

/// The fits of this quantity that vehicles are judged by; those never pinned are missing from the answer.
pub async fn pinned(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    quantity: MeterQuantity,
    vehicles: &[VehicleId],
) -> Result<Vec<(VehicleId, PinnedFit)>, StoreError> {
    let list = id_list(vehicles.iter().map(|vehicle| vehicle.0));
    of_vehicles(conn, fleet, quantity, &list, AsKnown::NOW).await
}

/// The same for the vehicles on a list.
pub(crate) async fn of_vehicles(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    quantity: MeterQuantity,
    list: &str,
    known: AsKnown,
) -> Result<Vec<(VehicleId, PinnedFit)>, StoreError> {
    each(fetch!(fetch_all, conn, PinnedRow, PINS, fleet.0, list, known.bound(), quantity.word())?)
}
