//! Handing letters over, and settling what became of each.

use super::delivery::{ClaimedLetter, LEASE};
use crate::Clerk;
use crate::error::ActError;
use crate::unreachable;
use chrono::{DateTime, TimeDelta, Utc};
use model::{FleetId, LetterId, LetterState, NoticeId, NoticeState};
use store::letters::Settled;
use store::{Conn, Lease, Reach};

/// A letter that may or may not have arrived is sent once more after so long (house setting, no source: longer than the ten
/// minutes that RFC 5321, 4.5.3.2.6, grants the answer to the final dot).
pub(crate) const UNCERTAIN_AGAIN: TimeDelta = TimeDelta::minutes(15);

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
    /// Not taken, since the way is barred for every letter: the attempt does not count.
    Held {
        /// The reply or fault.
        reply: String,
        /// When to try again.
        at: DateTime<Utc>,
    },
    /// Too large with what is attached: to be tried without it.
    Lightened {
        /// The reply.
        reply: String,
        /// The letter without it.
        bytes: Vec<u8>,
    },
    /// This letter is refused for good.
    Undeliverable {
        /// The reply.
        reply: String,
    },
    /// Its address is refused for good: no letter goes there any more.
    AddressRefused {
        /// The reply.
        reply: String,
    },
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

/// Gives a claim back whose letter was not begun: it may go at once.
///
/// # Errors
/// Storage errors.
pub async fn let_go(clerk: &Clerk, letter: &ClaimedLetter) -> Result<(), ActError> {
    let mut tx = clerk.store().writer(Reach::Fleet(letter.fleet)).await?;
    let conn = &mut tx.conn();
    store::letters::put_back(conn, letter.fleet, letter.id, letter.token, clerk.now()).await?;
    tx.commit().await?;
    Ok(())
}

/// Records how the attempt ended; an address that is refused for good is suppressed along with it. `false`: the claim was
/// lost meanwhile and nothing was changed.
///
/// # Errors
/// Storage errors.
pub async fn settle(clerk: &Clerk, letter: &ClaimedLetter, delivery: Delivery) -> Result<bool, ActError> {
    let now = clerk.now();
    let delivery = delivery.without_address(&letter.address);
    let settled = settled(letter, &delivery, now);
    let mut tx = clerk.store().writer(Reach::Fleet(letter.fleet)).await?;
    let conn = &mut tx.conn();
    let ours = match &delivery {
        Delivery::Held { reply, at } => {
            store::letters::hold(conn, letter.fleet, letter.id, letter.token, reply, *at).await?
        }
        Delivery::Lightened { bytes, .. } => {
            store::letters::lighten(conn, letter.fleet, letter.id, letter.token, bytes).await?
                && store::letters::settle(conn, letter.fleet, letter.id, letter.token, &settled).await?
        }
        _ => store::letters::settle(conn, letter.fleet, letter.id, letter.token, &settled).await?,
    };
    if ours {
        follow_up(conn, clerk, letter, &delivery, &settled, now).await?;
    }
    tx.commit().await?;
    Ok(ours)
}

/// What a settled letter means for its attempt, its notices and its address.
async fn follow_up(
    conn: &mut Conn<'_>,
    clerk: &Clerk,
    letter: &ClaimedLetter,
    delivery: &Delivery,
    settled: &Settled,
    now: DateTime<Utc>,
) -> Result<(), ActError> {
    let ClaimedLetter { fleet, id, attempt, .. } = *letter;
    let (state, reply) = (settled.state, settled.reply.as_deref());
    store::letters::end_attempt(conn, fleet, id, attempt, state, reply, now).await?;
    match delivery {
        Delivery::Sent { .. } => {
            store::notices::settle_by_letter(conn, fleet, id, NoticeState::Told, now).await?;
        }
        Delivery::AddressRefused { reply } => {
            unreachable::suppress(conn, clerk.chance(), fleet, &letter.address, reply, now).await?;
            give_back_notices(conn, fleet, id, letter.was_uncertain, now).await?;
        }
        Delivery::Retry { .. }
        | Delivery::Held { .. }
        | Delivery::Lightened { .. }
        | Delivery::Uncertain { .. }
        | Delivery::Undeliverable { .. } => {}
    }
    Ok(())
}

/// What a letter was to tell that goes nowhere stands in the list only, until its person can be reached. What it may have
/// told stays with it.
pub(super) async fn give_back_notices(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    letter: LetterId,
    was_uncertain: bool,
    now: DateTime<Utc>,
) -> Result<(), ActError> {
    if was_uncertain {
        return Ok(());
    }
    let carried = store::notices::carried_by(conn, fleet, letter).await?;
    let ids: Vec<NoticeId> = carried.iter().map(|notice| notice.id).collect();
    store::notices::take_out(conn, fleet, &ids, NoticeState::ListOnly, Some(now)).await?;
    Ok(())
}

impl Delivery {
    /// The reply or fault.
    pub fn reply(&self) -> &str {
        match self {
            Self::Sent { reply }
            | Self::Retry { reply, .. }
            | Self::Held { reply, .. }
            | Self::Lightened { reply, .. }
            | Self::Uncertain { reply }
            | Self::Undeliverable { reply }
            | Self::AddressRefused { reply } => reply,
        }
    }

    /// The same, with a reply that does not name the address.
    fn without_address(mut self, address: &str) -> Self {
        match &mut self {
            Self::Sent { reply }
            | Self::Retry { reply, .. }
            | Self::Held { reply, .. }
            | Self::Lightened { reply, .. }
            | Self::Uncertain { reply }
            | Self::Undeliverable { reply }
            | Self::AddressRefused { reply } => *reply = unreachable::without_address(reply, address),
        }
        self
    }
}

fn settled(letter: &ClaimedLetter, delivery: &Delivery, now: DateTime<Utc>) -> Settled {
    let (state, next_attempt_at) = match delivery {
        Delivery::Sent { .. } => (LetterState::Sent, None),
        Delivery::Retry { at, .. } | Delivery::Held { at, .. } => (LetterState::Retry, Some(*at)),
        Delivery::Lightened { .. } => (LetterState::Retry, Some(now)),
        Delivery::Uncertain { .. } if letter.was_uncertain => (LetterState::Parked, None),
        Delivery::Uncertain { .. } => (LetterState::Uncertain, Some(now + UNCERTAIN_AGAIN)),
        Delivery::Undeliverable { .. } | Delivery::AddressRefused { .. } => {
            (LetterState::Undeliverable, None)
        }
    };
    let sent_at = (state == LetterState::Sent).then_some(now);
    Settled { state, reply: Some(delivery.reply().to_owned()), next_attempt_at, sent_at }
}
