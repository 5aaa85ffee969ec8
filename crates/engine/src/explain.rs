//! Why a due item or a coverage window stands where it does: the ordered steps from facts to dates.

mod age;
mod age_step;
mod cover_step;
mod coverage;
mod duty_step;
mod forecasting;
mod meter_step;
mod rule;
mod running;
mod simple;
mod stay;
mod wear;
mod written;

pub use age_step::{AgeStep, Instead, Started};
pub use cover_step::CoverStep;
pub use duty_step::{Asking, DutyStep};
pub use meter_step::MeterStep;
pub use wear::{PaceStep, WearStep};

use crate::coverage::Outlook;
use crate::derived::Derived;
use crate::known::Known;
use crate::{baseline, reading_wanted};
use chrono::{DateTime, NaiveDate, Utc};
use model::horizon::{Basis, ItemKey};
use model::{
    BaselineId, Code, Every, Expiry, Facts, FindingId, FitLevel, Grade, MeasurementId, PaperId, Policy,
    ReadingId, RulebookId, ServiceId, VehicleId,
};
use quantity::{Distance, Entered};
use serde::Serialize;
use std::collections::BTreeMap;
use written::{kilometres, maybe_kilometres};

/// How one due item or window follows from the facts.
#[derive(Debug, Clone, PartialEq)]
pub struct Explanation {
    /// The item or window.
    pub key: ItemKey,
    /// As a person reads it.
    pub title: String,
    /// From facts to dates, in order.
    pub steps: Vec<Step>,
}

/// The fact from which a rule counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(tag = "kind", content = "id", rename_all = "snake_case")]
pub enum Opening {
    /// A service record.
    Service(ServiceId),
    /// The vehicle came new: its first day in service.
    InService(VehicleId),
    /// A baseline answer with proof.
    Proven(BaselineId),
    /// A baseline answer that starts counting without proof.
    StartFrom(BaselineId),
    /// A baseline answer: do it now.
    DoNow(BaselineId),
}

/// Why this interval holds.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum IntervalSource {
    /// The rule's standard interval.
    Standard,
    /// The rule's interval for severe duty.
    Severe,
    /// The first interval of a vehicle that came new.
    First {
        /// Whether the severe interval was looked at too: of each kind of limit the sooner holds.
        severe: bool,
    },
    /// The vehicle has an exception.
    Exception {
        /// The reason that was given.
        reason: String,
    },
}

/// Where a coverage window's first day comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(tag = "kind", content = "id", rename_all = "snake_case")]
pub enum WindowStart {
    /// It stands in the terms.
    Terms,
    /// The service record that opened it.
    Service(ServiceId),
    /// The vehicle's first day in service.
    InService,
    /// Unproven: the first day of the year before the model year.
    ModelYear,
    /// Unproven: the day the vehicle came.
    Acquired,
}

impl WindowStart {
    /// Whether the day is known rather than supposed.
    pub const fn is_proven(self) -> bool {
        matches!(self, Self::Terms | Self::Service(_) | Self::InService)
    }
}

/// Why no day is forecast for a distance.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum NoForecast {
    /// No reading counts yet.
    NoReading,
    /// The odometer from which the rule counts is not known.
    NoOdometer,
    /// The likely day lies beyond ten years, or the vehicle is parked until further notice.
    Beyond,
}

