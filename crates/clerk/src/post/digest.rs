//! Digests: a manager's list of everything there is to do, once a week, and a technician's of what is to be seen to on a
//! working day.

mod found;

use super::gathering::{Subject, VehicleCard};
use crate::error::ActError;
use crate::unreachable::Unreachable;
use chrono::{DateTime, NaiveDate, Utc};
use found::{Found, MOST};
use model::{DigestKind, FleetId, Person, PersonId, Role, derived_id};
use store::Conn;
use store::digests::DigestRow;

/// What a digest looks ahead to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ahead {
    /// The week that begins on this Monday.
    Week(NaiveDate),
    /// This working day.
    Day(NaiveDate),
}

impl Ahead {
    /// What these look ahead to, which are all of one kind; of several that waited, the last.
    fn of(rows: &[DigestRow]) -> Option<Self> {
        let last = rows.iter().max_by_key(|row| row.day)?;
        DigestKind::from_word(&last.kind).map(|kind| match kind {
            DigestKind::Week => Self::Week(last.day),
            DigestKind::Round => Self::Day(last.day),
        })
    }
}

/// Whether its person still has a use for a digest: for the list of a week as a manager, and for that of a day as a
/// technician until the day's work begins.
fn is_wanted(row: &DigestRow, person: &Person, now: DateTime<Utc>) -> bool {
    let Some(kind) = DigestKind::from_word(&row.kind) else { return false };
    let is_of_use = match kind {
        DigestKind::Week => person.role == Role::Manager,
        DigestKind::Round => person.role == Role::Technician && now < person.work_begins(row.day),
    };
    is_of_use && !person.declines(kind.letter())
}

/// Something in a digest.
#[derive(Debug, Clone)]
pub struct Listed {
    /// The vehicle.
    pub vehicle: VehicleCard,
    /// What it is about.
    pub subject: Subject,
    /// What was measured or found, in one sentence, for a condition.
    pub reason: Option<String>,
}

/// How a person's vehicles stand, in numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Tally {
    /// Vehicles that must not be driven.
    pub do_not_drive: u32,
    /// Items overdue.
    pub overdue: u32,
    /// Vehicles off the road that need something.
    pub off_road: u32,
    /// Readings of the fleet held until somebody decides.
    pub held: u32,
    /// Odometer readings wanted.
    pub readings_wanted: u32,
}

/// What a person's digest says; nothing where none has come due.
#[derive(Debug, Clone, Default)]
pub struct Digest {
    pub(super) rows: Vec<DigestRow>,
    /// What it lists.
    pub listed: Vec<Listed>,
    /// How the vehicles stand.
    pub tally: Tally,
    /// For a manager: people whom no letter reaches.
    pub unreachable: Vec<Unreachable>,
    names: Vec<String>,
}

impl Digest {
    /// What the digests of a person say that have come due by `now`.
    pub(super) async fn of(
        conn: &mut Conn<'_>,
        fleet: FleetId,
        person: &Person,
        now: DateTime<Utc>,
    ) -> Result<Self, ActError> {
        let waiting = store::digests::waiting_for(conn, fleet, person.id, now).await?;
        let (rows, unwanted): (Vec<_>, Vec<_>) =
            waiting.into_iter().partition(|row| is_wanted(row, person, now));
        store::digests::settle_empty(conn, fleet, &unwanted, now).await?;
        let Some(ahead) = Ahead::of(&rows) else { return Ok(Self::default()) };
        let found = Found::of(conn, fleet, person, ahead, now).await?;
        let names = found.names(now);
        if names.is_empty() {
            store::digests::settle_empty(conn, fleet, &rows, now).await?;
            return Ok(Self::default());
        }
        let held = store::derived::held(conn, fleet, None, MOST).await?.len();
        let tally = found.tally(held, now);
        let unreachable = found.unreachable.clone();
        Ok(Self { rows, listed: found.listed(conn, fleet).await?, tally, unreachable, names })
    }

    /// Whether there is nothing in it.
    pub(super) fn is_empty(&self) -> bool {
        self.listed.is_empty() && self.unreachable.is_empty()
    }

    /// What it looks ahead to, if one has come due.
    pub fn ahead(&self) -> Option<Ahead> {
        Ahead::of(&self.rows)
    }

    /// What it was made of, in few characters: another list has another.
    pub(super) fn told(&self) -> String {
        told(&self.names)
    }
}

fn told(names: &[String]) -> String {
    let parts: Vec<&str> = names.iter().map(String::as_str).collect();
    derived_id(&parts).to_string()
}

/// Whether what the digests were made of still stands.
pub(super) async fn still_stands(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    person: &Person,
    digests: &[DigestRow],
    now: DateTime<Utc>,
) -> Result<bool, ActError> {
    let Some(ahead) = Ahead::of(digests).filter(|_| digests.iter().all(|row| is_wanted(row, person, now)))
    else {
        return Ok(false);
    };
    let names = Found::of(conn, fleet, person, ahead, now).await?.names(now);
    let told = told(&names);
    Ok(!names.is_empty() && digests.iter().all(|digest| digest.told.as_ref() == Some(&told)))
}

/// Whoever has no address has no use for a digest.
pub(super) async fn settle_unwanted(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    person: PersonId,
    now: DateTime<Utc>,
) -> Result<(), ActError> {
    let rows = store::digests::waiting_for(conn, fleet, person, now).await?;
    store::digests::settle_empty(conn, fleet, &rows, now).await?;
    Ok(())
}
