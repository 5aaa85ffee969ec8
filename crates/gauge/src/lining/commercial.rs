//! The least lining that US law asks of a commercial vehicle's brakes, by their kind and axle.

use crate::answer::{Answer, answered};
use crate::axle::Axle;
use crate::grading::Bench;
use crate::limit::{Bound, Class, Discipline, Limit, Standing, Wheels};
use crate::points::{CheckPoint, FOUR_WHEELS, NOTED};
use crate::yardstick::{Held, Yardstick};
use model::{Grade, Jurisdiction, Place, Vehicle};
use quantity::{Entered, Unit};

const fn in32(value: f64) -> Entered {
    Entered::new(value, Unit::ThirtySecondInch)
}

answered! {
    /// How a brake is worked and built.
    BrakeKind, Shoes, "kind of brake";

    /// Air, drum, shoes with one continuous strip of lining.
    AirDrumStrip = "air_drum_strip", Answer::good(
        "air drum, one strip a shoe",
        "It is an air drum brake with one continuous strip of lining on each shoe.",
    );

    /// Air, drum, shoes with two pads of lining.
    AirDrumTwoPads = "air_drum_two_pads", Answer::good(
        "air drum, two pads a shoe",
        "It is an air drum brake with two pads of lining on each shoe.",
    );

    /// Air, disc.
    AirDisc = "air_disc", Answer::good("air disc", "It is an air disc brake.");

    /// Hydraulic, drum or disc.
    Hydraulic = "hydraulic", Answer::good("hydraulic", "It is a hydraulic brake.");

    /// Electric.
    Electric = "electric", Answer::good("electric", "It is an electric brake.");
}

/// Noted once for each wheel; what is not noted is not held to the floors of commercial vehicles.
pub(crate) static POINTS: [CheckPoint; 1] = [CheckPoint {
    code: "brake-kind",
    title: "Kind of brake, for the floors of commercial vehicles",
    discipline: Discipline::Shoes,
    places: FOUR_WHEELS,
    answers: BrakeKind::ANSWERS,
    ..NOTED
}];

pub(crate) fn answers() -> impl Iterator<Item = &'static Answer> {
    BrakeKind::answers()
}

/// The kind of brake noted at a wheel.
pub(super) fn noted_kind(bench: &Bench<'_>, place: Place) -> Option<BrakeKind> {
    let noted = bench.noted(POINTS[0].code, place)?;
    noted.word().and_then(BrakeKind::from_word)
}

/// The floor that a vehicle's brake of this kind is held to, where the law of commercial vehicles is its own.
pub(super) fn held_floor<'a>(yardstick: &Yardstick<'a>, place: Place, kind: BrakeKind) -> Option<Held<'a>> {
    let Vehicle { jurisdiction, gross_mass_kg, .. } = *yardstick.vehicle;
    let floor = commercial_lining_floor(kind, Axle::of(place)?)?;
    floor.applies_to(jurisdiction, gross_mass_kg, place).then(|| yardstick.held(floor))
}

const STEERED: Limit = Limit {
    key: "",
    discipline: Discipline::Shoes,
    name: "",
    jurisdiction: Some(Jurisdiction::Us),
    class: Class::HEAVY,
    wheels: Wheels::Front,
    grade: Some(Grade::DoNotDrive),
    bound: Bound::Missing,
    source: "49 CFR 393.47(d)",
    edition: "read second-hand; for commercial vehicles only, check the current text",
    standing: Standing::Verified,
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

pub(crate) fn limits() -> impl Iterator<Item = &'static Limit> {
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
