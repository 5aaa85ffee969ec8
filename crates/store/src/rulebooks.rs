//! Rulebooks, every version with its rules.

use crate::acts::Stamp;
use crate::pages::behind_id;
use crate::parse::{InRow, json_text};
use crate::{AsKnown, Conn, StoreError, id_list};
use chrono::{DateTime, Utc};
use model::{FleetId, IntervalRule, RuleVersion, Rulebook, RulebookId, RulebookVersionId};
use std::collections::BTreeMap;
use uuid::Uuid;

statements! {
    INSERT = {
        "INSERT INTO rulebook (fleet_id, id, title, version, recorded_at) VALUES ($1, $2, $3, $4, $5)"
    }
    INSERT_VERSION = {
        "INSERT INTO rulebook_version (fleet_id, id, rulebook_id, version, title, recorded_at, recorded_by, source,"
        "act_id) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)"
    }
    INSERT_RULE = {
        "INSERT INTO rule (fleet_id, rulebook_id, version, code, ordinal, body) VALUES ($1, $2, $3, $4, $5, $6)"
    }
    BUMP = {
        "UPDATE rulebook SET title = $4, version = version + 1 WHERE fleet_id = $1 AND id = $2 AND version = $3"
    }
    OF_IDS = {
        "SELECT b.id, b.title, b.version, v.id AS version_id FROM rulebook AS b"
        "JOIN rulebook_version AS v ON v.fleet_id = b.fleet_id AND v.rulebook_id = b.id AND v.version = b.version"
        "WHERE b.fleet_id = $1 AND b.id IN" ids: "$2"
        "ORDER BY b.id"
    }
    PAGE = { "SELECT id FROM rulebook WHERE fleet_id = $1 AND id > $2 ORDER BY id LIMIT $3" }
    VERSION = {
        "SELECT rulebook_id AS id, title, version, id AS version_id FROM rulebook_version"
        "WHERE fleet_id = $1 AND rulebook_id = $2 AND version = $3"
    }
    RULES_OF_VERSION = {
        "SELECT r.rulebook_id, r.version, r.code, r.body,"
        "(SELECT MIN(v.recorded_at) FROM rule AS o JOIN rulebook_version AS v ON v.fleet_id = o.fleet_id"
        "AND v.rulebook_id = o.rulebook_id AND v.version = o.version WHERE o.fleet_id = r.fleet_id"
        "AND o.rulebook_id = r.rulebook_id AND o.code = r.code) AS since FROM rule AS r"
        "WHERE r.fleet_id = $1 AND r.rulebook_id = $2 AND r.version = $3 ORDER BY r.ordinal"
    }
    NEWEST_RULES = {
        "SELECT r.rulebook_id, r.version, r.code, r.body,"
        "(SELECT MIN(v.recorded_at) FROM rule AS o JOIN rulebook_version AS v ON v.fleet_id = o.fleet_id"
        "AND v.rulebook_id = o.rulebook_id AND v.version = o.version WHERE o.fleet_id = r.fleet_id"
        "AND o.rulebook_id = r.rulebook_id AND o.code = r.code) AS since FROM rule AS r"
        "JOIN (SELECT rulebook_id, MAX(version) AS version FROM rulebook_version"
        "WHERE fleet_id = $1 AND recorded_at <= $3 AND rulebook_id IN" ids: "$2"
        "GROUP BY rulebook_id) AS b ON b.rulebook_id = r.rulebook_id AND b.version = r.version"
        "WHERE r.fleet_id = $1"
        "ORDER BY r.rulebook_id, r.ordinal"
    }
}

#[derive(sqlx::FromRow)]
struct BookRow {
    id: Uuid,
    title: String,
    version: i64,
    version_id: Uuid,
}

impl BookRow {
    fn with(self, rules: Vec<RuleVersion>) -> Rulebook {
        Rulebook {
            id: RulebookId(self.id),
            title: self.title,
            version_id: RulebookVersionId(self.version_id),
            version: self.version,
            rules: rules.into_iter().map(|version| version.rule).collect(),
        }
    }
}

#[derive(sqlx::FromRow)]
struct RuleRow {
    rulebook_id: Uuid,
    version: i64,
    code: String,
    body: String,
    since: DateTime<Utc>,
}

impl TryFrom<RuleRow> for RuleVersion {
    type Error = StoreError;

