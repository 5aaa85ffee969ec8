//! Days of items in a reader's calendar: what it shows, and what a letter changes there.

use crate::about::About;
use crate::line::VehicleLine;
use chrono::NaiveDate;
use model::CalendarMethod;

/// What a calendar shows of an item.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DayShown {
    /// The day.
    pub day: NaiveDate,
    /// The fleet's own name for the vehicle.
    pub label: String,
    /// What is to be done, in a few words.
    pub what: String,
}

/// How an item stands in the reader's calendar before this letter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InCalendar {
    /// What the calendar knows it by: see [`crate::calendar_uid`].
    pub uid: String,
    /// The revision that a change has: higher than any that was written before.
    pub sequence: u32,
    /// What it shows, where that is certain.
    pub shows: Option<DayShown>,
}

impl InCalendar {
    /// What makes the calendar show this; none if it does already.
    pub fn changed_to(&self, shown: DayShown) -> Option<Dated> {
        let is_shown = self.shows.as_ref() == Some(&shown);
        (!is_shown).then(|| Dated { uid: self.uid.clone(), sequence: self.sequence, shown })
    }
}

/// A day as a letter tells a calendar of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Dated {
    /// What the calendar knows it by.
    pub uid: String,
    /// Its revision; it rises with every letter that carries the day.
    pub sequence: u32,
    /// What the calendar shows then; of what is taken out of it, what it showed.
    pub shown: DayShown,
}

/// What a letter tells calendars of one item.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DayTold {
    /// Whether the day is put in or taken out.
    pub method: CalendarMethod,
    /// What it is about.
    pub about: About,
    /// The day and its revision.
    pub dated: Dated,
}

/// Something that was told, and whose day stands in a calendar, but that needs nothing any more.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NoLonger {
    /// What it was.
    pub about: About,
    /// The day that is taken out of the calendar.
    pub dated: Dated,
}

/// What a letter that goes anyway also changes in the reader's calendar. No letter is written for it alone.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct CalendarChanges {
    /// What was told before and has another day now; see [`crate::moved_lines`].
    pub moved: Vec<VehicleLine>,
    /// What was told before and is no longer needed.
    pub no_longer: Vec<NoLonger>,
}
