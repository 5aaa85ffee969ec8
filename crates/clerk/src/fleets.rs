//! Fleets, which only the operator makes, and the installation's secret.

use crate::error::{ActError, Fault};
use crate::{Act, Clerk, audience, jobs};
use gauge::HouseLimitError;
use model::{Fleet, FleetId, HouseLimit, Policy, Rung};
use store::Reach;

/// Makes a fleet.
///
/// # Errors
/// A fault if the name is empty; storage errors.
pub async fn create_fleet(clerk: &Clerk, name: &str) -> Result<Fleet, ActError> {
    if name.trim().is_empty() {
        return Err(ActError::fault("/name", "empty", "a fleet needs a name"));
    }
    let fleet = Fleet { id: FleetId(clerk.new_id()), name: name.trim().to_owned(), sequence: 0 };
    let mut tx = clerk.store().writer(Reach::Fleet(fleet.id)).await?;
    store::fleets::insert(&mut tx.conn(), &fleet, &Policy::default(), clerk.now()).await?;
    jobs::plan_for(&mut tx.conn(), fleet.id, clerk.now()).await?;
    tx.commit().await?;
    Ok(fleet)
}

/// Replaces the fleet's policy, if it still has the version `expected`.
///
/// # Errors
/// Faults of its house limits, all at once; [`ActError::Stale`] if it was changed meanwhile; storage errors.
pub async fn change_policy(act: &mut Act, expected: i64, policy: &Policy) -> Result<(), ActError> {
    let mut faults = faults_of(&policy.house_limits);
    faults.extend(faults_of_rungs(&policy.told));
    if !faults.is_empty() {
        return Err(ActError::Faults(faults));
    }
    act.take_turn_at_grounds().await?;
    let fleet = act.fleet();
    let before = store::fleets::policy(&mut act.conn(), fleet).await?;
    if !store::fleets::set_policy(&mut act.conn(), fleet, expected, policy).await? {
        return Err(ActError::Stale);
    }
    act.note("policy", fleet, "change", Some(&before), Some(policy));
    store::states::raise_needed_all(&mut act.conn(), fleet).await?;
    Ok(())
}

/// Everything that is wrong with limits a fleet wants to set itself.
fn faults_of(limits: &[HouseLimit]) -> Vec<Fault> {
    let mut faults = Vec::new();
    for (index, house) in limits.iter().enumerate() {
        let pointer = format!("/house_limits/{index}");
        if limits[..index].iter().any(|before| before.limit == house.limit) {
            faults.push(Fault::new(
                format!("{pointer}/limit"),
                "twice",
                "the limit stands in the list before",
            ));
        }
        if let Err(error) = gauge::check_house_limit(house) {
            let member = match error {
                HouseLimitError::Unknown { .. } => "limit",
                HouseLimitError::OtherKind { .. } | HouseLimitError::LaxerThanLaw { .. } => "value",
                HouseLimitError::NoReason { .. } => "reason",
            };
            faults.push(Fault::new(format!("{pointer}/{member}"), "limit", error));
        }
    }
    faults
}

/// Everything that is wrong with whom a fleet wants to be told.
fn faults_of_rungs(rungs: &[Rung]) -> Vec<Fault> {
    let mut faults = Vec::new();
    for (index, rung) in rungs.iter().enumerate() {
        let pointer = format!("/told/{index}/reminder");
        if rungs[..index].iter().any(|before| (before.of, &before.reminder) == (rung.of, &rung.reminder)) {
            faults.push(Fault::new(&pointer, "twice", "it stands in the list before"));
        }
        if audience::is_fixed(&rung.reminder) {
            let detail = format!("whom {:?} is told cannot be changed: somebody can be hurt", rung.reminder);
            faults.push(Fault::new(&pointer, "fixed", detail));
        } else if !audience::is_known(&rung.reminder) {
            let detail = format!("{:?} is no reminder; {}", rung.reminder, audience::KNOWN);
            faults.push(Fault::new(&pointer, "unknown", detail));
        }
    }
    faults
}

/// The installation's secret of this name, made on first use.
pub(crate) async fn secret(clerk: &Clerk, name: &str) -> Result<[u8; 32], ActError> {
    let mut fresh = [0; 32];
    clerk.chance().fill(&mut fresh);
    let mut tx = clerk.store().writer(Reach::All).await?;
    store::installation::insert_secret(&mut tx.conn(), name, &fresh).await?;
    let kept = store::installation::secret(&mut tx.conn(), name).await?;
    tx.commit().await?;
    let kept = kept.and_then(|bytes| <[u8; 32]>::try_from(bytes).ok());
    Ok(kept.unwrap_or(fresh))
}
