//! What brakes that are seldom used need every year.

use crate::limit::Standing;
use model::Powertrain;

/// A yearly look at brakes, as data for an interval rule.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BrakeCare {
    /// How often.
    pub every_months: u32,
    /// What is done, in order.
    pub tasks: &'static [&'static str],
    /// Why.
    pub reason: &'static str,
    /// What can hurt.
    pub caution: &'static str,
    /// Who says so.
    pub source: &'static str,
    /// How well that source is known.
    pub standing: Standing,
}

static OF_ELECTRICS: BrakeCare = BrakeCare {
    every_months: 12,
    tasks: &[
        "Look at both faces of every rotor for rust that braking no longer wipes off.",
        "Free, clean and grease the slide pins and pad guides, as the maker says and with the grease he names.",
        "Look into drums for rust and dust, where there are any.",
        "Measure inner and outer pads.",
        "Prove the brakes on a test bench or an empty road.",
    ],
    reason: "A drive that brakes by its motor seldom uses its brakes, which then rust and seize before they wear.",
    caution: "Wheels off only on firm level ground, with the vehicle on jack stands. Treat brake dust as harmful. Put an \
              electric parking brake into the maker's service mode first. Touch no orange cable. Local codes and licensed \
              practice come first.",
    source: "house setting for brakes of electrics and hybrids, no source",
    standing: Standing::CommonPractice,
};

/// The yearly rust and slide-pin check of vehicles that brake by their motor; `None` for others.
pub const fn brake_care(powertrain: Powertrain) -> Option<&'static BrakeCare> {
    match powertrain {
        Powertrain::Hybrid | Powertrain::BatteryElectric => Some(&OF_ELECTRICS),
        Powertrain::Petrol | Powertrain::Diesel => None,
    }
}
