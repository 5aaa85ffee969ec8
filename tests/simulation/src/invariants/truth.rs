//! What is no longer true when its turn comes is not sent.

use super::decisions::both;
use crate::life::Broken;
use crate::world::World;
use model::{Clock, FleetId, VehicleId};
use store::{Reach, Sql, fetch};
use uuid::Uuid;

const NOTICES: Sql = both(
    "what a letter said",
    "SELECT n.fleet_id, n.vehicle_id, n.item_key, n.cycle, n.mark, (SELECT COUNT(*) FROM letter_attempt AS a
     WHERE a.fleet_id = l.fleet_id AND a.letter_id = l.id AND a.outcome = 'uncertain') FROM letter AS l
     JOIN notice AS n ON n.fleet_id = l.fleet_id AND n.letter_id = l.id WHERE l.message_id = $1",
);

type Row = (Uuid, Uuid, String, String, String, i64);

/// Where nothing changed the record while couriers were at work, every letter the relay took said what is so: its marks
/// stand in the horizon that the facts give now, and have come. One that may have been taken before is repeated as long
/// as anything in it is so.
pub async fn what_was_sent_was_true(world: &World) -> Result<(), Broken> {
    if !world.record_stood_still {
        return Ok(());
    }
    for taken in &world.relay.taken()[world.looked_at..] {
        let mut tx = world.store().reader(Reach::All).await?;
        let rows = fetch!(fetch_all, &mut tx.conn(), Row, NOTICES, taken.message_id.as_str())?;
        drop(tx);
        let mut untrue = Vec::new();
        let (all, mut was_uncertain) = (rows.len(), false);
        for (fleet, vehicle, item, cycle, mark, uncertain) in rows {
            was_uncertain |= uncertain > 0;
            if !stands(world, (FleetId(fleet), VehicleId(vehicle)), [&item, &cycle, &mark]).await? {
                untrue.push(format!("{vehicle} {item} {cycle} {mark}"));
            }
        }
        let may_go = untrue.is_empty() || was_uncertain && untrue.len() < all;
        if !may_go {
            let how = format!("letter {} said {}", taken.message_id, untrue.join(", "));
            return Err(Broken::new("what is no longer true is not sent", how));
        }
    }
    Ok(())
}

async fn stands(world: &World, of: (FleetId, VehicleId), key: [&str; 3]) -> Result<bool, Broken> {
    let Some(outlook) = clerk::horizons::of(&world.onlooker, of.0, of.1).await? else { return Ok(false) };
    let [item, cycle, mark] = key;
    let horizon = &outlook.horizon;
    let items = horizon.items.iter().map(|one| (&one.key.0, &one.cycle.0, &one.marks));
    let windows = horizon.windows.iter().map(|one| (&one.key.0, &one.cycle.0, &one.marks));
    let now = world.clock.now();
    // What is told for want of an answer stands on what was told first.
    let mark = match mark {
        "do_not_drive_next" => "do_not_drive",
        "escalated" => "overdue",
        own => own,
    };
    let has_come = |marks: &[model::horizon::Mark]| marks.iter().any(|m| m.code == mark && m.at <= now);
    Ok(items.chain(windows).any(|(key, of, marks)| key == item && of == cycle && has_come(marks)))
}
