//! The battery an electric vehicle drives by: what it still holds, against the floor that its cover promises.
//!
//! The floor that counts is the coverage window's own. What regulations ask of makers is listed in [`durability`] for comparison only:
//! it binds the maker and is no owner's claim.

mod durability;

pub use durability::{Binds, DURABILITY_NOTE, Durability, durability, durability_at};

use crate::assessment::{Assessment, Opinion};
use crate::caution::Hazard;
use crate::grading::Bench;
use crate::ladder::{Rung, stand_on};
use crate::limit::{Bound, Class, Discipline, Limit, Standing, Wheels};
use crate::measured::MeasuredSet;
use crate::points::{CheckPoint, WHOLE, WHOLE_VEHICLE};
use crate::verdict::Verdict;
use crate::yardstick::{Held, Yardstick};
use model::Grade;
use quantity::{Dimension, Entered, QuantityError, Unit};

const CLAIM_NOTE: &str = "Only the maker's own capacity test counts for a claim; what the dashboard or a reader shows is a reason to ask for \
     that test.";

const SETTING: Limit = Limit {
    key: "",
    discipline: Discipline::TractionBattery,
    name: "capacity, of that when new",
    jurisdiction: None,
    class: Class::ANY,
    wheels: Wheels::Any,
    grade: Some(Grade::Watch),
    bound: Bound::Missing,
    source: "house setting for traction batteries, no source",
    edition: "first edition",
    standing: Standing::CommonPractice,
};

/// Makers' cover commonly ends here; what a vehicle's own cover promises is recorded with its window.
static USUAL_FLOOR: Limit = Limit {
    key: "traction-usual-floor",
    grade: Some(Grade::Attend),
    bound: Bound::Below(Entered::new(70.0, Unit::Percent)),
    ..SETTING
};
static UNDER: Limit = Limit {
    key: "traction-under-floor",
    name: "capacity less the floor of its cover, points of that when new",
    grade: Some(Grade::Attend),
    bound: Bound::Below(Entered::new(0.0, Unit::Percent)),
    ..SETTING
};
static NEAR: Limit = Limit {
    key: "traction-near-floor",
    name: "capacity less the floor of its cover, points of that when new",
    bound: Bound::Below(Entered::new(5.0, Unit::Percent)),
    ..SETTING
};

// The plausible range is a setting (common practice, no source): a new battery may show more than all.
pub(crate) static POINTS: [CheckPoint; 1] = [CheckPoint {
    code: "traction-capacity",
    title: "Capacity of the traction battery, of that when new",
    discipline: Discipline::TractionBattery,
    dimension: Dimension::Share,
    units: &[Unit::Percent],
    places: WHOLE_VEHICLE,
    zones: WHOLE,
    least: Entered::new(0.0, Unit::Percent),
    most: Entered::new(110.0, Unit::Percent),
    answers: &[],
    assess: Some(assess),
}];

pub(crate) fn limits() -> impl Iterator<Item = &'static Limit> {
    [&USUAL_FLOOR, &UNDER, &NEAR].into_iter().chain(durability().iter().map(|row| &row.limit))
}

/// The floor that a capacity is held to.
#[derive(Clone, Copy)]
enum Floor<'a> {
    /// That which makers' cover commonly has.
    Usual(Held<'a>),
    /// That of a coverage window, in millionths of a percent.
    OfCover(Held<'a>, i64),
}

impl Floor<'_> {
    fn exact(self) -> i64 {
        match self {
            Self::Usual(held) => held.exact(),
            Self::OfCover(_, floor) => floor,
        }
    }
}

/// Held to the floor that makers' cover commonly has; a window's own floor is for [`against_cover`].
fn assess<'a>(bench: &Bench<'a>, set: &MeasuredSet<'a>) -> Assessment {
    let floor = Floor::Usual(bench.yardstick.held(&USUAL_FLOOR));
    against(&bench.yardstick, floor, set.lowest.exact)
}

/// What a capacity comes to under a coverage window with a floor, both as shares of the capacity when new.
///
/// This is the last value against the floor; from five readings on a forecast says more.
///
/// # Errors
/// [`QuantityError`] where one of them is no share.
pub fn against_cover(
    yardstick: &Yardstick<'_>,
    capacity: Entered,
    floor: Entered,
) -> Result<Verdict, QuantityError> {
    let [capacity, floor] = [capacity.exact_as(Dimension::Share)?, floor.exact_as(Dimension::Share)?];
    let floor = Floor::OfCover(yardstick.held(&UNDER), floor);
    Ok(against(yardstick, floor, capacity).verdict())
}

fn against(yardstick: &Yardstick<'_>, floor: Floor<'_>, capacity: i64) -> Assessment {
    let zero = floor.exact();
    let under = match floor {
        Floor::Usual(held) => Rung::on_scale(held, capacity),
        Floor::OfCover(held, floor) => Rung::above(floor, held, capacity),
    };
    let (grade, rung) = stand_on(&[under, Rung::above(zero, yardstick.held(&NEAR), capacity)]);
    let [found, least, near] =
        [capacity, zero, rung.at].map(|share| Entered::from_exact(share, Unit::Percent));
    let whose = match floor {
        Floor::Usual(_) => "that makers' cover commonly has",
        Floor::OfCover(..) => "of its cover",
    };
    let reason = match grade {
        Grade::Good => format!("A capacity of {found} is not below {near}; the floor {whose} is {least}."),
        Grade::Watch => format!("A capacity of {found} is below {near}, near the floor {whose}, {least}."),
        Grade::Attend | Grade::DoNotDrive => {
            format!("A capacity of {found} is below the floor {whose}, {least}.")
        }
    };
    let mut assessment = Assessment::starting_with(Opinion::on_rung(grade, &rung, reason));
    match grade {
        Grade::Attend | Grade::DoNotDrive => assessment.advise(
            "Have the maker's workshop test the capacity while the vehicle is covered.",
            &[Hazard::HighVoltage],
        ),
        Grade::Watch => assessment.advise("Read it again every three months, charged and rested alike.", &[]),
        Grade::Good => {}
    }
    assessment.advise(CLAIM_NOTE, &[]);
    if matches!(floor, Floor::Usual(_)) {
        assessment.advise("What this vehicle's own warranty book says goes before the usual floor.", &[]);
    }
    assessment
}
