//! Which vehicles are alike, and what their histories say about the next one like them.

use forecast::{Cohort, Fitted, HALF_LIFE_DAYS, History, Kappa, Kin, LEAST_CASES, Level, MeasuredKappa};
use model::{CohortFit, FitId, FitLevel, KappaFit, MeterQuantity, Vehicle, VehicleId};
use std::collections::{BTreeMap, BTreeSet};

/// What the group of all vehicles is called.
const FLEET: &str = "fleet";

/// A vehicle's history and the groups it belongs to.
pub(super) struct Member {
    pub(super) vehicle: VehicleId,
    /// What its history counts: kilometres or hours of the engine.
    pub(super) quantity: MeterQuantity,
    /// Names of its groups, the narrowest first: cohort, duty, fleet.
    pub(super) names: [String; 3],
    /// The fit it is judged by now.
    pub(super) pinned: Option<FitId>,
    pub(super) history: History,
}

/// What the names of groups fitted by running time begin with.
const HOURS: &str = "hours/";

/// The names of the groups that a vehicle belongs to by its newest attributes: depot, model and duty; duty; fleet.
pub(super) fn names_of(vehicle: &Vehicle, quantity: MeterQuantity) -> Option<[String; 3]> {
    let now = vehicle.attributes_now()?;
    let cohort = format!("{}/{}/{}", now.depot, vehicle.model, now.duty);
    let names = [cohort, format!("duty/{}", now.duty), FLEET.to_owned()];
    Some(match quantity {
        MeterQuantity::Distance => names,
        MeterQuantity::Hours => names.map(|name| format!("{HOURS}{name}")),
    })
}

/// What stands in where no group is large enough.
fn shipped(name: &str) -> Cohort {
    let CohortFit { a, p, q, .. } = store::facts::SHIPPED_RUNNING.fit;
    if name.starts_with(HOURS) { Cohort { a, p, q } } else { Cohort::SHIPPED }
}

/// The names of every group that one of the members belongs to.
pub(super) fn names_of_all(members: &[Member]) -> BTreeSet<&str> {
    members.iter().flat_map(|member| member.names.iter().map(String::as_str)).collect()
}

/// A fit for each group that one of the members belongs to, by its name.
pub(super) fn fit_all(members: &[Member]) -> BTreeMap<String, CohortFit> {
    let mut groups: BTreeMap<&[String], Vec<History>> = BTreeMap::new();
    for member in members {
        for narrowest in 0..member.names.len() {
            groups.entry(&member.names[narrowest..]).or_default().push(member.history.clone());
        }
    }
    let histories = |names: &[String]| groups.get(names).map_or(&[] as &[History], Vec::as_slice);
    let fit = |names: &[String]| {
        let wider = |steps: usize| {
            names.len().checked_sub(steps).map_or(&[] as &[History], |at| histories(&names[at..]))
        };
        let kin = Kin { cohort: wider(3), parent: wider(2), fleet: wider(1) };
        (names[0].clone(), fit_of(&kin, shipped(&names[0])))
    };
    groups.keys().map(|names| fit(names)).collect()
}

fn fit_of(kin: &Kin<'_>, shipped: Cohort) -> CohortFit {
    let Fitted { cohort, level } = kin.fit();
    let cohort = if level == Level::Shipped { shipped } else { cohort };
    let (level, of_level, groups): (_, &[History], &[&[History]]) = match level {
        Level::Cohort => (FitLevel::Cohort, kin.cohort, &[kin.cohort, kin.parent, kin.fleet]),
        Level::Parent => (FitLevel::Parent, kin.parent, &[kin.parent, kin.fleet]),
        Level::Fleet => (FitLevel::Fleet, kin.fleet, &[kin.fleet]),
        Level::Shipped => (FitLevel::Shipped, &[], &[kin.fleet]),
    };
    let vehicles = u32::try_from(of_level.len()).unwrap_or(u32::MAX);
    let kappa = kappa_of(&cohort, groups);
    CohortFit { a: cohort.a, p: cohort.p, q: cohort.q, level, vehicles, kappa }
}

/// The width measured on the narrowest group that has enough back-test cases at every horizon, from the level of the fit
/// on; on the widest where none has. `None` where that one has too few at each: nothing is measured then, and the
/// shipped width stands in.
fn kappa_of(cohort: &Cohort, groups: &[&[History]]) -> Option<KappaFit> {
    let mut widest = None;
    for group in groups {
        let measured = Kappa::fit(cohort, group, Some(HALF_LIFE_DAYS));
        widest = Some(measured);
        if measured.cases.iter().all(|cases| *cases >= LEAST_CASES) {
            break;
        }
    }
    widest.filter(|measured| measured.cases.iter().any(|cases| *cases >= LEAST_CASES)).map(recorded)
}

