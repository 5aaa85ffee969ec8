//! The message: headers and parts, as bytes ready to be sent.

use crate::about::thread_id;
use crate::address;
use crate::attached::{self, Attached};
use crate::content::Content;
use crate::days::{CalendarChanges, DayTold};
use crate::header::Headers;
use crate::html::html;
use crate::language::Language;
use crate::mime::{self, Parts};
use crate::outline::{self, Frame, document};
use crate::plain::plain;
use crate::subject::subject;
use crate::text::one_line;
use chrono::{DateTime, Datelike, Utc};
use chrono_tz::Tz;
use lettre::message::Mailbox;
use model::FleetId;

/// Longest name in a header, in characters.
const LONGEST_NAME: usize = 100;

/// Octets of a whole letter: it stays below, whatever there is to tell.
const MOST: usize = 100 * 1024;

/// Items that are tried at most: so many never fit, and trying thousands would take long.
const MOST_ITEMS: usize = 1_000;

/// Longest path of a link, in characters.
const LONGEST_PATH: usize = 900;

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
    /// The language the recipient reads; see [`Language::of`].
    pub language: Language,
    /// The fleet's name.
    pub fleet: String,
    /// The fleet: its List-Id, the ids of threads and of days in calendars follow from it.
    pub fleet_id: FleetId,
    /// Where the list is shown, `https://…`; none leaves all links out.
    pub base_url: Option<String>,
    /// What the letter tells.
    pub content: Content,
    /// What it also changes in the reader's calendar.
    pub changes: CalendarChanges,
}

/// A letter ready to be sent.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Composed {
    /// Its subject.
    pub subject: String,
    /// The whole message: ASCII, lines ended by CR LF.
    pub bytes: Vec<u8>,
    /// What it tells calendars: of the days that there were to tell those that fitted.
    pub days: Vec<DayTold>,
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
    /// A link leads elsewhere than to the pages.
    #[error("{0:?} does not lead to the base address")]
    Link(String),
    /// There is nothing to say.
    #[error("a letter needs something to say")]
    Empty,
}

/// The letter made from `facts`.
///
/// Headers: From, To, Subject, Date, Message-ID, List-Id (RFC 2919), `Auto-Submitted: auto-generated` (RFC 3834), those of
/// the thread where one item leads (RFC 5322, 3.6.4), List-Unsubscribe with its one-click POST (RFC 8058) on optional
/// kinds, and those of MIME. The body is plain text and HTML with the same facts; calendars of the days in it are
/// attached, as many as fit beside the text.
///
/// # Errors
/// See [`LetterError`]; nothing that a person may type as a name or note makes one.
pub fn compose(facts: &LetterFacts) -> Result<Composed, LetterError> {
    if facts.content.is_empty() {
        return Err(LetterError::Empty);
    }
    let base_url = facts.base_url.as_deref().map(checked_url).transpose()?;
    check_links(facts, base_url)?;
    let fleet = one_line(&facts.fleet, LONGEST_NAME);
    let subject = subject(&fleet, &facts.content, facts.language);
    let from = address::sender(&facts.from)?;
    let headers = headers(facts, &from, &fleet, &subject)?.into_text();
    let reader = one_line(&facts.to_name, LONGEST_NAME);
    let frame = Frame {
        language: facts.language,
        subject: &subject,
        fleet: &fleet,
        day: facts.date.with_timezone(&facts.zone).date_naive(),
        zone: facts.zone,
        reader: &reader,
        base_url,
        changes: &facts.changes,
    };
    let written = |most, days: &[Attached]| {
        let calendars = attached::calendars(days, from.email.as_ref(), facts.date);
        let document = document(&frame, &facts.content, most);
        let parts = Parts { plain: plain(&document), html: html(&document), calendars };
        [headers.as_bytes(), &mime::body(&parts)].concat()
    };
    let all = outline::items(&facts.content, &facts.changes).min(MOST_ITEMS);
    // One item always fits: its sentences are cut where they are made. The text goes before what is attached to it.
    let most = most_below(MOST, (1, all), |most| written(most, &[]));
    let days = attached::days(facts, most);
    let kept = days
        .get(..most_below(MOST, (0, days.len()), |count| written(most, &days[..count])))
        .unwrap_or_default();
    let bytes = written(most, kept);
    Ok(Composed { subject, bytes, days: kept.iter().map(|day| day.told.clone()).collect() })
}

