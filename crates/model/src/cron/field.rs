//! One field of a cron expression: which numbers it marks.

use super::CronError;
use std::fmt;

const MONTHS: [&str; 12] =
    ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"];
const WEEKDAYS: [&str; 7] = ["sun", "mon", "tue", "wed", "thu", "fri", "sat"];

/// A field of a cron expression.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CronField {
    /// 0 to 59.
    Minute,
    /// 0 to 23.
    Hour,
    /// Day of the month, 1 to 31.
    Day,
    /// 1 to 12.
    Month,
    /// Day of the week, 0 to 7; Sunday is 0 and 7.
    Weekday,
}

/// The numbers that a field marks, as bits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Marked {
    bits: u64,
    /// Whether it says something: a field that begins with a `*` does not.
    pub(crate) is_restricted: bool,
}

impl Marked {
    pub(crate) fn has(self, number: u32) -> bool {
        number < 64 && self.bits & (1 << number) != 0
    }

    /// The least number marked that is at least `number`.
    pub(crate) fn first_from(self, number: u32) -> Option<u32> {
        let left = self.bits.checked_shr(number)?;
        (left != 0).then(|| number + left.trailing_zeros())
    }
}

impl CronField {
    const fn range(self) -> (u32, u32) {
        match self {
            Self::Minute => (0, 59),
            Self::Hour => (0, 23),
            Self::Day => (1, 31),
            Self::Month => (1, 12),
            Self::Weekday => (0, 7),
        }
    }

    /// What may stand in the field, in words.
    pub const fn allowed(self) -> &'static str {
        match self {
            Self::Minute => "0 to 59, *, lists such as 0,30, ranges such as 0-10 and steps such as */15",
            Self::Hour => "0 to 23, *, lists such as 6,18, ranges such as 6-18 and steps such as */2",
            Self::Day => "1 to 31, *, lists such as 1,15, ranges such as 1-7 and steps such as 1-31/2",
            Self::Month => {
                "1 to 12, jan to dec, *, lists such as 4,10, ranges such as apr-jun and steps such as */3"
            }
            Self::Weekday => {
                "0 to 7 (Sunday is 0 and 7), sun to sat, *, lists such as mon,thu, ranges such as mon-fri and steps"
            }
        }
    }

    /// The number that a text stands for; Sunday at the end of a range is 7.
    fn number(self, text: &str, ends_range: bool) -> Option<u32> {
        let (least, most) = self.range();
        if !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit()) {
            return text.parse().ok().filter(|number| (least..=most).contains(number));
        }
        let place = |names: &[&str]| names.iter().position(|name| name.eq_ignore_ascii_case(text));
        match self {
            Self::Month => place(&MONTHS).and_then(|place| u32::try_from(place + 1).ok()),
            Self::Weekday => match place(&WEEKDAYS).and_then(|place| u32::try_from(place).ok()) {
                Some(0) if ends_range => Some(7),
                other => other,
            },
            Self::Minute | Self::Hour | Self::Day => None,
        }
    }
}

impl fmt::Display for CronField {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Minute => "minute",
            Self::Hour => "hour",
            Self::Day => "day of the month",
            Self::Month => "month",
            Self::Weekday => "day of the week",
        })
    }
}

/// Reads one field: a list of numbers, ranges and `*`, the last two with a step if wanted.
pub(crate) fn read(field: CronField, text: &str) -> Result<Marked, CronError> {
    let fault = |value: &str| CronError::Field { field, value: value.to_owned() };
    let mut bits = 0;
    for part in text.split(',') {
        bits |= marked_by(field, part).ok_or_else(|| fault(part))?;
    }
    if field == CronField::Weekday && bits & (1 << 7) != 0 {
        bits = bits & !(1 << 7) | 1;
    }
    Ok(Marked { bits, is_restricted: !text.starts_with('*') })
}

fn marked_by(field: CronField, part: &str) -> Option<u64> {
    let (span, step) = match part.split_once('/') {
        Some((span, step)) => (span, step.parse::<usize>().ok().filter(|step| *step > 0)?),
        None => (part, 1),
    };
    let (first, last) = match span.split_once('-') {
        Some((first, last)) => (field.number(first, false)?, field.number(last, true)?),
        None if span == "*" => field.range(),
        // A step after a single number is read differently by different programs; a range says what is meant.
        None if step == 1 && !part.contains('/') => {
            let number = field.number(span, false)?;
            (number, number)
        }
        None => return None,
    };
    (first <= last).then(|| (first..=last).step_by(step).fold(0, |bits, number| bits | 1 << number))
}
