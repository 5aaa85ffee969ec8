//! What the schema says of itself: its version, and its tables as each engine lists them.

use crate::{Conn, StoreError};

statements! {
    VERSION = { "SELECT version, readable_from FROM schema_version ORDER BY version DESC LIMIT 1" }
    /// Types are in the engine's own words. The table in which migrations are noted is not ours, and left out.
    COLUMNS = {
        sqlite: "SELECT t.name AS table_name, c.name AS column_name, UPPER(c.type) AS type_name,
                c.\"notnull\" = 1 AS required
            FROM sqlite_schema AS t JOIN pragma_table_info(t.name) AS c
            WHERE t.type = 'table' AND t.name <> '_sqlx_migrations'"
        postgres: "SELECT table_name::text AS table_name, column_name::text AS column_name,
                UPPER(data_type)::text AS type_name, is_nullable = 'NO' AS required
            FROM information_schema.columns
            WHERE table_schema = CURRENT_SCHEMA AND table_name <> '_sqlx_migrations'"
        "ORDER BY 1, 2"
    }
    /// One row a column, in the index's order; an index that a key made for itself has a name of the engine's choice.
    INDEXES = {
        sqlite: "SELECT t.name AS table_name, i.name AS index_name, i.origin = 'c' AS named, i.\"unique\" = 1 AS is_unique,
                c.name AS column_name, c.seqno AS place
            FROM sqlite_schema AS t JOIN pragma_index_list(t.name) AS i JOIN pragma_index_info(i.name) AS c
            WHERE t.type = 'table' AND t.name <> '_sqlx_migrations'"
        postgres: "SELECT t.relname::text AS table_name, k.relname::text AS index_name,
                NOT EXISTS (SELECT 1 FROM pg_constraint AS key WHERE key.conindid = k.oid AND key.contype IN ('p', 'u')) AS named,
                i.indisunique AS is_unique, a.attname::text AS column_name, p.place AS place
            FROM pg_index AS i JOIN pg_class AS t ON t.oid = i.indrelid JOIN pg_class AS k ON k.oid = i.indexrelid
            JOIN pg_namespace AS n ON n.oid = t.relnamespace AND n.nspname = CURRENT_SCHEMA
            CROSS JOIN LATERAL unnest(i.indkey) WITH ORDINALITY AS p (attribute, place)
            JOIN pg_attribute AS a ON a.attrelid = t.oid AND a.attnum = p.attribute
            WHERE t.relname <> '_sqlx_migrations'"
        "ORDER BY 1, 2, 6"
    }
    /// One row a column of a foreign key.
    FOREIGN_KEYS = {
        sqlite: "SELECT t.name AS table_name, CAST(f.id AS TEXT) AS key_name, f.\"from\" AS column_name,
                f.\"table\" AS other_table, f.\"to\" AS other_column, f.seq AS place
            FROM sqlite_schema AS t JOIN pragma_foreign_key_list(t.name) AS f WHERE t.type = 'table'"
        postgres: "SELECT t.relname::text AS table_name, f.conname::text AS key_name, a.attname::text AS column_name,
                o.relname::text AS other_table, b.attname::text AS other_column, p.place AS place
            FROM pg_constraint AS f JOIN pg_class AS t ON t.oid = f.conrelid JOIN pg_class AS o ON o.oid = f.confrelid
            JOIN pg_namespace AS n ON n.oid = t.relnamespace AND n.nspname = CURRENT_SCHEMA
            CROSS JOIN LATERAL unnest(f.conkey, f.confkey) WITH ORDINALITY AS p (mine, theirs, place)
            JOIN pg_attribute AS a ON a.attrelid = t.oid AND a.attnum = p.mine
            JOIN pg_attribute AS b ON b.attrelid = o.oid AND b.attnum = p.theirs
            WHERE f.contype = 'f'"
        "ORDER BY 1, 2, 6"
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

/// An index or key of a table.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct IndexOutline {
    /// Its table.
    pub table_name: String,
    /// Its name; none if a key made it.
    pub name: Option<String>,
    /// Whether it refuses a second row with the same values.
    pub is_unique: bool,
    /// Its columns, in order.
    pub columns: Vec<String>,
}

/// A foreign key.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct ForeignKeyOutline {
    /// The table whose rows belong to another's.
    pub table_name: String,
    /// The table they belong to.
    pub other_table: String,
    /// Pairs of columns that must agree: this table's, the other's.
    pub columns: Vec<(String, String)>,
}

/// Every column of every table, in order of names.
pub async fn columns(conn: &mut Conn<'_>) -> Result<Vec<ColumnOutline>, StoreError> {
    fetch!(fetch_all, conn, ColumnOutline, COLUMNS)
}

#[derive(sqlx::FromRow)]
struct IndexRow {
    table_name: String,
    index_name: String,
    named: bool,
    is_unique: bool,
    column_name: String,
}

/// Every index and key, sorted.
pub async fn indexes(conn: &mut Conn<'_>) -> Result<Vec<IndexOutline>, StoreError> {
    let rows = fetch!(fetch_all, conn, IndexRow, INDEXES)?;
    let of_one_index = |a: &IndexRow, b: &IndexRow| a.index_name == b.index_name;
    let outline = |columns: &[IndexRow]| IndexOutline {
        table_name: columns[0].table_name.clone(),
        name: columns[0].named.then(|| columns[0].index_name.clone()),
        is_unique: columns[0].is_unique,
        columns: columns.iter().map(|column| column.column_name.clone()).collect(),
    };
    let mut indexes: Vec<_> = rows.chunk_by(of_one_index).map(outline).collect();
    indexes.sort();
    Ok(indexes)
}

#[derive(sqlx::FromRow)]
struct ForeignKeyRow {
    table_name: String,
    key_name: String,
    column_name: String,
    other_table: String,
    other_column: String,
}

/// Every foreign key, sorted.
pub async fn foreign_keys(conn: &mut Conn<'_>) -> Result<Vec<ForeignKeyOutline>, StoreError> {
    let rows = fetch!(fetch_all, conn, ForeignKeyRow, FOREIGN_KEYS)?;
    let of_one_key =
        |a: &ForeignKeyRow, b: &ForeignKeyRow| (&a.table_name, &a.key_name) == (&b.table_name, &b.key_name);
    let outline = |columns: &[ForeignKeyRow]| ForeignKeyOutline {
        table_name: columns[0].table_name.clone(),
        other_table: columns[0].other_table.clone(),
        columns: columns.iter().map(|row| (row.column_name.clone(), row.other_column.clone())).collect(),
    };
    let mut keys: Vec<_> = rows.chunk_by(of_one_key).map(outline).collect();
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
