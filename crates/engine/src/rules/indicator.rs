//! What the dash's own service indicator says of a rule.

use super::{Anchor, Bounds};
use crate::explain::Opening;
use crate::known::Known;
use chrono::NaiveDate;
use model::{IndicatorId, IndicatorLeft, IndicatorReading, IntervalRule, Verdict, add_days};
use quantity::Distance;

/// The newest reading of the indicator since the work was last done, and the limits that follow from it.
pub(crate) struct Indicated {
    pub(crate) id: IndicatorId,
    pub(crate) read_on: NaiveDate,
    pub(crate) left: IndicatorLeft,
    /// The odometer then, where known.
    pub(crate) odometer: Option<Distance>,
    pub(crate) bounds: Bounds,
}

/// `None` for a rule that does not look at it, and where it was not read since.
///
/// A reading of the very day of the work is left out: it may be from before the indicator was set back.
pub(crate) fn newest(
    known: &Known<'_>,
    rule: &IntervalRule,
    anchor: &Anchor,
    bounds: &Bounds,
) -> Option<Indicated> {
    if !rule.indicator {
        return None;
    }
    let is_new = matches!(anchor.opening, Opening::InService(_));
    let is_since = |reading: &&IndicatorReading| {
        let read_on = known.day(reading.read_at);
        reading.rule == rule.code && (read_on > anchor.on || is_new && read_on == anchor.on)
    };
    let readings = known.facts.indicators.iter().filter(is_since);
    let reading = readings.max_by_key(|reading| (reading.read_at, reading.id))?;
    let read_on = known.day(reading.read_at);
    let odometer = odometer(known, reading, read_on);
    let bounds = limits(reading.left, read_on, odometer, anchor, bounds);
    Some(Indicated { id: reading.id, read_on, left: reading.left, odometer, bounds })
}

/// The odometer read along with it, if that counts; else what counted readings say of that day.
fn odometer(known: &Known<'_>, reading: &IndicatorReading, read_on: NaiveDate) -> Option<Distance> {
    let judged = reading.reading.and_then(|along| Some((along, known.verdict(along)?)));
    match judged {
        Some((along, Verdict::Counted { odometer })) => Some(known.total_of(along, *odometer)),
        Some((_, Verdict::Held { .. } | Verdict::Withdrawn)) | None => known.odometer_on(read_on),
    }
}

/// Percent are of the whole interval, in days and in distance alike.
fn limits(
    left: IndicatorLeft,
    read_on: NaiveDate,
    odometer: Option<Distance>,
    anchor: &Anchor,
    rule: &Bounds,
) -> Bounds {
    match left {
        IndicatorLeft::Days { days } => {
            Bounds { date: Some(add_days(read_on, i64::from(days))), ..Bounds::default() }
        }
        IndicatorLeft::Distance { distance } => {
            let far = Distance::parse(distance).ok();
            Bounds { odometer: odometer.zip(far).map(|(from, far)| from + far), ..Bounds::default() }
        }
        IndicatorLeft::Percent { percent } => {
            let share = (percent / 100.0).clamp(0.0, 1.0);
            let days = rule.date.map(|limit| whole(share * days_between(anchor.on, limit)));
            let interval = rule.odometer.zip(anchor.odometer).map(|(limit, from)| limit - from);
            let far = interval.map(|interval| Distance::nearest_km(interval.km() * share));
            Bounds {
                date: days.map(|days| add_days(read_on, days)),
                odometer: odometer.zip(far).map(|(from, far)| from + far),
                running: None,
            }
        }
    }
}

fn days_between(from: NaiveDate, to: NaiveDate) -> f64 {
    f64::from(i32::try_from((to - from).num_days()).unwrap_or(i32::MAX))
}

/// Whole days, downwards.
fn whole(days: f64) -> i64 {
    #[expect(clippy::cast_possible_truncation, reason = "at most the days of the calendar")]
    let days = days.floor() as i64;
    days
}
