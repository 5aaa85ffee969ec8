//! For tests only: a store on each engine, time and chance under control.
//!
//! A story about the store is written once, with [`on_both_engines!`], and told on SQLite and on PostgreSQL.

pub mod chance;
pub mod clock;
pub mod post;
pub mod postgres;
pub mod spoilt;
pub mod sqlite;
pub mod world;

pub use chance::SeededChance;
pub use clock::FakeClock;
pub use world::World;

use store::Store;

/// Makes two tests of each story: `name::on_sqlite` (in memory) and `name::on_postgres` (a database of its own).
///
/// ```text
/// testkit::on_both_engines! {
///     async fn a_fleet_is_found_by_its_id(store: Store) {
///         keep(&store, &fleet(1)).await;
///         assert_eq!(find(&store, fleet(1).id).await, Some(fleet(1)));
///     }
/// }
/// ```
#[macro_export]
macro_rules! on_both_engines {
    ($($(#[$doc:meta])* async fn $story:ident($store:ident: Store) $body:block)+) => {$(
        $(#[$doc])*
        async fn $story($store: ::store::Store) $body

        mod $story {
            #[test]
            fn on_sqlite() {
                $crate::on_sqlite(super::$story);
            }

            #[test]
            fn on_postgres() {
                $crate::on_postgres(super::$story);
            }
        }
    )+};
}

/// Tells the story on a new SQLite store in memory.
///
/// # Panics
/// When the story does, or the store cannot be made.
pub fn on_sqlite<Told: Future<Output = ()>>(story: impl FnOnce(Store) -> Told) {
    tell(async { story(sqlite::in_memory().await).await });
}

/// Tells the story on a new PostgreSQL database, which is dropped afterwards.
///
/// # Panics
/// When the story does, or PostgreSQL is missing.
pub fn on_postgres<Told: Future<Output = ()>>(story: impl FnOnce(Store) -> Told) {
    let database = postgres::Database::fresh();
    tell(async { story(database.open().await).await });
}

/// Tells a story that needs both engines, or none: waits for it on a runtime of one thread.
///
/// # Panics
/// When the story does.
pub fn tell<T>(story: impl Future<Output = T>) -> T {
    tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .expect("a runtime of one thread needs nothing that can be missing")
        .block_on(story)
}