    fn try_from(row: RuleRow) -> Result<Self, StoreError> {
        let name = format!("{} of rulebook {} version {}", row.code, row.rulebook_id, row.version);
        let at = InRow::new("rule", name);
        let rule: IntervalRule = at.json("body", &row.body)?;
        if rule.code.as_str() != row.code {
            return Err(at.fault("body", format_args!("is of the rule {}", rule.code)));
        }
        Ok(Self { rulebook: RulebookId(row.rulebook_id), version: row.version, since: row.since, rule })
    }
}

/// Keeps a new rulebook with its first version.
pub async fn insert(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    book: &Rulebook,
    stamp: &Stamp,
) -> Result<(), StoreError> {
    execute!(conn, INSERT, fleet.0, book.id.0, &book.title, book.version, stamp.recorded_at)?;
    insert_version(conn, fleet, book, stamp).await
}

/// Adds version `expected + 1` to a rulebook that still has version `expected`; `false` if it has not.
pub async fn revise(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    book: &Rulebook,
    expected: i64,
    stamp: &Stamp,
) -> Result<bool, StoreError> {
    if execute!(conn, BUMP, fleet.0, book.id.0, expected, &book.title)? == 0 {
        return Ok(false);
    }
    let next = Rulebook { version: expected + 1, ..book.clone() };
    insert_version(conn, fleet, &next, stamp).await?;
    Ok(true)
}

async fn insert_version(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    book: &Rulebook,
    stamp: &Stamp,
) -> Result<(), StoreError> {
    execute!(
        conn,
        INSERT_VERSION,
        fleet.0,
        book.version_id.0,
        book.id.0,
        book.version,
        &book.title,
        stamp.recorded_at,
        stamp.recorded_by,
        &stamp.source,
        stamp.act.0,
    )?;
    let numbered: Vec<(i64, &IntervalRule)> = (1..).zip(&book.rules).collect();
    batch!(conn, INSERT_RULE, numbered, |(ordinal, rule)| [
        fleet.0,
        book.id.0,
        book.version,
        rule.code.as_str(),
        *ordinal,
        json_text(rule),
    ])?;
    Ok(())
}

/// The rulebook of that id in its newest version.
pub async fn find(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    id: RulebookId,
) -> Result<Option<Rulebook>, StoreError> {
    Ok(of_ids(conn, fleet, &id_list([id.0])).await?.pop())
}

/// One version of a rulebook, as it was written then.
pub async fn find_version(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    id: RulebookId,
    version: i64,
) -> Result<Option<Rulebook>, StoreError> {
    let book = fetch!(fetch_optional, conn, BookRow, VERSION, fleet.0, id.0, version)?;
    let Some(book) = book else { return Ok(None) };
    let rules = fetch!(fetch_all, conn, RuleRow, RULES_OF_VERSION, fleet.0, id.0, version)?;
    Ok(Some(book.with(crate::rows::each(rules)?)))
}

/// Rulebooks behind `after` in their newest version, in order of ids.
pub async fn page(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    after: Option<RulebookId>,
    limit: i64,
) -> Result<Vec<Rulebook>, StoreError> {
    let ids = fetch!(fetch_all, conn, (Uuid,), PAGE, fleet.0, behind_id(after.map(|id| id.0)), limit)?;
    of_ids(conn, fleet, &id_list(ids.into_iter().map(|(id,)| id))).await
}

async fn of_ids(conn: &mut Conn<'_>, fleet: FleetId, list: &str) -> Result<Vec<Rulebook>, StoreError> {
    let books = fetch!(fetch_all, conn, BookRow, OF_IDS, fleet.0, list)?;
    let mut rules = newest_rules(conn, fleet, list, AsKnown::NOW).await?;
    let with_rules = |book: BookRow| {
        let own = rules.remove(&RulebookId(book.id)).unwrap_or_default();
        book.with(own)
    };
    Ok(books.into_iter().map(with_rules).collect())
}

/// Rules of the newest versions known then of the rulebooks on a list, each book's in its order.
pub(crate) async fn newest_rules(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    list: &str,
    known: AsKnown,
) -> Result<BTreeMap<RulebookId, Vec<RuleVersion>>, StoreError> {
    let mut rules: BTreeMap<RulebookId, Vec<RuleVersion>> = BTreeMap::new();
    for row in fetch!(fetch_all, conn, RuleRow, NEWEST_RULES, fleet.0, list, known.bound())? {
        let version = RuleVersion::try_from(row)?;
        rules.entry(version.rulebook).or_default().push(version);
    }
    Ok(rules)
}
