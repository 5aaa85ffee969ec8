//! What a person does by a signed link, without being signed in.
//!
//! Whether a link was signed here, and still holds, is checked before. Who is erased, or has a duty that does not allow it,
//! does nothing; whatever is done is recorded as done by that person by way of a link, and only once.

use crate::error::ActError;
use crate::organisation::{PersonChange, change_person};
use crate::post::{Subject, VehicleCard, card_of, reason};
use crate::replies::{self, Topic};
use crate::{Act, Clerk};
use chrono::{DateTime, NaiveDate, Utc};
use model::{Actor, ActorKind, Fleet, FleetId, OptionalLetter, Person, PersonId};
use store::derived::SubjectKind;
use store::{Conn, Reach};

/// Somebody else may change a person at the same moment; so many times it is tried anew.
const TRIES: u32 = 5;

/// Whose link it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Link {
    /// The fleet.
    pub fleet: FleetId,
    /// Whom it was sent to.
    pub person: PersonId,
    /// When it was made: what was said before answered something else.
    pub issued_at: DateTime<Utc>,
}

/// What became of a press of a button.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pressed {
    /// It did what it says.
    Now,
    /// That had been done before, and nothing was changed.
    Before,
}

/// What a link about an item leads to.
#[derive(Debug, Clone)]
pub struct Looked {
    /// The fleet.
    pub fleet: Fleet,
    /// Who holds the link.
    pub person: Person,
    /// The vehicle.
    pub vehicle: VehicleCard,
    /// What it is about, as it stands now; none once its cycle is over.
    pub subject: Option<Subject>,
    /// What was measured or found, for a condition.
    pub reason: Option<String>,
    /// Whether the vehicle must not be driven because of it.
    pub is_stopped: bool,
    /// When the holder said to have seen it, since the link was made.
    pub seen_at: Option<DateTime<Utc>>,
    /// Until when the holder has put it off, since the link was made.
    pub put_off_until: Option<NaiveDate>,
}

/// The fleet and the person of a link; none if either is gone.
///
/// # Errors
/// Storage errors.
pub async fn holder(clerk: &Clerk, link: Link) -> Result<Option<(Fleet, Person)>, ActError> {
    let mut tx = clerk.store().reader(Reach::Fleet(link.fleet)).await?;
    found(&mut tx.conn(), link).await
}

async fn found(conn: &mut Conn<'_>, link: Link) -> Result<Option<(Fleet, Person)>, ActError> {
    let Some(fleet) = store::fleets::find(conn, link.fleet).await? else { return Ok(None) };
    let person = store::people::find_present(conn, link.fleet, link.person).await?;
    Ok(person.map(|person| (fleet, person)))
}

/// What a link about an item leads to; none if fleet, person or vehicle are gone. Changes nothing.
///
/// # Errors
/// Storage errors.
pub async fn look(clerk: &Clerk, link: Link, topic: &Topic) -> Result<Option<Looked>, ActError> {
    let mut tx = clerk.store().reader(Reach::Fleet(link.fleet)).await?;
    let conn = &mut tx.conn();
    let Some((fleet, person)) = found(conn, link).await? else { return Ok(None) };
    let Some(vehicle) = card_of(conn, link.fleet, topic.vehicle).await? else { return Ok(None) };
    let subject = replies::subject_of(conn, link.fleet, topic).await?;
    let reason = reason(conn, link.fleet, topic.vehicle, &topic.item.0).await?;
    let (seen_at, put_off_until) = said_before(conn, link, topic).await?;
    Ok(Some(Looked {
        fleet,
        person,
        vehicle,
        is_stopped: subject.as_ref().is_some_and(|subject| replies::forbids_driving(subject, clerk.now())),
        subject: subject.map(|kind| match kind {
            SubjectKind::Item(item) => Subject::Item(item),
            SubjectKind::Window(window) => Subject::Window(window),
        }),
        reason,
        seen_at,
        put_off_until,
    }))
}

async fn said_before(
    conn: &mut Conn<'_>,
    link: Link,
    topic: &Topic,
) -> Result<(Option<DateTime<Utc>>, Option<NaiveDate>), ActError> {
    let (vehicle, key) = (topic.vehicle, (topic.item.0.as_str(), topic.cycle.0.as_str()));
    let (fleet, person, since) = (link.fleet, link.person, link.issued_at);
    let seen = store::replies::seen_by(conn, fleet, vehicle, key, person, since).await?;
    let put_off = store::replies::put_off_by(conn, fleet, vehicle, key, person, since).await?;
    Ok((seen, put_off.map(|(until, _)| until)))
}

