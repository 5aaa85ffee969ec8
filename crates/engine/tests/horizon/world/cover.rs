//! Worlds in which a test mentions cover and meters.

use super::{World, at, day};
use model::*;
use quantity::{Entered, Unit};

impl World {
    /// Bought on this day, after whatever was before.
    pub fn acquired(mut self, on: &str) -> Self {
        self.facts.vehicle.acquired_on = day(on);
        self
    }

    /// Used for this from its first day.
    pub fn duty(mut self, duty: Duty) -> Self {
        self.facts.vehicle.attributes[0].duty = duty;
        self
    }

    /// A workshop that makes warranty work on these weekdays (Monday the lowest bit).
    pub fn workshop(mut self, name: &str, lead_days: u32, weekdays: u8) -> Self {
        let id = self.next_id();
        self.facts.workshops.push(Workshop {
            id,
            name: name.to_owned(),
            kind: WorkshopKind::Dealer,
            lead_days,
            warranty_work: true,
            working_weekdays: Weekdays::from_bits(weekdays).expect("weekdays"),
            version: 1,
        });
        self
    }

    /// A reading of the hour meter.
    pub fn hours_from(mut self, when: &str, hours: f64, source: ReadingSource) -> Self {
        let id = self.next_id();
        let entered = Entered::new(hours, Unit::Hour);
        self.facts.hour_readings.push(HourReading {
            id,
            entered,
            seconds: entered.exact().expect("a running time"),
            read_at: at(when),
            recorded_at: at(when),
            source,
            clock_in_doubt: false,
        });
        self
    }

    /// A meter was replaced: the old one showed this last, the new one that first.
    pub fn replaced(mut self, when: &str, old_shows: Entered, new_shows: Entered) -> Self {
        let id = self.next_id();
        let quantity = match old_shows.unit {
            Unit::Hour => MeterQuantity::Hours,
            _ => MeterQuantity::Distance,
        };
        let (replaced_at, recorded_at) = (at(when), at(when));
        let reason = "the instrument cluster failed".to_owned();
        self.facts.meter_replacements.push(MeterReplacement {
            id,
            quantity,
            replaced_at,
            old_shows,
            new_shows,
            reason,
            recorded_at,
        });
        self
    }

    /// A lease with a cap on distance.
    pub fn lease(self, months: u32, cap: Entered) -> Self {
        self.window(Some(months), Some(cap)).terms(|terms| {
            terms.kind = WindowKind::Lease;
            "Van lease".clone_into(&mut terms.title);
        })
    }

    pub fn hour_judgement(&self, reading: usize) -> HourVerdict {
        let id = self.facts.hour_readings[reading].id;
        let judgements = self.horizon().hour_judgements;
        judgements.into_iter().find(|judged| judged.reading == id).expect("every reading is judged").verdict
    }

    /// The reasons for the first window.
    pub fn because_window(&self) -> Vec<String> {
        self.because(&format!("window:{}", self.facts.windows[0].id))
    }
}
