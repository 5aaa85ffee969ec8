//! A vehicle and its inspections, saying only what matters to a test.

use gauge::{Background, Part, Subject, Yardstick};
use model::horizon::Graded;
use model::{
    Code, Component, Inspection, Jurisdiction, Measurement, Placard, Place, Powertrain, Vehicle, Zone,
    parse_zone,
};
use quantity::{Distance, Entered, Unit};

pub const WHEELS: [Place; 4] = [Place::FrontLeft, Place::FrontRight, Place::RearLeft, Place::RearRight];
pub const THREE: [Zone; 3] = [Zone::Inner, Zone::Centre, Zone::Outer];

/// The id with this number.
pub fn id<T: std::str::FromStr>(number: usize) -> T {
    let text = format!("00000000-0000-4000-8000-{number:012}");
    text.parse().ok().expect("a well-formed id")
}

pub const fn mm(value: f64) -> Entered {
    Entered::new(value, Unit::Millimetre)
}

pub const fn in32(value: f64) -> Entered {
    Entered::new(value, Unit::ThirtySecondInch)
}

pub const fn psi(value: f64) -> Entered {
    Entered::new(value, Unit::Psi)
}

pub const fn celsius(value: f64) -> Entered {
    Entered::new(value, Unit::Celsius)
}

pub const fn kpa(value: f64) -> Entered {
    Entered::new(value, Unit::Kilopascal)
}

/// A car of 1800 kg under this law, with a placard of 36 psi in front and 32 psi behind.
pub fn car(jurisdiction: Jurisdiction) -> Vehicle {
    Vehicle {
        id: id(1),
        fleet: id(2),
        vin: None,
        make: "Merrow".to_owned(),
        model: "Parcel 3".to_owned(),
        model_year: Some(2024),
        powertrain: Powertrain::Petrol,
        gross_mass_kg: Some(1800),
        tags: Vec::new(),
        in_service_on: None,
        in_service_odometer: Distance::ZERO,
        history_unknown: false,
        acquired_on: "2024-03-01".parse().expect("a day"),
        odometer_unit: Unit::Mile,
        placard: Placard { front: Some(psi(36.0)), rear: Some(psi(32.0)) },
        retired_on: None,
        attributes: Vec::new(),
        zone: parse_zone("Etc/UTC").expect("a zone"),
        jurisdiction,
        design_low: None,
        version: 1,
    }
}

pub fn weighing(gross_mass_kg: impl Into<Option<u32>>, vehicle: Vehicle) -> Vehicle {
    Vehicle { gross_mass_kg: gross_mass_kg.into(), ..vehicle }
}

pub fn with_placard(front: Option<Entered>, rear: Option<Entered>, vehicle: Vehicle) -> Vehicle {
    Vehicle { placard: Placard { front, rear }, ..vehicle }
}

/// All grades of a vehicle whose fleet sets no limits of its own and has no components on record.
pub fn grade_all(vehicle: &Vehicle, inspections: &[Inspection]) -> Vec<Graded> {
    grade_with(vehicle, inspections, &[])
}

