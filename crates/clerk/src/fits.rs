//! Fitting the fleet's usage: what newcomers are judged by until their own readings speak.
//!
//! A fit is kept for each cohort (depot, model and duty), for each duty and for the whole fleet; it is never changed, and
//! a vehicle is judged by the one it is pinned to. A refit is adopted cohort by cohort, where it would move forecasts
//! enough to be worth it: dates must not tremble every month.
//!
//! So are the rates of wear of the fleet's products, which need no pin: the newest hold for every vehicle.

mod adoption;
mod cohorts;
mod rates;

use crate::error::ActError;
use crate::{Act, Clerk, facts, heirs};
use cohorts::Member;
use engine::WornComponent;
use model::{
    Actor, ActorKind, CohortFit, ComponentId, Facts, FitId, FleetId, MeterQuantity, PinnedFit, Vehicle,
    VehicleId, WearRate,
};
use std::collections::BTreeMap;
use store::Reach;

/// So many vehicles are read, and pinned, at once.
const SLICE: usize = 64;

/// What a refit came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Refit {
    /// Groups whose new fit was adopted and recorded.
    pub adopted: usize,
    /// Groups that keep the fit they had.
    pub kept: usize,
    /// Vehicles pinned to another fit than before.
    pub pinned: usize,
    /// Products whose new rates of wear were adopted and recorded.
    pub rates_adopted: usize,
    /// Products that could tell new ones and keep the rates they had.
    pub rates_kept: usize,
}

/// What the fleet has to tell.
struct Survey {
    members: Vec<Member>,
    /// What each component went through, told by the vehicle it was fitted to last.
    worn: BTreeMap<ComponentId, WornComponent>,
}

/// What comes of it.
struct Fitted {
    members: Vec<Member>,
    /// By the group's name.
    usage: BTreeMap<String, CohortFit>,
    /// Of the products that can tell any.
    wear: Vec<WearRate>,
}

/// Fits every cohort, duty and the fleet anew; records those fits that would move a quantile of the distance of 90
/// operating days by more than 5 %, and pins each vehicle to the standing fit of its cohort. Then the rates of wear, in
/// the same way. Horizons are renewed by the scheduler, 64 vehicles at a time. Broken off half-way, it can be done again
/// and goes on.
///
/// # Errors
/// Storage errors.
pub async fn refit(clerk: &Clerk, fleet: FleetId) -> Result<Refit, ActError> {
    let survey = survey(clerk, fleet).await?;
    let old = standing(clerk, fleet, &survey.members).await?;
    let Fitted { members, usage, wear } = fitted(survey).await;
    let mut refit = Refit::default();
    let standing = adopt(clerk, fleet, &old, &usage, &mut refit).await?;
    for quantity in [MeterQuantity::Distance, MeterQuantity::Hours] {
        let of_quantity = members.iter().filter(|member| member.quantity == quantity);
        let to_pin: Vec<(VehicleId, FitId)> =
            of_quantity.filter_map(|member| member.to_pin(&standing)).collect();
        for slice in to_pin.chunks(SLICE) {
            pin(clerk, fleet, quantity, slice).await?;
        }
        refit.pinned += to_pin.len();
    }
    let of_distance = members.iter().filter(|member| member.quantity == MeterQuantity::Distance);
    let vehicles: Vec<VehicleId> = of_distance.map(|member| member.vehicle).collect();
    rates::adopt(clerk, fleet, &vehicles, &wear, &mut refit).await?;
    Ok(refit)
}

async fn survey(clerk: &Clerk, fleet: FleetId) -> Result<Survey, ActError> {
    let mut tx = clerk.store().reader(Reach::Fleet(fleet)).await?;
    let conn = &mut tx.conn();
    let policy = store::fleets::policy(conn, fleet).await?;
    let ids = store::vehicles::ids(conn, fleet).await?;
    let mut survey = Survey { members: Vec::with_capacity(ids.len()), worn: BTreeMap::new() };
    for slice in ids.chunks(SLICE) {
        for facts in facts::load(conn, fleet, slice, &policy).await? {
            survey.members.extend(Member::all_of(&facts));
            rates::take(&mut survey.worn, engine::worn_components(&facts, &policy));
        }
    }
    Ok(survey)
}

/// The newest fit of each group that one of the members is in, by the group's name.
async fn standing(
    clerk: &Clerk,
    fleet: FleetId,
    members: &[Member],
) -> Result<BTreeMap<String, PinnedFit>, ActError> {
    let names: Vec<&str> = cohorts::names_of_all(members).into_iter().collect();
    let mut tx = clerk.store().reader(Reach::Fleet(fleet)).await?;
    Ok(store::fits::newest(&mut tx.conn(), fleet, &names).await?)
}

