//! What the schema says of itself: its version, and its tables as each engine lists them.

use crate::{Conn, StoreError};

statements! {
    VERSION = { "SELECT version, readable_from FROM schema_version ORDER BY version DESC LIMIT 1" }
    /// Types in PostgreSQL's words or SQLite's; the migrations' own table is left out.
    COLUMNS = {
        sqlite: "SELECT t.name AS table_name, c.name AS column_name, UPPER(c.type) AS type_name, c.\"notnull\" = 1 AS required
            FROM sqlite_schema AS t JOIN pragma_table_info(t.name) AS c
            WHERE t.type = 'table' AND t.name NOT LIKE 'sqlite\\_%' ESCAPE '\\' AND t.name <> '_sqlx_migrations'"
        postgres: "SELECT table_name::text AS table_name, column_name::text AS column_name,
                UPPER(data_type)::text AS type_name, is_nullable = 'NO' AS required
            FROM information_schema.columns
            WHERE table_schema = CURRENT_SCHEMA AND table_name <> '_sqlx_migrations'"
        "ORDER BY 1, 2"
    }
    /// One row a column of a primary or unique key or unique index, in the key's order.
    UNIQUE_KEYS = {
        sqlite: "SELECT t.name AS table_name, i.name AS key_name, CAST(c.seqno AS INTEGER) AS place, c.name AS column_name
            FROM sqlite_schema AS t JOIN pragma_index_list(t.name) AS i JOIN pragma_index_info(i.name) AS c
            WHERE t.type = 'table' AND i.\"unique\" = 1 AND t.name <> '_sqlx_migrations'"
        postgres: "SELECT t.relname::text AS table_name, k.relname::text AS key_name, (p.place - 1)::bigint AS place,
                a.attname::text AS column_name
            FROM pg_index AS i JOIN pg_class AS t ON t.oid = i.indrelid JOIN pg_class AS k ON k.oid = i.indexrelid
            JOIN pg_namespace AS n ON n.oid = t.relnamespace AND n.nspname = CURRENT_SCHEMA
            CROSS JOIN LATERAL unnest(i.indkey) WITH ORDINALITY AS p (attribute, place)
            JOIN pg_attribute AS a ON a.attrelid = t.oid AND a.attnum = p.attribute
            WHERE i.indisunique AND t.relname <> '_sqlx_migrations'"
        "ORDER BY 1, 2, 3"
    }
}

/// One column, as its engine describes it.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct ColumnOutline {
    /// Its table.
    pub table_name: String,
    /// Its name.
    pub column_name: String,
    /// Its type in the engine's own words, upper case.
    pub type_name: String,
    /// Whether it is `NOT NULL`.
    pub required: bool,
}

/// The columns of a primary or unique key, in order.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct KeyOutline {
    /// Its table.
    pub table_name: String,
    /// Its columns.
    pub columns: Vec<String>,
}

/// Every column of every table, in order of names.
pub async fn columns(conn: &mut Conn<'_>) -> Result<Vec<ColumnOutline>, StoreError> {
    fetch!(fetch_all, conn, ColumnOutline, COLUMNS)
}

/// Every primary and unique key, sorted.
pub async fn unique_keys(conn: &mut Conn<'_>) -> Result<Vec<KeyOutline>, StoreError> {
    let rows = fetch!(fetch_all, conn, (String, String, i64, String), UNIQUE_KEYS)?;
    let mut keys: Vec<(String, KeyOutline)> = Vec::new();
    for (table_name, key_name, _, column) in rows {
        match keys.last_mut() {
            Some((last, key)) if *last == key_name && key.table_name == table_name => {
                key.columns.push(column);
            }
            _ => keys.push((key_name, KeyOutline { table_name, columns: vec![column] })),
        }
    }
    let mut keys: Vec<KeyOutline> = keys.into_iter().map(|(_, key)| key).collect();
    keys.sort();
    Ok(keys)
}

/// Refuses a schema that only a newer program can read.
pub(crate) async fn refuse_if_too_new(conn: &mut Conn<'_>) -> Result<(), StoreError> {
    let known = crate::migrations(conn.engine()).last().map_or(0, |newest| newest.number);
    let (schema, readable_from): (i64, i64) = fetch!(fetch_one, conn, (i64, i64), VERSION)?;
    if readable_from > known {
        return Err(StoreError::TooNew { schema, readable_from, known });
    }
    Ok(())
}
