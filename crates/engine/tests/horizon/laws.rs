//! What holds in every world.

use crate::any_world::{any_world, any_world_twice};
use crate::world::{World, day, every_km_or_months, every_months, km};
use chrono::TimeDelta;
use model::horizon::{Basis, DueItem, ItemKind};
use model::{ReadingSource, day_start};
use proptest::prelude::*;
use std::collections::BTreeSet;

/// How many cases of each law: 2,000, or as many as `OSTLER_CASES` says for a long run.
pub fn cases() -> u32 {
    std::env::var("OSTLER_CASES").ok().and_then(|cases| cases.parse().ok()).unwrap_or(2000)
}

/// The day of the newest work on each rule that the item may be of, through what other work satisfies.
fn last_done(world: &World, rule: &str) -> Option<chrono::NaiveDate> {
    let rules: Vec<_> = world.facts.rules.iter().map(|version| version.rule.clone()).collect();
    let satisfies = |done: &model::Code| {
        model::Rulebook::satisfied_by(&rules, done).iter().any(|code| code.as_str() == rule)
    };
    let services = world.facts.services.iter();
    services.filter(|service| service.rules.iter().any(satisfies)).map(|service| service.done_on).max()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(cases()))]

    #[test]
    fn the_order_of_the_facts_carries_no_meaning((world, shuffled) in any_world_twice()) {
        prop_assert_eq!(world.horizon(), shuffled.horizon());
    }

    #[test]
    fn the_same_facts_give_the_same_horizon(world in any_world()) {
        prop_assert_eq!(world.horizon(), world.horizon());
    }

    #[test]
    fn items_and_windows_stand_in_the_order_of_their_keys_each_once(world in any_world()) {
        let horizon = world.horizon();
        let keys: Vec<_> = horizon.items.iter().map(|item| &item.key).collect();
        let unique: BTreeSet<_> = keys.iter().copied().collect();
        prop_assert_eq!(keys, unique.into_iter().collect::<Vec<_>>());
        prop_assert!(horizon.windows.is_sorted_by_key(|window| &window.key));
    }

    #[test]
    fn stages_follow_each_other_and_marks_fall_on_them(world in any_world()) {
        for item in world.horizon().items {
            let timeline = item.timeline;
            let instants = [timeline.approaching, timeline.due, timeline.overdue];
            prop_assert!(instants.into_iter().flatten().is_sorted_by_key(|moment| moment.at), "{item:?}");
            prop_assert!(timeline.due.is_some() || timeline.overdue.is_none(), "{item:?}");
            let moments = instants.into_iter().flatten().count();
            prop_assert_eq!(item.marks.len(), moments + usize::from(item.do_not_drive_from.is_some()));
            prop_assert!(item.marks.is_sorted_by_key(|mark| mark.rank));
        }
    }

    #[test]
    fn early_comes_before_likely_before_late(world in any_world()) {
        let horizon = world.horizon();
        let crossings = horizon.items.iter().filter_map(|item| item.crossing);
        for band in crossings.chain(horizon.windows.iter().map(|window| window.ends)) {
            prop_assert!([band.early, band.likely, band.late].into_iter().flatten().is_sorted(), "{band:?}");
            prop_assert!(band.early.is_some() || band.likely.is_none());
            prop_assert!(band.likely.is_some() || band.late.is_none());
        }
    }

    #[test]
    fn nothing_is_due_before_it_was_last_done(world in any_world()) {
        for item in world.horizon().items.iter().filter(|item| item.kind == ItemKind::Rule) {
            let rule = item.key.0.trim_start_matches("rule:");
            if let (Some(done), Some(due)) = (last_done(&world, rule), item.timeline.due) {
                let start = day_start(done, world.facts.vehicle.zone);
                prop_assert!(due.at >= start && item.date_limit.is_none_or(|limit| limit >= done), "{item:?}");
            }
        }
    }

    /// Half of the interval, or any other share, is never due later than the whole.
    #[test]
    fn tightening_a_rule_that_counts_from_when_it_was_last_done_makes_nothing_due_later(
        world in any_world(), share in 0.1..1.0_f64, place in 0_usize..4,
    ) {
        let mut tighter = world.clone();
        let rule = &mut tighter.facts.rules[place].rule;
        let code = rule.code.clone();
        if let model::Trigger::Every(every) = &mut rule.trigger {
            *every = shortened(*every, share);
        }
        rule.severe = rule.severe.map(|every| shortened(every, share));
        rule.first = rule.first.map(|every| shortened(every, share));
        for own in tighter.facts.overrides.iter_mut().filter(|own| own.rule == code) {
            own.every = own.every.map(|every| shortened(every, share));
        }
        let due = |world: &World| {
            world.item(&format!("rule:{code}")).and_then(|item| item.timeline.due).map(|due| due.at)
        };
        if let Some(loose) = due(&world) {
            prop_assert!(due(&tighter).is_some_and(|tight| tight <= loose), "{:?} {loose}", due(&tighter));
        }
    }

    /// Of two last readings on the same day the one with less distance leaves the limit no earlier.
    #[test]
    fn a_later_reading_with_less_distance_makes_no_distance_limit_earlier(
        km_a_day in 1.0..300.0_f64, weeks in 1_i32..20, days in 1_i32..60, far in 0.0..400.0_f64, share in 0.0..1.0_f64,
        interval in 1000.0..60_000.0_f64, grid in any::<bool>(),
    ) {
        let mut world = World::new().rule("engine-oil", crate::world::every_km(interval));
        if grid {
            world = world.on_grid();
        }
        for week in 0..weeks {
            let on = day("2024-01-01") + TimeDelta::days(i64::from(week) * 7);
            world = world.reading(&format!("{on} 12:00"), (f64::from(week * 7) * km_a_day).round());
        }
        let last = f64::from((weeks - 1) * 7) * km_a_day;
        let on = day("2024-01-01") + TimeDelta::days(i64::from((weeks - 1) * 7 + days));
        let due = |driven: f64| {
            let world = world.clone().reading(&format!("{on} 12:00"), (last + driven).round());
            world.due("engine-oil").timeline.due.map(|due| due.at)
        };
        let (more, less) = (due(f64::from(days) * far), due(f64::from(days) * far * share));
        prop_assert!(less.is_none_or(|less| more.is_some_and(|more| more <= less)), "{more:?} {less:?}");
    }

    #[test]
    fn a_window_ends_by_its_last_day_and_by_forecast_never(world in any_world()) {
        for window in world.horizon().windows {
            prop_assert!(window.ends.late.is_none_or(|late| window.last_day.is_none_or(|last| late <= last)));
            prop_assert!(window.ended.is_none_or(|ended| ended.basis != Basis::Forecast));
            prop_assert!(window.ending.is_none_or(|ending| window.ended.is_none_or(|end| ending.at <= end.at)));
            prop_assert!(window.distance_first.is_none_or(|share| (0.0..=1.0).contains(&share)));
            prop_assert!(window.marks.is_sorted_by_key(|mark| (mark.rank, mark.at)), "{:?}", window.marks);
        }
    }

    #[test]
    fn everything_that_is_coming_is_explained_in_words(world in any_world()) {
        let horizon = world.horizon();
        let keys = horizon.items.iter().map(|item| &item.key).chain(horizon.windows.iter().map(|w| &w.key));
        for key in keys {
            let said = world.because(&key.0);
            prop_assert!(!said.is_empty() && said.iter().all(|line| line.ends_with(['.', '?', 's'])), "{said:?}");
        }
    }

    #[test]
    fn what_is_explained_at_once_is_what_is_explained_one_by_one(world in any_world()) {
        let explained = engine::explained(&world.facts, &world.policy);
        for (key, explanation) in &explained.explanations {
            let alone = engine::explain(&world.facts, &world.policy, key);
            prop_assert_eq!(alone.as_ref(), Some(explanation));
        }
        let horizon = world.horizon();
        let keys = horizon.items.iter().map(|item| &item.key).chain(horizon.windows.iter().map(|w| &w.key));
        for key in keys {
            prop_assert!(explained.explanations.contains_key(key), "{} is not explained", key.0);
        }
        prop_assert_eq!(explained.horizon, horizon);
    }

    /// Each step bears its kind, and a distance its unit.
    #[test]
    fn steps_are_written_with_their_kind_and_units(world in any_world()) {
        let explained = engine::explained(&world.facts, &world.policy);
        for step in explained.explanations.values().flat_map(|explanation| &explanation.steps) {
            let written = serde_json::to_value(step).expect("JSON");
            prop_assert!(written["kind"].is_string(), "{written}");
            if written["kind"] == "odometer_limit" {
                prop_assert_eq!(&written["limit"]["unit"], "km");
                prop_assert!(written["limit"]["value"].as_f64() >= written["from"]["value"].as_f64(), "{written}");
            }
        }
    }

    #[test]
    fn the_first_mark_is_no_later_than_any(world in any_world(), which in any::<prop::sample::Index>()) {
        let horizon = world.horizon();
        let all: Vec<_> = engine::marks(&horizon).map(|(_, _, mark)| mark.at).collect();
        let after = all[which.index(all.len())];
        prop_assert_eq!(engine::first_mark(&horizon), all.iter().copied().min());
        let later = all.into_iter().filter(|at| *at > after).min();
        prop_assert_eq!(engine::first_mark_after(&horizon, after), later);
    }

    /// Time and distance in any order of events: one item, one cycle, due at the earlier of the two.
    #[test]
    fn r05_whichever_comes_first_opens_one_cycle_and_the_other_none(
        months in 1_u32..30, interval in 500.0..40_000.0_f64, km_a_day in 0.0..400.0_f64,
        days in prop::collection::btree_set(1_i32..700, 1..12), done in prop::option::of(0_usize..12),
    ) {
        let mut world = World::new();
        for (place, on) in days.iter().enumerate() {
            let date = (day("2024-01-01") + TimeDelta::days(i64::from(*on))).to_string();
            let value = km((f64::from(*on) * km_a_day).round());
            let rules: &[&str] = if done == Some(place) { &["engine-oil"] } else { &[] };
            world = world.service(&date, value, rules);
        }
        let by_both = world.clone().rule("engine-oil", every_km_or_months(interval, months)).horizon();
        let items: Vec<&DueItem> = by_both.items.iter().filter(|item| item.kind == ItemKind::Rule).collect();
        prop_assert_eq!(items.len(), 1);
        let by_date = world.clone().rule("engine-oil", every_months(months)).due("engine-oil");
        let by_distance = world.rule("engine-oil", crate::world::every_km(interval)).due("engine-oil");
        prop_assert_eq!(&items[0].cycle, &by_date.cycle);
        prop_assert_eq!(&items[0].cycle, &by_distance.cycle);
        let due = |item: &DueItem| item.timeline.due.map(|due| due.at);
        let first = due(&by_date).into_iter().chain(due(&by_distance)).min();
        prop_assert_eq!(due(items[0]), first);
    }

    /// Under steady use more readings of the same line never move the limit, and the forecast stays on the line.
    #[test]
    fn a_steady_vehicle_is_due_where_the_line_meets_the_limit(km_a_day in 30.0..300.0_f64, weeks in 30_i32..60) {
        let mut world = World::new().rule("engine-oil", crate::world::every_km(100_000.0));
        for week in 0..weeks {
            let on = day("2024-01-01") + TimeDelta::days(i64::from(week) * 7);
            let value = km(f64::from(week * 7) * km_a_day);
            world = world.reading_from(&format!("{on} 12:00"), value, ReadingSource::Technician);
        }
        // The limit minus what is read is met after so many days more; the prior pulls towards 80 km a day by its
        // weight of 5 days in about 150, and the median of a gamma process lies within one jump of its mean.
        let left_days = 100_000.0 / km_a_day - f64::from((weeks - 1) * 7);
        let crossing = world.due("engine-oil").crossing.unwrap();
        if let (true, Some(early), Some(late)) = (left_days > 30.0, crossing.early, crossing.late) {
            let last = day("2024-01-01") + TimeDelta::days(i64::from(weeks - 1) * 7);
            #[expect(clippy::cast_possible_truncation, reason = "days of a few years")]
            let on_the_line = last + TimeDelta::days(left_days.round() as i64);
            prop_assert!(early <= on_the_line && on_the_line <= late, "{early} {on_the_line} {late}");
        }
    }
}

/// The interval with each of its limits cut to a share, but never to nothing.
fn shortened(every: model::Every, share: f64) -> model::Every {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a share of a few hundred")]
    let cut = |count: u32| ((f64::from(count) * share) as u32).max(1);
    model::Every {
        distance: every.distance.map(|far| km((far.value * share).max(0.001))),
        months: every.months.map(cut),
        days: every.days.map(cut),
        engine_hours: every.engine_hours,
    }
}

#[test]
fn r11_a_thousand_evaluations_of_an_unchanged_vehicle_are_one() {
    let world = World::new()
        .steady("2024-01-01", "2024-06-29", 7, km(90.0))
        .rule("engine-oil", every_km_or_months(10_000.0, 6))
        .window(Some(36), Some(km(60_000.0)));
    let first = world.horizon();
    assert!((0..1000).all(|_| world.horizon() == first));
}
