//! The least lining that US law asks of a commercial vehicle's brakes, by their kind and axle.

use super::{FLOOR, in32};
use crate::axle::Axle;
use crate::limit::{Bound, Class, Limit, Standing, Wheels};

/// How a brake is worked and built.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum BrakeKind {
    /// Air, drum, shoes with one continuous strip of lining.
    AirDrumStrip,
    /// Air, drum, shoes with two pads of lining.
    AirDrumTwoPads,
    /// Air, disc.
    AirDisc,
    /// Hydraulic, drum or disc.
    Hydraulic,
    /// Electric.
    Electric,
}

const STEERED: Limit = Limit {
    class: Class::HEAVY,
    wheels: Wheels::Front,
    source: "49 CFR 393.47(d)",
    edition: "read second-hand; for commercial vehicles only, check the current text",
    standing: Standing::Verified,
    ..FLOOR
};
const OTHER: Limit = Limit { wheels: Wheels::NotFront, ..STEERED };

// 3/16 in is 6/32 in and 4.7625 mm, which the text rounds to 4.8 mm.
static STEERED_STRIP: Limit = Limit {
    key: "commercial-steered-air-drum-strip",
    name: "lining of an air drum brake, one continuous strip",
    bound: Bound::Below(in32(6.0)),
    ..STEERED
};
static STEERED_TWO_PADS: Limit = Limit {
    key: "commercial-steered-air-drum-two-pads",
    name: "lining of an air drum brake, two pads a shoe",
    bound: Bound::Below(in32(8.0)),
    ..STEERED
};
static STEERED_DISC: Limit = Limit {
    key: "commercial-steered-air-disc",
    name: "lining of an air disc brake",
    bound: Bound::Below(in32(4.0)),
    ..STEERED
};
static STEERED_HYDRAULIC: Limit = Limit {
    key: "commercial-steered-hydraulic",
    name: "lining of a hydraulic brake",
    bound: Bound::Below(in32(2.0)),
    ..STEERED
};
static OTHER_DRUM: Limit = Limit {
    key: "commercial-other-air-drum",
    name: "lining of an air drum brake",
    bound: Bound::Below(in32(8.0)),
    ..OTHER
};
static OTHER_DISC: Limit = Limit {
    key: "commercial-other-air-disc",
    name: "lining of an air disc brake",
    bound: Bound::Below(in32(4.0)),
    ..OTHER
};
static OTHER_HYDRAULIC: Limit = Limit {
    key: "commercial-other-hydraulic",
    name: "lining of a hydraulic or electric brake",
    bound: Bound::Below(in32(2.0)),
    ..OTHER
};

pub(super) fn limits() -> impl Iterator<Item = &'static Limit> {
    let steered = [&STEERED_STRIP, &STEERED_TWO_PADS, &STEERED_DISC, &STEERED_HYDRAULIC];
    steered.into_iter().chain([&OTHER_DRUM, &OTHER_DISC, &OTHER_HYDRAULIC])
}

/// The least lining of a commercial vehicle over 10 000 lb, by the kind of its brakes and the axle (49 CFR 393.47(d), read
/// second-hand). `None` for an electric brake on a steered axle, which the rule does not name.
pub const fn commercial_lining_floor(kind: BrakeKind, axle: Axle) -> Option<&'static Limit> {
    match (kind, axle) {
        (BrakeKind::AirDrumStrip, Axle::Front) => Some(&STEERED_STRIP),
        (BrakeKind::AirDrumTwoPads, Axle::Front) => Some(&STEERED_TWO_PADS),
        (BrakeKind::AirDisc, Axle::Front) => Some(&STEERED_DISC),
        (BrakeKind::Hydraulic, Axle::Front) => Some(&STEERED_HYDRAULIC),
        (BrakeKind::Electric, Axle::Front) => None,
        (BrakeKind::AirDrumStrip | BrakeKind::AirDrumTwoPads, Axle::Rear) => Some(&OTHER_DRUM),
        (BrakeKind::AirDisc, Axle::Rear) => Some(&OTHER_DISC),
        (BrakeKind::Hydraulic | BrakeKind::Electric, Axle::Rear) => Some(&OTHER_HYDRAULIC),
    }
}
