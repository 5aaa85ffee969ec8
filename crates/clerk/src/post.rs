//! The courier's side: notices gathered into letters, letters claimed, sent and settled.
//!
//! No transaction is held while a letter is on its way: claim, commit, send, settle.

mod calendar;
mod delivery;
mod depots;
mod digest;
mod gathering;
mod settling;
mod standing;

pub use calendar::{Calendar, KnownDay};
pub use delivery::{ClaimedLetter, claim_letters};
pub use depots::Depots;
pub use digest::{Ahead, Digest, Listed, Tally};
pub use gathering::{
    Addressee, GatheredNotice, Gathering, SealedLetter, Subject, Unanswered, VehicleCard, open_gathering,
    waiting_addressees,
};
pub(crate) use gathering::{card_of, reason};
pub(crate) use settling::UNCERTAIN_AGAIN;
pub use settling::{Delivery, let_go, settle, start_sending};

pub use store::calendar_days::{DayKey, Revision};

use crate::Clerk;
use crate::error::ActError;
use chrono::{DateTime, Utc};
use store::{Lease, Reach};

/// When there is next something to gather or to send.
///
/// # Errors
/// Storage errors.
pub async fn next_letter_time(clerk: &Clerk) -> Result<Option<DateTime<Utc>>, ActError> {
    let mut tx = clerk.store().reader(Reach::All).await?;
    let notices = store::notices::next_time(&mut tx.conn()).await?;
    let digests = store::digests::next_time(&mut tx.conn()).await?;
    let now = clerk.now();
    let lease = Lease::taken(&mut tx, now, delivery::LEASE).await?;
    let letters = store::letters::next_time(&mut tx.conn(), now, lease).await?;
    Ok(notices.into_iter().chain(digests).chain(letters).min())
}
