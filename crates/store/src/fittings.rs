//! Where components are or were fitted.

use crate::acts::Stamp;
use crate::pages::behind;
use crate::parse::InRow;
use crate::rows::{each, one};
use crate::{AsKnown, Conn, StoreError, components, id_list};
use chrono::NaiveDate;
use model::{Component, ComponentId, Fitting, FittingId, FleetId, Place, VehicleId};
use quantity::Distance;
use uuid::Uuid;

statements! {
    INSERT = {
        "INSERT INTO fitting (fleet_id, id, component_id, vehicle_id, place, from_day, from_odometer_mm, recorded_at,"
        "recorded_by, source, act_id) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)"
    }
    END = {
        "INSERT INTO fitting_end (fleet_id, fitting_id, to_day, to_odometer_mm, reason, recorded_at, recorded_by, source,"
        "act_id) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9) ON CONFLICT (fleet_id, fitting_id) DO NOTHING"
    }
    FIND = {
        "SELECT f.id, f.component_id, f.vehicle_id, f.place, f.from_day, f.from_odometer_mm, e.to_day, e.to_odometer_mm"
        "FROM fitting AS f LEFT JOIN fitting_end AS e ON e.fleet_id = f.fleet_id AND e.fitting_id = f.id"
        "WHERE f.fleet_id = $1 AND f.id = $2 AND f.withdrawn_at IS NULL"
    }
    PAGE = {
        "SELECT f.id, f.component_id, f.vehicle_id, f.place, f.from_day, f.from_odometer_mm, e.to_day, e.to_odometer_mm"
        "FROM fitting AS f LEFT JOIN fitting_end AS e ON e.fleet_id = f.fleet_id AND e.fitting_id = f.id"
        "WHERE f.fleet_id = $1 AND (f.vehicle_id = $2 OR $2 IS NULL) AND (f.component_id = $3 OR $3 IS NULL)"
        "AND f.withdrawn_at IS NULL AND (f.from_day, f.id) > ($4, $5) ORDER BY f.from_day, f.id LIMIT $6"
    }
    OPEN_AT = {
        "SELECT f.id, f.component_id, f.vehicle_id, f.place, f.from_day, f.from_odometer_mm, e.to_day, e.to_odometer_mm"
        "FROM fitting AS f LEFT JOIN fitting_end AS e ON e.fleet_id = f.fleet_id AND e.fitting_id = f.id"
        "WHERE f.fleet_id = $1 AND f.vehicle_id = $2 AND f.place = $3 AND f.withdrawn_at IS NULL AND e.to_day IS NULL"
        "ORDER BY f.id"
    }
    OPEN_OF = {
        "SELECT f.id, f.component_id, f.vehicle_id, f.place, f.from_day, f.from_odometer_mm, e.to_day, e.to_odometer_mm"
        "FROM fitting AS f LEFT JOIN fitting_end AS e ON e.fleet_id = f.fleet_id AND e.fitting_id = f.id"
        "WHERE f.fleet_id = $1 AND f.component_id = $2 AND f.withdrawn_at IS NULL AND e.to_day IS NULL"
        "ORDER BY f.id LIMIT 1"
    }
    LAST_END = {
        "SELECT MAX(e.to_day) AS to_day FROM fitting AS f"
        "JOIN fitting_end AS e ON e.fleet_id = f.fleet_id AND e.fitting_id = f.id"
        "WHERE f.fleet_id = $1 AND f.component_id = $2 AND f.withdrawn_at IS NULL"
    }
    OF_COMPONENTS = {
        "SELECT f.id, f.component_id, f.vehicle_id, f.place, f.from_day, f.from_odometer_mm, e.to_day, e.to_odometer_mm"
        "FROM fitting AS f LEFT JOIN fitting_end AS e ON e.fleet_id = f.fleet_id AND e.fitting_id = f.id"
        "WHERE f.fleet_id = $1 AND f.component_id IN" ids: "$2" "AND f.withdrawn_at IS NULL"
        "ORDER BY f.component_id, f.from_day, f.id"
    }
    OF_VEHICLES = {
        "SELECT f.id, f.component_id, f.vehicle_id, f.place, f.from_day, f.from_odometer_mm, e.to_day, e.to_odometer_mm"
        "FROM fitting AS f LEFT JOIN fitting_end AS e ON e.fleet_id = f.fleet_id AND e.fitting_id = f.id"
        "AND e.recorded_at <= $3 WHERE f.fleet_id = $1 AND f.vehicle_id IN" ids: "$2"
        "AND f.recorded_at <= $3 AND (f.withdrawn_at IS NULL OR f.withdrawn_at > $3)"
        "ORDER BY f.vehicle_id, f.from_day, f.id"
    }
}

/// The end of a fitting: a fact of its own.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct End {
    /// The day it was taken out.
    pub to: NaiveDate,
    /// Odometer then.
    pub odometer: Distance,
    /// Why.
    pub reason: String,
}

