//! Lights: whether the vehicle sees and is seen.

use crate::answer::{Answer, answered};
use model::Grade;

const HOUSE: &str = "house setting for lights, no source; the law of the place comes first";

const fn at(grade: Grade, title: &'static str, reason: &'static str, advice: &'static str) -> Answer {
    Answer::of(grade, title, reason).advising(advice, &[]).by_house(HOUSE)
}

answered! {
    /// What does not shine as it should.
    Lights, LampsAndPoints, "lights";

    /// All do.
    AllWork = "all_work", Answer::good("all work", "All lights work.").by_house(HOUSE);

    /// No brake light.
    NoBrakeLight = "no_brake_light", at(
        Grade::DoNotDrive,
        "no brake light works",
        "No brake light works: whoever follows is not warned.",
        "Look at fuse and switch of the brake pedal first.",
    );

    /// No headlight.
    NoHeadlight = "no_headlight", at(
        Grade::DoNotDrive,
        "no headlight works",
        "No headlight works: the vehicle neither sees nor is seen in the dark.",
        "Look at fuse and switch first.",
    );

    /// No light at the rear.
    NoRearLight = "no_rear_light", at(
        Grade::DoNotDrive,
        "no rear light works",
        "No rear light works: the vehicle is not seen from behind in the dark.",
        "Look at fuse and connectors first.",
    );

    /// Some brake light.
    BrakeLight = "brake_light", at(
        Grade::Attend,
        "a brake light out",
        "A brake light is out.",
        "Replace the bulb or the unit.",
    );

    /// One headlight.
    Headlight = "headlight", at(
        Grade::Attend,
        "a headlight out",
        "A headlight is out.",
        "Replace the bulb or the unit, and have the aim checked.",
    );

    /// A turn signal.
    TurnSignal = "turn_signal", at(
        Grade::Attend,
        "a turn signal out",
        "A turn signal is out: others are not told where the vehicle goes.",
        "Replace the bulb or the unit.",
    );

    /// Another light.
    Other = "other", at(
        Grade::Attend,
        "another light out",
        "A rear, side, plate, reversing or hazard light is out.",
        "Replace the bulb or the unit.",
    );

    /// A broken lens.
    Broken = "broken", at(
        Grade::Attend,
        "a lens broken",
        "A lens is broken or wet inside; the light will fail or dazzle.",
        "Replace the lens or the unit.",
    );

    /// Dim or badly aimed.
    Dim = "dim", at(
        Grade::Watch,
        "dim or badly aimed",
        "A light is dim, cloudy or aimed badly.",
        "Clean it, and have the aim checked when the vehicle is next in a workshop.",
    );
}
