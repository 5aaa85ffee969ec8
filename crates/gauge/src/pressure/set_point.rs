//! The pressure to set a tyre to, which is never below the placard.

use super::air::{Air, gauge_at};
use quantity::{Pressure, Temperature};

/// Why no pressure can be named to set a tyre to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum SetPointError {
    /// The tyre may not be filled to what the vehicle asks for.
    #[error("the tyre is marked for at most {} kPa, less than the placard's {} kPa: it does not belong on this vehicle",
        marked.kpa(), placard.kpa())]
    MarkedBelowPlacard {
        /// The maximum marked on the tyre.
        marked: Pressure,
        /// The placard's pressure.
        placard: Pressure,
    },
    /// A temperature at or below absolute zero, or a pressure that cannot be kept.
    #[error("{placard_kpa} kPa cannot be carried from {from_kelvin} K to {to_kelvin} K",
        placard_kpa = placard.kpa(), from_kelvin = stands_at.kelvin(), to_kelvin = tyre_now.kelvin())]
    NoSuchAir {
        /// The placard's pressure.
        placard: Pressure,
        /// Where the vehicle will stand.
        stands_at: Temperature,
        /// Where the tyre is now.
        tyre_now: Temperature,
    },
}

/// The pressure to set now, so that the tyre has the placard's pressure where the vehicle will stand.
///
/// The placard is the cold pressure at whatever temperature the vehicle stands in, so only a tyre that is warmer now
/// than where it will stand gets more, by [`gauge_at`] at sea level, capped by the tyre's marked maximum. Never less
/// than the placard.
///
/// # Errors
/// [`SetPointError`] if the tyre is marked for less than the placard, or a temperature cannot be.
pub fn set_point(
    placard: Pressure,
    stands_at: Temperature,
    tyre_now: Temperature,
    marked_max: Option<Pressure>,
) -> Result<Pressure, SetPointError> {
    if let Some(marked) = marked_max.filter(|marked| *marked < placard) {
        return Err(SetPointError::MarkedBelowPlacard { marked, placard });
    }
    let raised = gauge_at(placard, Air::at_sea_level(stands_at), Air::at_sea_level(tyre_now))
        .ok_or(SetPointError::NoSuchAir { placard, stands_at, tyre_now })?;
    let capped = marked_max.map_or(raised, |marked| raised.min(marked));
    Ok(capped.max(placard))
}
