//! The log of one meter, judged.

use super::bounds::Bounds;
use super::chain::{Link, largest_chain};
use super::doubt::{Neighbours, Reason, reason};
use super::suggestion::{Pace, suggest};
use crate::meters::Replaced;
use chrono::{DateTime, Utc};
use model::{Decision, DecisionId, ReadingDecision, ReadingId, ReadingSource};
use quantity::{Dimension, Entered};
use std::collections::BTreeMap;

/// One entry of a meter's log, in its base unit.
pub(crate) struct Entry {
    pub(crate) id: ReadingId,
    pub(crate) entered: Entered,
    /// What the instrument of that day showed.
    pub(crate) shown: i64,
    /// What earlier instruments add to it.
    pub(crate) added: i64,
    pub(crate) read_at: DateTime<Utc>,
    pub(crate) source: ReadingSource,
    pub(crate) clock_in_doubt: bool,
}

/// Entries in order of reading time and id.
pub(crate) fn in_order(entries: impl Iterator<Item = Entry>) -> Vec<Entry> {
    let mut entries: Vec<Entry> = entries.collect();
    entries.sort_by_key(|entry| (entry.read_at, entry.id));
    entries
}

/// The log of one meter and what is known of it beside.
pub(crate) struct Log<'a> {
    pub(crate) bounds: &'static Bounds,
    pub(crate) dimension: Dimension,
    pub(crate) entries: Vec<Entry>,
    pub(crate) replaced: &'a [Replaced],
    /// The start of service, which one wild reading cannot outvote but two that agree can.
    pub(crate) start: Option<Link>,
    /// The least that can be right.
    pub(crate) at_start: Option<i64>,
}

/// How one entry was judged.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Outcome {
    /// It counts, with this number of its own instrument.
    Counted { shown: i64 },
    /// It waits for a person.
    Held { reason: Reason, suggested: Option<Entered> },
    /// A person took it out.
    Withdrawn,
}

/// A log as judged.
pub(crate) struct Judged {
    /// Of every entry, in order.
    pub(crate) outcomes: Vec<(ReadingId, Outcome)>,
    /// What counts, in order, the numbers at replacements included.
    pub(crate) counted: Vec<Tally>,
}

/// A number that counts: the total over all instruments.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Tally {
    pub(crate) id: ReadingId,
    pub(crate) at: DateTime<Utc>,
    pub(crate) total: i64,
    /// Nought for what a person settled, then the place of the source in the list of sources, from one.
    pub(crate) distrust: usize,
}

/// Where an entry stands before it is compared with others.
enum Standing {
    /// It counts if it fits.
    Open,
    /// It counts with this number: a person said so.
    Settled(i64),
    /// It is held whatever the others say.
    Doubtful(Reason),
    /// A person took it out.
    Withdrawn,
}

/// What stands in the log beside its entries, or one of these.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Origin {
    Start,
    /// The old and the new number of the replacement with this index.
    Replacement(usize),
    Entry(usize),
}

