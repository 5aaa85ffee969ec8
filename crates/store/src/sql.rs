//! One statement, written once for two engines.

use crate::Engine;

/// A statement in the words of both engines. Made by [`statements!`](crate::statements) alone.
#[derive(Debug, Clone, Copy)]
pub struct Sql {
    /// Module path and constant: what logs and errors call the statement.
    pub name: &'static str,
    /// What SQLite is asked.
    pub sqlite: &'static str,
    /// What PostgreSQL is asked.
    pub postgres: &'static str,
}

impl Sql {
    /// What that engine is asked.
    pub const fn text(&self, engine: Engine) -> &'static str {
        match engine {
            Engine::Sqlite => self.sqlite,
            Engine::Postgres => self.postgres,
        }
    }
}

/// The most parameters one statement may carry on SQLite (its `SQLITE_MAX_VARIABLE_NUMBER`); PostgreSQL takes 65,535.
const MOST_PARAMETERS: usize = 32_766;

/// How a one-row `INSERT … VALUES ($1, …, $n) …` becomes one of many rows: what stands before and after the tuple.
#[derive(Debug, Clone, Copy)]
pub struct Rows {
    sqlite: (&'static str, &'static str),
    postgres: (&'static str, &'static str),
    /// Columns of a row.
    pub columns: usize,
}

impl Rows {
    /// Splits a one-row insert at its tuple.
    ///
    /// # Panics
    /// When compiling, since [`batch!`](crate::batch) evaluates it in a constant: a statement of another shape does not compile.
    pub const fn of(sql: &Sql) -> Self {
        let (sqlite_head, sqlite_columns, sqlite_tail) = split_at_tuple(sql.sqlite);
        let (postgres_head, postgres_columns, postgres_tail) = split_at_tuple(sql.postgres);
        assert!(sqlite_columns == postgres_columns, "both engines must get the same columns");
        Self {
            sqlite: (sqlite_head, sqlite_tail),
            postgres: (postgres_head, postgres_tail),
            columns: sqlite_columns,
        }
    }

    /// The text before `VALUES`.
    pub const fn head(&self, engine: Engine) -> &'static str {
        match engine {
            Engine::Sqlite => self.sqlite.0,
            Engine::Postgres => self.postgres.0,
        }
    }

    /// The text after the tuple.
    pub const fn tail(&self, engine: Engine) -> &'static str {
        match engine {
            Engine::Sqlite => self.sqlite.1,
            Engine::Postgres => self.postgres.1,
        }
    }

    /// How many rows fit in one statement.
    pub const fn at_once(&self) -> usize {
        MOST_PARAMETERS / self.columns
    }
}

/// Text before `VALUES`, placeholders of the tuple, text after the tuple.
const fn split_at_tuple(text: &'static str) -> (&'static str, usize, &'static str) {
    let values = find(text, b"VALUES (", 0);
    let close = find(text, b")", values);
    let (head, rest) = text.split_at(values);
    let (tuple, _) = rest.split_at(close - values);
    let (_, tail) = text.split_at(close + 1);
    let columns = count(tuple, b'$');
    assert!(columns == count(tuple, b',') + 1, "the tuple of a batch holds bare placeholders only");
    assert!(count(tail, b'$') == 0, "what follows the tuple of a batch takes no parameters");
    (head, columns, tail)
}

const fn find(text: &str, wanted: &[u8], from: usize) -> usize {
    let bytes = text.as_bytes();
    let mut at = from;
    while at + wanted.len() <= bytes.len() {
        let mut same = 0;
        while same < wanted.len() && bytes[at + same] == wanted[same] {
            same += 1;
        }
        if same == wanted.len() {
            return at;
        }
        at += 1;
    }
    panic!("a batch is a statement with `VALUES ($1, …, $n)`")
}

const fn count(text: &str, wanted: u8) -> usize {
    let bytes = text.as_bytes();
    let mut at = 0;
    let mut seen = 0;
    while at < bytes.len() {
        if bytes[at] == wanted {
            seen += 1;
        }
        at += 1;
    }
    seen
}

/// Names statements and collects them in the module's `CATALOGUE`.
///
/// Pieces are joined with one space. A piece marked `sqlite:` or `postgres:` goes to that engine only; `ids: "$2"`
/// stands for the set of ids bound there with [`id_list`](crate::id_list), to be used after `IN`.
/// An optional filter reads `(column = $1 OR $1 IS NULL)` in this order: PostgreSQL takes a parameter's type from where
/// it stands first.
///
/// ```text
/// statements! {
///     OF_VEHICLES = {
///         "SELECT id, vehicle_id FROM paper WHERE fleet_id = $1 AND vehicle_id IN" ids: "$2"
///         "ORDER BY id" postgres: "FOR UPDATE"
///     }
/// }
/// ```
#[macro_export]
macro_rules! statements {
    ($($(#[$doc:meta])* $name:ident = { $($piece:tt)+ })+) => {
        $(
            $(#[$doc])*
            const $name: $crate::Sql = $crate::Sql {
                name: concat!(module_path!(), "::", stringify!($name)),
                sqlite: $crate::sql_text!(sqlite [] $($piece)+),
                postgres: $crate::sql_text!(postgres [] $($piece)+),
            };
        )+
        /// Every statement of this module.
        pub(crate) const CATALOGUE: &[$crate::Sql] = &[$($name),+];
    };
}

/// Joins a statement's pieces for one engine; a part of [`statements!`].
#[doc(hidden)]
#[macro_export]
macro_rules! sql_text {
    ($engine:ident [$($kept:expr,)*]) => { concat!($($kept, " "),*) };
    (sqlite [$($kept:expr,)*] sqlite: $piece:literal $($rest:tt)*) => { $crate::sql_text!(sqlite [$($kept,)* $piece,] $($rest)*) };
    (postgres [$($kept:expr,)*] sqlite: $piece:literal $($rest:tt)*) => { $crate::sql_text!(postgres [$($kept,)*] $($rest)*) };
    (sqlite [$($kept:expr,)*] postgres: $piece:literal $($rest:tt)*) => { $crate::sql_text!(sqlite [$($kept,)*] $($rest)*) };
    (postgres [$($kept:expr,)*] postgres: $piece:literal $($rest:tt)*) => { $crate::sql_text!(postgres [$($kept,)* $piece,] $($rest)*) };
    // One text parameter holds the whole set: a list of placeholders would make each length another statement.
    (sqlite [$($kept:expr,)*] ids: $at:literal $($rest:tt)*) => {
        $crate::sql_text!(sqlite [$($kept,)* concat!("(SELECT unhex(value) FROM json_each(", $at, "))"),] $($rest)*)
    };
    (postgres [$($kept:expr,)*] ids: $at:literal $($rest:tt)*) => {
        $crate::sql_text!(postgres [$($kept,)* concat!("(SELECT value::uuid FROM json_array_elements_text(", $at, "::json))"),] $($rest)*)
    };
    ($engine:ident [$($kept:expr,)*] $piece:literal $($rest:tt)*) => { $crate::sql_text!($engine [$($kept,)* $piece,] $($rest)*) };
}
