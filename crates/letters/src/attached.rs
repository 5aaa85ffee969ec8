//! Which days go along with a letter as calendars.

use crate::calendar::{CalendarDay, calendar};
use crate::compose::LetterFacts;
use crate::days::DayTold;
use crate::line::VehicleLine;
use crate::outline;
use chrono::{DateTime, Utc};
use model::CalendarMethod;

/// Days in one letter, at most: nobody looks through more, and those left out go with the next.
const MOST_DAYS: usize = 50;

/// A day to be attached.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Attached {
    /// What is told.
    pub told: DayTold,
    /// In a few words.
    summary: String,
    /// In a few sentences.
    description: Vec<String>,
}

/// The days of the first `most` things that the text tells, the most wanted first. What is taken out comes before what is
/// put in: it is told once, so it cannot crowd the others out for long, as they could it.
pub(crate) fn days(facts: &LetterFacts, most: usize) -> Vec<Attached> {
    let mut left = most;
    let lines = outline::first_items(facts.content.lines(), &mut left);
    let moved = outline::first_items(&facts.changes.moved, &mut left);
    let gone = facts.changes.no_longer.iter().take(left).map(|gone| {
        let (about, dated) = (gone.about.clone(), gone.dated.clone());
        attached(facts, DayTold { method: CalendarMethod::Cancel, about, dated }, Vec::new())
    });
    gone.chain(lines.iter().chain(&moved).flat_map(|line| published(facts, line))).take(MOST_DAYS).collect()
}

fn published(facts: &LetterFacts, line: &VehicleLine) -> Vec<Attached> {
    let dated = line.items.iter().filter_map(|item| Some((item, item.dated.clone()?)));
    let days = dated.map(|(item, dated)| {
        let mut description = vec![item.text.clone()];
        description.extend(item.forecast.clone());
        description.extend(item.caution.as_deref().map(|text| outline::caution(facts.language, text)));
        attached(
            facts,
            DayTold { method: CalendarMethod::Publish, about: item.about.clone(), dated },
            description,
        )
    });
    days.collect()
}

fn attached(facts: &LetterFacts, told: DayTold, description: Vec<String>) -> Attached {
    let shown = &told.dated.shown;
    let names = [("vehicle", shown.label.as_str().into()), ("what", shown.what.as_str().into())];
    Attached { summary: facts.language.say("calendar-summary", names), told, description }
}

/// The days as calendars, one for each method that there is: two methods never share a part (RFC 6047, 2.4).
pub(crate) fn calendars(
    days: &[Attached],
    organizer: &str,
    written_at: DateTime<Utc>,
) -> Vec<(CalendarMethod, String)> {
    let methods = [CalendarMethod::Publish, CalendarMethod::Cancel];
    let of = |method| {
        let days: Vec<CalendarDay> =
            days.iter().filter(|day| day.told.method == method).map(calendar_day).collect();
        (!days.is_empty()).then(|| (method, calendar(method, organizer, written_at, &days)))
    };
    methods.into_iter().filter_map(of).collect()
}

fn calendar_day(attached: &Attached) -> CalendarDay {
    let dated = &attached.told.dated;
    CalendarDay {
        uid: dated.uid.clone(),
        sequence: dated.sequence,
        day: dated.shown.day,
        summary: attached.summary.clone(),
        description: attached.description.clone(),
    }
}
