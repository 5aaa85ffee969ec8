//! Warning lamps that stay lit with the engine running: red, or a flashing engine lamp, stops the vehicle.

use crate::answer::{Answer, answered};
use crate::caution::Hazard;
use model::Grade;

const fn red(
    title: &'static str,
    reason: &'static str,
    advice: &'static str,
    hazards: &'static [Hazard],
) -> Answer {
    Answer::of(Grade::DoNotDrive, title, reason).advising(advice, hazards).by_house(HOUSE)
}

const fn amber(
    title: &'static str,
    reason: &'static str,
    advice: &'static str,
    hazards: &'static [Hazard],
) -> Answer {
    Answer::of(Grade::Attend, title, reason).advising(advice, hazards).by_house(HOUSE)
}

const HOUSE: &str = "house setting for warning lamps, no source; the vehicle's own manual comes first";

answered! {
    /// A warning lamp that stays lit.
    WarningLamp, LampsAndPoints, "warning lamps with the engine running";

    /// None.
    None = "none", Answer::good("none lit", "No warning lamp stays lit.").by_house(HOUSE);

    /// The red brake lamp.
    BrakeRed = "brake_red", red(
        "brake, red",
        "The red brake lamp is lit: the parking brake is on, the fluid is low or a brake circuit has failed.",
        "If it stays lit with the parking brake off, have pads, leaks and fluid looked at where the vehicle stands.",
        &[Hazard::Brakes],
    );

    /// Oil pressure.
    OilPressure = "oil_pressure", red(
        "oil pressure, red",
        "The oil-pressure lamp is lit: without pressure an engine may be ruined within minutes.",
        "Switch the engine off at once, and look at the oil level after it has stood.",
        &[],
    );

    /// Coolant temperature.
    CoolantTemperature = "coolant_temperature", red(
        "coolant temperature, red",
        "The coolant-temperature lamp is lit: the engine is too hot, or its coolant may be gone.",
        "Switch the engine off and let it cool down before anybody looks at the coolant.",
        &[Hazard::HotCoolant],
    );

    /// Charging.
    Charging = "charging", red(
        "charging, red",
        "The charging lamp is lit: the 12 V battery is probably not being charged, and once it is empty what it feeds fails.",
        "Have the drive belt, the alternator or the converter looked at.",
        &[],
    );

    /// High voltage.
    HighVoltage = "high_voltage", red(
        "high voltage, red",
        "The high-voltage lamp is lit: the drive, or the insulation of its cables, may have a fault.",
        "Switch off, keep people away if there is smoke, smell or heat, and ring a specialist.",
        &[Hazard::HighVoltage],
    );

    /// The engine lamp, flashing.
    EngineFlashing = "engine_flashing", red(
        "engine, flashing",
        "The engine lamp flashes, as with a misfire, which may overheat and destroy the catalytic converter.",
        "Switch the engine off and have the fault read out.",
        &[],
    );

    /// The airbag lamp, where it is red.
    AirbagRed = "airbag_red", red(
        "airbag, red",
        "The airbag lamp is lit in red: the restraints may fail to work, or go off without a cause.",
        "Have the fault read out by a workshop trained for restraints.",
        &[Hazard::Restraints],
    );

    /// Any other red lamp.
    OtherRed = "other_red", red(
        "another red lamp",
        "A red lamp is lit: red asks to stop.",
        "Read in the vehicle's manual what the lamp means, and do as it says.",
        &[],
    );

    /// The engine lamp, steady.
    Engine = "engine", amber(
        "engine, steady",
        "The engine lamp is lit steadily: the engine management has stored a fault.",
        "Have the fault read out; if the lamp begins to flash, stop.",
        &[],
    );

    /// The airbag lamp, amber.
    Airbag = "airbag", amber(
        "airbag, amber",
        "The airbag lamp is lit: in a crash the restraints may fail to work.",
        "Have the fault read out by a workshop trained for restraints.",
        &[Hazard::Restraints],
    );

    /// Anti-lock brakes or stability.
    BrakeAmber = "brake_amber", amber(
        "anti-lock, stability or pad wear, amber",
        "An amber brake lamp is lit: anti-lock or stability control is off, or pads have reached their sensor.",
        "Measure the pads and have the fault read out; until then the wheels may lock.",
        &[Hazard::Lifting, Hazard::Wheel, Hazard::Brakes],
    );

    /// Tyre pressure.
    TyrePressure = "tyre_pressure", amber(
        "tyre pressure, steady",
        "The tyre-pressure lamp is lit: a tyre is well under its placard, or was; US law asks for the lamp at a quarter under.",
        "Measure all pressures cold before the vehicle goes out, and inflate to the placard.",
        &[Hazard::Inflating],
    );

    /// The pressure monitor itself.
    TyrePressureFault = "tyre_pressure_fault", amber(
        "tyre pressure, flashing first",
        "The tyre-pressure lamp flashes before it stays lit: the monitor itself has a fault and warns of nothing.",
        "Measure pressures at every check until the monitor works again.",
        &[],
    );

    /// Any other amber lamp.
    OtherAmber = "other_amber", amber(
        "another amber lamp",
        "An amber lamp is lit: something is to be seen to.",
        "Read in the vehicle's manual what the lamp means, and have it seen to.",
        &[],
    );
}
