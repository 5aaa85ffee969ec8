//! Cabin and engine air filters: when they are usually due, by age, distance and season.
//!
//! All of it is workshop habit: the vehicle's own book comes first, and rules may take their defaults from here.

use crate::answer::{Answer, answered};
use crate::limit::{Bound, Class, Discipline, Limit, Standing, Wheels};
use crate::points::{ANSWERED, CheckPoint, WHOLE_VEHICLE};
use crate::yardstick::Yardstick;
use model::Grade;
use quantity::{Distance, Entered, Unit};

/// Which air is cleaned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Filter {
    /// That for the people in the car.
    Cabin,
    /// That for the engine.
    EngineAir,
}

const RENEW: &str = "Fit a new one; blowing it out does not bring it back.";

answered! {
    /// What a look at the cabin filter finds.
    CabinFilter, Filters, "state of the cabin filter";

    /// As it should be.
    Clean = "clean", Answer::good("clean", "The cabin filter is clean.");

    /// Grey, with leaves or pollen.
    Dusty = "dusty", Answer::of(Grade::Watch, "dusty", "The cabin filter is dusty.")
        .advising("Order a new one, and fit it before the pollen comes.", &[]);

    /// Air hardly comes through, or it smells.
    Clogged = "clogged", Answer::of(
        Grade::Attend,
        "clogged or foul",
        "The cabin filter is clogged or foul; windows mist up and the air is bad.",
    ).advising(RENEW, &[]);

    /// Wet.
    Wet = "wet", Answer::of(
        Grade::Attend,
        "wet",
        "The cabin filter is wet, as a blocked drain of the scuttle leaves it.",
    ).advising("Clear the drain and fit a new one.", &[]);
}

answered! {
    /// What a look at the engine's air filter finds.
    AirFilter, Filters, "state of the engine's air filter";

    /// As it should be.
    Clean = "clean", Answer::good("clean", "The engine's air filter is clean.");

    /// Grey with dust.
    Dusty = "dusty", Answer::of(Grade::Watch, "dusty", "The engine's air filter is dusty.")
        .advising("Fit a new one at the next service.", &[]);

    /// Dark, packed or oily.
    Clogged = "clogged", Answer::of(
        Grade::Attend,
        "clogged or oily",
        "The engine's air filter is clogged or oily; the engine loses power and uses more.",
    ).advising(RENEW, &[]);

    /// Torn, or not sealing.
    Torn = "torn", Answer::of(
        Grade::Attend,
        "torn or not sealing",
        "The engine's air filter is torn or does not seal, so that dust reaches the engine.",
    ).advising("Fit a new one before the next run over dusty roads, and see that its seat is clean.", &[]);
}

pub(crate) static POINTS: [CheckPoint; 2] = [
    asked("cabin-filter", "Cabin filter, by look", CabinFilter::ANSWERS),
    asked("engine-air-filter", "Engine air filter, by look", AirFilter::ANSWERS),
];

const fn asked(code: &'static str, title: &'static str, answers: &'static [Answer]) -> CheckPoint {
    CheckPoint { code, title, discipline: Discipline::Filters, places: WHOLE_VEHICLE, answers, ..ANSWERED }
}

pub(crate) fn answers() -> impl Iterator<Item = &'static Answer> {
    CabinFilter::answers().chain(AirFilter::answers())
}

/// What the filter breathes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Duty {
    /// The air of towns and paved roads.
    Usual,
    /// Building sites, unpaved roads, harvest.
    Dusty,
}

/// Half of the earth, for the season of pollen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
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
    /// Its age in months, as shipped, with source and standing.
    pub age: Limit,
    /// Its distance, as shipped, with source and standing.
    pub driven: Limit,
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

const fn months(key: &'static str, name: &'static str, value: f64) -> Limit {
    Limit { key, name, bound: Bound::AtOrAbove(Entered::new(value, Unit::Count)), ..SETTING }
}

const fn km(key: &'static str, name: &'static str, value: f64) -> Limit {
    Limit { key, name, bound: Bound::AtOrAbove(Entered::new(value, Unit::Kilometre)), ..SETTING }
}

static LIVES: [FilterLife; 4] = [
    FilterLife {
        filter: Filter::Cabin,
        duty: Duty::Usual,
        age: months("cabin-filter-age", "age of a cabin filter in months", 12.0),
        driven: km("cabin-filter-distance", "distance of a cabin filter", 25_000.0),
    },
    FilterLife {
        filter: Filter::Cabin,
        duty: Duty::Dusty,
        age: months("cabin-filter-dust-age", "age of a cabin filter in dust, in months", 6.0),
        driven: km("cabin-filter-dust-distance", "distance of a cabin filter in dust", 12_500.0),
    },
    FilterLife {
        filter: Filter::EngineAir,
        duty: Duty::Usual,
        age: months("air-filter-age", "age of an engine air filter in months", 36.0),
        driven: km("air-filter-distance", "distance of an engine air filter", 50_000.0),
    },
    FilterLife {
        filter: Filter::EngineAir,
        duty: Duty::Dusty,
        age: months("air-filter-dust-age", "age of an engine air filter in dust, in months", 12.0),
        driven: km("air-filter-dust-distance", "distance of an engine air filter in dust", 20_000.0),
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

pub(crate) fn limits() -> impl Iterator<Item = &'static Limit> {
    LIVES.iter().flat_map(|life| [&life.age, &life.driven])
}

impl FilterLife {
    /// The whole months after which it is due, with the fleet's own number where it set one.
    pub fn months(&'static self, yardstick: &Yardstick<'_>) -> u32 {
        u32::try_from(yardstick.held(&self.age).exact() / 1_000_000).unwrap_or(u32::MAX)
    }

    /// The distance after which it is due, with the fleet's own number where it set one.
    pub fn distance(&'static self, yardstick: &Yardstick<'_>) -> Distance {
        Distance::from_mm(yardstick.held(&self.driven).exact())
    }
}

/// Whether a cabin filter that falls due in a month (January being 1) is better changed before the pollen comes: it falls
/// due in one of the three months after the one of [`month_before_pollen`].
pub const fn is_better_before_pollen(due_month: u8, hemisphere: Hemisphere) -> bool {
    let after = (due_month as u16 + 12 - month_before_pollen(hemisphere) as u16) % 12;
    1 <= after && after <= 3
}
