//! R6: each mark of a window falls once or is overtaken, by the last day where the depot is.

use crate::world::{World, at, day, km};
use chrono::{DateTime, Months, TimeDelta, TimeZone, Utc};
use chrono_tz::Tz;
use model::horizon::Mark;
use model::{FindingWeight, ReadingSource};
use proptest::prelude::*;
use std::collections::BTreeMap;

const FIRST_DAY: &str = "2024-01-10";
const EVERY: TimeDelta = TimeDelta::hours(6);

/// A vehicle, its cover, and what becomes known day by day.
#[derive(Debug, Clone)]
struct Story {
    zone: Tz,
    months: Option<u32>,
    distance_km: Option<f64>,
    km_a_day: f64,
    /// Days on which the odometer is read, at 07:00 UTC.
    read_on: Vec<i64>,
    found_on: Option<i64>,
    lead_days: u32,
    warned_days: Vec<u32>,
}

impl Story {
    /// Local midnight after the last day, reckoned without the engine; `None` without a limit by the calendar.
    fn end_by_date(&self) -> Option<DateTime<Utc>> {
        let after = day(FIRST_DAY) + Months::new(self.months?);
        let midnight = after.and_hms_opt(0, 0, 0).expect("a time of day");
        let first = (0..180).find_map(|minutes| {
            self.zone.from_local_datetime(&(midnight + TimeDelta::minutes(minutes))).earliest()
        });
        first.map(|local| local.with_timezone(&Utc))
    }

    #[expect(clippy::cast_precision_loss, reason = "a few hundred days")]
    fn km_on(&self, on: i64) -> f64 {
        (on as f64 * self.km_a_day).round()
    }

    /// The first reading at or beyond the limit.
    fn end_by_reading(&self) -> Option<DateTime<Utc>> {
        let limit = self.distance_km?;
        let met = self.read_on.iter().filter(|on| self.km_on(**on) >= limit).min()?;
        Some(read_at(*met))
    }

    fn end(&self) -> Option<DateTime<Utc>> {
        self.end_by_date().into_iter().chain(self.end_by_reading()).min()
    }

    /// What is known at `now`.
    fn world(&self, now: DateTime<Utc>) -> World {
        let mut world = World::new().zone(self.zone).new_on(FIRST_DAY);
        world = world.window(self.months, self.distance_km.map(km)).workshop(
            "Harrow Dealers",
            self.lead_days,
            0x1f,
        );
        world.policy.window_marks_days.clone_from(&self.warned_days);
        for on in self.read_on.iter().filter(|on| read_at(**on) <= now) {
            let when = read_at(*on).format("%Y-%m-%d %H:%M").to_string();
            world = world.reading_from(&when, km(self.km_on(*on)), ReadingSource::Technician);
        }
        if let Some(found) = self.found_on.map(read_at).filter(|found| *found <= now) {
            let when = found.format("%Y-%m-%d %H:%M").to_string();
            world = world.finding(None, FindingWeight::Attend, &when);
        }
        world
    }

    /// Instants at which something becomes known.
    fn news(&self) -> impl Iterator<Item = DateTime<Utc>> + '_ {
        self.read_on.iter().chain(&self.found_on).map(|on| read_at(*on))
    }
}

fn read_at(on: i64) -> DateTime<Utc> {
    at(&format!("{FIRST_DAY} 07:00")) + TimeDelta::days(on)
}

/// What became of each mark: when, and whether it was told.
type Settled = BTreeMap<String, (DateTime<Utc>, bool)>;

/// Fires marks as a scheduler does that looks every six hours: of those past at once the highest is told, the rest are
/// overtaken, and what was settled stays. Gives the marks of the last horizon too.
fn live_through(story: &Story, days: i64) -> (Settled, Vec<Mark>) {
    let mut settled = Settled::new();
    let mut now = read_at(0) - TimeDelta::days(1);
    let mut marks = story.world(now).first_window().marks;
    let until = now + TimeDelta::days(days);
    while now < until {
        let before = now;
        now += EVERY;
        if story.news().any(|news| before < news && news <= now) {
            marks = story.world(now).first_window().marks;
        }
        let waiting = marks.iter().filter(|mark| mark.at <= now && !settled.contains_key(&mark.code));
        let mut due: Vec<&Mark> = waiting.collect();
        due.sort_by_key(|mark| (mark.rank, mark.at));
        let told = due.pop();
        let overtaken: Vec<String> = due.iter().map(|mark| mark.code.clone()).collect();
        settled.extend(overtaken.into_iter().map(|code| (code, (now, false))));
        settled.extend(told.map(|mark| (mark.code.clone(), (now, true))));
    }
    (settled, marks)
}

