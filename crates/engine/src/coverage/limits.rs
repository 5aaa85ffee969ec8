//! The limits of a window that hold for this vehicle: where it starts, how long and how far it reaches.

use crate::explain::WindowStart;
use crate::known::Known;
use chrono::NaiveDate;
use model::{
    CoverageWindow, DistanceFrom, Duty, LastDay, Reduction, ReductionCause, ServiceRecord, Vehicle, add_days,
    add_months,
};
use quantity::{Distance, Entered};

/// Acquired no more than so many days after its first day in service a vehicle came new (house setting, no source).
const STILL_NEW_DAYS: i64 = 30;

/// Limits after all reductions that apply.
#[derive(Debug)]
pub(crate) struct Limits {
    pub(crate) months: Option<u32>,
    pub(crate) distance: Option<Entered>,
    /// Reductions that apply, in the order of their causes.
    pub(crate) applied: Vec<Applied>,
}

/// A reduction that applies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Applied {
    pub(crate) reduction: Reduction,
    /// The commercial duty it follows from, and since when; nothing for a second owner.
    pub(crate) duty: Option<(Duty, NaiveDate)>,
    /// Whether one of its limits is the one that holds.
    pub(crate) holds: bool,
}

impl Limits {
    /// Of the contract's own limits and those of all reductions that apply, the lower of each kind.
    pub(crate) fn of(known: &Known<'_>, window: &CoverageWindow) -> Self {
        let terms = &window.terms;
        let mut applied: Vec<Applied> =
            terms.reduced_if.iter().filter_map(|reduction| applies(known, reduction)).collect();
        applied.sort_by_key(order);
        let months = terms.months.into_iter().chain(applied.iter().filter_map(|a| a.reduction.months)).min();
        let distances = applied.iter().filter_map(|applied| applied.reduction.distance);
        let distance = terms.distance.into_iter().chain(distances).filter(|far| exact(*far).is_some());
        let distance = distance.min_by_key(|far| exact(*far));
        for applied in &mut applied {
            let Reduction { months: own_months, distance: own_distance, .. } = applied.reduction;
            let by_months = own_months.is_some() && own_months == months && months != terms.months;
            let own_distance = own_distance.and_then(exact);
            let (holding, own) = (distance.and_then(exact), terms.distance.and_then(exact));
            let by_distance = own_distance.is_some() && own_distance == holding && holding != own;
            applied.holds = by_months || by_distance;
        }
        Self { months, distance, applied }
    }

    /// What has lowered a limit.
    pub(crate) fn reduced_by(&self) -> Vec<ReductionCause> {
        let mut causes: Vec<ReductionCause> = self
            .applied
            .iter()
            .filter(|applied| applied.holds)
            .map(|applied| applied.reduction.when)
            .collect();
        causes.dedup();
        causes
    }
}

/// Reductions in the order of cause, months and distance: the order of the terms carries no meaning.
fn order(applied: &Applied) -> (usize, Option<u32>, Option<Distance>) {
    let Reduction { when, months, distance } = applied.reduction;
    let place = ReductionCause::ALL.iter().position(|cause| *cause == when).unwrap_or(usize::MAX);
    (place, months, distance.and_then(exact))
}

fn exact(far: Entered) -> Option<Distance> {
    Distance::parse(far).ok()
}

fn applies(known: &Known<'_>, reduction: &Reduction) -> Option<Applied> {
    let vehicle = &known.facts.vehicle;
    let duty = match reduction.when {
        ReductionCause::CommercialUse => Some(commercial_since(vehicle)?),
        ReductionCause::SecondOwner => {
            if !second_hand(vehicle) {
                return None;
            }
            None
        }
    };
    Some(Applied { reduction: *reduction, duty, holds: false })
}

/// The first duty on record that earns money on the road. One is enough: givers of cover do not forget it.
fn commercial_since(vehicle: &Vehicle) -> Option<(Duty, NaiveDate)> {
    let commercial = vehicle.attributes.iter().filter(|version| version.duty.is_commercial());
    commercial.min_by_key(|version| version.from).map(|version| (version.duty, version.from))
}

/// Whether the fleet is not the first owner, as far as the record tells: it came more than 30 days after its first day
/// in service, or with a past that is not on record.
pub(crate) fn second_hand(vehicle: &Vehicle) -> bool {
    vehicle.history_unknown
        || vehicle.in_service_on.is_none_or(|first| vehicle.acquired_on > add_days(first, STILL_NEW_DAYS))
}

/// The last day of `months` from `from`.
pub(crate) fn through(from: NaiveDate, months: u32, last_day: LastDay) -> NaiveDate {
    let anniversary = add_months(from, months);
    match last_day {
        LastDay::DayBefore => add_days(anniversary, -1),
        LastDay::Anniversary => anniversary,
    }
}

/// The first day covered, and how it is known.
pub(crate) fn start(known: &Known<'_>, window: &CoverageWindow) -> (NaiveDate, WindowStart) {
    let vehicle = &known.facts.vehicle;
    if let Some(day) = window.terms.starts_on {
        return (day, WindowStart::Terms);
    }
    if let Some(service) = opening_service(known, window) {
        return (service.done_on, WindowStart::Service(service.id));
    }
    if let Some(day) = vehicle.in_service_on {
        return (day, WindowStart::InService);
    }
    // Vehicles of a model year are sold from the year before: the earliest plausible day promises least.
    let earliest = vehicle.model_year.and_then(|year| NaiveDate::from_ymd_opt(year.saturating_sub(1), 1, 1));
    match earliest.filter(|day| *day <= vehicle.acquired_on) {
        Some(day) => (day, WindowStart::ModelYear),
        None => (vehicle.acquired_on, WindowStart::Acquired),
    }
}

/// The service record that opened the window.
fn opening_service<'a>(known: &Known<'a>, window: &CoverageWindow) -> Option<&'a ServiceRecord> {
    let id = window.terms.opened_by?;
    known.facts.services.iter().find(|service| service.id == id)
}

/// From which total distance the window's distance counts, and where it ends.
pub(crate) fn odometers(
    known: &Known<'_>,
    window: &CoverageWindow,
    limits: &Limits,
) -> Option<(Distance, Distance)> {
    let distance = exact(limits.distance?)?;
    let from = match window.terms.distance_from {
        DistanceFrom::Zero => Distance::ZERO,
        DistanceFrom::StartOdometer => odometer_at_start(known, window),
    };
    Some((from, from + distance))
}

/// The total distance at the start: as the terms say, read with the instrument of that day; else at the service that
/// opened it; else at the vehicle's first day in service.
fn odometer_at_start(known: &Known<'_>, window: &CoverageWindow) -> Distance {
    let (starts_on, _) = start(known, window);
    let said = window.terms.start_odometer.and_then(exact).map(|shown| known.total_on(shown, starts_on));
    let opened = || opening_service(known, window).map(|service| known.odometer_at(service).0);
    said.or_else(opened).unwrap_or(known.facts.vehicle.in_service_odometer)
}
