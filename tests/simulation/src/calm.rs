//! Calm: nothing goes wrong any more, and everything must be settled in time.

use crate::invariants;
use crate::life::Broken;
use crate::parts::{self, Cast};
use crate::steps;
use crate::world::World;
use chrono::TimeDelta;

/// Seconds between looks, an hour in all.
const AN_HOUR: [i64; 12] = [1, 20, 20, 19, 60, 120, 240, 420, 600, 600, 900, 600];

/// From this look on, every lease of those who died before has run out.
const LEASES_OVER: usize = 2;

/// So often what was not answered is asked for again before somebody must have answered.
const TRIES: usize = 10;

/// An hour without faults: every errand is answered, every worker has its turns.
///
/// # Errors
/// What breaks on the way.
pub async fn an_hour(world: &mut World) -> Result<(), Broken> {
    world.say("calm begins");
    steps::put_clock_right(world);
    world.relay_away_until = None;
    world.relay.set_away(false);
    world.relay.set_faulty(0);
    world.start_programs().await?;
    for _ in 0..TRIES {
        let errands = std::mem::take(&mut world.errands);
        if errands.is_empty() {
            break;
        }
        parts::play(world, Cast { errands, ..Cast::default() }, false).await?;
    }
    if let Some(errand) = world.errands.first() {
        return Err(Broken::new("whoever asks again is answered", format!("{errand:?}")));
    }
    for (place, seconds) in AN_HOUR.into_iter().enumerate() {
        world.clock.pass(TimeDelta::seconds(seconds));
        look(world).await?;
        if place >= LEASES_OVER {
            invariants::in_calm(world).await?;
        }
    }
    settle(world).await
}

/// Four days more: longer than the longest wait between two attempts at a letter, and than a weekend on which none comes.
///
/// # Errors
/// What breaks on the way.
pub async fn four_days(world: &mut World) -> Result<(), Broken> {
    for _ in 0..24 {
        world.clock.pass(TimeDelta::hours(4));
        look(world).await?;
    }
    settle(world).await
}

/// What a courier takes back asks for a renewal: schedulers look last.
async fn settle(world: &mut World) -> Result<(), Broken> {
    for _ in 0..3 {
        world.clock.pass(TimeDelta::seconds(5));
        look(world).await?;
    }
    parts::play(world, Cast { schedulers: true, turns: 1, ..Cast::default() }, false).await
}

async fn look(world: &mut World) -> Result<(), Broken> {
    world.record_stood_still = false;
    parts::play(world, Cast { schedulers: true, turns: 1, ..Cast::default() }, false).await?;
    parts::play(world, Cast { couriers: true, turns: 1, ..Cast::default() }, false).await
}
