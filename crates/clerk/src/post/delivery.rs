//! Claiming letters: none that is no longer true goes, and none to an address that takes none.

use super::digest;
use super::gathering::Subject;
use super::settling::{UNCERTAIN_AGAIN, give_back_notices};
use super::standing::{MarksDue, subject_if_true};
use crate::Clerk;
use crate::error::ActError;
use crate::{retraction, unreachable};
use chrono::{DateTime, TimeDelta, Utc};
use model::{FleetId, LetterId, LetterKind, LetterState, NoticeState, Person};
use store::letters::{LetterRow, Settled};
use store::notices::WaitingNotice;
use store::suppressions::Suppressed;
use store::{Conn, Lease, Reach};
use uuid::Uuid;

/// A claim on a letter holds for so long.
pub(super) const LEASE: TimeDelta = TimeDelta::minutes(15);

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
    /// Which it will be of those that count, from 1: what found the way barred for every letter does not.
    pub counted: i64,
    /// Whether an earlier attempt ended without an answer.
    pub was_uncertain: bool,
    /// Whether what was attached has been taken out.
    pub without_attachment: bool,
    /// When something it tells is told again, for having come closer.
    pub told_again_at: Option<DateTime<Utc>>,
    /// When it was made.
    pub created_at: DateTime<Utc>,
    /// The one address it goes to.
    pub address: String,
    /// Its exact bytes.
    pub bytes: Vec<u8>,
    /// Its Message-ID.
    pub message_id: String,
}

/// Claims up to `most` letters whose time has come. A letter that says something no longer true is withdrawn, and what
/// is still true in it waits for another; one to an address that takes none is given up; one that was being sent when its
/// courier died is uncertain and waits for its one repetition.
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
    let (mut to_give_up, mut to_withdraw) = (Vec::new(), Vec::new());
    for row in rows {
        if let Some(later) = not_yet(&mut tx.conn(), &row, now).await? {
            store::letters::put_back(&mut tx.conn(), row.fleet, row.id, token, later).await?;
            continue;
        }
        if let Some(suppressed) = unreachable::suppressed(&mut tx.conn(), row.fleet, &row.address).await? {
            to_give_up.push((row, suppressed));
            continue;
        }
        let carried = Carried::by(&mut tx.conn(), &row, now).await?;
        if carried.may_go(&row) {
            claimed.push(claimed_letter(row, token, carried.told_again_at));
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
    for (row, suppressed) in to_give_up {
        give_up(&mut tx.conn(), &row, token, suppressed, now).await?;
    }
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

/// Gives up a letter to an address that takes none.
async fn give_up(
    conn: &mut Conn<'_>,
    letter: &LetterRow,
    token: Uuid,
    suppressed: Suppressed,
    now: DateTime<Utc>,
) -> Result<(), ActError> {
    let Suppressed { reason, suppressed_at, .. } = suppressed;
    let since = suppressed_at.date_naive();
    let settled = Settled {
        state: LetterState::Undeliverable,
        reply: Some(format!("not tried: its address takes no mail since {since}: {reason}")),
        next_attempt_at: None,
        sent_at: None,
    };
    store::letters::settle(conn, letter.fleet, letter.id, token, &settled).await?;
    give_back_notices(conn, letter.fleet, letter.id, letter.was_uncertain, now).await
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
    /// Whether some of it is about to be told anew, with newer words.
    is_outrun: bool,
    /// Of a letter with a digest: whether that would say the same today.
    digest: Option<bool>,
    told_again_at: Option<DateTime<Utc>>,
    /// Whether its person is still there.
    has_reader: bool,
}

impl Carried {
    async fn by(conn: &mut Conn<'_>, letter: &LetterRow, now: DateTime<Utc>) -> Result<Self, ActError> {
        let digest = digest_stands(conn, letter, now).await?;
        let has_reader = store::people::find_present(conn, letter.fleet, letter.person).await?.is_some();
        let (still_true, untrue) = (Vec::new(), Vec::new());
        let mut carried =
            Self { still_true, untrue, is_outrun: false, digest, told_again_at: None, has_reader };
        let notices = store::notices::carried_by(conn, letter.fleet, letter.id).await?;
        let due = MarksDue::of(conn, letter.fleet, &notices, now).await?;
        for notice in notices {
            match subject_if_true(conn, letter.fleet, &notice, now).await? {
                Some(subject) => {
                    carried.is_outrun |= due.outrun(&notice, &subject);
                    let again = told_again_at(&subject, now);
                    carried.told_again_at = carried.told_again_at.into_iter().chain(again).min();
                    carried.still_true.push(notice);
                }
                None => carried.untrue.push(notice),
            }
        }
        Ok(carried)
    }

    /// Nobody is written to who is gone. An uncertain letter is repeated byte for byte as long as anything in it is true: another one would tell what it
    /// may have told already.
    fn may_go(&self, letter: &LetterRow) -> bool {
        let says_something = !self.still_true.is_empty() || self.digest == Some(true);
        let is_as_of_now = self.untrue.is_empty() && !self.is_outrun && self.digest != Some(false);
        cfg!(feature = "without-recheck")
            || self.has_reader && says_something && (is_as_of_now || letter.was_uncertain)
    }

    const fn why_not(&self) -> &'static str {
        match (self.has_reader, self.untrue.is_empty() && self.is_outrun) {
            (false, _) => "its reader is gone",
            (true, true) => "what it said is told anew",
            (true, false) => "it said something that was no longer true",
        }
    }
}

/// When the next mark of what is told falls.
fn told_again_at(subject: &Subject, now: DateTime<Utc>) -> Option<DateTime<Utc>> {
    let marks = match subject {
        Subject::Item(item) => &item.marks,
        Subject::Window(window) => &window.marks,
    };
    marks.iter().map(|mark| mark.at).filter(|at| *at > now).min()
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
        reply: Some(carried.why_not().to_owned()),
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

fn claimed_letter(row: LetterRow, token: Uuid, told_again_at: Option<DateTime<Utc>>) -> ClaimedLetter {
    ClaimedLetter {
        fleet: row.fleet,
        id: row.id,
        token,
        attempt: row.attempts + 1,
        counted: row.attempts - row.held + 1,
        was_uncertain: row.was_uncertain,
        without_attachment: row.without_attachment,
        told_again_at,
        created_at: row.created_at,
        address: row.address,
        bytes: row.bytes,
        message_id: row.message_id,
    }
}
