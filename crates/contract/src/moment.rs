//! Days, instants, times of day and zones, as they stand in messages.

use crate::reader::{Reader, Written};
use crate::shape::{Schemas, Shape};
use crate::text::text_schema;
use chrono::{DateTime, NaiveDate, NaiveTime, Utc, Weekday};
use chrono_tz::Tz;
use model::{FIRST_DAY, LAST_DAY, MonthDay};
use serde::{Serialize, Serializer};
use serde_json::Value;
use utoipa::openapi::schema::{KnownFormat, SchemaFormat, Type};
use utoipa::openapi::{ObjectBuilder, RefOr, Schema};

/// A time of day, to the minute: `HH:MM`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TimeOfDay(pub NaiveTime);

/// A day of the week.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DayOfWeek(pub Weekday);

impl Shape for NaiveDate {
    fn schema(_: &mut Schemas) -> RefOr<Schema> {
        ObjectBuilder::new()
            .schema_type(Type::String)
            .format(Some(SchemaFormat::KnownFormat(KnownFormat::Date)))
            // The years are bounded in the pattern, since `date` knows no bounds.
            .pattern(Some("^(19\\d\\d|20\\d\\d|21\\d\\d|2200)-\\d\\d-\\d\\d$"))
            .max_length(Some(10))
            .into()
    }

    fn example() -> Value {
        "2026-11-02".into()
    }
}

impl Written for NaiveDate {
    fn read(value: &Value, reader: &mut Reader) -> Option<Self> {
        let text = reader.text(value)?;
        // chrono would also read `2026-1-2` and signs.
        let day =
            Some(text).filter(|text| text.len() == 10 && text.starts_with(|c: char| c.is_ascii_digit()));
        match day.and_then(|day| NaiveDate::parse_from_str(day, "%Y-%m-%d").ok()) {
            Some(day) if (FIRST_DAY..=LAST_DAY).contains(&day) => Some(day),
            _ => {
                reader.fault(
                    "no-date",
                    format!("a date from {FIRST_DAY} to {LAST_DAY} is needed, as YYYY-MM-DD"),
                );
                None
            }
        }
    }
}

impl Shape for DateTime<Utc> {
    fn schema(_: &mut Schemas) -> RefOr<Schema> {
        ObjectBuilder::new()
            .schema_type(Type::String)
            .format(Some(SchemaFormat::KnownFormat(KnownFormat::DateTime)))
            .max_length(Some(40))
            .into()
    }

    fn example() -> Value {
        "2026-11-02T08:15:00Z".into()
    }
}

impl Written for DateTime<Utc> {
    fn read(value: &Value, reader: &mut Reader) -> Option<Self> {
        let text = reader.text(value)?;
        let instant = DateTime::parse_from_rfc3339(text).ok();
        // By way of microseconds: finer digits are cut off, and a leap second becomes the second after it.
        let instant = instant.and_then(|at| DateTime::from_timestamp_micros(at.timestamp_micros()));
        match instant {
            Some(at) if (FIRST_DAY..=LAST_DAY).contains(&at.date_naive()) => Some(at),
            _ => {
                let wanted = format!(
                    "an instant from {FIRST_DAY} to {LAST_DAY} is needed (RFC 3339, such as 2026-11-02T08:15:00Z)"
                );
                reader.fault("no-instant", wanted);
                None
            }
        }
    }
}

impl Serialize for TimeOfDay {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(&self.0.format("%H:%M"))
    }
}

impl Shape for TimeOfDay {
    fn schema(_: &mut Schemas) -> RefOr<Schema> {
        text_schema(5, 5, "^([01][0-9]|2[0-3]):[0-5][0-9]$").into()
    }

    fn example() -> Value {
        "21:00".into()
    }
}

impl Written for TimeOfDay {
    fn read(value: &Value, reader: &mut Reader) -> Option<Self> {
        let text = reader.text(value)?;
        let time = Some(text).filter(|text| text.len() == 5);
        let time = time.and_then(|text| NaiveTime::parse_from_str(text, "%H:%M").ok());
        if time.is_none() {
            reader.fault("no-time", "a time of day is needed, as HH:MM from 00:00 to 23:59");
        }
        time.map(Self)
    }
}

const DAYS: [(Weekday, &str); 7] = [
    (Weekday::Mon, "monday"),
    (Weekday::Tue, "tuesday"),
    (Weekday::Wed, "wednesday"),
    (Weekday::Thu, "thursday"),
    (Weekday::Fri, "friday"),
    (Weekday::Sat, "saturday"),
    (Weekday::Sun, "sunday"),
];

impl DayOfWeek {
    /// The days a vehicle runs on.
    pub fn of(days: model::Weekdays) -> Vec<Self> {
        DAYS.iter().filter(|(day, _)| days.contains(*day)).map(|(day, _)| Self(*day)).collect()
    }

    /// These days as a set; `None` if there is none among them.
    pub fn set(days: &[Self]) -> Option<model::Weekdays> {
        let bits = days.iter().fold(0_u8, |bits, day| bits | (1 << day.0.num_days_from_monday()));
        model::Weekdays::from_bits(bits)
    }

    fn word(self) -> &'static str {
        DAYS.iter().find(|(day, _)| *day == self.0).map_or("", |(_, word)| word)
    }
}

impl Serialize for DayOfWeek {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.word())
    }
}

impl Shape for DayOfWeek {
    fn schema(_: &mut Schemas) -> RefOr<Schema> {
        ObjectBuilder::new().schema_type(Type::String).enum_values(Some(DAYS.map(|(_, word)| word))).into()
    }

    fn example() -> Value {
        "monday".into()
    }
}

impl Written for DayOfWeek {
    fn read(value: &Value, reader: &mut Reader) -> Option<Self> {
        let text = reader.text(value)?;
        let day = DAYS.iter().find(|(_, word)| *word == text).map(|(day, _)| Self(*day));
        if day.is_none() {
            reader.fault(
                "not-one-of",
                format!("one of {} is needed here", DAYS.map(|(_, word)| word).join(", ")),
            );
        }
        day
    }
}

impl Shape for MonthDay {
    fn schema(_: &mut Schemas) -> RefOr<Schema> {
        text_schema(5, 5, "^(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$").into()
    }

    fn example() -> Value {
        "10-15".into()
    }
}

impl Written for MonthDay {
    fn read(value: &Value, reader: &mut Reader) -> Option<Self> {
        let day = reader.text(value)?.parse().ok();
        if day.is_none() {
            reader.fault("no-day", "a day of the year is needed, as MM-DD");
        }
        day
    }
}

impl Shape for Tz {
    fn schema(_: &mut Schemas) -> RefOr<Schema> {
        text_schema(1, 64, "^[A-Za-z0-9/_+-]+$")
            .description(Some("A zone of the IANA time zone database."))
            .into()
    }

    fn example() -> Value {
        "Europe/Vienna".into()
    }
}

impl Written for Tz {
    fn read(value: &Value, reader: &mut Reader) -> Option<Self> {
        let zone = reader.text(value).and_then(model::parse_zone);
        if zone.is_none() && value.is_string() {
            reader.fault(
                "no-zone",
                "no zone of the IANA time zone database has this name; one is Europe/Vienna",
            );
        }
        zone
    }
}
