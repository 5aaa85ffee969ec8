//! Engine coolant: how much glycol is in the water, by which measure, and what cold it stands.
//!
//! A concentration says nothing without its basis: 50 % by volume of ethylene glycol is 52.7 % by mass, and the freeze
//! points of the two differ by more than a gauge can tell. So every concentration here carries glycol and basis.

mod advice;
mod concentration;
mod exchange;
mod freeze_point;
mod freeze_table;
mod level;
mod limits;
mod tester;

pub use concentration::{Basis, Concentration, ConcentrationError, Glycol};
pub use exchange::{Exchange, ExchangeError, Refill, strengthen, thin};
pub use freeze_point::{FreezeError, FreezePoint, freeze_point, least_share_for};
pub use level::{CoolantLevel, TractionCoolantLevel};
pub(crate) use limits::limits;
pub use tester::{Scale, Tester};

use crate::answer::Answer;
use crate::limit::Discipline;
use crate::points::{ANSWERED, CheckPoint, WHOLE, WHOLE_VEHICLE};
use quantity::{Dimension, Entered, Unit};

// The plausible range is a setting (common practice, no source).
pub(crate) static POINTS: [CheckPoint; 5] = [
    CheckPoint {
        code: "coolant-concentration",
        title: "Glycol in the engine's coolant, on the scale that was said",
        discipline: Discipline::Coolant,
        dimension: Dimension::Share,
        units: &[Unit::Percent],
        places: WHOLE_VEHICLE,
        zones: WHOLE,
        least: Entered::new(0.0, Unit::Percent),
        most: Entered::new(100.0, Unit::Percent),
        answers: &[],
        assess: Some(limits::assess),
    },
    asked("coolant-scale", "Scale of the coolant tester: which glycol, by volume or by mass", Scale::ANSWERS),
    asked("coolant-tester", "What the coolant was tested with", Tester::ANSWERS),
    asked("coolant-level", "Level of the engine's coolant, cold", CoolantLevel::ANSWERS),
    asked(
        "traction-coolant-level",
        "Level of the traction battery's coolant, looked at only",
        TractionCoolantLevel::ANSWERS,
    ),
];

const fn asked(code: &'static str, title: &'static str, answers: &'static [Answer]) -> CheckPoint {
    CheckPoint { code, title, discipline: Discipline::Coolant, places: WHOLE_VEHICLE, answers, ..ANSWERED }
}

pub(crate) fn answers() -> impl Iterator<Item = &'static Answer> {
    Scale::answers()
        .chain(Tester::answers())
        .chain(CoolantLevel::answers())
        .chain(TractionCoolantLevel::answers())
}
