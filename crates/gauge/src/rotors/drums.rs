//! Drums: each against the maximum that is stamped on it.

use super::{HEAVY, HOUSE, STAMP, THICKNESS, floor_at, mm};
use crate::assessment::{Assessment, Opinion};
use crate::caution::brakes_at;
use crate::grading::Bench;
use crate::ladder::{Rung, stand_under};
use crate::limit::{Bound, Limit};
use crate::measured::MeasuredSet;
use crate::points::CheckPoint;
use crate::shown::{published, shown};
use crate::yardstick::Yardstick;
use model::{Grade, Place, Zone};
use quantity::Depth;

const DRUM: &str = "diameter less the maximum stamped on the drum";
static LAW: [Limit; 2] = [
    Limit { key: "drums-law-us-light", name: DRUM, bound: Bound::Above(mm(0.0)), ..STAMP },
    Limit { key: "drums-law-us-heavy", name: DRUM, bound: Bound::Above(mm(0.0)), ..HEAVY },
];
static ELSEWHERE: Limit =
    Limit { key: "drums-do-not-drive", name: DRUM, bound: Bound::Above(mm(0.0)), ..HOUSE };
/// Worn almost to the stamp: new shoes would wear it beyond before they are worn out.
static NEAR: Limit = Limit {
    key: "drums-watch",
    name: "what is left to the maximum stamped on the drum",
    grade: Some(Grade::Watch),
    bound: Bound::Below(mm(0.5)),
    ..HOUSE
};
static UNSTAMPED: Limit = Limit {
    key: "drums-stamp",
    name: "the maximum stamped on the drum",
    grade: Some(Grade::Watch),
    bound: Bound::Missing,
    ..HOUSE
};

const STAMPED: &str = "drum-maximum";

// The plausible range is a setting (common practice, no source): wide enough for any drum that fits these vehicles.
pub(super) const DIAMETER: CheckPoint = CheckPoint {
    code: "drum-diameter",
    title: "Inner diameter of the brake drum at its widest",
    zones: &[Zone::Whole],
    least: mm(100.0),
    most: mm(500.0),
    assess: Some(assess),
    ..THICKNESS
};
pub(super) const MAXIMUM: CheckPoint =
    CheckPoint { code: STAMPED, title: "Maximum diameter stamped on the drum", assess: None, ..DIAMETER };

pub(super) fn limits() -> impl Iterator<Item = &'static Limit> {
    LAW.iter().chain([&ELSEWHERE, &NEAR, &UNSTAMPED])
}

fn rungs<'a>(yardstick: &Yardstick<'a>, place: Place, stamp: i64, measured: i64) -> [Rung<'a>; 2] {
    let floor = floor_at(yardstick, &LAW, &ELSEWHERE, place);
    let near = yardstick.held(&NEAR);
    let left = Rung { held: near, tested: stamp - measured, at: stamp - near.exact(), is_inverse: true };
    [Rung::above(stamp, floor, measured), left]
}

/// The grade of a drum of this inner diameter against the maximum stamped on it, and the limit that decides: rejected
/// above the stamp; at the stamp it may still be used.
pub fn drum_grade(
    yardstick: &Yardstick<'_>,
    place: Place,
    diameter: Depth,
    stamp: Depth,
) -> (Grade, &'static Limit) {
    let (grade, rung) = stand_under(&rungs(yardstick, place, stamp.nm(), diameter.nm()));
    (grade, rung.held.limit)
}

/// Grades one drum against its own stamp, as last read at this wheel.
fn assess<'a>(bench: &Bench<'a>, set: &MeasuredSet<'a>) -> Assessment {
    let Some(stamped) = bench.noted_of("drum", STAMPED, set.place) else {
        return unstamped(bench, set);
    };
    let (diameter, unit) = (set.lowest.entered, set.lowest.entered.unit);
    let (stamp, measured) = (stamped.lowest, set.lowest.exact);
    let (grade, rung) = stand_under(&rungs(&bench.yardstick, set.place, stamp.exact, measured));
    let told = published(stamp.entered, stamp.exact, unit);
    let reason = match grade {
        Grade::DoNotDrive => {
            format!("Diameter of {diameter} is above the maximum of {told} stamped on this drum.")
        }
        Grade::Good => format!(
            "Diameter of {diameter} is not above {}, and the drum is stamped {told}.",
            shown(rung.at, unit)
        ),
        Grade::Watch | Grade::Attend => format!(
            "Diameter of {diameter} is above {}, so the drum is nearly worn to the {told} stamped on it.",
            shown(rung.at, unit)
        ),
    };
    let mut assessment = Assessment::starting_with(Opinion::on_rung(grade, &rung, reason));
    match grade {
        Grade::DoNotDrive => assessment.advise(
            "Have both drums of this axle replaced, however good the linings are; one beyond its stamp is not turned.",
            brakes_at(set.place),
        ),
        Grade::Watch | Grade::Attend => {
            assessment.advise("Plan new drums with the next shoes of this axle.", brakes_at(set.place));
        }
        Grade::Good => {}
    }
    assessment
}

fn unstamped(bench: &Bench<'_>, set: &MeasuredSet<'_>) -> Assessment {
    let reason = format!(
        "The maximum stamped on this drum is not on record, so its diameter of {} cannot be judged.",
        set.lowest.entered
    );
    let opinion = Opinion::on_comparison(&bench.yardstick.held(&UNSTAMPED), reason);
    let mut assessment = Assessment::starting_with(opinion);
    assessment.advise(
        "Read the maximum off the drum itself, or off the maker's data where it is illegible, and record it.",
        brakes_at(set.place),
    );
    assessment
}