/// The back-tests of a large fleet take seconds: others get their turn meanwhile.
async fn fitted(survey: Survey) -> Fitted {
    let fitting = tokio::task::spawn_blocking(move || Fitted {
        usage: cohorts::fit_all(&survey.members),
        wear: rates::fit_all(&survey.worn),
        members: survey.members,
    });
    fitting.await.expect("fitting ends: it is not called off, and its numbers come to an end")
}

/// Records the fits worth adopting; gives the fit that stands for each group from now on, where one does.
async fn adopt(
    clerk: &Clerk,
    fleet: FleetId,
    old: &BTreeMap<String, PinnedFit>,
    new: &BTreeMap<String, CohortFit>,
    refit: &mut Refit,
) -> Result<BTreeMap<String, FitId>, ActError> {
    let mut act = clerk.begin(fleet, &scheduler(), "refit", None).await?;
    let stamp = act.stamp();
    let mut standing = BTreeMap::new();
    for (name, fit) in new {
        let kept = match old.get(name) {
            Some(old) => (!adoption::is_worth_it(&old.fit, fit)).then_some(old.id),
            None => adoption::says_nothing(fit).then_some(None),
        };
        if let Some(id) = kept {
            refit.kept += 1;
            standing.extend(id.map(|id| (name.clone(), id)));
            continue;
        }
        let id = FitId(act.new_id());
        store::fits::insert(&mut act.conn(), fleet, id, name, fit, &stamp).await?;
        refit.adopted += 1;
        standing.insert(name.clone(), id);
    }
    if refit.adopted > 0 {
        act.commit().await?;
    }
    Ok(standing)
}

/// Pins these vehicles, in order of ids, and asks for new horizons of them; of vehicles that have a component from one of
/// them, too: where readings give out, its distance there is what the fit expects.
async fn pin(
    clerk: &Clerk,
    fleet: FleetId,
    quantity: MeterQuantity,
    pins: &[(VehicleId, FitId)],
) -> Result<(), ActError> {
    let mut act = clerk.begin(fleet, &scheduler(), "pin_fits", None).await?;
    let stamp = act.stamp();
    let vehicles: Vec<VehicleId> = pins.iter().map(|(vehicle, _)| *vehicle).collect();
    // Raising locks the vehicles' rows, so it comes first.
    heirs::raise_needed_with(&mut act.conn(), fleet, &vehicles).await?;
    store::fits::pin(&mut act.conn(), fleet, quantity, pins, &stamp).await?;
    act.commit().await?;
    Ok(())
}

fn scheduler() -> Actor {
    Actor { kind: ActorKind::Program, key: None, person: None, source: "scheduler".to_owned() }
}

/// Pins a vehicle that has just come to its cohort to the cohort's newest fit; to its duty's or the fleet's where the
/// cohort has none. Without any, it keeps what it had: the shipped default, if nothing else.
///
/// # Errors
/// Storage errors.
pub(crate) async fn pin_newcomer(act: &mut Act, vehicle: &Vehicle) -> Result<(), ActError> {
    for quantity in [MeterQuantity::Distance, MeterQuantity::Hours] {
        let Some(names) = cohorts::names_of(vehicle, quantity) else { continue };
        let (fleet, stamp) = (act.fleet(), act.stamp());
        let wanted = names.each_ref().map(String::as_str);
        let newest = store::fits::newest(&mut act.conn(), fleet, &wanted).await?;
        let Some(fit) = names.iter().find_map(|name| newest.get(name)).and_then(|fit| fit.id) else {
            continue;
        };
        let now = store::fits::pinned(&mut act.conn(), fleet, quantity, &[vehicle.id]).await?;
        if now.first().and_then(|(_, pinned)| pinned.id) != Some(fit) {
            store::fits::pin(&mut act.conn(), fleet, quantity, &[(vehicle.id, fit)], &stamp).await?;
        }
    }
    Ok(())
}

impl Member {
    /// The vehicle as a member of its groups by distance, and, where its engine's running time is read, by hours.
    fn all_of(facts: &Facts) -> impl Iterator<Item = Self> {
        let of = |quantity, pinned: &PinnedFit, gaps| {
            let names = cohorts::names_of(&facts.vehicle, quantity)?;
            let history = forecast::History { gaps };
            Some(Self { vehicle: facts.vehicle.id, quantity, names, pinned: pinned.id, history })
        };
        let hours = engine::hour_gaps(facts);
        let by_hours = (!hours.is_empty()).then(|| of(MeterQuantity::Hours, &facts.running, hours)).flatten();
        of(MeterQuantity::Distance, &facts.usage, engine::gaps(facts)).into_iter().chain(by_hours)
    }

    /// The standing fit of its cohort, if it is pinned to another.
    fn to_pin(&self, standing: &BTreeMap<String, FitId>) -> Option<(VehicleId, FitId)> {
        let fit = standing.get(&self.names[0]).copied()?;
        (self.pinned != Some(fit)).then_some((self.vehicle, fit))
    }
}
