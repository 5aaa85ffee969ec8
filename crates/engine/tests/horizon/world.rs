//! A world with one vehicle, in which a test mentions only what matters to it.

mod cover;
mod duties;

pub use duties::every_hours;

use chrono::{DateTime, NaiveDate, NaiveDateTime, Utc};
use chrono_tz::Tz;
use model::horizon::{DueItem, Horizon, ItemKey, Moment, WindowOutlook};
use model::*;
use quantity::{Distance, Entered, Unit};
use std::str::FromStr;

pub fn day(text: &str) -> NaiveDate {
    text.parse().unwrap_or_else(|_| panic!("{text} is no day"))
}

/// An instant in UTC: `2026-03-01 14:30`.
pub fn at(text: &str) -> DateTime<Utc> {
    NaiveDateTime::parse_from_str(text, "%Y-%m-%d %H:%M")
        .unwrap_or_else(|_| panic!("{text} is no instant"))
        .and_utc()
}

pub fn code(text: &str) -> Code {
    Code::new(text).expect("a code")
}

pub fn km(value: f64) -> Entered {
    Entered::new(value, Unit::Kilometre)
}

pub fn mi(value: f64) -> Entered {
    Entered::new(value, Unit::Mile)
}

/// An id of any kind, the same for the same number.
pub fn id<T: FromStr<Err: std::fmt::Debug>>(number: u64) -> T {
    T::from_str(&format!("00000000-0000-7000-8000-{number:012x}")).expect("an id")
}

/// A world: facts, policy, and a count of ids given.
#[derive(Debug, Clone)]
pub struct World {
    pub facts: Facts,
    pub policy: Policy,
    given: u64,
}

impl World {
    /// A delivery van, new on 1 January 2024, running every day, in UTC, with an odometer in kilometres.
    pub fn new() -> Self {
        let first = day("2024-01-01");
        let attributes = Attributes {
            from: first,
            depot: id(1),
            duty: Duty::Delivery,
            severe: false,
            label: "V1".to_owned(),
            plate: None,
            parked: false,
            operating_weekdays: Weekdays::ALL,
            rulebook: Some(id(1)),
        };
        let vehicle = Vehicle {
            id: id(7),
            fleet: id(1),
            vin: None,
            make: "Wren".to_owned(),
            model: "Porter".to_owned(),
            model_year: Some(2024),
            powertrain: Powertrain::Diesel,
            gross_mass_kg: None,
            tags: Vec::new(),
            in_service_on: Some(first),
            in_service_odometer: Distance::ZERO,
            history_unknown: false,
            acquired_on: first,
            odometer_unit: Unit::Kilometre,
            placard: Placard::default(),
            retired_on: None,
            attributes: vec![attributes],
            zone: Tz::UTC,
            jurisdiction: Jurisdiction::Us,
            design_low: None,
            version: 1,
        };
        let fit = CohortFit { a: 1.0, p: 6.0, q: 400.0, level: FitLevel::Shipped, vehicles: 0, kappa: None };
        let facts = Facts {
            hour_readings: Vec::new(),
            meter_replacements: Vec::new(),
            indicators: Vec::new(),
            stays: Vec::new(),
            running: model::PinnedFit {
                id: None,
                fit: CohortFit {
                    a: 1.0,
                    p: 6.0,
                    q: 20.0,
                    level: FitLevel::Shipped,
                    vehicles: 0,
                    kappa: None,
                },
            },
            vehicle,
            readings: Vec::new(),
            decisions: Vec::new(),
            services: Vec::new(),
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
            usage: PinnedFit { id: None, fit },
        };
        Self { facts, policy: Policy::default(), given: 100 }
    }

    pub fn next_id<T: FromStr<Err: std::fmt::Debug>>(&mut self) -> T {
        self.given += 1;
        id(self.given)
    }

    pub fn zone(mut self, zone: Tz) -> Self {
        self.facts.vehicle.zone = zone;
        self
    }

