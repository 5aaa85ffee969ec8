//! What can wait comes on a person's days, after the person's hour, and never in the quiet hours.

use super::decisions::both;
use crate::life::Broken;
use crate::world::World;
use chrono::{DateTime, Datelike, NaiveTime, TimeZone, Utc};
use model::{FleetId, Person, PersonId};
use store::{Reach, Sql, fetch};
use uuid::Uuid;

/// The last attempt at a letter that carries nothing which cannot wait.
const ATTEMPTS: Sql = both(
    "when a letter that can wait went",
    "SELECT l.fleet_id, l.person_id, a.started_at, a.attempt FROM letter AS l
     JOIN letter_attempt AS a ON a.fleet_id = l.fleet_id AND a.letter_id = l.id
     WHERE l.message_id = $1 AND NOT EXISTS (SELECT 1 FROM notice AS n
     WHERE n.fleet_id = l.fleet_id AND n.letter_id = l.id AND n.urgent) ORDER BY a.attempt DESC LIMIT 1",
);

type Row = (Uuid, Uuid, DateTime<Utc>, i64);

/// Where nobody changed anything while couriers were at work, every letter the relay took came when its person wants letters.
pub async fn are_kept(world: &World) -> Result<(), Broken> {
    if !world.record_stood_still {
        return Ok(());
    }
    for taken in &world.relay.taken()[world.looked_at..] {
        let mut tx = world.store().reader(Reach::All).await?;
        let conn = &mut tx.conn();
        let Some((fleet, person, started, attempt)) =
            fetch!(fetch_optional, conn, Row, ATTEMPTS, taken.message_id.as_str())?
        else {
            continue;
        };
        let Some(person) = store::people::find(conn, FleetId(fleet), PersonId(person)).await? else {
            continue;
        };
        if let Some(why) = unwelcome(started, attempt, &person) {
            let how = format!("letter {} went at {started}, {why}", taken.message_id);
            return Err(Broken::new("letters come when they are wanted", how));
        }
    }
    Ok(())
}

/// Why a letter is not wanted then. One that was tried before has had its day and hour.
fn unwelcome(at: DateTime<Utc>, attempt: i64, person: &Person) -> Option<String> {
    let zone = person.zone;
    let local = at.with_timezone(&zone).naive_local();
    // Where a clock is put back an hour comes twice, and only its first pass is asked about.
    zone.from_local_datetime(&local).single()?;
    let time = local.time();
    let within = |(from, to): (NaiveTime, NaiveTime)| {
        if from < to { (from..to).contains(&time) } else { time >= from || time < to }
    };
    if let Some(quiet) = person.quiet_hours.filter(|quiet| within(*quiet)) {
        return Some(format!("{time} there, in the quiet hours {quiet:?}"));
    }
    if attempt > 1 {
        return None;
    }
    if !person.letter_days.contains(local.weekday()) {
        return Some(format!("a {} there, which is no day for letters", local.weekday()));
    }
    (time < person.letter_time).then(|| format!("{time} there, before {}", person.letter_time))
}
