//! How a limit of running time is met, and what the hour meter said on a day.

use super::HoursAhead;
use crate::counted::CountedHours;
use crate::known::Known;
use chrono::NaiveDate;
use model::horizon::{Band, Basis, Moment};
use model::{day_start, local_day, noon};

/// How a limit of running time is met.
#[derive(Debug, Clone, Copy)]
pub(crate) enum HourCrossing {
    /// No limit, or nothing to forecast from.
    Unknown,
    /// A counted reading has met it.
    Met(CountedHours),
    /// Readings have not met it; the days on which it will be.
    Ahead(HoursAhead),
}

impl HourCrossing {
    /// The days on which the limit is met; one day three times where a reading has met it.
    pub(crate) fn band(&self, known: &Known<'_>) -> Option<Band> {
        match self {
            Self::Unknown => None,
            Self::Met(counted) => {
                let day = Some(local_day(counted.at, known.zone));
                Some(Band { early: day, likely: day, late: day })
            }
            Self::Ahead(ahead) => Some(ahead.band),
        }
    }
}

impl Known<'_> {
    /// How the hour meter meets the total `limit`, seconds, looking at readings from `since` on.
    pub(crate) fn hour_crossing(&self, limit: i64, since: NaiveDate) -> HourCrossing {
        match (self.first_hours_at_least(limit, since), &self.running) {
            (Some(counted), _) => HourCrossing::Met(counted),
            (None, Some(running)) => HourCrossing::Ahead(running.crossing(limit)),
            (None, None) => HourCrossing::Unknown,
        }
    }

    /// The first counted reading of the hour meter from `since` on that comes to `limit` or more; where only an older
    /// one does and the last reading does too, that last one stands for it.
    pub(crate) fn first_hours_at_least(&self, limit: i64, since: NaiveDate) -> Option<CountedHours> {
        let start = day_start(since, self.zone);
        let from = self.hour_log.partition_point(|counted| counted.at < start);
        let newer = self.hour_log[from..].iter().find(|counted| counted.seconds >= limit);
        newer.or_else(|| self.hour_log.last().filter(|last| last.seconds >= limit)).copied()
    }

    /// The moment at which a reading of the hour meter was made, but not before the day `since`.
    pub(crate) fn hours_read(&self, counted: &CountedHours, since: NaiveDate) -> Moment {
        Moment { at: counted.at.max(day_start(since, self.zone)), basis: Basis::Reading }
    }

    /// The beginning of a day forecast from the hour meter, but not before the reading that the forecast starts from.
    pub(crate) fn hours_forecast(&self, day: NaiveDate) -> Moment {
        let start = day_start(day, self.zone);
        let anchored = self.hour_log.last().map_or(start, |last| last.at);
        Moment { at: start.max(anchored), basis: Basis::Forecast }
    }

    /// The total running time on `day`, seconds, and whether it had to be estimated.
    ///
    /// The counted reading of that very day nearest to noon; else between the readings around noon; the last one where
    /// none is later, so that nothing falls due too late. Before the first reading only a vehicle with its whole past on
    /// record has an answer, having started at nought.
    pub(crate) fn hours_on(&self, day: NaiveDate) -> Option<(i64, bool)> {
        let at = noon(day, self.zone);
        let of_day = self.hour_log.iter().filter(|counted| local_day(counted.at, self.zone) == day);
        if let Some(counted) = of_day.min_by_key(|counted| ((counted.at - at).abs(), counted.at, counted.id))
        {
            return Some((counted.seconds, false));
        }
        let next = self.hour_log.partition_point(|counted| counted.at < at);
        let after = self.hour_log.get(next).map(|counted| (counted.at, counted.seconds));
        let earlier = next.checked_sub(1).and_then(|index| self.hour_log.get(index));
        let vehicle = &self.facts.vehicle;
        let new = vehicle.in_service_on.filter(|_| !vehicle.history_unknown);
        let start = new.map(|first| (day_start(first, self.zone), 0_i64)).filter(|(start, _)| *start <= at);
        let before = earlier.map(|counted| (counted.at, counted.seconds)).or(start);
        match (before, after) {
            (Some((start, least)), Some((end, most))) => {
                let share = (at - start).as_seconds_f64() / (end - start).as_seconds_f64().max(1.0);
                Some((between(least, most, share), true))
            }
            (Some((_, last)), None) => earlier.map(|_| (last, true)),
            (None, _) => None,
        }
    }

    /// A total running time as the hour meter fitted now shows it, seconds.
    pub(crate) fn hours_shown_now(&self, total: i64) -> i64 {
        total.saturating_sub(self.hour_meters.added_now())
    }

    /// A limit of running time as a person sees it: on the hour meter that met it, else on the one fitted now.
    pub(crate) fn hours_limit_shown(&self, limit: i64, crossing: &HourCrossing) -> i64 {
        match crossing {
            HourCrossing::Met(counted) => limit.saturating_sub(self.hour_meters.added_at(counted.at)),
            HourCrossing::Ahead(_) | HourCrossing::Unknown => self.hours_shown_now(limit),
        }
    }
}

/// The whole second at a share of the way from one number to the other.
fn between(least: i64, most: i64, share: f64) -> i64 {
    #[expect(
        clippy::cast_precision_loss,
        clippy::cast_possible_truncation,
        reason = "running times within 2^53"
    )]
    let way = ((most - least) as f64 * share.clamp(0.0, 1.0)).round() as i64;
    least.saturating_add(way)
}
