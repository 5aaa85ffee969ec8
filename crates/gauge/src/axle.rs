//! The two axles and the wheels on them.

use model::Place;
use serde::Serialize;

/// An axle of a vehicle with two.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Axle {
    /// The steered one.
    Front,
    /// The other.
    Rear,
}

impl Axle {
    /// As a person reads it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Front => "front",
            Self::Rear => "rear",
        }
    }

    /// The axle a place belongs to; the spare belongs to none.
    pub const fn of(place: Place) -> Option<Self> {
        match place {
            Place::FrontLeft | Place::FrontRight => Some(Self::Front),
            Place::RearLeft | Place::RearRight => Some(Self::Rear),
            Place::Spare | Place::Vehicle => None,
        }
    }

    /// Its wheels, left and right.
    pub const fn wheels(self) -> [Place; 2] {
        match self {
            Self::Front => [Place::FrontLeft, Place::FrontRight],
            Self::Rear => [Place::RearLeft, Place::RearRight],
        }
    }
}

/// The wheel on the other side of the same axle.
pub(crate) const fn opposite(place: Place) -> Option<Place> {
    match place {
        Place::FrontLeft => Some(Place::FrontRight),
        Place::FrontRight => Some(Place::FrontLeft),
        Place::RearLeft => Some(Place::RearRight),
        Place::RearRight => Some(Place::RearLeft),
        Place::Spare | Place::Vehicle => None,
    }
}
