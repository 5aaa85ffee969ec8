//! Depots: where vehicles stand.

use crate::pages::behind_id;
use crate::parse::InRow;
use crate::rows::{each, one};
use crate::{AsKnown, Conn, StoreError, past};
use chrono::{DateTime, Utc};
use model::{Depot, DepotId, FleetId, Jurisdiction};
use quantity::Temperature;
use uuid::Uuid;

statements! {
    INSERT = {
        "INSERT INTO depot (fleet_id, id, name, zone, jurisdiction, design_low_mk, version, recorded_at)"
        "VALUES ($1, $2, $3, $4, $5, $6, $7, $8)"
    }
    FIND = { "SELECT id, name, zone, jurisdiction, design_low_mk, version FROM depot WHERE fleet_id = $1 AND id = $2" }
    PAGE = {
        "SELECT id, name, zone, jurisdiction, design_low_mk, version FROM depot WHERE fleet_id = $1 AND id > $2"
        "ORDER BY id LIMIT $3"
    }
    UPDATE = {
        "UPDATE depot SET name = $4, zone = $5, jurisdiction = $6, design_low_mk = $7, version = version + 1"
        "WHERE fleet_id = $1 AND id = $2 AND version = $3"
    }
}

#[derive(sqlx::FromRow)]
struct Row {
    id: Uuid,
    name: String,
    zone: String,
    jurisdiction: String,
    design_low_mk: Option<i64>,
    version: i64,
}

impl TryFrom<Row> for Depot {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        let at = InRow::new("depot", row.id);
        Ok(Self {
            id: DepotId(row.id),
            zone: at.zone("zone", &row.zone)?,
            jurisdiction: at.word("jurisdiction", &row.jurisdiction, Jurisdiction::from_word)?,
            name: row.name,
            design_low: row.design_low_mk.map(Temperature::from_mk),
            version: row.version,
        })
    }
}

/// Keeps a new depot.
pub async fn insert(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    depot: &Depot,
    at: DateTime<Utc>,
) -> Result<(), StoreError> {
    let Depot { id, name, zone, jurisdiction, design_low, version } = depot;
    let low = design_low.map(Temperature::mk);
    execute!(conn, INSERT, fleet.0, id.0, name, zone.name(), jurisdiction.word(), low, *version, at)?;
    Ok(())
}

/// The depot of that id.
pub async fn find(conn: &mut Conn<'_>, fleet: FleetId, id: DepotId) -> Result<Option<Depot>, StoreError> {
    one(fetch!(fetch_optional, conn, Row, FIND, fleet.0, id.0)?)
}

/// The same as it stood then. A depot that was not yet on record is given as it stands: nothing stood at it.
pub async fn find_as_known(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    id: DepotId,
    known: AsKnown,
) -> Result<Option<Depot>, StoreError> {
    let found = find(conn, fleet, id).await?.into_iter().collect();
    Ok(past::restored(conn, fleet, found, known).await?.pop())
}

/// Depots behind `after`, in order of ids.
pub async fn page(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    after: Option<DepotId>,
    limit: i64,
) -> Result<Vec<Depot>, StoreError> {
    each(fetch!(fetch_all, conn, Row, PAGE, fleet.0, behind_id(after.map(|id| id.0)), limit)?)
}

/// Changes a depot that still has version `expected` and raises the version; `false` if it has not.
pub async fn update(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    depot: &Depot,
    expected: i64,
) -> Result<bool, StoreError> {
    let Depot { id, name, zone, jurisdiction, design_low, version: _ } = depot;
    let low = design_low.map(Temperature::mk);
    let touched =
        execute!(conn, UPDATE, fleet.0, id.0, expected, name, zone.name(), jurisdiction.word(), low)?;
    Ok(touched == 1)
}
