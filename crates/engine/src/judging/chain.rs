//! The largest chain of readings that agree with each other.
//!
//! Two neighbours in a chain agree if the later shows no less than the earlier and not more than a vehicle can have
//! gone in between. Between different sources a small step backwards is a disagreement, not a contradiction.
//!
//! Finding the chain takes time quadratic in the number of readings in general. Most logs are nearly clean, so the log
//! is first cut at its *posts*: readings that agree with every other one, and so stand in every largest chain. Only the
//! stretches between posts are searched, and the answer is the same.

use chrono::{DateTime, Utc};
use model::ReadingSource;
use quantity::Distance;

/// No vehicle goes further in a day, kilometres: two drivers in turn at motorway speed (house setting, no source).
pub(crate) const MOST_KM_PER_DAY: i128 = 1600;
/// What is allowed on top, for clocks and days that were told too coarsely (house setting, no source).
const ALLOWANCE_MM: i128 = 300_000_000;
/// Readings of different sources may disagree by up to 50 miles ...
const MOST_DISAGREEMENT_MM: i64 = 80_467_200;
/// ... and up to one part in a hundred (both: house setting, no source).
const DISAGREEMENT_PARTS: i64 = 100;

const MM_A_DAY: i128 = MOST_KM_PER_DAY * 1_000_000;
const MS_A_DAY: i128 = 86_400_000;

/// A reading that may stand in a chain.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Link {
    pub(crate) odometer: Distance,
    pub(crate) at: DateTime<Utc>,
    pub(crate) source: ReadingSource,
    /// It stands in every chain, whether or not it agrees.
    forced: bool,
    /// Odometer less what a vehicle can go in the time, in millimetres times milliseconds a day: exact integers, so
    /// that "not too fast" is one comparison and a running minimum serves for all earlier readings at once.
    lag: i128,
}

impl Link {
    pub(crate) fn new(odometer: Distance, at: DateTime<Utc>, source: ReadingSource, forced: bool) -> Self {
        let lag = i128::from(odometer.mm()) * MS_A_DAY - i128::from(at.timestamp_millis()) * MM_A_DAY;
        Self { odometer, at, source, forced, lag }
    }

    /// This reading's place in the log, with another value.
    pub(crate) fn saying(&self, odometer: Distance) -> Self {
        Self::new(odometer, self.at, self.source, self.forced)
    }

    /// The most that a later reading at `at` can show.
    pub(crate) fn plausible_most(&self, at: DateTime<Utc>) -> Distance {
        self.odometer + Distance::from_mm(reach_mm(self.at, at))
    }

    /// The least that an earlier reading at `at` can have shown.
    pub(crate) fn plausible_least(&self, at: DateTime<Utc>) -> Distance {
        (self.odometer - Distance::from_mm(reach_mm(at, self.at))).max(Distance::ZERO)
    }
}

/// How far a vehicle can go between two instants, millimetres.
fn reach_mm(earlier: DateTime<Utc>, later: DateTime<Utc>) -> i64 {
    let time = i128::from((later - earlier).num_milliseconds().max(0));
    i64::try_from(time * MM_A_DAY / MS_A_DAY + ALLOWANCE_MM).unwrap_or(i64::MAX)
}

/// Whether `later` shows less than `earlier` by more than different sources may disagree.
pub(crate) fn runs_backwards(earlier: &Link, later: &Link) -> bool {
    backwards(earlier.odometer.mm(), later.odometer.mm(), earlier.source == later.source)
}

fn backwards(earlier_mm: i64, later_mm: i64, same_source: bool) -> bool {
    let step = earlier_mm.saturating_sub(later_mm);
    if step <= 0 {
        return false;
    }
    same_source || step >= MOST_DISAGREEMENT_MM || step >= earlier_mm / DISAGREEMENT_PARTS
}

/// Whether the vehicle cannot have gone from `earlier` to `later` in the time between.
pub(crate) fn jumps(earlier: &Link, later: &Link) -> bool {
    later.lag - earlier.lag > ALLOWANCE_MM * MS_A_DAY
}

/// Whether two readings can be neighbours in a chain.
pub(crate) fn agree(earlier: &Link, later: &Link) -> bool {
    !runs_backwards(earlier, later) && !jumps(earlier, later)
}

/// Which of `links`, in order of reading time and id, stand in the largest chain.
///
/// Of several as large, the one whose readings come earlier, compared reading by reading. Forced readings stand in it
/// always; whatever stands between two of them agrees with both.
pub(crate) fn largest_chain(links: &[Link]) -> Vec<bool> {
    let mut counts = posts(links);
    for (count, link) in counts.iter_mut().zip(links) {
        *count |= link.forced;
    }
    let mut start = 0;
    while start < links.len() {
        if counts[start] {
            start += 1;
            continue;
        }
        let end = (start..links.len()).find(|index| counts[*index]).unwrap_or(links.len());
        let before = start.checked_sub(1).map(|index| &links[index]);
        for index in best_between(before, &links[start..end], links.get(end)) {
            counts[start + index] = true;
        }
        start = end;
    }
    counts
}