#[derive(sqlx::FromRow)]
struct Row {
    id: Uuid,
    component_id: Uuid,
    vehicle_id: Uuid,
    place: String,
    from_day: NaiveDate,
    from_odometer_mm: i64,
    to_day: Option<NaiveDate>,
    to_odometer_mm: Option<i64>,
}

impl TryFrom<Row> for Fitting {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        Ok(Self {
            id: FittingId(row.id),
            component: ComponentId(row.component_id),
            vehicle: VehicleId(row.vehicle_id),
            place: InRow::new("fitting", row.id).word("place", &row.place, Place::from_word)?,
            from: row.from_day,
            from_odometer: Distance::from_mm(row.from_odometer_mm),
            to: row.to_day,
            to_odometer: row.to_odometer_mm.map(Distance::from_mm),
        })
    }
}

/// Keeps a fitting; its end, if it has one, is kept by [`end`].
pub async fn insert(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    fitting: &Fitting,
    stamp: &Stamp,
) -> Result<(), StoreError> {
    execute!(
        conn,
        INSERT,
        fleet.0,
        fitting.id.0,
        fitting.component.0,
        fitting.vehicle.0,
        fitting.place.word(),
        fitting.from,
        fitting.from_odometer.mm(),
        stamp.recorded_at,
        stamp.recorded_by,
        &stamp.source,
        stamp.act.0,
    )?;
    Ok(())
}

/// Ends a fitting; `false` if it has ended already. `ForeignKey` if there is none.
pub async fn end(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    id: FittingId,
    end: &End,
    stamp: &Stamp,
) -> Result<bool, StoreError> {
    let touched = execute!(
        conn,
        END,
        fleet.0,
        id.0,
        end.to,
        end.odometer.mm(),
        &end.reason,
        stamp.recorded_at,
        stamp.recorded_by,
        &stamp.source,
        stamp.act.0,
    )?;
    Ok(touched == 1)
}

/// The fitting of that id.
pub async fn find(conn: &mut Conn<'_>, fleet: FleetId, id: FittingId) -> Result<Option<Fitting>, StoreError> {
    one(fetch!(fetch_optional, conn, Row, FIND, fleet.0, id.0)?)
}

/// Which fittings a page shows; all where nothing is named.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Filter {
    /// Those on this vehicle.
    pub vehicle: Option<VehicleId>,
    /// Those of this component.
    pub component: Option<ComponentId>,
}

/// Fittings behind `after`, by the day they began.
pub async fn page(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    filter: Filter,
    after: Option<(NaiveDate, Uuid)>,
    limit: i64,
) -> Result<Vec<Fitting>, StoreError> {
    let (from, id) = behind(after);
    let (vehicle, component) = (filter.vehicle.map(|v| v.0), filter.component.map(|c| c.0));
    each(fetch!(fetch_all, conn, Row, PAGE, fleet.0, vehicle, component, from, id, limit)?)
}

/// What is fitted at a place of a vehicle now: a tyre and a pad set can share a wheel.
pub async fn open_at(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    place: Place,
) -> Result<Vec<Fitting>, StoreError> {
    each(fetch!(fetch_all, conn, Row, OPEN_AT, fleet.0, vehicle.0, place.word())?)
}

/// Where a component is fitted now; none while it lies in store.
pub async fn open_of(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    component: ComponentId,
) -> Result<Option<Fitting>, StoreError> {
    one(fetch!(fetch_optional, conn, Row, OPEN_OF, fleet.0, component.0)?)
}

/// The last day on which a component was taken out anywhere.
pub async fn last_end(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    component: ComponentId,
) -> Result<Option<NaiveDate>, StoreError> {
    let (day,) = fetch!(fetch_one, conn, (Option<NaiveDate>,), LAST_END, fleet.0, component.0)?;
    Ok(day)
}

/// Every fitting of these components, ended ones too, by component and day.
pub async fn of_components(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    ids: &[ComponentId],
) -> Result<Vec<Fitting>, StoreError> {
    let list = id_list(ids.iter().map(|id| id.0));
    each(fetch!(fetch_all, conn, Row, OF_COMPONENTS, fleet.0, list)?)
}

/// Fittings on the vehicles on a list, ended ones too.
pub(crate) async fn of_vehicles(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    list: &str,
    known: AsKnown,
) -> Result<Vec<Fitting>, StoreError> {
    each(fetch!(fetch_all, conn, Row, OF_VEHICLES, fleet.0, list, known.bound())?)
}

/// Every fitting on these vehicles with its component, ended ones too.
pub async fn with_components(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicles: &[VehicleId],
) -> Result<Vec<(Fitting, Component)>, StoreError> {
    let list = &id_list(vehicles.iter().map(|vehicle| vehicle.0));
    let fittings = of_vehicles(conn, fleet, list, AsKnown::NOW).await?;
    let components = components::of_vehicles(conn, fleet, list, AsKnown::NOW).await?;
    let of_fitting = |fitting: Fitting| {
        let (_, component) = components.iter().find(|(_, component)| component.id == fitting.component)?;
        Some((fitting, component.clone()))
    };
    Ok(fittings.into_iter().filter_map(of_fitting).collect())
}