/// All grades of a vehicle with these components fitted.
pub fn grade_with(vehicle: &Vehicle, inspections: &[Inspection], parts: &[Part<'_>]) -> Vec<Graded> {
    let background = Background::default();
    gauge::grade_all(&Subject { yardstick: Yardstick::shipped(vehicle), inspections, parts, background })
}

/// A component of this kind; its number gives its id.
pub fn component(number: usize, kind: &str) -> Component {
    Component {
        id: id(number),
        kind: Code::new(kind).expect("a code"),
        product: "Merrow plain".to_owned(),
        depth_new: None,
        came_used: false,
        recorded_at: "2027-01-01T00:00:00Z".parse().expect("a moment"),
    }
}

/// One inspection under construction; its number gives its id and that of its measurements.
#[derive(Clone)]
pub struct Check {
    number: usize,
    inspection: Inspection,
}

/// An inspection at noon of this day.
pub fn check(number: usize, day: &str) -> Check {
    let inspection = Inspection {
        id: id(number),
        sheet: Code::new("walk-round").expect("a code"),
        sheet_version: 1,
        performed_at: format!("{day}T12:00:00Z").parse().expect("a moment"),
        recorded_at: format!("{day}T12:00:01Z").parse().expect("a moment"),
        clock_in_doubt: false,
        reading: None,
        measurements: Vec::new(),
        note: None,
    };
    Check { number, inspection }
}

impl Check {
    pub fn measured(mut self, point: &str, place: Place, zone: Zone, entered: Entered) -> Self {
        let number = self.number * 1000 + self.inspection.measurements.len();
        self.inspection.measurements.push(Measurement {
            id: id(number),
            point: Code::new(point).expect("a code"),
            place,
            zone,
            entered,
            exact: entered.exact().expect("a quantity"),
        });
        self
    }

    pub fn tread(self, place: Place, zones: [Entered; 3]) -> Self {
        THREE
            .into_iter()
            .zip(zones)
            .fold(self, |check, (zone, entered)| check.measured("tread-depth", place, zone, entered))
    }

    pub fn lowest_tread(self, place: Place, entered: Entered) -> Self {
        self.measured("tread-depth", place, Zone::Lowest, entered)
    }

    pub fn pressure(self, place: Place, entered: Entered) -> Self {
        self.measured("cold-pressure", place, Zone::Whole, entered)
    }

    pub fn pads(self, place: Place, inner: Entered, outer: Entered) -> Self {
        self.measured("pad-thickness", place, Zone::Inner, inner).outer_pad(place, outer)
    }

    pub fn outer_pad(self, place: Place, outer: Entered) -> Self {
        self.measured("pad-thickness", place, Zone::Outer, outer)
    }

    pub fn answered(self, point: &str, place: Place, word: &str) -> Self {
        let kept = gauge::point(point).expect("a point").answered(word).expect("an answer");
        self.measured(point, place, Zone::Whole, kept)
    }

    pub fn clock_in_doubt(mut self) -> Self {
        self.inspection.clock_in_doubt = true;
        self
    }

    pub fn done(self) -> Inspection {
        self.inspection
    }

    /// All grades, with this as the only inspection.
    pub fn graded(self, vehicle: &Vehicle) -> Vec<Graded> {
        grade_all(vehicle, &[self.done()])
    }

    /// The grade at one place, with this as the only inspection.
    pub fn graded_at(self, place: Place, vehicle: &Vehicle) -> Graded {
        self.graded(vehicle).into_iter().find(|graded| graded.place == place).expect("a grade at the place")
    }
}

/// What the vehicle as a whole comes to at this point, with this as its only inspection of anything.
pub fn whole(point: &str, entered: Entered) -> Graded {
    let inspection = check(1, "2027-03-01").measured(point, Place::Vehicle, Zone::Whole, entered);
    inspection.graded_at(Place::Vehicle, &car(Jurisdiction::Uk))
}

/// The grade of one lowest tread value on the front left tyre.
pub fn tread_of(entered: Entered, vehicle: &Vehicle) -> Graded {
    check(1, "2027-03-01").lowest_tread(Place::FrontLeft, entered).graded_at(Place::FrontLeft, vehicle)
}

/// The grade of one cold pressure on the front left tyre.
pub fn pressure_of(entered: Entered, vehicle: &Vehicle) -> Graded {
    check(1, "2027-03-01").pressure(Place::FrontLeft, entered).graded_at(Place::FrontLeft, vehicle)
}

/// The grade of equal inner and outer pads of the front left wheel.
pub fn pads_of(entered: Entered, vehicle: &Vehicle) -> Graded {
    check(1, "2027-03-01").pads(Place::FrontLeft, entered, entered).graded_at(Place::FrontLeft, vehicle)
}

/// Whether any sentence of advice says this.
pub fn advises(graded: &Graded, words: &str) -> bool {
    graded.advice.iter().any(|sentence| sentence.contains(words))
}
