//! Every mark is accounted for.

use super::decisions::both;
use crate::life::Broken;
use crate::world::World;
use model::Clock;
use store::{Reach, Sql, fetch};

const WITHOUT_REASON: Sql = both(
    "marks without reason",
    "SELECT item_key, cycle, mark, outcome FROM mark
     WHERE outcome IN ('folded', 'overtaken', 'skipped') AND reason IS NULL",
);

const LEFT: Sql = both(
    "marks left waiting",
    "SELECT item_key, cycle, mark, outcome FROM mark WHERE outcome = 'waiting' AND fires_at <= $1",
);

/// A notice that was withdrawn before any letter carried it has told nobody.
const TOLD_TO_NOBODY: Sql = both(
    "marks told to nobody",
    "SELECT m.item_key, m.cycle, m.mark, m.outcome FROM mark AS m
     WHERE m.outcome = 'told' AND m.reason IS NULL AND NOT EXISTS (SELECT 1 FROM notice AS n
     WHERE n.fleet_id = m.fleet_id AND n.vehicle_id = m.vehicle_id AND n.item_key = m.item_key
     AND n.cycle = m.cycle AND n.mark = m.mark AND (n.state <> 'withdrawn' OR n.letter_id IS NOT NULL))",
);

type Row = (String, String, String, String);

/// What was not told says why.
pub async fn each_has_its_reason(world: &World) -> Result<(), Broken> {
    let mut tx = world.store().reader(Reach::All).await?;
    none(&fetch!(fetch_all, &mut tx.conn(), Row, WITHOUT_REASON)?, "a mark that was not told says why")
}

/// Each mark whose moment has come is settled, and one that is told was told to somebody.
pub async fn each_is_accounted_for(world: &World) -> Result<(), Broken> {
    let mut tx = world.store().reader(Reach::All).await?;
    let left = fetch!(fetch_all, &mut tx.conn(), Row, LEFT, world.clock.now())?;
    none(&left, "every mark is accounted for")?;
    none(&fetch!(fetch_all, &mut tx.conn(), Row, TOLD_TO_NOBODY)?, "a mark that is told was told to somebody")
}

fn none(found: &[Row], law: &'static str) -> Result<(), Broken> {
    match found.first() {
        Some(mark) => Err(Broken::new(law, format!("{mark:?} and {} more", found.len() - 1))),
        None => Ok(()),
    }
}