/// The largest chain within `links` that agrees with what stands before and after it: their indices.
fn best_between(before: Option<&Link>, links: &[Link], after: Option<&Link>) -> Vec<usize> {
    // longest[i]: links in the longest chain from i that reaches `after`; zero where none does.
    let mut longest = vec![0_usize; links.len()];
    for from in (0..links.len()).rev() {
        let ends_here = after.is_none_or(|after| agree(&links[from], after));
        let onward = (from + 1..links.len())
            .filter(|to| longest[*to] > 0 && agree(&links[from], &links[*to]))
            .map(|to| longest[to])
            .max()
            .unwrap_or(0);
        longest[from] = if onward > 0 { onward + 1 } else { usize::from(ends_here) };
    }
    let first_agrees = |index: &usize| before.is_none_or(|before| agree(before, &links[*index]));
    let starts = || (0..links.len()).filter(first_agrees);
    let Some(most) = starts().map(|index| longest[index]).max().filter(|most| *most > 0) else {
        return Vec::new();
    };
    let mut chain = Vec::with_capacity(most);
    chain.extend(starts().find(|index| longest[*index] == most));
    while let Some(last) = chain.last().copied().filter(|last| longest[*last] > 1) {
        let next = (last + 1..links.len())
            .find(|to| longest[*to] + 1 == longest[last] && agree(&links[last], &links[*to]));
        chain.extend(next);
    }
    chain
}

/// Which links agree with all before and all after them.
///
/// Such a link stands in every largest chain: put between two neighbours of a chain without it, it would lengthen it.
fn posts(links: &[Link]) -> Vec<bool> {
    let mut agrees = vec![true; links.len()];
    let mut highest = [None; ReadingSource::ALL.len()];
    let mut least_lag = i128::MAX;
    for (agrees, link) in agrees.iter_mut().zip(links) {
        *agrees &= least_lag == i128::MAX || link.lag - least_lag <= ALLOWANCE_MM * MS_A_DAY;
        // Whether a step is backwards only grows with the earlier value: the highest of each source speaks for all.
        *agrees &= all_sources(&highest, |value, source| {
            !backwards(value, link.odometer.mm(), source == link.source)
        });
        let slot = &mut highest[link.source as usize];
        *slot = Some(slot.map_or(link.odometer.mm(), |value: i64| value.max(link.odometer.mm())));
        least_lag = least_lag.min(link.lag);
    }
    let mut lowest = [None; ReadingSource::ALL.len()];
    let mut most_lag = i128::MIN;
    for (agrees, link) in agrees.iter_mut().zip(links).rev() {
        *agrees &= most_lag == i128::MIN || most_lag - link.lag <= ALLOWANCE_MM * MS_A_DAY;
        *agrees &= all_sources(&lowest, |value, source| {
            !backwards(link.odometer.mm(), value, source == link.source)
        });
        let slot = &mut lowest[link.source as usize];
        *slot = Some(slot.map_or(link.odometer.mm(), |value: i64| value.min(link.odometer.mm())));
        most_lag = most_lag.max(link.lag);
    }
    agrees
}

fn all_sources(values: &[Option<i64>], holds: impl Fn(i64, ReadingSource) -> bool) -> bool {
    values
        .iter()
        .zip(ReadingSource::ALL)
        .all(|(value, source)| value.is_none_or(|value| holds(value, *source)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::TimeDelta;
    use proptest::prelude::*;

    /// The same answer by trying every subset: at most twelve readings.
    fn by_trying_all(links: &[Link]) -> Vec<bool> {
        let members = |set: u32| (0..links.len()).filter(move |index| set & (1 << index) != 0);
        let is_chain = |set: u32| {
            let all: Vec<usize> = members(set).collect();
            let holds_forced = (0..links.len()).all(|index| !links[index].forced || set & (1 << index) != 0);
            holds_forced
                && all.windows(2).all(|pair| {
                    let (earlier, later) = (&links[pair[0]], &links[pair[1]]);
                    (earlier.forced && later.forced) || agree(earlier, later)
                })
        };
        let best = (0..1_u32 << links.len())
            .filter(|set| is_chain(*set))
            .max_by(|one, other| {
                let earlier_first = || members(*other).collect::<Vec<_>>().cmp(&members(*one).collect());
                one.count_ones().cmp(&other.count_ones()).then_with(earlier_first)
            })
            .unwrap_or(0);
        (0..links.len()).map(|index| best & (1 << index) != 0).collect()
    }

    /// Readings on few days with few values, so that they often contradict each other.
    fn logs() -> impl Strategy<Value = Vec<Link>> {
        let source =
            prop::sample::select(vec![ReadingSource::Technician, ReadingSource::Gps, ReadingSource::Driver]);
        let link = (0_i64..40, 0_i64..60, source, prop::bool::weighted(0.15));
        prop::collection::vec(link, 0..11).prop_map(|mut all| {
            all.sort_by_key(|(hours, ..)| *hours);
            all.into_iter()
                .map(|(hours, step, source, forced)| {
                    let at = DateTime::UNIX_EPOCH + TimeDelta::hours(hours * 3);
                    Link::new(Distance::from_km(9_000 + step * 25), at, source, forced)
                })
                .collect()
        })
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(2000))]

        #[test]
        fn the_largest_chain_is_the_one_found_by_trying_every_subset(links in logs()) {
            prop_assert_eq!(largest_chain(&links), by_trying_all(&links));
        }
    }

    #[test]
    fn a_clean_log_of_ten_years_of_days_counts_whole() {
        let links: Vec<Link> = (0..3650)
            .map(|day| {
                let at = DateTime::UNIX_EPOCH + TimeDelta::days(day);
                Link::new(Distance::from_km(day * 80), at, ReadingSource::VehicleBus, false)
            })
            .collect();
        assert!(largest_chain(&links).into_iter().all(|counts| counts));
    }
}
