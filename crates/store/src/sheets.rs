//! Check sheets, every version kept.

use crate::acts::Stamp;
use crate::parse::{InRow, json_text};
use crate::rows::{each, one};
use crate::{Conn, StoreError};
use model::{CheckSheet, Code, FleetId};

statements! {
    INSERT = {
        "INSERT INTO check_sheet (fleet_id, code, version, title, points, recorded_at, act_id)"
        "VALUES ($1, $2, $3, $4, $5, $6, $7)"
    }
    FIND = {
        "SELECT code, version, title, points FROM check_sheet WHERE fleet_id = $1 AND code = $2 AND version = $3"
    }
    NEWEST = {
        "SELECT code, version, title, points FROM check_sheet WHERE fleet_id = $1 AND code = $2"
        "ORDER BY version DESC LIMIT 1"
    }
    PAGE = {
        "SELECT s.code, s.version, s.title, s.points FROM check_sheet AS s WHERE s.fleet_id = $1 AND s.code > $2"
        "AND NOT EXISTS (SELECT 1 FROM check_sheet AS later WHERE later.fleet_id = s.fleet_id"
        "AND later.code = s.code AND later.version > s.version)"
        "ORDER BY s.code LIMIT $3"
    }
}

#[derive(sqlx::FromRow)]
struct Row {
    code: String,
    version: i64,
    title: String,
    points: String,
}

impl TryFrom<Row> for CheckSheet {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        let at = InRow::new("check_sheet", format!("{} version {}", row.code, row.version));
        Ok(Self {
            code: at.code("code", &row.code)?,
            points: at.json("points", &row.points)?,
            version: row.version,
            title: row.title,
        })
    }
}

/// Keeps a version of a check sheet. `Unique` if there is one of that number.
pub async fn insert(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    sheet: &CheckSheet,
    stamp: &Stamp,
) -> Result<(), StoreError> {
    let CheckSheet { code, version, title, points } = sheet;
    let points = json_text(points);
    execute!(conn, INSERT, fleet.0, code.as_str(), *version, title, points, stamp.recorded_at, stamp.act.0)?;
    Ok(())
}

/// One version of the check sheet of that code.
pub async fn find(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    code: &Code,
    version: i64,
) -> Result<Option<CheckSheet>, StoreError> {
    one(fetch!(fetch_optional, conn, Row, FIND, fleet.0, code.as_str(), version)?)
}

/// The newest version of the check sheet of that code.
pub async fn newest(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    code: &Code,
) -> Result<Option<CheckSheet>, StoreError> {
    one(fetch!(fetch_optional, conn, Row, NEWEST, fleet.0, code.as_str())?)
}

/// Newest versions of the check sheets behind `after`, by code.
pub async fn page(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    after: Option<&Code>,
    limit: i64,
) -> Result<Vec<CheckSheet>, StoreError> {
    let after = after.map_or("", Code::as_str);
    each(fetch!(fetch_all, conn, Row, PAGE, fleet.0, after, limit)?)
}
