//! Gathering a person's notices into one letter, each checked to be still true.

use super::calendar::Calendar;
use super::depots::Depots;
use super::digest::{self, Ahead, Digest};
use super::standing::{MarksDue, subject_if_true};
use crate::Clerk;
use crate::error::ActError;
use crate::{audience, retraction, unreachable};
use chrono::{DateTime, Utc};
use model::horizon::{DueItem, WindowOutlook};
use model::{DepotId, FleetId, LetterId, LetterKind, NoticeId, NoticeState, Person, PersonId, VehicleId};
use quantity::Unit;
use std::collections::BTreeSet;
use store::calendar_days::Revision;
use store::letters::{NewLetter, Unsent};
use store::notices::{NoticeRow, WaitingNotice};
use store::{Conn, Reach, Tx};

/// Who is written to.
#[derive(Debug, Clone)]
pub struct Addressee {
    /// The fleet.
    pub fleet: FleetId,
    /// Its name.
    pub fleet_name: String,
    /// The person.
    pub person: Person,
    /// A manager to ring, other than the addressee where there is one.
    pub to_ring: Option<String>,
}

/// A vehicle as a letter names it.
#[derive(Debug, Clone, PartialEq)]
pub struct VehicleCard {
    /// Its id.
    pub id: VehicleId,
    /// The fleet's own name for it.
    pub label: String,
    /// Its plate.
    pub plate: Option<String>,
    /// Make and model.
    pub make_model: String,
    /// What its odometer shows.
    pub odometer_unit: Unit,
    /// The zone its dates are read in.
    pub zone: chrono_tz::Tz,
    /// Where it stands.
    pub depot: Option<DepotId>,
}

/// What a notice is about, as it stands now.
#[derive(Debug, Clone, PartialEq)]
pub enum Subject {
    /// Something to do.
    Item(Box<DueItem>),
    /// A coverage window.
    Window(Box<WindowOutlook>),
}

/// A notice that is still true.
#[derive(Debug, Clone)]
pub struct GatheredNotice {
    /// Its id.
    pub id: NoticeId,
    /// Whether it goes at once.
    pub urgent: bool,
    /// The vehicle.
    pub vehicle: VehicleCard,
    /// Which mark fired.
    pub mark: String,
    /// What it is about.
    pub subject: Subject,
    /// What was measured or found, in one sentence, for a condition.
    pub reason: Option<String>,
    /// That others were told first, for what is told for want of an answer.
    pub unanswered: Option<Unanswered>,
}

/// That others were told first, and that nobody has answered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unanswered {
    /// When the first letter about it went.
    pub since: DateTime<Utc>,
    /// Whom the first letters reached, by name, but for the addressee.
    pub told: Vec<String>,
    /// Whether they reached the addressee, too.
    pub with_addressee: bool,
}

/// The notices of one person, gathered in an open transaction: seal it into a letter, or drop it to undo.
pub struct Gathering {
    tx: Tx,
    clerk: Clerk,
    letter: LetterId,
    /// Who is written to.
    pub addressee: Addressee,
    /// What is told, by vehicle label.
    pub notices: Vec<GatheredNotice>,
    /// The list of everything, where its day has come.
    pub digest: Digest,
    /// Where its vehicles stand, if the letter goes by depots.
    pub depots: Depots,
    /// What the person's calendar was told before.
    pub calendar: Calendar,
    replaced: Replaced,
}

/// A finished letter.
#[derive(Debug, Clone)]
pub struct SealedLetter {
    /// What kind of letter.
    pub kind: LetterKind,
    /// Its subject line.
    pub subject: String,
    /// Its Message-ID, without angle brackets.
    pub message_id: String,
    /// The one address it goes to.
    pub address: String,
    /// Its exact bytes.
    pub bytes: Vec<u8>,
    /// What it tells the person's calendar.
    pub days: Vec<Revision>,
}

/// People who have notices or a digest waiting whose time has come.
///
/// # Errors
/// Storage errors.
pub async fn waiting_addressees(clerk: &Clerk, most: u32) -> Result<Vec<(FleetId, PersonId)>, ActError> {
    let mut tx = clerk.store().reader(Reach::All).await?;
    let mut waiting = store::notices::waiting_addressees(&mut tx.conn(), clerk.now(), most).await?;
    for whom in store::digests::waiting_addressees(&mut tx.conn(), clerk.now(), most).await? {
        if !waiting.contains(&whom) {
            waiting.push(whom);
        }
    }
    Ok(waiting)
}

