//! Rotors and drums: each against the number that is stamped on it.

mod drums;

pub use drums::drum_grade;

use crate::assessment::{Assessment, Opinion};
use crate::caution::brakes_at;
use crate::grading::Bench;
use crate::ladder::{Rung, stand_on};
use crate::limit::{Bound, Class, Discipline, Limit, Standing, Wheels};
use crate::measured::MeasuredSet;
use crate::points::{CheckPoint, DEPTH_UNITS, FOUR_WHEELS};
use crate::shown::{published, shown};
use crate::yardstick::{Held, Yardstick};
use model::{Grade, Jurisdiction, Place, Zone};
use quantity::{Depth, Dimension, Entered, Unit};

const fn mm(value: f64) -> Entered {
    Entered::new(value, Unit::Millimetre)
}

const STAMP: Limit = Limit {
    key: "",
    discipline: Discipline::Rotors,
    name: "thickness less the minimum stamped on the rotor",
    jurisdiction: Some(Jurisdiction::Us),
    class: Class::LIGHT,
    wheels: Wheels::Any,
    grade: Some(Grade::DoNotDrive),
    bound: Bound::Below(mm(0.0)),
    source: "49 CFR 570.5",
    edition: "text not read; check the current one",
    standing: Standing::Memory,
};
const HEAVY: Limit = Limit {
    class: Class::HEAVY,
    source: "49 CFR 570.59(b)",
    edition: "read first-hand, undated page; check the current one",
    standing: Standing::Verified,
    ..STAMP
};
const HOUSE: Limit = Limit {
    jurisdiction: None,
    class: Class::ANY,
    source: "the maker's own stamp, by house setting, no source",
    edition: "first edition",
    standing: Standing::CommonPractice,
    ..STAMP
};

static LAW: [Limit; 2] =
    [Limit { key: "rotors-law-us-light", ..STAMP }, Limit { key: "rotors-law-us-heavy", ..HEAVY }];
static ELSEWHERE: Limit = Limit { key: "rotors-do-not-drive", ..HOUSE };
/// Worn almost to the stamp: new pads would wear it below before they are worn out.
static NEAR: Limit =
    Limit { key: "rotors-watch", grade: Some(Grade::Watch), bound: Bound::Below(mm(0.5)), ..HOUSE };
static UNSTAMPED: Limit = Limit {
    key: "rotors-stamp",
    name: "the minimum stamped on the rotor",
    grade: Some(Grade::Watch),
    bound: Bound::Missing,
    ..HOUSE
};

// The plausible ranges are settings (common practice, no source): wide enough for any part that fits these vehicles.
const THICKNESS: CheckPoint = CheckPoint {
    code: "rotor-thickness",
    title: "Brake rotor thickness at its thinnest",
    discipline: Discipline::Rotors,
    dimension: Dimension::Depth,
    units: DEPTH_UNITS,
    places: FOUR_WHEELS,
    zones: &[Zone::Lowest],
    least: mm(3.0),
    most: mm(60.0),
    answers: &[],
    assess: Some(assess),
};

pub(crate) static POINTS: [CheckPoint; 4] = [
    THICKNESS,
    CheckPoint {
        code: STAMPED,
        title: "Minimum thickness stamped on the rotor",
        zones: &[Zone::Whole],
        assess: None,
        ..THICKNESS
    },
    drums::DIAMETER,
    drums::MAXIMUM,
];
const STAMPED: &str = "rotor-minimum";

pub(crate) fn limits() -> impl Iterator<Item = &'static Limit> {
    LAW.iter().chain([&ELSEWHERE, &NEAR, &UNSTAMPED]).chain(drums::limits())
}

fn floor_at<'a>(
    yardstick: &Yardstick<'a>,
    laws: &'static [Limit; 2],
    house: &'static Limit,
    place: Place,
) -> Held<'a> {
    yardstick.strictest(laws, place).unwrap_or_else(|| yardstick.held(house))
}

fn rungs<'a>(yardstick: &Yardstick<'a>, place: Place, stamp: i64, measured: i64) -> [Rung<'a>; 2] {
    let floor = floor_at(yardstick, &LAW, &ELSEWHERE, place);
    [floor, yardstick.held(&NEAR)].map(|held| Rung::above(stamp, held, measured))
}

/// The grade of a rotor of this thickness against the minimum stamped on it, and the limit that decides.
///
/// Rejected below the stamp, however good the pads are; at the stamp it may still be used.
pub fn rotor_grade(
    yardstick: &Yardstick<'_>,
    place: Place,
    measured: Depth,
    stamp: Depth,
) -> (Grade, &'static Limit) {
    let (grade, rung) = stand_on(&rungs(yardstick, place, stamp.nm(), measured.nm()));
    (grade, rung.held.limit)
}

/// Grades one rotor against its own stamp, as last read at this wheel.
fn assess<'a>(bench: &Bench<'a>, set: &MeasuredSet<'a>) -> Assessment {
    let Some(stamped) = bench.noted_of("rotor", STAMPED, set.place) else {
        return unstamped(bench, set);
    };
    let (thickness, unit) = (set.lowest.entered, set.lowest.entered.unit);
    let (stamp, measured) = (stamped.lowest, set.lowest.exact);
    let (grade, rung) = stand_on(&rungs(&bench.yardstick, set.place, stamp.exact, measured));
    let told = published(stamp.entered, stamp.exact, unit);
    let reason = match grade {
        Grade::DoNotDrive => {
            format!("Thickness of {thickness} is below the minimum of {told} stamped on this rotor.")
        }
        Grade::Good => format!(
            "Thickness of {thickness} is not below {}, and the rotor is stamped {told}.",
            shown(rung.at, unit)
        ),
        Grade::Watch | Grade::Attend => format!(
            "Thickness of {thickness} is below {}, so the rotor is nearly down to the {told} stamped on it.",
            shown(rung.at, unit)
        ),
    };
    let mut assessment = Assessment::starting_with(Opinion::on_rung(grade, &rung, reason));
    match grade {
        Grade::DoNotDrive => assessment.advise(
            "Have both rotors of this axle replaced, however good the pads are; one below its stamp is not turned.",
            brakes_at(set.place),
        ),
        Grade::Watch | Grade::Attend => {
            assessment.advise("Plan new rotors with the next pads of this axle.", brakes_at(set.place));
        }
        Grade::Good => {}
    }
    assessment
}

fn unstamped(bench: &Bench<'_>, set: &MeasuredSet<'_>) -> Assessment {
    let reason = format!(
        "The minimum stamped on this rotor is not on record, so its thickness of {} cannot be judged.",
        set.lowest.entered
    );
    let opinion = Opinion::on_comparison(&bench.yardstick.held(&UNSTAMPED), reason);
    let mut assessment = Assessment::starting_with(opinion);
    assessment.advise(
        "Read the minimum off the rotor itself, or off the maker's data where it is illegible, and record it.",
        brakes_at(set.place),
    );
    assessment
}
