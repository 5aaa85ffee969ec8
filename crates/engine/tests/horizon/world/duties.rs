//! What a world may further mention: seasons, calendars, grids, indicators, hour meters, stays.

use super::{World, at, code};
use model::horizon::DueItem;
use model::*;
use quantity::{Entered, Unit};

impl World {
    pub fn season(self, rule: &str, from: &str, to: &str) -> Self {
        let day = |text: &str| text.parse::<MonthDay>().expect("a day of the year");
        let season = Season { from: day(from), to: day(to) };
        self.rule(rule, Every::default()).amend(|rule| rule.trigger = Trigger::Season(season))
    }

    pub fn calendar(self, rule: &str, cron: &str) -> Self {
        let calendar = Calendar { cron: cron.to_owned() };
        self.rule(rule, Every::default()).amend(|rule| rule.trigger = Trigger::Calendar(calendar))
    }

    pub fn when_graded(self, rule: &str, point: &str, at_least: Grade) -> Self {
        let when = When::Grade { point: code(point), at_least };
        self.rule(rule, Every::default()).amend(|rule| rule.trigger = Trigger::When(when))
    }

    pub fn when_near(self, rule: &str, component: &str, within: Reach) -> Self {
        let when = When::Limit { component: code(component), within };
        self.rule(rule, Every::default()).amend(|rule| rule.trigger = Trigger::When(when))
    }

    /// The rule follows work on any of those.
    pub fn after_work(self, rule: &str, of: &[&str], within: Reach) -> Self {
        let when = When::Work { of: of.iter().map(|rule| code(rule)).collect(), within };
        self.rule(rule, Every::default()).amend(|rule| rule.trigger = Trigger::When(when))
    }

    /// The rule mentioned last counts in multiples from the first day in service.
    pub fn on_grid(self) -> Self {
        self.amend(|rule| rule.anchor = Anchoring::Grid)
    }

    pub fn first(self, every: Every) -> Self {
        self.amend(|rule| rule.first = Some(every))
    }

    /// The rule mentioned last looks at the dash's own indicator.
    pub fn looks_at_dash(self) -> Self {
        self.amend(|rule| rule.indicator = true)
    }

    pub fn dash(mut self, rule: &str, when: &str, left: IndicatorLeft) -> Self {
        let id = self.next_id();
        let (read_at, recorded_at) = (at(when), at(when));
        self.facts.indicators.push(IndicatorReading {
            id,
            rule: code(rule),
            left,
            reading: None,
            read_at,
            recorded_at,
        });
        self
    }

    pub fn hours(mut self, when: &str, hours: f64) -> Self {
        let id = self.next_id();
        let entered = Entered::new(hours, Unit::Hour);
        self.facts.hour_readings.push(HourReading {
            id,
            entered,
            seconds: entered.exact().expect("a running time"),
            read_at: at(when),
            recorded_at: at(when),
            source: ReadingSource::Technician,
            clock_in_doubt: false,
        });
        self
    }

    pub fn stay(mut self, came: &str, out: Option<&str>) -> Self {
        let id = self.next_id();
        self.facts.stays.push(Stay {
            id,
            workshop: None,
            in_at: at(came),
            out_at: out.map(at),
            reason: "gearbox".to_owned(),
            waiting_for: Some("a part".to_owned()),
            recorded_at: at(came),
        });
        self
    }

    /// The list "before it goes out again" of the first stay, if there is one.
    pub fn before_out(&self) -> Option<DueItem> {
        self.item(&format!("stay:{}", self.facts.stays[0].id))
    }
}

/// Every so many hours of running time.
pub fn every_hours(hours: f64) -> Every {
    Every { engine_hours: Some(Entered::new(hours, Unit::Hour)), ..Every::default() }
}
