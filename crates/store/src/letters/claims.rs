//! Letters claimed under a lease, handed over and settled once.

use crate::{Conn, Lease, StoreError};
use chrono::{DateTime, Utc};
use model::{FleetId, LetterId, LetterState, PersonId};
use uuid::Uuid;

statements! {
    /// A courier died while it was sending: the relay may or may not have taken the letter. After the letters, so that it
    /// is of the same ones.
    END_GIVEN_UP = {
        "UPDATE letter_attempt SET ended_at = $1, outcome = 'uncertain', reply = 'the courier stopped before the relay"
        "answered' WHERE outcome IS NULL AND (fleet_id, letter_id) IN"
        "(SELECT fleet_id, id FROM letter WHERE state IN ('uncertain', 'parked'))"
    }
    /// One repetition is risked, no second.
    PARK_SENDING = {
        "UPDATE letter SET state = 'parked', next_attempt_at = NULL, claim_token = NULL, claimed_until = NULL,"
        "last_reply = 'the courier stopped before the relay answered'"
        "WHERE state = 'sending' AND (claimed_until < $1 OR claimed_until > $2)"
        "AND EXISTS (SELECT 1 FROM letter_attempt AS a WHERE a.fleet_id = letter.fleet_id AND a.letter_id = letter.id"
        "AND a.attempt < letter.attempts AND a.outcome = 'uncertain')"
    }
    GIVE_UP_SENDING = {
        "UPDATE letter SET state = 'uncertain', next_attempt_at = $3, claim_token = NULL, claimed_until = NULL,"
        "last_reply = 'the courier stopped before the relay answered'"
        "WHERE state = 'sending' AND (claimed_until < $1 OR claimed_until > $2)"
    }
    /// Through a list made once: a sub-query with a limit could be run again for each row, and claim more than it may.
    CLAIM = {
        "WITH wanted AS MATERIALIZED (SELECT fleet_id, id FROM letter"
        "WHERE (state IN ('waiting', 'retry', 'uncertain') AND next_attempt_at <= $1)"
        "OR (state = 'claimed' AND (claimed_until < $6 OR claimed_until > $5)) ORDER BY next_attempt_at, id LIMIT $4"
        postgres: "FOR UPDATE SKIP LOCKED"
        ") UPDATE letter SET state = 'claimed', claim_token = $3, claimed_until = $2"
        "WHERE (fleet_id, id) IN (SELECT fleet_id, id FROM wanted) RETURNING id"
    }
    CLAIMED = {
        "SELECT l.fleet_id, l.id, l.person_id, l.kind, l.attempts, l.held, l.without_attachment, l.message_id,"
        "l.created_at, b.address, b.bytes,"
        "EXISTS (SELECT 1 FROM letter_attempt AS a WHERE a.fleet_id = l.fleet_id AND a.letter_id = l.id"
        "AND a.outcome = 'uncertain') AS was_uncertain FROM letter AS l"
        "JOIN letter_body AS b ON b.fleet_id = l.fleet_id AND b.letter_id = l.id"
        "WHERE l.claim_token = $1 AND l.state = 'claimed' ORDER BY l.created_at, l.id"
    }
    /// Back to where it stood before it was claimed, for later.
    PUT_BACK = {
        "UPDATE letter SET state = CASE WHEN EXISTS (SELECT 1 FROM letter_attempt AS a WHERE a.fleet_id = letter.fleet_id"
        "AND a.letter_id = letter.id AND a.outcome = 'uncertain') THEN 'uncertain' WHEN attempts > 0 THEN 'retry'"
        "ELSE 'waiting' END, next_attempt_at = $4, claim_token = NULL, claimed_until = NULL"
        "WHERE fleet_id = $1 AND id = $2 AND claim_token = $3 AND state = 'claimed'"
    }
    START = {
        "UPDATE letter SET state = 'sending', attempts = $4 WHERE fleet_id = $1 AND id = $2 AND claim_token = $3"
        "AND state = 'claimed' AND claimed_until >= $5"
    }
    START_ATTEMPT = {
        "INSERT INTO letter_attempt (fleet_id, letter_id, attempt, started_at) VALUES ($1, $2, $3, $4)"
    }
    END_ATTEMPT = {
        "UPDATE letter_attempt SET ended_at = $4, outcome = $5, reply = $6 WHERE fleet_id = $1 AND letter_id = $2"
        "AND attempt = $3"
    }
    SETTLE = {
        "UPDATE letter SET state = $4, last_reply = $5, next_attempt_at = $6, sent_at = $7, claim_token = NULL,"
        "claimed_until = NULL WHERE fleet_id = $1 AND id = $2 AND claim_token = $3"
    }
    /// The attempt found the way barred for every letter: it is not counted.
    HOLD = {
        "UPDATE letter SET state = CASE WHEN EXISTS (SELECT 1 FROM letter_attempt AS a WHERE a.fleet_id = letter.fleet_id"
        "AND a.letter_id = letter.id AND a.outcome = 'uncertain') THEN 'uncertain' ELSE 'retry' END, last_reply = $4,"
        "next_attempt_at = $5, held = held + 1, claim_token = NULL, claimed_until = NULL"
        "WHERE fleet_id = $1 AND id = $2 AND claim_token = $3"
    }
    LIGHTEN = {
        "UPDATE letter SET without_attachment = TRUE WHERE fleet_id = $1 AND id = $2 AND claim_token = $3"
    }
    LIGHTEN_BODY = { "UPDATE letter_body SET bytes = $3 WHERE fleet_id = $1 AND letter_id = $2" }
    NEXT_TIME = {
        "SELECT MIN(CASE WHEN state NOT IN ('claimed', 'sending') THEN next_attempt_at"
        "WHEN claimed_until > $1 OR claimed_until < $2 THEN $3 ELSE claimed_until END) AS next_at"
        "FROM letter WHERE state IN ('waiting', 'retry', 'uncertain', 'claimed', 'sending')"
    }
}