/// Opens the gathering of a person's notices and digests. Those no longer true are withdrawn; nothing left to say: `None`.
/// Letters that were made before and have not gone are taken back: one letter says it all.
///
/// # Errors
/// Storage errors.
pub async fn open_gathering(
    clerk: &Clerk,
    fleet: FleetId,
    person: PersonId,
) -> Result<Option<Gathering>, ActError> {
    let now = clerk.now();
    let mut tx = clerk.store().writer(Reach::Fleet(fleet)).await?;
    let conn = &mut tx.conn();
    let Some(addressee) = addressee(conn, fleet, person).await? else {
        let waiting = store::notices::waiting_for(conn, fleet, person, now).await?;
        let ids: Vec<NoticeId> = waiting.iter().map(|notice| notice.id).collect();
        store::notices::set_state(conn, fleet, &ids, NoticeState::ListOnly, now).await?;
        digest::settle_unwanted(conn, fleet, person, now).await?;
        tx.commit().await?;
        return Ok(None);
    };
    let opens_at = addressee.person.may_come_from(now);
    if opens_at > now {
        store::notices::put_off(conn, fleet, person, now, opens_at).await?;
        store::digests::put_off(conn, fleet, person, now, opens_at).await?;
    }
    let fresh = store::notices::waiting_for(conn, fleet, person, now).await?;
    let digests = store::digests::waiting_for(conn, fleet, person, now).await?;
    if fresh.is_empty() && digests.is_empty() {
        tx.commit().await?;
        return Ok(None);
    }
    let replaced = taken_back(conn, fleet, person, now).await?;
    let mut waiting = store::notices::waiting_for(conn, fleet, person, now).await?;
    waiting.extend(taken_along(conn, fleet, person, now).await?);
    let notices = still_true(conn, fleet, person, waiting, now).await?;
    let digest = Digest::of(conn, fleet, &addressee.person, now).await?;
    if notices.is_empty() && digest.is_empty() {
        store::letters::replace(conn, fleet, &replaced.ids()).await?;
        store::digests::settle_empty(conn, fleet, &digest.rows, now).await?;
        tx.commit().await?;
        return Ok(None);
    }
    let told = told_of(&notices, &digest);
    let calendar = Calendar::of(conn, fleet, &addressee.person, &told, &replaced.ids(), now).await?;
    let depots = depots(conn, fleet, &notices, &digest).await?;
    let (letter, clerk) = (LetterId(clerk.new_id()), clerk.clone());
    Ok(Some(Gathering { tx, clerk, letter, addressee, notices, digest, depots, calendar, replaced }))
}

/// What waits for a later hour and is about the same as something that goes now, so that nobody reads it twice; but for
/// what is told for want of an answer, which there is still time for.
async fn taken_along(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    person: PersonId,
    now: DateTime<Utc>,
) -> Result<Vec<WaitingNotice>, ActError> {
    let mut along = store::notices::waiting_beside(conn, fleet, person, now).await?;
    along.retain(|notice| !audience::is_for_want_of_an_answer(&notice.key.mark));
    Ok(along)
}

/// Only the letter that looks ahead to a day goes by depots.
async fn depots(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    notices: &[GatheredNotice],
    digest: &Digest,
) -> Result<Depots, ActError> {
    let Some(Ahead::Day(_)) = digest.ahead() else { return Ok(Depots::default()) };
    let carried = notices.iter().map(|notice| &notice.vehicle);
    Depots::of(conn, fleet, carried.chain(digest.listed.iter().map(|listed| &listed.vehicle))).await
}

/// What a letter of these tells of, each with its vehicle.
fn told_of<'a>(notices: &'a [GatheredNotice], digest: &'a Digest) -> Vec<(VehicleId, &'a Subject)> {
    let carried = notices.iter().map(|notice| (notice.vehicle.id, &notice.subject));
    carried.chain(digest.listed.iter().map(|listed| (listed.vehicle.id, &listed.subject))).collect()
}

/// Letters that another is to stand for.
struct Replaced(Vec<Unsent>);

impl Replaced {
    fn ids(&self) -> Vec<LetterId> {
        self.0.iter().map(|letter| letter.id).collect()
    }