    /// New on this day with this odometer.
    pub fn new_on(mut self, on: &str) -> Self {
        self.facts.vehicle.in_service_on = Some(day(on));
        self.facts.vehicle.acquired_on = day(on);
        self.facts.vehicle.attributes[0].from = day(on);
        self
    }

    /// Bought used on this day, its past not on record.
    pub fn used_since(mut self, on: &str) -> Self {
        self.facts.vehicle.in_service_on = None;
        self.facts.vehicle.history_unknown = true;
        self.facts.vehicle.acquired_on = day(on);
        self
    }

    pub fn severe(mut self) -> Self {
        self.facts.vehicle.attributes[0].severe = true;
        self
    }

    pub fn parked_from(mut self, on: &str) -> Self {
        let before = self.facts.vehicle.attributes.last().expect("never empty");
        let parked = Attributes { from: day(on), parked: true, ..before.clone() };
        self.facts.vehicle.attributes.push(parked);
        self
    }

    pub fn running_again_from(mut self, on: &str) -> Self {
        let before = self.facts.vehicle.attributes.last().expect("never empty");
        let running = Attributes { from: day(on), parked: false, ..before.clone() };
        self.facts.vehicle.attributes.push(running);
        self
    }

    pub fn weekdays(mut self, bits: u8) -> Self {
        self.facts.vehicle.attributes[0].operating_weekdays = Weekdays::from_bits(bits).expect("weekdays");
        self
    }

    pub fn reading_from(mut self, when: &str, entered: Entered, source: ReadingSource) -> Self {
        let id = self.next_id();
        self.facts.readings.push(OdometerReading {
            id,
            entered,
            odometer: Distance::parse(entered).expect("a distance"),
            read_at: at(when),
            recorded_at: at(when),
            source,
            clock_in_doubt: false,
        });
        self
    }

    pub fn reading(self, when: &str, value: f64) -> Self {
        self.reading_from(when, km(value), ReadingSource::Technician)
    }

    /// Readings at noon, `every_days` apart from `first` to `last`, at a steady pace from zero at `first`.
    pub fn steady(mut self, first: &str, last: &str, every_days: usize, a_day: Entered) -> Self {
        let (first, last) = (day(first), day(last));
        for (on, days) in first.iter_days().zip(0_i32..).take_while(|(on, _)| *on <= last).step_by(every_days)
        {
            let value = Entered { value: a_day.value * f64::from(days), ..a_day };
            self = self.reading_from(&format!("{on} 12:00"), value, ReadingSource::Technician);
        }
        self
    }

    pub fn decide(mut self, reading: usize, decision: Decision, recorded: &str) -> Self {
        let (id, reading) = (self.next_id(), self.facts.readings[reading].id);
        let reason = "as seen on the dash".to_owned();
        self.facts.decisions.push(ReadingDecision {
            id,
            reading,
            decision,
            reason,
            recorded_at: at(recorded),
        });
        self
    }

    pub fn rule(mut self, code_text: &str, every: Every) -> Self {
        self.facts.rules.push(RuleVersion {
            rulebook: id(1),
            version: 3,
            since: at("2000-01-01 00:00"),
            rule: IntervalRule {
                code: code(code_text),
                title: code_text.replace('-', " "),
                trigger: Trigger::Every(every),
                first: None,
                anchor: model::Anchoring::LastDone,
                indicator: false,
                severe: None,
                lead: Reach::default(),
                grace: Reach::default(),
                satisfies: Vec::new(),
                renews: Vec::new(),
                applies_to: AppliesTo::default(),
                authority: None,
                caution: None,
                baseline: BaselineDefault::Ask,
            },
        });
        self
    }

    pub fn paper_rule(self, kind: PaperKind, no_paper_no_drive: bool) -> Self {
        let expiry = Expiry { paper: kind, renew_from_days: None, no_paper_no_drive };
        self.rule(&kind.word().replace('_', "-"), Every::default())
            .amend(|rule| rule.trigger = Trigger::Expiry(expiry))
    }

