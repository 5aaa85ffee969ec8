//! What regulations ask of the makers of traction batteries.

use super::SETTING;
use crate::limit::{Bound, Limit, Standing};
use model::Jurisdiction;
use quantity::{Distance, Entered, Unit};

/// To be told wherever a row of the table is shown.
pub const DURABILITY_NOTE: &str = "These figures bind the maker, at type approval or in the warranty he must give; they are no claim of an owner. \
     A claim rests on the vehicle's own warranty book, and rules change: check the current text.";

/// Whom a row binds, and to what.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Binds {
    /// The maker, towards the authority that approves the type.
    MakerAtApproval,
    /// The maker, to give a warranty of at least so much; the claim is that warranty's.
    MakerToGiveWarranty,
}

/// One row: until this age or distance, whichever comes first, at least so much is left.
#[derive(Debug)]
pub struct Durability {
    /// For which vehicles.
    pub vehicles: &'static str,
    /// To this age, in years.
    pub years: u8,
    /// To this distance, as published.
    pub distance: Entered,
    /// What is measured.
    pub metric: &'static str,
    /// Whom it binds.
    pub binds: Binds,
    /// The share that must be left, with source and standing; it leads to advice only.
    pub limit: Limit,
}

const ENERGY: &str = "certified energy (SOCE)";
const RANGE: &str = "certified range";
const HEALTH: &str = "state of health";

const GTR: Limit = Limit {
    grade: None,
    source: "UN GTR No. 22",
    edition: "text not read; check the current one",
    standing: Standing::Memory,
    ..SETTING
};
const GTR_VANS: Limit = Limit { source: "UN GTR No. 22, amendment of 2024", ..GTR };
const EURO_7: Limit = Limit {
    jurisdiction: Some(Jurisdiction::Eu),
    source: "Regulation (EU) 2024/1257 (Euro 7)",
    edition: "read second-hand in two press summaries; check the current text",
    standing: Standing::Verified,
    ..GTR
};
const CALIFORNIA: Limit = Limit {
    jurisdiction: Some(Jurisdiction::Us),
    source: "13 CCR 1962.4 (California)",
    edition: "read second-hand in two press reports; under challenge since, check the current text",
    standing: Standing::Verified,
    ..GTR
};
const CALIFORNIA_WARRANTY: Limit = Limit { source: "13 CCR 1962.8 (California)", ..CALIFORNIA };

const fn km(value: f64) -> Entered {
    Entered::new(value, Unit::Kilometre)
}

const fn mi(value: f64) -> Entered {
    Entered::new(value, Unit::Mile)
}

const fn left(like: &Limit, key: &'static str, name: &'static str, percent: f64) -> Limit {
    Limit { key, name, bound: Bound::Below(Entered::new(percent, Unit::Percent)), ..*like }
}