impl Log<'_> {
    pub(crate) fn judged(&self, decisions: &[ReadingDecision]) -> Judged {
        let decided = decisions_in_force(decisions);
        let standings: Vec<Standing> =
            self.entries.iter().map(|entry| self.standing(entry, decided.get(&entry.id).copied())).collect();
        let members = self.members(&standings);
        let links: Vec<Link> = members.iter().map(|(_, _, link)| *link).collect();
        let in_chain = largest_chain(&links);
        let chain: Vec<(usize, Origin, Link)> = members
            .into_iter()
            .zip(in_chain)
            .filter_map(|(member, counts)| counts.then_some(member))
            .collect();
        let outcomes = self.outcomes(&standings, &chain);
        Judged { outcomes, counted: self.counted(&standings, &chain) }
    }

    fn link(&self, entry: &Entry, shown: i64) -> Link {
        let total = shown.saturating_add(entry.added);
        Link::new(self.bounds, (total, entry.added), entry.read_at, entry.source)
    }

    fn standing(&self, entry: &Entry, decided: Option<&ReadingDecision>) -> Standing {
        match decided.map(|decision| decision.decision) {
            Some(Decision::Withdraw) => return Standing::Withdrawn,
            Some(Decision::Release) => return Standing::Settled(entry.shown),
            // A correction that measures something else is refused at the door; should one be here, the entry is
            // judged as it is.
            Some(Decision::Correct { value }) => {
                if let Ok(shown) = value.exact_as(self.dimension) {
                    return Standing::Settled(shown);
                }
            }
            None => {}
        }
        if entry.clock_in_doubt {
            return Standing::Doubtful(Reason::ClockInDoubt);
        }
        match self.at_start {
            Some(at_start) if entry.shown.saturating_add(entry.added) < at_start => {
                Standing::Doubtful(Reason::BeforeService { at_start })
            }
            _ => Standing::Open,
        }
    }

    /// Everything that may be a member of a chain, in order, each with the number of entries before it: the entries not
    /// held already, the odometer at the start of service, and the two numbers of each replacement, which are as good
    /// as a photograph of either instrument.
    fn members(&self, standings: &[Standing]) -> Vec<(usize, Origin, Link)> {
        let before = |at: DateTime<Utc>| self.entries.partition_point(|entry| entry.read_at < at);
        let mut beside: Vec<(usize, Origin, Link)> = Vec::with_capacity(1 + 2 * self.replaced.len());
        beside.extend(self.start.map(|link| (before(link.at), Origin::Start, link)));
        for (index, replaced) in self.replaced.iter().enumerate() {
            let link = |added| {
                Link::new(self.bounds, (replaced.total(), added), replaced.at, ReadingSource::DashPhoto)
            };
            let place = before(replaced.at);
            let origin = Origin::Replacement(index);
            beside.push((place, origin, link(replaced.added_before)));
            beside.push((place, origin, link(replaced.added_after)));
        }
        // A stable sort: of several before one entry the start of service comes first.
        beside.sort_by_key(|(place, _, link)| (*place, link.at));
        let mut members = Vec::with_capacity(self.entries.len() + beside.len());
        let mut beside = beside.into_iter().peekable();
        for (place, (entry, standing)) in self.entries.iter().zip(standings).enumerate() {
            while let Some(member) = beside.next_if(|(before, _, _)| *before <= place) {
                members.push(member);
            }
            let link = match standing {
                Standing::Open => Some(self.link(entry, entry.shown)),
                Standing::Settled(shown) => Some(self.link(entry, *shown).forced()),
                Standing::Doubtful(_) | Standing::Withdrawn => None,
            };
            members.extend(link.map(|link| (place, Origin::Entry(place), link)));
        }
        members.extend(beside);
        members
    }

    fn outcomes(&self, standings: &[Standing], chain: &[(usize, Origin, Link)]) -> Vec<(ReadingId, Outcome)> {
        let links: Vec<Link> = chain.iter().map(|(_, _, link)| *link).collect();
        let pace = Pace::of(&links, self.bounds);
        let mut outcomes = Vec::with_capacity(self.entries.len());
        let mut next = 0;
        for (place, (entry, standing)) in self.entries.iter().zip(standings).enumerate() {
            // Past what stands before this entry: earlier entries, and what lies beside them.
            let is_before = |(before, origin, _): &(usize, Origin, Link)| match origin {
                Origin::Entry(other) => *other < place,
                Origin::Start | Origin::Replacement(_) => *before <= place,
            };
            while chain.get(next).is_some_and(is_before) {
                next += 1;
            }
            let counts = chain.get(next).is_some_and(|(_, origin, _)| *origin == Origin::Entry(place));
            let neighbours = Neighbours {
                before: next.checked_sub(1).map(|before| &links[before]),
                after: links.get(next + usize::from(counts)),
                at_start: self.at_start,
            };
            outcomes.push((entry.id, self.outcome(entry, standing, counts, &neighbours, pace)));
        }
        outcomes
    }

    fn outcome(
        &self,
        entry: &Entry,
        standing: &Standing,
        counts: bool,
        neighbours: &Neighbours<'_>,
        pace: Pace,
    ) -> Outcome {
        let held = self.link(entry, entry.shown);
        let suggested = || suggest(entry.entered, &held, neighbours, pace);
        match standing {
            Standing::Withdrawn => Outcome::Withdrawn,
            Standing::Settled(shown) => Outcome::Counted { shown: *shown },
            Standing::Doubtful(Reason::ClockInDoubt) => {
                Outcome::Held { reason: Reason::ClockInDoubt, suggested: None }
            }
            Standing::Doubtful(reason) => Outcome::Held { reason: *reason, suggested: suggested() },
            Standing::Open if counts => Outcome::Counted { shown: entry.shown },
            Standing::Open => Outcome::Held { reason: reason(&held, neighbours), suggested: suggested() },
        }
    }

    /// What counts, with the trust it deserves; a replacement once, though it stands for two numbers.
    fn counted(&self, standings: &[Standing], chain: &[(usize, Origin, Link)]) -> Vec<Tally> {
        let mut counted: Vec<Tally> = Vec::with_capacity(chain.len());
        for (_, origin, link) in chain {
            let (id, is_settled) = match origin {
                Origin::Start => continue,
                Origin::Replacement(index) => (ReadingId(self.replaced[*index].id.0), true),
                Origin::Entry(place) => {
                    (self.entries[*place].id, matches!(standings[*place], Standing::Settled(_)))
                }
            };
            if counted.last().is_some_and(|last| last.id == id) {
                continue;
            }
            let distrust = if is_settled { 0 } else { link.source as usize + 1 };
            counted.push(Tally { id, at: link.at, total: link.total, distrust });
        }
        counted
    }
}

/// The latest decision about each reading; of two recorded at once the one with the higher id.
fn decisions_in_force(decisions: &[ReadingDecision]) -> BTreeMap<ReadingId, &ReadingDecision> {
    let order = |decision: &ReadingDecision| -> (_, DecisionId) { (decision.recorded_at, decision.id) };
    let mut latest: BTreeMap<ReadingId, &ReadingDecision> = BTreeMap::new();
    for decision in decisions {
        let kept = latest.entry(decision.reading).or_insert(decision);
        if order(decision) > order(kept) {
            *kept = decision;
        }
    }
    latest
}