    /// Changes the rule mentioned last.
    pub fn amend(mut self, change: impl FnOnce(&mut IntervalRule)) -> Self {
        change(&mut self.facts.rules.last_mut().expect("one was mentioned").rule);
        self
    }

    pub fn lead(self, days: Option<u32>, distance: Option<Entered>) -> Self {
        self.amend(|rule| rule.lead = Reach { days, distance })
    }

    pub fn grace(self, days: Option<u32>, distance: Option<Entered>) -> Self {
        self.amend(|rule| rule.grace = Reach { days, distance })
    }

    pub fn exception(mut self, rule: &str, every: Option<Every>) -> Self {
        let id = self.next_id();
        let recorded_at = at("2024-02-01 08:00");
        let reason = "runs on the island only".to_owned();
        self.facts.overrides.push(RuleOverride { id, rule: code(rule), every, reason, recorded_at });
        self
    }

    pub fn answer(mut self, rule: &str, choice: BaselineChoice) -> Self {
        let id = self.next_id();
        let recorded_at = at("2024-02-01 08:00");
        self.facts.baselines.push(BaselineAnswer { id, rule: code(rule), choice, recorded_at });
        self
    }

    /// Work done at noon, with the reading it makes.
    pub fn service(mut self, on: &str, odometer: Entered, rules: &[&str]) -> Self {
        self = self.reading_from(&format!("{on} 12:00"), odometer, ReadingSource::Service);
        let id = self.next_id();
        self.facts.services.push(ServiceRecord {
            id,
            done_on: day(on),
            odometer_entered: odometer,
            odometer: Distance::parse(odometer).expect("a distance"),
            reading: self.facts.readings.last().expect("just pushed").id,
            rules: rules.iter().map(|rule| code(rule)).collect(),
            workshop: None,
            parts: Vec::new(),
            cost_minor: None,
            currency: None,
            evidence: None,
            note: None,
            recorded_at: at(&format!("{on} 13:00")),
        });
        self
    }

    pub fn paper(mut self, kind: PaperKind, expires: &str) -> Self {
        let id = self.next_id();
        self.facts.papers.push(Paper {
            id,
            kind,
            reference: None,
            issued_on: None,
            expires_on: day(expires),
            recorded_at: at("2024-02-01 08:00"),
        });
        self
    }

    pub fn window(mut self, months: Option<u32>, distance: Option<Entered>) -> Self {
        let id = self.next_id();
        let terms = CoverageTerms {
            reduced_if: Vec::new(),
            pro_rata: Vec::new(),
            transfer: model::Transfer::Automatic,
            transfer_within_days: None,
            transferred_on: None,
            excess: None,
            kind: WindowKind::Warranty,
            title: "Powertrain warranty".to_owned(),
            scope: Vec::new(),
            starts_on: None,
            start_odometer: None,
            opened_by: None,
            months,
            distance,
            distance_from: DistanceFrom::Zero,
            last_day: LastDay::DayBefore,
            capacity_floor_percent: None,
            voided_by: None,
        };
        self.facts.windows.push(CoverageWindow { id, terms, recorded_at: at("2024-02-01 08:00") });
        self
    }

    /// Changes the terms of the window mentioned last.
    pub fn terms(mut self, change: impl FnOnce(&mut CoverageTerms)) -> Self {
        change(&mut self.facts.windows.last_mut().expect("one was mentioned").terms);
        self
    }

    pub fn inspection(mut self, sheet: &str, when: &str) -> Self {
        let id = self.next_id();
        self.facts.inspections.push(Inspection {
            id,
            sheet: code(sheet),
            sheet_version: 1,
            performed_at: at(when),
            recorded_at: at(when),
            clock_in_doubt: false,
            reading: None,
            measurements: Vec::new(),
            note: None,
        });
        self
    }

