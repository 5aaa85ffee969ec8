//! Civil days and instants, and the one place where a time zone is applied.

use crate::civil_days;
use chrono::{
    DateTime, Datelike, Days, Months, NaiveDate, NaiveTime, TimeDelta, TimeZone, Timelike, Utc, Weekday,
};
use chrono_tz::Tz;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

const MINUTES_A_DAY: i64 = 1440;

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
    let remembered = civil_days::of(zone).and_then(|days| days.start(day));
    remembered.unwrap_or_else(|| instant_of(day, NaiveTime::MIN, zone))
}

/// The instant at which the day after `day` begins in `zone`: a date limit lasts until then.
pub fn day_after(day: NaiveDate, zone: Tz) -> DateTime<Utc> {
    day_start(add_days(day, 1), zone)
}

/// Noon of `day` in `zone`: stands for "on that day" where no time was told.
pub fn noon(day: NaiveDate, zone: Tz) -> DateTime<Utc> {
    instant_of(day, NaiveTime::from_hms_opt(12, 0, 0).unwrap_or(NaiveTime::MIN), zone)
}

/// The instant at which the clocks of `zone` show `time` on `day`: in a gap the first instant after it, in a fold the
/// first pass.
pub fn instant_of(day: NaiveDate, time: NaiveTime, zone: Tz) -> DateTime<Utc> {
    let wanted = day.and_time(time);
    if let Some(local) = zone.from_local_datetime(&wanted).earliest() {
        return local.with_timezone(&Utc);
    }
    // Clocks change at whole minutes; no gap is longer than a day (a zone that skipped one at the date line).
    let minute = wanted.with_second(0).and_then(|minute| minute.with_nanosecond(0)).unwrap_or(wanted);
    let after = (1..=MINUTES_A_DAY)
        .find_map(|minutes| zone.from_local_datetime(&(minute + TimeDelta::minutes(minutes))).earliest());
    after.map_or_else(|| wanted.and_utc(), |local| local.with_timezone(&Utc))
}

/// The civil day at the instant `at` in `zone`.
pub fn local_day(at: DateTime<Utc>, zone: Tz) -> NaiveDate {
    let remembered = civil_days::of(zone).and_then(|days| days.day_of(at));
    remembered.unwrap_or_else(|| at.with_timezone(&zone).date_naive())
}

/// The days of the week on which a vehicle runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Weekdays(u8);

impl Weekdays {
    /// Every day.
    pub const ALL: Self = Self(0x7f);
    /// The days on which most workshops work.
    pub const MONDAY_TO_FRIDAY: Self = Self(0x1f);

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

/// A day of every year, written `10-15`; 29 February stands for 28 February in other years.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct MonthDay {
    month: u32,
    day: u32,
}

/// A text that is no day of the year.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0:?} is no day of the year: month and day are wanted, such as 10-15")]
pub struct MonthDayError(String);

impl MonthDay {
    /// The day, if there is one of that month and number in a leap year.
    pub fn new(month: u32, day: u32) -> Option<Self> {
        NaiveDate::from_ymd_opt(2024, month, day).map(|_| Self { month, day })
    }

    /// The day in `year`, kept within the program's calendar.
    pub fn in_year(self, year: i32) -> NaiveDate {
        let day = NaiveDate::from_ymd_opt(year, self.month, self.day);
        let or_before = || NaiveDate::from_ymd_opt(year, self.month, self.day - 1);
        let beyond = if year > LAST_DAY.year() { LAST_DAY } else { FIRST_DAY };
        day.or_else(or_before).unwrap_or(beyond).clamp(FIRST_DAY, LAST_DAY)
    }
}

impl fmt::Display for MonthDay {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:02}-{:02}", self.month, self.day)
    }
}

impl FromStr for MonthDay {
    type Err = MonthDayError;
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let fault = || MonthDayError(text.to_owned());
        let (month, day) = text.split_once('-').ok_or_else(fault)?;
        let number = |part: &str| {
            let is_two_digits = part.len() == 2 && part.bytes().all(|byte| byte.is_ascii_digit());
            is_two_digits.then(|| part.parse().ok()).flatten()
        };
        let (month, day) = number(month).zip(number(day)).ok_or_else(fault)?;
        Self::new(month, day).ok_or_else(fault)
    }
}

impl TryFrom<String> for MonthDay {
    type Error = MonthDayError;
    fn try_from(text: String) -> Result<Self, Self::Error> {
        text.parse()
    }
}

impl From<MonthDay> for String {
    fn from(day: MonthDay) -> Self {
        day.to_string()
    }
}
