//! Classes of brake fluid and the boiling points they ask for, new and wet.
//!
//! "Wet" is fluid with 3.70 % of water by mass (49 CFR 571.116 S6.2, read second-hand in a technical note). For DOT 5.1 an
//! older page tells 270 and 190 °C; the lower 260 and 180 °C of the other sources are used.

use super::SETTING;
use crate::answer::{Answer, answered};
use crate::limit::{Bound, Limit, Standing};
use model::Grade;
use quantity::{Entered, Unit};

answered! {
    /// What a brake fluid is sold as, by the cap of its tank or its can. It holds until another is said.
    FluidClass, BrakeFluid, "class of the brake fluid";

    /// DOT 3.
    Dot3 = "dot_3", Answer::good("DOT 3", "The brake fluid is DOT 3.");

    /// DOT 4.
    Dot4 = "dot_4", Answer::good("DOT 4", "The brake fluid is DOT 4.");

    /// DOT 5, silicone; never to be mixed with the others.
    Dot5 = "dot_5", Answer::good("DOT 5", "The brake fluid is DOT 5.");

    /// DOT 5.1, glycol like DOT 3 and 4.
    Dot51 = "dot_5_1", Answer::good("DOT 5.1", "The brake fluid is DOT 5.1.");

    /// ISO 4925 class 3.
    Iso3 = "iso_3", Answer::good("ISO 4925 class 3", "The brake fluid is ISO 4925 class 3.");

    /// ISO 4925 class 4.
    Iso4 = "iso_4", Answer::good("ISO 4925 class 4", "The brake fluid is ISO 4925 class 4.");

    /// ISO 4925 class 5-1.
    Iso51 = "iso_5_1", Answer::good("ISO 4925 class 5-1", "The brake fluid is ISO 4925 class 5-1.");

    /// ISO 4925 class 6.
    Iso6 = "iso_6", Answer::good("ISO 4925 class 6", "The brake fluid is ISO 4925 class 6.");

    /// ISO 4925 class 7.
    Iso7 = "iso_7", Answer::good("ISO 4925 class 7", "The brake fluid is ISO 4925 class 7.");
}

impl FluidClass {
    /// One with the lowest wet minimum.
    pub(super) const LOWEST: Self = Self::Dot3;

    /// Whether it is silicone, which must not be mixed with the others.
    pub const fn is_silicone(self) -> bool {
        matches!(self, Self::Dot5)
    }

    const fn row(self) -> &'static Row {
        &ROWS[self as usize]
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

/// Key and name of the limit on new fluid, then of that on wet fluid.
type Names = [[&'static str; 2]; 2];

const fn row(like: &Limit, wet_source: &'static str, names: Names, new: f64, wet: f64) -> Row {
    let [[new_key, new_name], [wet_key, wet_name]] = names;
    Row {
        new: Limit { key: new_key, name: new_name, bound: degrees(new), ..*like },
        wet: Limit {
            key: wet_key,
            name: wet_name,
            grade: Some(Grade::Attend),
            bound: degrees(wet),
            source: wet_source,
            ..*like
        },
    }
}

const fn fmvss(names: Names, new: f64, wet: f64) -> Row {
    row(&FMVSS, "49 CFR 571.116 S5.1.2", names, new, wet)
}

const fn iso(names: Names, new: f64, wet: f64) -> Row {
    row(&ISO, ISO.source, names, new, wet)
}

macro_rules! names {
    ($key:literal, $name:literal) => {
        [
            [concat!("brake-fluid-new-", $key), concat!("boiling point of new ", $name)],
            [concat!("brake-fluid-wet-", $key), concat!("boiling point of ", $name)],
        ]
    };
}

/// In the order of [`FluidClass::ALL`]. The wet figure of class 6 is told by some as 175 °C.
static ROWS: [Row; 9] = [
    fmvss(names!("dot-3", "DOT 3"), 205.0, 140.0),
    fmvss(names!("dot-4", "DOT 4"), 230.0, 155.0),
    fmvss(names!("dot-5", "DOT 5"), 260.0, 180.0),
    fmvss(names!("dot-5-1", "DOT 5.1"), 260.0, 180.0),
    iso(names!("iso-3", "ISO 4925 class 3"), 205.0, 140.0),
    iso(names!("iso-4", "ISO 4925 class 4"), 230.0, 155.0),
    iso(names!("iso-5-1", "ISO 4925 class 5-1"), 260.0, 180.0),
    iso(names!("iso-6", "ISO 4925 class 6"), 250.0, 165.0),
    iso(names!("iso-7", "ISO 4925 class 7"), 260.0, 180.0),
];
