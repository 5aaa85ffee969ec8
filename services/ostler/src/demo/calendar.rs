//! Dates of the demo file, which are counted back from today.

use anyhow::Context;
use chrono::{DateTime, NaiveDate, NaiveTime, TimeZone, Utc};
use chrono_tz::Tz;
use model::add_days;

/// Dates of the file counted back from today where the vehicle stands.
pub(super) struct Calendar {
    /// Today.
    pub(super) today: NaiveDate,
    /// Where the vehicle stands.
    pub(super) zone: Tz,
    /// Now.
    pub(super) now: DateTime<Utc>,
}

impl Calendar {
    /// The day so many days ago; ahead for a negative number.
    pub(super) fn day(&self, days_ago: i64) -> NaiveDate {
        add_days(self.today, -days_ago)
    }

    /// Local time on that day, but never later than now.
    pub(super) fn instant(&self, days_ago: i64, time: &str) -> anyhow::Result<DateTime<Utc>> {
        let time: NaiveTime = format!("{time}:00").parse().with_context(|| format!("{time} is no time"))?;
        let local = self.day(days_ago).and_time(time);
        let instant = self.zone.from_local_datetime(&local).earliest().map(|at| at.with_timezone(&Utc));
        Ok(instant.unwrap_or_else(|| model::noon(self.day(days_ago), self.zone)).min(self.now))
    }
}
