//! Which readings of the meter log count, and which wait for a person.
//!
//! The whole log is judged anew after every new fact: the largest chain of readings that agree with each other counts,
//! so that the order in which they arrived carries no meaning.

mod chain;
mod doubt;
mod suggestion;

use chain::{Link, largest_chain};
use doubt::Neighbours;
use model::{
    Decision, DecisionId, Doubt, Judgement, OdometerReading, ReadingDecision, ReadingId, ReadingSource,
    Vehicle, Verdict, day_start,
};
use quantity::Distance;
use std::collections::BTreeMap;
use suggestion::Pace;

/// How each reading is judged, in order of reading time and id.
///
/// A person's decision wins: the latest one about a reading releases it, corrects it (both count, whatever else the log
/// says) or withdraws it. Of the others, readings of doubtful time and those below the odometer at the start of service
/// are held; of the rest the largest consistent chain counts.
pub fn judge(
    readings: &[OdometerReading],
    decisions: &[ReadingDecision],
    vehicle: &Vehicle,
) -> Vec<Judgement> {
    let decided = decisions_in_force(decisions);
    let mut log: Vec<&OdometerReading> = readings.iter().collect();
    log.sort_by_key(|reading| (reading.read_at, reading.id));
    let standings: Vec<Standing> =
        log.iter().map(|reading| standing(reading, decided.get(&reading.id).copied(), vehicle)).collect();
    let (ranks, links) = links_of(&log, &standings, vehicle);
    let in_chain = largest_chain(&links);
    let (chain_ranks, chain): (Vec<usize>, Vec<Link>) =
        ranks.iter().zip(links).zip(in_chain).filter_map(|(link, is_in)| is_in.then_some(link)).unzip();
    let pace = Pace::of(&chain);
    log.iter()
        .zip(&standings)
        .enumerate()
        .map(|(place, (reading, standing))| {
            let own = chain_ranks.binary_search(&rank(place));
            let counts = own.is_ok();
            let (before, after) = chain.split_at(own.map_or_else(|behind| behind, |at| at + 1));
            let neighbours = Neighbours {
                before: before.last(),
                after: after.first(),
                at_start: vehicle.in_service_odometer,
            };
            Judgement { reading: reading.id, verdict: verdict(reading, standing, counts, &neighbours, pace) }
        })
        .collect()
}

/// The rank of the reading at that place of the log among the links; even ranks are free for the start of service.
const fn rank(place: usize) -> usize {
    2 * place + 1
}

/// Everything that may be a member of a chain, in order: the readings not held already, and the odometer at the start
/// of service, which one wild reading cannot outvote but two that agree can.
fn links_of(log: &[&OdometerReading], standings: &[Standing], vehicle: &Vehicle) -> (Vec<usize>, Vec<Link>) {
    let open = log.iter().zip(standings).enumerate();
    let mut links: Vec<(usize, Link)> = open
        .filter_map(|(place, (reading, standing))| Some((rank(place), standing.link(reading)?)))
        .collect();
    if let Some(day) = vehicle.in_service_on {
        let at = day_start(day, vehicle.zone);
        let before = log.iter().take_while(|reading| reading.read_at < at).count();
        let start = Link::new(vehicle.in_service_odometer, at, ReadingSource::Service, false);
        let index = links.partition_point(|(other, _)| *other < 2 * before);
        links.insert(index, (2 * before, start));
    }
    links.into_iter().unzip()
}

/// Where a reading stands before it is compared with others.
enum Standing {
    /// It counts if it fits.
    Open,
    /// It counts with this value: a person said so.
    Settled(Distance),
    /// It is held whatever the others say.
    Doubtful(Doubt),
    /// A person took it out.
    Withdrawn,
}

impl Standing {
    /// The reading as a member of a chain, if it can be one.
    fn link(&self, reading: &OdometerReading) -> Option<Link> {
        match self {
            Self::Open => Some(Link::new(reading.odometer, reading.read_at, reading.source, false)),
            Self::Settled(odometer) => Some(Link::new(*odometer, reading.read_at, reading.source, true)),
            Self::Doubtful(_) | Self::Withdrawn => None,
        }
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

fn standing(reading: &OdometerReading, decided: Option<&ReadingDecision>, vehicle: &Vehicle) -> Standing {
    match decided.map(|decision| decision.decision) {
        Some(Decision::Withdraw) => return Standing::Withdrawn,
        Some(Decision::Release) => return Standing::Settled(reading.odometer),
        // A correction that is no distance is refused at the door; should one be here, the reading is judged as it is.
        Some(Decision::Correct { value }) => {
            if let Ok(odometer) = Distance::parse(value) {
                return Standing::Settled(odometer);
            }
        }
        None => {}
    }
    if reading.clock_in_doubt {
        return Standing::Doubtful(Doubt::ClockInDoubt);
    }
    if reading.odometer < vehicle.in_service_odometer {
        return Standing::Doubtful(Doubt::BeforeService { at_start: vehicle.in_service_odometer });
    }
    Standing::Open
}

fn verdict(
    reading: &OdometerReading,
    standing: &Standing,
    counts: bool,
    neighbours: &Neighbours<'_>,
    pace: Pace,
) -> Verdict {
    match standing {
        Standing::Withdrawn => Verdict::Withdrawn,
        Standing::Settled(odometer) => Verdict::Counted { odometer: *odometer },
        Standing::Doubtful(doubt) => {
            let suggested = match doubt {
                Doubt::ClockInDoubt => None,
                _ => suggestion::suggest(reading, neighbours, pace),
            };
            Verdict::Held { doubt: *doubt, suggested }
        }
        Standing::Open if counts => Verdict::Counted { odometer: reading.odometer },
        Standing::Open => Verdict::Held {
            doubt: doubt::doubt(reading, neighbours),
            suggested: suggestion::suggest(reading, neighbours, pace),
        },
    }
}
