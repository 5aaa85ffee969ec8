//! A vehicle: what never changes about it, and what does.

use crate::calendar::Weekdays;
use crate::coded::worded;
use crate::ids::{DepotId, FleetId, RulebookId, VehicleId};
use crate::organisation::{Depot, Jurisdiction};
use crate::vin::Vin;
use chrono::NaiveDate;
use chrono_tz::Tz;
use quantity::{Distance, Entered, Temperature, Unit};
use serde::{Deserialize, Serialize};

worded! {
    /// What drives the vehicle.
    Powertrain {
        /// Petrol engine.
        Petrol = "petrol",
        /// Diesel engine.
        Diesel = "diesel",
        /// Engine and electric motor.
        Hybrid = "hybrid",
        /// Battery-electric.
        BatteryElectric = "battery_electric",
    }
}

worded! {
    /// What the vehicle is used for.
    Duty {
        /// Stop-start delivery.
        Delivery = "delivery",
        /// Carrying passengers for hire.
        Rideshare = "rideshare",
        /// Shared use by staff.
        Pool = "pool",
        /// Long runs on main roads.
        LongDistance = "long_distance",
    }
}

impl Duty {
    /// Whether vehicles of this duty start under severe intervals. A manager may say otherwise.
    pub const fn starts_severe(self) -> bool {
        matches!(self, Self::Delivery | Self::Rideshare)
    }

    /// Whether the vehicle earns money on the road, as contracts of cover understand commercial use.
    pub const fn is_commercial(self) -> bool {
        !matches!(self, Self::Pool)
    }
}

/// Cold pressures from the vehicle's placard.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, Default)]
pub struct Placard {
    /// Front axle.
    pub front: Option<Entered>,
    /// Rear axle.
    pub rear: Option<Entered>,
}

/// What may change about a vehicle; each change is a new version in force from a day.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Attributes {
    /// First day in force.
    pub from: NaiveDate,
    /// Where it stands.
    pub depot: DepotId,
    /// What it is used for.
    pub duty: Duty,
    /// Whether severe intervals apply.
    pub severe: bool,
    /// The fleet's own name for it; unique in the fleet at any time.
    pub label: String,
    /// Registration plate.
    pub plate: Option<String>,
    /// Out of use: the clock of usage stands still.
    pub parked: bool,
    /// Days of the week on which it runs.
    pub operating_weekdays: Weekdays,
    /// The rulebook that applies to it.
    pub rulebook: Option<RulebookId>,
}

/// A vehicle as it stands now, with what its depot says looked up.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Vehicle {
    /// Its id.
    pub id: VehicleId,
    /// Whose it is.
    pub fleet: FleetId,
    /// Vehicle identification number.
    pub vin: Option<Vin>,
    /// Who made it.
    pub make: String,
    /// Which model.
    pub model: String,
    /// Model year.
    pub model_year: Option<i32>,
    /// What drives it.
    pub powertrain: Powertrain,
    /// Gross vehicle mass rating, kg.
    pub gross_mass_kg: Option<u32>,
    /// Free tags, for rules that apply to some.
    pub tags: Vec<String>,
    /// First day in service; unknown for some used vehicles.
    pub in_service_on: Option<NaiveDate>,
    /// Odometer on that day.
    pub in_service_odometer: Distance,
    /// Whether the vehicle came with a used past that is not on record here.
    pub history_unknown: bool,
    /// First day in this fleet: facts before it belong to somebody else's record.
    pub acquired_on: NaiveDate,
    /// The unit its odometer shows: km or mi.
    pub odometer_unit: Unit,
    /// Cold tyre pressures.
    pub placard: Placard,
    /// Day it left the fleet.
    pub retired_on: Option<NaiveDate>,
    /// All versions of its changing attributes, oldest first; never empty.
    pub attributes: Vec<Attributes>,
    /// Zone of the depot it stands at now.
    pub zone: Tz,
    /// Law of the depot it stands at now.
    pub jurisdiction: Jurisdiction,
    /// The coldest it must stand there without harm, where somebody has said.
    pub design_low: Option<Temperature>,
    /// Version of the patchable record.
    pub version: i64,
}

impl Vehicle {
    /// The attributes in force on `day`: the last version begun by then, or the first of all.
    pub fn attributes_on(&self, day: NaiveDate) -> Option<&Attributes> {
        self.attributes.iter().rev().find(|version| version.from <= day).or_else(|| self.attributes.first())
    }

    /// Takes over what a depot says of the vehicles that stand there: zone, law and cold.
    pub fn stand_at(&mut self, depot: &Depot) {
        (self.zone, self.jurisdiction, self.design_low) = (depot.zone, depot.jurisdiction, depot.design_low);
    }

    /// The newest attributes.
    pub fn attributes_now(&self) -> Option<&Attributes> {
        self.attributes.last()
    }
}
