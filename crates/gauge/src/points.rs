//! The catalogue of check points: what can be measured, where, in which units, and within which range it is plausible.

use crate::answer::Answer;
use crate::assessment::Assessment;
use crate::grading::Bench;
use crate::limit::Discipline;
use crate::measured::MeasuredSet;
use crate::{
    brake_fluid, coolant, engine_oil, filters, lining, pads, pressure, rotation, rotors, shoes,
    starter_battery, traction_battery, tread, urea, walk,
};
use model::{Measurement, Place, Zone};
use quantity::{Dimension, Entered, QuantityError, Unit};
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// How a discipline grades one set of measurements, seeing what else lies on the bench.
pub(crate) type Assess = for<'a> fn(&Bench<'a>, &MeasuredSet<'a>) -> Assessment;

/// Something that can be measured on a vehicle.
#[derive(Debug)]
pub struct CheckPoint {
    /// Its code, as on check sheets and measurements.
    pub code: &'static str,
    /// As a person reads it.
    pub title: &'static str,
    /// The discipline that grades it.
    pub discipline: Discipline,
    /// What its units measure.
    pub dimension: Dimension,
    /// The units it may be entered in.
    pub units: &'static [Unit],
    /// Where on a vehicle it is taken.
    pub places: &'static [Place],
    /// Where at a place.
    pub zones: &'static [Zone],
    /// The lowest plausible value.
    pub least: Entered,
    /// The highest plausible value.
    pub most: Entered,
    /// The answers it takes in place of a number; none where it is measured. An answer is kept as its place in this list,
    /// counted from one, so new ones go to its end.
    pub answers: &'static [Answer],
    /// `None` where it is only noted, to judge other points by.
    pub(crate) assess: Option<Assess>,
}

pub(crate) const FOUR_WHEELS: &[Place] =
    &[Place::FrontLeft, Place::FrontRight, Place::RearLeft, Place::RearRight];
pub(crate) const FIVE_WHEELS: &[Place] =
    &[Place::FrontLeft, Place::FrontRight, Place::RearLeft, Place::RearRight, Place::Spare];
pub(crate) const WHOLE_VEHICLE: &[Place] = &[Place::Vehicle];
pub(crate) const WHOLE: &[Zone] = &[Zone::Whole];
pub(crate) const DEPTH_UNITS: &[Unit] = &[Unit::Millimetre, Unit::ThirtySecondInch];
pub(crate) const TEMPERATURE_UNITS: &[Unit] = &[Unit::Celsius, Unit::Fahrenheit];
pub(crate) const PRESSURE_UNITS: &[Unit] = &[Unit::Kilopascal, Unit::Bar, Unit::Psi];
/// What points that are answered by a word have in common; their discipline, places and answers are their own.
pub(crate) const ANSWERED: CheckPoint = CheckPoint {
    code: "",
    title: "",
    discipline: Discipline::Tread,
    dimension: Dimension::Answer,
    units: &[Unit::Answer],
    places: FIVE_WHEELS,
    zones: WHOLE,
    least: Entered::new(1.0, Unit::Answer),
    most: Entered::new(255.0, Unit::Answer),
    answers: &[],
    assess: Some(crate::answer::assess),
};

/// What answered points that are only noted have in common.
pub(crate) const NOTED: CheckPoint = CheckPoint { assess: None, ..ANSWERED };

/// Every check point by its code, from the disciplines' own lists.
static BY_CODE: LazyLock<BTreeMap<&'static str, &'static CheckPoint>> = LazyLock::new(|| {
    let lists: [&'static [CheckPoint]; 16] = [
        &brake_fluid::POINTS,
        &coolant::POINTS,
        &engine_oil::POINTS,
        &filters::POINTS,
        &lining::POINTS,
        &pads::POINTS,
        &pressure::POINTS,
        &rotation::driveline::POINTS,
        &rotation::fitment::POINTS,
        &rotors::POINTS,
        &shoes::POINTS,
        &starter_battery::POINTS,
        &traction_battery::POINTS,
        &tread::POINTS,
        &urea::POINTS,
        &walk::POINTS,
    ];
    lists.into_iter().flatten().map(|point| (point.code, point)).collect()
});

/// The check point with this code.
pub fn point(code: &str) -> Option<&'static CheckPoint> {
    BY_CODE.get(code).copied()
}

/// Every check point, in the order of their codes.
pub fn points() -> impl Iterator<Item = &'static CheckPoint> {
    BY_CODE.values().copied()
}

impl CheckPoint {
    /// Whether it is graded; if not it is only noted, to judge other points by.
    pub const fn is_graded(&self) -> bool {
        self.assess.is_some()
    }

    /// Whether it can be taken at this place and zone in this unit.
    ///
    /// # Errors
    /// [`PointError`], naming what is allowed; place before zone before unit.
    pub fn accepts(&self, place: Place, zone: Zone, unit: Unit) -> Result<(), PointError> {
        let point = self.code;
        if !self.places.contains(&place) {
            return Err(PointError::Place { point, place, allowed: self.places });
        }
        if !self.zones.contains(&zone) {
            return Err(PointError::Zone { point, zone, allowed: self.zones });
        }
        if !self.units.contains(&unit) {
            return Err(PointError::Unit { point, unit, allowed: self.units });
        }
        Ok(())
    }

