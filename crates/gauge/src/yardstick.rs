//! What one vehicle's measurements are held to: the law where it stands, and its fleet's own limits.

use crate::limit::{Bound, Limit, Standing};
use model::{HouseLimit, Place, Vehicle};
use quantity::Entered;

/// The law and the house limits that hold for one vehicle.
#[derive(Debug, Clone, Copy)]
pub struct Yardstick<'a> {
    /// The vehicle.
    pub vehicle: &'a Vehicle,
    /// The limits its fleet has set in place of the shipped ones.
    pub house: &'a [HouseLimit],
}

/// A limit as it holds for one fleet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Held<'a> {
    /// As shipped.
    pub limit: &'static Limit,
    /// With the fleet's number, where it set one.
    pub bound: Bound,
    house: Option<&'a HouseLimit>,
}

impl<'a> Yardstick<'a> {
    /// The yardstick of a vehicle whose fleet has set no limits of its own.
    pub const fn shipped(vehicle: &'a Vehicle) -> Self {
        Self { vehicle, house: &[] }
    }

    /// This limit with the number that the fleet set for it, if it did.
    pub(crate) fn held(&self, limit: &'static Limit) -> Held<'a> {
        let house = self.house.iter().find(|house| house.limit.as_str() == limit.key);
        // What is kept was checked when it was set; a number of another kind would hold a depth to a pressure.
        let own = house.and_then(|house| Some((house, limit.bound.with(house.value)?)));
        match own {
            Some((house, bound)) => Held { limit, bound, house: Some(house) },
            None => Held { limit, bound: limit.bound, house: None },
        }
    }

    /// This limit as the fleet set it if that is stricter, else as shipped: for guards that nobody may loosen.
    pub(crate) fn held_at_least(&self, limit: &'static Limit) -> Held<'a> {
        let held = self.held(limit);
        if held.bound.is_as_strict_as(limit.bound) {
            held
        } else {
            Held { bound: limit.bound, house: None, ..held }
        }
    }

    /// The strictest of these laws for the vehicle at a place: the highest floor.
    pub(crate) fn strictest(&self, laws: &'static [Limit], place: Place) -> Option<Held<'a>> {
        let Vehicle { jurisdiction, gross_mass_kg, .. } = self.vehicle;
        laws.iter()
            .filter(|law| law.applies_to(*jurisdiction, *gross_mass_kg, place))
            .map(|law| self.held(law))
            .max_by_key(Held::exact)
    }

    /// Whether these laws would set another number if the vehicle's gross mass, which is not on record, were known.
    pub(crate) fn hangs_on_unknown_mass(&self, laws: &[Limit], place: Place) -> bool {
        let mut numbers = laws
            .iter()
            .filter(|law| law.jurisdiction == Some(self.vehicle.jurisdiction) && law.wheels.include(place))
            .map(Limit::exact);
        let first = numbers.next();
        self.vehicle.gross_mass_kg.is_none() && numbers.any(|number| Some(number) != first)
    }
}

impl Held<'_> {
    /// The exact integer of its number; zero where it has none.
    pub fn exact(&self) -> i64 {
        self.bound.exact()
    }

    /// Whether a value of this exact integer meets it.
    pub fn is_met(&self, exact: i64) -> bool {
        self.bound.is_met(exact)
    }

    /// With a number of this vehicle's own in place of any other; one of another kind changes nothing.
    pub fn at(self, number: Entered) -> Self {
        let bound = self.bound.with(number).unwrap_or(self.bound);
        Self { bound, house: None, ..self }
    }

    /// Whether the fleet set it.
    pub const fn is_own(&self) -> bool {
        self.house.is_some()
    }

    /// On whose word it stands.
    pub fn source(&self) -> String {
        match self.house {
            None => self.limit.source.to_owned(),
            Some(house) => format!("the fleet's own limit ({})", house.reason.trim_end_matches('.')),
        }
    }

    /// How well that is known.
    pub const fn standing(&self) -> Standing {
        if self.house.is_some() { Standing::Fleet } else { self.limit.standing }
    }
}

/// Why a fleet cannot set a limit of its own.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum HouseLimitError {
    /// No limit has this key, or it has no number to set.
    #[error("there is no limit {key:?} with a number to set; there are {}", settable())]
    Unknown {
        /// The key named.
        key: String,
    },
    /// The number is of another kind, or none.
    #[error("{limit} is {shipped}; {given} is no number of that kind")]
    OtherKind {
        /// The key of the limit.
        limit: &'static str,
        /// As shipped.
        shipped: Bound,
        /// What was given.
        given: Entered,
    },
    /// It would be laxer than the law.
    #[error("{limit} is law ({source_of_law}: {shipped}); {given} would be laxer")]
    LaxerThanLaw {
        /// The key of the limit.
        limit: &'static str,
        /// Whose law.
        source_of_law: &'static str,
        /// As the law has it.
        shipped: Bound,
        /// What was given.
        given: Entered,
    },
    /// A limit of one's own is set for a reason, and the reason is kept.
    #[error("say why {limit} is to be other than {shipped}")]
    NoReason {
        /// The key of the limit.
        limit: &'static str,
        /// As shipped.
        shipped: Bound,
    },
}

fn settable() -> String {
    let numbered = crate::limits().filter(|limit| limit.bound.value().is_some());
    numbered.map(|limit| limit.key).collect::<Vec<_>>().join(", ")
}

/// Whether a fleet may hold its vehicles to this: stricter than law or house setting always, laxer only than a house
/// setting, and either with a reason. However lax a house limit, the law's own limits stay and are met first.
///
/// # Errors
/// [`HouseLimitError`], naming what is wrong and what is allowed.
pub fn check_house_limit(house: &HouseLimit) -> Result<(), HouseLimitError> {
    let key = house.limit.as_str();
    let given = house.value;
    let limit = crate::limits()
        .find(|limit| limit.key == key && limit.bound.value().is_some())
        .ok_or_else(|| HouseLimitError::Unknown { key: key.to_owned() })?;
    let (limit_key, shipped) = (limit.key, limit.bound);
    let own = shipped.with(given).ok_or(HouseLimitError::OtherKind { limit: limit_key, shipped, given })?;
    if house.reason.trim().is_empty() {
        return Err(HouseLimitError::NoReason { limit: limit_key, shipped });
    }
    if limit.jurisdiction.is_some() && !own.is_as_strict_as(shipped) {
        let source_of_law = limit.source;
        return Err(HouseLimitError::LaxerThanLaw { limit: limit_key, source_of_law, shipped, given });
    }
    Ok(())
}
