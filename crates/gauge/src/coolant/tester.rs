//! What a concentration was measured with, and what its scale tells.

use super::{Basis, Glycol};
use crate::answer::{Answer, answered};

answered! {
    /// Which glycol, and by which measure, the scale of a tester is for. It holds until another is said.
    Scale, Coolant, "scale of the coolant tester";

    /// Ethylene glycol by volume.
    EthyleneVolume = "ethylene_volume", Answer::good(
        "ethylene glycol by volume",
        "Concentrations are those of ethylene glycol by volume.",
    );

    /// Ethylene glycol by mass.
    EthyleneMass = "ethylene_mass", Answer::good(
        "ethylene glycol by mass",
        "Concentrations are those of ethylene glycol by mass.",
    );

    /// Propylene glycol by volume.
    PropyleneVolume = "propylene_volume", Answer::good(
        "propylene glycol by volume",
        "Concentrations are those of propylene glycol by volume.",
    );

    /// Propylene glycol by mass.
    PropyleneMass = "propylene_mass", Answer::good(
        "propylene glycol by mass",
        "Concentrations are those of propylene glycol by mass.",
    );
}

impl Scale {
    /// The glycol it is for.
    pub const fn glycol(self) -> Glycol {
        match self {
            Self::EthyleneVolume | Self::EthyleneMass => Glycol::Ethylene,
            Self::PropyleneVolume | Self::PropyleneMass => Glycol::Propylene,
        }
    }

    /// The measure it tells.
    pub const fn basis(self) -> Basis {
        match self {
            Self::EthyleneVolume | Self::PropyleneVolume => Basis::Volume,
            Self::EthyleneMass | Self::PropyleneMass => Basis::Mass,
        }
    }
}

answered! {
    /// How a concentration was found.
    Tester, Coolant, "kind of coolant tester";

    /// A refractometer with a scale for this glycol.
    Refractometer = "refractometer", Answer::good("refractometer", "It was measured with a refractometer.");

    /// A float or balls in the liquid.
    Hydrometer = "hydrometer", Answer::good(
        "hydrometer",
        "It was measured with a hydrometer, which is made for one glycol and one temperature.",
    );

    /// A strip that changes colour.
    Strip = "strip", Answer::good(
        "strip",
        "It was read off a strip, whose steps are coarse and whose colour drifts: it is advisory.",
    );
}
