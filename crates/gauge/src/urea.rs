//! Urea solution: its level, how much is topped up over 1,000 km, and how far what is left will go.

use crate::answer::{Answer, answered};
use crate::assessment::{Assessment, Opinion};
use crate::background::Use;
use crate::grading::Bench;
use crate::ladder::{Rung, stand_on, stand_under};
use crate::limit::{Bound, Class, Discipline, Limit, Standing, Wheels};
use crate::measured::MeasuredSet;
use crate::points::{ANSWERED, CheckPoint, WHOLE, WHOLE_VEHICLE};
use crate::top_up::Consumption;
use crate::verdict::Verdict;
use crate::yardstick::Yardstick;
use model::Grade;
use quantity::{Dimension, Entered, Unit};

/// By how much the filling of a tank to the brim differs from time to time, in litres. A house setting, no source.
pub const MARK_ERROR_LITRES: f64 = 0.5;

const REFILL: &str = "Fill up with fresh urea solution for exhausts (ISO 22241, from memory) and nothing else; keep it off paint, and \
     never put it into the fuel.";

answered! {
    /// What the gauge or the lamp says of the urea tank.
    UreaLevel, Urea, "level of the urea solution";

    /// Enough.
    Enough = "enough", Answer::good("enough", "There is enough urea solution.");

    /// The first warning is on.
    Low = "low", Answer::of(
        Grade::Watch,
        "low",
        "The urea solution is low.",
    ).advising(REFILL, &[]);

    /// The last warning is on: the engine will not start again.
    NearlyEmpty = "nearly_empty", Answer::of(
        Grade::Attend,
        "nearly empty",
        "The urea solution is nearly gone; once it is, the engine may not start again (from memory).",
    ).advising(REFILL, &[]);
}

const SETTING: Limit = Limit {
    key: "urea-use-watch",
    discipline: Discipline::Urea,
    name: "urea solution topped up over 1,000 km, litres",
    jurisdiction: None,
    class: Class::ANY,
    wheels: Wheels::Any,
    grade: Some(Grade::Watch),
    bound: Bound::AtOrAbove(Entered::new(3.0, Unit::Count)),
    source: "house setting for urea solution, no source",
    edition: "first edition",
    standing: Standing::CommonPractice,
};

static THIRSTY: Limit = SETTING;
/// Once the tank is empty the engine may be kept from starting again (from memory), so a vehicle must not get near it.
static NEARLY_EMPTY: Limit = Limit {
    key: "urea-range-attend",
    name: "distance that the urea solution left will last",
    grade: Some(Grade::Attend),
    bound: Bound::Below(Entered::new(1000.0, Unit::Kilometre)),
    ..SETTING
};
static LOW: Limit = Limit {
    key: "urea-range-watch",
    grade: Some(Grade::Watch),
    bound: Bound::Below(Entered::new(2500.0, Unit::Kilometre)),
    ..NEARLY_EMPTY
};
/// Few tanks of cars and vans hold more (from memory).
static MUCH: Limit = Limit {
    key: "urea-top-up-much",
    name: "urea solution topped up at once",
    bound: Bound::Above(Entered::new(30.0, Unit::Litre)),
    ..SETTING
};

const TOP_UP: CheckPoint = CheckPoint {
    code: "urea-top-up",
    title: "Urea solution topped up, to the brim",
    discipline: Discipline::Urea,
    dimension: Dimension::Volume,
    units: &[Unit::Litre, Unit::UsQuart],
    places: WHOLE_VEHICLE,
    zones: WHOLE,
    least: Entered::new(0.0, Unit::Litre),
    most: Entered::new(100.0, Unit::Litre),
    answers: &[],
    assess: Some(topped_up),
};

