//! Meters other than the odometer's log: replaced instruments, running hours, the dash's own service indicator.

use crate::define::{answer, request};
use crate::number::{Percent, Whole};
use crate::quantity::{Distance, MeterValue, Quantity, RunningTime};
use crate::reader::Reader;
use crate::reading::{Doubt, kind_and_value};
use crate::text::Text;
use ::quantity::Dimension;
use chrono::{DateTime, Utc};
use model::{
    Code, DecisionId, IndicatorId, IndicatorLeft, MeterQuantity, ReadingId, ReadingSource, ReplacementId,
};

answer! {
    /// The replacement of a meter: readings from then on are of the new instrument.
    MeterReplacement {
        /// Its id.
        id: ReplacementId,
        /// Which meter.
        quantity: MeterQuantity,
        /// When.
        replaced_at: DateTime<Utc>,
        /// What the old one showed last.
        old_shows: Quantity = {"value": 118_240, "unit": "km"},
        /// What the new one showed first.
        new_shows: Quantity = {"value": 0, "unit": "km"},
        /// Why.
        reason: String = "Cluster dark after a wet night.",
        /// When it was recorded.
        recorded_at: DateTime<Utc>,
    }
}

impl From<model::MeterReplacement> for MeterReplacement {
    fn from(replacement: model::MeterReplacement) -> Self {
        let model::MeterReplacement { id, quantity, replaced_at, old_shows, new_shows, reason, recorded_at } =
            replacement;
        let (old_shows, new_shows) = (old_shows.into(), new_shows.into());
        Self { id, quantity, replaced_at, old_shows, new_shows, reason, recorded_at }
    }
}

request! {
    /// That a meter was replaced.
    NewMeterReplacement {
        /// Which meter.
        quantity: MeterQuantity,
        /// When. Readings from then on are of the new instrument.
        replaced_at: DateTime<Utc>,
        /// What the old one showed last.
        old_shows: MeterValue,
        /// What the new one showed first.
        new_shows: MeterValue = {"value": 0, "unit": "km"},
        /// Why. It is kept.
        reason: Text<1000> = "Cluster dark after a wet night.",
    } checked by shows_its_quantity
}

fn shows_its_quantity(new: &NewMeterReplacement, reader: &mut Reader) {
    let (dimension, units) = match new.quantity {
        MeterQuantity::Distance => (Dimension::Distance, "km or mi"),
        MeterQuantity::Hours => (Dimension::RunningTime, "h"),
    };
    for (member, shown) in [("old_shows", new.old_shows.0), ("new_shows", new.new_shows.0)] {
        if shown.unit.dimension() != dimension {
            let wanted = format!("the unit of this meter is {units}");
            reader
                .within(member, |reader| reader.within("unit", |reader| reader.fault("not-one-of", wanted)));
        }
    }
}

answer! {
    /// How a reading of running hours is judged. Derived from the whole log, whatever the order of arrival.
    HourJudgement {
        /// `counted`, `held` or `withdrawn`.
        verdict: String = "counted",
        /// The value that counts, for a counted one.
        hours: Option<Quantity> = {"value": 1812.5, "unit": "h"},
        /// Why it is held, for a held one.
        doubt: Option<Doubt> = null,
        /// What was probably meant, where that is evident.
        suggested: Option<Quantity> = null,
    }
}

answer! {
    /// One entry of the log of running hours.
    HourReading {
        /// Its id.
        id: ReadingId,
        /// As it was entered.
        entered: Quantity = {"value": 1812.5, "unit": "h"},
        /// When it was read.
        read_at: DateTime<Utc>,
        /// When it was recorded.
        recorded_at: DateTime<Utc> = "2026-11-02T08:16:04Z",
        /// Where it came from.
        source: ReadingSource,
        /// Whether the time cannot be trusted.
        clock_in_doubt: bool,
        /// How it is judged.
        judgement: Option<HourJudgement>,
    }
}

impl HourReading {
    /// The reading with how it is judged.
    pub fn of(reading: &model::HourReading, judgement: Option<HourJudgement>) -> Self {
        Self {
            id: reading.id,
            entered: reading.entered.into(),
            read_at: reading.read_at,
            recorded_at: reading.recorded_at,
            source: reading.source,
            clock_in_doubt: reading.clock_in_doubt,
            judgement,
        }
    }
}

request! {
    /// A reading of the engine's hour meter.
    NewHourReading {
        /// What it shows.
        value: RunningTime,
        /// When it was read.
        read_at: DateTime<Utc>,
        /// Where it comes from.
        source: ReadingSource,
    }
}

