//! The subject: the one most important thing.

use crate::line::{Urgency, VehicleLine};
use crate::text::one_line;

/// Longest subject; phones show about a third of it.
const LONGEST: usize = 120;

/// The subject of a letter with these lines, the most pressing first.
pub fn subject(fleet: &str, lines: &[VehicleLine]) -> String {
    let Some(first) = lines.first() else { return one_line(fleet, LONGEST) };
    let text = if first.urgency() == Urgency::DoNotDrive { do_not_drive(lines) } else { first_of_all(lines) };
    one_line(&text, LONGEST)
}

fn do_not_drive(lines: &[VehicleLine]) -> String {
    let labels: Vec<&str> = lines
        .iter()
        .filter(|line| line.urgency() == Urgency::DoNotDrive)
        .map(|line| line.label.as_str())
        .collect();
    match labels.as_slice() {
        [only] => {
            let why =
                lines.first().and_then(|line| line.items.first()).map_or("", |item| item.headline.as_str());
            format!("Do not drive {}: {}", one_line(only, 40), one_line(why, 60))
        }
        [one, other] => format!("Do not drive {} and {}", one_line(one, 40), one_line(other, 40)),
        [one, other, rest @ ..] => {
            format!("Do not drive {}, {} and {} more", one_line(one, 40), one_line(other, 40), rest.len())
        }
        [] => String::new(),
    }
}

fn first_of_all(lines: &[VehicleLine]) -> String {
    let items: usize = lines.iter().map(|line| line.items.len()).sum();
    let more = match items.saturating_sub(1) {
        0 => String::new(),
        more => format!(" (and {more} more)"),
    };
    let headline = lines.first().map(|line| {
        let item = line.items.first().map_or("", |item| item.headline.as_str());
        format!("{}: {}", one_line(&line.label, 40), one_line(item, 60))
    });
    format!("{}{more}", headline.unwrap_or_default())
}
