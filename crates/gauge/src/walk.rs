//! What a walk round a vehicle sees, hears and feels, answered by words, and the play of its steering, measured.

mod fasteners;
mod joints;
mod lamps;
mod leaks;
mod lights;
mod parking_brake;
mod play;
mod wipers;

pub use fasteners::WheelFasteners;
pub use joints::Joint;
pub use lamps::WarningLamp;
pub use leaks::Leak;
pub use lights::Lights;
pub use parking_brake::ParkingBrake;
pub use play::linkage_play_limit;
pub use wipers::Wipers;

use crate::answer::Answer;
use crate::limit::{Discipline, Limit};
use crate::points::{ANSWERED, CheckPoint, FOUR_WHEELS, WHOLE_VEHICLE};

const OF_VEHICLE: CheckPoint =
    CheckPoint { discipline: Discipline::LampsAndPoints, places: WHOLE_VEHICLE, ..ANSWERED };
const OF_WHEEL: CheckPoint = CheckPoint { places: FOUR_WHEELS, ..OF_VEHICLE };

pub(crate) static POINTS: [CheckPoint; 9] = [
    CheckPoint {
        code: "warning-lamps",
        title: "Warning lamps that stay lit with the engine running",
        answers: WarningLamp::ANSWERS,
        ..OF_VEHICLE
    },
    CheckPoint { code: "lights", title: "Lights", answers: Lights::ANSWERS, ..OF_VEHICLE },
    CheckPoint { code: "wipers", title: "Wipers and washer", answers: Wipers::ANSWERS, ..OF_VEHICLE },
    CheckPoint { code: "leaks", title: "Leaks", answers: Leak::ANSWERS, ..OF_VEHICLE },
    CheckPoint {
        code: "parking-brake",
        title: "Parking brake",
        answers: ParkingBrake::ANSWERS,
        ..OF_VEHICLE
    },
    CheckPoint {
        code: "joints",
        title: "Joints and bushes of steering and suspension",
        answers: Joint::ANSWERS,
        ..OF_WHEEL
    },
    CheckPoint {
        code: "wheel-fasteners",
        title: "Wheel fasteners",
        answers: WheelFasteners::ANSWERS,
        ..OF_WHEEL
    },
    play::STEERING,
    play::RIM,
];

pub(crate) fn limits() -> impl Iterator<Item = &'static Limit> {
    play::limits()
}

pub(crate) fn answers() -> impl Iterator<Item = &'static Answer> {
    WarningLamp::answers()
        .chain(Lights::answers())
        .chain(Wipers::answers())
        .chain(Leak::answers())
        .chain(ParkingBrake::answers())
        .chain(Joint::answers())
        .chain(WheelFasteners::answers())
}