fn recorded(measured: MeasuredKappa) -> KappaFit {
    let Kappa { at_30, at_90, at_180 } = measured.kappa;
    let cases = measured.cases.map(|cases| u32::try_from(cases).unwrap_or(u32::MAX));
    KappaFit { at_30, at_90, at_180, cases }
}

#[cfg(test)]
mod tests {
    use super::*;
    use forecast::Gap;
    use uuid::Uuid;

    /// Weekly readings of a vehicle that drives so much a day, now more, now less.
    fn history(daily_km: f64, weeks: usize) -> History {
        let parts = [0.6, 1.5, 0.9, 1.0, 1.4, 0.6];
        let gaps = parts.iter().cycle().take(weeks).map(|part| Gap { days: 7.0, km: 7.0 * daily_km * part });
        History { gaps: gaps.collect() }
    }

    fn member(number: u128, names: [&str; 3], history: History) -> Member {
        let names = names.map(str::to_owned);
        let quantity = MeterQuantity::Distance;
        Member { vehicle: VehicleId(Uuid::from_u128(number)), quantity, names, pinned: None, history }
    }

    fn number(count: u128) -> f64 {
        f64::from(u32::try_from(count).expect("a few"))
    }

    #[test]
    fn each_group_is_fitted_once_from_its_own_or_the_next_wider_one_that_can() {
        let mut members: Vec<Member> = (0..8)
            .map(|n| member(n, ["yard/Carter/pool", "duty/pool", "fleet"], history(60.0 + number(n), 20)))
            .collect();
        members.push(member(9, ["quay/Carter/pool", "duty/pool", "fleet"], history(90.0, 20)));
        members.push(member(10, ["quay/Carter/delivery", "duty/delivery", "fleet"], history(150.0, 20)));
        let fits = fit_all(&members);
        let levels: Vec<_> =
            fits.iter().map(|(name, fit)| (name.as_str(), fit.level, fit.vehicles)).collect();
        assert_eq!(
            levels,
            [
                ("duty/delivery", FitLevel::Fleet, 10),
                ("duty/pool", FitLevel::Parent, 9),
                ("fleet", FitLevel::Fleet, 10),
                ("quay/Carter/delivery", FitLevel::Fleet, 10),
                ("quay/Carter/pool", FitLevel::Parent, 9),
                ("yard/Carter/pool", FitLevel::Cohort, 8),
            ]
        );
        let [own, parent] = ["yard/Carter/pool", "duty/pool"].map(|name| fits[name]);
        assert!(own.q / (own.p - 1.0) < parent.q / (parent.p - 1.0), "the ninth drives more");
    }

    #[test]
    fn two_vehicles_are_told_nothing_and_take_the_shipped_default() {
        let two = [1, 2].map(|n| member(n, ["yard/Carter/pool", "duty/pool", "fleet"], history(60.0, 5)));
        let fit = fit_all(&two)["yard/Carter/pool"];
        let Cohort { a, p, q } = Cohort::SHIPPED;
        assert_eq!(
            (fit.a, fit.p, fit.q, fit.level, fit.vehicles, fit.kappa),
            (a, p, q, FitLevel::Shipped, 0, None)
        );
    }

    #[test]
    fn a_cohort_without_cases_at_every_horizon_is_tested_on_a_wider_group() {
        let of = |n: u128, weeks: usize| history(60.0 + number(n), weeks);
        let cohort: Vec<History> = (0..8).map(|n| of(n, 60)).collect();
        let parent: Vec<History> = (0..40).map(|n| of(n, 104)).collect();
        let prior = Cohort { a: 1.0, p: 6.0, q: 400.0 };
        let own = Kappa::fit(&prior, &cohort, Some(HALF_LIFE_DAYS));
        assert!(own.cases[0] >= LEAST_CASES && own.cases[2] < LEAST_CASES, "{own:?}");
        let wide = recorded(Kappa::fit(&prior, &parent, Some(HALF_LIFE_DAYS)));
        assert_eq!(kappa_of(&prior, &[&cohort, &parent]), Some(wide));
        assert_eq!(kappa_of(&prior, &[&cohort]), Some(recorded(own)), "the widest there is");
        assert_eq!(kappa_of(&prior, &[&cohort[..1]]), None, "one vehicle measures nothing");
    }
}
