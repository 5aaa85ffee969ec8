//! Queues: empty within an hour without faults; leases end.

use super::decisions::both;
use crate::life::Broken;
use crate::world::World;
use chrono::{DateTime, TimeDelta, Utc};
use model::Clock;
use store::{Reach, Sql, fetch};
use uuid::Uuid;

/// How long the lease on a vehicle, and that on a letter, holds (the design's numbers, not the program's).
const LEASES: [TimeDelta; 2] = [TimeDelta::seconds(15), TimeDelta::minutes(15)];

/// So much longer than its lease no row may stay leased.
const SLACK: TimeDelta = TimeDelta::seconds(60);

const VEHICLES: Sql = both(
    "vehicles left over",
    "SELECT vehicle_id, wakes_at FROM vehicle_state WHERE wakes_at <= $1 OR done_version < needed_version",
);

const NOTICES: Sql = both(
    "notices left over",
    "SELECT id, not_before FROM notice WHERE state = 'waiting' AND not_before <= $1",
);

const LETTERS: Sql = both(
    "letters left over",
    "SELECT id, next_attempt_at FROM letter WHERE state IN ('waiting', 'retry', 'uncertain')
     AND next_attempt_at <= $1 UNION ALL
     SELECT id, claimed_until FROM letter WHERE state IN ('claimed', 'sending')
     AND (claimed_until < $1 OR claimed_until > $2)",
);

const LEASED: [Sql; 2] = [
    both(
        "vehicles leased too long",
        "SELECT vehicle_id, claimed_until FROM vehicle_state WHERE claimed_until > $1",
    ),
    both("letters leased too long", "SELECT id, claimed_until FROM letter WHERE claimed_until > $1"),
];

const LATE: [Sql; 2] = [
    both(
        "vehicles that nobody looked after",
        "SELECT vehicle_id, wakes_at FROM vehicle_state WHERE wakes_at <= $1 AND done_version >= needed_version",
    ),
    both(
        "marks that nobody decided",
        "SELECT vehicle_id, fires_at FROM mark WHERE outcome = 'waiting' AND fires_at <= $1",
    ),
];

/// How late a decision may come.
const LATENESS: TimeDelta = TimeDelta::seconds(30);

type Row = (Uuid, Option<DateTime<Utc>>);

/// Nothing whose time has come is left lying.
pub async fn all_are_empty(world: &World) -> Result<(), Broken> {
    let now = world.clock.now();
    let mut tx = world.store().reader(Reach::All).await?;
    let conn = &mut tx.conn();
    let beyond = now + LEASES[1] + SLACK;
    let left = [
        (VEHICLES, fetch!(fetch_all, conn, Row, VEHICLES, now)?),
        (NOTICES, fetch!(fetch_all, conn, Row, NOTICES, now)?),
        (LETTERS, fetch!(fetch_all, conn, Row, LETTERS, now, beyond)?),
    ];
    for (statement, left) in left {
        if let Some((id, since)) = left.first() {
            let how = format!("{}: {} of them, such as {id} since {since:?}", statement.name, left.len());
            return Err(Broken::new("queues are empty an hour after the last fault", how));
        }
    }
    Ok(())
}

/// Where schedulers look every few seconds, no decision is later than it may be, whoever died with it in hand.
pub async fn nothing_is_late(world: &World) -> Result<(), Broken> {
    let mut tx = world.store().reader(Reach::All).await?;
    let conn = &mut tx.conn();
    for statement in LATE {
        let left = fetch!(fetch_all, conn, Row, statement, world.clock.now() - LATENESS)?;
        if let Some((id, since)) = left.first() {
            let how = format!("{}: {} of them, such as {id} since {since:?}", statement.name, left.len());
            return Err(Broken::new("decisions come within half a minute", how));
        }
    }
    Ok(())
}

/// No row is leased for longer than its lease and a minute. After a clock was wrong its leases may stand in rows whose
/// time has not come: nobody minds them.
pub async fn no_lease_is_too_long(world: &World) -> Result<(), Broken> {
    if world.tally.of("time: clock put right") > 0 || world.clock_error != TimeDelta::zero() {
        return Ok(());
    }
    let mut tx = world.store().reader(Reach::All).await?;
    let conn = &mut tx.conn();
    for (statement, lease) in LEASED.into_iter().zip(LEASES) {
        let leased = fetch!(fetch_all, conn, Row, statement, world.clock.now() + lease + SLACK)?;
        if let Some((id, until)) = leased.first() {
            let how = format!("{}: {id} until {until:?}", statement.name);
            return Err(Broken::new("no row is leased past its lease and a minute", how));
        }
    }
    Ok(())
}
