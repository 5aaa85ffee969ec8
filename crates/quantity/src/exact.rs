//! Exact integers with their dimension in the type: what computations work on.

use crate::entered::{Entered, QuantityError};
use crate::unit::{Dimension, Unit};
use serde::{Deserialize, Serialize};
use std::ops::{Add, Sub};

macro_rules! exact {
    ($(#[$doc:meta])* $name:ident, $dimension:ident, $from:ident, $get:ident, $base:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(i64);

        impl $name {
            /// Nothing of it.
            pub const ZERO: Self = Self(0);

            #[doc = concat!("From ", $base, ".")]
            pub const fn $from(exact: i64) -> Self {
                Self(exact)
            }

            #[doc = concat!("In ", $base, ".")]
            pub const fn $get(self) -> i64 {
                self.0
            }

            /// From what was entered.
            ///
            /// # Errors
            /// If the unit measures something else or the value is out of range.
            pub fn parse(entered: Entered) -> Result<Self, QuantityError> {
                entered.exact_as(Dimension::$dimension).map(Self)
            }

            /// Expressed in `unit`, for showing and for arithmetic in that unit.
            pub fn to(self, unit: Unit) -> Entered {
                debug_assert!(unit.dimension() == Dimension::$dimension, "{unit} does not measure this");
                Entered::from_exact(self.0, unit)
            }
        }

        impl Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0.saturating_add(other.0))
            }
        }

        impl Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0.saturating_sub(other.0))
            }
        }
    };
}

exact!(
    /// A distance driven, exact to the millimetre.
    Distance, Distance, from_mm, mm, "millimetres"
);
exact!(
    /// A depth of tread, pad or lining, exact to the nanometre.
    Depth, Depth, from_nm, nm, "nanometres"
);
exact!(
    /// A gauge pressure, exact to the millipascal.
    Pressure, Pressure, from_mpa, mpa, "millipascals"
);
exact!(
    /// A temperature (not a difference), exact to the millikelvin.
    Temperature, Temperature, from_mk, mk, "millikelvins"
);

impl Distance {
    /// From whole kilometres.
    pub const fn from_km(km: i64) -> Self {
        Self(km.saturating_mul(1_000_000))
    }

    /// In kilometres, for forecasts.
    pub fn km(self) -> f64 {
        self.to(Unit::Kilometre).value
    }

    /// The distance nearest to `km` kilometres; what is not finite becomes zero.
    pub fn nearest_km(km: f64) -> Self {
        Self(Entered::new(km, Unit::Kilometre).exact().unwrap_or_default())
    }
}

impl Depth {
    /// In millimetres.
    pub fn mm(self) -> f64 {
        self.to(Unit::Millimetre).value
    }
}

impl Pressure {
    /// In kilopascals.
    pub fn kpa(self) -> f64 {
        self.to(Unit::Kilopascal).value
    }
}

impl Temperature {
    /// In kelvins.
    pub fn kelvin(self) -> f64 {
        #[expect(clippy::cast_precision_loss, reason = "kept within 2^53")]
        let kelvin = self.0 as f64 / 1000.0;
        kelvin
    }
}
