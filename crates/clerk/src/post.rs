//! The courier's side: notices gathered into letters, letters claimed, sent and settled.
//!
//! No transaction is held while a letter is on its way: claim, commit, send, settle.

use crate::Clerk;
use crate::error::ActError;
use chrono::{DateTime, TimeDelta, Utc};
use model::horizon::{DueItem, WindowOutlook};
use model::{FleetId, LetterId, LetterState, NoticeId, NoticeState, Person, PersonId, VehicleId};
use quantity::Unit;
use store::letters::{LetterRow, NewLetter, Settled};
use store::notices::WaitingNotice;
use store::{Conn, Reach, Tx};
use uuid::Uuid;

/// A claim on a letter holds for so long.
const LEASE: TimeDelta = TimeDelta::minutes(15);

/// A letter that may or may not have arrived is sent once more after so long.
const UNCERTAIN_AGAIN: TimeDelta = TimeDelta::minutes(15);

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
}

/// A finished letter.
#[derive(Debug, Clone)]
pub struct SealedLetter {
    /// What kind of letter.
    pub kind: &'static str,
    /// Its subject line.
    pub subject: String,
    /// Its Message-ID, without angle brackets.
    pub message_id: String,
    /// The one address it goes to.
    pub address: String,
    /// Its exact bytes.
    pub bytes: Vec<u8>,
}

/// People who have notices waiting whose time has come.
///
/// # Errors
/// Storage errors.
pub async fn waiting_addressees(clerk: &Clerk, most: u32) -> Result<Vec<(FleetId, PersonId)>, ActError> {
    let mut tx = clerk.store().reader(Reach::All).await?;
    Ok(store::notices::waiting_addressees(&mut tx.conn(), clerk.now(), most).await?)
}

/// Opens the gathering of a person's notices. Those no longer true are withdrawn; none left: `None`.
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
    let waiting = store::notices::waiting_for(&mut tx.conn(), fleet, person, now).await?;
    let Some(addressee) = addressee(&mut tx.conn(), fleet, person).await? else {
        let ids: Vec<NoticeId> = waiting.iter().map(|notice| notice.id).collect();
        store::notices::set_state(&mut tx.conn(), fleet, &ids, NoticeState::ListOnly, now).await?;
        tx.commit().await?;
        return Ok(None);
    };
    let notices = still_true(&mut tx.conn(), fleet, waiting, now).await?;
    if notices.is_empty() {
        tx.commit().await?;
        return Ok(None);
    }
    let letter = LetterId(clerk.new_id());
    Ok(Some(Gathering { tx, clerk: clerk.clone(), letter, addressee, notices }))
}

async fn addressee(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    person: PersonId,
) -> Result<Option<Addressee>, ActError> {
    let Some(found) = store::fleets::find(conn, fleet).await? else { return Ok(None) };
    let person = store::people::find(conn, fleet, person).await?;
    let Some(person) = person.filter(|person| person.email.is_some()) else { return Ok(None) };
    let managers = store::people::managers(conn, fleet).await?;
    let to_ring = managers.iter().find(|m| m.id != person.id).or_else(|| managers.first());
    let to_ring = to_ring.map(|manager| manager.name.clone());
    Ok(Some(Addressee { fleet, fleet_name: found.name, person, to_ring }))
}

/// Keeps the notices whose mark still stands and has come; withdraws the others.
async fn still_true(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    waiting: Vec<WaitingNotice>,
    now: DateTime<Utc>,
) -> Result<Vec<GatheredNotice>, ActError> {
    let mut kept = Vec::new();
    let mut untrue = Vec::new();
    for notice in waiting {
        match subject_if_true(conn, fleet, &notice, now).await? {
            Some(subject) => kept.push(gathered(conn, fleet, notice, subject).await?),
            None => untrue.push(notice.id),
        }
    }
    store::notices::withdraw(conn, fleet, &untrue, now).await?;
    let mut kept: Vec<GatheredNotice> = kept.into_iter().flatten().collect();
    kept.sort_by(|a, b| (&a.vehicle.label, a.vehicle.id, a.id).cmp(&(&b.vehicle.label, b.vehicle.id, b.id)));
    Ok(kept)
}

