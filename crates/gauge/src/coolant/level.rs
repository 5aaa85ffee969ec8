//! How much coolant there is, in the engine's circuit and in that of a traction battery.

use crate::answer::{Answer, answered};
use crate::caution::Hazard;
use model::Grade;

const HOT: &[Hazard] = &[Hazard::HotCoolant, Hazard::PoisonousCoolant];
const SPECIALIST: &[Hazard] = &[Hazard::HotCoolant, Hazard::HighVoltage];

answered! {
    /// Where the engine's coolant stands in its tank, cold.
    CoolantLevel, Coolant, "level of the engine's coolant, cold";

    /// Between the marks.
    Between = "between", Answer::good("between the marks", "The coolant stands between the marks.");

    /// Above the upper mark.
    High = "high", Answer::of(
        Grade::Watch,
        "above the upper mark",
        "The coolant stands above the upper mark; it may have been filled hot or too full.",
    ).advising("Look again cold, and let none out before that.", HOT);

    /// Below the lower mark.
    Low = "low", Answer::of(
        Grade::Attend,
        "below the lower mark",
        "The coolant stands below the lower mark; a closed circuit loses none, so a leak is likely.",
    ).advising("Look for the leak, then top up with the same coolant, mixed, and look again after a day.", HOT);

    /// None to be seen.
    None = "none", Answer::of(
        Grade::DoNotDrive,
        "none to be seen",
        "No coolant is to be seen in the tank; the engine may overheat within minutes.",
    ).advising("Find and mend the leak, fill and bleed the circuit before the engine runs again.", HOT);
}

answered! {
    /// Where the coolant of a traction battery stands. Its kind and concentration are a specialist's.
    TractionCoolantLevel, Coolant, "level of the traction battery's coolant";

    /// Between the marks.
    Between = "between", Answer::good(
        "between the marks",
        "The coolant of the traction battery stands between the marks.",
    );

    /// Below the lower mark.
    Low = "low", Answer::of(
        Grade::Attend,
        "below the lower mark",
        "The coolant of the traction battery stands below the lower mark; it may have leaked where it must not.",
    ).advising(
        "Do not top it up: it is a coolant of its own, and looking for the leak is a specialist's work.",
        SPECIALIST,
    );

    /// None to be seen.
    None = "none", Answer::of(
        Grade::DoNotDrive,
        "none to be seen",
        "No coolant of the traction battery is to be seen; the battery may overheat, and the coolant may have run into it.",
    ).advising("Neither charge nor move the vehicle; call the maker's or another qualified workshop.", SPECIALIST);
}