    /// The lowest tread at a wheel, in a yard check of its own.
    pub fn tread(self, when: &str, place: Place, mm: f64) -> Self {
        let entered = Entered::new(mm, Unit::Millimetre);
        self.measured_in(when, "tread-depth", place, Zone::Lowest, entered)
    }

    /// One measurement of a whole place, in an inspection of its own.
    pub fn measured(self, when: &str, point: &str, place: Place, entered: Entered) -> Self {
        self.measured_in(when, point, place, Zone::Whole, entered)
    }

    fn measured_in(self, when: &str, point: &str, place: Place, zone: Zone, entered: Entered) -> Self {
        let mut world = self.inspection("yard-check", when);
        let id = world.next_id();
        let exact = entered.exact().expect("a quantity");
        let measurement = Measurement { id, point: code(point), place, zone, entered, exact };
        world.facts.inspections.last_mut().expect("one was mentioned").measurements.push(measurement);
        world
    }

    pub fn fitted(mut self, kind: &str, place: Place, from: &str) -> Self {
        let (component, fitting) = (self.next_id(), self.next_id());
        self.facts.components.push(Component {
            id: component,
            kind: code(kind),
            product: "Hartwell 4".to_owned(),
            depth_new: None,
            came_used: false,
            recorded_at: at(&format!("{from} 09:00")),
        });
        self.facts.fittings.push(Fitting {
            id: fitting,
            component,
            vehicle: self.facts.vehicle.id,
            place,
            from: day(from),
            from_odometer: Distance::ZERO,
            to: None,
            to_odometer: None,
        });
        self
    }

    pub fn finding(mut self, component: Option<&str>, weight: FindingWeight, found: &str) -> Self {
        let id = self.next_id();
        self.facts.findings.push(Finding {
            id,
            inspection: None,
            code: code("suspension-noise"),
            component: component.map(code),
            place: Place::FrontLeft,
            weight,
            note: "knocks over kerbs".to_owned(),
            found_at: at(found),
            closed_at: None,
        });
        self
    }

    pub fn horizon(&self) -> Horizon {
        engine::horizon(&self.facts, &self.policy)
    }

    /// The due item of this key, if there is one.
    pub fn item(&self, key: &str) -> Option<DueItem> {
        self.horizon().items.into_iter().find(|item| item.key.0 == key)
    }

    /// The due item of the rule with this code.
    pub fn due(&self, rule: &str) -> DueItem {
        self.item(&format!("rule:{rule}")).unwrap_or_else(|| panic!("no due item for {rule}"))
    }

    /// The first window.
    pub fn first_window(&self) -> WindowOutlook {
        self.horizon().windows.swap_remove(0)
    }

    pub fn judgement(&self, reading: usize) -> Verdict {
        let id = self.facts.readings[reading].id;
        self.horizon()
            .judgements
            .into_iter()
            .find(|judged| judged.reading == id)
            .expect("every reading is judged")
            .verdict
    }

    pub fn because(&self, key: &str) -> Vec<String> {
        let explanation = engine::explain(&self.facts, &self.policy, &ItemKey(key.to_owned()));
        let explanation = explanation.unwrap_or_else(|| panic!("no explanation for {key}"));
        engine::words::because(&explanation, self.facts.vehicle.odometer_unit)
    }
}

/// Every so many kilometres.
pub fn every_km(value: f64) -> Every {
    Every { distance: Some(km(value)), ..Every::default() }
}

/// Every so many months.
pub fn every_months(months: u32) -> Every {
    Every { months: Some(months), ..Every::default() }
}

/// Every so many kilometres or months.
pub fn every_km_or_months(value: f64, months: u32) -> Every {
    Every { distance: Some(km(value)), months: Some(months), days: None, engine_hours: None }
}

/// The instant of a moment that must be there.
pub fn instant(moment: Option<Moment>) -> DateTime<Utc> {
    moment.expect("the moment should be known").at
}