async fn subject_if_true(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    notice: &WaitingNotice,
    now: DateTime<Utc>,
) -> Result<Option<Subject>, ActError> {
    let key = &notice.key;
    let found = store::derived::subject(conn, fleet, notice.vehicle, &key.item_key).await?;
    let Some(found) = found else { return Ok(None) };
    let (cycle, marks, subject) = match found.kind {
        store::derived::SubjectKind::Item(item) => {
            (item.cycle.clone(), item.marks.clone(), Subject::Item(item))
        }
        store::derived::SubjectKind::Window(window) => {
            (window.cycle.clone(), window.marks.clone(), Subject::Window(window))
        }
    };
    let stands = cycle.0 == key.cycle && marks.iter().any(|mark| mark.code == key.mark && mark.at <= now);
    Ok(stands.then_some(subject))
}

async fn gathered(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    notice: WaitingNotice,
    subject: Subject,
) -> Result<Option<GatheredNotice>, ActError> {
    let Some(vehicle) = store::vehicles::find(conn, fleet, notice.vehicle).await? else { return Ok(None) };
    let attributes = vehicle.attributes_now();
    let card = VehicleCard {
        id: vehicle.id,
        label: attributes.map(|a| a.label.clone()).unwrap_or_default(),
        plate: attributes.and_then(|a| a.plate.clone()),
        make_model: format!("{} {}", vehicle.make, vehicle.model),
        odometer_unit: vehicle.odometer_unit,
        zone: vehicle.zone,
    };
    let mark = notice.key.mark;
    Ok(Some(GatheredNotice { id: notice.id, urgent: notice.urgent, vehicle: card, mark, subject }))
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

    /// Stores the letter with its exact bytes and puts the notices into it, before anything is sent.
    ///
    /// # Errors
    /// Storage errors; the notices then wait on.
    pub async fn seal(mut self, sealed: SealedLetter) -> Result<LetterId, ActError> {
        let now = self.clerk.now();
        let fleet = self.addressee.fleet;
        let letter = NewLetter {
            id: self.letter,
            person: self.addressee.person.id,
            kind: sealed.kind.to_owned(),
            subject: sealed.subject,
            message_id: sealed.message_id,
            address: sealed.address,
            bytes: sealed.bytes,
            created_at: now,
        };
        store::letters::insert(&mut self.tx.conn(), fleet, &letter).await?;
        let ids: Vec<NoticeId> = self.notices.iter().map(|notice| notice.id).collect();
        store::notices::put_into(&mut self.tx.conn(), fleet, &ids, self.letter).await?;
        self.tx.commit().await?;
        Ok(self.letter)
    }
}

/// A letter claimed by this courier.
#[derive(Debug, Clone)]
pub struct ClaimedLetter {
    /// Its fleet.
    pub fleet: FleetId,
    /// Its id.
    pub id: LetterId,
    /// Proof of the claim.
    pub token: Uuid,
    /// Which attempt this will be, from 1.
    pub attempt: i64,
    /// Whether an earlier attempt ended without an answer.
    pub was_uncertain: bool,
    /// When it was made.
    pub created_at: DateTime<Utc>,
    /// The one address it goes to.
    pub address: String,
    /// Its exact bytes.
    pub bytes: Vec<u8>,
    /// Its Message-ID.
    pub message_id: String,
}

/// How an attempt ended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Delivery {
    /// The relay took it.
    Sent {
        /// Its reply.
        reply: String,
    },
    /// Not taken, to be tried again.
    Retry {
        /// The reply or fault.
        reply: String,
        /// When to try again.
        at: DateTime<Utc>,
    },
    /// The connection died after the final dot: it may have been taken.
    Uncertain {
        /// What was seen.
        reply: String,
    },
    /// Refused for good.
    Undeliverable {
        /// The reply.
        reply: String,
    },
    /// Set aside for a person.
    Parked {
        /// Why.
        reply: String,
    },
}

/// Claims up to `most` letters whose time has come. A letter none of whose notices is true any more is withdrawn; one
/// that was being sent when its courier died is uncertain and waits for its one repetition.
///
/// # Errors
/// Storage errors.
pub async fn claim_letters(clerk: &Clerk, most: u32) -> Result<Vec<ClaimedLetter>, ActError> {
    let now = clerk.now();
    let token = clerk.new_id();
    let mut tx = clerk.store().writer(Reach::All).await?;
    store::letters::give_up_sending(&mut tx.conn(), now, now + UNCERTAIN_AGAIN).await?;
    let rows = store::letters::claim(&mut tx.conn(), now, now + LEASE, token, most).await?;
    let mut claimed = Vec::with_capacity(rows.len());
    for row in rows {
        if anything_true(&mut tx.conn(), &row, now).await? {
            claimed.push(claimed_letter(row, token));
        } else {
            withdraw(&mut tx.conn(), &row, token, now).await?;
        }
    }
    tx.commit().await?;
    Ok(claimed)
}

