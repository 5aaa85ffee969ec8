//! What is known about a vehicle, prepared once for all that is derived from it.

use crate::counted::{Counted, CountedHours, hour_log, odometer_log};
use crate::judging::{hour_judgements, hour_meter, judgements, odometer};
use crate::meters::Meters;
use crate::operating::OperatingCalendar;
use crate::rules::{RuleInForce, in_force};
use crate::running::Running;
use crate::usage::{Ahead, Driving};
use chrono::{DateTime, NaiveDate, Utc};
use chrono_tz::Tz;
use gauge::Yardstick;
use model::horizon::{Band, Basis, Moment};
use model::{
    Facts, HourJudgement, Judgement, MeterQuantity, Policy, ReadingId, ServiceRecord, Verdict, day_start,
    local_day, noon,
};
use quantity::Distance;

/// The facts with what follows from the meter log and the rulebook.
pub(crate) struct Known<'a> {
    pub(crate) facts: &'a Facts,
    pub(crate) policy: &'a Policy,
    pub(crate) zone: Tz,
    /// Odometers that were replaced.
    pub(crate) meters: Meters,
    pub(crate) judgements: Vec<Judgement>,
    pub(crate) log: Vec<Counted>,
    pub(crate) driving: Option<Driving>,
    pub(crate) rules: Vec<RuleInForce<'a>>,
    /// Hour meters that were replaced.
    pub(crate) hour_meters: Meters,
    pub(crate) hour_judgements: Vec<HourJudgement>,
    pub(crate) hour_log: Vec<CountedHours>,
    pub(crate) running: Option<Running>,
}

/// How an odometer limit is met.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Crossing {
    /// No limit, or nothing to forecast from.
    Unknown,
    /// A counted reading has met it.
    Met(Counted),
    /// Readings have not met it; the days on which it will be.
    Ahead(Ahead),
}

impl<'a> Known<'a> {
    pub(crate) fn of(facts: &'a Facts, policy: &'a Policy) -> Self {
        let vehicle = &facts.vehicle;
        let meters = Meters::of(&facts.meter_replacements, MeterQuantity::Distance);
        let judged = odometer(facts, &meters);
        let log = odometer_log(&judged);
        let driving = Driving::of(OperatingCalendar::of(vehicle, &facts.stays), &log, &facts.usage.fit);
        let hour_meters = Meters::of(&facts.meter_replacements, MeterQuantity::Hours);
        let hours_judged = hour_meter(facts, &hour_meters);
        let hour_log = hour_log(&hours_judged);
        let running = Running::of(facts, &hour_log);
        Self {
            facts,
            policy,
            zone: vehicle.zone,
            meters,
            judgements: judgements(&judged),
            log,
            driving,
            rules: in_force(facts),
            hour_meters,
            hour_judgements: hour_judgements(&hours_judged),
            hour_log,
            running,
        }
    }