/// The highest count with which `written` stays below `limit` octets, between the least, which always does, and all.
fn most_below(limit: usize, (least, all): (usize, usize), written: impl Fn(usize) -> Vec<u8>) -> usize {
    if all <= least || written(all).len() < limit {
        return all;
    }
    let (mut fits, mut too_many) = (least, all);
    while too_many - fits > 1 {
        let middle = fits.midpoint(too_many);
        if written(middle).len() < limit {
            fits = middle;
        } else {
            too_many = middle;
        }
    }
    fits
}

fn headers(facts: &LetterFacts, from: &Mailbox, fleet: &str, subject: &str) -> Result<Headers, LetterError> {
    let to = address::recipient(&facts.to_address)?;
    let list_id = address::list_id(facts.fleet_id, from.email.domain());
    check_id("Message-ID", &facts.message_id, 1)?;
    check_id("List-Id", &list_id, 0)?;
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
    if let Some(about) = facts.content.thread() {
        let thread = format!("<{}>", thread_id(about, facts.fleet_id, from.email.domain()));
        headers.plain("In-Reply-To", &thread);
        headers.plain("References", &thread);
    }
    headers.named("List-Id", fleet, &list_id);
    // One click works over TLS alone (RFC 8058, 3.1); the signature that it also asks for is the relay's.
    if let Some(address) = facts.content.unsubscribe().filter(|address| address.starts_with("https://")) {
        headers.plain("List-Unsubscribe", &format!("<{address}>"));
        headers.plain("List-Unsubscribe-Post", "List-Unsubscribe=One-Click");
    }
    headers.plain("Auto-Submitted", "auto-generated");
    headers.plain("MIME-Version", "1.0");
    Ok(headers)
}

fn check_id(header: &'static str, id: &str, signs: usize) -> Result<(), LetterError> {
    if address::is_id(id, signs) { Ok(()) } else { Err(LetterError::Id { header, id: one_line(id, 300) }) }
}

/// Every link leads to the pages.
fn check_links(facts: &LetterFacts, base_url: Option<&str>) -> Result<(), LetterError> {
    let lines = facts.content.lines();
    let items = lines.iter().flat_map(|line| &line.items);
    let of_items = items.flat_map(|item| item.links.seen.iter().chain(&item.links.postpone));
    let sign_in = match &facts.content {
        Content::SignIn(sign_in) => Some(sign_in.link.as_str()),
        _ => None,
    };
    let others = facts.content.unsubscribe().into_iter().chain(sign_in);
    let base = base_url.map(|base| base.trim_end_matches('/'));
    let leads_home = |link: &str| {
        let path = base.and_then(|base| link.strip_prefix(base)).unwrap_or_default();
        path.starts_with('/') && path.len() <= LONGEST_PATH && is_plain(path)
    };
    match of_items.map(String::as_str).chain(others).find(|link| !leads_home(link)) {
        Some(link) => Err(LetterError::Link(one_line(link, 200))),
        None => Ok(()),
    }
}

/// `url`, if it may stand in a letter as the address of the pages.
///
/// # Errors
/// [`LetterError::BaseUrl`].
pub fn checked_url(url: &str) -> Result<&str, LetterError> {
    let web = url.starts_with("https://") || url.starts_with("http://");
    if is_plain(url) && web && url.len() <= 200 {
        Ok(url)
    } else {
        Err(LetterError::BaseUrl(one_line(url, 200)))
    }
}

/// Characters that may stand in an address: no blanks, nothing that ends it or an attribute.
fn is_plain(url: &str) -> bool {
    url.bytes().all(|byte| (b'!'..0x7f).contains(&byte) && !b"<>\"'`\\".contains(&byte))
}