/// A claimed letter with its bytes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LetterRow {
    /// Its fleet.
    pub fleet: FleetId,
    /// Its id.
    pub id: LetterId,
    /// Who is written to.
    pub person: PersonId,
    /// What kind of letter.
    pub kind: String,
    /// Attempts begun so far.
    pub attempts: i64,
    /// So many of them found the way barred for every letter, and do not count.
    pub held: i64,
    /// Whether one of them ended without an answer.
    pub was_uncertain: bool,
    /// Whether what was attached has been taken out.
    pub without_attachment: bool,
    /// Its Message-ID.
    pub message_id: String,
    /// When it was made.
    pub created_at: DateTime<Utc>,
    /// The one address it goes to.
    pub address: String,
    /// Its exact bytes.
    pub bytes: Vec<u8>,
}

/// How a claim on a letter ends.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Settled {
    /// Its new state.
    pub state: LetterState,
    /// What was said or seen.
    pub reply: Option<String>,
    /// When to try again.
    pub next_attempt_at: Option<DateTime<Utc>>,
    /// When the relay took it.
    pub sent_at: Option<DateTime<Utc>>,
}

#[derive(sqlx::FromRow)]
struct ClaimedRow {
    fleet_id: Uuid,
    id: Uuid,
    person_id: Uuid,
    kind: String,
    attempts: i64,
    held: i64,
    without_attachment: bool,
    message_id: String,
    created_at: DateTime<Utc>,
    address: String,
    bytes: Vec<u8>,
    was_uncertain: bool,
}

impl From<ClaimedRow> for LetterRow {
    fn from(row: ClaimedRow) -> Self {
        Self {
            fleet: FleetId(row.fleet_id),
            id: LetterId(row.id),
            person: PersonId(row.person_id),
            kind: row.kind,
            attempts: row.attempts,
            held: row.held,
            was_uncertain: row.was_uncertain,
            without_attachment: row.without_attachment,
            message_id: row.message_id,
            created_at: row.created_at,
            address: row.address,
            bytes: row.bytes,
        }
    }
}

/// Letters whose courier let its lease run out while sending become uncertain, or parked if they were so before. A lease
/// taken now would be `lease`. Says how many those were. Needs `Reach::All`.
pub async fn give_up_sending(
    conn: &mut Conn<'_>,
    now: DateTime<Utc>,
    lease: Lease,
    again_at: DateTime<Utc>,
) -> Result<u64, StoreError> {
    let beyond = lease.beyond();
    let parked = execute!(conn, PARK_SENDING, lease.at, beyond)?;
    let given_up = parked + execute!(conn, GIVE_UP_SENDING, lease.at, beyond, again_at)?;
    if given_up > 0 {
        execute!(conn, END_GIVEN_UP, now)?;
    }
    Ok(given_up)
}

