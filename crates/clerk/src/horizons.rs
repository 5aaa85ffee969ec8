//! Looking ahead: a vehicle's horizon computed from the facts now known, or from those known or true at another time.

use crate::Clerk;
use crate::error::ActError;
use chrono::{DateTime, Utc};
use model::horizon::Horizon;
use model::{Facts, FleetId, Policy, Vehicle, VehicleId, local_day};
use store::{AsKnown, Conn, Reach};

/// A vehicle's facts and what follows from them.
#[derive(Debug, Clone)]
pub struct Outlook {
    /// The facts.
    pub facts: Facts,
    /// The fleet's policy.
    pub policy: Policy,
    /// What follows.
    pub horizon: Horizon,
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
    let known = view.known_at.map_or(AsKnown::NOW, AsKnown::at);
    let mut tx = clerk.store().reader(Reach::Fleet(fleet)).await?;
    let conn = &mut tx.conn();
    let policy = store::fleets::policy_as_known(conn, fleet, known).await?;
    let found = store::facts::load_as_known(conn, fleet, &[vehicle], known).await?;
    let Some(mut facts) = found.into_iter().next() else { return Ok(None) };
    if let Some(as_of) = view.as_of {
        move_to_depot_of(conn, &mut facts.vehicle, as_of, known).await?;
        facts = facts.as_of(as_of);
    }
    let horizon = engine::horizon(&facts, &policy);
    Ok(Some(Outlook { facts, policy, horizon }))
}

/// Gives the vehicle the zone and law of the depot it stood at then, where that is not the one of its newest attributes.
async fn move_to_depot_of(
    conn: &mut Conn<'_>,
    vehicle: &mut Vehicle,
    as_of: DateTime<Utc>,
    known: AsKnown,
) -> Result<(), ActError> {
    let then = vehicle.attributes_on(local_day(as_of, vehicle.zone)).map(|version| version.depot);
    let Some(depot) = then.filter(|depot| vehicle.attributes_now().is_some_and(|now| now.depot != *depot))
    else {
        return Ok(());
    };
    if let Some(depot) = store::depots::find_as_known(conn, vehicle.fleet, depot, known).await? {
        (vehicle.zone, vehicle.jurisdiction) = (depot.zone, depot.jurisdiction);
    }
    Ok(())
}
