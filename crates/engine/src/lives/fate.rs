//! What became of a component, and what that says about how long its kind lasts.

use model::EndReason;

/// What became of a component.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fate {
    /// It is fitted still.
    Fitted,
    /// It lies in store and may be fitted again.
    InStore,
    /// Its vehicle left the fleet with it.
    LeftWithVehicle,
    /// It was taken off for good.
    Ended(EndReason),
}

impl Fate {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Fitted => "fitted",
            Self::InStore => "in_store",
            Self::LeftWithVehicle => "left_with_vehicle",
            Self::Ended(reason) => reason.word(),
        }
    }

    /// Whether it was taken off for good, whatever for.
    pub const fn is_removal(self) -> bool {
        matches!(self, Self::Ended(_))
    }

    /// Whether its life was over: see [`ends_life`].
    pub const fn is_end_of_life(self) -> bool {
        matches!(self, Self::Ended(reason) if ends_life(reason))
    }
}

/// Whether a component that was taken off for this reason had reached the end of its life. All others are censored: they
/// have shown that they last at least so long, and are counted as that.
///
/// What was worn or gave out by itself had lived its life. What something from outside ended, what was changed on schedule
/// or for its age, what was called back or sold would have gone on, nobody knows how long (common practice, no source).
/// So would what is fitted still or lies in store, which has no reason at all.
pub const fn ends_life(reason: EndReason) -> bool {
    match reason {
        EndReason::Worn | EndReason::Failed => true,
        EndReason::Damaged
        | EndReason::Scheduled
        | EndReason::Aged
        | EndReason::Recalled
        | EndReason::SoldWithVehicle
        | EndReason::Other => false,
    }
}
