//! The largest chain of readings that agree with each other.
//!
//! Two neighbours in a chain agree if the later shows no less than the earlier and not more than a vehicle can have
//! gone in between. Between different sources a small step backwards is a disagreement, not a contradiction. Of chains
//! as large the more trusted one counts, then the one whose readings come earlier.
//!
//! Finding the chain takes time quadratic in the number of readings in general. Most logs are nearly clean, so the log
//! is first cut at its *posts*: readings that agree with every other one, and so stand in every largest chain. Only the
//! stretches between posts are searched, and the answer is the same.

use super::bounds::Bounds;
use chrono::{DateTime, Utc};
use model::ReadingSource;

const MS_A_DAY: i128 = 86_400_000;

/// A reading that may stand in a chain. Numbers are totals over all instruments, in the meter's base unit.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Link {
    pub(crate) total: i64,
    /// What earlier instruments add to the number that was shown.
    pub(crate) added: i64,
    pub(crate) at: DateTime<Utc>,
    pub(crate) source: ReadingSource,
    bounds: &'static Bounds,
    /// It stands in every chain, whether or not it agrees.
    forced: bool,
    /// Total less what the meter can count in the time, times milliseconds a day: exact integers, so that "not too
    /// fast" is one comparison and a running minimum serves for all earlier readings at once.
    lag: i128,
}

impl Link {
    pub(crate) fn new(
        bounds: &'static Bounds,
        (total, added): (i64, i64),
        at: DateTime<Utc>,
        source: ReadingSource,
    ) -> Self {
        let lag = i128::from(total) * MS_A_DAY - i128::from(at.timestamp_millis()) * bounds.most_a_day;
        Self { total, added, at, source, bounds, forced: false, lag }
    }

    /// The same, standing in every chain.
    pub(crate) fn forced(self) -> Self {
        Self { forced: true, ..self }
    }

    /// This reading's place in the log, with another number.
    pub(crate) fn saying(&self, shown: i64) -> Self {
        let total = shown.saturating_add(self.added);
        Self { forced: self.forced, ..Self::new(self.bounds, (total, self.added), self.at, self.source) }
    }

    /// The number on the instrument fitted then.
    pub(crate) fn shown(&self) -> i64 {
        self.total.saturating_sub(self.added)
    }

    /// The most that a later reading at `at` can come to.
    pub(crate) fn plausible_most(&self, at: DateTime<Utc>) -> i64 {
        self.total.saturating_add(self.reach(self.at, at))
    }

    /// The least that an earlier reading at `at` can have come to.
    pub(crate) fn plausible_least(&self, at: DateTime<Utc>) -> i64 {
        self.total.saturating_sub(self.reach(at, self.at))
    }

    /// How far the meter can count between two instants.
    fn reach(&self, earlier: DateTime<Utc>, later: DateTime<Utc>) -> i64 {
        let time = i128::from((later - earlier).num_milliseconds().max(0));
        let Bounds { most_a_day, allowance, .. } = self.bounds;
        i64::try_from(time * most_a_day / MS_A_DAY + allowance).unwrap_or(i64::MAX)
    }

    /// Whether a reading with `lag` after one with `earlier_lag` is further than the meter can have counted.
    fn is_too_fast(&self, earlier_lag: i128, lag: i128) -> bool {
        lag - earlier_lag > self.bounds.allowance * MS_A_DAY
    }

    /// Whether the later of two totals shows less by more than their sources may disagree.
    fn is_backwards(&self, earlier: i64, later: i64, same_source: bool) -> bool {
        let step = earlier.saturating_sub(later);
        if step <= 0 {
            return false;
        }
        let Bounds { most_disagreement, disagreement_parts, .. } = self.bounds;
        same_source || step >= *most_disagreement || step >= earlier / disagreement_parts
    }
}

/// Whether `later` shows less than `earlier` by more than different sources may disagree.
pub(crate) fn runs_backwards(earlier: &Link, later: &Link) -> bool {
    earlier.is_backwards(earlier.total, later.total, earlier.source == later.source)
}

/// Whether the meter cannot have counted from `earlier` to `later` in the time between.
pub(crate) fn jumps(earlier: &Link, later: &Link) -> bool {
    earlier.is_too_fast(earlier.lag, later.lag)
}

/// Whether two readings can be neighbours in a chain.
pub(crate) fn agree(earlier: &Link, later: &Link) -> bool {
    !runs_backwards(earlier, later) && !jumps(earlier, later)
}

/// How much a chain weighs: the more links the more, and of as many the less distrust (the places of their sources in
/// the list of sources, added up).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
struct Weight {
    links: usize,
    trust: i64,
}

impl Weight {
    fn and(self, link: &Link) -> Self {
        Self { links: self.links + 1, trust: self.trust - link.source as i64 }
    }
}