    /// What measurements of the vehicle are held to.
    pub(crate) fn yardstick(&self) -> Yardstick<'a> {
        Yardstick { vehicle: &self.facts.vehicle, house: &self.policy.house_limits }
    }

    /// The civil day of an instant, in the depot's zone.
    pub(crate) fn day(&self, at: DateTime<Utc>) -> NaiveDate {
        local_day(at, self.zone)
    }

    /// The total distance where the odometer fitted on that day (at noon) showed `shown`.
    pub(crate) fn total_on(&self, shown: Distance, day: NaiveDate) -> Distance {
        shown + Distance::from_mm(self.meters.added_at(noon(day, self.zone)))
    }

    /// What odometers before the present one add to what it shows.
    pub(crate) fn earlier_meters(&self) -> Distance {
        Distance::from_mm(self.meters.added_now())
    }

    /// A total distance as the odometer fitted now shows it.
    pub(crate) fn shown_now(&self, total: Distance) -> Distance {
        total - self.earlier_meters()
    }

    /// A counted total as the odometer fitted then showed it.
    pub(crate) fn shown_then(&self, counted: &Counted) -> Distance {
        counted.odometer - Distance::from_mm(self.meters.added_at(counted.at))
    }

    /// A limit in total distance as a person sees it: on the odometer that met it, else on the one fitted now.
    pub(crate) fn limit_shown(&self, limit: Distance, crossing: &Crossing) -> Distance {
        match crossing {
            Crossing::Met(counted) => limit - Distance::from_mm(self.meters.added_at(counted.at)),
            Crossing::Ahead(_) | Crossing::Unknown => self.shown_now(limit),
        }
    }

    /// How the odometer meets `limit`, looking at readings from `since` on.
    pub(crate) fn crossing(&self, limit: Distance, since: NaiveDate) -> Crossing {
        match (self.first_at_least(limit, since), &self.driving) {
            (Some(counted), _) => Crossing::Met(counted),
            (None, Some(driving)) => Crossing::Ahead(driving.crossing(limit)),
            (None, None) => Crossing::Unknown,
        }
    }

    /// The moment from which the odometer stands at `odometer` or above: by a counted reading, else by the likely day
    /// as the `item` it belongs to is forecast.
    pub(crate) fn reached(&self, odometer: Distance, since: NaiveDate, item: &Crossing) -> Option<Moment> {
        match self.first_at_least(odometer, since) {
            Some(counted) => Some(self.read(&counted, since)),
            None => self.likely_day(odometer, item).map(|day| self.forecast(day)),
        }
    }

    /// The likely day of an odometer not met yet, as the `item` it belongs to is forecast.
    pub(crate) fn likely_day(&self, odometer: Distance, item: &Crossing) -> Option<NaiveDate> {
        let driving = self.driving.as_ref()?;
        let usage = match item {
            Crossing::Ahead(ahead) => ahead.item,
            Crossing::Met(_) | Crossing::Unknown => driving.for_limit(driving.anchor.odometer),
        };
        driving.likely_day(&usage, odometer)
    }

    /// The first counted reading from `since` on that shows `limit` or more.
    ///
    /// Where only an older one does and the last reading does too, that last one stands for it.
    pub(crate) fn first_at_least(&self, limit: Distance, since: NaiveDate) -> Option<Counted> {
        let start = day_start(since, self.zone);
        let from = self.log.partition_point(|counted| counted.at < start);
        let newer = self.log[from..].iter().find(|counted| counted.odometer >= limit);
        newer.or_else(|| self.log.last().filter(|last| last.odometer >= limit)).copied()
    }

    /// The moment at which a reading was made, but not before the day `since`.
    pub(crate) fn read(&self, counted: &Counted, since: NaiveDate) -> Moment {
        Moment { at: counted.at.max(day_start(since, self.zone)), basis: Basis::Reading }
    }

    /// The beginning of a forecast day, but not before the reading that the forecast starts from.
    pub(crate) fn forecast(&self, day: NaiveDate) -> Moment {
        let start = day_start(day, self.zone);
        let anchored = self.log.last().map_or(start, |last| last.at);
        Moment { at: start.max(anchored), basis: Basis::Forecast }
    }

    /// How a reading was judged, if it is in the log.
    pub(crate) fn verdict(&self, reading: ReadingId) -> Option<&Verdict> {
        self.judgements
            .iter()
            .find(|judgement| judgement.reading == reading)
            .map(|judgement| &judgement.verdict)
    }

    /// The total distance at a service, and whether it had to be estimated.
    ///
    /// It is what the log says of the service's own reading, as judged or corrected. One that is held or was withdrawn
    /// would carry its mistake into due dates; the counted readings around it say better.
    pub(crate) fn odometer_at(&self, service: &ServiceRecord) -> (Distance, bool) {
        let told = || self.total_on(service.odometer, service.done_on);
        match self.verdict(service.reading) {
            Some(Verdict::Counted { odometer }) => (self.total_of(service.reading, *odometer), false),
            Some(Verdict::Held { .. } | Verdict::Withdrawn) => {
                self.odometer_on(service.done_on).map_or_else(|| (told(), false), |between| (between, true))
            }
            None => (told(), false),
        }
    }

    /// The total distance where the odometer that this reading was taken from showed `shown`.
    pub(crate) fn total_of(&self, reading: ReadingId, shown: Distance) -> Distance {
        let taken = self.facts.readings.iter().find(|other| other.id == reading);
        shown + Distance::from_mm(taken.map_or(0, |taken| self.meters.added_at(taken.read_at)))
    }

    /// The total distance at noon of `day` between counted readings; the nearest one's outside them, `None` without any.
    pub(crate) fn odometer_on(&self, day: NaiveDate) -> Option<Distance> {
        self.odometer_at_instant(noon(day, self.zone))
    }

    /// The total distance at an instant between counted readings; the nearest one's outside them, `None` without any.
    pub(crate) fn odometer_at_instant(&self, at: DateTime<Utc>) -> Option<Distance> {
        let next = self.log.partition_point(|counted| counted.at < at);
        let after = self.log.get(next);
        let before = next.checked_sub(1).and_then(|index| self.log.get(index));
        match (before, after) {
            (Some(before), Some(after)) => {
                let share = (at - before.at).as_seconds_f64() / (after.at - before.at).as_seconds_f64();
                let between = (after.odometer - before.odometer).km() * share;
                Some(before.odometer + Distance::nearest_km(between))
            }
            (one, other) => one.or(other).map(|counted| counted.odometer),
        }
    }
}

impl Crossing {
    /// The days on which the limit is met; one day three times where a reading has met it.
    pub(crate) fn band(&self, zone: Tz) -> Option<Band> {
        match self {
            Self::Unknown => None,
            Self::Met(counted) => {
                let day = Some(local_day(counted.at, zone));
                Some(Band { early: day, likely: day, late: day })
            }
            Self::Ahead(ahead) => Some(ahead.band),
        }
    }
}
