//! Fitting the fleet's usage: what newcomers are judged by until their own readings speak.

use crate::error::ActError;
use crate::{Act, Clerk};
use forecast::{Fitted, Gap, History, Kin, Level};
use model::{Actor, ActorKind, CohortFit, Duty, Facts, FitId, FitLevel, FleetId, VehicleId};
use std::collections::BTreeMap;
use store::Reach;

/// Facts of so many vehicles are read at once.
const SLICE: usize = 64;

/// A vehicle's history and the cohort it belongs to: depot, model and duty; its parent is the duty alone.
struct Member {
    vehicle: VehicleId,
    cohort: String,
    duty: Duty,
    gaps: Vec<Gap>,
}

/// Fits every cohort of a fleet anew and pins each vehicle to its fit; horizons are renewed by the scheduler. Comes
/// back with the number of fits recorded.
///
/// # Errors
/// Storage errors.
pub async fn refit(clerk: &Clerk, fleet: FleetId) -> Result<usize, ActError> {
    let members = members(clerk, fleet).await?;
    let actor = Actor { kind: ActorKind::Program, key: None, person: None, source: "scheduler".to_owned() };
    let mut act = clerk.begin(fleet, &actor, "refit", None).await?;
    let recorded = record(&mut act, &members).await?;
    act.commit().await?;
    Ok(recorded)
}

async fn members(clerk: &Clerk, fleet: FleetId) -> Result<Vec<Member>, ActError> {
    let mut tx = clerk.store().reader(Reach::Fleet(fleet)).await?;
    let ids = store::vehicles::ids(&mut tx.conn(), fleet).await?;
    let mut members = Vec::with_capacity(ids.len());
    for slice in ids.chunks(SLICE) {
        let facts = store::facts::load(&mut tx.conn(), fleet, slice).await?;
        members.extend(facts.iter().filter_map(member));
    }
    Ok(members)
}

fn member(facts: &Facts) -> Option<Member> {
    let attributes = facts.vehicle.attributes_now()?;
    let cohort = format!("{}/{}/{}", attributes.depot, facts.vehicle.model, attributes.duty);
    let judgements = engine::judge(&facts.readings, &facts.decisions, &facts.vehicle);
    let gaps = engine::gaps(&facts.vehicle, &facts.stays, &facts.readings, &judgements);
    Some(Member { vehicle: facts.vehicle.id, cohort, duty: attributes.duty, gaps })
}

async fn record(act: &mut Act, members: &[Member]) -> Result<usize, ActError> {
    let histories = |wanted: &dyn Fn(&Member) -> bool| -> Vec<History> {
        members.iter().filter(|m| wanted(m)).map(|m| History { gaps: m.gaps.clone() }).collect()
    };
    let mut cohorts: BTreeMap<&str, Vec<&Member>> = BTreeMap::new();
    for member in members {
        cohorts.entry(&member.cohort).or_default().push(member);
    }
    let whole = histories(&|_| true);
    let mut pins = Vec::new();
    let (fleet, stamp) = (act.fleet(), act.stamp());
    for (name, of_cohort) in &cohorts {
        let Some(duty) = of_cohort.first().map(|member| member.duty) else { continue };
        let own = histories(&|m| m.cohort == *name);
        let parent = histories(&|m| m.duty == duty);
        let fitted = Kin { cohort: &own, parent: &parent, fleet: &whole }.fit();
        let fit = cohort_fit(&fitted, [own.len(), parent.len(), whole.len()]);
        let id = FitId(act.new_id());
        store::fits::insert(&mut act.conn(), fleet, id, name, &fit, &stamp).await?;
        pins.extend(of_cohort.iter().map(|member| (member.vehicle, id)));
    }
    store::fits::pin(&mut act.conn(), fleet, &pins, &stamp).await?;
    let vehicles: Vec<VehicleId> = pins.iter().map(|(vehicle, _)| *vehicle).collect();
    store::states::raise_needed(&mut act.conn(), fleet, &vehicles).await?;
    Ok(cohorts.len())
}

fn cohort_fit(fitted: &Fitted, sizes: [usize; 3]) -> CohortFit {
    let (level, size) = match fitted.level {
        Level::Cohort => (FitLevel::Cohort, sizes[0]),
        Level::Parent => (FitLevel::Parent, sizes[1]),
        Level::Fleet => (FitLevel::Fleet, sizes[2]),
        Level::Shipped => (FitLevel::Shipped, 0),
    };
    let vehicles = u32::try_from(size).unwrap_or(u32::MAX);
    CohortFit { a: fitted.cohort.a, p: fitted.cohort.p, q: fitted.cohort.q, level, vehicles, kappa: None }
}
