//! Letters: exact bytes kept before they are sent, and what is told of them.

pub(crate) mod claims;

pub use claims::{
    LetterRow, Settled, claim, end_attempt, give_up_sending, hold, lighten, next_time, put_back, settle,
    start_attempt,
};

use crate::pages::behind;
use crate::parse::InRow;
use crate::rows::each;
use crate::{Conn, StoreError};
use chrono::{DateTime, Utc};
use model::{FleetId, LetterId, LetterState, PersonId};
use uuid::Uuid;

statements! {
    INSERT = {
        "INSERT INTO letter (fleet_id, id, person_id, kind, subject, message_id, state, attempts, next_attempt_at,"
        "created_at) VALUES ($1, $2, $3, $4, $5, $6, 'waiting', $7, $8, $9)"
    }
    INSERT_BODY = { "INSERT INTO letter_body (fleet_id, letter_id, address, bytes) VALUES ($1, $2, $3, $4)" }
    /// Letters to one person that nobody has in hand and that may not have arrived.
    UNSENT = {
        "SELECT id, attempts - held AS attempts, next_attempt_at FROM letter WHERE fleet_id = $1 AND person_id = $2"
        "AND state IN ('waiting', 'retry') AND NOT EXISTS (SELECT 1 FROM letter_attempt AS a"
        "WHERE a.fleet_id = letter.fleet_id AND a.letter_id = letter.id AND a.outcome = 'uncertain')"
        postgres: "ORDER BY id FOR UPDATE SKIP LOCKED"
    }
    REPLACE = {
        "UPDATE letter SET state = 'withdrawn', next_attempt_at = NULL, last_reply = 'a later letter says it'"
        "WHERE fleet_id = $1 AND state IN ('waiting', 'retry') AND id IN" ids: "$2"
    }
    FIND = {
        "SELECT id, person_id, kind, subject, message_id, state, attempts - held AS attempts, next_attempt_at, last_reply,"
        "without_attachment, created_at, sent_at FROM letter WHERE fleet_id = $1 AND id = $2"
    }
    PAGE = {
        "SELECT id, person_id, kind, subject, message_id, state, attempts - held AS attempts, next_attempt_at, last_reply,"
        "without_attachment, created_at, sent_at FROM letter WHERE fleet_id = $1 AND (created_at, id) > ($2, $3) ORDER BY created_at, id LIMIT $4"
    }
    /// Of letters that are settled, if they are old enough, or at once if their person is gone: what may still be sent keeps
    /// its bytes.
    FORGET_BODIES = {
        "DELETE FROM letter_body WHERE fleet_id = $1 AND letter_id IN (SELECT l.id FROM letter AS l"
        "WHERE l.fleet_id = $1 AND l.state IN ('sent', 'withdrawn', 'undeliverable', 'parked') AND (l.created_at < $2"
        "OR EXISTS (SELECT 1 FROM person AS p WHERE p.fleet_id = l.fleet_id AND p.id = l.person_id"
        "AND p.removed_at IS NOT NULL)))"
    }
    BODY = { "SELECT bytes FROM letter_body WHERE fleet_id = $1 AND letter_id = $2" }
}

/// A letter to be kept, with its exact bytes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewLetter {
    /// Its id.
    pub id: LetterId,
    /// Who is written to.
    pub person: PersonId,
    /// What kind of letter.
    pub kind: String,
    /// Its subject line.
    pub subject: String,
    /// Its Message-ID.
    pub message_id: String,
    /// The one address it goes to.
    pub address: String,
    /// Its exact bytes.
    pub bytes: Vec<u8>,
    /// When it was made.
    pub created_at: DateTime<Utc>,
    /// Attempts that count, begun at the letters it stands for.
    pub attempts: i64,
    /// When it may be sent.
    pub first_attempt_at: DateTime<Utc>,
}

/// A letter that may be replaced by another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unsent {
    /// Its id.
    pub id: LetterId,
    /// Attempts begun so far that count.
    pub attempts: i64,
    /// When it is tried next.
    pub next_attempt_at: Option<DateTime<Utc>>,
}

/// A letter as it is listed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LetterCard {
    /// Its id.
    pub id: LetterId,
    /// Who is written to.
    pub person: PersonId,
    /// What kind of letter.
    pub kind: String,
    /// Its subject line.
    pub subject: String,
    /// Its Message-ID.
    pub message_id: String,
    /// Where it stands.
    pub state: LetterState,
    /// Attempts begun so far, those apart that found the way barred for every letter.
    pub attempts: i64,
    /// When it is tried next.
    pub next_attempt_at: Option<DateTime<Utc>>,
    /// What the relay said last.
    pub last_reply: Option<String>,
    /// Whether what was attached has been taken out, because a relay found it too large.
    pub without_attachment: bool,
    /// When it was made.
    pub created_at: DateTime<Utc>,
    /// When the relay took it.
    pub sent_at: Option<DateTime<Utc>>,
}

