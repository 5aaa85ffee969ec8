//! One decision: nobody is told one thing of one cycle twice.

use crate::life::Broken;
use crate::world::World;
use model::LetterId;
use store::{Reach, Sql, fetch};
use uuid::Uuid;

const TWICE: Sql = both(
    "decisions made twice",
    "SELECT item_key, cycle, mark, COUNT(*) FROM notice
     GROUP BY fleet_id, vehicle_id, item_key, cycle, mark, person_id HAVING COUNT(*) > 1",
);

const CARRIED: Sql = both(
    "notices of a letter",
    "SELECT n.vehicle_id, n.item_key, n.cycle, n.mark, n.person_id, l.id FROM letter AS l
     LEFT JOIN notice AS n ON n.fleet_id = l.fleet_id AND n.letter_id = l.id WHERE l.message_id = $1",
);

const DIGESTS: Sql = both(
    "digests of a letter",
    "SELECT COUNT(*) FROM digest AS d JOIN letter AS l ON l.fleet_id = d.fleet_id AND l.id = d.letter_id
     WHERE l.message_id = $1",
);

/// A statement that both engines understand.
pub const fn both(name: &'static str, text: &'static str) -> Sql {
    Sql { name, sqlite: text, postgres: text }
}

/// No decision is made twice.
pub async fn none_is_made_twice(world: &World) -> Result<(), Broken> {
    let mut tx = world.store().reader(Reach::All).await?;
    let twice = fetch!(fetch_all, &mut tx.conn(), (String, String, String, i64), TWICE)?;
    match twice.first() {
        Some(found) => Err(Broken::new("one decision, for ever", format!("{found:?}"))),
        None => Ok(()),
    }
}

type Row = (Option<Uuid>, Option<String>, Option<String>, Option<String>, Option<Uuid>, Uuid);

/// What a letter carried that the relay took is in no other, and stays in it.
pub async fn none_is_carried_twice(world: &mut World) -> Result<(), Broken> {
    let new: Vec<String> =
        world.relay.taken()[world.looked_at..].iter().map(|t| t.message_id.clone()).collect();
    for message_id in new {
        let mut tx = world.store().reader(Reach::All).await?;
        let rows = fetch!(fetch_all, &mut tx.conn(), Row, CARRIED, message_id.as_str())?;
        let (digests,) = fetch!(fetch_one, &mut tx.conn(), (i64,), DIGESTS, message_id.as_str())?;
        drop(tx);
        let Some((_, _, _, _, _, letter)) = rows.first() else {
            return Err(Broken::new(
                "bytes are kept before they are sent",
                format!("no letter {message_id}"),
            ));
        };
        let letter = LetterId(*letter);
        for (vehicle, item, cycle, mark, person, _) in rows {
            let (Some(vehicle), Some(item), Some(cycle), Some(mark), Some(person)) =
                (vehicle, item, cycle, mark, person)
            else {
                // A list of the week alone rests on no notice.
                if digests > 0 {
                    continue;
                }
                let how = format!("letter {letter} was taken by the relay and carries nothing any more");
                return Err(Broken::new("what was told stays told", how));
            };
            let decision = format!("{vehicle} {item} {cycle} {mark} {person}");
            let before = world.carried.insert(decision.clone(), letter);
            if let Some(before) = before.filter(|before| *before != letter) {
                let how = format!("{decision} went in letter {before} and in letter {letter}");
                return Err(Broken::new("nothing is told in two letters", how));
            }
        }
    }
    Ok(())
}
