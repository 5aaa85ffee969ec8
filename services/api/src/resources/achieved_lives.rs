//! How long the fleet's products last, and what that costs.

use super::components::over_distance;
use crate::http::call::{Call, Outcome};
use crate::http::operation::Operation;
use clerk::lives::{self, Alike};
use contract::{
    AchievedLife, AchievedLivesAsked, DaysReached, DistanceReached, FateCount, LawInDays, LawInDistance,
    LifeInDays, LifeInDistance, LifeWithheld, ProductCost, Quantity,
};
use engine::{Achieved, Fate, Lifetimes, Quantile};
use model::{NoLifeLaw, Scope};
use quantity::{Distance, Unit};

pub fn operations() -> Vec<Operation> {
    vec![
        Operation::list::<AchievedLife>(Scope::Read, "list_achieved_lives", "/achieved-lives")
            .says(
                "List achieved lives",
                "How long the components of each product last in each position, in distance and in days fitted, and what they \
                 cost over distance, by kind, product and position. Lives that have not ended count as what they have shown \
                 (Kaplan-Meier); components that came used are left out. Withheld below 20 removals.",
            )
            .filtered::<AchievedLivesAsked>()
            .does(list),
    ]
}

/// What the list is ordered by: kind, product and the word for the position.
type Key = (String, String, String);

fn key(life: &engine::AchievedLife) -> Key {
    (life.kind.to_string(), life.product.clone(), life.position.word().to_owned())
}

async fn list(call: Call) -> Outcome {
    let AchievedLivesAsked { kind, product, position, unit } = call.asked()?;
    let paging = call.paging().await?;
    let alike = Alike { kind, product: product.map(|line| line.0) };
    let mut rows = lives::achieved(call.clerk(), call.fleet(), &alike).await?;
    rows.retain(|life| position.is_none_or(|wanted| life.position == wanted));
    rows.sort_by_key(key);
    let after: Option<Key> = paging.after();
    rows.retain(|life| after.as_ref().is_none_or(|after| key(life) > *after));
    let unit = unit.map_or(Unit::Kilometre, |unit| unit.0);
    paging.answer(rows, key, |life| told(&life, unit))
}

fn told(life: &engine::AchievedLife, unit: Unit) -> AchievedLife {
    let count = |(fate, components): (&Fate, &u32)| FateCount {
        fate: fate.word().to_owned(),
        components: *components,
        ends_life: fate.is_end_of_life(),
    };
    let cost = &life.cost;
    AchievedLife {
        kind: life.kind.clone(),
        product: life.product.clone(),
        position: life.position,
        components: life.parts,
        came_used: life.came_used,
        fates: life.fates.iter().map(count).collect(),
        distance: in_distance(&life.by_distance, unit),
        time: in_days(&life.by_time),
        cost: ProductCost {
            sums: cost.sums.iter().filter_map(|sum| over_distance(sum, unit)).collect(),
            still_in_use: cost.still_in_use,
            without_cost: cost.without_cost,
            without_distance: cost.without_distance,
        },
    }
}

fn withheld(achieved: &Achieved) -> Option<LifeWithheld> {
    let reason = achieved.told.err()?;
    Some(LifeWithheld { reason, says: engine::words::withheld(reason, achieved) })
}

fn no_law(lifetimes: Option<&Lifetimes>) -> Option<NoLifeLaw> {
    lifetimes.and_then(|lifetimes| lifetimes.weibull.err())
}

fn in_distance(achieved: &Achieved, unit: Unit) -> LifeInDistance {
    let distance = |km: f64| Quantity::from(Distance::nearest_km(km).to(unit));
    let reached = |quantile: Quantile| DistanceReached {
        at: quantile.at.map(distance),
        from: quantile.from.map(distance),
        to: quantile.to.map(distance),
    };
    let told = achieved.told.as_ref().ok();
    let law = told.and_then(|told| told.weibull.ok());
    LifeInDistance {
        lives: achieved.lives,
        removals: achieved.removals,
        ends_of_life: achieved.ends_of_life,
        unknown: achieved.unknown,
        withheld: withheld(achieved),
        early: told.map(|told| reached(told.early)),
        likely: told.map(|told| reached(told.likely)),
        late: told.map(|told| reached(told.late)),
        weibull: law.map(|law| LawInDistance { shape: law.shape, scale: distance(law.scale) }),
        no_law: no_law(told),
    }
}

fn in_days(achieved: &Achieved) -> LifeInDays {
    let reached = |quantile: Quantile| DaysReached { at: quantile.at, from: quantile.from, to: quantile.to };
    let told = achieved.told.as_ref().ok();
    let law = told.and_then(|told| told.weibull.ok());
    LifeInDays {
        lives: achieved.lives,
        removals: achieved.removals,
        ends_of_life: achieved.ends_of_life,
        unknown: achieved.unknown,
        withheld: withheld(achieved),
        early: told.map(|told| reached(told.early)),
        likely: told.map(|told| reached(told.likely)),
        late: told.map(|told| reached(told.late)),
        weibull: law.map(|law| LawInDays { shape: law.shape, scale: law.scale }),
        no_law: no_law(told),
    }
}