/// Records that the holder has seen it, once.
///
/// # Errors
/// [`ActError::NotFound`] for whom is gone; a conflict, `not-allowed` for a duty that only looks, or `over`; storage errors.
pub async fn acknowledge(clerk: &Clerk, link: Link, topic: Topic) -> Result<Pressed, ActError> {
    let (mut act, person) = begin(clerk, link, "acknowledge_by_link").await?;
    allowed(person.role.may_acknowledge())?;
    replies::standing(&mut act, &topic).await?;
    let (seen, _) = said_before(&mut act.conn(), link, &topic).await?;
    if seen.is_some() {
        return Ok(Pressed::Before);
    }
    let vehicle = topic.vehicle;
    let said = replies::say_seen(&mut act, topic, None).await?;
    act.note("vehicle", vehicle, "acknowledge", None, Some(&said));
    act.commit().await?;
    Ok(Pressed::Now)
}

/// Records that the holder wants to be reminded later, once.
///
/// # Errors
/// As [`acknowledge`]; faults for a day that is not ahead or too far; a conflict, `do-not-drive`.
pub async fn postpone(
    clerk: &Clerk,
    link: Link,
    topic: Topic,
    (until, reason): (NaiveDate, String),
) -> Result<Pressed, ActError> {
    let (mut act, person) = begin(clerk, link, "postpone_by_link").await?;
    allowed(person.role.may_postpone())?;
    let subject = replies::standing(&mut act, &topic).await?;
    let (_, put_off) = said_before(&mut act.conn(), link, &topic).await?;
    if put_off.is_some() {
        return Ok(Pressed::Before);
    }
    let vehicle = topic.vehicle;
    let said = replies::say_later(&mut act, topic, &subject, until, reason).await?;
    act.note("vehicle", vehicle, "postpone", None, Some(&said));
    act.commit().await?;
    Ok(Pressed::Now)
}

/// Records that the holder does without a kind of letter, or wants it again.
///
/// # Errors
/// [`ActError::NotFound`] for whom is gone; storage errors.
pub async fn decline(
    clerk: &Clerk,
    link: Link,
    letter: OptionalLetter,
    declines: Declines,
) -> Result<Pressed, ActError> {
    let mut tries = 1;
    loop {
        match decline_once(clerk, link, letter, declines).await {
            Err(ActError::Stale) if tries < TRIES => tries += 1,
            ended => return ended,
        }
    }
}

/// Whether a kind of letter is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Declines {
    /// The person does without it.
    From,
    /// The person gets it again.
    NoLonger,
}

async fn decline_once(
    clerk: &Clerk,
    link: Link,
    letter: OptionalLetter,
    declines: Declines,
) -> Result<Pressed, ActError> {
    let (mut act, person) = begin(clerk, link, "decline_letters_by_link").await?;
    let mut without = person.declined_letters.clone();
    without.retain(|one| *one != letter);
    if declines == Declines::From {
        without.push(letter);
    }
    if person.declines(letter) == (declines == Declines::From) {
        return Ok(Pressed::Before);
    }
    let change = PersonChange { declined_letters: Some(without), ..PersonChange::default() };
    change_person(&mut act, link.person, person.version, change).await?;
    act.commit().await?;
    Ok(Pressed::Now)
}

/// An act of the holder, who is present.
async fn begin(clerk: &Clerk, link: Link, kind: &'static str) -> Result<(Act, Person), ActError> {
    let source = "link".to_owned();
    let actor = Actor { kind: ActorKind::Key, key: None, person: Some(link.person), source };
    let mut act = clerk.begin(link.fleet, &actor, kind, None).await?;
    let found = store::people::find_present(&mut act.conn(), link.fleet, link.person).await?;
    let person = found.ok_or(ActError::NotFound { kind: "person" })?;
    Ok((act, person))
}

fn allowed(is_allowed: bool) -> Result<(), ActError> {
    let detail = || "this person's duty does not allow it".to_owned();
    if is_allowed { Ok(()) } else { Err(ActError::Conflict { code: "not-allowed", detail: detail() }) }
}