fn stories() -> impl Strategy<Value = Story> {
    let zone = prop::sample::select(vec![
        Tz::UTC,
        Tz::America__New_York,
        Tz::Asia__Beirut,
        Tz::Pacific__Apia,
        Tz::Africa__Cairo,
    ]);
    let limits = (prop::option::weighted(0.8, 1_u32..13), prop::option::of(2_000.0..30_000.0_f64));
    let read_on = prop::collection::btree_set(0_i64..380, 0..25);
    let warned = prop::collection::btree_set(1_u32..150, 0..6);
    let found_on = prop::option::of(0_i64..380);
    (zone, limits, 20.0..150.0_f64, read_on, warned, found_on, 0_u32..15).prop_map(
        |(zone, (months, distance_km), km_a_day, read_on, warned, found_on, lead_days)| Story {
            zone,
            months: months.or(distance_km.is_none().then_some(6)),
            distance_km,
            km_a_day,
            read_on: read_on.into_iter().collect(),
            found_on,
            lead_days,
            warned_days: warned.into_iter().collect(),
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]

    #[test]
    fn r06_each_mark_falls_once_or_is_overtaken_and_none_but_the_end_after_the_last_day(story in stories()) {
        let (settled, marks) = live_through(&story, 420);
        let Some(end) = story.end() else { return Ok(()) };
        for mark in &marks {
            prop_assert!(settled.contains_key(&mark.code), "{} never fell: {:?}", mark.code, settled);
        }
        for (code, (when, is_told)) in &settled {
            if code == "ended" {
                prop_assert!(*is_told && *when >= end && *when - end < EVERY, "{when} {end}");
            } else if *is_told {
                prop_assert!(*when < end, "{code} was told at {when}, after {end}");
            }
        }
        prop_assert!(settled.contains_key("ended"));
    }

    /// Without a limit by distance nothing moves: the marks are those that the policy names, on the days it names.
    #[test]
    fn r06_marks_of_cover_by_the_calendar_fall_on_their_days(story in stories(), months in 1_u32..13) {
        let story = Story { months: Some(months), distance_km: None, found_on: None, ..story };
        let (settled, _) = live_through(&story, 420);
        let last_day = day(FIRST_DAY) + Months::new(months) - TimeDelta::days(1);
        let fits = |days: &&u32| last_day - TimeDelta::days(i64::from(**days)) >= day(FIRST_DAY);
        let expected = story.warned_days.iter().filter(fits).count() + 1;
        prop_assert_eq!(settled.len(), expected, "{:?}", &settled);
        for (code, (when, is_told)) in &settled {
            let Some(days) = code.strip_prefix("days_") else { continue };
            let wanted = last_day - TimeDelta::days(days.parse().unwrap());
            // Nearer than a day to each other two marks may be told as one; each falls on its own local day.
            let local = when.with_timezone(&story.zone).date_naive();
            prop_assert!(local == wanted, "{code} fell on {local}, not {wanted}");
            prop_assert!(is_told, "{code}");
        }
    }
}

#[test]
fn r06_a_mark_that_came_too_late_is_overtaken_by_the_end() {
    // Read on day 0 at 0 km and on day 40 at 4,000 km: the limit is met before any warning was due.
    let story = Story {
        zone: Tz::America__New_York,
        months: Some(12),
        distance_km: Some(3900.0),
        km_a_day: 100.0,
        read_on: vec![0, 40],
        found_on: None,
        lead_days: 0,
        warned_days: vec![7, 3],
    };
    let (settled, _) = live_through(&story, 60);
    let outcome = |code: &str| settled.get(code).map(|(_, is_told)| *is_told);
    assert_eq!(outcome("ended"), Some(true));
    assert_eq!(settled["ended"].0, read_at(40));
    assert!(outcome("days_7").is_some() && outcome("days_3").is_some(), "{settled:?}");
}
