//! Answers to the question whether a component is new or was moved.

use crate::acts::Stamp;
use crate::parse::InRow;
use crate::rows::{each, each_fact};
use crate::{AsKnown, Conn, StoreError};
use chrono::{DateTime, Utc};
use model::{FleetId, MeasurementAnswer, MeasurementChoice, MeasurementId, Place, VehicleId};
use uuid::Uuid;

statements! {
    INSERT = {
        "INSERT INTO measurement_answer (fleet_id, id, vehicle_id, measurement_id, choice, from_place, recorded_at,"
        "recorded_by, source, act_id) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)"
    }
    OF_MEASUREMENT = {
        "SELECT id, vehicle_id, measurement_id, choice, from_place, recorded_at FROM measurement_answer"
        "WHERE fleet_id = $1 AND vehicle_id = $2 AND measurement_id = $3 ORDER BY recorded_at, id"
    }
    /// An answer about a withdrawn inspection has nothing left to explain.
    OF_VEHICLES = {
        "SELECT a.id, a.vehicle_id, a.measurement_id, a.choice, a.from_place, a.recorded_at FROM measurement_answer AS a"
        "JOIN measurement AS m ON m.fleet_id = a.fleet_id AND m.id = a.measurement_id"
        "JOIN inspection AS i ON i.fleet_id = m.fleet_id AND i.id = m.inspection_id"
        "WHERE a.fleet_id = $1 AND a.vehicle_id IN" ids: "$2"
        "AND a.recorded_at <= $3 AND (i.withdrawn_at IS NULL OR i.withdrawn_at > $3)"
        "ORDER BY a.vehicle_id, a.recorded_at, a.id"
    }
}

#[derive(sqlx::FromRow)]
struct Row {
    id: Uuid,
    vehicle_id: Uuid,
    measurement_id: Uuid,
    choice: String,
    from_place: Option<String>,
    recorded_at: DateTime<Utc>,
}

impl TryFrom<Row> for (VehicleId, MeasurementAnswer) {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        let at = InRow::new("measurement_answer", row.id);
        let from = row.from_place.map(|place| at.word("from_place", &place, Place::from_word)).transpose()?;
        let choice = match (row.choice.as_str(), from) {
            ("new", None) => MeasurementChoice::New,
            ("moved", Some(from)) => MeasurementChoice::Moved { from },
            ("mistaken", None) => MeasurementChoice::Mistaken,
            (choice, _) => {
                return Err(at.fault("choice", format_args!("{choice:?} does not go with its place")));
            }
        };
        let measurement = MeasurementId(row.measurement_id);
        let answer = MeasurementAnswer { measurement, choice, recorded_at: row.recorded_at };
        Ok((VehicleId(row.vehicle_id), answer))
    }
}

/// Keeps an answer under an id of its own. `ForeignKey` if there is no such measurement.
pub async fn insert(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    id: Uuid,
    answer: &MeasurementAnswer,
    stamp: &Stamp,
) -> Result<(), StoreError> {
    let (choice, from) = match answer.choice {
        MeasurementChoice::New => ("new", None),
        MeasurementChoice::Moved { from } => ("moved", Some(from)),
        MeasurementChoice::Mistaken => ("mistaken", None),
    };
    execute!(
        conn,
        INSERT,
        fleet.0,
        id,
        vehicle.0,
        answer.measurement.0,
        choice,
        from.map(Place::word),
        stamp.recorded_at,
        stamp.recorded_by,
        &stamp.source,
        stamp.act.0,
    )?;
    Ok(())
}

/// What was said of a measurement, the newest last.
pub async fn of_measurement(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    measurement: MeasurementId,
) -> Result<Vec<MeasurementAnswer>, StoreError> {
    each_fact(fetch!(fetch_all, conn, Row, OF_MEASUREMENT, fleet.0, vehicle.0, measurement.0)?)
}

/// Answers about the vehicles on a list.
pub(crate) async fn of_vehicles(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    list: &str,
    known: AsKnown,
) -> Result<Vec<(VehicleId, MeasurementAnswer)>, StoreError> {
    each(fetch!(fetch_all, conn, Row, OF_VEHICLES, fleet.0, list, known.bound())?)
}
