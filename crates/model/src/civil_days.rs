//! When the civil days of a zone begin, looked up once and remembered.
//!
//! A horizon asks a few hundred times when a day begins or which day an instant falls on; each would be two searches
//! through the zone's changes. What is remembered is what the search gave: nothing here decides anything.

use crate::calendar::instant_of;
use chrono::{DateTime, Datelike, NaiveDate, NaiveTime, TimeZone, Utc};
use chrono_tz::{TZ_VARIANTS, Tz};
use std::sync::OnceLock;

/// The first day remembered, 2000-01-01, counted from the common era.
const FIRST: i32 = 730_120;
/// Days remembered: to the end of 2059.
const COUNT: usize = 21_915;
const SECONDS_A_DAY: i64 = 86_400;
/// 2000-01-01 00:00 UTC.
const FIRST_SECONDS: i64 = 946_684_800;

/// The days of one zone.
pub(crate) struct CivilDays {
    /// The first instant of each, in seconds of Unix time.
    starts: Vec<i64>,
    /// Whether the day of an instant can be read off: not where clocks were set back over a midnight, so that an
    /// evening came again after the next day had begun.
    is_in_order: bool,
}

static ZONES: [OnceLock<CivilDays>; TZ_VARIANTS.len()] = [const { OnceLock::new() }; TZ_VARIANTS.len()];

/// The days of `zone`.
pub(crate) fn of(zone: Tz) -> Option<&'static CivilDays> {
    ZONES.get(zone as usize).map(|days| days.get_or_init(|| CivilDays::search(zone)))
}

impl CivilDays {
    fn search(zone: Tz) -> Self {
        let mut days = Self { starts: Vec::with_capacity(COUNT), is_in_order: true };
        let first = NaiveDate::from_num_days_from_ce_opt(FIRST).unwrap_or_default();
        for day in first.iter_days().take(COUNT) {
            days.starts.push(instant_of(day, NaiveTime::MIN, zone).timestamp());
            let midnight = zone.from_local_datetime(&day.and_time(NaiveTime::MIN));
            days.is_in_order &= midnight.earliest() == midnight.latest();
        }
        days
    }

    /// The first instant of `day`; `None` for a day that is not remembered.
    pub(crate) fn start(&self, day: NaiveDate) -> Option<DateTime<Utc>> {
        let place = usize::try_from(day.num_days_from_ce() - FIRST).ok()?;
        DateTime::from_timestamp(*self.starts.get(place)?, 0)
    }

    /// The day of an instant; `None` where it must be looked up.
    pub(crate) fn day_of(&self, at: DateTime<Utc>) -> Option<NaiveDate> {
        let seconds = at.timestamp();
        let near = usize::try_from((seconds - FIRST_SECONDS) / SECONDS_A_DAY).ok()?.checked_sub(1)?;
        let around = self.starts.get(near..near + 4).filter(|_| self.is_in_order)?;
        let begun = around.iter().take_while(|start| **start <= seconds).count();
        // Where all four have begun a later one may have too, and where none has an earlier one: look it up.
        let place = near + begun.checked_sub(1).filter(|place| *place < 3)?;
        NaiveDate::from_num_days_from_ce_opt(FIRST + i32::try_from(place).ok()?)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::TimeDelta;

    #[test]
    fn the_days_remembered_are_those_looked_up_in_every_zone() {
        for zone in TZ_VARIANTS {
            let days = of(zone).expect("every zone has a place");
            let first = NaiveDate::from_ymd_opt(2000, 1, 1).expect("a day");
            // Every 11th day meets each weekday, month and change of clocks of the sixty years in turn.
            for day in first.iter_days().step_by(11).take_while(|day| day.year() < 2060) {
                let start = instant_of(day, NaiveTime::MIN, zone);
                assert_eq!(days.start(day), Some(start), "{day} in {zone}");
                for minutes in [-1, 0, 1, 721, 1439] {
                    let at = start + TimeDelta::minutes(minutes);
                    let looked_up = at.with_timezone(&zone).date_naive();
                    assert!(days.day_of(at).is_none_or(|day| day == looked_up), "{at} in {zone}");
                }
            }
        }
    }

    #[test]
    fn days_that_are_not_remembered_are_not_made_up() {
        let days = of(Tz::Europe__Paris).expect("every zone has a place");
        let day = |year| NaiveDate::from_ymd_opt(year, 1, 1).expect("a day");
        assert_eq!([days.start(day(1999)), days.start(day(2060))], [None, None]);
        assert!(days.start(day(2059)).is_some());
        let at = |text: &str| text.parse::<DateTime<Utc>>().expect("an instant");
        assert_eq!(
            [days.day_of(at("1999-06-01T00:00:00Z")), days.day_of(at("2060-06-01T00:00:00Z"))],
            [None, None]
        );
        assert_eq!(days.day_of(at("2026-06-01T22:30:00Z")), NaiveDate::from_ymd_opt(2026, 6, 2));
    }
}
