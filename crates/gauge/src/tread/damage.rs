//! What a look at a tyre can find: damage that stops the vehicle at any depth, and wear named by its likely cause.

use crate::answer::{Answer, answered};
use crate::caution::Hazard;
use crate::limit::Standing;
use model::Grade;

const LIFT_WHEEL: &[Hazard] = &[Hazard::Lifting, Hazard::Wheel];
const ANOTHER_TYRE: &str =
    "Fit another tyre before the vehicle goes out, whatever depth of tread this one has.";

/// Paragraphs of the inspection criteria for light vehicles; those for heavy ones (570.62) say the same.
const GENERAL_CONDITION: &str = "49 CFR 570.9(c) and 570.62(c), texts not read";
const DAMAGE: &str = "49 CFR 570.9(d) and 570.62(d), texts not read";

/// Damage of the carcass.
const fn broken(source: &'static str, title: &'static str, reason: &'static str) -> Answer {
    Answer::of(Grade::DoNotDrive, title, reason)
        .advising(ANOTHER_TYRE, LIFT_WHEEL)
        .by(source, Standing::Memory)
}

/// Wear that tells of something else: the cause comes before the new tyre.
const fn worn(title: &'static str, reason: &'static str, advice: &'static str) -> Answer {
    Answer::of(Grade::Watch, title, reason)
        .advising(advice, LIFT_WHEEL)
        .by(PATTERNS, Standing::CommonPractice)
}

const PATTERNS: &str = "house setting for patterns of wear, no source";

answered! {
    /// What a look at a tyre finds.
    TyreDamage, Tread, "damage of a tyre";

    /// Nothing.
    None = "none", Answer::good("no damage", "No damage was found.");

    /// Cord or belt shows.
    CordExposed = "cord_exposed", broken(
        DAMAGE,
        "cord or belt showing",
        "Cord or belt shows, so the tyre has lost part of what holds it together.",
    );

    /// A bump or bulge.
    Bulge = "bulge", broken(
        GENERAL_CONDITION,
        "bump or bulge",
        "A bulge tells of broken cords or of layers that have come apart; the tyre may burst without warning.",
    );

    /// A cut that reaches the cord.
    CutToCord = "cut_to_cord", broken(DAMAGE, "cut to the cord", "A cut reaches the cord.");

    /// Tread coming off the casing.
    TreadLoose = "tread_loose", broken(
        GENERAL_CONDITION,
        "tread coming loose",
        "The tread is coming off the casing, or pieces of it are missing.",
    );

    /// A nail, a screw or another object in the tread.
    ObjectStuck = "object_stuck", Answer::of(
        Grade::Attend,
        "object stuck in it",
        "Something is stuck in the tyre; it may reach through.",
    ).advising(
        "Leave it in and watch the pressure until the tyre is looked into off its rim; whether it can be repaired a tyre \
         fitter decides.",
        LIFT_WHEEL,
    );

    /// A cut that does not reach the cord.
    CutShallow = "cut_shallow", Answer::of(
        Grade::Attend,
        "cut, no cord reached",
        "A cut was found that does not show cord; how deep it is must be probed.",
    ).advising("Have the cut probed with the wheel off.", LIFT_WHEEL);

    /// Cracks in the rubber.
    Cracked = "cracked", Answer::of(
        Grade::Attend,
        "cracked rubber",
        "The rubber is cracked, as age, sun and standing do.",
    ).advising("Read the date code, and have the tyre looked at with the wheel off.", LIFT_WHEEL);

    /// Ribs sharp on one edge and rounded on the other.
    FeatheredRibs = "feathered_ribs", worn(
        "feathered ribs",
        "The ribs are feathered: sharp on one edge, rounded on the other, as wrong toe often wears them.",
        "Have the alignment measured before fitting new tyres.",
    );

    /// High and low places in turn round the tyre.
    Cupped = "cupped", worn(
        "cupped round the tyre",
        "High and low places follow each other round the tyre, as worn dampers or imbalance often wear it.",
        "Have dampers and balance checked before fitting new tyres.",
    );

    /// One flat place.
    FlatSpot = "flat_spot", worn(
        "flat spot",
        "One place is worn flat, as a locked wheel would leave it.",
        "Measure the depth at the flat spot, and find out why the wheel locked.",
    );
}
