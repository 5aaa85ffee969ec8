//! What the hour meter says of the engine's running time.

use crate::known::Known;
use crate::rules::{Running, RunningTime};
use chrono::{DateTime, NaiveDate, Utc};
use model::{ReadingId, day_start, noon};

/// A reading of the hour meter.
#[derive(Debug, Clone, Copy)]
struct Hours {
    id: ReadingId,
    at: DateTime<Utc>,
    shown: RunningTime,
}

/// The readings whose time can be trusted, in order of reading time and id.
fn log(known: &Known<'_>) -> Vec<Hours> {
    let trusted = known.facts.hour_readings.iter().filter(|reading| !reading.clock_in_doubt);
    let mut log: Vec<Hours> = trusted
        .map(|reading| Hours { id: reading.id, at: reading.read_at, shown: reading.seconds })
        .collect();
    log.sort_by_key(|hours| (hours.at, hours.id));
    log
}

/// How a limit of running time is met, looking at readings from `since` on.
pub(crate) fn crossing(known: &Known<'_>, limit: RunningTime, since: NaiveDate) -> Running {
    let start = day_start(since, known.zone);
    let log = log(known);
    let newer = log.iter().find(|hours| hours.at >= start && hours.shown >= limit);
    let standing = log.last().filter(|last| last.shown >= limit);
    newer.or(standing).map_or(Running::Unknown, |hours| Running::Met {
        reading: hours.id,
        at: hours.at,
        shown: hours.shown,
    })
}

/// The running time at noon of `day` between readings; the nearest one's outside them, `None` without any.
pub(crate) fn on(known: &Known<'_>, day: NaiveDate) -> Option<RunningTime> {
    let log = log(known);
    let at = noon(day, known.zone);
    let next = log.partition_point(|hours| hours.at < at);
    let after = log.get(next);
    let before = next.checked_sub(1).and_then(|index| log.get(index));
    match (before, after) {
        (Some(before), Some(after)) => {
            let span = (after.at - before.at).num_seconds().max(1);
            let passed = (at - before.at).num_seconds();
            let between = i128::from(after.shown - before.shown) * i128::from(passed) / i128::from(span);
            Some(before.shown.saturating_add(i64::try_from(between).unwrap_or(0)))
        }
        (one, other) => one.or(other).map(|hours| hours.shown),
    }
}
