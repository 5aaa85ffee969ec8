//! Cabin and engine air filters: when they are usually due, by age, distance and season.
//!
//! All of it is workshop habit: the vehicle's own book comes first, and rules may take their defaults from here.

use crate::limit::{Bound, Class, Discipline, Limit, Standing, Wheels};
use model::Grade;
use quantity::{Distance, Entered, Unit};
use serde::{Deserialize, Serialize};

/// Which air is cleaned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Filter {
    /// That for the people in the car.
    Cabin,
    /// That for the engine.
    EngineAir,
}

/// What the filter breathes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Duty {
    /// The air of towns and paved roads.
    Usual,
    /// Building sites, unpaved roads, harvest.
    Dusty,
}

/// Half of the earth, for the season of pollen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Hemisphere {
    /// Pollen from March.
    Northern,
    /// Pollen from September.
    Southern,
}

/// When a filter is usually due, whichever comes first.
#[derive(Debug)]
pub struct FilterLife {
    /// Which filter.
    pub filter: Filter,
    /// Doing what.
    pub duty: Duty,
    /// Its age in months, with source and standing.
    pub months: Limit,
    /// Its distance, with source and standing.
    pub distance: Limit,
}

/// The last month before the pollen comes, January being 1: a cabin filter that falls due in the quarter of a year after it
/// is better changed by its end (common practice, no source).
pub const fn month_before_pollen(hemisphere: Hemisphere) -> u8 {
    match hemisphere {
        Hemisphere::Northern => 2,
        Hemisphere::Southern => 8,
    }
}

const SETTING: Limit = Limit {
    key: "",
    discipline: Discipline::Filters,
    name: "",
    jurisdiction: None,
    class: Class::ANY,
    wheels: Wheels::Any,
    grade: Some(Grade::Watch),
    bound: Bound::Missing,
    source: "house setting for filters, no source; the vehicle's book comes first",
    edition: "first edition",
    standing: Standing::CommonPractice,
};

const fn months(name: &'static str, value: f64) -> Limit {
    Limit { name, bound: Bound::AtOrAbove(Entered::new(value, Unit::Count)), ..SETTING }
}

const fn km(name: &'static str, value: f64) -> Limit {
    Limit { name, bound: Bound::AtOrAbove(Entered::new(value, Unit::Kilometre)), ..SETTING }
}

static LIVES: [FilterLife; 4] = [
    FilterLife {
        filter: Filter::Cabin,
        duty: Duty::Usual,
        months: months("age of a cabin filter in months", 12.0),
        distance: km("distance of a cabin filter", 25_000.0),
    },
    FilterLife {
        filter: Filter::Cabin,
        duty: Duty::Dusty,
        months: months("age of a cabin filter in dust, in months", 6.0),
        distance: km("distance of a cabin filter in dust", 12_500.0),
    },
    FilterLife {
        filter: Filter::EngineAir,
        duty: Duty::Usual,
        months: months("age of an engine air filter in months", 36.0),
        distance: km("distance of an engine air filter", 50_000.0),
    },
    FilterLife {
        filter: Filter::EngineAir,
        duty: Duty::Dusty,
        months: months("age of an engine air filter in dust, in months", 12.0),
        distance: km("distance of an engine air filter in dust", 20_000.0),
    },
];

/// Every usual life, as data for rules.
pub fn filter_lives() -> &'static [FilterLife] {
    &LIVES
}

/// The usual life of a filter.
pub const fn filter_life(filter: Filter, duty: Duty) -> &'static FilterLife {
    match (filter, duty) {
        (Filter::Cabin, Duty::Usual) => &LIVES[0],
        (Filter::Cabin, Duty::Dusty) => &LIVES[1],
        (Filter::EngineAir, Duty::Usual) => &LIVES[2],
        (Filter::EngineAir, Duty::Dusty) => &LIVES[3],
    }
}

/// Every limit of this discipline.
pub fn limits() -> impl Iterator<Item = &'static Limit> {
    LIVES.iter().flat_map(|life| [&life.months, &life.distance])
}

impl FilterLife {
    /// The limit that a filter of whole `months` and this distance meets, age before distance.
    pub fn met(&self, months: u16, distance: Distance) -> Option<&Limit> {
        if self.months.bound.is_met(i64::from(months) * 1_000_000) {
            return Some(&self.months);
        }
        self.distance.bound.is_met(distance.mm()).then_some(&self.distance)
    }
}

/// Whether a cabin filter that falls due in a month (January being 1) is better changed before the pollen comes: it falls
/// due in one of the three months after the one of [`month_before_pollen`].
pub const fn is_better_before_pollen(due_month: u8, hemisphere: Hemisphere) -> bool {
    let after = (due_month as u16 + 12 - month_before_pollen(hemisphere) as u16) % 12;
    1 <= after && after <= 3
}
