//! Civil days and instants, and the one place where a time zone is applied.

use chrono::{DateTime, Datelike, Days, Months, NaiveDate, NaiveTime, TimeDelta, TimeZone, Utc, Weekday};
use chrono_tz::Tz;
use serde::{Deserialize, Serialize};

/// The first day the program keeps: 1900-01-01.
pub const FIRST_DAY: NaiveDate = match NaiveDate::from_ymd_opt(1900, 1, 1) {
    Some(day) => day,
    None => NaiveDate::MIN,
};

/// The last day the program keeps: 2200-12-31.
pub const LAST_DAY: NaiveDate = match NaiveDate::from_ymd_opt(2200, 12, 31) {
    Some(day) => day,
    None => NaiveDate::MAX,
};

/// The IANA zone of this name, if there is one.
pub fn parse_zone(name: &str) -> Option<Tz> {
    name.parse().ok()
}

/// `day` plus `months`, clamped to the month's end: 31 January and one month is 28 or 29 February.
///
/// Always count from the anchor: two steps of one month are not one step of two.
pub fn add_months(day: NaiveDate, months: u32) -> NaiveDate {
    day.checked_add_months(Months::new(months)).unwrap_or(LAST_DAY).min(LAST_DAY)
}

/// `day` plus `days` (which may be negative), kept within the program's calendar.
pub fn add_days(day: NaiveDate, days: i64) -> NaiveDate {
    let moved = if days >= 0 {
        day.checked_add_days(Days::new(days.unsigned_abs()))
    } else {
        day.checked_sub_days(Days::new(days.unsigned_abs()))
    };
    moved.unwrap_or(if days >= 0 { LAST_DAY } else { FIRST_DAY }).clamp(FIRST_DAY, LAST_DAY)
}

/// The instant at which `day` begins in `zone`. Where midnight is skipped, the first instant after the gap; where it
/// comes twice, the first.
pub fn day_start(day: NaiveDate, zone: Tz) -> DateTime<Utc> {
    at_local(day, NaiveTime::MIN, zone)
}

/// The instant at which the day after `day` begins in `zone`: a date limit lasts until then.
pub fn day_after(day: NaiveDate, zone: Tz) -> DateTime<Utc> {
    day_start(add_days(day, 1), zone)
}

/// Noon of `day` in `zone`: stands for "on that day" where no time was told.
pub fn noon(day: NaiveDate, zone: Tz) -> DateTime<Utc> {
    at_local(day, NaiveTime::from_hms_opt(12, 0, 0).unwrap_or(NaiveTime::MIN), zone)
}

fn at_local(day: NaiveDate, time: NaiveTime, zone: Tz) -> DateTime<Utc> {
    let wanted = day.and_time(time);
    // Gaps are at most a day long (a zone that skipped a date line day); steps of 15 minutes meet every real one.
    let found = (0..=96_i32).find_map(|quarter| {
        zone.from_local_datetime(&(wanted + TimeDelta::minutes(15 * i64::from(quarter)))).earliest()
    });
    found.map_or_else(|| wanted.and_utc(), |local| local.with_timezone(&Utc))
}

/// The civil day at the instant `at` in `zone`.
pub fn local_day(at: DateTime<Utc>, zone: Tz) -> NaiveDate {
    at.with_timezone(&zone).date_naive()
}

/// The days of the week on which a vehicle runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Weekdays(u8);

impl Weekdays {
    /// Every day.
    pub const ALL: Self = Self(0x7f);

    /// From bits, Monday the lowest; `None` if no day or an eighth is set.
    pub const fn from_bits(bits: u8) -> Option<Self> {
        if bits == 0 || bits > 0x7f { None } else { Some(Self(bits)) }
    }

    /// As bits, Monday the lowest.
    pub const fn bits(self) -> u8 {
        self.0
    }

    /// Whether the vehicle runs on this day of the week.
    pub fn contains(self, weekday: Weekday) -> bool {
        self.0 & (1 << weekday.num_days_from_monday()) != 0
    }

    /// How many days of a week it runs.
    pub const fn per_week(self) -> u32 {
        self.0.count_ones()
    }

    /// How many of the days `from..to` (the last excluded) it runs.
    pub fn count_between(self, from: NaiveDate, to: NaiveDate) -> i64 {
        let days = (to - from).num_days();
        if days <= 0 {
            return 0;
        }
        let weeks = days / 7;
        let rest = (0..days % 7).filter(|n| self.contains(add_days(from, weeks * 7 + n).weekday())).count();
        weeks * i64::from(self.per_week()) + i64::try_from(rest).unwrap_or(0)
    }
}
