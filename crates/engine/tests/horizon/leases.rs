//! Leases: their end, the price of distance beyond the cap, the return check.

use crate::world::{World, at, day, instant, km};
use engine::words;
use model::horizon::{Basis, ItemKind, Moment, WindowStage};
use model::{ExcessPrice, FindingWeight};
use quantity::{Distance, Unit};

/// A year from 1 January 2024, 30,000 km, 0.125 EUR for each kilometre more; two gaps of 60 days.
fn lease() -> World {
    World::new()
        .reading("2024-01-01 12:00", 0.0)
        .reading("2024-03-01 12:00", 5000.0)
        .reading("2024-04-30 12:00", 13_000.0)
        .lease(12, km(30_000.0))
        .terms(|terms| {
            terms.excess = Some(ExcessPrice { per: km(1.0), minor: 12.5, currency: "EUR".to_owned() });
        })
}

#[test]
fn distance_beyond_the_cap_is_forecast_with_its_price() {
    // SciPy 1.17.1: betaprime.ppf(q, 245.5 / 1.5, 6 + 86.5617 / 1.5) * (1.5 * 400 + 9748.8088) km - 17,000 km at 0.1,
    // 0.5, 0.9, where 245.5 days lead from noon on 30 April to the end of 31 December and 1.5 is the shipped width.
    let excess = lease().first_window().excess.unwrap();
    let expected = [(5_120.844_26, 64_011), (9_671.587_17, 120_895), (15_328.716_88, 191_609)];
    for ((beyond, minor), (km, price)) in excess.distance.into_iter().zip(excess.minor).zip(expected) {
        assert!((beyond.km() - km).abs() < 1e-4, "{} against {km}", beyond.km());
        assert_eq!(minor, price);
    }
    assert_eq!(excess.currency, "EUR");
}

#[test]
fn reaching_the_cap_ends_nothing() {
    let window = lease().reading("2024-06-01 12:00", 31_000.0).first_window();
    assert_eq!(window.ended, Some(Moment { at: at("2025-01-01 00:00"), basis: Basis::Date }));
    assert_eq!(window.stage_at(at("2024-06-01 12:00")).0, WindowStage::InForce);
    assert_eq!(window.ends.early, Some(day("2024-12-31")));
    assert_eq!((window.ends.late, window.distance_first), (Some(day("2024-12-31")), None));
}

#[test]
fn below_the_cap_nothing_is_owed() {
    let excess = lease().terms(|terms| terms.distance = Some(km(90_000.0))).first_window().excess.unwrap();
    assert_eq!((excess.distance, excess.minor), ([Distance::ZERO; 3], [0; 3]));
}

#[test]
fn after_the_last_day_what_was_driven_by_then_is_owed() {
    // 13,000 km on 30 April and 40,000 km on 1 February at noon, 277 days on; the end of 31 December is 245.5 days on:
    // 13,000 + 27,000 x 245.5 / 277 = 36,929.6 km.
    let excess = lease().reading("2025-02-01 12:00", 40_000.0).first_window().excess.unwrap();
    let expected = 13_000.0 + 27_000.0 * 245.5 / 277.0 - 30_000.0;
    assert!(excess.distance.iter().all(|beyond| (beyond.km() - expected).abs() < 1e-3), "{excess:?}");
}

#[test]
fn a_contract_without_a_price_owes_no_amount() {
    let world = lease().terms(|terms| terms.excess = None);
    assert_eq!(world.first_window().excess, None);
    assert!(world.because_window().iter().any(|line| line.contains("9,672 km beyond the cap")));
}

#[test]
fn a_return_check_is_due_sixty_days_before_the_end_and_there_is_no_closing_check() {
    let world = lease();
    let id = world.facts.windows[0].id;
    let item = world.item(&format!("return:{id}")).unwrap();
    assert_eq!((item.kind, item.date_limit), (ItemKind::ReturnCheck, Some(day("2024-11-01"))));
    assert_eq!(instant(item.timeline.approaching), at("2024-10-18 00:00"));
    assert_eq!(instant(item.timeline.due), at("2024-11-01 00:00"));
    assert_eq!(instant(item.timeline.overdue), at("2024-12-31 00:00"));
    assert_eq!(item.cycle.0, format!("window:{id}"));
    assert_eq!(world.item(&format!("closing:{id}")), None);
}

#[test]
fn a_return_check_that_was_made_is_no_longer_due() {
    let world = lease().inspection("return-check", "2024-11-20 09:00");
    assert_eq!(world.item(&format!("return:{}", world.facts.windows[0].id)), None);
}

#[test]
fn a_lease_that_was_over_when_the_vehicle_came_asks_for_no_return_check() {
    let world = lease().acquired("2025-03-01");
    assert_eq!(world.item(&format!("return:{}", world.facts.windows[0].id)), None);
}

#[test]
fn the_price_can_be_followed_with_a_calculator() {
    let world = lease();
    let said = world.because(&format!("return:{}", world.facts.windows[0].id));
    let expected = [
        "A lease ends with its last day, 31 Dec 2024; distance beyond its cap ends nothing, it is paid for.",
        "Width kappa 1.5, the shipped width, since too little past could be tested: a' = a / kappa = 0.666666667, P' = p + \
         (P - p) / kappa = 63.7078017, Q' = kappa q + (Q - q) = 10348.8088 km.",
        "The cap is passed before 31 Dec 2024 is over with probability 99.9 %.",
        "Beyond the cap each 1 km costs 0.125 EUR.",
    ];
    let from = said.iter().position(|line| line == expected[0]).expect("a lease says how it ends");
    assert_eq!(said[from..from + 4], expected);
    let likely = "50 %: 26671.6 km in the 245.5 operating days to the end, 17,000 km left: 9,672 km beyond the cap, \
                  1,208.95 EUR (check: scipy.stats.betaprime.ppf(0.5, 0.666666667 * 245.5, ";
    assert!(said[from + 5].starts_with(likely), "{said:?}");
    let due = "The return check is due 60 days before the last day, 31 Dec 2024: on 1 Nov 2024.";
    assert_eq!(said.last().unwrap(), due);
}

#[test]
fn a_lease_is_told_with_its_cap_and_what_will_be_owed() {
    let world = lease().finding(None, FindingWeight::Note, "2024-02-01 09:00");
    let line = words::window(&world.first_window(), Unit::Kilometre);
    let expected = "Van lease ends after 31 Dec 2024; cap 30,000 km, likely 9,672 km beyond it, 1,208.95 EUR; 1 open \
                    finding to settle before it goes back";
    assert_eq!(line, expected);
    let item = world.item(&format!("return:{}", world.facts.windows[0].id)).unwrap();
    let told = words::item_line(&item, "due", Unit::Kilometre, chrono_tz::UTC);
    assert_eq!(told, "Return check: Van lease by 1 Nov 2024; cap 30,000 km");
}