    fn attempts(&self) -> i64 {
        self.0.iter().map(|letter| letter.attempts).max().unwrap_or(0)
    }

    /// The relay asked for patience: it is not pressed by a new letter, unless that cannot wait.
    fn next_attempt_at(&self, now: DateTime<Utc>, is_urgent: bool) -> DateTime<Utc> {
        let asked = self.0.iter().filter(|letter| letter.attempts > 0).filter_map(|one| one.next_attempt_at);
        asked.max().filter(|_| !is_urgent).map_or(now, |asked| asked.max(now))
    }
}

/// Takes what unsent letters to a person carry out of them, to be gathered with the rest.
async fn taken_back(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    person: PersonId,
    now: DateTime<Utc>,
) -> Result<Replaced, ActError> {
    let unsent = store::letters::unsent(conn, fleet, person).await?;
    for letter in &unsent {
        let carried = store::notices::carried_by(conn, fleet, letter.id).await?;
        let ids: Vec<NoticeId> = carried.iter().map(|notice| notice.id).collect();
        store::notices::take_out(conn, fleet, &ids, NoticeState::Waiting, None).await?;
        store::digests::take_out(conn, fleet, letter.id, now).await?;
    }
    Ok(Replaced(unsent))
}

/// Nobody, where no letter reaches the person.
async fn addressee(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    person: PersonId,
) -> Result<Option<Addressee>, ActError> {
    let Some(found) = store::fleets::find(conn, fleet).await? else { return Ok(None) };
    let person = store::people::find(conn, fleet, person).await?;
    let Some((person, email)) = person.and_then(|person| person.email.clone().map(|email| (person, email)))
    else {
        return Ok(None);
    };
    if unreachable::suppressed(conn, fleet, &email).await?.is_some() {
        return Ok(None);
    }
    let managers = store::people::managers(conn, fleet).await?;
    let to_ring = managers.iter().find(|m| m.id != person.id).or_else(|| managers.first());
    let to_ring = to_ring.map(|manager| manager.name.clone());
    Ok(Some(Addressee { fleet, fleet_name: found.name, person, to_ring }))
}

/// Keeps the notices whose mark still stands and has come; takes the others back. What is about to be told anew waits on for
/// that.
async fn still_true(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    addressee: PersonId,
    waiting: Vec<WaitingNotice>,
    now: DateTime<Utc>,
) -> Result<Vec<GatheredNotice>, ActError> {
    let mut kept = Vec::new();
    let mut untrue = Vec::new();
    let due = MarksDue::of(conn, fleet, &waiting, now).await?;
    for notice in waiting {
        match subject_if_true(conn, fleet, &notice, now).await? {
            Some(subject) if due.outrun(&notice, &subject) => {}
            Some(subject) => kept.extend(gathered(conn, fleet, addressee, notice, subject).await?),
            None => untrue.push(notice),
        }
    }
    let vehicles = untrue.iter().map(|notice| (fleet, notice.vehicle)).collect();
    retraction::raise_needed(conn, vehicles).await?;
    retraction::take_back(conn, fleet, &untrue, now).await?;
    kept.sort_by(|a, b| (&a.vehicle.label, a.vehicle.id, a.id).cmp(&(&b.vehicle.label, b.vehicle.id, b.id)));
    Ok(kept)
}

async fn gathered(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    addressee: PersonId,
    notice: WaitingNotice,
    subject: Subject,
) -> Result<Option<GatheredNotice>, ActError> {
    let Some(vehicle) = card_of(conn, fleet, notice.vehicle).await? else { return Ok(None) };
    let reason = reason(conn, fleet, vehicle.id, &notice.key.item_key).await?;
    let unanswered = if audience::is_for_want_of_an_answer(&notice.key.mark) {
        unanswered(conn, fleet, addressee, &notice).await?
    } else {
        None
    };
    let (id, urgent, mark) = (notice.id, notice.urgent, notice.key.mark);
    Ok(Some(GatheredNotice { id, urgent, vehicle, mark, subject, reason, unanswered }))
}

