//! How old a tyre is by the date code on its side wall, and on which day an age is reached.

use crate::limit::{Bound, Class, Discipline, Limit, Standing, Wheels};
use crate::series::Noted;
use crate::yardstick::{Held, Yardstick};
use chrono::{Days, NaiveDate, Weekday};
use model::{Grade, Jurisdiction, Place, Vehicle, add_days, add_months};
use quantity::{Entered, Unit};
use std::fmt;
use std::str::FromStr;

const fn years(value: f64) -> Entered {
    Entered::new(value, Unit::Count)
}

/// Makers differ between six and ten years; no limit of US law is known.
const ADVICE: Limit = Limit {
    key: "",
    discipline: Discipline::Tread,
    name: "age in years since the week of making",
    jurisdiction: None,
    class: Class::ANY,
    wheels: Wheels::Any,
    grade: Some(Grade::Watch),
    bound: Bound::Missing,
    source: "tyre makers' advice of six to ten years",
    edition: "read second-hand, the maker's own word counts; no federal limit in the US",
    standing: Standing::Verified,
};

static SIX: Limit = Limit { key: "tread-age-watch", bound: Bound::AtOrAbove(years(6.0)), ..ADVICE };
static TEN: Limit = Limit {
    key: "tread-age-attend",
    grade: Some(Grade::Attend),
    bound: Bound::AtOrAbove(years(10.0)),
    ..ADVICE
};
static UK_HEAVY: Limit = Limit {
    key: "tread-age-law-uk-heavy",
    jurisdiction: Some(Jurisdiction::Uk),
    class: Class::OVER_3500,
    wheels: Wheels::Front,
    grade: Some(Grade::DoNotDrive),
    bound: Bound::Above(years(10.0)),
    source: "UK ban on tyres over ten years old on heavy vehicles",
    edition: "ban read second-hand, the axles it covers from memory; check the current text",
    standing: Standing::Memory,
    ..ADVICE
};

pub(crate) fn limits() -> impl Iterator<Item = &'static Limit> {
    [&SIX, &TEN, &UK_HEAVY].into_iter()
}

/// Week and year of making: the last four figures of a tyre's identification number (49 CFR 574.5, from memory).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct DateCode {
    year: u8,
    week: u8,
    monday: NaiveDate,
}

impl DateCode {
    /// The Monday of the week of making, weeks counted as by ISO 8601.
    ///
    /// The code tells no day. The regulation's own weeks run from Sunday to Saturday, the first being the first full one
    /// of the year (from memory), so that the true week begins at most six days later or one day earlier.
    pub const fn monday(self) -> NaiveDate {
        self.monday
    }

    /// Whether it tells of a week that begins after `day`: then it was misread or mistyped.
    pub fn is_after(self, day: NaiveDate) -> bool {
        self.monday > add_days(day, 1)
    }
}

/// The date code that was noted, unless it cannot be right for a tyre that was there on the day it was read, `read_on`.
pub fn noted_date_code(noted: &Noted<'_>, read_on: NaiveDate) -> Option<DateCode> {
    let code = super::date_code::code_of(noted.value.exact)?;
    (noted.value.point.as_str() == super::date_code::POINT.code && !code.is_after(read_on)).then_some(code)
}

impl fmt::Display for DateCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:02}{:02}", self.week, self.year)
    }
}

impl FromStr for DateCode {
    type Err = DateCodeError;

    /// From the four figures alone: `4513` is week 45 of 2013.
    fn from_str(text: &str) -> Result<Self, DateCodeError> {
        let code = text.trim();
        let refused = || DateCodeError::NotFourFigures(text.to_owned());
        if !code.bytes().all(|byte| byte.is_ascii_digit()) {
            return Err(refused());
        }
        match code.len() {
            3 => Err(DateCodeError::BeforeTwoThousand(code.to_owned())),
            4 => {
                let (week, year) = code.split_at(2);
                let (week, year) =
                    (week.parse().map_err(|_| refused())?, year.parse().map_err(|_| refused())?);
                let monday = monday_of(week, year).ok_or(DateCodeError::NoSuchWeek { week })?;
                Ok(Self { year, week, monday })
            }
            _ => Err(refused()),
        }
    }
}

/// Counted from the first week, so that a week 53 of a year that ISO 8601 gives only 52 has its place as well.
fn monday_of(week: u8, year: u8) -> Option<NaiveDate> {
    let first = NaiveDate::from_isoywd_opt(2000 + i32::from(year), 1, Weekday::Mon)?;
    let later = u64::from(week).checked_sub(1).filter(|later| *later < 53)?;
    first.checked_add_days(Days::new(later * 7))
}

/// Why figures are no date code.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum DateCodeError {
    /// Something else was typed.
    #[error(
        "{0:?} is no date code: type the last four figures of the tyre's identification number, such as 4513"
    )]
    NotFourFigures(String),
    /// Three figures were in use until 1999 (read second-hand); they do not tell the decade.
    #[error("{0} has three figures: the tyre was made before 2000, longer ago than any maker advises")]
    BeforeTwoThousand(String),
    /// No year has such a week.
    #[error("week {week} does not exist: a date code begins with a week from 01 to 53")]
    NoSuchWeek {
        /// The week read.
        week: u8,
    },
}

/// A day on which a tyre reaches an age that somebody sets a limit to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AgeMark {
    /// The first day on which the limit is met.
    pub on: NaiveDate,
    /// The limit.
    pub limit: &'static Limit,
}

/// The days on which a tyre at this place reaches each age that counts there, in their order.
///
/// The spare may have to go anywhere, so the law of every wheel is its law.
pub fn age_marks(code: DateCode, yardstick: &Yardstick<'_>, place: Place) -> Vec<AgeMark> {
    let Vehicle { jurisdiction, gross_mass_kg, .. } = *yardstick.vehicle;
    let applies = |limit: &&Limit| limit.applies_to(jurisdiction, gross_mass_kg, place);
    let mut marks: Vec<AgeMark> = limits()
        .filter(applies)
        .map(|limit| AgeMark { on: first_day(code, &yardstick.held(limit)), limit })
        .collect();
    marks.sort_by_key(|mark| mark.on);
    marks
}

fn first_day(code: DateCode, held: &Held<'_>) -> NaiveDate {
    let months = held.exact() * 12 / 1_000_000;
    let reached = add_months(code.monday, u32::try_from(months).unwrap_or(u32::MAX));
    match held.bound {
        Bound::Above(_) => add_days(reached, 1),
        Bound::Below(_) | Bound::AtOrBelow(_) | Bound::AtOrAbove(_) | Bound::Missing => reached,
    }
}
