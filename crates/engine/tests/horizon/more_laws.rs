//! What holds of cover and meters in every world.

use crate::any_world::any_world;
use crate::world::{World, day, every_km, km};
use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use model::horizon::{Band, Timeline};
use model::{Every, ReadingSource, WindowKind, day_start};
use proptest::prelude::*;
use quantity::{Distance, Entered, Unit};

/// A day that may lie beyond ten years, in the order of time.
fn in_time(day: Option<NaiveDate>) -> NaiveDate {
    day.unwrap_or(NaiveDate::MAX)
}

fn is_no_earlier(one: &Band, other: &Band) -> bool {
    in_time(one.early) >= in_time(other.early)
        && in_time(one.likely) >= in_time(other.likely)
        && in_time(one.late) >= in_time(other.late)
}

/// Read every few days at an unsteady pace, then left alone.
fn driven() -> impl Strategy<Value = World> {
    (prop::collection::vec((1_i64..20, 0.0..200.0_f64, 0.0..9.0_f64), 1..12), 1_u8..0x80).prop_map(
        |(gaps, weekdays)| {
            let mut world = World::new().weekdays(weekdays);
            let (mut on, mut value, mut hours) = (day("2024-01-01"), 0.0, 0.0);
            for (days, km_a_day, hours_a_day) in gaps {
                on += TimeDelta::days(days);
                let days = f64::from(i32::try_from(days).expect("a few"));
                value += (days * km_a_day).round();
                hours += (days * hours_a_day).round();
                let when = format!("{on} 12:00");
                world = world.reading(&when, value).hours_from(&when, hours, ReadingSource::Technician);
            }
            world
        },
    )
}

fn instants(timeline: &Timeline) -> [DateTime<Utc>; 3] {
    [timeline.approaching, timeline.due, timeline.overdue]
        .map(|moment| moment.map_or(DateTime::<Utc>::MAX_UTC, |moment| moment.at))
}

