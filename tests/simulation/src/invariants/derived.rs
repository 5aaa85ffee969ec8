//! Derived state is what the facts give.

use crate::life::Broken;
use crate::world::World;
use clerk::rebuild;
use model::VehicleId;

/// What `ostler rebuild --verify` looks at: every row of every vehicle whose horizon is not behind. In calm none is.
pub async fn is_what_the_facts_give(world: &World, is_calm: bool) -> Result<(), Broken> {
    for fleet in &world.fleets {
        let mut after: Option<VehicleId> = None;
        loop {
            let proof = rebuild::prove(&world.onlooker, fleet.id, after).await?;
            if let Some((vehicle, difference)) = proof.differences.first() {
                let how =
                    format!("vehicle {vehicle}: {difference:?} and {} more", proof.differences.len() - 1);
                return Err(Broken::new("derived state equals a rebuild of the facts", how));
            }
            if let Some(behind) = proof.behind.first().filter(|_| is_calm) {
                return Err(Broken::new(
                    "horizons are renewed within an hour",
                    format!("{behind} is behind"),
                ));
            }
            after = proof.next;
            if after.is_none() {
                break;
            }
        }
    }
    Ok(())
}

/// No rule falls due before the day on which it was last done.
pub async fn nothing_is_due_before_it_was_done(world: &World) -> Result<(), Broken> {
    for fleet in &world.fleets {
        let van = world.dice.place(fleet.vans.len().max(1));
        let Some(van) = fleet.vans.get(van) else { continue };
        let Some(outlook) = clerk::horizons::of(&world.onlooker, fleet.id, van.id).await? else { continue };
        for item in &outlook.horizon.items {
            let done = outlook
                .facts
                .services
                .iter()
                .filter(|service| service.rules.iter().any(|rule| item.key.0 == format!("rule:{rule}")));
            let last = done.map(|service| service.done_on).max();
            if let (Some(last), Some(limit)) = (last, item.date_limit)
                && limit < last
            {
                let how = format!("{} of {}: due on {limit}, done on {last}", item.key.0, van.label);
                return Err(Broken::new("no due date lies before the last done date", how));
            }
        }
    }
    Ok(())
}