/// One step from facts to dates.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Step {
    /// Where the rule counts from.
    Anchor {
        /// The fact.
        opening: Opening,
        /// Its day.
        on: NaiveDate,
        /// The odometer then, where known.
        #[serde(serialize_with = "maybe_kilometres")]
        odometer: Option<Distance>,
        /// Whether the odometer was read off between counted readings because the one told is held.
        estimated: bool,
    },
    /// The interval that holds.
    Interval {
        /// The rule.
        rule: Code,
        /// The rulebook it stands in.
        rulebook: RulebookId,
        /// That rulebook's version.
        version: i64,
        /// The interval.
        every: Every,
        /// Why this one.
        source: IntervalSource,
    },
    /// The limit by the calendar.
    DateLimit {
        /// Counted from.
        from: NaiveDate,
        /// Months counted, where they decide.
        months: Option<u32>,
        /// Days counted, where they decide.
        days: Option<u32>,
        /// The last day allowed.
        limit: NaiveDate,
    },
    /// The limit by distance.
    OdometerLimit {
        /// Counted from.
        #[serde(serialize_with = "kilometres")]
        from: Distance,
        /// How far, as entered.
        distance: Entered,
        /// The odometer allowed.
        #[serde(serialize_with = "kilometres")]
        limit: Distance,
    },
    /// What only replaced meters and running hours say.
    Meter(MeterStep),
    /// A counted reading has met the limit.
    LimitMet {
        /// The reading.
        reading: ReadingId,
        /// Its civil day at the depot.
        on: NaiveDate,
        /// What it said.
        #[serde(serialize_with = "kilometres")]
        odometer: Distance,
    },
    /// What is left from the last counted reading.
    LastReading {
        /// The reading.
        reading: ReadingId,
        /// Its civil day at the depot.
        on: NaiveDate,
        /// What it said.
        #[serde(serialize_with = "kilometres")]
        odometer: Distance,
        /// Distance left to the limit.
        #[serde(serialize_with = "kilometres")]
        left: Distance,
    },
    /// The usage that forecasts rest on.
    Usage {
        /// Whose data the prior came from.
        level: FitLevel,
        /// How many vehicles it was fitted to.
        vehicles: u32,
        /// Regularity a', per operating day.
        a: f64,
        /// Prior shape p.
        prior_shape: f64,
        /// Prior scale q, km.
        prior_scale_km: f64,
        /// Gaps between this vehicle's readings.
        gaps: u32,
        /// Posterior shape P.
        shape: f64,
        /// Posterior scale Q, km.
        scale_km: f64,
        /// Mean distance of an operating day, km: a' Q / (P - 1).
        km_per_day: f64,
    },
    /// The width that back-tests of the cohort ask for, and the parameters with it.
    Width {
        /// Kappa: 1 is as computed, more is wider.
        kappa: f64,
        /// Whether the cohort's own past says so; else it is the shipped width.
        is_measured: bool,
        /// Regularity a' = a / kappa, per operating day.
        a: f64,
        /// Posterior shape P = p + (P under a width of 1 - p) / kappa.
        shape: f64,
        /// Posterior scale Q = kappa q + (Q under a width of 1 - q), km.
        scale_km: f64,
    },
    /// One quantile of the day on which the limit is met.
    Quantile {
        /// Probability that it is met by then.
        quantile: f64,
        /// Distance left, km.
        km_left: f64,
        /// Operating days from the last counted reading.
        operating_days: f64,
        /// The civil day that is.
        on: NaiveDate,
        /// A line for Python with `scipy.stats` whose value is the quantile.
        check: String,
    },
    /// No day can be forecast.
    NoForecast {
        /// Why.
        reason: NoForecast,
    },
    /// Date against distance.
    WhicheverFirst {
        /// The day by the calendar.
        by_date: Option<NaiveDate>,
        /// The day by distance.
        by_distance: Option<NaiveDate>,
        /// The day by running time.
        by_hours: Option<NaiveDate>,
        /// The earlier of them.
        first: NaiveDate,
        /// What it rests on.
        basis: Basis,
    },
    /// What only rules, conditions and stays say.
    Duty(DutyStep),
    /// Before and after due.
    Around {
        /// Civil day from which it is approaching, and what that rests on.
        approaching: Option<(NaiveDate, Basis)>,
        /// Civil day from which it is overdue, and what that rests on.
        overdue: Option<(NaiveDate, Basis)>,
    },
    /// Who says so.
    Authority {
        /// In its own words.
        authority: String,
    },
    /// A paper's last day.
    PaperExpires {
        /// The paper.
        paper: PaperId,
        /// Its number.
        reference: Option<String>,
        /// Its last day.
        expires_on: NaiveDate,
        /// Days before from which it is approaching.
        lead_days: u32,
        /// Earliest renewal that keeps the anniversary.
        renew_from: Option<NaiveDate>,
    },
    /// A paper that is asked for and not on record.
    PaperMissing {
        /// The rule that asks for it.
        rule: Option<Code>,
        /// Day the vehicle came.
        acquired_on: NaiveDate,
        /// Day by which it should be on record.
        record_by: NaiveDate,
    },
    /// Without this paper the vehicle must not be driven.
    NoPaperNoDrive {
        /// The rule that says so.
        expiry: Expiry,
        /// Last day on which it may be driven.
        last_day: NaiveDate,
    },
    /// Rules without any proof.
    Unproven {
        /// Their codes.
        rules: Vec<Code>,
        /// Day the vehicle came.
        acquired_on: NaiveDate,
        /// Day by which they should be settled.
        settle_by: NaiveDate,
    },
    /// First day of a coverage window.
    WindowStarts {
        /// The day.
        on: NaiveDate,
        /// How it is known.
        start: WindowStart,
    },
    /// Probability that distance ends the window first.
    DistanceFirst {
        /// The probability.
        probability: f64,
        /// Last day by the calendar.
        last_day: NaiveDate,
    },
    /// What only coverage windows say.
    Cover(CoverStep),
    /// When the closing check is to be made.
    ClosingCheck {
        /// The early end it counts back from.
        early_end: NaiveDate,
        /// So many days before.
        days: u32,
        /// The day.
        due_on: NaiveDate,
    },
    /// A measurement and what it means.
    Measured {
        /// The measurement that governs.
        measurement: MeasurementId,
        /// When it was measured.
        at: DateTime<Utc>,
        /// What was measured, as entered.
        measured: Entered,
        /// The limit, in the same unit.
        limit: Option<Entered>,
        /// The grade.
        grade: Grade,
        /// Why, in one sentence.
        reason: String,
        /// Where the limit comes from.
        source: String,
        /// How well that source is known.
        standing: String,
    },
    /// Something found wrong.
    Found {
        /// The finding.
        finding: FindingId,
        /// When.
        at: DateTime<Utc>,
        /// In the finder's words.
        note: String,
    },
    /// A reading grows too old.
    TooOld {
        /// Civil day of the last counted reading; `None` where there is none.
        read_on: Option<NaiveDate>,
        /// Days it may be old.
        most_days: u32,
        /// The day on which it is too old.
        on: NaiveDate,
    },
    /// More is expected to be driven than the shortest lead.
    LeadDriven {
        /// Mean distance of an operating day, km.
        km_per_day: f64,
        /// The shortest lead distance.
        #[serde(serialize_with = "kilometres")]
        lead: Distance,
        /// The day by which it is expected.
        on: NaiveDate,
    },
    /// From measurements to the days of a wear limit.
    Wear(WearStep),
    /// What only things that grow old say.
    Age(AgeStep),
}

