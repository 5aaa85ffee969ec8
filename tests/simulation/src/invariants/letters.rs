//! Letters: no copy too many, none lost, none to a stranger.

use super::decisions::both;
use crate::life::Broken;
use crate::world::World;
use std::collections::{BTreeMap, BTreeSet};
use store::{Reach, Sql, fetch};

const UNCERTAIN: Sql = both(
    "uncertain attempts at a letter",
    "SELECT COUNT(*) FROM letter AS l JOIN letter_attempt AS a ON a.fleet_id = l.fleet_id AND a.letter_id = l.id
     WHERE l.message_id = $1 AND a.outcome = 'uncertain'",
);

const SENT: Sql =
    both("letters sent", "SELECT message_id FROM letter WHERE state = 'sent' ORDER BY message_id");

const UNDER_WAY: Sql = both(
    "letters under way",
    "SELECT message_id, state FROM letter
     WHERE state IN ('waiting', 'retry', 'uncertain', 'claimed', 'sending') ORDER BY message_id",
);

const READERS: Sql = both(
    "whom a letter goes to",
    "SELECT COUNT(*) FROM letter AS l JOIN person_details AS d ON d.fleet_id = l.fleet_id AND d.person_id = l.person_id
     WHERE l.message_id = $1",
);

/// Where nobody was erased while couriers were at work, no letter went to somebody who is gone.
pub async fn none_goes_to_who_is_gone(world: &World) -> Result<(), Broken> {
    if !world.record_stood_still {
        return Ok(());
    }
    for taken in &world.relay.taken()[world.looked_at..] {
        let mut tx = world.store().reader(Reach::All).await?;
        let (readers,) = fetch!(fetch_one, &mut tx.conn(), (i64,), READERS, taken.message_id.as_str())?;
        if readers == 0 {
            let how = format!("{} went to {}, who is erased", taken.message_id, taken.to);
            return Err(Broken::new("nobody is written to who is gone", how));
        }
    }
    Ok(())
}

fn copies(world: &World) -> BTreeMap<String, i64> {
    let mut copies = BTreeMap::new();
    for taken in world.relay.taken() {
        *copies.entry(taken.message_id.clone()).or_default() += 1;
    }
    copies
}

/// A copy more only where an attempt ended without an answer.
pub async fn no_copy_too_many(world: &mut World) -> Result<(), Broken> {
    for (message_id, copies) in copies(world).into_iter().filter(|(_, copies)| *copies > 1) {
        let mut tx = world.store().reader(Reach::All).await?;
        let (uncertain,) = fetch!(fetch_one, &mut tx.conn(), (i64,), UNCERTAIN, message_id.as_str())?;
        if copies > 1 + uncertain {
            let how = format!("{copies} copies of {message_id}, {uncertain} uncertain attempts");
            return Err(Broken::new("copies of a letter are at most 1 + uncertain", how));
        }
    }
    Ok(())
}

/// Copies of one letter are the same bytes; a letter names vehicles of the fleet of its recipient alone.
pub fn each_stays_in_its_fleet(world: &World) -> Result<(), Broken> {
    let taken = world.relay.taken();
    for taken in &taken[world.looked_at..] {
        for fleet in &world.fleets {
            let domain = format!("@{}.example", fleet.letter.to_ascii_lowercase());
            let label = format!("{}-van-", fleet.letter);
            if !taken.to.ends_with(&domain) && taken.text.contains(&label) {
                let how = format!("a letter to {} names {label}...", taken.to);
                return Err(Broken::new("nothing of a fleet is visible to another", how));
            }
        }
    }
    let mut texts: BTreeMap<&str, &str> = BTreeMap::new();
    for (place, one) in taken.iter().enumerate() {
        let before = texts.insert(&one.message_id, &one.text);
        if place >= world.looked_at && before.is_some_and(|before| before != one.text) {
            let how = format!("{} says two things", one.message_id);
            return Err(Broken::new("a second copy is the same bytes", how));
        }
    }
    Ok(())
}

/// A letter that is said to be sent was taken.
pub async fn what_is_sent_was_taken(world: &World) -> Result<(), Broken> {
    let mut tx = world.store().reader(Reach::All).await?;
    let sent = fetch!(fetch_all, &mut tx.conn(), (String,), SENT)?;
    let taken: BTreeSet<String> = copies(world).into_keys().collect();
    match sent.into_iter().find(|(message_id,)| !taken.contains(message_id)) {
        Some((lost,)) => Err(Broken::new("letters go at least once", format!("{lost} never came"))),
        None => Ok(()),
    }
}

/// Four days after the last fault no letter waits for anything.
pub async fn none_is_under_way(world: &World) -> Result<(), Broken> {
    let mut tx = world.store().reader(Reach::All).await?;
    let under_way = fetch!(fetch_all, &mut tx.conn(), (String, String), UNDER_WAY)?;
    match under_way.first() {
        Some(letter) => Err(Broken::new("letters arrive or are given up", format!("{letter:?}"))),
        None => Ok(()),
    }
}
