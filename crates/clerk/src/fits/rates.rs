//! How fast each product of the fleet wears, and whether new rates are worth adopting in place of those that stand.

use super::{Refit, scheduler};
use crate::Clerk;
use crate::error::ActError;
use engine::WornComponent;
use forecast::wear::{BAND_SCORES, FittedRates, Worn, fit_rates};
use model::{ComponentId, FleetId, VehicleId, WearRate, WearRateId};
use std::collections::BTreeMap;
use store::AsKnown;

/// Rates that move wear by no more than this share are left as they were: dates must not tremble every month (chosen; no
/// source).
const LEAST_MOVE: f64 = 0.05;

/// Takes in what a vehicle tells of its components; of one that several tell of, what it was fitted to last knows most.
pub(super) fn take(worn: &mut BTreeMap<ComponentId, WornComponent>, told: Vec<WornComponent>) {
    for one in told {
        if worn.get(&one.component).is_none_or(|before| before.last_fitted < one.last_fitted) {
            worn.insert(one.component, one);
        }
    }
}

/// Rates of every product of which enough components tell something (`forecast::wear::LEAST_COMPONENTS`).
pub(super) fn fit_all(worn: &BTreeMap<ComponentId, WornComponent>) -> Vec<WearRate> {
    let mut products: BTreeMap<(&str, &str), Vec<&WornComponent>> = BTreeMap::new();
    for one in worn.values() {
        products.entry((one.kind.as_str(), &one.product)).or_default().push(one);
    }
    products.values().filter_map(|alike| fit(alike)).collect()
}

fn fit(alike: &[&WornComponent]) -> Option<WearRate> {
    let first = alike.first()?;
    let lives: Vec<Worn> = alike.iter().map(|one| one.worn.clone()).collect();
    let FittedRates { rates, components } = fit_rates(&lives, &first.shipped, first.gauge_sd_mm);
    let [front, rear] = rates.mm_per_km.map(|rate| rate * 1000.0);
    (components > 0).then(|| WearRate {
        kind: first.kind.clone(),
        product: first.product.clone(),
        front_mm_per_1000_km: front,
        rear_mm_per_1000_km: rear,
        tau: rates.tau,
        components: u32::try_from(components).unwrap_or(u32::MAX),
    })
}

/// Records the rates worth adopting and asks for new horizons of the vehicles that have such components.
pub(super) async fn adopt(
    clerk: &Clerk,
    fleet: FleetId,
    vehicles: &[VehicleId],
    fitted: &[WearRate],
    refit: &mut Refit,
) -> Result<(), ActError> {
    let mut act = clerk.begin(fleet, &scheduler(), "refit_wear", None).await?;
    let stamp = act.stamp();
    let standing = store::wear_rates::newest(&mut act.conn(), fleet, AsKnown::NOW).await?;
    let is_kept = |new: &WearRate| {
        let old = standing.iter().find(|old| old.kind == new.kind && old.product == new.product);
        old.is_some_and(|old| !is_worth_it(old, new))
    };
    let (kept, adopted): (Vec<&WearRate>, Vec<&WearRate>) = fitted.iter().partition(|new| is_kept(new));
    (refit.rates_adopted, refit.rates_kept) = (adopted.len(), kept.len());
    if adopted.is_empty() {
        return Ok(());
    }
    // All rows, in order of ids and before anything else: who is fitting such a component has done so or waits for the
    // new rates, and of several products none makes two acts wait for each other in a circle.
    store::states::lock(&mut act.conn(), fleet, vehicles).await?;
    for rate in adopted {
        let id = WearRateId(act.new_id());
        store::wear_rates::insert(&mut act.conn(), fleet, id, rate, &stamp).await?;
        store::states::raise_needed_by_product(&mut act.conn(), fleet, &rate.kind, &rate.product).await?;
    }
    act.commit().await?;
    Ok(())
}

/// Whether the wear on an axle moves by more than 5 %, be it the likely wear or that which one component in ten exceeds.
/// The latter brings in how much components differ, and what one in ten falls short of mirrors it.
fn is_worth_it(old: &WearRate, new: &WearRate) -> bool {
    let pairs = wear(old).into_iter().zip(wear(new));
    pairs.into_iter().any(|(old, new)| (new - old).abs() > LEAST_MOVE * old)
}

/// Millimetres over 1,000 km: front and rear, likely and exceeded by one in ten.
fn wear(rate: &WearRate) -> [f64; 4] {
    let (front, rear) = (rate.front_mm_per_1000_km, rate.rear_mm_per_1000_km);
    let much = 1.0 + BAND_SCORES[2] * rate.tau;
    [front, rear, front * much, rear * much]
}

