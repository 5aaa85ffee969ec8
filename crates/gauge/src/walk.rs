//! What a walk round a vehicle sees, hears and feels, answered by words.

mod fasteners;
mod joints;
mod lamps;
mod leaks;
mod lights;
mod parking_brake;
mod wipers;

pub use fasteners::WheelFasteners;
pub use joints::{Joint, linkage_play_limit};
pub use lamps::WarningLamp;
pub use leaks::Leak;
pub use lights::Lights;
pub use parking_brake::ParkingBrake;
pub use wipers::Wipers;

use crate::answer::Answer;
use crate::limit::Limit;

pub(crate) fn limits() -> impl Iterator<Item = &'static Limit> {
    joints::limits()
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
