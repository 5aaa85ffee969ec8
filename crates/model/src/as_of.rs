//! The facts as they were true at an instant: what had happened by then, whenever it was recorded.

use crate::calendar::local_day;
use crate::facts::Facts;
use crate::ids::{ComponentId, MeasurementId, ReadingId, ServiceId};
use crate::rule::BaselineChoice;
use crate::vehicle::Vehicle;
use chrono::{DateTime, NaiveDate, Utc};
use std::collections::BTreeSet;

impl Facts {
    /// The facts without what had not happened by `at`, for questions such as "what was due on 1 March".
    ///
    /// Left out is what was read, done, found, fitted or issued later, what began later, and attributes in force from a
    /// later day; what ended later has not ended. Days are days in the vehicle's zone, and the day of `at` itself has
    /// begun: work of that day is done. What has no time of its own stays: rules, exceptions, what people decided about
    /// readings and measurements that are left, the fits, and papers whose day of issue is not on record.
    #[must_use]
    pub fn as_of(&self, at: DateTime<Utc>) -> Self {
        let today = local_day(at, self.vehicle.zone);
        let mut facts = self.clone();
        facts.vehicle = vehicle_as_of(&self.vehicle, today);
        facts.keep_what_was_read(at);
        facts.keep_what_was_done(at, today);
        facts.keep_what_was_fitted(today);
        facts
    }

    fn keep_what_was_read(&mut self, at: DateTime<Utc>) {
        self.readings.retain(|reading| reading.read_at <= at);
        self.hour_readings.retain(|reading| reading.read_at <= at);
        self.meter_replacements.retain(|replacement| replacement.replaced_at <= at);
        self.indicators.retain(|indicator| indicator.read_at <= at);
        let left: BTreeSet<ReadingId> = self.readings.iter().map(|reading| reading.id).collect();
        let hours_left: BTreeSet<ReadingId> = self.hour_readings.iter().map(|reading| reading.id).collect();
        self.decisions
            .retain(|decided| left.contains(&decided.reading) || hours_left.contains(&decided.reading));
    }

    fn keep_what_was_done(&mut self, at: DateTime<Utc>, today: NaiveDate) {
        let later: BTreeSet<ServiceId> = self
            .services
            .iter()
            .filter(|service| service.done_on > today)
            .map(|service| service.id)
            .collect();
        self.services.retain(|service| !later.contains(&service.id));
        self.windows.retain(|window| {
            let terms = &window.terms;
            let is_opened_later = terms.opened_by.is_some_and(|service| later.contains(&service));
            !is_opened_later && terms.starts_on.is_none_or(|start| start <= today)
        });
        self.baselines.retain(|answer| day_of(&answer.choice) <= today);
        self.papers.retain(|paper| paper.issued_on.is_none_or(|issued| issued <= today));
        self.inspections.retain(|inspection| inspection.performed_at <= at);
        let measured = self.inspections.iter().flat_map(|inspection| &inspection.measurements);
        let measured: BTreeSet<MeasurementId> = measured.map(|measurement| measurement.id).collect();
        self.answers.retain(|answer| measured.contains(&answer.measurement));
        self.acknowledgements.retain(|said| said.recorded_at <= at);
        self.postponements.retain(|said| said.recorded_at <= at);
        self.findings.retain(|finding| finding.found_at <= at);
        for finding in &mut self.findings {
            finding.closed_at = finding.closed_at.filter(|closed| *closed <= at);
        }
        self.stays.retain(|stay| stay.in_at <= at);
        for stay in &mut self.stays {
            stay.out_at = stay.out_at.filter(|out| *out <= at);
        }
    }

    fn keep_what_was_fitted(&mut self, today: NaiveDate) {
        self.fittings.retain(|fitting| fitting.from <= today);
        for fitting in self.fittings.iter_mut().filter(|fitting| fitting.to.is_some_and(|to| to > today)) {
            (fitting.to, fitting.to_odometer) = (None, None);
        }
        let fitted: BTreeSet<ComponentId> = self.fittings.iter().map(|fitting| fitting.component).collect();
        self.components.retain(|component| fitted.contains(&component.id));
        for history in &mut self.elsewhere {
            history.spells.retain(|spell| spell.to <= today);
        }
        self.elsewhere.retain(|history| !history.spells.is_empty() && fitted.contains(&history.component));
    }
}

/// The day that an answer to the baseline check speaks of.
const fn day_of(choice: &BaselineChoice) -> NaiveDate {
    match choice {
        BaselineChoice::Proven { done_on, .. } => *done_on,
        BaselineChoice::DoNow { on } | BaselineChoice::StartFrom { on, .. } => *on,
    }
}

/// The vehicle on that day. Before its first attributes came into force those stand for what it was.
fn vehicle_as_of(vehicle: &Vehicle, today: NaiveDate) -> Vehicle {
    let mut then = vehicle.clone();
    then.attributes.retain(|version| version.from <= today);
    if then.attributes.is_empty() {
        then.attributes.extend(vehicle.attributes.first().cloned());
    }
    then.retired_on = vehicle.retired_on.filter(|day| *day <= today);
    then
}
