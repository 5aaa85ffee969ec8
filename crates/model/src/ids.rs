//! One id type per kind of thing, so that no id can be taken for another's.

use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;
use uuid::Uuid;

macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident),+ $(,)?) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(pub Uuid);

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                self.0.fmt(f)
            }
        }

        impl FromStr for $name {
            type Err = uuid::Error;
            fn from_str(text: &str) -> Result<Self, Self::Err> {
                Uuid::parse_str(text).map(Self)
            }
        }

        impl From<Uuid> for $name {
            fn from(id: Uuid) -> Self {
                Self(id)
            }
        }
    )+};
}

ids! {
    /// A fleet: the owner of everything else.
    FleetId,
    /// A depot of a fleet.
    DepotId,
    /// A person with duties in a fleet.
    PersonId,
    /// An access key (not its secret).
    KeyId,
    /// A workshop.
    WorkshopId,
    /// A vehicle.
    VehicleId,
    /// One entry of a vehicle's meter log.
    ReadingId,
    /// A person's decision about a reading.
    DecisionId,
    /// A rulebook.
    RulebookId,
    /// One version of a rulebook.
    RulebookVersionId,
    /// A vehicle's exception to a rule.
    OverrideId,
    /// An answer to the baseline check.
    BaselineId,
    /// A service record.
    ServiceId,
    /// Time off the road.
    StayId,
    /// The replacement of a meter.
    ReplacementId,
    /// A reading of the dash's service indicator.
    IndicatorId,
    /// A paper.
    PaperId,
    /// A coverage window.
    WindowId,
    /// An inspection; the phone's entry id.
    InspectionId,
    /// One measured value.
    MeasurementId,
    /// A measurement that was set aside.
    SetAsideId,
    /// Something found wrong.
    FindingId,
    /// A component.
    ComponentId,
    /// That a component was taken off for good.
    ComponentEndId,
    /// What a component was said to cost.
    ComponentCostId,
    /// Fitted rates of wear of a product.
    WearRateId,
    /// A component's time in one place.
    FittingId,
    /// A fitted set of cohort parameters.
    FitId,
    /// One act: a transaction with who, when and from where.
    ActId,
    /// A fired mark addressed to one person.
    NoticeId,
    /// An e-mail.
    LetterId,
    /// A technician's batch.
    BatchId,
}
