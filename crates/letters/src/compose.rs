//! The message: headers and body, as bytes ready to be sent.

use crate::address;
use crate::body::{Frame, body};
use crate::header::Headers;
use crate::line::VehicleLine;
use crate::subject::subject;
use crate::text::one_line;
use chrono::{DateTime, Datelike, Utc};
use chrono_tz::Tz;
use lettre::message::Body;
use lettre::message::header::ContentTransferEncoding;

/// Longest name in a header, in characters.
const LONGEST_NAME: usize = 100;

/// Everything a letter is made from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LetterFacts {
    /// The sender, as `Name <address>` or an address alone.
    pub from: String,
    /// The recipient's name; may be empty.
    pub to_name: String,
    /// The recipient's address.
    pub to_address: String,
    /// Message-ID without angle brackets; see [`crate::message_id`].
    pub message_id: String,
    /// The instant the letter is written.
    pub date: DateTime<Utc>,
    /// The recipient's zone: the day in the heading is read in it.
    pub zone: Tz,
    /// The fleet's name.
    pub fleet: String,
    /// Where the list is shown, `https://…`; none leaves the link out.
    pub base_url: Option<String>,
    /// List-Id without angle brackets; see [`crate::list_id`].
    pub list_id: String,
    /// Whom to ring about a vehicle that must not be driven; none: the fleet manager, without a name.
    pub ring: Option<String>,
    /// What is said of each vehicle, in order; see [`crate::vehicle_lines`].
    pub lines: Vec<VehicleLine>,
}

/// A letter ready to be sent.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Composed {
    /// Its subject.
    pub subject: String,
    /// The whole message: ASCII, lines ended by CR LF.
    pub bytes: Vec<u8>,
}

/// Why no letter can be made.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum LetterError {
    /// The sender set in the settings is no mailbox.
    #[error("{from:?} is no sender: write `Name <address>` or an address of plain ASCII")]
    Sender {
        /// What was set.
        from: String,
    },
    /// No relay would take the recipient's address.
    #[error("{address:?} is no address that every relay takes: name@domain, both of plain ASCII")]
    Recipient {
        /// The address.
        address: String,
    },
    /// The Message-ID or List-Id is not of dot-atoms.
    #[error("{id:?} cannot stand in a {header} field")]
    Id {
        /// Which field.
        header: &'static str,
        /// The id.
        id: String,
    },
    /// The date has no form in a header: RFC 5322 writes the years 1900 to 9999.
    #[error("{0} cannot stand in a Date field")]
    Date(DateTime<Utc>),
    /// The address of the pages is not one that may stand in a letter.
    #[error("{0:?} is no base address: http:// or https://, no blanks, at most 200 characters")]
    BaseUrl(String),
    /// There is nothing to say.
    #[error("a letter needs something to say")]
    Empty,
}

/// The letter made from `facts`.
///
/// Headers: From, To, Subject, Date, Message-ID, List-Id (RFC 2919), `Auto-Submitted: auto-generated` (RFC 3834) and
/// those of MIME. The body is plain text in 7bit, quoted-printable or base64, whichever is shortest and safe.
///
/// # Errors
/// See [`LetterError`]; nothing that a person may type as a name or note makes one.
pub fn compose(facts: &LetterFacts) -> Result<Composed, LetterError> {
    if facts.lines.iter().all(|line| line.items.is_empty()) {
        return Err(LetterError::Empty);
    }
    let base_url = facts.base_url.as_deref().map(checked_url).transpose()?;
    let fleet = one_line(&facts.fleet, LONGEST_NAME);
    let subject = subject(&fleet, &facts.lines);
    let mut headers = headers(facts, &fleet, &subject)?;
    let ring = facts.ring.as_deref().map(|name| one_line(name, LONGEST_NAME)).filter(|name| !name.is_empty());
    let day = facts.date.with_timezone(&facts.zone).date_naive();
    let reader = one_line(&facts.to_name, LONGEST_NAME);
    let frame = Frame { fleet: &fleet, day, ring: ring.as_deref(), reader: &reader, base_url };
    let body = Body::new(body(&frame, &facts.lines));
    headers.plain("MIME-Version", "1.0");
    headers.plain("Content-Type", "text/plain; charset=utf-8");
    headers.plain("Content-Transfer-Encoding", encoding_word(body.encoding()));
    let mut bytes = headers.into_text().into_bytes();
    bytes.extend_from_slice(b"\r\n");
    bytes.extend_from_slice(body.as_ref());
    if !bytes.ends_with(b"\r\n") {
        bytes.extend_from_slice(b"\r\n");
    }
    Ok(Composed { subject, bytes })
}

fn headers(facts: &LetterFacts, fleet: &str, subject: &str) -> Result<Headers, LetterError> {
    let from = address::sender(&facts.from)?;
    let to = address::recipient(&facts.to_address)?;
    let id = |header, id: &str, signs| {
        if address::is_id(id, signs) {
            Ok(())
        } else {
            Err(LetterError::Id { header, id: one_line(id, 300) })
        }
    };
    id("Message-ID", &facts.message_id, 1)?;
    id("List-Id", &facts.list_id, 0)?;
    if !(1900..=9999).contains(&facts.date.year()) {
        return Err(LetterError::Date(facts.date));
    }
    let from_name = one_line(from.name.as_deref().unwrap_or_default(), LONGEST_NAME);
    let mut headers = Headers::default();
    headers.named("From", &from_name, from.email.as_ref());
    headers.named("To", &one_line(&facts.to_name, LONGEST_NAME), &to);
    headers.free("Subject", subject);
    headers.plain("Date", &facts.date.to_rfc2822());
    headers.plain("Message-ID", &format!("<{}>", facts.message_id));
    headers.named("List-Id", fleet, &facts.list_id);
    headers.plain("Auto-Submitted", "auto-generated");
    Ok(headers)
}

/// `url`, if it may stand in a letter as the address of the pages.
///
/// # Errors
/// [`LetterError::BaseUrl`].
pub fn checked_url(url: &str) -> Result<&str, LetterError> {
    let plain = url.bytes().all(|byte| (b'!'..0x7f).contains(&byte) && !b"<>\"".contains(&byte));
    let web = url.starts_with("https://") || url.starts_with("http://");
    if plain && web && url.len() <= 200 { Ok(url) } else { Err(LetterError::BaseUrl(one_line(url, 200))) }
}

const fn encoding_word(encoding: ContentTransferEncoding) -> &'static str {
    match encoding {
        ContentTransferEncoding::SevenBit => "7bit",
        ContentTransferEncoding::QuotedPrintable => "quoted-printable",
        ContentTransferEncoding::Base64 => "base64",
        ContentTransferEncoding::EightBit => "8bit",
        ContentTransferEncoding::Binary => "binary",
    }
}