/// Claims letters whose time has come, and those whose claim ran out before sending began: needs `Reach::All`.
pub async fn claim(
    conn: &mut Conn<'_>,
    now: DateTime<Utc>,
    lease: Lease,
    token: Uuid,
    most: u32,
) -> Result<Vec<LetterRow>, StoreError> {
    let most = i64::from(most);
    fetch!(fetch_all, conn, (Uuid,), CLAIM, now, lease.until, token, most, lease.beyond(), lease.at)?;
    let rows = fetch!(fetch_all, conn, ClaimedRow, CLAIMED, token)?;
    Ok(rows.into_iter().map(LetterRow::from).collect())
}

/// Gives up a claim without an attempt: the letter waits until `next_attempt_at` as it waited before.
pub async fn put_back(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    letter: LetterId,
    token: Uuid,
    next_attempt_at: DateTime<Utc>,
) -> Result<bool, StoreError> {
    Ok(execute!(conn, PUT_BACK, fleet.0, letter.0, token, next_attempt_at)? == 1)
}

/// Notes that a claimed letter is being handed over; `false` if the claim was lost, or has run out by `on_leases`, the
/// instant on the clock of leases: whoever gives up letters may be looking at it.
pub async fn start_attempt(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    letter: LetterId,
    token: Uuid,
    attempt: i64,
    at: DateTime<Utc>,
    on_leases: DateTime<Utc>,
) -> Result<bool, StoreError> {
    #[cfg(feature = "without-claim-token")]
    use crate::unguarded::START;
    let ours = execute!(conn, START, fleet.0, letter.0, token, attempt, on_leases)? == 1;
    if ours {
        execute!(conn, START_ATTEMPT, fleet.0, letter.0, attempt, at)?;
    }
    Ok(ours)
}

/// Notes how an attempt ended.
pub async fn end_attempt(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    letter: LetterId,
    attempt: i64,
    outcome: LetterState,
    reply: Option<&str>,
    at: DateTime<Utc>,
) -> Result<(), StoreError> {
    execute!(conn, END_ATTEMPT, fleet.0, letter.0, attempt, at, outcome.word(), reply)?;
    Ok(())
}

/// Ends a claim; `false` if it was lost and nothing was changed.
pub async fn settle(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    letter: LetterId,
    token: Uuid,
    settled: &Settled,
) -> Result<bool, StoreError> {
    #[cfg(feature = "without-claim-token")]
    use crate::unguarded::SETTLE;
    let Settled { state, reply, next_attempt_at, sent_at } = settled;
    let (state, reply) = (state.word(), reply.as_deref());
    let touched = execute!(conn, SETTLE, fleet.0, letter.0, token, state, reply, *next_attempt_at, *sent_at)?;
    Ok(touched == 1)
}

/// Ends a claim whose attempt is not to count: the letter waits until `next_attempt_at`. `false` if it was lost.
pub async fn hold(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    letter: LetterId,
    token: Uuid,
    reply: &str,
    next_attempt_at: DateTime<Utc>,
) -> Result<bool, StoreError> {
    Ok(execute!(conn, HOLD, fleet.0, letter.0, token, reply, next_attempt_at)? == 1)
}

/// Puts other bytes, with nothing attached, in place of a claimed letter's; `false` if the claim was lost.
pub async fn lighten(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    letter: LetterId,
    token: Uuid,
    bytes: &[u8],
) -> Result<bool, StoreError> {
    let ours = execute!(conn, LIGHTEN, fleet.0, letter.0, token)? == 1;
    if ours {
        execute!(conn, LIGHTEN_BODY, fleet.0, letter.0, bytes)?;
    }
    Ok(ours)
}

/// When there is next a letter to see to, `now` where a lease has run out; one taken now would be `lease`: needs `Reach::All`.
pub async fn next_time(
    conn: &mut Conn<'_>,
    now: DateTime<Utc>,
    lease: Lease,
) -> Result<Option<DateTime<Utc>>, StoreError> {
    Ok(fetch!(fetch_one, conn, (Option<DateTime<Utc>>,), NEXT_TIME, lease.beyond(), lease.at, now)?.0)
}
