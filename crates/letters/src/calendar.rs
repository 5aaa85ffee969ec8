//! Days as a calendar takes them: text/calendar (RFC 5545) with a method (RFC 5546).
//!
//! Written here and not by the `icalendar` crate (0.17): its last folded line may have 76 octets, its all-day event ends on
//! the day it starts, which RFC 5545, 3.8.2.2, forbids, and what is not given it takes from the clock and from chance. What
//! is needed of the format is little; two other parsers read the result in the checks.

use crate::text::one_line;
use chrono::{DateTime, NaiveDate, Utc};
use model::CalendarMethod;

/// Longest line without its end, in octets (RFC 5545, 3.1).
const LINE: usize = 75;

/// Longest summary, in characters.
const SUMMARY: usize = 150;

/// Longest description, in characters.
const DESCRIPTION: usize = 600;

/// One day in a calendar.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CalendarDay {
    /// The same for every revision; see [`crate::calendar_uid`].
    pub uid: String,
    /// Which revision: a calendar keeps the highest it has seen.
    pub sequence: u32,
    /// The day, all of it.
    pub day: NaiveDate,
    /// In a few words.
    pub summary: String,
    /// In a few sentences, a line each.
    pub description: Vec<String>,
}

/// The days as one calendar object of this method, lines ended by CR LF. `organizer` is the address of whoever publishes
/// them, which both methods ask for (RFC 5546, 3.2.1 and 3.2.5).
pub fn calendar(
    method: CalendarMethod,
    organizer: &str,
    written_at: DateTime<Utc>,
    days: &[CalendarDay],
) -> String {
    let mut lines = Lines::default();
    lines.put("BEGIN", "VCALENDAR");
    lines.put("VERSION", "2.0");
    lines.put("PRODID", "-//Ostler//Letters//EN");
    lines.put("CALSCALE", "GREGORIAN");
    lines.put("METHOD", method.word());
    for day in days {
        lines.put_event((method, organizer), written_at, day);
    }
    lines.put("END", "VCALENDAR");
    lines.0
}

/// Content lines, folded.
#[derive(Default)]
struct Lines(String);

impl Lines {
    /// An event of one whole day: without an end it takes just that (RFC 5545, 3.6.1).
    fn put_event(
        &mut self,
        (method, organizer): (CalendarMethod, &str),
        written_at: DateTime<Utc>,
        day: &CalendarDay,
    ) {
        self.put("BEGIN", "VEVENT");
        self.put("UID", &day.uid);
        self.put("ORGANIZER", &format!("mailto:{organizer}"));
        self.put("DTSTAMP", &written_at.format("%Y%m%dT%H%M%SZ").to_string());
        self.put("SEQUENCE", &day.sequence.to_string());
        self.put("DTSTART;VALUE=DATE", &day.day.format("%Y%m%d").to_string());
        self.put("SUMMARY", &escaped(&one_line(&day.summary, SUMMARY)));
        let description = description(&day.description);
        if !description.is_empty() {
            self.put("DESCRIPTION", &escaped(&description));
        }
        let status = match method {
            CalendarMethod::Publish => "CONFIRMED",
            CalendarMethod::Cancel => "CANCELLED",
        };
        self.put("STATUS", status);
        // The day is for remembering: it makes nobody busy.
        self.put("TRANSP", "TRANSPARENT");
        self.put("END", "VEVENT");
    }

    /// One content line, folded by octets but never within a character.
    fn put(&mut self, name: &str, value: &str) {
        let mut length = 0;
        for c in format!("{name}:{value}").chars() {
            if length + c.len_utf8() > LINE {
                self.0.push_str("\r\n ");
                length = 1;
            }
            self.0.push(c);
            length += c.len_utf8();
        }
        self.0.push_str("\r\n");
    }
}

/// A text value (RFC 5545, 3.3.11).
fn escaped(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\\' | ';' | ',' => escaped.extend(['\\', c]),
            '\n' => escaped.push_str("\\n"),
            c => escaped.push(c),
        }
    }
    escaped
}

/// The lines, each made fit for a letter, together no longer than allowed.
fn description(lines: &[String]) -> String {
    let mut left = DESCRIPTION;
    let mut kept = Vec::new();
    for line in lines {
        let line = one_line(line, left);
        left = left.saturating_sub(line.chars().count() + 1);
        if !line.is_empty() {
            kept.push(line);
        }
        if left < 2 {
            break;
        }
    }
    kept.join("\n")
}
