//! Nothing of a fleet is visible to another.

use super::decisions::both;
use crate::life::Broken;
use crate::world::World;
use store::{Engine, Reach, Sql, fetch};

/// Rows of others that a transaction of one fleet sees.
const OTHERS: [Sql; 5] = [
    both("vehicles of others", "SELECT COUNT(*) FROM vehicle WHERE fleet_id <> $1"),
    both("readings of others", "SELECT COUNT(*) FROM odometer_reading WHERE fleet_id <> $1"),
    both("marks of others", "SELECT COUNT(*) FROM mark WHERE fleet_id <> $1"),
    both("notices of others", "SELECT COUNT(*) FROM notice WHERE fleet_id <> $1"),
    both("letters of others", "SELECT COUNT(*) FROM letter WHERE fleet_id <> $1"),
];

/// On PostgreSQL not even a statement without a fleet in it sees another's rows; on both engines no vehicle of a fleet can
/// be looked at from the other.
pub async fn no_fleet_sees_another(world: &World) -> Result<(), Broken> {
    let law = "nothing of a fleet is visible to another";
    for (fleet, other) in [(0, 1), (1, 0)] {
        let (fleet, other) = (&world.fleets[fleet], &world.fleets[other]);
        let foreign = other.vans[world.dice.place(other.vans.len())].id;
        if clerk::horizons::of(&world.onlooker, fleet.id, foreign).await?.is_some() {
            return Err(Broken::new(law, format!("the horizon of {foreign}")));
        }
        if world.place.engine() == Engine::Postgres {
            let mut tx = world.store().reader(Reach::Fleet(fleet.id)).await?;
            for statement in OTHERS {
                let (seen,) = fetch!(fetch_one, &mut tx.conn(), (i64,), statement, fleet.id.0)?;
                if seen > 0 {
                    return Err(Broken::new(law, format!("{seen} {}", statement.name)));
                }
            }
        }
    }
    Ok(())
}
