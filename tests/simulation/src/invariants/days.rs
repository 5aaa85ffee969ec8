//! Letters that look ahead to a working day: one a person and day, never empty, and none once its work has begun.

use super::decisions::both;
use crate::life::Broken;
use crate::world::World;
use chrono::{DateTime, NaiveDate, NaiveTime, TimeZone, Utc};
use model::{FleetId, LetterId, PersonId, Role};
use store::{Reach, Sql, fetch};
use uuid::Uuid;

/// When a day's work has begun (the house setting that the documents name, not the program's).
const BEGUN: NaiveTime = match NaiveTime::from_hms_opt(9, 0, 0) {
    Some(time) => time,
    None => NaiveTime::MIN,
};

const CARRIED: Sql = both(
    "days that a letter looks ahead to",
    "SELECT l.fleet_id, l.person_id, l.id, l.kind, d.day, (SELECT MAX(a.started_at) FROM letter_attempt AS a
     WHERE a.fleet_id = l.fleet_id AND a.letter_id = l.id), (SELECT COUNT(*) FROM letter_attempt AS a
     WHERE a.fleet_id = l.fleet_id AND a.letter_id = l.id AND a.outcome = 'uncertain') FROM letter AS l
     JOIN digest AS d ON d.fleet_id = l.fleet_id AND d.letter_id = l.id AND d.kind = 'round'
     WHERE l.message_id = $1",
);

type Row = (Uuid, Uuid, Uuid, String, NaiveDate, DateTime<Utc>, i64);

/// Every letter the relay took that looks ahead to a day.
pub async fn are_told_once_and_in_time(world: &mut World) -> Result<(), Broken> {
    let new: Vec<(String, String)> = world.relay.taken()[world.looked_at..]
        .iter()
        .map(|taken| (taken.message_id.clone(), taken.text.clone()))
        .collect();
    for (message_id, text) in new {
        let mut tx = world.store().reader(Reach::All).await?;
        let rows = fetch!(fetch_all, &mut tx.conn(), Row, CARRIED, message_id.as_str())?;
        drop(tx);
        for row in rows {
            world.tally.count("letter: looks ahead to a day");
            is_told_once(world, &row)?;
            says_something(world, &row, &text)?;
            is_in_time(world, &row).await?;
        }
    }
    Ok(())
}

fn is_told_once(world: &mut World, (_, person, letter, _, day, ..): &Row) -> Result<(), Broken> {
    let letter = LetterId(*letter);
    let before = world.carried.insert(format!("day {person} {day}"), letter);
    match before.filter(|before| *before != letter) {
        Some(before) => {
            let how = format!("{day} of {person} went in letter {before} and in letter {letter}");
            Err(Broken::new("one letter a person and working day", how))
        }
        None => Ok(()),
    }
}

fn says_something(world: &World, (fleet, _, letter, ..): &Row, text: &str) -> Result<(), Broken> {
    let of_fleet = world.fleets.iter().find(|one| one.id.0 == *fleet);
    let names_a_van = of_fleet.is_some_and(|one| text.contains(&format!("{}-van-", one.letter)));
    if names_a_van {
        return Ok(());
    }
    Err(Broken::new("no list is empty", format!("letter {letter} names no vehicle")))
}

/// One that may have been taken before is repeated. Where nobody changed anything while couriers were at work, whose it is
/// and where the person lives is as it was then.
async fn is_in_time(world: &World, row: &Row) -> Result<(), Broken> {
    let (fleet, person, letter, kind, day, started, uncertain) = row;
    if !world.record_stood_still || *uncertain > 0 {
        return Ok(());
    }
    let mut tx = world.store().reader(Reach::All).await?;
    let found = store::people::find(&mut tx.conn(), FleetId(*fleet), PersonId(*person)).await?;
    let Some(person) = found else { return Ok(()) };
    if person.role != Role::Technician {
        let how = format!("letter {letter} went to a {}", person.role);
        return Err(Broken::new("a technician's day is told to technicians", how));
    }
    let begun = person.zone.from_local_datetime(&day.and_time(BEGUN)).earliest();
    if begun.is_some_and(|begun| *started >= begun) {
        let how = format!("letter {letter} ({kind}) about {day} in {} went at {started}", person.zone);
        return Err(Broken::new("no day is told once its work has begun", how));
    }
    Ok(())
}