    /// The exact integer of a plausible value, in the base unit of the point's dimension.
    ///
    /// # Errors
    /// [`PointError::Unit`] for a unit it is not taken in, [`PointError::Implausible`] outside its range,
    /// [`PointError::Quantity`] for what is no number.
    pub fn plausible(&self, entered: Entered) -> Result<i64, PointError> {
        let point = self.code;
        if !self.units.contains(&entered.unit) {
            return Err(PointError::Unit { point, unit: entered.unit, allowed: self.units });
        }
        let exact = entered.exact_as(self.dimension)?;
        if !self.answers.is_empty() {
            let unknown = || PointError::Answer { point, given: entered.to_string(), allowed: self.answers };
            return self.answer_kept(exact).map(|_| exact).ok_or_else(unknown);
        }
        let (least, most) = self.range();
        if (least..=most).contains(&exact) {
            return Ok(exact);
        }
        let [least, most] = [least, most].map(|end| Entered::from_exact(end, entered.unit));
        Err(PointError::Implausible { point, entered, least, most })
    }

    /// The answer written with this word, as it is kept.
    ///
    /// # Errors
    /// [`PointError::Answer`], naming the answers there are; [`PointError::Measured`] where the point takes a number.
    pub fn answered(&self, word: &str) -> Result<Entered, PointError> {
        if self.answers.is_empty() {
            return Err(PointError::Measured { point: self.code, allowed: self.units });
        }
        let place = self.answers.iter().position(|answer| answer.word == word);
        let number =
            place.and_then(|place| u8::try_from(place + 1).ok()).ok_or_else(|| PointError::Answer {
                point: self.code,
                given: word.chars().take(80).collect(),
                allowed: self.answers,
            })?;
        Ok(Entered::new(f64::from(number), Unit::Answer))
    }

    /// The answer kept as this number.
    pub fn answer_kept(&self, exact: i64) -> Option<&'static Answer> {
        self.answers.get(usize::try_from(exact.checked_sub(1)?).ok()?)
    }

    /// Whether a measurement already recorded can be graded.
    pub(crate) fn would_take(&self, value: &Measurement) -> bool {
        let (least, most) = self.range();
        let is_plausible = if self.answers.is_empty() {
            (least..=most).contains(&value.exact)
        } else {
            self.answer_kept(value.exact).is_some()
        };
        is_plausible && self.accepts(value.place, value.zone, value.entered.unit).is_ok()
    }

    fn range(&self) -> (i64, i64) {
        let end =
            |value: Entered| value.exact().expect("ends of ranges are small numbers; a test reads them all");
        (end(self.least), end(self.most))
    }
}

/// Why a value cannot be taken for a check point.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PointError {
    /// Not taken there.
    #[error("{point} is not taken at {place}; the place must be one of {}", listed(allowed))]
    Place {
        /// The check point.
        point: &'static str,
        /// The place named.
        place: Place,
        /// The places that would do.
        allowed: &'static [Place],
    },
    /// No such zone.
    #[error("{point} has no zone {zone}; the zone must be one of {}", listed(allowed))]
    Zone {
        /// The check point.
        point: &'static str,
        /// The zone named.
        zone: Zone,
        /// The zones that would do.
        allowed: &'static [Zone],
    },
    /// Not measured in that unit.
    #[error("{point} is not measured in {unit}; the unit must be one of {}", listed(allowed))]
    Unit {
        /// The check point.
        point: &'static str,
        /// The unit named.
        unit: Unit,
        /// The units that would do.
        allowed: &'static [Unit],
    },
    /// Hardly possible on these vehicles.
    #[error("{entered} is not plausible for {point}; between {least} and {most} is")]
    Implausible {
        /// The check point.
        point: &'static str,
        /// What was entered.
        entered: Entered,
        /// The lowest plausible value, in the unit entered.
        least: Entered,
        /// The highest plausible value, in the unit entered.
        most: Entered,
    },
    /// None of its answers.
    #[error("{given:?} is no answer to {point}; the answer must be one of {}", words(allowed))]
    Answer {
        /// The check point.
        point: &'static str,
        /// What was answered.
        given: String,
        /// The answers that would do.
        allowed: &'static [Answer],
    },
    /// Answered by a word where a number is asked for.
    #[error(
        "{point} is measured, not answered by a word; give value and unit, the unit one of {}",
        listed(allowed)
    )]
    Measured {
        /// The check point.
        point: &'static str,
        /// The units that would do.
        allowed: &'static [Unit],
    },
    /// No quantity at all.
    #[error(transparent)]
    Quantity(#[from] QuantityError),
}

fn listed<T: std::fmt::Display>(allowed: &[T]) -> String {
    allowed.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
}

fn words(answers: &[Answer]) -> String {
    answers.iter().map(|answer| answer.word).collect::<Vec<_>>().join(", ")
}
