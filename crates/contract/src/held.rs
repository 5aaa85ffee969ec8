//! What waits for a person: readings and measurements that cannot be right, and how measurements are settled.

use crate::batch::{MeasurementEntered, Reading};
use crate::define::{answer, request};
use crate::graded::GradedMeasurement;
use crate::inspection::Measurement;
use crate::notice::Raw;
use crate::reader::Reader;
use crate::reading::OdometerReading;
use crate::text::{Line, Text};
use chrono::{DateTime, Utc};
use model::{InspectionId, MeasurementId, SetAsideId, SetAsideReason, Settled, VehicleId};

answer! {
    /// What waits for a person: a reading or a measurement, whichever is not null.
    HeldEntry {
        /// The vehicle.
        vehicle: VehicleId,
        /// Its label.
        vehicle_label: String = "N-07",
        /// The reading: released, corrected or withdrawn in the meter log.
        reading: Option<OdometerReading>,
        /// The measurement: taken or dismissed under `held-measurements`.
        measurement: Option<HeldMeasurement> = null,
    }
}

answer! {
    /// How a held measurement was settled.
    HeldMeasurementSettlement {
        /// `taken` or `dismissed`.
        kind: String = "taken",
        /// The measurement it became, where it was taken.
        measurement: Option<MeasurementId>,
        /// Why.
        reason: String = "The gauge shows millimetres.",
        /// When.
        recorded_at: DateTime<Utc>,
    }
}

answer! {
    /// A measurement of an inspection that cannot be right as it was written. It does not count until it is taken with the
    /// right value; the rest of its inspection does.
    HeldMeasurement {
        /// Its id.
        id: SetAsideId,
        /// The vehicle.
        vehicle: VehicleId,
        /// The inspection it belongs to.
        inspection: InspectionId,
        /// What is wrong, as a pointer within the entry.
        pointer: String = "/measurements/3/unit",
        /// Why it is held.
        reason: SetAsideReason = "unit",
        /// Everything wrong with it, with what is allowed.
        detail: String = "tread-depth is not measured in kPa; the unit must be one of mm, in32",
        /// As it was written.
        written: Raw = {"point": "tread-depth", "place": "front_left", "zone": "lowest", "value": 6, "unit": "kPa"},
        /// When it was recorded.
        recorded_at: DateTime<Utc>,
        /// How it was settled; null while it waits.
        settlement: Option<HeldMeasurementSettlement> = null,
    }
}

impl HeldMeasurement {
    /// What was set aside of an inspection of this vehicle.
    pub fn of(vehicle: VehicleId, set_aside: model::SetAside) -> Self {
        let model::SetAside {
            id, inspection, pointer, written, reason, detail, recorded_at, settlement, ..
        } = set_aside;
        let settlement = settlement.map(|settled| {
            let (kind, measurement) = match settled.outcome {
                Settled::Taken { measurement } => ("taken", Some(measurement)),
                Settled::Dismissed => ("dismissed", None),
            };
            let model::Settlement { reason, recorded_at, .. } = settled;
            HeldMeasurementSettlement { kind: kind.to_owned(), measurement, reason, recorded_at }
        });
        let written = Raw::kept(written);
        Self { id, vehicle, inspection, pointer, reason, detail, written, recorded_at, settlement }
    }
}

request! {
    /// What was measured in truth: `value` and `unit`, or, where the point is answered by a word, `seen`.
    Taking {
        /// The check point.
        point: Line<64> = "tread-depth",
        /// Where on the vehicle.
        place: Line<40> = "front_left",
        /// Where at the place.
        zone: Option<Line<40>> = "lowest",
        /// The number measured.
        value: Option<Reading> = 6,
        /// Its unit.
        unit: Option<Line<20>> = "mm",
        /// The word answered.
        seen: Option<Line<64>> = null,
        /// Why. It is kept.
        reason: Text<1000> = "The gauge shows millimetres.",
    } checked by is_measured_or_seen
}

fn is_measured_or_seen(taking: &Taking, reader: &mut Reader) {
    taking.measured().is_measured_or_seen(reader);
}

impl Taking {
    /// The measurement alone.
    pub fn measured(&self) -> MeasurementEntered {
        let Self { point, place, zone, value, unit, seen, .. } = self.clone();
        MeasurementEntered { point, place, zone, value, unit, seen }
    }
}

request! {
    /// That a held measurement is left out.
    Dismissal {
        /// Why. It is kept.
        reason: Text<1000> = "Measured on the next bay's van.",
    }
}

answer! {
    /// A held measurement that was taken, and what it means.
    TakenMeasurement {
        /// What was held, with how it was settled.
        held: HeldMeasurement,
        /// The measurement of its inspection that it became.
        measurement: Measurement,
        /// What it means, together with what else was measured there; empty where something newer was measured there.
        grades: Vec<GradedMeasurement>,
        /// Whether the vehicle must not be driven now.
        do_not_drive: bool,
    }
}
