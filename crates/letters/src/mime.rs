//! The parts of a message: plain text and HTML of the same letter, and calendars beside them.
//!
//! Calendars are attachments, not alternatives: several mail programs show a calendar that stands among the alternatives
//! *instead* of the text, and what must not be driven would go unread (RFC 6047, 2.4, leaves both open).

use lettre::message::header::{ContentDisposition, ContentType};
use lettre::message::{MultiPart, SinglePart};
use model::CalendarMethod;
use sha2::{Digest, Sha256};

/// What a message is made of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Parts {
    /// The letter in plain text.
    pub plain: String,
    /// The same letter in HTML.
    pub html: String,
    /// Calendars, at most one of each method.
    pub calendars: Vec<(CalendarMethod, String)>,
}

/// The body with the fields that describe it, from `Content-Type` on; each part in 7bit, quoted-printable or base64,
/// whichever is shortest and safe.
pub(crate) fn body(parts: &Parts) -> Vec<u8> {
    let boundary = boundary(parts);
    let letter = MultiPart::alternative()
        .boundary(format!("{boundary}letter"))
        .singlepart(SinglePart::plain(parts.plain.clone()))
        .singlepart(SinglePart::html(parts.html.clone()));
    if parts.calendars.is_empty() {
        return letter.formatted();
    }
    let mixed = MultiPart::mixed().boundary(format!("{boundary}whole")).multipart(letter);
    let with = |whole: MultiPart, (method, text): &(CalendarMethod, String)| match content_type(*method) {
        Some(content_type) => whole.singlepart(
            SinglePart::builder()
                .content_type(content_type)
                .header(ContentDisposition::attachment(file_name(*method)))
                .body(text.clone()),
        ),
        None => whole,
    };
    parts.calendars.iter().fold(mixed, with).formatted()
}

fn content_type(method: CalendarMethod) -> Option<ContentType> {
    ContentType::parse(&format!("text/calendar; charset=utf-8; method={}", method.word())).ok()
}

const fn file_name(method: CalendarMethod) -> &'static str {
    match method {
        CalendarMethod::Publish => "days.ics",
        CalendarMethod::Cancel => "days-no-longer-needed.ics",
    }
}

/// The beginning of a line that stands in no part: it follows from all of them, so nobody can have typed it. `=_` occurs
/// neither in quoted-printable nor in base64 (RFC 2045, 6.7).
fn boundary(parts: &Parts) -> String {
    let mut hash = Sha256::new();
    let calendars = parts.calendars.iter().map(|(_, text)| text);
    for part in [&parts.plain, &parts.html].into_iter().chain(calendars) {
        hash.update(part.as_bytes());
        hash.update([0]);
    }
    let digits: Vec<String> = hash.finalize().iter().take(12).map(|byte| format!("{byte:02x}")).collect();
    format!("=_{}.", digits.concat())
}
