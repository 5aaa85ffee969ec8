//! Claiming letters, handing them over and settling them.

use super::digest;
use super::gathering::subject_if_true;
use crate::Clerk;
use crate::error::ActError;
use crate::retraction;
use chrono::{DateTime, TimeDelta, Utc};
use model::{FleetId, LetterId, LetterKind, LetterState, NoticeState, Person};
use store::letters::{LetterRow, Settled};
use store::notices::WaitingNotice;
use store::{Conn, Lease, Reach};
use uuid::Uuid;

/// A claim on a letter holds for so long.
pub(super) const LEASE: TimeDelta = TimeDelta::minutes(15);

/// A letter that may or may not have arrived is sent once more after so long.
const UNCERTAIN_AGAIN: TimeDelta = TimeDelta::minutes(15);

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

/// Claims up to `most` letters whose time has come. A letter that says something no longer true is withdrawn, and what
/// is still true in it waits for another; one that was being sent when its courier died is uncertain and waits for its
/// one repetition.
///
/// # Errors
/// Storage errors.
pub async fn claim_letters(clerk: &Clerk, most: u32) -> Result<Vec<ClaimedLetter>, ActError> {
    let now = clerk.now();
    let token = clerk.new_id();
    let mut tx = clerk.store().writer(Reach::All).await?;
    let lease = Lease::taken(&mut tx, now, LEASE).await?;
    store::letters::give_up_sending(&mut tx.conn(), now, lease, now + UNCERTAIN_AGAIN).await?;
    let rows = store::letters::claim(&mut tx.conn(), now, lease, token, most).await?;
    let mut claimed = Vec::with_capacity(rows.len());
    let mut to_withdraw = Vec::new();
    for row in rows {
        if let Some(later) = not_yet(&mut tx.conn(), &row, now).await? {
            store::letters::put_back(&mut tx.conn(), row.fleet, row.id, token, later).await?;
            continue;
        }
        let carried = Carried::by(&mut tx.conn(), &row, now).await?;
        if carried.may_go(&row) {
            claimed.push(claimed_letter(row, token));
        } else {
            to_withdraw.push((row, carried));
        }
    }
    // Vehicles before their notices and marks, in order of ids, as acts do.
    let untrue = |(row, carried): &(LetterRow, Carried)| {
        carried.untrue.iter().map(|notice| (row.fleet, notice.vehicle)).collect::<Vec<_>>()
    };
    let vehicles = to_withdraw.iter().flat_map(untrue).collect();
    retraction::raise_needed(&mut tx.conn(), vehicles).await?;
    for (row, carried) in &to_withdraw {
        withdraw(&mut tx.conn(), row, token, carried, now).await?;
    }
    if !to_withdraw.is_empty() {
        store::bell::ring(&mut tx.conn()).await?;
    }
    tx.commit().await?;
    if !to_withdraw.is_empty() {
        clerk.wake();
    }
    Ok(claimed)
}

/// When a letter may go that must not reach its person now. One that was tried before has had its slot: it is kept out of
/// the quiet hours alone.
async fn not_yet(
    conn: &mut Conn<'_>,
    letter: &LetterRow,
    now: DateTime<Utc>,
) -> Result<Option<DateTime<Utc>>, ActError> {
    if is_urgent(&letter.kind) {
        return Ok(None);
    }
    let person = store::people::find(conn, letter.fleet, letter.person).await?;
    let from = |person: Person| match letter.attempts {
        0 => person.may_come_from(now),
        _ => person.after_quiet(now),
    };
    Ok(person.map(from).filter(|from| *from > now))
}

/// Whether a letter goes whatever the hour; the second word is that of letters an older program left.
fn is_urgent(kind: &str) -> bool {
    LetterKind::from_word(kind) == Some(LetterKind::AtOnce) || kind == "do_not_drive"
}

/// The notices of a letter, told apart by whether they are still true, and whether its digest still stands.
struct Carried {
    still_true: Vec<WaitingNotice>,
    untrue: Vec<WaitingNotice>,
    /// Of a letter with a digest: whether that would say the same today.
    digest: Option<bool>,
}

impl Carried {
    async fn by(conn: &mut Conn<'_>, letter: &LetterRow, now: DateTime<Utc>) -> Result<Self, ActError> {
        let digest = digest_stands(conn, letter, now).await?;
        let mut carried = Self { still_true: Vec::new(), untrue: Vec::new(), digest };
        for notice in store::notices::carried_by(conn, letter.fleet, letter.id).await? {
            match subject_if_true(conn, letter.fleet, &notice, now).await? {
                Some(_) => carried.still_true.push(notice),
                None => carried.untrue.push(notice),
            }
        }
        Ok(carried)
    }

    /// An uncertain letter is repeated byte for byte as long as anything in it is true: another one would tell what it
    /// may have told already.
    fn may_go(&self, letter: &LetterRow) -> bool {
        let says_something = !self.still_true.is_empty() || self.digest == Some(true);
        let is_all_true = self.untrue.is_empty() && self.digest != Some(false);
        cfg!(feature = "without-recheck") || says_something && (is_all_true || letter.was_uncertain)
    }
}

async fn digest_stands(
    conn: &mut Conn<'_>,
    letter: &LetterRow,
    now: DateTime<Utc>,
) -> Result<Option<bool>, ActError> {
    let digests = store::digests::carried_by(conn, letter.fleet, letter.id).await?;
    if digests.is_empty() {
        return Ok(None);
    }
    let Some(person) = store::people::find(conn, letter.fleet, letter.person).await? else {
        return Ok(Some(false));
    };
    Ok(Some(digest::still_stands(conn, letter.fleet, &person, &digests, now).await?))
}

/// Withdraws a letter. What it may have told stays told; otherwise its true notices wait for another letter, and the
/// others until they are true again.
async fn withdraw(
    conn: &mut Conn<'_>,
    letter: &LetterRow,
    token: Uuid,
    carried: &Carried,
    now: DateTime<Utc>,
) -> Result<(), ActError> {
    let settled = Settled {
        state: LetterState::Withdrawn,
        reply: Some("it said something that was no longer true".to_owned()),
        next_attempt_at: None,
        sent_at: None,
    };
    let fleet = letter.fleet;
    store::letters::settle(conn, fleet, letter.id, token, &settled).await?;
    if letter.was_uncertain {
        store::notices::settle_by_letter(conn, fleet, letter.id, NoticeState::Withdrawn, now).await?;
        store::digests::settle_by_letter(conn, fleet, letter.id, now).await?;
        return Ok(());
    }
    let ids = |notices: &[WaitingNotice]| notices.iter().map(|notice| notice.id).collect::<Vec<_>>();
    store::digests::take_out(conn, fleet, letter.id, now).await?;
    store::notices::take_out(conn, fleet, &ids(&carried.still_true), NoticeState::Waiting, None).await?;
    store::notices::take_out(conn, fleet, &ids(&carried.untrue), NoticeState::Withdrawn, Some(now)).await?;
    retraction::reopen_marks(conn, fleet, &carried.untrue).await
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
    let on_leases = Lease::taken(&mut tx, clerk.now(), LEASE).await?.at;
    let ours = store::letters::start_attempt(
        &mut tx.conn(),
        letter.fleet,
        letter.id,
        letter.token,
        letter.attempt,
        clerk.now(),
        on_leases,
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
