//! Everything the engine needs to know about one vehicle.

use crate::coded::Code;
use crate::component::{Component, ComponentHistory, Fitting, MeasurementAnswer, WearRate};
use crate::coverage::CoverageWindow;
use crate::inspection::{Finding, Inspection};
use crate::organisation::Workshop;
use crate::paper::Paper;
use crate::reading::{HourReading, IndicatorReading, MeterReplacement, OdometerReading, ReadingDecision};
use crate::rule::{BaselineAnswer, RuleOverride, RuleVersion};
use crate::service::{ServiceRecord, Stay};
use crate::telling::{Acknowledgement, Postponement, Rung};
use crate::usage::PinnedFit;
use crate::vehicle::Vehicle;
use quantity::Entered;
use serde::{Deserialize, Serialize};

/// The facts known about one vehicle. Withdrawn facts are not among them. The order of the lists carries no meaning.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Facts {
    /// The vehicle.
    pub vehicle: Vehicle,
    /// Its meter log, withdrawn entries left out.
    pub readings: Vec<OdometerReading>,
    /// Its engine's running time, withdrawn entries left out.
    pub hour_readings: Vec<HourReading>,
    /// When one of its meters was replaced.
    pub meter_replacements: Vec<MeterReplacement>,
    /// What the dash's own service indicator said.
    pub indicators: Vec<IndicatorReading>,
    /// What people decided about the log.
    pub decisions: Vec<ReadingDecision>,
    /// Work done.
    pub services: Vec<ServiceRecord>,
    /// Times it was off the road.
    pub stays: Vec<Stay>,
    /// Rules of the vehicle's rulebook, in their newest version, whether or not they apply.
    pub rules: Vec<RuleVersion>,
    /// The vehicle's exceptions.
    pub overrides: Vec<RuleOverride>,
    /// Answers to the baseline check.
    pub baselines: Vec<BaselineAnswer>,
    /// Its papers.
    pub papers: Vec<Paper>,
    /// Its coverage windows.
    pub windows: Vec<CoverageWindow>,
    /// Its inspections.
    pub inspections: Vec<Inspection>,
    /// What is or was wrong.
    pub findings: Vec<Finding>,
    /// Components that are or were fitted.
    pub components: Vec<Component>,
    /// Where they were fitted.
    pub fittings: Vec<Fitting>,
    /// What they went through on other vehicles.
    #[serde(default)]
    pub elsewhere: Vec<ComponentHistory>,
    /// How fast products of the fleet wear; the shipped rates stand in for the rest.
    #[serde(default)]
    pub wear_rates: Vec<WearRate>,
    /// What was said of measurements better than the last.
    #[serde(default)]
    pub answers: Vec<MeasurementAnswer>,
    /// Reminders that somebody has seen.
    #[serde(default)]
    pub acknowledgements: Vec<Acknowledgement>,
    /// Reminders that were put off.
    #[serde(default)]
    pub postponements: Vec<Postponement>,
    /// Workshops of the fleet.
    pub workshops: Vec<Workshop>,
    /// The usage fit it is judged by.
    pub usage: PinnedFit,
    /// The fit its engine's running time is judged by, in hours.
    pub running: PinnedFit,
}

impl Facts {
    /// A vehicle of which nothing else is known, judged by these fits of its usage and of its engine's running time.
    pub fn bare(vehicle: Vehicle, usage: PinnedFit, running: PinnedFit) -> Self {
        Self {
            vehicle,
            readings: Vec::new(),
            hour_readings: Vec::new(),
            meter_replacements: Vec::new(),
            indicators: Vec::new(),
            decisions: Vec::new(),
            services: Vec::new(),
            stays: Vec::new(),
            rules: Vec::new(),
            overrides: Vec::new(),
            baselines: Vec::new(),
            papers: Vec::new(),
            windows: Vec::new(),
            inspections: Vec::new(),
            findings: Vec::new(),
            components: Vec::new(),
            fittings: Vec::new(),
            elsewhere: Vec::new(),
            wear_rates: Vec::new(),
            answers: Vec::new(),
            acknowledgements: Vec::new(),
            postponements: Vec::new(),
            workshops: Vec::new(),
            usage,
            running,
        }
    }
}

/// A limit that a fleet has set in place of a shipped one.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HouseLimit {
    /// The limit's key.
    pub limit: Code,
    /// The number that holds here.
    pub value: Entered,
    /// Why it is another than the shipped one.
    pub reason: String,
}

/// What a fleet has decided: days of telling, and limits of its own; no formulas.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Policy {
    /// Marks of a coverage window: so many days before its early end.
    pub window_marks_days: Vec<u32>,
    /// The closing check is due so many days before the early end.
    pub closing_check_days: u32,
    /// The return check of a lease is due so many days before its end.
    pub return_check_days: u32,
    /// Days from acquisition until the baseline check is due.
    pub baseline_days: u32,
    /// Ask for a reading when the last is so many days old.
    pub reading_age_days: u32,
    /// Default lead where a rule says none, days.
    pub lead_days: u32,
    /// What is still overdue so many days after it became so, and acknowledged by nobody since, is told to all managers;
    /// 0 for never.
    pub escalate_after_days: u32,
    /// What must not be driven is told to the next people when nobody has acknowledged it after so many minutes.
    pub next_people_minutes: u32,
    /// Whom the fleet wants to be told, where that is not those whom it concerns otherwise.
    pub told: Vec<Rung>,
    /// Limits that hold here in place of the shipped ones, one for a key at most.
    pub house_limits: Vec<HouseLimit>,
}

impl Default for Policy {
    fn default() -> Self {
        Self {
            window_marks_days: vec![90, 60, 30, 7],
            closing_check_days: 30,
            return_check_days: 60,
            baseline_days: 14,
            reading_age_days: 21,
            lead_days: 14,
            escalate_after_days: 7,
            next_people_minutes: 30,
            told: Vec::new(),
            house_limits: Vec::new(),
        }
    }
}
