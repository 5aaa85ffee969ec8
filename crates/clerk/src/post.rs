//! The courier's side: notices gathered into letters, letters claimed, sent and settled.
//!
//! No transaction is held while a letter is on its way: claim, commit, send, settle.

mod delivery;
mod digest;
mod gathering;

pub use delivery::{ClaimedLetter, Delivery, claim_letters, settle, start_sending};
pub use digest::{Digest, Listed, Tally};
pub use gathering::{
    Addressee, GatheredNotice, Gathering, SealedLetter, Subject, Unanswered, VehicleCard, open_gathering,
    waiting_addressees,
};
pub(crate) use gathering::{card_of, reason};

use crate::Clerk;
use crate::error::ActError;
use chrono::{DateTime, Utc};
use store::Reach;

/// When there is next something to gather or to send.
///
/// # Errors
/// Storage errors.
pub async fn next_letter_time(clerk: &Clerk) -> Result<Option<DateTime<Utc>>, ActError> {
    let mut tx = clerk.store().reader(Reach::All).await?;
    let notices = store::notices::next_time(&mut tx.conn()).await?;
    let digests = store::digests::next_time(&mut tx.conn()).await?;
    let letters = store::letters::next_time(&mut tx.conn(), clerk.now() + delivery::LEASE).await?;
    Ok(notices.into_iter().chain(digests).chain(letters).min())
}
