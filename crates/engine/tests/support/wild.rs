//! Histories as a forecaster sees them: entered as readings, one in a hundred of them wild, and judged.

use crate::dice::Dice;
use crate::horizon::world::World;
use chrono::{DateTime, TimeDelta, Utc};
use forecast::History;
use model::{OdometerReading, ReadingId, ReadingSource, Verdict};
use quantity::{Distance, Entered, Unit};
use std::str::FromStr;

/// Share of readings that are wild; the last one, of today, is right.
const WILD: f64 = 0.01;
/// What the odometer stood at when the history begins, km.
const BEGINS_AT_KM: f64 = 23_456.0;

/// What judging made of all readings so far.
#[derive(Debug, Default)]
pub struct Judged {
    pub wild: u32,
    pub wild_counted: u32,
    pub right: u32,
    pub right_held: u32,
}

impl Judged {
    /// Wild readings seen so far, those that were counted, and right ones that were held.
    pub fn told(&self) -> String {
        let Self { wild, wild_counted, right, right_held } = self;
        format!(
            "Of {wild} wild readings {wild_counted} were counted, of {right} right ones {right_held} were held."
        )
    }

    /// What is left of a history after judging.
    pub fn seen(&mut self, history: &History, dice: &mut Dice) -> History {
        let entered = entered(history, dice);
        let mut facts = World::new().used_since("2024-01-01").facts;
        facts.readings = entered.iter().map(|(reading, _)| reading.clone()).collect();
        let judgements = engine::judge(&facts);
        for (reading, is_wild) in &entered {
            let judged = judgements.iter().find(|judged| judged.reading == reading.id);
            let is_held = judged.is_some_and(|judged| matches!(judged.verdict, Verdict::Held { .. }));
            self.count(*is_wild, is_held);
        }
        History { gaps: engine::gaps(&facts) }
    }

    fn count(&mut self, is_wild: bool, is_held: bool) {
        self.wild += u32::from(is_wild);
        self.wild_counted += u32::from(is_wild && !is_held);
        self.right += u32::from(!is_wild);
        self.right_held += u32::from(!is_wild && is_held);
    }
}

/// A Monday.
fn today() -> DateTime<Utc> {
    DateTime::from_str("2026-01-05T00:00:00Z").expect("an instant")
}

/// The readings of a history, the last one today, and which of them are wild.
fn entered(history: &History, dice: &mut Dice) -> Vec<(OdometerReading, bool)> {
    let total: f64 = history.gaps.iter().map(|gap| gap.days).sum();
    let mut stands = vec![(-total, BEGINS_AT_KM)];
    for gap in &history.gaps {
        let (day, km) = *stands.last().expect("never empty");
        stands.push((day + gap.days, km + gap.km));
    }
    let last = stands.len() - 1;
    let numbered = stands.into_iter().enumerate();
    numbered
        .map(|(number, (day, km))| {
            let is_wild = number < last && dice.unit() < WILD;
            let shown = km.round();
            (reading(number, day, if is_wild { mistaken(shown, dice) } else { shown }), is_wild)
        })
        .collect()
}

/// Read off wrongly: in the other unit, with a digit too many, too few or another, or any number at all.
fn mistaken(km: f64, dice: &mut Dice) -> f64 {
    let place = libm::pow(10.0, dice.between(2.0, 5.0).floor());
    let wrong = match dice.unit() {
        kind if kind < 0.2 => km / 1.609_344,
        kind if kind < 0.4 => km * 10.0,
        kind if kind < 0.6 => km / 10.0,
        kind if kind < 0.8 => km + place * dice.between(1.0, 9.0).round(),
        _ => dice.between(0.0, 300_000.0),
    };
    wrong.round()
}

fn reading(number: usize, day: f64, km: f64) -> OdometerReading {
    let entered = Entered::new(km, Unit::Kilometre);
    #[expect(clippy::cast_possible_truncation, reason = "two years have 63 million seconds")]
    let read_at = today() + TimeDelta::seconds((day * 86_400.0).round() as i64);
    OdometerReading {
        id: ReadingId::from_str(&format!("00000000-0000-7000-8000-{number:012x}")).expect("an id"),
        entered,
        odometer: Distance::parse(entered).expect("a distance"),
        read_at,
        recorded_at: read_at,
        source: ReadingSource::Technician,
        clock_in_doubt: false,
    }
}
