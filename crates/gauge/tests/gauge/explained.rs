//! Every grade of every point explains itself, whatever was measured or answered.

use crate::world::{car, check, grade_all};
use gauge::{CheckPoint, answers, limits, points};
use model::{Grade, Jurisdiction};
use proptest::prelude::*;
use quantity::{Dimension, Entered};

/// A plausible value of a point: so much of the way from its least to its most, or one of its answers.
fn plausible(point: &CheckPoint, share: u32, unit: usize) -> Entered {
    if !point.answers.is_empty() {
        let answer = &point.answers[usize::try_from(share).expect("small") % point.answers.len()];
        return point.answered(answer.word).expect("an answer");
    }
    let [least, most] = [point.least, point.most].map(|end| end.exact().expect("a quantity"));
    let way = i128::from(most - least) * i128::from(share) / i128::from(MOST_SHARE);
    let exact = least + i64::try_from(way).expect("within the range");
    Entered::from_exact(exact, point.units[unit % point.units.len()])
}

/// The whole way from a point's least to its most.
const MOST_SHARE: u32 = 100_000;

fn is_known(source: &str, standing: &str) -> bool {
    limits().any(|limit| source.starts_with(limit.source) && standing == limit.standing.word())
        || answers().any(|answer| source == answer.source && standing == answer.standing.word())
}

proptest! {
    #[test]
    fn a_grade_says_why_on_whose_word_what_to_do_and_what_would_change_it(
        taken in prop::collection::vec((any::<usize>(), 0..=MOST_SHARE, 0..3_usize, 0..6_usize), 1..30),
    ) {
        let all: Vec<&CheckPoint> = points().collect();
        let inspection = taken.iter().fold(check(1, "2027-03-01"), |check, (which, share, unit, place)| {
            let point = all[which % all.len()];
            let (place, zone) = (point.places[place % point.places.len()], point.zones[unit % point.zones.len()]);
            check.measured(point.code, place, zone, plausible(point, *share, *unit))
        });
        for graded in grade_all(&car(Jurisdiction::Uk), &[inspection.done()]) {
            prop_assert!(graded.reason.ends_with('.') && graded.changes_when.ends_with('.'), "{:?}", graded);
            prop_assert!(graded.advice.iter().all(|sentence| sentence.ends_with('.')), "{:?}", graded);
            prop_assert!(graded.grade == Grade::Good || !graded.advice.is_empty(), "{:?}", graded);
            prop_assert!(graded.grade != Grade::DoNotDrive || graded.caution.is_some(), "{:?}", graded);
            prop_assert!(is_known(&graded.source, &graded.standing), "{:?}", graded);
            let is_answered = graded.measured.unit.dimension() == Dimension::Answer;
            prop_assert_eq!(graded.seen.is_some(), is_answered);
        }
    }
}
