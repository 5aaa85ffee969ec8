//! The counted readings in order, as totals that never fall.

use crate::judging::{Judged, Tally};
use chrono::{DateTime, Utc};
use model::{ReadingId, ReadingSource};
use quantity::Distance;

/// A counted reading of the odometer, or the moment at which one was replaced.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Counted {
    pub(crate) id: ReadingId,
    pub(crate) at: DateTime<Utc>,
    /// Total distance, after disagreements between sources are settled.
    pub(crate) odometer: Distance,
}

/// A counted reading of the hour meter, or the moment at which one was replaced.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct CountedHours {
    pub(crate) id: ReadingId,
    pub(crate) at: DateTime<Utc>,
    /// Total running time.
    pub(crate) seconds: i64,
}

/// The odometer's log in order of reading time and id.
pub(crate) fn odometer_log(judged: &Judged) -> Vec<Counted> {
    let counted = settled(&judged.counted).into_iter();
    counted
        .map(|Tally { id, at, total, .. }| Counted { id, at, odometer: Distance::from_mm(total) })
        .collect()
}

/// The hour meter's log in order of reading time and id.
pub(crate) fn hour_log(judged: &Judged) -> Vec<CountedHours> {
    let counted = settled(&judged.counted).into_iter();
    counted.map(|Tally { id, at, total, .. }| CountedHours { id, at, seconds: total }).collect()
}

/// Totals that never fall, but where a person said so.
fn settled(log: &[Tally]) -> Vec<Tally> {
    let mut settled = Vec::with_capacity(log.len());
    let (mut start, mut highest) = (0, i64::MIN);
    for (index, tally) in log.iter().enumerate() {
        // More than a tenth backwards is no disagreement: a person released it, as when an instrument was replaced of
        // which nothing else is on record.
        if index > start && tally.total < highest / 10 * 9 {
            settle(&log[start..index], &mut settled);
            (start, highest) = (index, tally.total);
        }
        highest = highest.max(tally.total);
    }
    settle(&log[start..], &mut settled);
    settled
}

/// Levels of distrust: what a person settled, then each source.
const LEVELS: usize = ReadingSource::ALL.len() + 1;

/// Settles disagreements: of a higher number and a lower one that was read later, the less trusted gives way and takes
/// a number that the others leave open. Of equally trusted ones the higher stands.
fn settle(log: &[Tally], settled: &mut Vec<Tally>) {
    let gives_way = giving_way(log);
    let mut least_after = i64::MAX;
    let mut totals: Vec<i64> = log.iter().map(|tally| tally.total).collect();
    for (total, gives_way) in totals.iter_mut().zip(&gives_way).rev() {
        if *gives_way {
            *total = (*total).min(least_after);
        } else {
            least_after = least_after.min(*total);
        }
    }
    let mut highest = i64::MIN;
    settled.extend(log.iter().zip(totals).map(|(tally, total)| {
        highest = highest.max(total);
        Tally { total: highest, ..*tally }
    }));
}

/// Which of the readings a more trusted one contradicts: an earlier one that shows more, or a later one that shows
/// less.
fn giving_way(log: &[Tally]) -> Vec<bool> {
    let mut gives_way = vec![false; log.len()];
    let mut highest = [i64::MIN; LEVELS];
    for (gives_way, tally) in gives_way.iter_mut().zip(log) {
        let level = tally.distrust.min(LEVELS - 1);
        *gives_way |= highest[..level].iter().any(|total| *total > tally.total);
        highest[level] = highest[level].max(tally.total);
    }
    let mut lowest = [i64::MAX; LEVELS];
    for (gives_way, tally) in gives_way.iter_mut().zip(log).rev() {
        let level = tally.distrust.min(LEVELS - 1);
        *gives_way |= lowest[..level].iter().any(|total| *total < tally.total);
        lowest[level] = lowest[level].min(tally.total);
    }
    gives_way
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use rstest::rstest;

    fn log(readings: &[(i64, usize)]) -> Vec<Tally> {
        readings
            .iter()
            .zip(0_i64..)
            .map(|((total, distrust), day)| Tally {
                id: format!("00000000-0000-7000-8000-{day:012}").parse().unwrap(),
                at: DateTime::UNIX_EPOCH + chrono::TimeDelta::days(day),
                total: *total,
                distrust: *distrust,
            })
            .collect()
    }

    fn totals(readings: &[(i64, usize)]) -> Vec<i64> {
        settled(&log(readings)).iter().map(|tally| tally.total).collect()
    }

    const TECHNICIAN: usize = 2;
    const DRIVER: usize = 5;
    const SATELLITE: usize = 7;

    #[rstest]
    #[case::the_later_one_is_raised(&[(1000, TECHNICIAN), (995, SATELLITE), (1100, TECHNICIAN)], &[1000, 1000, 1100])]
    #[case::the_earlier_one_is_lowered(&[(1005, SATELLITE), (1000, TECHNICIAN), (1001, DRIVER)], &[1000, 1000, 1001])]
    #[case::not_below_what_came_before(&[(998, TECHNICIAN), (1005, SATELLITE), (1000, DRIVER)], &[998, 1000, 1000])]
    #[case::of_equals_the_higher_stands(&[(1005, DRIVER), (1000, DRIVER)], &[1005, 1005])]
    #[case::a_person_s_word_starts_afresh(&[(1000, TECHNICIAN), (12, 0), (20, DRIVER)], &[1000, 12, 20])]
    fn the_less_trusted_gives_way(#[case] readings: &[(i64, usize)], #[case] expected: &[i64]) {
        assert_eq!(totals(readings), expected);
    }

    proptest! {
        #[test]
        fn totals_never_fall_and_the_most_trusted_stay(
            readings in prop::collection::vec((9_500_i64..10_000, 1_usize..8), 0..12),
        ) {
            let totals = totals(&readings);
            prop_assert!(totals.is_sorted());
            let most = readings.iter().map(|(_, distrust)| *distrust).min();
            let mut highest = 0;
            for ((total, distrust), settled) in readings.iter().zip(&totals) {
                if Some(*distrust) == most {
                    highest = highest.max(*total);
                    prop_assert!(*settled == highest, "{readings:?} {totals:?}");
                }
            }
        }
    }
}