#[derive(sqlx::FromRow)]
struct CardRow {
    id: Uuid,
    person_id: Uuid,
    kind: String,
    subject: String,
    message_id: String,
    state: String,
    attempts: i64,
    next_attempt_at: Option<DateTime<Utc>>,
    last_reply: Option<String>,
    without_attachment: bool,
    created_at: DateTime<Utc>,
    sent_at: Option<DateTime<Utc>>,
}

impl TryFrom<CardRow> for LetterCard {
    type Error = StoreError;

    fn try_from(row: CardRow) -> Result<Self, StoreError> {
        let at = InRow::new("letter", row.id);
        Ok(Self {
            id: LetterId(row.id),
            person: PersonId(row.person_id),
            state: at.word("state", &row.state, LetterState::from_word)?,
            kind: row.kind,
            subject: row.subject,
            message_id: row.message_id,
            attempts: row.attempts,
            next_attempt_at: row.next_attempt_at,
            last_reply: row.last_reply,
            without_attachment: row.without_attachment,
            created_at: row.created_at,
            sent_at: row.sent_at,
        })
    }
}

/// Keeps a letter with its bytes. `Unique` if the Message-ID is taken.
pub async fn insert(conn: &mut Conn<'_>, fleet: FleetId, letter: &NewLetter) -> Result<(), StoreError> {
    let NewLetter { id, person, kind, subject, message_id, created_at, attempts, first_attempt_at, .. } =
        letter;
    execute!(
        conn,
        INSERT,
        fleet.0,
        id.0,
        person.0,
        kind,
        subject,
        message_id,
        *attempts,
        *first_attempt_at,
        *created_at
    )?;
    execute!(conn, INSERT_BODY, fleet.0, id.0, &letter.address, letter.bytes.as_slice())?;
    Ok(())
}

/// Letters to a person that nobody has in hand and that cannot have arrived, locked until the transaction ends: needs a
/// writer.
pub async fn unsent(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    person: PersonId,
) -> Result<Vec<Unsent>, StoreError> {
    let rows = fetch!(fetch_all, conn, (Uuid, i64, Option<DateTime<Utc>>), UNSENT, fleet.0, person.0)?;
    let unsent = |(id, attempts, next_attempt_at)| Unsent { id: LetterId(id), attempts, next_attempt_at };
    let mut letters: Vec<Unsent> = rows.into_iter().map(unsent).collect();
    letters.sort_unstable_by_key(|letter| letter.id);
    Ok(letters)
}

/// Withdraws letters that another stands for.
pub async fn replace(conn: &mut Conn<'_>, fleet: FleetId, letters: &[LetterId]) -> Result<u64, StoreError> {
    execute!(conn, REPLACE, fleet.0, crate::rows::id_list(letters.iter().map(|letter| letter.0)))
}

/// The letter of that id.
pub async fn find(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    id: LetterId,
) -> Result<Option<LetterCard>, StoreError> {
    crate::rows::one(fetch!(fetch_optional, conn, CardRow, FIND, fleet.0, id.0)?)
}

/// Letters behind `after`, in the order they were made.
pub async fn page(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    after: Option<(DateTime<Utc>, LetterId)>,
    limit: i64,
) -> Result<Vec<LetterCard>, StoreError> {
    let (at, id) = behind(after.map(|(at, id)| (at, id.0)));
    each(fetch!(fetch_all, conn, CardRow, PAGE, fleet.0, at, id, limit)?)
}

/// A letter's exact bytes, while they are kept.
pub async fn body(conn: &mut Conn<'_>, fleet: FleetId, id: LetterId) -> Result<Option<Vec<u8>>, StoreError> {
    Ok(fetch!(fetch_optional, conn, (Vec<u8>,), BODY, fleet.0, id.0)?.map(|row| row.0))
}

/// Forgets addresses and bytes of settled letters made before `before`, or to somebody erased; that they went, to whom and with which decisions
/// stays. Gives how many.
pub async fn forget_bodies(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    before: DateTime<Utc>,
) -> Result<u64, StoreError> {
    execute!(conn, FORGET_BODIES, fleet.0, before)
}
