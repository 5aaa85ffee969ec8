//! How far a battery is charged, as its voltage or the density of its acid tells.

use super::SETTING;
use crate::answer::{Answer, answered};
use crate::ladder::{Rung, stand_on};
use crate::limit::{Bound, Limit, Standing};
use crate::yardstick::Yardstick;
use model::Grade;
use quantity::{Entered, Temperature, Unit};

answered! {
    /// How the battery is built. It holds until another is said.
    Chemistry, StarterBattery, "kind of the 12 V battery";

    /// Lead and liquid acid, also the enhanced kind for stop-start (from memory).
    Flooded = "flooded", Answer::good("flooded", "The 12 V battery holds liquid acid.");

    /// Lead and acid held in glass mats; reads 0.1 to 0.2 V higher when full (from memory).
    Agm = "agm", Answer::good("AGM", "The 12 V battery holds its acid in glass mats.");
}

/// How far it is charged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Band {
    /// Below what an empty one shows.
    Flat,
    /// Less than a quarter.
    NearlyFlat,
    /// From a quarter to half.
    Low,
    /// From half to three quarters.
    PartCharged,
    /// Three quarters or more.
    Charged,
}

impl Band {
    /// As a person reads it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Flat => "flat",
            Self::NearlyFlat => "nearly flat",
            Self::Low => "low",
            Self::PartCharged => "partly charged",
            Self::Charged => "charged",
        }
    }
}

/// The bands below the four edges of a table, emptiest first, and their grades.
const BANDS: [(Band, Grade); 4] = [
    (Band::Flat, Grade::Attend),
    (Band::NearlyFlat, Grade::Attend),
    (Band::Low, Grade::Attend),
    (Band::PartCharged, Grade::Watch),
];

/// The table is published; which of its rows begins which grade is the house's choice.
const FLOODED: Limit = Limit {
    name: "rested voltage of a flooded battery",
    source: "BCI table of open-circuit voltage at 26.7 °C; the grades are the house's",
    edition: "read second-hand on a page that credits it",
    standing: Standing::Verified,
    ..SETTING
};
const AGM: Limit = Limit {
    name: "rested voltage of an AGM battery",
    source: "usual table of open-circuit voltage; the grades are the house's",
    edition: "told from memory",
    standing: Standing::Memory,
    ..SETTING
};
const GRAVITY: Limit = Limit { name: "specific gravity of the acid, corrected to 26.7 °C", ..FLOODED };

macro_rules! keys {
    ($of:literal) => {
        [
            concat!("battery-", $of, "-flat"),
            concat!("battery-", $of, "-nearly-flat"),
            concat!("battery-", $of, "-low"),
            concat!("battery-", $of, "-part-charged"),
        ]
    };
}

/// Empty, a quarter, half and three quarters charged; flooded rows as published, AGM from memory.
static FLOODED_VOLTS: [Limit; 4] =
    edges(&FLOODED, keys!("flooded"), [11.89, 12.06, 12.24, 12.45], Unit::Volt);
static AGM_VOLTS: [Limit; 4] = edges(&AGM, keys!("agm"), [11.8, 12.0, 12.3, 12.6], Unit::Volt);
static GRAVITIES: [Limit; 4] = edges(&GRAVITY, keys!("gravity"), [1.120, 1.155, 1.190, 1.225], Unit::Count);

const fn edges(like: &Limit, keys: [&'static str; 4], values: [f64; 4], unit: Unit) -> [Limit; 4] {
    [
        edge(like, keys[0], BANDS[0].1, Entered::new(values[0], unit)),
        edge(like, keys[1], BANDS[1].1, Entered::new(values[1], unit)),
        edge(like, keys[2], BANDS[2].1, Entered::new(values[2], unit)),
        edge(like, keys[3], BANDS[3].1, Entered::new(values[3], unit)),
    ]
}

const fn edge(like: &Limit, key: &'static str, grade: Grade, value: Entered) -> Limit {
    Limit { key, grade: Some(grade), bound: Bound::Below(value), ..*like }
}

pub(super) fn limits() -> impl Iterator<Item = &'static Limit> {
    FLOODED_VOLTS.iter().chain(&AGM_VOLTS).chain(&GRAVITIES)
}

/// What puts a battery into its band.
pub(super) struct Charge<'a> {
    pub band: Band,
    pub grade: Grade,
    pub rung: Rung<'a>,
}

/// The charge by a rested voltage in microvolts. Where the chemistry is not known, by the table that grades
/// it worse.
pub(super) fn by_voltage<'a>(
    yardstick: &Yardstick<'a>,
    chemistry: Option<Chemistry>,
    microvolts: i64,
) -> Charge<'a> {
    let of = |edges| among(yardstick, edges, 0, microvolts);
    match chemistry {
        Some(Chemistry::Flooded) => of(&FLOODED_VOLTS),
        Some(Chemistry::Agm) => of(&AGM_VOLTS),
        None => {
            let (flooded, agm) = (of(&FLOODED_VOLTS), of(&AGM_VOLTS));
            // The grade first, then what asks for more volts to be better: so it is true of both.
            let rank = |charge: &Charge<'_>| (charge.grade, charge.rung.at);
            if rank(&agm) > rank(&flooded) { agm } else { flooded }
        }
    }
}

/// The charge by a specific gravity in millionths, read when the correction to 26.7 °C was `correction`.
pub(super) fn by_gravity<'a>(yardstick: &Yardstick<'a>, millionths: i64, correction: i64) -> Charge<'a> {
    among(yardstick, &GRAVITIES, -correction, millionths)
}

fn among<'a>(yardstick: &Yardstick<'a>, edges: &'static [Limit; 4], zero: i64, measured: i64) -> Charge<'a> {
    let rungs = [0, 1, 2, 3].map(|place| Rung::above(zero, yardstick.held(&edges[place]), measured));
    let (grade, rung) = stand_on(&rungs);
    let met = BANDS.iter().zip(&rungs).find(|(_, one)| one.held == rung.held && grade != Grade::Good);
    let band = met.map_or(Band::Charged, |((band, _), _)| *band);
    // What leads to the same grade leads to it until the highest of its edges.
    let highest =
        BANDS.iter().zip(&rungs).filter(|((_, same), _)| *same == grade).map(|(_, one)| one.at).max();
    Charge { band, grade, rung: Rung { at: highest.unwrap_or(rung.at), ..rung } }
}

/// Specific gravity of the acid at 26.7 °C (80 °F), from that read at another temperature: 0.004 more for every 10 °F above,
/// as much less below (common practice, weak source).
pub fn corrected_gravity(read: f64, acid: Temperature) -> f64 {
    read + gravity_correction(acid)
}

/// What a reading of the acid's specific gravity at this temperature is to be raised by.
pub(super) fn gravity_correction(acid: Temperature) -> f64 {
    0.004 * (acid.to(Unit::Fahrenheit).value - 80.0) / 10.0
}
