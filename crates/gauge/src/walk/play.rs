//! Free play of the steering linkage, measured at the wheel.

use crate::assessment::{Assessment, Opinion};
use crate::caution::Hazard;
use crate::grading::Bench;
use crate::ladder::{Rung, stand_under};
use crate::limit::{Bound, Class, Discipline, Limit, Standing, Wheels};
use crate::measured::MeasuredSet;
use crate::points::{CheckPoint, DEPTH_UNITS, WHOLE, WHOLE_VEHICLE};
use crate::yardstick::{Held, Yardstick};
use model::{Grade, Jurisdiction, Place, Vehicle};
use quantity::{Depth, Dimension, Entered, Unit};

const UNDER_IT: &[Hazard] = &[Hazard::Lifting, Hazard::Wheel];

const PLAY: Limit = Limit {
    key: "",
    discipline: Discipline::LampsAndPoints,
    name: "",
    jurisdiction: Some(Jurisdiction::Us),
    class: Class::HEAVY,
    wheels: Wheels::Front,
    grade: Some(Grade::DoNotDrive),
    bound: Bound::Missing,
    source: "49 CFR 570.60, table 3",
    edition: "read first-hand, undated page; check the current one",
    standing: Standing::Verified,
};

const fn in32(value: f64) -> Bound {
    Bound::Above(Entered::new(value, Unit::ThirtySecondInch))
}

static PLAY_TO_16: Limit = Limit {
    key: "joints-play-to-16",
    name: "free play of the steering linkage, rim to 16 in",
    bound: in32(8.0),
    ..PLAY
};
static PLAY_TO_18: Limit = Limit {
    key: "joints-play-to-18",
    name: "free play of the steering linkage, rim over 16 to 18 in",
    bound: in32(12.0),
    ..PLAY
};
static PLAY_OVER_18: Limit = Limit {
    key: "joints-play-over-18",
    name: "free play of the steering linkage, rim over 18 in",
    bound: in32(16.0),
    ..PLAY
};
/// Where no law known to the program names a number.
static PLAY_ELSEWHERE: Limit = Limit {
    key: "joints-play-attend",
    name: "free play of the steering linkage",
    jurisdiction: None,
    class: Class::ANY,
    grade: Some(Grade::Attend),
    bound: in32(8.0),
    source: "house setting for joints and bushes, no source; the maker's limit of play comes first",
    edition: "first edition",
    standing: Standing::CommonPractice,
    ..PLAY
};
static PLAY_FELT: Limit =
    Limit { key: "joints-play-watch", grade: Some(Grade::Watch), bound: in32(4.0), ..PLAY_ELSEWHERE };

pub(super) fn limits() -> impl Iterator<Item = &'static Limit> {
    [&PLAY_TO_16, &PLAY_TO_18, &PLAY_OVER_18, &PLAY_ELSEWHERE, &PLAY_FELT].into_iter()
}

// The plausible ranges are settings (common practice, no source).
pub(super) const STEERING: CheckPoint = CheckPoint {
    code: "steering-play",
    title: "Free play of the steering linkage, at the wheel's rim",
    discipline: Discipline::LampsAndPoints,
    dimension: Dimension::Depth,
    units: DEPTH_UNITS,
    places: &[Place::FrontLeft, Place::FrontRight],
    zones: WHOLE,
    least: Entered::new(0.0, Unit::Millimetre),
    most: Entered::new(100.0, Unit::Millimetre),
    answers: &[],
    assess: Some(assess),
};
pub(super) const RIM: CheckPoint = CheckPoint {
    code: "rim-inches",
    title: "Nominal diameter of the rims, in inches",
    dimension: Dimension::Count,
    units: &[Unit::Count],
    places: WHOLE_VEHICLE,
    least: Entered::new(8.0, Unit::Count),
    most: Entered::new(30.0, Unit::Count),
    assess: None,
    ..STEERING
};

const INCH_NM: i64 = 25_400_000;

/// The most free play that the linkage of a steered wheel may have, of a vehicle over 10 000 lb, by the bead diameter of
/// its rim: 1/4 in to 16 in, 3/8 in to 18 in, 1/2 in above (49 CFR 570.60, table 3, read first-hand).
pub fn linkage_play_limit(bead: Depth) -> &'static Limit {
    match bead.nm() {
        nm if nm <= 16 * INCH_NM => &PLAY_TO_16,
        nm if nm <= 18 * INCH_NM => &PLAY_TO_18,
        _ => &PLAY_OVER_18,
    }
}

/// The law's limit, where it has one for this vehicle, and whether the rim that it hangs on is known.
fn law<'a>(yardstick: &Yardstick<'a>, rim: Option<i64>, place: Place) -> Option<(Held<'a>, bool)> {
    let Vehicle { jurisdiction, gross_mass_kg, .. } = *yardstick.vehicle;
    // Millionths of an inch; what is not known is held to the strictest and may not decide.
    let bead = rim.map_or(0, |inches| inches.saturating_mul(INCH_NM / 100_000) / 10);
    let limit = linkage_play_limit(Depth::from_nm(bead));
    let applies = limit.applies_to(jurisdiction, gross_mass_kg, place);
    applies.then(|| (yardstick.held(limit), rim.is_some()))
}

/// Grades the play of one steered wheel.
fn assess<'a>(bench: &Bench<'a>, set: &MeasuredSet<'a>) -> Assessment {
    let (yardstick, measured) = (&bench.yardstick, set.lowest.exact);
    let rim = bench.noted(RIM.code, Place::Vehicle).map(|rim| rim.lowest.exact);
    let law = law(yardstick, rim, set.place);
    let house = [&PLAY_ELSEWHERE, &PLAY_FELT].map(|limit| yardstick.held(limit));
    let held = law.iter().map(|(held, _)| *held).chain(house);
    let rungs: Vec<Rung<'_>> = held.map(|held| Rung::on_scale(held, measured)).collect();
    let (grade, rung) = stand_under(&rungs);
    let (found, bound) = (set.lowest.entered, rung.held.bound);
    let reason = match grade {
        Grade::Good => format!("Play of {found} in the steering linkage is not {bound}."),
        Grade::Watch => format!("Play of {found} in the steering linkage is {bound}, where watching begins."),
        Grade::Attend => format!("Play of {found} in the steering linkage is {bound}."),
        Grade::DoNotDrive => {
            format!("Play of {found} in the steering linkage is {bound}, the most that the law allows.")
        }
    };
    let opinion = Opinion::on_rung(grade, &rung, reason);
    let rim_is_known = law.is_none_or(|(_, is_known)| is_known);
    let opinion = if rim_is_known {
        opinion
    } else {
        opinion.at_most(Grade::Attend, "the rims' diameter, which the limit hangs on, is not on record")
    };
    let grade = opinion.grade;
    let mut assessment = Assessment::starting_with(opinion);
    if !rim_is_known {
        assessment.advise("Read the diameter of the rims off the tyre's size and record it.", &[]);
    }
    match grade {
        Grade::DoNotDrive | Grade::Attend => assessment.advise(
            "Have the worn joint found and replaced, and the alignment set; the maker's limit of play comes first.",
            UNDER_IT,
        ),
        Grade::Watch => assessment.advise("Measure it again at every check, wheels straight ahead.", &[]),
        Grade::Good => {}
    }
    assessment
}
