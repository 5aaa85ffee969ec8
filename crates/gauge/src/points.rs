//! The catalogue of check points: what can be measured, where, in which units, and within which range it is plausible.

use crate::assessment::Assessment;
use crate::grading::Bench;
use crate::limit::Discipline;
use crate::measured::MeasuredSet;
use crate::{pads, pressure, tread};
use model::{Measurement, Place, Zone};
use quantity::{Dimension, Entered, QuantityError, Unit};

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
    pub(crate) assess: Assess,
}

const FOUR_WHEELS: &[Place] = &[Place::FrontLeft, Place::FrontRight, Place::RearLeft, Place::RearRight];
const FIVE_WHEELS: &[Place] =
    &[Place::FrontLeft, Place::FrontRight, Place::RearLeft, Place::RearRight, Place::Spare];
const DEPTH_UNITS: &[Unit] = &[Unit::Millimetre, Unit::ThirtySecondInch];
const PRESSURE_UNITS: &[Unit] = &[Unit::Kilopascal, Unit::Bar, Unit::Psi];

// The plausible ranges are settings (common practice, no source): wide enough for any part that fits these vehicles.
static POINTS: [CheckPoint; 3] = [
    CheckPoint {
        code: "cold-pressure",
        title: "Cold tyre pressure",
        discipline: Discipline::Pressure,
        dimension: Dimension::Pressure,
        units: PRESSURE_UNITS,
        places: FIVE_WHEELS,
        zones: &[Zone::Whole],
        least: Entered::new(0.0, Unit::Kilopascal),
        most: Entered::new(1000.0, Unit::Kilopascal),
        assess: pressure::assess,
    },
    CheckPoint {
        code: "pad-thickness",
        title: "Brake pad thickness, friction material without backing plate",
        discipline: Discipline::Pads,
        dimension: Dimension::Depth,
        units: DEPTH_UNITS,
        places: FOUR_WHEELS,
        zones: &[Zone::Inner, Zone::Outer],
        least: Entered::new(0.0, Unit::Millimetre),
        most: Entered::new(25.0, Unit::Millimetre),
        assess: pads::assess,
    },
    CheckPoint {
        code: "tread-depth",
        title: "Tread depth in the main grooves",
        discipline: Discipline::Tread,
        dimension: Dimension::Depth,
        units: DEPTH_UNITS,
        places: FIVE_WHEELS,
        zones: &[Zone::Inner, Zone::Centre, Zone::Outer, Zone::Lowest],
        least: Entered::new(0.0, Unit::Millimetre),
        most: Entered::new(25.0, Unit::Millimetre),
        assess: tread::assess,
    },
];

/// The check point with this code.
pub fn point(code: &str) -> Option<&'static CheckPoint> {
    POINTS.iter().find(|point| point.code == code)
}

/// Every check point, in the order of their codes.
pub fn points() -> &'static [CheckPoint] {
    &POINTS
}

impl CheckPoint {
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
        let (least, most) = self.range();
        if (least..=most).contains(&exact) {
            return Ok(exact);
        }
        let [least, most] = [least, most].map(|end| Entered::from_exact(end, entered.unit));
        Err(PointError::Implausible { point, entered, least, most })
    }

    /// Whether a measurement already recorded can be graded.
    pub(crate) fn would_take(&self, value: &Measurement) -> bool {
        let (least, most) = self.range();
        self.accepts(value.place, value.zone, value.entered.unit).is_ok()
            && (least..=most).contains(&value.exact)
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
    /// No quantity at all.
    #[error(transparent)]
    Quantity(#[from] QuantityError),
}

fn listed<T: std::fmt::Display>(allowed: &[T]) -> String {
    allowed.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
}
