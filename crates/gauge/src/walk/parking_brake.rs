//! The parking brake: whether it holds, and whether it lets go.

use crate::answer::{Answer, answered};
use crate::caution::Hazard;
use model::Grade;

/// The design standard asks a new car's to hold on a 20 % grade (FMVSS 135, from memory); a walk round cannot measure that.
const HOUSE: &str = "house setting for parking brakes, no source; the law of the place comes first";
const BRAKES: &[Hazard] = &[Hazard::Lifting, Hazard::Wheel, Hazard::Brakes, Hazard::ParkingActuator];

const fn at(grade: Grade, title: &'static str, reason: &'static str, advice: &'static str) -> Answer {
    Answer::of(grade, title, reason).advising(advice, BRAKES).by_house(HOUSE)
}

answered! {
    /// What the parking brake does on a slope, or against gentle drive.
    ParkingBrake, LampsAndPoints, "parking brake";

    /// It holds and lets go.
    Holds = "holds", Answer::good("holds and lets go", "The parking brake holds and lets go.").by_house(HOUSE);

    /// It does not hold.
    DoesNotHold = "does_not_hold", at(
        Grade::DoNotDrive,
        "does not hold",
        "The parking brake does not hold, so the vehicle may roll away wherever it is left.",
        "Chock the wheels until it is mended; look at linings, cables or actuators.",
    );

    /// It does not let go.
    DoesNotRelease = "does_not_release", at(
        Grade::DoNotDrive,
        "does not let go",
        "The parking brake does not let go; driven like this the brake overheats and may fail.",
        "Have cables, levers or actuators freed, and linings and fluid looked at.",
    );

    /// It holds only just.
    Weak = "weak", at(
        Grade::Attend,
        "holds badly or travels far",
        "The parking brake holds badly, or its lever or pedal travels too far.",
        "Have it adjusted, and linings and cables or actuators looked at.",
    );
}
