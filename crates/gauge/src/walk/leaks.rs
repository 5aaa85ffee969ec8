//! What drips or has dripped under and on the vehicle.

use crate::answer::{Answer, answered};
use crate::caution::Hazard;
use model::Grade;

const HOUSE: &str = "house setting for leaks, no source";

const fn at(
    grade: Grade,
    title: &'static str,
    reason: &'static str,
    advice: &'static str,
    hazards: &'static [Hazard],
) -> Answer {
    Answer::of(grade, title, reason).advising(advice, hazards).by_house(HOUSE)
}

answered! {
    /// What leaks.
    Leak, LampsAndPoints, "leaks";

    /// Nothing.
    None = "none", Answer::good("nothing leaks", "No leak was found.").by_house(HOUSE);

    /// Fuel.
    Fuel = "fuel", at(
        Grade::DoNotDrive,
        "fuel",
        "Fuel leaks: it may catch fire.",
        "Leave the vehicle off and outdoors, and have it fetched.",
        &[Hazard::Fuel],
    );

    /// Brake fluid.
    BrakeFluid = "brake_fluid", at(
        Grade::DoNotDrive,
        "brake fluid",
        "Brake fluid leaks: a brake circuit may fail at the next use.",
        "Do not top up and go: have the leak found and mended, and the brakes bled.",
        &[Hazard::Brakes],
    );

    /// Coolant of a traction battery.
    BatteryCoolant = "battery_coolant", at(
        Grade::DoNotDrive,
        "coolant of the traction battery",
        "Coolant of the traction battery or its electronics leaks, where it may reach high voltage.",
        "Leave it to a specialist; do not top up.",
        &[Hazard::HighVoltage],
    );

    /// Oil.
    Oil = "oil", at(
        Grade::Attend,
        "oil, dripping",
        "Oil of engine, gearbox, axle or steering drips; with the level what it feeds will fail.",
        "Check the level before the vehicle goes out, and have the leak found.",
        &[Hazard::Lifting],
    );

    /// Coolant of the engine.
    Coolant = "coolant", at(
        Grade::Attend,
        "coolant of the engine",
        "Coolant leaks; once it is gone the engine overheats.",
        "Check the level with the engine cold before the vehicle goes out, and have the leak found.",
        &[Hazard::HotCoolant],
    );

    /// Something nobody knows.
    Unknown = "unknown", at(
        Grade::Attend,
        "something unknown",
        "Something leaks that nobody could name.",
        "Find out what it is before the vehicle goes out: fuel and brake fluid would stop it.",
        &[Hazard::Fuel],
    );

    /// Oil that does not drip.
    OilDamp = "oil_damp", at(
        Grade::Watch,
        "damp with oil, no drops",
        "Parts are damp with oil, but nothing drips.",
        "Look again at every check.",
        &[],
    );

    /// Water of the air conditioning.
    Condensate = "condensate", Answer::good(
        "clear water of the air conditioning",
        "Clear water drips from the air conditioning, as it should.",
    ).by_house(HOUSE);
}
