//! That components were taken off for good.

use crate::acts::Stamp;
use crate::parse::InRow;
use crate::rows::each;
use crate::{Conn, StoreError, id_list};
use chrono::{DateTime, NaiveDate, Utc};
use model::{ComponentEnd, ComponentEndId, ComponentId, EndReason, FleetId};
use quantity::{Dimension, Entered};
use uuid::Uuid;

statements! {
    INSERT = {
        "INSERT INTO component_end (fleet_id, id, component_id, reason, on_day, odometer_value, odometer_unit,"
        "odometer_mm, note, recorded_at, recorded_by, source, act_id)"
        "VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13)"
    }
    OF_COMPONENTS = {
        "SELECT id, component_id, reason, on_day, odometer_value, odometer_unit, note, recorded_at FROM component_end"
        "WHERE fleet_id = $1 AND component_id IN" ids: "$2" "AND withdrawn_at IS NULL ORDER BY component_id"
    }
    WITHDRAW = {
        "UPDATE component_end SET withdrawn_at = $3"
        "WHERE fleet_id = $1 AND component_id = $2 AND withdrawn_at IS NULL"
    }
}

#[derive(sqlx::FromRow)]
struct Row {
    id: Uuid,
    component_id: Uuid,
    reason: String,
    on_day: NaiveDate,
    odometer_value: Option<f64>,
    odometer_unit: Option<String>,
    note: Option<String>,
    recorded_at: DateTime<Utc>,
}

impl TryFrom<Row> for ComponentEnd {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        let at = InRow::new("component_end", row.id);
        Ok(Self {
            id: ComponentEndId(row.id),
            component: ComponentId(row.component_id),
            reason: at.word("reason", &row.reason, EndReason::from_word)?,
            on: row.on_day,
            odometer: at.entered_if_any("odometer", row.odometer_value, row.odometer_unit.as_deref())?,
            note: row.note,
            recorded_at: row.recorded_at,
        })
    }
}

/// Keeps the end of a component. `Unique` if it has one that stands.
pub async fn insert(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    end: &ComponentEnd,
    stamp: &Stamp,
) -> Result<(), StoreError> {
    let exact = |odometer: Entered| odometer.exact_as(Dimension::Distance).ok();
    execute!(
        conn,
        INSERT,
        fleet.0,
        end.id.0,
        end.component.0,
        end.reason.word(),
        end.on,
        end.odometer.map(|odometer| odometer.value),
        end.odometer.map(|odometer| odometer.unit.code()),
        end.odometer.and_then(exact),
        end.note.as_deref(),
        stamp.recorded_at,
        stamp.recorded_by,
        &stamp.source,
        stamp.act.0,
    )?;
    Ok(())
}

/// The ends that stand of these components, in order of their ids.
pub async fn of_components(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    components: &[ComponentId],
) -> Result<Vec<ComponentEnd>, StoreError> {
    let list = id_list(components.iter().map(|component| component.0));
    each(fetch!(fetch_all, conn, Row, OF_COMPONENTS, fleet.0, list)?)
}

/// The end that stands of a component.
pub async fn find(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    component: ComponentId,
) -> Result<Option<ComponentEnd>, StoreError> {
    Ok(of_components(conn, fleet, &[component]).await?.pop())
}

/// Withdraws the end that stands of a component; `false` if there is none.
pub async fn withdraw(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    component: ComponentId,
    at: DateTime<Utc>,
) -> Result<bool, StoreError> {
    Ok(execute!(conn, WITHDRAW, fleet.0, component.0, at)? == 1)
}