async fn anything_true(
    conn: &mut Conn<'_>,
    letter: &LetterRow,
    now: DateTime<Utc>,
) -> Result<bool, ActError> {
    for notice in store::notices::carried_by(conn, letter.fleet, letter.id).await? {
        if subject_if_true(conn, letter.fleet, &notice, now).await?.is_some() {
            return Ok(true);
        }
    }
    Ok(false)
}

async fn withdraw(
    conn: &mut Conn<'_>,
    letter: &LetterRow,
    token: Uuid,
    now: DateTime<Utc>,
) -> Result<(), ActError> {
    let settled = Settled {
        state: LetterState::Withdrawn,
        reply: Some("nothing in it was true any more".to_owned()),
        next_attempt_at: None,
        sent_at: None,
    };
    store::letters::settle(conn, letter.fleet, letter.id, token, &settled).await?;
    store::notices::settle_by_letter(conn, letter.fleet, letter.id, NoticeState::Withdrawn, now).await?;
    Ok(())
}

fn claimed_letter(row: LetterRow, token: Uuid) -> ClaimedLetter {
    ClaimedLetter {
        fleet: row.fleet,
        id: row.id,
        token,
        attempt: row.attempts + 1,
        was_uncertain: row.was_uncertain,
        created_at: row.created_at,
        address: row.address,
        bytes: row.bytes,
        message_id: row.message_id,
    }
}

/// Records that the letter is being handed over, before its data goes out. `false`: the claim was lost meanwhile.
///
/// # Errors
/// Storage errors.
pub async fn start_sending(clerk: &Clerk, letter: &ClaimedLetter) -> Result<bool, ActError> {
    let mut tx = clerk.store().writer(Reach::Fleet(letter.fleet)).await?;
    let ours = store::letters::start_attempt(
        &mut tx.conn(),
        letter.fleet,
        letter.id,
        letter.token,
        letter.attempt,
        clerk.now(),
    )
    .await?;
    tx.commit().await?;
    Ok(ours)
}

/// Records how the attempt ended. `false`: the claim was lost meanwhile and nothing was changed.
///
/// # Errors
/// Storage errors.
pub async fn settle(clerk: &Clerk, letter: &ClaimedLetter, delivery: Delivery) -> Result<bool, ActError> {
    let now = clerk.now();
    let settled = settled(letter, delivery, now);
    let mut tx = clerk.store().writer(Reach::Fleet(letter.fleet)).await?;
    let mut conn = tx.conn();
    let ours = store::letters::settle(&mut conn, letter.fleet, letter.id, letter.token, &settled).await?;
    if ours {
        let (state, reply) = (settled.state, settled.reply.as_deref());
        store::letters::end_attempt(&mut conn, letter.fleet, letter.id, letter.attempt, state, reply, now)
            .await?;
        if settled.state == LetterState::Sent {
            store::notices::settle_by_letter(&mut conn, letter.fleet, letter.id, NoticeState::Told, now)
                .await?;
        }
    }
    tx.commit().await?;
    Ok(ours)
}

fn settled(letter: &ClaimedLetter, delivery: Delivery, now: DateTime<Utc>) -> Settled {
    let (state, reply, next_attempt_at) = match delivery {
        Delivery::Sent { reply } => (LetterState::Sent, reply, None),
        Delivery::Retry { reply, at } => (LetterState::Retry, reply, Some(at)),
        Delivery::Uncertain { reply } if letter.was_uncertain => (LetterState::Parked, reply, None),
        Delivery::Uncertain { reply } => (LetterState::Uncertain, reply, Some(now + UNCERTAIN_AGAIN)),
        Delivery::Undeliverable { reply } => (LetterState::Undeliverable, reply, None),
        Delivery::Parked { reply } => (LetterState::Parked, reply, None),
    };
    let sent_at = (state == LetterState::Sent).then_some(now);
    Settled { state, reply: Some(reply), next_attempt_at, sent_at }
}

/// When there is next something to gather or to send.
///
/// # Errors
/// Storage errors.
pub async fn next_letter_time(clerk: &Clerk) -> Result<Option<DateTime<Utc>>, ActError> {
    let mut tx = clerk.store().reader(Reach::All).await?;
    let notices = store::notices::next_time(&mut tx.conn()).await?;
    let letters = store::letters::next_time(&mut tx.conn()).await?;
    Ok(notices.into_iter().chain(letters).min())
}
