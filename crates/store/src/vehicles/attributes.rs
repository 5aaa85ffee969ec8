//! What changes about a vehicle: each version in force from a day until the next.

use crate::acts::Stamp;
use crate::parse::InRow;
use crate::rows::each;
use crate::{AsKnown, Conn, StoreError};
use chrono::NaiveDate;
use chrono_tz::Tz;
use model::{Attributes, DepotId, Duty, FleetId, Jurisdiction, RulebookId, VehicleId, Weekdays};
use quantity::Temperature;
use uuid::Uuid;

statements! {
    INSERT = {
        "INSERT INTO vehicle_attributes (fleet_id, vehicle_id, ordinal, from_day, depot_id, duty, severe, label, plate,"
        "parked, operating_weekdays, rulebook_id, recorded_at, act_id)"
        "VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14)"
    }
    NEXT_ORDINAL = {
        "SELECT COALESCE(MAX(ordinal), 0) + 1 AS ordinal FROM vehicle_attributes"
        "WHERE fleet_id = $1 AND vehicle_id = $2"
    }
    OF_VEHICLES = {
        "SELECT a.vehicle_id, a.from_day, a.depot_id, a.duty, a.severe, a.label, a.plate, a.parked,"
        "a.operating_weekdays, a.rulebook_id, d.zone, d.jurisdiction, d.design_low_mk"
        "FROM vehicle_attributes AS a JOIN depot AS d ON d.fleet_id = a.fleet_id AND d.id = a.depot_id"
        "WHERE a.fleet_id = $1 AND a.recorded_at <= $3 AND a.vehicle_id IN" ids: "$2"
        "ORDER BY a.vehicle_id, a.from_day, a.ordinal"
    }
}

/// A version of the attributes with what its depot says.
pub(super) struct Standing {
    pub(super) attributes: Attributes,
    pub(super) zone: Tz,
    pub(super) jurisdiction: Jurisdiction,
    pub(super) design_low: Option<Temperature>,
}

#[derive(sqlx::FromRow)]
struct Row {
    vehicle_id: Uuid,
    from_day: NaiveDate,
    depot_id: Uuid,
    duty: String,
    severe: bool,
    label: String,
    plate: Option<String>,
    parked: bool,
    operating_weekdays: i64,
    rulebook_id: Option<Uuid>,
    zone: String,
    jurisdiction: String,
    design_low_mk: Option<i64>,
}

impl TryFrom<Row> for (VehicleId, Standing) {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        let at = InRow::new("vehicle_attributes of vehicle", row.vehicle_id);
        let weekdays = at.whole("operating_weekdays", row.operating_weekdays)?;
        let attributes = Attributes {
            from: row.from_day,
            depot: DepotId(row.depot_id),
            duty: at.word("duty", &row.duty, Duty::from_word)?,
            severe: row.severe,
            label: row.label,
            plate: row.plate,
            parked: row.parked,
            operating_weekdays: Weekdays::from_bits(weekdays)
                .ok_or_else(|| at.fault("operating_weekdays", weekdays))?,
            rulebook: row.rulebook_id.map(RulebookId),
        };
        let zone = at.zone("depot's zone", &row.zone)?;
        let jurisdiction = at.word("depot's jurisdiction", &row.jurisdiction, Jurisdiction::from_word)?;
        let design_low = row.design_low_mk.map(Temperature::from_mk);
        Ok((VehicleId(row.vehicle_id), Standing { attributes, zone, jurisdiction, design_low }))
    }
}

/// Keeps a further version of a vehicle's attributes.
pub async fn insert(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    attributes: &Attributes,
    stamp: &Stamp,
) -> Result<(), StoreError> {
    insert_all(conn, fleet, vehicle, std::slice::from_ref(attributes), stamp).await
}

/// Keeps further versions of a vehicle's attributes, in the order given.
pub async fn insert_all(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    versions: &[Attributes],
    stamp: &Stamp,
) -> Result<(), StoreError> {
    let (next,) = fetch!(fetch_one, conn, (i64,), NEXT_ORDINAL, fleet.0, vehicle.0)?;
    let numbered: Vec<(i64, &Attributes)> = (next..).zip(versions).collect();
    batch!(conn, INSERT, numbered, |(ordinal, version)| [
        fleet.0,
        vehicle.0,
        *ordinal,
        version.from,
        version.depot.0,
        version.duty.word(),
        version.severe,
        &version.label,
        version.plate.as_deref(),
        version.parked,
        i64::from(version.operating_weekdays.bits()),
        version.rulebook.map(|rulebook| rulebook.0),
        stamp.recorded_at,
        stamp.act.0,
    ])?;
    Ok(())
}

/// Every version known then of the attributes of the vehicles on a list, each vehicle's oldest first.
pub(super) async fn of_vehicles(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    list: &str,
    known: AsKnown,
) -> Result<Vec<(VehicleId, Standing)>, StoreError> {
    each(fetch!(fetch_all, conn, Row, OF_VEHICLES, fleet.0, list, known.bound())?)
}
