//! What a fleet of used vehicles begins with.

use crate::world::{World, at, day, every_km_or_months, every_months};
use model::horizon::{ItemKind, Stage};
use model::{BaselineDefault, Grade, PaperKind};

/// A used van as it comes without papers: a rulebook of all triggers, nothing on record.
fn used_van(number: u32) -> World {
    let mut world = World::new()
        .used_since("2024-04-10")
        .rule("brake-fluid", every_months(24))
        .amend(|rule| rule.baseline = BaselineDefault::DoNow)
        .rule("engine-oil", every_km_or_months(20_000.0, 12))
        .rule("service", every_km_or_months(20_000.0, 12))
        .on_grid()
        .rule("timing-belt", every_km_or_months(120_000.0, 72))
        .amend(|rule| rule.baseline = BaselineDefault::DoNow)
        .season("winter-tyres", "10-01", "11-15")
        .calendar("yard-check", "0 6 1 * *")
        .when_graded("rotation", "tread-depth", Grade::Watch)
        .paper_rule(PaperKind::AnnualTest, true)
        .paper_rule(PaperKind::Insurance, true);
    world.facts.vehicle.id = crate::world::id(u64::from(number));
    world.reading("2024-04-10 09:00", 80_000.0 + 1000.0 * f64::from(number))
}

#[test]
fn importing_twelve_used_vans_without_papers_makes_twelve_baseline_checks_and_nothing_overdue() {
    let horizons: Vec<_> = (1..=12).map(|number| used_van(number).horizon()).collect();
    let checks = |horizon: &model::horizon::Horizon| {
        horizon.items.iter().filter(|item| item.kind == ItemKind::Baseline).count()
    };
    assert_eq!(horizons.iter().map(checks).collect::<Vec<_>>(), [1; 12]);
    for horizon in &horizons {
        let check = horizon.items.iter().find(|item| item.kind == ItemKind::Baseline).unwrap();
        assert_eq!(check.covers, ["brake-fluid", "engine-oil", "service", "timing-belt"]);
        assert_eq!(check.date_limit, Some(day("2024-04-24")));
        // The day it came, thirteen days later, and the last minute of the day on which all is to be settled.
        for now in ["2024-04-10 09:00", "2024-04-23 23:59", "2024-04-24 23:59"] {
            for item in &horizon.items {
                assert_ne!(item.timeline.stage_at(at(now)).0, Stage::Overdue, "{} at {now}", item.key.0);
                assert!(item.do_not_drive_from.is_none_or(|from| from > at(now)), "{}", item.key.0);
            }
        }
    }
}

#[test]
fn what_needs_no_history_is_coming_from_the_first_day() {
    let world = used_van(1);
    assert_eq!(world.due("winter-tyres").cycle.0, "season:2024");
    assert_eq!(world.due("yard-check").cycle.0, "calendar:2024-05-01T06:00:00Z");
    assert_eq!(world.item("rule:rotation"), None);
}

#[test]
fn a_paper_is_announced_from_when_it_may_be_renewed_unless_the_rule_says_when() {
    let renewable = |rule: World| {
        rule.amend(|rule| {
            rule.trigger = model::Trigger::Expiry(model::Expiry {
                paper: PaperKind::AnnualTest,
                renew_from_days: Some(28),
                no_paper_no_drive: true,
            });
        })
    };
    let world = renewable(World::new().paper_rule(PaperKind::AnnualTest, true))
        .paper(PaperKind::AnnualTest, "2025-06-30");
    let item = world.item("paper:annual_test").unwrap();
    assert_eq!(crate::world::instant(item.timeline.approaching), at("2025-06-02 00:00"));
    let said = world.because("paper:annual_test");
    let valid = "The newest paper on record is valid through 30 Jun 2025; lead 28 days. Renewed from 2 Jun 2025 on it \
                 keeps its anniversary.";
    assert_eq!(said[0], valid);
    let said = world.lead(Some(60), None).because("paper:annual_test");
    assert!(said[0].contains("lead 60 days. Renewed from 2 Jun 2025 on"), "{said:?}");
}
