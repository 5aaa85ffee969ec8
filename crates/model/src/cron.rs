//! Cron expressions: five fields, read on the clocks of a zone.
//!
//! Fields and the rule that day of the month and day of the week widen each other: POSIX `crontab`; names, steps, 7 for
//! Sunday and "a field that begins with `*` restricts nothing" for that rule: crontab(5) (both from memory). The parser is our own
//! since a person who mistypes must be told which field, and the crates for it count weekdays otherwise.

mod field;

pub use field::CronField;

use crate::calendar::{LAST_DAY, add_days, instant_of};
use chrono::{DateTime, Datelike, Months, NaiveDate, NaiveDateTime, NaiveTime, Timelike, Utc};
use chrono_tz::Tz;
use field::{Marked, read};
use std::fmt;
use std::str::FromStr;

/// The longest each month can be, January first.
const LONGEST: [u32; 12] = [31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];

/// A cron expression of five fields: minute, hour, day of the month, month, day of the week.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CronExpression {
    text: String,
    minutes: Marked,
    hours: Marked,
    days: Marked,
    months: Marked,
    weekdays: Marked,
}

/// What is wrong with a cron expression.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CronError {
    /// Not five fields.
    #[error(
        "{0} fields: five are wanted, minute, hour, day of the month, month and day of the week, as in 30 2 * * mon"
    )]
    Fields(usize),
    /// A field that cannot be read.
    #[error("{field} {value:?} is not understood; allowed are {}", field.allowed())]
    Field {
        /// Which field.
        field: CronField,
        /// What stands there, or the part of it that is at fault.
        value: String,
    },
    /// No month named has any of the days named.
    #[error("day of the month {days} never comes in month {months}")]
    NeverComes {
        /// The third field.
        days: String,
        /// The fourth.
        months: String,
    },
}

impl CronExpression {
    /// The first instant after `after` at which the clocks of `zone` show a minute of the expression; `None` where there
    /// is none until the end of the program's calendar.
    ///
    /// Minutes are civil: one that the clocks skip is met at the first instant after the gap, one that comes twice is met
    /// at its first pass alone, and several that fall on one instant are met once.
    pub fn next_after(&self, after: DateTime<Utc>, zone: Tz) -> Option<DateTime<Utc>> {
        let shown = after.with_timezone(&zone).naive_local();
        let minute = shown.time().with_second(0).and_then(|time| time.with_nanosecond(0))?;
        let mut from = NaiveDateTime::new(shown.date(), minute);
        loop {
            let met = self.first_from(from)?;
            let at = instant_of(met.date(), met.time(), zone);
            if at > after {
                return Some(at);
            }
            from = met.checked_add_signed(chrono::TimeDelta::minutes(1))?;
        }
    }

    /// The first civil minute of the expression at or after `from`.
    fn first_from(&self, from: NaiveDateTime) -> Option<NaiveDateTime> {
        let (mut day, mut time) = (from.date(), from.time());
        while day <= LAST_DAY {
            if !self.months.has(day.month()) {
                day = first_of_next_month(day)?;
            } else if let Some(met) = self.first_time(day, time) {
                return Some(day.and_time(met));
            } else if day == LAST_DAY {
                return None;
            } else {
                day = add_days(day, 1);
            }
            time = NaiveTime::MIN;
        }
        None
    }

    fn first_time(&self, day: NaiveDate, from: NaiveTime) -> Option<NaiveTime> {
        if !self.has_day(day) {
            return None;
        }
        let hour = self.hours.first_from(from.hour())?;
        let minute = if hour == from.hour() { from.minute() } else { 0 };
        if let Some(minute) = self.minutes.first_from(minute) {
            return NaiveTime::from_hms_opt(hour, minute, 0);
        }
        NaiveTime::from_hms_opt(self.hours.first_from(hour + 1)?, self.minutes.first_from(0)?, 0)
    }

    /// Where both kinds of day are restricted either will do; else both must fit.
    fn has_day(&self, day: NaiveDate) -> bool {
        let by_number = self.days.has(day.day());
        let by_week = self.weekdays.has(day.weekday().num_days_from_sunday());
        if self.days.is_restricted && self.weekdays.is_restricted {
            by_number || by_week
        } else {
            by_number && by_week
        }
    }

    fn comes(&self) -> bool {
        let is_met = |month: u32, longest: u32| {
            self.months.has(month) && self.days.first_from(1).is_some_and(|day| day <= longest)
        };
        self.weekdays.is_restricted && self.days.is_restricted
            || (1..).zip(LONGEST).any(|(month, longest)| is_met(month, longest))
    }
}

fn first_of_next_month(day: NaiveDate) -> Option<NaiveDate> {
    day.with_day(1)?.checked_add_months(Months::new(1))
}

impl FromStr for CronExpression {
    type Err = CronError;
    fn from_str(text: &str) -> Result<Self, CronError> {
        let parts: Vec<&str> = text.split_whitespace().collect();
        let [minute, hour, day, month, weekday] = parts[..] else {
            return Err(CronError::Fields(parts.len()));
        };
        let expression = Self {
            text: parts.join(" "),
            minutes: read(CronField::Minute, minute)?,
            hours: read(CronField::Hour, hour)?,
            days: read(CronField::Day, day)?,
            months: read(CronField::Month, month)?,
            weekdays: read(CronField::Weekday, weekday)?,
        };
        if expression.comes() {
            return Ok(expression);
        }
        Err(CronError::NeverComes { days: day.to_owned(), months: month.to_owned() })
    }
}

impl fmt::Display for CronExpression {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}