/// How the item, window or wear outlook (`wear:` and the component) with this key follows from the facts; `None` if the
/// horizon has none of that key.
pub fn explain(facts: &Facts, policy: &Policy, key: &ItemKey) -> Option<Explanation> {
    if facts.vehicle.retired_on.is_some() {
        return None;
    }
    one(&Derived::of(&Known::of(facts, policy)), key)
}

/// Every key of what was derived, explained.
pub(crate) fn all(derived: &Derived<'_>) -> BTreeMap<ItemKey, Explanation> {
    let wear = derived.wear.iter().map(|outlook| ItemKey(format!("wear:{}", outlook.component)));
    let windows = derived.outlooks.iter().map(Outlook::key);
    let keys = derived.items.iter().map(|item| item.key.clone()).chain(windows).chain(wear);
    keys.filter_map(|key| Some((key.clone(), one(derived, &key)?))).collect()
}

fn one(derived: &Derived<'_>, key: &ItemKey) -> Option<Explanation> {
    let known = derived.known;
    let (kind, name) = key.0.split_once(':').unwrap_or((&key.0, ""));
    let (title, steps) = match kind {
        "rule" => {
            let duty = derived.duties.iter().find(|duty| duty.version.rule.code.as_str() == name)?;
            (duty.version.rule.title.clone(), rule::steps(known, duty))
        }
        baseline::KEY => simple::of_baseline(known, &derived.unproven)?,
        "paper" => {
            let duty = derived.papers.iter().find(|duty| duty.kind.word() == name)?;
            (duty.item(known).title, simple::of_paper(known, duty))
        }
        "window" | "closing" | "return" | "transfer" | "capacity" => {
            let window = name.parse().ok()?;
            let outlook = derived.outlooks.iter().find(|outlook| outlook.window.id == window)?;
            coverage::explained(known, outlook, kind)?
        }
        reading_wanted::KEY => simple::of_reading_wanted(known, derived.wanted.as_ref()?),
        "condition" => simple::of_grade(known, &derived.grades, key)?,
        "stay" => stay::explained(known, &derived.items, name)?,
        "age" => age::explained(known, derived.ageing.iter().find(|ageing| ageing.key() == *key)?),
        "finding" => simple::of_finding(known.facts, key)?,
        "wear" => wear::of_component(known, name)?,
        _ => return None,
    };
    let mut told = running::replacements(known, &steps);
    told.extend(steps);
    Some(Explanation { key: key.clone(), title, steps: told })
}