/// Which of `links`, in order of reading time and id, stand in the largest chain.
///
/// Of several as large the most trusted, and of those the one whose readings come earlier, compared reading by reading.
/// Forced readings stand in it always; whatever stands between two of them agrees with both.
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
    // heaviest[i]: the heaviest chain from i that reaches `after`; without links where none does.
    let mut heaviest = vec![Weight::default(); links.len()];
    for from in (0..links.len()).rev() {
        let ends_here = after.is_none_or(|after| agree(&links[from], after));
        let onward = (from + 1..links.len())
            .filter(|to| heaviest[*to].links > 0 && agree(&links[from], &links[*to]))
            .map(|to| heaviest[to])
            .max();
        if let Some(rest) = onward.or(ends_here.then(Weight::default)) {
            heaviest[from] = rest.and(&links[from]);
        }
    }
    let first_agrees = |index: &usize| before.is_none_or(|before| agree(before, &links[*index]));
    let starts = || (0..links.len()).filter(first_agrees);
    let Some(most) = starts().map(|index| heaviest[index]).max().filter(|most| most.links > 0) else {
        return Vec::new();
    };
    let mut chain = Vec::with_capacity(most.links);
    chain.extend(starts().find(|index| heaviest[*index] == most));
    while let Some(last) = chain.last().copied().filter(|last| heaviest[*last].links > 1) {
        let next = (last + 1..links.len()).find(|to| {
            heaviest[*to].links > 0
                && heaviest[*to].and(&links[last]) == heaviest[last]
                && agree(&links[last], &links[*to])
        });
        chain.extend(next);
        if next.is_none() {
            break;
        }
    }
    chain
}

/// Which links agree with all before and all after them.
///
/// Such a link stands in every largest chain: put between two neighbours of a chain without it, it would lengthen it.
fn posts(links: &[Link]) -> Vec<bool> {
    let mut agrees = vec![true; links.len()];
    let mut highest = [None; ReadingSource::ALL.len()];
    let mut least_lag: Option<i128> = None;
    for (agrees, link) in agrees.iter_mut().zip(links) {
        *agrees &= least_lag.is_none_or(|least| !link.is_too_fast(least, link.lag));
        // Whether a step is backwards only grows with the earlier value: the highest of each source speaks for all.
        *agrees &= all_sources(&highest, |value, source| {
            !link.is_backwards(value, link.total, source == link.source)
        });
        let slot = &mut highest[link.source as usize];
        *slot = Some(slot.map_or(link.total, |value: i64| value.max(link.total)));
        least_lag = Some(least_lag.map_or(link.lag, |least| least.min(link.lag)));
    }
    let mut lowest = [None; ReadingSource::ALL.len()];
    let mut most_lag: Option<i128> = None;
    for (agrees, link) in agrees.iter_mut().zip(links).rev() {
        *agrees &= most_lag.is_none_or(|most| !link.is_too_fast(link.lag, most));
        *agrees &= all_sources(&lowest, |value, source| {
            !link.is_backwards(link.total, value, source == link.source)
        });
        let slot = &mut lowest[link.source as usize];
        *slot = Some(slot.map_or(link.total, |value: i64| value.min(link.total)));
        most_lag = Some(most_lag.map_or(link.lag, |most| most.max(link.lag)));
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
    use super::super::bounds::ODOMETER;
    use super::*;
    use chrono::TimeDelta;
    use proptest::prelude::*;
    use std::cmp::Reverse;

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
        let distrust = |set: u32| members(set).map(|index| links[index].source as usize).sum::<usize>();
        let best = (0..1_u32 << links.len())
            .filter(|set| is_chain(*set))
            .max_by_key(|set| {
                let earlier_first = Reverse(members(*set).collect::<Vec<_>>());
                (set.count_ones(), Reverse(distrust(*set)), earlier_first)
            })
            .unwrap_or(0);
        (0..links.len()).map(|index| best & (1 << index) != 0).collect()
    }

    fn link(at: DateTime<Utc>, km: i64, source: ReadingSource) -> Link {
        Link::new(&ODOMETER, (km * 1_000_000, 0), at, source)
    }

    /// Readings on few days with few values, so that they often contradict each other.
    fn logs() -> impl Strategy<Value = Vec<Link>> {
        let source =
            prop::sample::select(vec![ReadingSource::Technician, ReadingSource::Gps, ReadingSource::Driver]);
        let reading = (0_i64..40, 0_i64..60, source, prop::bool::weighted(0.15));
        prop::collection::vec(reading, 0..11).prop_map(|mut all| {
            all.sort_by_key(|(hours, ..)| *hours);
            all.into_iter()
                .map(|(hours, step, source, forced)| {
                    let at = DateTime::UNIX_EPOCH + TimeDelta::hours(hours * 3);
                    let link = link(at, 9_000 + step * 25, source);
                    if forced { link.forced() } else { link }
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
                link(at, day * 80, ReadingSource::VehicleBus)
            })
            .collect();
        assert!(largest_chain(&links).into_iter().all(|counts| counts));
    }
}