fn every_hours(hours: f64) -> Every {
    Every { engine_hours: Some(Entered::new(hours, Unit::Hour)), ..Every::default() }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(500))]

    #[test]
    fn a_higher_limit_is_met_no_earlier(world in driven(), limit in 100.0..60_000.0_f64, more in 0.0..5000.0_f64) {
        let band = |limit: f64| {
            let world = world.clone().rule("oil", every_km(limit)).window(None, Some(km(limit)));
            let horizon = world.horizon();
            (world.due("oil").crossing.expect("there are readings"), horizon.windows[0].ends)
        };
        let ((rule, window), (higher_rule, higher_window)) = (band(limit), band(limit + more));
        prop_assert!(is_no_earlier(&higher_rule, &rule), "{rule:?} {higher_rule:?}");
        prop_assert!(is_no_earlier(&higher_window, &window), "{window:?} {higher_window:?}");
    }

    #[test]
    fn more_running_time_allowed_is_due_no_earlier(
        world in driven(), limit in 10.0..4000.0_f64, more in 0.0..500.0_f64,
    ) {
        let timeline = |hours: f64| world.clone().rule("oil", every_hours(hours)).due("oil").timeline;
        let (sooner, later) = (instants(&timeline(limit)), instants(&timeline(limit + more)));
        prop_assert!(sooner.iter().zip(&later).all(|(sooner, later)| sooner <= later), "{sooner:?} {later:?}");
    }

    #[test]
    fn distance_beyond_a_cap_grows_with_the_quantile_and_shrinks_with_the_cap(
        world in driven(), cap in 100.0..40_000.0_f64, more in 0.0..5000.0_f64, months in 1_u32..40,
    ) {
        let excess = |cap: f64| {
            let world = world.clone().lease(months, km(cap)).terms(|terms| {
                let currency = "EUR".to_owned();
                terms.excess = Some(model::ExcessPrice { per: km(1.0), minor: 12.5, currency });
            });
            world.first_window().excess.expect("there are readings")
        };
        let (lower, higher) = (excess(cap), excess(cap + more));
        prop_assert!(lower.distance.is_sorted() && lower.minor.is_sorted());
        prop_assert!(lower.distance.iter().zip(&higher.distance).all(|(lower, higher)| lower >= higher));
        for (beyond, minor) in lower.distance.iter().zip(&lower.minor) {
            #[expect(clippy::cast_precision_loss, reason = "an amount of money")]
            let minor = *minor as f64;
            prop_assert!((beyond.km() * 12.5 - minor).abs() <= 0.5 + 1e-6);
        }
    }

    #[test]
    fn a_reduction_never_lengthens_cover(world in any_world()) {
        let mut whole = world.clone();
        for window in &mut whole.facts.windows {
            window.terms.reduced_if.clear();
        }
        let (reduced, whole) = (world.horizon(), whole.horizon());
        for (reduced, whole) in reduced.windows.iter().zip(&whole.windows) {
            prop_assert!(in_time(reduced.last_day) <= in_time(whole.last_day));
            if reduced.reduced_by.is_empty() {
                prop_assert_eq!(reduced, whole);
            }
        }
    }

    #[test]
    fn the_day_to_act_comes_before_the_early_end_and_credits_within_the_window(world in any_world()) {
        for window in world.horizon().windows {
            if let (Some(act), Some(early)) = (window.act_by, window.ends.early) {
                prop_assert!(act.book_by <= act.in_by && act.in_by <= early && early - act.in_by < TimeDelta::days(7));
            }
            for credit in &window.credits {
                prop_assert!(credit.until.is_none_or(|until| window.last_day.is_none_or(|last| until <= last)));
                let over = credit.until_odometer.zip(window.odometer_limit).is_some_and(|(until, limit)| until > limit);
                prop_assert!(!over, "{credit:?} {:?}", window.odometer_limit);
            }
        }
    }

    #[test]
    fn only_the_end_is_marked_from_the_end_on_and_a_lease_ends_by_its_last_day(world in any_world()) {
        let zone = world.facts.vehicle.zone;
        for window in world.horizon().windows {
            let ended = window.ended.map(|ended| ended.at);
            for mark in &window.marks {
                prop_assert_eq!(mark.code == "ended", ended.is_some_and(|ended| mark.at >= ended), "{:?}", &window.marks);
                prop_assert!(mark.at >= day_start(window.starts_on, zone) || mark.code == "act_by" || mark.code == "ended");
            }
            if window.kind == WindowKind::Lease {
                prop_assert_eq!(window.ends.early, window.last_day);
                prop_assert_eq!(window.distance_first, None);
            }
        }
    }

    /// One instrument for all time, or two that show the same between them: nothing that matters differs.
    #[test]
    fn a_replaced_odometer_changes_no_day(world in driven(), limit in 100.0..60_000.0_f64, shown in 0.0..900.0_f64) {
        let with_duties = |world: &World| world.clone().rule("oil", every_km(limit)).window(Some(30), Some(km(limit)));
        let mut replaced = world.clone();
        let last = replaced.facts.readings.last().expect("at least one").clone();
        // The instrument was replaced just after the last reading: its number is the old one's last.
        let when = (last.read_at + TimeDelta::minutes(1)).format("%Y-%m-%d %H:%M").to_string();
        replaced = replaced.replaced(&when, last.entered, km(shown.round()));
        let next = last.read_at + TimeDelta::days(3);
        let when = next.format("%Y-%m-%d %H:%M").to_string();
        // Whoever replaced it read it: so did somebody in the other story.
        let read = (last.read_at + TimeDelta::minutes(1)).format("%Y-%m-%d %H:%M").to_string();
        let kept = world.clone().reading(&read, last.entered.value).reading(&when, last.entered.value + 150.0);
        let (kept, replaced) = (kept, replaced.reading(&when, shown.round() + 150.0));
        let (kept, replaced) = (with_duties(&kept).horizon(), with_duties(&replaced).horizon());
        prop_assert_eq!(&kept.items[0].timeline.due, &replaced.items[0].timeline.due);
        prop_assert_eq!(&kept.windows[0].ends, &replaced.windows[0].ends);
        prop_assert_eq!(kept.usage.map(|usage| usage.shape), replaced.usage.as_ref().map(|usage| usage.shape));
        prop_assert_eq!(replaced.usage.map(|usage| usage.odometer), Some(Distance::parse(km(shown.round() + 150.0)).unwrap()));
    }
}