/// Earlier figures proposed for California (80 %, 15 years) still circulate and are not used.
static ROWS: [Durability; 12] = [
    Durability {
        vehicles: "GTR 22 categories 1-1 and 1-2 (passenger, to 9 seats)",
        years: 5,
        distance: km(100_000.0),
        metric: ENERGY,
        binds: Binds::MakerAtApproval,
        limit: left(
            &GTR,
            "traction-gtr22-passenger-5-years",
            "left at 5 years or 100,000 km, passenger",
            80.0,
        ),
    },
    Durability {
        vehicles: "GTR 22 categories 1-1 and 1-2 (passenger, to 9 seats)",
        years: 8,
        distance: km(160_000.0),
        metric: ENERGY,
        binds: Binds::MakerAtApproval,
        limit: left(
            &GTR,
            "traction-gtr22-passenger-8-years",
            "left at 8 years or 160,000 km, passenger",
            70.0,
        ),
    },
    Durability {
        vehicles: "GTR 22 category 2 (goods vans)",
        years: 5,
        distance: km(100_000.0),
        metric: ENERGY,
        binds: Binds::MakerAtApproval,
        limit: left(
            &GTR_VANS,
            "traction-gtr22-vans-5-years",
            "left at 5 years or 100,000 km, goods vans",
            75.0,
        ),
    },
    Durability {
        vehicles: "GTR 22 category 2 (goods vans)",
        years: 8,
        distance: km(160_000.0),
        metric: ENERGY,
        binds: Binds::MakerAtApproval,
        limit: left(
            &GTR_VANS,
            "traction-gtr22-vans-8-years",
            "left at 8 years or 160,000 km, goods vans",
            65.0,
        ),
    },
    Durability {
        vehicles: "Euro 7 M1 (cars)",
        years: 5,
        distance: km(100_000.0),
        metric: ENERGY,
        binds: Binds::MakerAtApproval,
        limit: left(&EURO_7, "traction-euro7-m1-5-years", "left at 5 years or 100,000 km, M1", 80.0),
    },
    Durability {
        vehicles: "Euro 7 M1 (cars)",
        years: 8,
        distance: km(160_000.0),
        metric: ENERGY,
        binds: Binds::MakerAtApproval,
        limit: left(&EURO_7, "traction-euro7-m1-8-years", "left at 8 years or 160,000 km, M1", 72.0),
    },
    Durability {
        vehicles: "Euro 7 N1 (vans)",
        years: 5,
        distance: km(100_000.0),
        metric: ENERGY,
        binds: Binds::MakerAtApproval,
        limit: left(&EURO_7, "traction-euro7-n1-5-years", "left at 5 years or 100,000 km, N1", 75.0),
    },
    Durability {
        vehicles: "Euro 7 N1 (vans)",
        years: 8,
        distance: km(160_000.0),
        metric: ENERGY,
        binds: Binds::MakerAtApproval,
        limit: left(&EURO_7, "traction-euro7-n1-8-years", "left at 8 years or 160,000 km, N1", 67.0),
    },
    Durability {
        vehicles: "California, model years 2026 to 2029",
        years: 10,
        distance: mi(150_000.0),
        metric: RANGE,
        binds: Binds::MakerAtApproval,
        limit: left(
            &CALIFORNIA,
            "traction-california-range-2026",
            "range left at 10 years or 150,000 mi, model years 2026 to 2029",
            70.0,
        ),
    },
    Durability {
        vehicles: "California, model year 2030 on",
        years: 10,
        distance: mi(150_000.0),
        metric: RANGE,
        binds: Binds::MakerAtApproval,
        limit: left(
            &CALIFORNIA,
            "traction-california-range-2030",
            "range left at 10 years or 150,000 mi, model year 2030 on",
            80.0,
        ),
    },
    Durability {
        vehicles: "California, model years 2026 to 2030",
        years: 8,
        distance: mi(100_000.0),
        metric: HEALTH,
        binds: Binds::MakerToGiveWarranty,
        limit: left(
            &CALIFORNIA_WARRANTY,
            "traction-california-warranty-2026",
            "warranted at 8 years or 100,000 mi, model years 2026 to 2030",
            70.0,
        ),
    },
    Durability {
        vehicles: "California, model year 2031 on",
        years: 8,
        distance: mi(100_000.0),
        metric: HEALTH,
        binds: Binds::MakerToGiveWarranty,
        limit: left(
            &CALIFORNIA_WARRANTY,
            "traction-california-warranty-2031",
            "warranted at 8 years or 100,000 mi, model year 2031 on",
            75.0,
        ),
    },
];

/// Every row, by rule and vehicles, the nearer end first.
pub fn durability() -> &'static [Durability] {
    &ROWS
}

/// The row that still asks something of a vehicle of this kind at an age of whole `years` (begun ones not counted) and a
/// distance: the first whose age and distance are both not yet passed.
pub fn durability_at(vehicles: &str, years: u8, distance: Distance) -> Option<&'static Durability> {
    ROWS.iter().find(|row| {
        let most = Distance::parse(row.distance).unwrap_or_default();
        row.vehicles == vehicles && years < row.years && distance <= most
    })
}
