//! Which readings of a meter log count, and which wait for a person.
//!
//! The whole log is judged anew after every new fact: the largest chain of readings that agree with each other counts,
//! so that the order in which they arrived carries no meaning. Odometer and hour meter are judged alike.

mod bounds;
mod chain;
mod doubt;
mod log;
mod suggestion;

pub(crate) use log::{Judged, Outcome, Tally};

use crate::meters::Meters;
use bounds::{HOUR_METER, ODOMETER};
use chain::Link;
use doubt::Reason;
use log::{Entry, Log};
use model::{
    Doubt, Facts, HourDoubt, HourJudgement, HourVerdict, Judgement, MeterQuantity, ReadingSource, Verdict,
    day_start,
};
use quantity::{Dimension, Distance};

/// How each reading of the odometer is judged, in order of reading time and id.
///
/// A person's decision wins: the latest one about a reading releases it, corrects it (both count, whatever else the log
/// says) or withdraws it. Of the others, readings of doubtful time and those below the odometer at the start of service
/// are held; of the rest the largest consistent chain counts. What a replaced odometer counted is reckoned with.
pub fn judge(facts: &Facts) -> Vec<Judgement> {
    let meters = Meters::of(&facts.meter_replacements, MeterQuantity::Distance);
    judgements(&odometer(facts, &meters))
}

/// The odometer's log, judged.
pub(crate) fn odometer(facts: &Facts, meters: &Meters) -> Judged {
    let vehicle = &facts.vehicle;
    let entries = facts.readings.iter().map(|reading| Entry {
        id: reading.id,
        entered: reading.entered,
        shown: reading.odometer.mm(),
        added: meters.added_at(reading.read_at),
        read_at: reading.read_at,
        source: reading.source,
        clock_in_doubt: reading.clock_in_doubt,
    });
    let start = vehicle.in_service_on.map(|day| {
        let at = day_start(day, vehicle.zone);
        // As good as a photograph: one wild first reading shall not outweigh it.
        Link::new(&ODOMETER, (vehicle.in_service_odometer.mm(), 0), at, ReadingSource::DashPhoto)
    });
    Log {
        bounds: &ODOMETER,
        dimension: Dimension::Distance,
        entries: log::in_order(entries),
        replaced: meters.replaced(),
        start,
        at_start: Some(vehicle.in_service_odometer.mm()),
    }
    .judged(&facts.decisions)
}

/// The hour meter's log, judged. What it showed when the vehicle came into service is on no record.
pub(crate) fn hour_meter(facts: &Facts, meters: &Meters) -> Judged {
    let entries = facts.hour_readings.iter().map(|reading| Entry {
        id: reading.id,
        entered: reading.entered,
        shown: reading.seconds,
        added: meters.added_at(reading.read_at),
        read_at: reading.read_at,
        source: reading.source,
        clock_in_doubt: reading.clock_in_doubt,
    });
    Log {
        bounds: &HOUR_METER,
        dimension: Dimension::RunningTime,
        entries: log::in_order(entries),
        replaced: meters.replaced(),
        start: None,
        at_start: None,
    }
    .judged(&facts.decisions)
}

/// As told to others.
pub(crate) fn judgements(judged: &Judged) -> Vec<Judgement> {
    let verdict = |outcome: &Outcome| match outcome {
        Outcome::Counted { shown } => Verdict::Counted { odometer: Distance::from_mm(*shown) },
        Outcome::Held { reason, suggested } => {
            Verdict::Held { doubt: doubt_of(reason), suggested: *suggested }
        }
        Outcome::Withdrawn => Verdict::Withdrawn,
    };
    judged
        .outcomes
        .iter()
        .map(|(reading, outcome)| Judgement { reading: *reading, verdict: verdict(outcome) })
        .collect()
}

fn doubt_of(reason: &Reason) -> Doubt {
    let mm = Distance::from_mm;
    match *reason {
        Reason::RunsBackwards { before, before_at } => Doubt::RunsBackwards { before: mm(before), before_at },
        Reason::RunsAhead { after, after_at } => Doubt::RunsAhead { after: mm(after), after_at },
        Reason::Jumps { before, plausible_most } => {
            Doubt::Jumps { before: mm(before), plausible_most: mm(plausible_most) }
        }
        Reason::FallsShort { after, after_at, plausible_least } => {
            Doubt::FallsShort { after: mm(after), after_at, plausible_least: mm(plausible_least) }
        }
        Reason::BeforeService { at_start } => Doubt::BeforeService { at_start: mm(at_start) },
        Reason::ClockInDoubt => Doubt::ClockInDoubt,
    }
}

/// As told to others.
pub(crate) fn hour_judgements(judged: &Judged) -> Vec<HourJudgement> {
    let verdict = |outcome: &Outcome| match outcome {
        Outcome::Counted { shown } => HourVerdict::Counted { seconds: *shown },
        Outcome::Held { reason, suggested } => {
            HourVerdict::Held { doubt: hour_doubt_of(reason), suggested: *suggested }
        }
        Outcome::Withdrawn => HourVerdict::Withdrawn,
    };
    judged
        .outcomes
        .iter()
        .map(|(reading, outcome)| HourJudgement { reading: *reading, verdict: verdict(outcome) })
        .collect()
}

fn hour_doubt_of(reason: &Reason) -> HourDoubt {
    match *reason {
        Reason::RunsBackwards { before, before_at } => HourDoubt::RunsBackwards { before, before_at },
        Reason::RunsAhead { after, after_at } => HourDoubt::RunsAhead { after, after_at },
        Reason::Jumps { before, plausible_most } => HourDoubt::Jumps { before, plausible_most },
        Reason::FallsShort { after, after_at, plausible_least } => {
            HourDoubt::FallsShort { after, after_at, plausible_least }
        }
        // An hour meter has no start of service to be below.
        Reason::BeforeService { .. } | Reason::ClockInDoubt => HourDoubt::ClockInDoubt,
    }
}
