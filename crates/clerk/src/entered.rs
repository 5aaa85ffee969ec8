//! Reading quantities as entered: exact where they are of the wanted kind, a fault where they are not.

use crate::error::Fault;
use quantity::{Dimension, Distance, Entered};

/// A distance of zero or more, exact; zero where nothing was entered or with a fault.
pub(crate) fn read_odometer(entered: Option<Entered>, pointer: &str, faults: &mut Vec<Fault>) -> Distance {
    let Some(entered) = entered else { return Distance::ZERO };
    match Distance::parse(entered) {
        Ok(distance) if distance >= Distance::ZERO => return distance,
        Ok(_) => faults.push(Fault::new(pointer, "negative", format!("{entered} is below zero"))),
        Err(error) => faults.push(Fault::quantity(pointer, &error)),
    }
    Distance::ZERO
}

/// A running time of zero or more, seconds; zero where nothing was entered or with a fault.
pub(crate) fn read_running_time(entered: Option<Entered>, pointer: &str, faults: &mut Vec<Fault>) -> i64 {
    let Some(entered) = entered else { return 0 };
    match entered.exact_as(Dimension::RunningTime) {
        Ok(seconds) if seconds >= 0 => return seconds,
        Ok(_) => faults.push(Fault::new(pointer, "negative", format!("{entered} is below zero"))),
        Err(error) => faults.push(Fault::quantity(pointer, &error)),
    }
    0
}
