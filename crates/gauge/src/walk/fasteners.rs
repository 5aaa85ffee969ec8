//! What holds the wheels on.

use crate::answer::{Answer, answered};
use crate::caution::Hazard;
use crate::limit::Standing;
use model::Grade;

const HOUSE: &str = "house setting for wheel fasteners, no source";
const WHEEL: &[Hazard] = &[Hazard::Lifting, Hazard::Wheel];

/// Paragraphs of the inspection criteria for light vehicles; those for heavy ones are in 570.63.
const MOUNTING: &str = "49 CFR 570.10(c) and 570.63, texts not read";
const INTEGRITY: &str = "49 CFR 570.10(a) and 570.63, texts not read";

answered! {
    /// How a wheel sits.
    WheelFasteners, LampsAndPoints, "wheel fasteners";

    /// As it should.
    Tight = "tight", Answer::good("all there and tight", "All wheel fasteners are there and tight.").by_house(HOUSE);

    /// One or more are missing.
    Missing = "missing", Answer::of(
        Grade::DoNotDrive,
        "missing",
        "A wheel fastener is missing; the others carry more than their share and may break.",
    ).advising("Have studs, nuts and seats looked at, and all fasteners of the wheel replaced as the maker says.", WHEEL)
        .by(MOUNTING, Standing::Memory);

    /// One or more are loose.
    Loose = "loose", Answer::of(
        Grade::DoNotDrive,
        "loose",
        "A wheel fastener is loose; the wheel may come off.",
    ).advising("Take the wheel off and look at studs and seats before tightening: looseness ruins them.", WHEEL)
        .by(MOUNTING, Standing::Memory);

    /// The wheel itself.
    WheelCracked = "wheel_cracked", Answer::of(
        Grade::DoNotDrive,
        "wheel cracked or its holes worn",
        "The wheel is cracked or its bolt holes are worn long; it may break.",
    ).advising("Fit another wheel; a cracked one is not welded.", WHEEL)
        .by(INTEGRITY, Standing::Memory);

    /// Traces of movement.
    Traces = "traces", Answer::of(
        Grade::Attend,
        "rust streaks or shining marks",
        "Rust streaks or shining marks run from a fastener, as where something has moved.",
    ).advising("Have the wheel taken off, studs and seats looked at, and the fasteners tightened to torque.", WHEEL)
        .by_house(HOUSE);
}
