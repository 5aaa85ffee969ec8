//! The plain text of a letter.

use crate::line::{ItemLine, Urgency, VehicleLine};
use crate::text::wrapped;
use crate::words;
use chrono::NaiveDate;

/// Width of a line, in characters.
const WIDTH: usize = 72;

/// Octets of text in a letter. Quoted-printable may triple them; with the headers a letter stays below 100 KiB.
const MOST: usize = 30_000;

/// Reasons shown under an item.
const MOST_REASONS: usize = 6;

/// What frames the lines of a letter.
pub struct Frame<'a> {
    /// The fleet's name.
    pub fleet: &'a str,
    /// The day the letter is written, as the reader counts it.
    pub day: NaiveDate,
    /// Whom to ring.
    pub ring: Option<&'a str>,
    /// Who reads.
    pub reader: &'a str,
    /// Where the list is shown.
    pub base_url: Option<&'a str>,
}

/// The text of a letter: its lines in their sections, then where to look.
pub fn body(frame: &Frame<'_>, lines: &[VehicleLine]) -> String {
    let mut text = vec![format!("{}, {}", frame.fleet, words::long_day(frame.day))];
    let end = ending(frame);
    let mut left = MOST.saturating_sub(octets(&text) + octets(&end));
    let mut section = None;
    for (index, line) in lines.iter().enumerate() {
        let mut block = Vec::new();
        if section != Some(line.urgency()) {
            block.extend([String::new(), words::section(line.urgency()).to_owned()]);
        }
        block.extend(vehicle(frame, line));
        if octets(&block) + 100 > left {
            text.extend([String::new(), words::not_shown(lines.len() - index)]);
            break;
        }
        left -= octets(&block);
        section = Some(line.urgency());
        text.extend(block);
    }
    text.extend(end);
    text.join("\n") + "\n"
}

fn octets(lines: &[String]) -> usize {
    lines.iter().map(|line| line.len() + 2).sum()
}

fn vehicle(frame: &Frame<'_>, line: &VehicleLine) -> Vec<String> {
    let mut block = vec![String::new()];
    block.extend(wrapped(&words::vehicle_name(line), 0, WIDTH));
    if line.urgency() == Urgency::DoNotDrive {
        block.extend(wrapped(&words::take_the_key(frame.ring, frame.reader), 2, WIDTH));
    }
    block.extend(line.items.iter().flat_map(item));
    block
}

/// One item; reasons and cautions are left out where nothing presses.
fn item(item: &ItemLine) -> Vec<String> {
    let mut lines = hanging("- ", &item.text);
    lines.extend(item.forecast.iter().flat_map(|forecast| wrapped(forecast, 4, WIDTH)));
    if item.urgency == Urgency::Later {
        return lines;
    }
    lines.extend(item.because.iter().take(MOST_REASONS).flat_map(|reason| wrapped(reason, 4, WIDTH)));
    lines.extend(item.caution.iter().flat_map(|caution| wrapped(&words::caution(caution), 4, WIDTH)));
    lines
}

/// `text` after `sign`, its further lines standing in under the first.
fn hanging(sign: &str, text: &str) -> Vec<String> {
    let mut lines = wrapped(text, 4, WIDTH);
    if let Some(first) = lines.first_mut() {
        *first = format!("  {sign}{}", first.trim_start());
    }
    lines
}

fn ending(frame: &Frame<'_>) -> Vec<String> {
    let mut end = vec![String::new(), "-- ".to_owned()];
    if let Some(base_url) = frame.base_url {
        end.push(words::where_to_look(base_url));
    }
    end.extend(wrapped(&words::who_writes(frame.fleet), 0, WIDTH));
    end
}
