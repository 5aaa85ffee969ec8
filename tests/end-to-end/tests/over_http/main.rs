//! The whole program over HTTP, on SQLite and on PostgreSQL.

mod batches;
mod conditional;
mod doors;
mod errors;
mod held;
mod horizons;
mod idempotency;
mod junk;
mod known;
mod letters;
mod limits;
mod lists;
mod lives;
mod names;
mod part_warranties;
mod replies;
mod scopes;
mod secrets;
mod unreachable;
mod used_fleet;
mod walls;
mod written;
