//! Engine oil: its level, how much is topped up over 1,000 km, and whether that is growing.

use crate::answer::{Answer, answered};
use crate::assessment::{Assessment, Opinion};
use crate::background::{Background, Use};
use crate::caution::Hazard;
use crate::grading::Bench;
use crate::ladder::{Rung, stand_under};
use crate::limit::{Bound, Class, Discipline, Limit, Standing, Wheels};
use crate::measured::MeasuredSet;
use crate::points::{ANSWERED, CheckPoint, WHOLE, WHOLE_VEHICLE};
use crate::top_up::{Consumption, Trend};
use crate::verdict::Verdict;
use crate::yardstick::Yardstick;
use model::Grade;
use quantity::{Dimension, Entered, Unit};

/// By how much the level on a dipstick is misread, in litres. A house setting, no source.
pub const MARK_ERROR_LITRES: f64 = 0.1;

const OIL: &[Hazard] = &[Hazard::HotOil];

answered! {
    /// Where the oil stands on the dipstick, the vehicle level and the engine at rest.
    OilLevel, EngineOil, "level of the engine oil";

    /// Between the marks.
    Between = "between", Answer::good("between the marks", "The oil stands between the marks.");

    /// Above the upper mark.
    High = "high", Answer::of(
        Grade::Attend,
        "above the upper mark",
        "The oil stands above the upper mark; too much is whipped to foam, or fuel has run into it.",
    ).advising("Have the oil let out to the mark, and smelt for fuel.", OIL);

    /// At the lower mark.
    Low = "low", Answer::of(
        Grade::Attend,
        "at the lower mark",
        "The oil stands at the lower mark, where it is topped up.",
    ).advising("Top up with oil of the maker's specification, write down how much, and look for leaks.", OIL);

    /// Not on the stick.
    None = "none", Answer::of(
        Grade::DoNotDrive,
        "none on the stick",
        "No oil is to be seen on the stick; the engine may seize.",
    ).advising("Do not start the engine: fill to the mark, find where the oil went, and watch the oil lamp.", OIL);
}

const SETTING: Limit = Limit {
    key: "oil-use-watch",
    discipline: Discipline::EngineOil,
    name: "oil topped up over 1,000 km, litres",
    jurisdiction: None,
    class: Class::ANY,
    wheels: Wheels::Any,
    grade: Some(Grade::Watch),
    bound: Bound::AtOrAbove(Entered::new(0.5, Unit::Count)),
    source: "house setting for engine oil, no source",
    edition: "first edition",
    standing: Standing::CommonPractice,
};

static THIRSTY: Limit = SETTING;
static TOO_THIRSTY: Limit = Limit {
    key: "oil-use-attend",
    grade: Some(Grade::Attend),
    bound: Bound::AtOrAbove(Entered::new(1.0, Unit::Count)),
    source: "makers' usual allowance for oil use",
    edition: "told from memory; check the vehicle's own handbook",
    standing: Standing::Memory,
    ..SETTING
};
static RISING: Limit = Limit {
    key: "oil-use-rising",
    name: "rise of the use of oil from earlier to later top-ups, in standard errors",
    bound: Bound::Above(Entered::new(2.0, Unit::Count)),
    ..SETTING
};
/// About a litre lies between the marks of a dipstick (from memory): whoever fills in more had less than the lower mark.
static MUCH: Limit = Limit {
    key: "oil-top-up-much",
    name: "oil topped up at once",
    bound: Bound::Above(Entered::new(1.0, Unit::Litre)),
    ..SETTING
};

pub(crate) static POINTS: [CheckPoint; 2] = [
    // The plausible range is a setting (common practice, no source).
    CheckPoint {
        code: "oil-top-up",
        title: "Engine oil topped up to the usual mark",
        discipline: Discipline::EngineOil,
        dimension: Dimension::Volume,
        units: &[Unit::Litre, Unit::UsQuart],
        places: WHOLE_VEHICLE,
        zones: WHOLE,
        least: Entered::new(0.0, Unit::Litre),
        most: Entered::new(15.0, Unit::Litre),
        answers: &[],
        assess: Some(topped_up),
    },
    CheckPoint {
        code: "oil-level",
        title: "Level of the engine oil",
        discipline: Discipline::EngineOil,
        places: WHOLE_VEHICLE,
        answers: OilLevel::ANSWERS,
        ..ANSWERED
    },
];

pub(crate) fn answers() -> impl Iterator<Item = &'static Answer> {
    OilLevel::answers()
}

pub(crate) fn limits() -> impl Iterator<Item = &'static Limit> {
    [&TOO_THIRSTY, &THIRSTY, &RISING, &MUCH].into_iter()
}

fn topped_up<'a>(bench: &Bench<'a>, set: &MeasuredSet<'a>) -> Assessment {
    let (grade, rung) = stand_under(&[Rung::on_scale(bench.yardstick.held(&MUCH), set.lowest.exact)]);
    let found = set.lowest.entered;
    let reason = if grade == Grade::Good {
        format!("{found} of oil were topped up.")
    } else {
        format!("{found} of oil were topped up at once: it had probably stood below the lower mark.")
    };
    let mut assessment = Assessment::starting_with(Opinion::on_rung(grade, &rung, reason));
    if grade != Grade::Good {
        assessment.advise("Look at the oil more often, and for leaks and blue smoke.", OIL);
    }
    let Background { oil_changes, .. } = bench.background;
    let used = bench.background.use_of(set.point.code, bench.inspections, oil_changes, MARK_ERROR_LITRES);
    if let Some(Use { consumption, trend }) = used {
        assessment.take_in(use_assessment(&bench.yardstick, &consumption, trend.as_ref()));
    }
    assessment
}

/// What the use of oil comes to: the rate, with its uncertainty told, and a rise where it is beyond that.
pub fn judge_use(yardstick: &Yardstick<'_>, used: &Consumption, trend: Option<&Trend>) -> Verdict {
    use_assessment(yardstick, used, trend).verdict()
}

fn use_assessment(yardstick: &Yardstick<'_>, used: &Consumption, trend: Option<&Trend>) -> Assessment {
    let rate = Entered::new(used.litres_per_1000_km, Unit::Count).exact().unwrap_or(i64::MAX);
    let rungs = [&TOO_THIRSTY, &THIRSTY].map(|limit| Rung::on_scale(yardstick.held(limit), rate));
    let (grade, rung) = stand_under(&rungs);
    let told = used.told();
    let reason = match grade {
        Grade::Good => format!("The engine uses {told} of oil, less than is watched."),
        Grade::Watch => format!("The engine uses {told} of oil: more than is usual."),
        Grade::Attend | Grade::DoNotDrive => {
            format!("The engine uses {told} of oil: as much as makers usually allow, or more.")
        }
    };
    let mut assessment = Assessment::starting_with(Opinion::on_rate(grade, &rung.held, reason));
    let rising = yardstick.held(&RISING);
    let rise = trend.filter(|trend| {
        Entered::new(trend.rise(), Unit::Count).exact().is_ok_and(|exact| rising.is_met(exact))
    });
    if let Some(Trend { earlier, later }) = rise {
        let reason =
            format!("The use of oil is growing: {} before, {} of late.", earlier.told(), later.told());
        assessment.hear(Opinion::on_comparison(&rising, reason));
    }
    match assessment.grade() {
        Grade::Attend | Grade::DoNotDrive => assessment.advise(
            "Have leaks, crankcase ventilation and compression looked at, and claim while the engine is covered.",
            OIL,
        ),
        Grade::Watch => assessment.advise("Look at the level at every second filling of the tank.", OIL),
        Grade::Good => {}
    }
    assessment
}