#[cfg(test)]
mod tests {
    use super::*;
    use forecast::wear::{LEAST_COMPONENTS, Rates, WornReading};
    use model::{Code, FittingId};
    use uuid::Uuid;

    const SHIPPED: Rates = Rates { mm_per_km: [0.000_16, 0.000_09], tau: 0.3 };

    /// A tyre of 8 mm that wears in front by so much over 1,000 km, seen after 10,000 and 20,000 km.
    fn worn(number: u128, product: &str, mm_per_1000_km: f64) -> WornComponent {
        let reading = |thousands: f64| WornReading {
            km: [thousands * 1000.0, 0.0],
            depth_mm: 8.0 - thousands * mm_per_1000_km,
        };
        WornComponent {
            component: ComponentId(Uuid::from_u128(number)),
            kind: Code::new("tyre").expect("a code"),
            product: product.to_owned(),
            last_fitted: ("2027-01-01".parse().expect("a day"), FittingId(Uuid::from_u128(number))),
            worn: Worn { new_mm: Some(8.0), readings: vec![reading(10.0), reading(20.0)] },
            shipped: SHIPPED,
            gauge_sd_mm: 0.2,
        }
    }

    fn rate(front: f64, rear: f64, tau: f64) -> WearRate {
        let (kind, product) = (Code::new("tyre").expect("a code"), "Gripwell".to_owned());
        let (front_mm_per_1000_km, rear_mm_per_1000_km) = (front, rear);
        WearRate { kind, product, front_mm_per_1000_km, rear_mm_per_1000_km, tau, components: 9 }
    }

    #[test]
    fn each_product_tells_its_own_rates_from_eight_components_on() {
        let mut all = BTreeMap::new();
        let many = u128::try_from(LEAST_COMPONENTS).expect("a few");
        take(&mut all, (0..many).map(|n| worn(n, "Fast", 0.24)).collect());
        take(&mut all, (20..20 + many).map(|n| worn(n, "Slow", 0.12)).collect());
        take(&mut all, (40..39 + many).map(|n| worn(n, "Rare", 0.24)).collect());
        let fits = fit_all(&all);
        let told: Vec<(&str, u32)> = fits.iter().map(|fit| (fit.product.as_str(), fit.components)).collect();
        assert_eq!(told, [("Fast", 8), ("Slow", 8)]);
        for (fit, pace) in fits.iter().zip([0.24, 0.12]) {
            // Half of the shipped rate in doubt weighs little against eight components that agree.
            assert!((fit.front_mm_per_1000_km - pace).abs() < 0.01, "{fit:?}");
            assert!((fit.rear_mm_per_1000_km - 0.09).abs() < 1e-9, "no kilometre was driven there: {fit:?}");
        }
    }

    #[test]
    fn a_component_is_told_by_the_vehicle_it_was_fitted_to_last() {
        let (first, mut later) = (worn(1, "Fast", 0.2), worn(1, "Fast", 0.3));
        later.last_fitted.0 = "2027-02-01".parse().expect("a day");
        for order in [[first.clone(), later.clone()], [later.clone(), first]] {
            let mut all = BTreeMap::new();
            for one in order {
                take(&mut all, vec![one]);
            }
            assert_eq!(all.into_values().collect::<Vec<_>>(), [later.clone()]);
        }
    }

    /// One in ten exceeds b (1 + 1.28155 tau) (`scipy.stats.norm.ppf(0.9)`): at tau 0.3 that moves by 5 % of itself when
    /// tau grows by 0.05 (1 + 0.38447) / 1.28155 = 0.05401.
    #[test]
    fn a_move_of_five_percent_is_left_and_more_is_adopted() {
        let old = rate(0.16, 0.09, 0.3);
        for (new, worth_it) in [
            (rate(0.16, 0.09, 0.3), false),
            (rate(0.1679, 0.09, 0.3), false),
            (rate(0.1681, 0.09, 0.3), true),
            (rate(0.1519, 0.09, 0.3), true),
            (rate(0.16, 0.0946, 0.3), true),
            (rate(0.16, 0.0944, 0.3), false),
            (rate(0.16, 0.09, 0.3539), false),
            (rate(0.16, 0.09, 0.3542), true),
        ] {
            assert_eq!(is_worth_it(&old, &new), worth_it, "{new:?}");
        }
    }
}
