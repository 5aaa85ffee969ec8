//! The closed list of units, what each measures, and its exact scale.

use serde::{Deserialize, Serialize};
use std::fmt;

/// What a unit measures; each dimension has one exact integer base unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Dimension {
    /// Distance driven; base unit millimetre.
    Distance,
    /// Tread, pad or lining depth; base unit nanometre.
    Depth,
    /// Tyre pressure, gauge; base unit millipascal.
    Pressure,
    /// Temperature on a scale (not a difference); base unit millikelvin.
    Temperature,
    /// Electric potential; base unit microvolt.
    Voltage,
    /// A share of a whole; base unit a millionth of one percent.
    Share,
    /// Running time of an engine; base unit second.
    RunningTime,
    /// A bare count or yes/no (1/0); base unit one millionth.
    Count,
    /// Volume of a fluid; base unit microlitre.
    Volume,
    /// Electric current; base unit microampere.
    Current,
    /// One of a check point's own answers, the worst the lowest; base unit one.
    Answer,
}

/// A unit a person may enter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Unit {
    /// Kilometre.
    #[serde(rename = "km")]
    Kilometre,
    /// International mile, 1.609344 km exactly.
    #[serde(rename = "mi")]
    Mile,
    /// Millimetre (of depth).
    #[serde(rename = "mm")]
    Millimetre,
    /// One thirty-second of an inch, 0.79375 mm exactly.
    #[serde(rename = "in32")]
    ThirtySecondInch,
    /// Kilopascal, gauge.
    #[serde(rename = "kPa")]
    Kilopascal,
    /// Bar, 100 kPa exactly, gauge.
    #[serde(rename = "bar")]
    Bar,
    /// Pound-force per square inch, gauge.
    #[serde(rename = "psi")]
    Psi,
    /// Degree Celsius.
    #[serde(rename = "degC")]
    Celsius,
    /// Degree Fahrenheit.
    #[serde(rename = "degF")]
    Fahrenheit,
    /// Volt.
    #[serde(rename = "V")]
    Volt,
    /// Percent.
    #[serde(rename = "percent")]
    Percent,
    /// Hour of running.
    #[serde(rename = "h")]
    Hour,
    /// A bare number: a count, or 1 for yes and 0 for no.
    #[serde(rename = "count")]
    Count,
    /// Part per million, a ten-thousandth of a percent.
    #[serde(rename = "ppm")]
    PartPerMillion,
    /// Litre.
    #[serde(rename = "L")]
    Litre,
    /// US liquid quart, 0.946352946 L exactly.
    #[serde(rename = "qt_us")]
    UsQuart,
    /// Ampere.
    #[serde(rename = "A")]
    Ampere,
    /// The rank of one of a check point's own answers; people write and read its word.
    #[serde(rename = "answer")]
    Answer,
}

impl Unit {
    /// Every unit, in the order the documentation lists them.
    pub const ALL: [Self; 18] = [
        Self::Kilometre,
        Self::Mile,
        Self::Millimetre,
        Self::ThirtySecondInch,
        Self::Kilopascal,
        Self::Bar,
        Self::Psi,
        Self::Celsius,
        Self::Fahrenheit,
        Self::Volt,
        Self::Percent,
        Self::Hour,
        Self::Count,
        Self::PartPerMillion,
        Self::Litre,
        Self::UsQuart,
        Self::Ampere,
        Self::Answer,
    ];

    /// The unit's code, as written in requests, answers and tables.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Kilometre => "km",
            Self::Mile => "mi",
            Self::Millimetre => "mm",
            Self::ThirtySecondInch => "in32",
            Self::Kilopascal => "kPa",
            Self::Bar => "bar",
            Self::Psi => "psi",
            Self::Celsius => "degC",
            Self::Fahrenheit => "degF",
            Self::Volt => "V",
            Self::Percent => "percent",
            Self::Hour => "h",
            Self::Count => "count",
            Self::PartPerMillion => "ppm",
            Self::Litre => "L",
            Self::UsQuart => "qt_us",
            Self::Ampere => "A",
            Self::Answer => "answer",
        }
    }

    /// The unit as a person reads it behind a number.
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::ThirtySecondInch => "/32 in",
            Self::Celsius => "°C",
            Self::Fahrenheit => "°F",
            Self::Percent => "%",
            Self::Count => "",
            Self::UsQuart => "US qt",
            other => other.code(),
        }
    }

    /// The unit with this code, if there is one.
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|unit| unit.code() == code)
    }

    /// What the unit measures.
    pub const fn dimension(self) -> Dimension {
        match self {
            Self::Kilometre | Self::Mile => Dimension::Distance,
            Self::Millimetre | Self::ThirtySecondInch => Dimension::Depth,
            Self::Kilopascal | Self::Bar | Self::Psi => Dimension::Pressure,
            Self::Celsius | Self::Fahrenheit => Dimension::Temperature,
            Self::Volt => Dimension::Voltage,
            Self::Percent | Self::PartPerMillion => Dimension::Share,
            Self::Hour => Dimension::RunningTime,
            Self::Count => Dimension::Count,
            Self::Litre | Self::UsQuart => Dimension::Volume,
            Self::Ampere => Dimension::Current,
            Self::Answer => Dimension::Answer,
        }
    }

    /// Base units in one of this unit. Exact for all but psi, whose exact value is
    /// 0.45359237 kg x 9.80665 m/s2 / (0.0254 m)2 (pound, standard gravity and inch by definition).
    pub(crate) const fn scale(self) -> f64 {
        match self {
            Self::Kilometre
            | Self::Percent
            | Self::Volt
            | Self::Millimetre
            | Self::Count
            | Self::Litre
            | Self::Ampere
            | Self::Kilopascal => 1_000_000.0,
            // 231 cubic inches of 2.54 cm by definition make a US gallon, of which a quart is a quarter.
            Self::UsQuart => 946_352.946,
            Self::PartPerMillion => 100.0,
            Self::Answer => 1.0,
            Self::Mile => 1_609_344.0,
            Self::ThirtySecondInch => 793_750.0,
            Self::Bar => 100_000_000.0,
            Self::Psi => 6_894_757.293_168_361,
            Self::Celsius => 1000.0,
            Self::Fahrenheit => 1000.0 / 1.8,
            Self::Hour => 3600.0,
        }
    }

    /// Added to the entered value before scaling: the distance of the unit's zero from the base unit's zero.
    pub(crate) const fn offset(self) -> f64 {
        match self {
            Self::Celsius => 273.15,
            Self::Fahrenheit => 459.67,
            _ => 0.0,
        }
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}
