//! Vehicles.

use crate::define::{answer, request};
use crate::list::{Change, Many};
use crate::moment::DayOfWeek;
use crate::number::Whole;
use crate::quantity::{Distance, OdometerUnit, Pressure, Quantity};
use crate::text::Line;
use ::quantity::Unit;
use chrono::NaiveDate;
use model::{DepotId, Duty, Powertrain, RulebookId, VehicleId, Vin};

answer! {
    /// Cold tyre pressures from the vehicle's placard.
    Placard {
        /// Front axle.
        front: Option<Quantity> = {"value": 240, "unit": "kPa"},
        /// Rear axle.
        rear: Option<Quantity> = {"value": 250, "unit": "kPa"},
    }
}

request! {
    /// Cold tyre pressures from the vehicle's placard.
    NewPlacard {
        /// Front axle.
        front: Option<Pressure>,
        /// Rear axle.
        rear: Option<Pressure> = {"value": 250, "unit": "kPa"},
    }
}

answer! {
    /// A vehicle as it stands now.
    Vehicle {
        /// Its id.
        id: VehicleId,
        /// Vehicle identification number.
        vin: Option<Vin>,
        /// Who made it.
        make: String = "Arcadia",
        /// Which model.
        model: String = "Carrier 2",
        /// Model year.
        model_year: Option<i32>,
        /// What drives it.
        powertrain: Powertrain,
        /// Gross vehicle mass rating, kg.
        gross_mass_kg: Option<u32> = 2900,
        /// Free tags, for rules that apply to some vehicles.
        tags: Vec<String> = ["liftgate"],
        /// First day in service; null where it is not known.
        in_service_on: Option<NaiveDate> = "2024-03-01",
        /// Odometer on that day.
        in_service_odometer: Quantity = {"value": 12, "unit": "km"},
        /// Whether it came with a used past that is not on record here.
        history_unknown: bool,
        /// First day in this fleet.
        acquired_on: NaiveDate = "2024-03-01",
        /// The unit its odometer shows.
        odometer_unit: Unit,
        /// Cold tyre pressures.
        placard: Placard,
        /// Day it left the fleet.
        retired_on: Option<NaiveDate> = null,
        /// Since when depot, duty, label and the rest below hold.
        since: NaiveDate = "2024-03-01",
        /// Where it stands.
        depot: DepotId,
        /// What it is used for.
        duty: Duty,
        /// Whether severe intervals apply.
        severe: bool = true,
        /// The fleet's own name for it.
        label: String = "N-07",
        /// Registration plate.
        plate: Option<String> = "HB 7 OST",
        /// Out of use: its usage stands still.
        parked: bool,
        /// Days of the week on which it runs.
        operating_weekdays: Vec<DayOfWeek>,
        /// The rulebook that applies to it.
        rulebook: Option<RulebookId>,
        /// Its version; in quotes it is the `ETag`.
        version: i64,
    }
}

impl Vehicle {
    /// The vehicle as it stands now; `None` for one without attributes, which the store never gives.
    pub fn of(vehicle: model::Vehicle) -> Option<Self> {
        let now = vehicle.attributes.last()?.clone();
        let in_service_odometer = vehicle.in_service_odometer.to(vehicle.odometer_unit).into();
        Some(Self {
            id: vehicle.id,
            vin: vehicle.vin,
            make: vehicle.make,
            model: vehicle.model,
            model_year: vehicle.model_year,
            powertrain: vehicle.powertrain,
            gross_mass_kg: vehicle.gross_mass_kg,
            tags: vehicle.tags,
            in_service_on: vehicle.in_service_on,
            in_service_odometer,
            history_unknown: vehicle.history_unknown,
            acquired_on: vehicle.acquired_on,
            odometer_unit: vehicle.odometer_unit,
            placard: Placard {
                front: vehicle.placard.front.map(Quantity::from),
                rear: vehicle.placard.rear.map(Quantity::from),
            },
            retired_on: vehicle.retired_on,
            since: now.from,
            depot: now.depot,
            duty: now.duty,
            severe: now.severe,
            label: now.label,
            plate: now.plate,
            parked: now.parked,
            operating_weekdays: DayOfWeek::of(now.operating_weekdays),
            rulebook: now.rulebook,
            version: vehicle.version,
        })
    }
}