/// Whom the first letters about a notice's cycle reached, and when; `None` if none had gone when this one's time came, as
/// while the relay is down: then nobody could have answered, and this letter is a first one.
async fn unanswered(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    addressee: PersonId,
    notice: &WaitingNotice,
) -> Result<Option<Unanswered>, ActError> {
    let key = (notice.key.item_key.as_str(), notice.key.cycle.as_str());
    let all = store::notices::about(conn, fleet, notice.vehicle, key).await?;
    let Some(own) = all.iter().find(|row| row.notice.id == notice.id) else { return Ok(None) };
    // Others of the cycle were told of something else before: that it would fall due.
    let is_first = |row: &&NoticeRow| {
        row.created_at >= own.created_at
            && row.state == NoticeState::Told
            && row.settled_at.is_some_and(|at| at < own.not_before)
            && !audience::is_for_want_of_an_answer(&row.notice.key.mark)
    };
    let first: Vec<&NoticeRow> = all.iter().filter(is_first).collect();
    let Some(since) = first.iter().filter_map(|row| row.settled_at).min() else { return Ok(None) };
    let people: BTreeSet<PersonId> = first.iter().map(|row| row.person).collect();
    let mut told = Vec::new();
    for person in people.iter().filter(|person| **person != addressee) {
        told.extend(store::people::find_present(conn, fleet, *person).await?.map(|person| person.name));
    }
    let with_addressee = people.contains(&addressee);
    Ok(Some(Unanswered { since, told, with_addressee }))
}

/// How a letter names the vehicle.
pub(crate) async fn card_of(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
) -> Result<Option<VehicleCard>, ActError> {
    let Some(vehicle) = store::vehicles::find(conn, fleet, vehicle).await? else { return Ok(None) };
    let attributes = vehicle.attributes_now();
    Ok(Some(VehicleCard {
        id: vehicle.id,
        label: attributes.map(|a| a.label.clone()).unwrap_or_default(),
        plate: attributes.and_then(|a| a.plate.clone()),
        make_model: format!("{} {}", vehicle.make, vehicle.model),
        odometer_unit: vehicle.odometer_unit,
        zone: vehicle.zone,
        depot: attributes.map(|attributes| attributes.depot),
    }))
}

/// What was measured or found, for a condition: the sentence of its grade, or the words of who found it.
pub(crate) async fn reason(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    item_key: &str,
) -> Result<Option<String>, ActError> {
    if let Some(id) = item_key.strip_prefix("finding:").and_then(|id| id.parse().ok()) {
        let found = store::findings::find(conn, fleet, vehicle, id).await?;
        return Ok(found.map(|finding| finding.note));
    }
    let Some(where_graded) = item_key.strip_prefix("condition:") else { return Ok(None) };
    let all = store::derived::grades(conn, fleet, vehicle).await?;
    let graded = all.into_iter().find(|g| format!("{}:{}", g.point, g.place) == where_graded);
    Ok(graded.map(|graded| graded.reason))
}

impl Gathering {
    /// The id the letter will have.
    pub const fn letter_id(&self) -> LetterId {
        self.letter
    }

    /// When it was gathered.
    pub fn at(&self) -> DateTime<Utc> {
        self.clerk.now()
    }

    /// Stores the letter with its exact bytes and what it tells a calendar, and puts the notices into it, before anything is
    /// sent.
    ///
    /// # Errors
    /// Storage errors; the notices then wait on.
    pub async fn seal(mut self, sealed: SealedLetter) -> Result<LetterId, ActError> {
        let now = self.clerk.now();
        let fleet = self.addressee.fleet;
        let is_urgent = sealed.kind == LetterKind::AtOnce;
        let letter = NewLetter {
            id: self.letter,
            person: self.addressee.person.id,
            kind: sealed.kind.word().to_owned(),
            subject: sealed.subject,
            message_id: sealed.message_id,
            address: sealed.address,
            bytes: sealed.bytes,
            created_at: now,
            attempts: self.replaced.attempts(),
            first_attempt_at: self.replaced.next_attempt_at(now, is_urgent),
        };
        let conn = &mut self.tx.conn();
        store::letters::replace(conn, fleet, &self.replaced.ids()).await?;
        store::letters::insert(conn, fleet, &letter).await?;
        self.calendar.keep(conn, fleet, letter.person, (letter.id, &sealed.days), now).await?;
        let ids: Vec<NoticeId> = self.notices.iter().map(|notice| notice.id).collect();
        store::notices::put_into(conn, fleet, &ids, self.letter).await?;
        store::digests::put_into(conn, fleet, &self.digest.rows, self.letter, &self.digest.told()).await?;
        self.tx.commit().await?;
        Ok(self.letter)
    }
}
