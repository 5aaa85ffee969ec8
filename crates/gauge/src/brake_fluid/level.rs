//! Where the brake fluid stands in its tank.

use crate::answer::{Answer, answered};
use crate::caution::Hazard;
use model::Grade;

const BRAKES: &[Hazard] = &[Hazard::Lifting, Hazard::Wheel, Hazard::Brakes];

answered! {
    /// Where the brake fluid stands.
    FluidLevel, BrakeFluid, "level of the brake fluid";

    /// Between the marks.
    Between = "between", Answer::good("between the marks", "The brake fluid stands between the marks.");

    /// Above the upper mark.
    High = "high", Answer::of(
        Grade::Watch,
        "above the upper mark",
        "The brake fluid stands above the upper mark; it was perhaps topped up over worn pads and will run over when new \
         ones push it back.",
    ).advising("Have some taken out before pads are fitted, and see when they were last measured.", BRAKES);

    /// Near or below the lower mark.
    Low = "low", Answer::of(
        Grade::Attend,
        "at or below the lower mark",
        "The brake fluid stands at or below the lower mark; it falls as pads wear, or because it leaks.",
    ).advising(
        "Do not just top it up: measure the pads and look for leaks at every wheel, hose and pipe first.",
        BRAKES,
    );

    /// None to be seen.
    None = "none", Answer::of(
        Grade::DoNotDrive,
        "none to be seen",
        "No brake fluid is to be seen in the tank; the brakes may fail at the next stop.",
    ).advising("Have the leak found and mended, and the brakes bled and proved.", BRAKES);
}