request! {
    /// A vehicle to be registered.
    NewVehicle {
        /// Vehicle identification number. Its check digit is verified where it must have one.
        vin: Option<Vin>,
        /// Who made it.
        make: Line<80> = "Arcadia",
        /// Which model.
        model: Line<80> = "Carrier 2",
        /// Model year.
        model_year: Option<Whole<1900, 2200>> = 2024,
        /// What drives it.
        powertrain: Powertrain,
        /// Gross vehicle mass rating, kg.
        gross_mass_kg: Option<Whole<1, 100_000>> = 2900,
        /// Free tags, for rules that apply to some vehicles.
        tags: Many<Line<40>, 0, 20> = ["liftgate"],
        /// First day in service.
        in_service_on: Option<NaiveDate> = "2024-03-01",
        /// Odometer on that day; zero if none is said.
        in_service_odometer: Option<Distance> = {"value": 12, "unit": "km"},
        /// Whether it comes with a used past that is not on record here: it then gets one baseline check.
        history_unknown: Option<bool>,
        /// First day in this fleet; the in-service date, or today, if none is said.
        acquired_on: Option<NaiveDate> = "2024-03-01",
        /// The unit its odometer shows.
        odometer_unit: OdometerUnit,
        /// Cold tyre pressures.
        placard: Option<NewPlacard>,
        /// Where it stands.
        depot: DepotId,
        /// What it is used for.
        duty: Duty,
        /// Whether severe intervals apply; by the duty if not said.
        severe: Option<bool> = true,
        /// The fleet's own name for it, unlike that of any other vehicle.
        label: Line<40> = "N-07",
        /// Registration plate.
        plate: Option<Line<20>> = "HB 7 OST",
        /// Out of use: its usage stands still.
        parked: Option<bool>,
        /// Days of the week on which it runs; every day if none is said.
        operating_weekdays: Option<Many<DayOfWeek, 1, 7>>,
        /// The rulebook that applies to it.
        rulebook: Option<RulebookId>,
    }
}

request! {
    /// A change to a vehicle; what is left out stays.
    VehicleChange {
        /// The first day on which the change to depot, duty, severity, label, plate, parking, weekdays or rulebook
        /// holds; today if none is said.
        from: Option<NaiveDate> = "2026-11-02",
        /// Where it stands.
        depot: Change<DepotId>,
        /// What it is used for.
        duty: Change<Duty>,
        /// Whether severe intervals apply.
        severe: Change<bool>,
        /// The fleet's own name for it.
        label: Change<Line<40>> = "N-07",
        /// Registration plate; null if it has none.
        plate: Change<Option<Line<20>>> = "HB 7 OST",
        /// Out of use: its usage stands still.
        parked: Change<bool>,
        /// Days of the week on which it runs.
        operating_weekdays: Change<Many<DayOfWeek, 1, 7>>,
        /// The rulebook that applies to it; null for none.
        rulebook: Change<Option<RulebookId>>,
        /// Free tags.
        tags: Change<Many<Line<40>, 0, 20>> = ["liftgate"],
        /// Cold tyre pressures.
        placard: Change<NewPlacard>,
        /// Gross vehicle mass rating, kg; null where it is not known.
        gross_mass_kg: Change<Option<Whole<1, 100_000>>> = 2900,
        /// Model year; null where it is not known.
        model_year: Change<Option<Whole<1900, 2200>>> = 2024,
    }
}

request! {
    /// The end of a vehicle's time in the fleet.
    Retirement {
        /// The day it leaves.
        on: NaiveDate = "2026-11-30",
    }
}
