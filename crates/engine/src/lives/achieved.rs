//! How long the components of a product last in a position, those that have not ended counted as what they have shown.

use super::cost::ProductCost;
use super::fate::Fate;
use super::part::PartLife;
use forecast::survival::{KaplanMeier, LEAST_REMOVALS, Life, SurvivalError, Weibull};
use forecast::wear::BAND_SCORES;
use model::{Code, LifeWithheld, NoLifeLaw, Position};
use quantity::Distance;
use std::collections::BTreeMap;

/// A law is shown as long as nowhere it leaves the bounds that hold the curve 99 times in 100 at each length
/// (`scipy.stats.norm.ppf(0.995)`; the 99 chosen, no source).
const LAW_SCORE: f64 = 2.575_829_303_548_901;

/// What the components of a product achieve in a position.
#[derive(Debug, Clone, PartialEq)]
pub struct AchievedLife {
    /// Kind of component: `tyre`, `pad-set`.
    pub kind: Code,
    /// The product, as on the component.
    pub product: String,
    /// Where they did their work.
    pub position: Position,
    /// How many did their work there.
    pub parts: u32,
    /// Those left out of lives because they came used: how long they had lasted then is not known.
    pub came_used: u32,
    /// What became of the others.
    pub fates: BTreeMap<Fate, u32>,
    /// Lives in distance, kilometres.
    pub by_distance: Achieved,
    /// Lives in time fitted, days.
    pub by_time: Achieved,
    /// What they cost over distance.
    pub cost: ProductCost,
}

/// Lives in one measure, and what they come to.
#[derive(Debug, Clone, PartialEq)]
pub struct Achieved {
    /// Lives counted.
    pub lives: u32,
    /// Those of them that were taken off for good.
    pub removals: u32,
    /// Those of these that had reached the end of their life.
    pub ends_of_life: u32,
    /// Components left out because their life in this measure is not known, or none.
    pub unknown: u32,
    /// What it comes to.
    pub told: Result<Lifetimes, LifeWithheld>,
}

/// How long they last.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lifetimes {
    /// The length by which one in ten has ended.
    pub early: Quantile,
    /// By which half have.
    pub likely: Quantile,
    /// By which nine in ten have.
    pub late: Quantile,
    /// The Weibull law of them.
    pub weibull: Result<Weibull, NoLifeLaw>,
}

/// A length by which a share has ended, and between which lengths it lies eight times in ten. `None` where nothing was
/// watched long enough to say.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Quantile {
    /// The length.
    pub at: Option<f64>,
    /// From here.
    pub from: Option<f64>,
    /// To here.
    pub to: Option<f64>,
}

/// What products achieve, by kind, product and position. Components that never did any work, new ones in store and spares,
/// tell nothing and are in none.
///
/// One that worked at the front and at the rear counts under [`Position::Several`] alone: its life belongs to neither. One
/// that came used is left out of lives, which would begin too late, but not of costs.
pub fn achieved_lives(parts: &[PartLife]) -> Vec<AchievedLife> {
    let mut groups: BTreeMap<(&Code, &str, Position), Vec<&PartLife>> = BTreeMap::new();
    for part in parts {
        if let Some(position) = part.position() {
            let key = (&part.component.kind, part.component.product.as_str(), position);
            groups.entry(key).or_default().push(part);
        }
    }
    let life = |((kind, product, position), parts): ((&Code, &str, Position), Vec<&PartLife>)| {
        let known: Vec<&PartLife> = parts.iter().copied().filter(|part| !part.component.came_used).collect();
        let mut fates = BTreeMap::new();
        for part in &known {
            *fates.entry(part.fate()).or_default() += 1;
        }
        AchievedLife {
            kind: kind.clone(),
            product: product.to_owned(),
            position,
            parts: number(parts.len()),
            came_used: number(parts.len() - known.len()),
            fates,
            by_distance: Achieved::of(&known, |part| {
                part.run().ok().map(|run| run.distance.max(Distance::ZERO).km())
            }),
            by_time: Achieved::of(&known, |part| Some(days(part.days()))),
            cost: ProductCost::of(&parts),
        }
    };
    groups.into_iter().map(life).collect()
}

fn number(parts: usize) -> u32 {
    u32::try_from(parts).unwrap_or(u32::MAX)
}

fn days(days: i64) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "days between civil dates of 1900 to 2200")]
    let days = days as f64;
    days
}

impl Achieved {
    fn of(parts: &[&PartLife], length: impl Fn(&PartLife) -> Option<f64>) -> Self {
        let watched = parts.iter().filter_map(|part| {
            let length = length(part).filter(|length| *length > 0.0)?;
            Some((part.fate(), length))
        });
        let mut watched: Vec<(Fate, f64)> = watched.collect();
        // Sums over lives must not hang on the order in which components come.
        watched.sort_by(|one, other| one.1.total_cmp(&other.1).then(one.0.cmp(&other.0)));
        let life = |(fate, length): &(Fate, f64)| {
            if fate.is_end_of_life() { Life::Failed(*length) } else { Life::Censored(*length) }
        };
        let lives: Vec<Life> = watched.iter().map(life).collect();
        let removals = watched.iter().filter(|(fate, _)| fate.is_removal()).count();
        let ends = watched.iter().filter(|(fate, _)| fate.is_end_of_life()).count();
        let told =
            if removals < LEAST_REMOVALS { Err(LifeWithheld::TooFewRemovals) } else { Lifetimes::of(&lives) };
        Self {
            lives: number(lives.len()),
            removals: number(removals),
            ends_of_life: number(ends),
            unknown: number(parts.len() - lives.len()),
            told,
        }
    }
}

impl Lifetimes {
    fn of(lives: &[Life]) -> Result<Self, LifeWithheld> {
        // Lengths are above zero, so the one thing that can be wrong is that nothing has ended.
        let curve = KaplanMeier::new(lives).map_err(|_| LifeWithheld::NoEndOfLife)?;
        let quantile = |share: f64| {
            let [from, to] = curve.failed_by_band(share, BAND_SCORES[2]);
            Quantile { at: curve.failed_by(share), from, to }
        };
        let weibull = match Weibull::fit(lives) {
            Ok(law) if holds(&law, &curve) => Ok(law),
            Ok(_) => Err(NoLifeLaw::DoesNotHold),
            Err(
                SurvivalError::NoSpread { .. }
                | SurvivalError::NoFailures { .. }
                | SurvivalError::NotALength { .. },
            ) => Err(NoLifeLaw::NoSpread),
        };
        Ok(Self { early: quantile(0.1), likely: quantile(0.5), late: quantile(0.9), weibull })
    }
}

/// Whether the law stays within the bounds of the curve: at each step not above what it was before, nor below what it is
/// after.
fn holds(law: &Weibull, curve: &KaplanMeier) -> bool {
    let mut before = 1.0;
    curve.steps().iter().all(|step| {
        let Some([low, high]) = step.survival_band(LAW_SCORE) else { return true };
        let survival = law.survival_at(step.length);
        let inside = low <= survival && survival <= before;
        before = high;
        inside
    })
}
