//! Classes of brake fluid and the boiling points they ask for, new and wet.
//!
//! "Wet" is fluid with 3.70 % of water by mass (49 CFR 571.116 S6.2, read second-hand in a technical note). For DOT 5.1 an
//! older page tells 270 and 190 °C; the lower 260 and 180 °C of the other sources are used.

use super::SETTING;
use crate::limit::{Bound, Limit, Standing};
use model::Grade;
use quantity::{Entered, Unit};
use serde::{Deserialize, Serialize};

/// What a brake fluid is sold as.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum FluidClass {
    /// DOT 3.
    Dot3,
    /// DOT 4.
    Dot4,
    /// DOT 5, silicone; never to be mixed with the others.
    Dot5,
    /// DOT 5.1, glycol like DOT 3 and 4.
    Dot51,
    /// ISO 4925 class 3.
    Iso3,
    /// ISO 4925 class 4.
    Iso4,
    /// ISO 4925 class 5-1.
    Iso51,
    /// ISO 4925 class 6.
    Iso6,
    /// ISO 4925 class 7.
    Iso7,
}

impl FluidClass {
    /// Every class, in the order of the tables.
    pub const ALL: [Self; 9] = [
        Self::Dot3,
        Self::Dot4,
        Self::Dot5,
        Self::Dot51,
        Self::Iso3,
        Self::Iso4,
        Self::Iso51,
        Self::Iso6,
        Self::Iso7,
    ];

    /// One with the lowest wet minimum.
    pub(super) const LOWEST: Self = Self::Dot3;

    /// As it stands on the reservoir's cap.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Dot3 => "DOT 3",
            Self::Dot4 => "DOT 4",
            Self::Dot5 => "DOT 5",
            Self::Dot51 => "DOT 5.1",
            Self::Iso3 => "ISO 4925 class 3",
            Self::Iso4 => "ISO 4925 class 4",
            Self::Iso51 => "ISO 4925 class 5-1",
            Self::Iso6 => "ISO 4925 class 6",
            Self::Iso7 => "ISO 4925 class 7",
        }
    }

    /// Whether it is silicone, which must not be mixed with the others.
    pub const fn is_silicone(self) -> bool {
        matches!(self, Self::Dot5)
    }

    const fn row(self) -> &'static Row {
        match self {
            Self::Dot3 => &ROWS[0],
            Self::Dot4 => &ROWS[1],
            Self::Dot5 => &ROWS[2],
            Self::Dot51 => &ROWS[3],
            Self::Iso3 => &ROWS[4],
            Self::Iso4 => &ROWS[5],
            Self::Iso51 => &ROWS[6],
            Self::Iso6 => &ROWS[7],
            Self::Iso7 => &ROWS[8],
        }
    }
}

/// The least boiling point of new fluid of a class; it leads to advice only.
pub const fn new_minimum(class: FluidClass) -> &'static Limit {
    &class.row().new
}

/// The least boiling point of wet fluid of a class. The standards ask it of fluid as sold; that fluid in a vehicle is to be
/// replaced below it is the house's choice.
pub const fn wet_minimum(class: FluidClass) -> &'static Limit {
    &class.row().wet
}

pub(super) fn limits() -> impl Iterator<Item = &'static Limit> {
    ROWS.iter().flat_map(|row| [&row.new, &row.wet])
}

struct Row {
    new: Limit,
    wet: Limit,
}

const FMVSS: Limit = Limit {
    grade: None,
    source: "49 CFR 571.116 S5.1.1",
    edition: "of fluid as sold; read second-hand on two pages that restate it, check the current one",
    standing: Standing::Verified,
    ..SETTING
};
const ISO: Limit = Limit {
    grade: None,
    source: "ISO 4925",
    edition: "of fluid as sold; table not read, check the current one",
    standing: Standing::Memory,
    ..SETTING
};

const fn degrees(value: f64) -> Bound {
    Bound::Below(Entered::new(value, Unit::Celsius))
}

const fn fmvss(new_name: &'static str, wet_name: &'static str, new: f64, wet: f64) -> Row {
    Row {
        new: Limit { name: new_name, bound: degrees(new), ..FMVSS },
        wet: Limit {
            name: wet_name,
            grade: Some(Grade::Attend),
            bound: degrees(wet),
            source: "49 CFR 571.116 S5.1.2",
            ..FMVSS
        },
    }
}

const fn iso(new_name: &'static str, wet_name: &'static str, new: f64, wet: f64) -> Row {
    Row {
        new: Limit { name: new_name, bound: degrees(new), ..ISO },
        wet: Limit { name: wet_name, grade: Some(Grade::Attend), bound: degrees(wet), ..ISO },
    }
}

/// In the order of [`FluidClass::ALL`]. The wet figure of class 6 is told by some as 175 °C.
static ROWS: [Row; 9] = [
    fmvss("boiling point of new DOT 3", "boiling point of DOT 3", 205.0, 140.0),
    fmvss("boiling point of new DOT 4", "boiling point of DOT 4", 230.0, 155.0),
    fmvss("boiling point of new DOT 5", "boiling point of DOT 5", 260.0, 180.0),
    fmvss("boiling point of new DOT 5.1", "boiling point of DOT 5.1", 260.0, 180.0),
    iso("boiling point of new class 3", "boiling point of class 3", 205.0, 140.0),
    iso("boiling point of new class 4", "boiling point of class 4", 230.0, 155.0),
    iso("boiling point of new class 5-1", "boiling point of class 5-1", 260.0, 180.0),
    iso("boiling point of new class 6", "boiling point of class 6", 250.0, 165.0),
    iso("boiling point of new class 7", "boiling point of class 7", 260.0, 180.0),
];
