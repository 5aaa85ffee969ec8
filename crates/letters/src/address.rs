//! Addresses and ids as they stand in headers.

use crate::compose::LetterError;
use lettre::message::Mailbox;
use model::{FleetId, LetterId};

/// The Message-ID of a letter, without angle brackets. It follows from the letter alone, so a second copy carries it too.
pub fn message_id(letter: LetterId, domain: &str) -> String {
    format!("letter.{letter}@{domain}")
}

/// The List-Id of a fleet's letters, without angle brackets (RFC 2919: a domain name the sender may speak for).
pub fn list_id(fleet: FleetId, domain: &str) -> String {
    format!("letters.{}.{domain}", fleet.0.simple())
}

/// The domain of the sender's address: ids are made under it.
///
/// # Errors
/// [`LetterError::Sender`] if `from` is no mailbox.
pub fn sender_domain(from: &str) -> Result<String, LetterError> {
    sender(from).map(|mailbox| mailbox.email.domain().to_owned())
}

/// The sender's address alone, for the envelope.
///
/// # Errors
/// [`LetterError::Sender`] if `from` is no mailbox.
pub fn sender_address(from: &str) -> Result<String, LetterError> {
    sender(from).map(|mailbox| mailbox.email.to_string())
}

pub fn sender(from: &str) -> Result<Mailbox, LetterError> {
    let wrong = || LetterError::Sender { from: crate::text::one_line(from, 200) };
    let mailbox: Mailbox = from.parse().map_err(|_| wrong())?;
    if is_sendable(mailbox.email.as_ref()) { Ok(mailbox) } else { Err(wrong()) }
}

/// The recipient's address, if a letter can be sent there by any relay.
///
/// An address beyond ASCII needs a relay with SMTPUTF8 (RFC 6531) and headers to match; it is refused here, once, rather
/// than by some relay on the way. A domain beyond ASCII has an ASCII form to enter instead.
pub fn recipient(address: &str) -> Result<String, LetterError> {
    let wrong = || LetterError::Recipient { address: crate::text::one_line(address, 200) };
    let parsed: lettre::Address = address.parse().map_err(|_| wrong())?;
    if is_sendable(parsed.as_ref()) { Ok(parsed.to_string()) } else { Err(wrong()) }
}

/// Length by RFC 5321, 4.5.3.1: 64 octets before the sign, 255 after, 254 for both (erratum 1690 to RFC 3696).
fn is_sendable(address: &str) -> bool {
    address.len() <= 254
        && address.bytes().all(|byte| (b'!'..0x7f).contains(&byte) && !b"<>\"(),:;\\".contains(&byte))
}

/// Whether `id` may stand in angle brackets: dot-atoms, with one `@` for a Message-ID and none for a List-Id.
pub fn is_id(id: &str, signs: usize) -> bool {
    let plain = |byte: u8| byte.is_ascii_alphanumeric() || b"@.-_+=".contains(&byte);
    let parts: Vec<&str> = id.split('@').collect();
    (1..=250).contains(&id.len())
        && id.bytes().all(plain)
        && parts.len() == signs + 1
        && parts.iter().all(|part| part.split('.').all(|atom| !atom.is_empty()))
}
