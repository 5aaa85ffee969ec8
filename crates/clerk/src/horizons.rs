//! Looking ahead: a vehicle's horizon computed from the facts now known, or from those known or true at another time.

use crate::error::ActError;
use crate::{Clerk, facts};
use chrono::{DateTime, Utc};
use model::horizon::Horizon;
use model::{Facts, FleetId, Policy, SetAside, VehicleId};
use store::{AsKnown, Reach};

/// A vehicle's facts and what follows from them.
#[derive(Debug, Clone)]
pub struct Outlook {
    /// The facts.
    pub facts: Facts,
    /// The fleet's policy.
    pub policy: Policy,
    /// What follows.
    pub horizon: Horizon,
    /// What of its inspections waits for a person.
    pub set_aside: Vec<SetAside>,
}

/// The outlook of a vehicle; none if there is no such vehicle in the fleet.
///
/// # Errors
/// Storage errors.
pub async fn of(clerk: &Clerk, fleet: FleetId, vehicle: VehicleId) -> Result<Option<Outlook>, ActError> {
    at(clerk, fleet, vehicle, View::default()).await
}

/// From when a vehicle is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct View {
    /// What had happened by then; everything on record, days to come too, where none is said.
    pub as_of: Option<DateTime<Utc>>,
    /// What was on record by then: facts, rules, fits, policy, and how vehicle, depot and workshops stood. Everything
    /// on record where none is said.
    pub known_at: Option<DateTime<Utc>>,
}

impl View {
    /// As of when the record is read.
    pub(crate) fn known(self) -> AsKnown {
        self.known_at.map_or(AsKnown::NOW, AsKnown::at)
    }
}

/// The outlook of a vehicle seen from then, judged by today's program; none if there was no such vehicle on record.
///
/// An act that was under way at `known_at` counts once it has committed: it bears the instant at which it began.
///
/// # Errors
/// Storage errors.
pub async fn at(
    clerk: &Clerk,
    fleet: FleetId,
    vehicle: VehicleId,
    view: View,
) -> Result<Option<Outlook>, ActError> {
    let mut tx = clerk.store().reader(Reach::Fleet(fleet)).await?;
    let conn = &mut tx.conn();
    let policy = store::fleets::policy_as_known(conn, fleet, view.known()).await?;
    let found = facts::seen(conn, fleet, &[vehicle], &policy, view).await?;
    let Some(facts) = found.into_iter().next() else { return Ok(None) };
    let horizon = engine::horizon(&facts, &policy);
    let mut set_aside = store::set_asides::waiting_of(conn, fleet, vehicle, view.known()).await?;
    // As of a day of the past, inspections that were still to come are not there, and nor is what they set aside.
    set_aside.retain(|one| facts.inspections.iter().any(|inspection| inspection.id == one.inspection));
    Ok(Some(Outlook { facts, policy, horizon, set_aside }))
}
