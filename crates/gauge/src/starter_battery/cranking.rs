//! The test of what a battery still gives in the cold, against what it was rated for.

use super::{ACID, SETTING};
use crate::answer::{Answer, answered};
use crate::assessment::{Assessment, Opinion};
use crate::grading::Bench;
use crate::ladder::{Rung, stand_on};
use crate::limit::{Bound, Limit};
use crate::measured::MeasuredSet;
use crate::yardstick::Held;
use model::Grade;
use quantity::{Entered, Unit};

/// What the rating on the case means; told with every test against it.
const RATING_NOTE: &str = "The rating (SAE J537, from memory) is the current that a new battery gives at -18 °C for 30 seconds \
     without falling below 7.2 V; a conductance tester estimates it and does not measure it.";

answered! {
    /// Whether the battery was charged before the test.
    ChargeBefore, StarterBattery, "charge of the 12 V battery before its test";

    /// Fully, and rested.
    Charged = "charged", Answer::good("charged and rested", "The 12 V battery was charged before the test.");

    /// Not.
    NotCharged = "not_charged", Answer::good(
        "not charged",
        "The 12 V battery was not charged before the test, which then says little against it.",
    );
}

const SHARE: Limit = Limit {
    key: "battery-cranking-attend",
    name: "cold-cranking current of a charged battery, share of its rating",
    grade: Some(Grade::Attend),
    bound: Bound::Below(Entered::new(70.0, Unit::Percent)),
    ..SETTING
};
static WEAK: Limit = SHARE;
static WEAKENING: Limit = Limit {
    key: "battery-cranking-watch",
    grade: Some(Grade::Watch),
    bound: Bound::Below(Entered::new(75.0, Unit::Percent)),
    ..SHARE
};
static WEAK_OR_FLAT: Limit = Limit {
    key: "battery-cranking-uncharged",
    name: "cold-cranking current of a battery not known to be charged, share of its rating",
    ..WEAKENING
};
static NO_RATING: Limit =
    Limit { key: "battery-no-rating", name: "the rating of the 12 V battery", ..SETTING };
static SMALL: Limit = Limit {
    key: "battery-rating-small",
    name: "cold-cranking current a battery is rated for",
    bound: Bound::Below(Entered::new(200.0, Unit::Ampere)),
    ..SETTING
};

pub(super) fn limits() -> impl Iterator<Item = &'static Limit> {
    [&WEAK, &WEAKENING, &WEAK_OR_FLAT, &NO_RATING, &SMALL].into_iter()
}

/// The share of its rating that a battery gave, in millionths of a percent, rounded to the nearest; both in microamperes.
/// `None` without a rating above zero.
pub fn cranking_share(measured: i64, rated: i64) -> Option<i64> {
    if rated <= 0 {
        return None;
    }
    let (measured, rated) = (i128::from(measured), i128::from(rated));
    i64::try_from((200_000_000 * measured + rated).div_euclid(2 * rated)).ok()
}

/// Graded as a share of the rating. A battery not known to have been charged before can only be told to be charged.
pub(super) fn tested<'a>(bench: &Bench<'a>, set: &MeasuredSet<'a>) -> Assessment {
    let yardstick = &bench.yardstick;
    let rated = bench.known("battery-rating");
    let share = rated.and_then(|rated| cranking_share(set.lowest.exact, rated.exact));
    let (Some(rated), Some(share)) = (rated, share) else {
        let reason = format!("{} say nothing without the rating on the battery's case.", set.lowest.entered);
        let mut assessment =
            Assessment::starting_with(Opinion::on_comparison(&yardstick.held(&NO_RATING), reason));
        assessment.advise("Record the cold-cranking current that the battery is rated for.", &[]);
        return assessment;
    };
    let before = bench.word_beside(set, "battery-charged").and_then(ChargeBefore::from_word);
    let rung = |held: Held<'a>| {
        let at = i128::from(rated.exact) * i128::from(held.exact()) / 100_000_000;
        Rung { held, tested: share, at: i64::try_from(at).unwrap_or(i64::MAX), is_inverse: false }
    };
    let limits: &[&'static Limit] = match before {
        Some(ChargeBefore::Charged) => &[&WEAK, &WEAKENING],
        Some(ChargeBefore::NotCharged) | None => &[&WEAK_OR_FLAT],
    };
    let rungs: Vec<Rung<'_>> = limits.iter().map(|limit| rung(yardstick.held(limit))).collect();
    let (grade, rung) = stand_on(&rungs);
    let whole = Entered::from_exact(share / 1_000_000 * 1_000_000, Unit::Percent);
    let found = format!("{} are {whole} of the {} it is rated for", set.lowest.entered, rated.entered);
    let reason = match grade {
        Grade::Good => format!("{found}, not {}.", rung.held.bound),
        Grade::Watch if before == Some(ChargeBefore::Charged) => format!("{found}: it is weakening."),
        Grade::Watch => format!("{found}, but it is not known to have been charged before."),
        Grade::Attend | Grade::DoNotDrive => format!("{found} though it was charged: it is worn out."),
    };
    let mut assessment = Assessment::starting_with(Opinion::on_rung(grade, &rung, reason));
    advise_on_test(&mut assessment, grade, before);
    assessment
}

fn advise_on_test(assessment: &mut Assessment, grade: Grade, before: Option<ChargeBefore>) {
    match grade {
        Grade::Attend | Grade::DoNotDrive => {
            assessment.advise("Replace the battery before the next cold.", ACID);
        }
        Grade::Watch if before == Some(ChargeBefore::Charged) => {
            assessment.advise("Test it again before winter.", &[]);
        }
        Grade::Watch => assessment.advise("Charge it fully, let it rest and test it again.", ACID),
        Grade::Good => {}
    }
    assessment.advise(RATING_NOTE, &[]);
}

pub(super) fn rating<'a>(bench: &Bench<'a>, set: &MeasuredSet<'a>) -> Assessment {
    let (grade, rung) = stand_on(&[Rung::on_scale(bench.yardstick.held(&SMALL), set.lowest.exact)]);
    let found = format!("The 12 V battery is rated for {}", set.lowest.entered);
    let reason = if grade == Grade::Good {
        format!("{found}; tests are held against it.")
    } else {
        format!("{found}, which is little for one that starts an engine.")
    };
    let mut assessment = Assessment::starting_with(Opinion::on_rung(grade, &rung, reason));
    if grade != Grade::Good {
        assessment.advise("Read the rating off the case again.", &[]);
    }
    assessment
}
