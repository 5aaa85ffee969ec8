//! A call on a database, written once for both drivers.

/// What the exported macros need in the scope of other crates.
#[doc(hidden)]
pub mod drivers_of_macros {
    pub use sqlx::{Postgres, QueryBuilder, Sqlite, query, query_as};
}

/// Writes `$body` once for each driver: `$conn` is the open connection, `$Db` sqlx's name of the database, `$engine`
/// ours. For what [`fetch!`](crate::fetch), [`execute!`](crate::execute) and [`batch!`](crate::batch) cannot say, such as filters by `QueryBuilder`.
#[macro_export]
macro_rules! on_engine {
    ($on:expr, |$conn:ident, $Db:ident, $engine:ident| $body:expr) => {
        match &mut *$on {
            $crate::Conn::Sqlite(connection) => {
                type $Db = $crate::drivers_of_macros::Sqlite;
                let ($conn, $engine) = (&mut **connection, $crate::Engine::Sqlite);
                $body
            }
            $crate::Conn::Postgres(connection) => {
                type $Db = $crate::drivers_of_macros::Postgres;
                let ($conn, $engine) = (&mut **connection, $crate::Engine::Postgres);
                $body
            }
        }
    };
}

/// Runs a statement that gives rows: `fetch!(fetch_all | fetch_one | fetch_optional, conn, Row, STATEMENT, binds…)`.
///
/// Gives `Result<Vec<Row> | Row | Option<Row>, StoreError>`. `Row` is a tuple or derives `sqlx::FromRow`.
#[macro_export]
macro_rules! fetch {
    ($how:ident, $on:expr, $Row:ty, $sql:expr $(, $bind:expr)* $(,)?) => {{
        let sql: $crate::Sql = $sql;
        let fetched = $crate::on_engine!($on, |conn, Db, engine| {
            $crate::drivers_of_macros::query_as::<Db, $Row>(sql.text(engine))$(.bind($bind))*.$how(conn).await
        });
        fetched.map_err(|cause| $crate::StoreError::of(sql.name, cause))
    }};
}

/// Runs a statement that gives no rows: `execute!(conn, STATEMENT, binds…)`.
///
/// Gives the number of rows it touched, a `Result<u64, StoreError>`.
#[macro_export]
macro_rules! execute {
    ($on:expr, $sql:expr $(, $bind:expr)* $(,)?) => {{
        let sql: $crate::Sql = $sql;
        let done = $crate::on_engine!($on, |conn, Db, engine| {
            $crate::drivers_of_macros::query::<Db>(sql.text(engine))$(.bind($bind))*
                .execute(conn).await.map(|done| done.rows_affected())
        });
        done.map_err(|cause| $crate::StoreError::of(sql.name, cause))
    }};
}

/// Runs a one-row `INSERT … VALUES ($1, …, $n) …` for many rows at once: `batch!(conn, STATEMENT, rows, |row| [binds…])`.
///
/// `rows` is a slice; as many go into one statement as its parameters allow. Gives the number of rows touched, a
/// `Result<u64, StoreError>`. A statement of another shape, or a wrong number of binds, does not compile.
#[macro_export]
macro_rules! batch {
    ($on:expr, $sql:expr, $rows:expr, |$row:pat_param| [$($bind:expr),+ $(,)?]) => {{
        const SHAPE: $crate::Rows = $crate::Rows::of(&$sql);
        const { assert!(SHAPE.columns == [$(stringify!($bind)),+].len(), "one bind for each column") };
        let mut touched = Ok(0);
        for rows in $rows.chunks(SHAPE.at_once()) {
            let done = $crate::on_engine!($on, |conn, Db, engine| {
                let mut text = $crate::drivers_of_macros::QueryBuilder::<Db>::new(SHAPE.head(engine));
                text.push_values(rows, |mut tuple, $row| {
                    $(tuple.push_bind($bind);)+
                });
                // Not kept as a prepared statement: texts of a thousand rows would push out all others.
                text.push(SHAPE.tail(engine)).build().persistent(false)
                    .execute(conn).await.map(|done| done.rows_affected())
            });
            match done {
                Ok(number) => touched = touched.map(|before| before + number),
                Err(cause) => {
                    touched = Err($crate::StoreError::of($sql.name, cause));
                    break;
                }
            }
        }
        touched
    }};
}
