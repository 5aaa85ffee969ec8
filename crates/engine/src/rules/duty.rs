//! When one interval rule falls due.

use super::{Anchor, also_satisfied};
use crate::explain::{IntervalSource, Opening};
use crate::known::{Crossing, Known};
use crate::timeline::{from_start_of, marks_of, not_before, once_over, whichever_first};
use chrono::{NaiveDate, TimeDelta};
use model::horizon::{Basis, DueItem, ItemKey, ItemKind, Moment, Timeline};
use model::{Every, RuleVersion, add_days, add_months, day_after, day_start};
use quantity::Distance;

/// An interval rule with what it counts from, its limits, and its timeline.
pub(crate) struct RuleDuty<'a> {
    pub(crate) version: &'a RuleVersion,
    pub(crate) every: Every,
    pub(crate) source: &'a IntervalSource,
    pub(crate) anchor: Anchor,
    pub(crate) date_limit: Option<NaiveDate>,
    pub(crate) odometer_limit: Option<Distance>,
    pub(crate) crossing: Crossing,
    pub(crate) lead_days: i64,
    pub(crate) timeline: Timeline,
}

impl<'a> RuleDuty<'a> {
    pub(crate) fn of(
        known: &Known<'_>,
        version: &'a RuleVersion,
        every: Every,
        source: &'a IntervalSource,
        anchor: Anchor,
    ) -> Self {
        let (date_limit, odometer_limit) = limits(&every, &anchor);
        let crossing = odometer_limit.map_or(Crossing::Unknown, |limit| known.crossing(limit, anchor.on));
        let lead_days = lead_days(known, version, &every);
        let mut duty = Self {
            version,
            every,
            source,
            anchor,
            date_limit,
            odometer_limit,
            crossing,
            lead_days,
            timeline: Timeline::default(),
        };
        let timeline = Timeline {
            approaching: whichever_first(
                duty.approaching_by_date(known),
                duty.approaching_by_distance(known),
            ),
            due: whichever_first(duty.due_by_date(known), duty.due_by_distance(known)),
            overdue: whichever_first(duty.overdue_by_date(known), duty.overdue_by_distance(known)),
        };
        duty.timeline = not_before(day_start(anchor.on, known.zone), timeline);
        duty
    }

    fn approaching_by_date(&self, known: &Known<'_>) -> Option<Moment> {
        self.date_limit.map(|limit| from_start_of(add_days(limit, -self.lead_days), known.zone))
    }

    /// When the odometer comes within the lead distance; a rule without one uses its lead in days instead.
    fn approaching_by_distance(&self, known: &Known<'_>) -> Option<Moment> {
        let limit = self.odometer_limit?;
        let lead = self.version.rule.lead.distance_exact();
        if lead > Distance::ZERO {
            return known.reached(limit - lead, self.anchor.on, &self.crossing);
        }
        match self.crossing {
            Crossing::Ahead(ahead) => Some(known.forecast(add_days(ahead.band.likely?, -self.lead_days))),
            Crossing::Met(_) | Crossing::Unknown => self.due_by_distance(known),
        }
    }

    fn due_by_date(&self, known: &Known<'_>) -> Option<Moment> {
        self.date_limit.map(|limit| from_start_of(limit, known.zone))
    }

    fn due_by_distance(&self, known: &Known<'_>) -> Option<Moment> {
        match self.crossing {
            Crossing::Met(counted) => Some(known.read(&counted, self.anchor.on)),
            Crossing::Ahead(ahead) => ahead.band.likely.map(|day| known.forecast(day)),
            Crossing::Unknown => None,
        }
    }

    /// The date limit lasts to the end of its day, and of the last day of grace.
    fn overdue_by_date(&self, known: &Known<'_>) -> Option<Moment> {
        self.date_limit.map(|limit| once_over(add_days(limit, self.grace_days()), known.zone))
    }

    /// Past the limit and the grace distance, and then past the days of grace.
    fn overdue_by_distance(&self, known: &Known<'_>) -> Option<Moment> {
        let past = self.odometer_limit? + self.version.rule.grace.distance_exact();
        // Just at the limit is not past it.
        let exceeded = past + Distance::from_mm(1);
        if let Some(counted) = known.first_at_least(exceeded, self.anchor.on) {
            let read = known.read(&counted, self.anchor.on);
            return Some(Moment { at: read.at + TimeDelta::days(self.grace_days()), ..read });
        }
        let likely = match self.crossing {
            Crossing::Ahead(ahead) if self.version.rule.grace.distance.is_none() => ahead.band.likely?,
            _ => known.likely_day(past, &self.crossing)?,
        };
        let last = add_days(likely, self.grace_days());
        Some(Moment { at: day_after(last, known.zone), basis: Basis::Forecast })
    }

    fn grace_days(&self) -> i64 {
        self.version.rule.grace.days_or_none()
    }

    pub(crate) fn item(&self, known: &Known<'_>) -> DueItem {
        let rule = &self.version.rule;
        DueItem {
            key: ItemKey(format!("rule:{}", rule.code)),
            cycle: self.anchor.cycle(),
            kind: ItemKind::Rule,
            title: rule.title.clone(),
            timeline: self.timeline,
            do_not_drive_from: None,
            date_limit: self.date_limit,
            odometer_limit: self.odometer_limit,
            hours_limit_seconds: None,
            crossing: self.crossing.band(known.zone),
            grade: None,
            covers: also_satisfied(&known.facts.rules, &rule.code)
                .into_iter()
                .map(|code| code.as_str().to_owned())
                .collect(),
            authority: rule.authority.clone(),
            caution: rule.caution.clone(),
            marks: marks_of(&self.timeline, None),
        }
    }
}

/// The last day and the odometer allowed.
fn limits(every: &Every, anchor: &Anchor) -> (Option<NaiveDate>, Option<Distance>) {
    if let Opening::DoNow(_) = anchor.opening {
        return (Some(anchor.on), None);
    }
    let by_months = every.months.map(|months| add_months(anchor.on, months));
    let by_days = every.days.map(|days| add_days(anchor.on, i64::from(days)));
    let distance = every.distance.and_then(|entered| Distance::parse(entered).ok());
    let odometer = anchor.odometer.zip(distance).map(|(from, distance)| from + distance);
    (by_months.into_iter().chain(by_days).min(), odometer)
}

/// Days of lead: the rule's own; else the fleet's, but never more than half of the interval, so that a weekly check is
/// not announced before the last one was done.
fn lead_days(known: &Known<'_>, version: &RuleVersion, every: &Every) -> i64 {
    if let Some(days) = version.rule.lead.days {
        return i64::from(days);
    }
    let months = every.months.map(|months| i64::from(months) * 30);
    let interval = months.into_iter().chain(every.days.map(i64::from)).min();
    let most = interval.map_or(i64::MAX, |days| days / 2);
    i64::from(known.policy.lead_days).min(most)
}
