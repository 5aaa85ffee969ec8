//! The subject: the one most important thing.

use crate::content::{Content, DayAhead, WeekAhead};
use crate::language::{Argument, Language};
use crate::line::{Urgency, VehicleLine};
use crate::text::one_line;

/// Longest subject; phones show about a third of it.
const LONGEST: usize = 120;

/// Longest label of a vehicle, in characters.
const LABEL: usize = 40;

/// Longest headline, in characters.
const HEADLINE: usize = 60;

/// The subject of a letter of the fleet of this name.
pub(crate) fn subject(fleet: &str, content: &Content, language: Language) -> String {
    let fleet = || [("fleet", one_line(fleet, LABEL).into())];
    let text = match content {
        Content::AtOnce(_) | Content::Notices(_) => of_lines(&content.lines(), language).unwrap_or_default(),
        Content::WeekAhead(week) => week_ahead(week, &content.lines(), language),
        Content::DayAhead(day) => day_ahead(day, &content.lines(), language),
        Content::SignIn(_) => language.say("subject-sign-in", fleet()),
        Content::AddressTest => language.say("subject-address-test", fleet()),
    };
    one_line(&text, LONGEST)
}

fn vehicle(label: &str) -> Argument<'static> {
    ("vehicle", one_line(label, LABEL).into())
}

/// The first of the lines, which are in order; none if there are none.
fn of_lines(lines: &[&VehicleLine], language: Language) -> Option<String> {
    let first = lines.first()?;
    let item = first.items.first()?;
    let what = |name| (name, one_line(&item.headline, HEADLINE).into());
    let items: usize = lines.iter().map(|line| line.items.len()).sum();
    match item.urgency {
        Urgency::DoNotDrive => Some(do_not_drive(lines, what("why"), language)),
        Urgency::Today => {
            let today = language.say("subject-today", [vehicle(&first.label), what("what")]);
            Some(and_more(today, items, language))
        }
        Urgency::ThisWeek | Urgency::Later => {
            let said = language.say("subject-first", [vehicle(&first.label), what("what")]);
            Some(and_more(said, items, language))
        }
    }
}

fn do_not_drive(lines: &[&VehicleLine], why: Argument<'_>, language: Language) -> String {
    let stopped = lines.iter().filter(|line| line.urgency() == Urgency::DoNotDrive);
    let labels: Vec<&str> = stopped.map(|line| line.label.as_str()).collect();
    let other = |label: &str| ("other", one_line(label, LABEL).into());
    match labels.as_slice() {
        [] => String::new(),
        [only] => language.say("do-not-drive-one", [vehicle(only), why]),
        [one, two] => language.say("do-not-drive-two", [vehicle(one), other(two)]),
        [one, two, rest @ ..] => {
            let count = ("count", rest.len().into());
            language.say("do-not-drive-more", [vehicle(one), other(two), count])
        }
    }
}

fn and_more(subject: String, items: usize, language: Language) -> String {
    match items.saturating_sub(1) {
        0 => subject,
        more => language.say("subject-and-more", [("subject", subject.into()), ("count", more.into())]),
    }
}

fn week_ahead(week: &WeekAhead, lines: &[&VehicleLine], language: Language) -> String {
    let day = ("day", language.day(week.monday).into());
    match of_lines(lines, language) {
        Some(subject) => language.say("subject-week", [("subject", subject.into()), day]),
        None => language.say("subject-week-tally", [day]),
    }
}

fn day_ahead(ahead: &DayAhead, lines: &[&VehicleLine], language: Language) -> String {
    let day = language.long_day(ahead.day);
    language.say("subject-tomorrow", [("day", day.into()), ("count", lines.len().into())])
}