// Plausible ranges are settings (common practice, no source).
pub(crate) static POINTS: [CheckPoint; 3] = [
    TOP_UP,
    CheckPoint {
        code: "urea-range",
        title: "Distance that the urea solution left will last, as the vehicle says",
        dimension: Dimension::Distance,
        units: &[Unit::Kilometre, Unit::Mile],
        least: Entered::new(0.0, Unit::Kilometre),
        most: Entered::new(50_000.0, Unit::Kilometre),
        assess: Some(range),
        ..TOP_UP
    },
    CheckPoint {
        code: "urea-level",
        title: "Level of the urea solution",
        discipline: Discipline::Urea,
        places: WHOLE_VEHICLE,
        answers: UreaLevel::ANSWERS,
        ..ANSWERED
    },
];

pub(crate) fn answers() -> impl Iterator<Item = &'static Answer> {
    UreaLevel::answers()
}

pub(crate) fn limits() -> impl Iterator<Item = &'static Limit> {
    [&NEARLY_EMPTY, &LOW, &THIRSTY, &MUCH].into_iter()
}

fn topped_up<'a>(bench: &Bench<'a>, set: &MeasuredSet<'a>) -> Assessment {
    let (grade, rung) = stand_under(&[Rung::on_scale(bench.yardstick.held(&MUCH), set.lowest.exact)]);
    let found = set.lowest.entered;
    let reason = if grade == Grade::Good {
        format!("{found} of urea solution were topped up.")
    } else {
        format!("{found} of urea solution are more than most tanks hold.")
    };
    let mut assessment = Assessment::starting_with(Opinion::on_rung(grade, &rung, reason));
    if grade != Grade::Good {
        assessment.advise("See whether the number was meant, and that nothing was spilt.", &[]);
    }
    // A tank is always filled to the brim: the first filling is the one to count from.
    let used = bench.background.use_of(set.point.code, bench.inspections, &[], MARK_ERROR_LITRES);
    if let Some(Use { consumption, .. }) = used {
        assessment.take_in(use_assessment(&bench.yardstick, &consumption));
    }
    assessment
}

fn range<'a>(bench: &Bench<'a>, set: &MeasuredSet<'a>) -> Assessment {
    let rungs =
        [&NEARLY_EMPTY, &LOW].map(|limit| Rung::on_scale(bench.yardstick.held(limit), set.lowest.exact));
    let (grade, rung) = stand_on(&rungs);
    let found = set.lowest.entered;
    let reason = match grade {
        Grade::Good => format!("The vehicle says that its urea solution will last {found}."),
        Grade::Watch => {
            format!("The vehicle says that its urea solution will last {found}; it is getting low.")
        }
        Grade::Attend | Grade::DoNotDrive => {
            format!(
                "The urea solution left will last {found}; once it is gone the engine may not start again."
            )
        }
    };
    let mut assessment = Assessment::starting_with(Opinion::on_rung(grade, &rung, reason));
    if grade != Grade::Good {
        assessment.advise(REFILL, &[]);
    }
    assessment
}

/// What the use of urea solution comes to, with its uncertainty told.
pub fn judge_use(yardstick: &Yardstick<'_>, used: &Consumption) -> Verdict {
    use_assessment(yardstick, used).verdict()
}

fn use_assessment(yardstick: &Yardstick<'_>, used: &Consumption) -> Assessment {
    let rate = Entered::new(used.litres_per_1000_km, Unit::Count).exact().unwrap_or(i64::MAX);
    let (grade, rung) = stand_under(&[Rung::on_scale(yardstick.held(&THIRSTY), rate)]);
    let told = used.told();
    let reason = if grade == Grade::Good {
        format!("The vehicle uses {told} of urea solution, less than is watched.")
    } else {
        format!("The vehicle uses {told} of urea solution: more than is usual.")
    };
    let mut assessment = Assessment::starting_with(Opinion::on_rate(grade, &rung.held, reason));
    if grade != Grade::Good {
        assessment.advise("Look for leaks at tank and injector, and read the stored faults.", &[]);
    }
    assessment
}
