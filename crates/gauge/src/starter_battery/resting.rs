//! What the voltage of a rested battery, or the density of its acid, says of its charge.

use super::SETTING;
use crate::limit::{Bound, Limit, Standing};
use model::Grade;
use quantity::{Entered, Temperature, Unit};
use serde::{Deserialize, Serialize};

/// How the battery is built.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Chemistry {
    /// Lead and liquid acid, also the enhanced kind for stop-start (from memory).
    Flooded,
    /// Lead and acid held in glass mats; reads 0.1 to 0.2 V higher when full (from memory).
    Agm,
}

/// How far it is charged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
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

/// To be told with a voltage taken outside the temperatures of [`is_near_the_table`], or at none that is known.
pub const TEMPERATURE_NOTE: &str = "The voltage table is for 26.7 °C and is not corrected: colder or warmer, a rested battery is off it by a few \
     hundredths of a volt, less than most meters err (from memory). What the cold takes from its power, no voltage tells.";

const REST: Limit = Limit { bound: Bound::Below(Entered::new(4.0, Unit::Hour)), ..SETTING };

/// Where the voltage table may be used without a note.
const COLD: Limit = Limit {
    name: "temperature of the battery: the table holds with a note only",
    grade: None,
    bound: Bound::Below(Entered::new(10.0, Unit::Celsius)),
    ..SETTING
};
static AROUND: [Limit; 3] =
    [REST, COLD, Limit { bound: Bound::Above(Entered::new(40.0, Unit::Celsius)), ..COLD }];

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

/// Empty, a quarter, half and three quarters charged; flooded rows as published, AGM from memory.
static VOLTS: [[Limit; 4]; 2] = [
    edges(&FLOODED, [11.89, 12.06, 12.24, 12.45], Unit::Volt),
    edges(&AGM, [11.8, 12.0, 12.3, 12.6], Unit::Volt),
];
static GRAVITIES: [Limit; 4] = edges(&GRAVITY, [1.120, 1.155, 1.190, 1.225], Unit::Count);

/// The bands below the four edges, emptiest first, and their grades.
const BANDS: [(Band, Grade); 4] = [
    (Band::Flat, Grade::Attend),
    (Band::NearlyFlat, Grade::Attend),
    (Band::Low, Grade::Attend),
    (Band::PartCharged, Grade::Watch),
];

const fn edges(like: &Limit, values: [f64; 4], unit: Unit) -> [Limit; 4] {
    let [flat, nearly_flat, low, part_charged] = values;
    [
        edge(like, 0, flat, unit),
        edge(like, 1, nearly_flat, unit),
        edge(like, 2, low, unit),
        edge(like, 3, part_charged, unit),
    ]
}

const fn edge(like: &Limit, band: usize, value: f64, unit: Unit) -> Limit {
    Limit { grade: Some(BANDS[band].1), bound: Bound::Below(Entered::new(value, unit)), ..*like }
}

pub(super) fn limits() -> impl Iterator<Item = &'static Limit> {
    AROUND.iter().chain(VOLTS.iter().flatten()).chain(&GRAVITIES)
}

const fn volts(chemistry: Chemistry) -> &'static [Limit; 4] {
    match chemistry {
        Chemistry::Flooded => &VOLTS[0],
        Chemistry::Agm => &VOLTS[1],
    }
}

fn band_among(edges: &'static [Limit; 4], exact: i64) -> (Band, Option<&'static Limit>) {
    let met = edges.iter().zip(BANDS).find(|(limit, _)| limit.bound.is_met(exact));
    met.map_or((Band::Charged, None), |(limit, (band, _))| (band, Some(limit)))
}

/// The band of a rested voltage and the limit that puts it there; none for [`Band::Charged`].
///
/// `microvolts` as [`Entered::exact`] has them. Where the chemistry is not known, the lower band of the two.
pub fn rested_met(chemistry: Option<Chemistry>, microvolts: i64) -> (Band, Option<&'static Limit>) {
    let of = |chemistry| band_among(volts(chemistry), microvolts);
    if let Some(chemistry) = chemistry {
        return of(chemistry);
    }
    let (flooded, agm) = (of(Chemistry::Flooded), of(Chemistry::Agm));
    if agm.0 < flooded.0 { agm } else { flooded }
}

/// The band of a rested voltage.
pub fn rested_band(chemistry: Option<Chemistry>, microvolts: i64) -> Band {
    rested_met(chemistry, microvolts).0
}

/// The lowest and the highest band that a voltage may stand for if the meter is 1 % wrong: what can honestly be said.
pub fn bands_within_meter_error(chemistry: Option<Chemistry>, microvolts: i64) -> (Band, Band) {
    let error = microvolts.abs() / 100;
    [microvolts - error, microvolts + error].map(|end| rested_band(chemistry, end)).into()
}

/// Whether a battery that stood for so many seconds, neither charged nor loaded, is at rest. Before that its voltage says
/// little: charging leaves it too high, a load too low.
pub fn is_rested(seconds: i64) -> bool {
    !AROUND[0].bound.is_met(seconds)
}

/// Whether a battery is warm and cold enough for the voltage table to stand without [`TEMPERATURE_NOTE`].
pub fn is_near_the_table(battery: Temperature) -> bool {
    !AROUND[1..].iter().any(|limit| limit.bound.is_met(battery.mk()))
}

/// Specific gravity of the acid at 26.7 °C (80 °F), from that read at another temperature: 0.004 more for every 10 °F above,
/// as much less below (common practice, weak source).
pub fn corrected_gravity(read: f64, acid: Temperature) -> f64 {
    read + 0.004 * (acid.to(Unit::Fahrenheit).value - 80.0) / 10.0
}

/// The band of a flooded battery by the corrected specific gravity of its acid, and the limit that puts it there; `None` for
/// what is no number.
pub fn gravity_band(corrected: f64) -> Option<(Band, Option<&'static Limit>)> {
    let exact = Entered::new(corrected, Unit::Count).exact().ok()?;
    Some(band_among(&GRAVITIES, exact))
}