request! {
    /// What a reading of running hours should have said.
    HourCorrection {
        /// The right value.
        value: RunningTime = {"value": 1821.5, "unit": "h"},
        /// Why.
        reason: Text<1000> = "Two digits were swapped.",
    }
}

answer! {
    /// What a person decided about a reading of running hours. The latest decision holds.
    HourReadingDecision {
        /// Its id.
        id: DecisionId,
        /// The reading.
        reading: ReadingId,
        /// `release`, `correct` or `withdraw`.
        kind: String = "correct",
        /// The right value, for a correction.
        value: Option<Quantity> = {"value": 1821.5, "unit": "h"},
        /// Why.
        reason: String = "Two digits were swapped.",
        /// When.
        recorded_at: DateTime<Utc>,
        /// How the reading is judged now.
        judgement: Option<HourJudgement>,
    }
}

impl HourReadingDecision {
    /// The decision, with how the reading is judged now.
    pub fn of(decided: model::ReadingDecision, judgement: Option<HourJudgement>) -> Self {
        let (kind, value) = kind_and_value(&decided.decision);
        let model::ReadingDecision { id, reading, reason, recorded_at, .. } = decided;
        Self { id, reading, kind: kind.to_owned(), value, reason, recorded_at, judgement }
    }
}

answer! {
    /// What the dash's own service indicator says is left: one of `percent`, `distance` and `days`.
    Left {
        /// Share of the interval, 0 to 100.
        percent: Option<f64> = 15,
        /// Distance.
        distance: Option<Quantity> = null,
        /// Days.
        days: Option<u32> = null,
    }
}

impl From<IndicatorLeft> for Left {
    fn from(left: IndicatorLeft) -> Self {
        let nothing = Self { percent: None, distance: None, days: None };
        match left {
            IndicatorLeft::Percent { percent } => Self { percent: Some(percent), ..nothing },
            IndicatorLeft::Distance { distance } => Self { distance: Some(distance.into()), ..nothing },
            IndicatorLeft::Days { days } => Self { days: Some(days), ..nothing },
        }
    }
}

request! {
    /// What the indicator says is left: exactly one of `percent`, `distance` and `days`; zero where it says due.
    NewLeft {
        /// Share of the interval, 0 to 100.
        percent: Option<Percent> = 15,
        /// Distance.
        distance: Option<Distance> = null,
        /// Days.
        days: Option<Whole<0, 3650>> = null,
    } checked by says_one_thing
}

fn says_one_thing(left: &NewLeft, reader: &mut Reader) {
    let said = [left.percent.is_some(), left.distance.is_some(), left.days.is_some()];
    if said.into_iter().filter(|said| *said).count() != 1 {
        reader.fault("one-of-three", "exactly one of `percent`, `distance` and `days` is needed");
    }
}

impl NewLeft {
    /// What is left in the model's terms; `None` where nothing is said, which reading it has ruled out.
    pub fn left(self) -> Option<IndicatorLeft> {
        let percent = self.percent.map(|percent| IndicatorLeft::Percent { percent: percent.0 });
        let distance = self.distance.map(|distance| IndicatorLeft::Distance { distance: distance.0 });
        let days = self.days.map(|days| IndicatorLeft::Days { days: days.unsigned() });
        percent.or(distance).or(days)
    }
}

answer! {
    /// A reading of the dash's own service indicator. The newest one of a rule holds.
    IndicatorReading {
        /// Its id.
        id: IndicatorId,
        /// The rule it speaks of.
        rule: Code,
        /// What it said was left.
        left: Left,
        /// The odometer read along with it.
        reading: Option<ReadingId> = null,
        /// When it was read.
        read_at: DateTime<Utc>,
        /// When it was recorded.
        recorded_at: DateTime<Utc>,
    }
}

impl From<model::IndicatorReading> for IndicatorReading {
    fn from(reading: model::IndicatorReading) -> Self {
        let model::IndicatorReading { id, rule, left, reading, read_at, recorded_at } = reading;
        Self { id, rule, left: left.into(), reading, read_at, recorded_at }
    }
}

request! {
    /// What the dash's own service indicator says.
    NewIndicatorReading {
        /// The rule it speaks of: one of the vehicle's rulebook that has an `indicator`.
        rule: Code,
        /// What it says is left.
        left: NewLeft,
        /// What the odometer shows. It goes into the meter log and is judged there.
        odometer: Option<Distance>,
        /// When both were read.
        read_at: DateTime<Utc>,
        /// Where they come from.
        source: ReadingSource = "driver",
    }
}
