//! Where a rule stands, found the slow and obvious way.

use crate::rules::months_later;
use chrono::{DateTime, Datelike, NaiveDate, NaiveTime, SecondsFormat, TimeDelta, TimeZone, Utc, Weekday};
use chrono_tz::Tz;
use model::horizon::Stage;
use model::{Every, Facts, Reach};
use quantity::{Distance, Entered};
use std::sync::OnceLock;

/// Expressions, and on which days they come, at what hour.
pub type Comes = (&'static str, fn(NaiveDate) -> bool, u32);
pub const CRONS: [Comes; 4] = [
    ("0 6 1 * *", |on| on.day() == 1, 6),
    ("0 7 * * mon", |on| on.weekday() == Weekday::Mon, 7),
    ("0 12 * * *", |_| true, 12),
    ("0 9 15 4,10 *", |on| on.day() == 15 && [4, 10].contains(&on.month()), 9),
];

/// The zones walked through, and when their days begin.
pub const ZONES: [Tz; 4] = [Tz::UTC, Tz::America__New_York, Tz::Asia__Beirut, Tz::Pacific__Auckland];
static STARTS: [OnceLock<Vec<DateTime<Utc>>>; 4] = [const { OnceLock::new() }; 4];
const DAYS: usize = 800;

/// Where it stands, and in which round.
pub struct Told {
    pub stage: Stage,
    pub cycle: String,
}

/// What was read and done, oldest first.
pub struct Log {
    pub zone: Tz,
    pub came_on: NaiveDate,
    pub readings: Vec<(DateTime<Utc>, Entered)>,
    pub done: Vec<(NaiveDate, Entered)>,
}

#[derive(Clone, Copy)]
pub struct Around {
    pub lead: Reach,
    pub grace: Reach,
}

/// A round with a last day, an odometer, or both.
pub struct Recurring {
    since: NaiveDate,
    cycle: String,
    last_day: Option<NaiveDate>,
    odometer: Option<f64>,
    lead_days: i64,
    lead_km: f64,
    grace: Reach,
}

impl Log {
    pub fn zone_day(&self, now: DateTime<Utc>) -> NaiveDate {
        now.with_timezone(&self.zone).date_naive()
    }

    /// When each day begins at the depot, from the day it came on.
    pub fn starts(&self) -> &'static [DateTime<Utc>] {
        let place = ZONES.iter().position(|zone| *zone == self.zone).expect("one of the zones");
        STARTS[place].get_or_init(|| starts(self.zone, self.came_on))
    }

    /// The first reading from the day `since` on that shows at least `km`, or more than that.
    fn first(&self, since: NaiveDate, shows: impl Fn(f64) -> bool) -> Option<DateTime<Utc>> {
        let later = self.readings.iter().filter(|(at, _)| self.zone_day(*at) >= since);
        later.filter(|(_, shown)| shows(shown.value)).map(|(at, _)| *at).next()
    }
}

/// Minute by minute: a day begins when the clocks show another date than a minute before.
fn starts(zone: Tz, first: NaiveDate) -> Vec<DateTime<Utc>> {
    let begin = (first - TimeDelta::days(1)).and_time(NaiveTime::MIN).and_utc();
    let minutes = (0..1440 * 810).map(|minute| begin + TimeDelta::minutes(minute));
    let mut before = None;
    let mut starts = Vec::new();
    for now in minutes {
        let shown = now.with_timezone(&zone).date_naive();
        if before.is_some_and(|before| before < shown) && shown >= first {
            starts.push(now);
        }
        before = before.max(Some(shown));
    }
    starts.truncate(DAYS);
    starts
}

fn plus_days(on: NaiveDate, days: i64) -> NaiveDate {
    on + TimeDelta::days(days)
}

fn km_of(entered: Option<Entered>) -> Option<f64> {
    entered.map(|entered| entered.value)
}

fn shortest_days(every: &Every) -> Option<i64> {
    let months = every.months.map(|months| i64::from(months) * 30);
    [months, every.days.map(i64::from)].into_iter().flatten().min()
}

impl Recurring {
    /// One interval after the newest work, or after the first day of a vehicle that came new.
    pub fn since_done(log: &Log, every: &Every, around: Around, facts: &Facts) -> Self {
        let newest = log.done.last();
        let (since, odometer) = newest.map_or((log.came_on, 0.0), |(on, shown)| (*on, shown.value));
        let by_months = every.months.map(|months| months_later(since, months));
        let by_days = every.days.map(|days| plus_days(since, i64::from(days)));
        let fleet_lead = shortest_days(every).map_or(14, |days| 14.min(days / 2));
        Self {
            since,
            cycle: match facts.services.last() {
                Some(service) => format!("service:{}", service.id),
                None => format!("in-service:{}", facts.vehicle.id),
            },
            last_day: [by_months, by_days].into_iter().flatten().min(),
            odometer: km_of(every.distance).map(|far| odometer + far),
            lead_days: around.lead.days.map_or(fleet_lead, i64::from),
            lead_km: km_of(around.lead.distance).unwrap_or(0.0),
            grace: around.grace,
        }
    }

    /// The first multiple that no work has closed, counted up one by one.
    pub fn on_grid(log: &Log, every: &Every, around: Around) -> Self {
        let half_days = shortest_days(every).map(|days| days / 2);
        let wanted = around.lead.days.map_or(14, i64::from);
        let lead_days = half_days.map_or(wanted, |half| wanted.min(half));
        let lead_km = km_of(every.distance)
            .map_or(0.0, |far| km_of(around.lead.distance).unwrap_or(far / 10.0).min(far / 2.0));
        let at = |number: u32| {
            let by_months = every.months.map(|months| months_later(log.came_on, months * number));
            let by_days = every.days.map(|days| plus_days(log.came_on, i64::from(days * number)));
            let last_day = [by_months, by_days].into_iter().flatten().min();
            (last_day, km_of(every.distance).map(|far| far * f64::from(number)))
        };
        let newest = log.done.last();
        let is_closed = |number: u32| {
            let (last_day, odometer) = at(number);
            newest.is_some_and(|(on, shown)| {
                last_day.is_some_and(|last_day| last_day <= plus_days(*on, lead_days))
                    || odometer.is_some_and(|odometer| exact(odometer) <= exact(shown.value) + exact(lead_km))
            })
        };
        let number = (1..100_000).find(|number| !is_closed(*number)).expect("no work closes all");
        let (last_day, odometer) = at(number);
        let since = newest.map_or(log.came_on, |(on, _)| *on);
        let cycle = format!("grid:{number}");
        Self { since, cycle, last_day, odometer, lead_days, lead_km, grace: around.grace }
    }

    pub fn told(&self, log: &Log, on: NaiveDate, now: DateTime<Utc>) -> Told {
        let grace_days = i64::from(self.grace.days.unwrap_or(0));
        let is_past = |moment: Option<DateTime<Utc>>, days: i64| {
            moment.is_some_and(|moment| moment + TimeDelta::days(days) <= now)
        };
        let met = |short_of: f64| {
            let limit = self.odometer.map(exact)?;
            log.first(self.since, |shown| exact(shown) >= limit - exact(short_of))
        };
        let passed = || {
            let limit = self.odometer? + km_of(self.grace.distance).unwrap_or(0.0);
            log.first(self.since, |shown| exact(shown) > exact(limit))
        };
        let is_after = |days: i64| self.last_day.is_some_and(|last_day| on > plus_days(last_day, days));
        let stage = if on < self.since {
            Stage::Clear
        } else if is_after(grace_days) || is_past(passed(), grace_days) {
            Stage::Overdue
        } else if is_after(-1) || is_past(met(0.0), 0) {
            Stage::Due
        } else if is_after(-self.lead_days - 1) || is_past(met(self.lead_km), 0) {
            Stage::Approaching
        } else {
            Stage::Clear
        };
        Told { stage, cycle: self.cycle.clone() }
    }
}

/// Millimetres: comparing kilometres in floating point would decide ties by rounding.
fn exact(km: f64) -> i64 {
    Distance::nearest_km(km).mm()
}

/// The open season: a season is a run of days of its window, found by asking each day of ten years.
pub fn open_season(
    log: &Log,
    from: (u32, u32),
    to: (u32, u32),
    lead: Option<u32>,
) -> (NaiveDate, NaiveDate, i64) {
    let is_first = |day: &NaiveDate| (day.month(), day.day()) == from;
    let is_last = |day: &NaiveDate| (day.month(), day.day()) == to;
    let days = NaiveDate::from_ymd_opt(2022, 1, 1).expect("a day").iter_days().take(3653);
    let runs: Vec<(NaiveDate, NaiveDate)> = days
        .filter(is_first)
        .filter_map(|first| first.iter_days().take(366).find(is_last).map(|last| (first, last)))
        .collect();
    let lead_days = i64::from(lead.unwrap_or(14)).min(182);
    let counts_for = log.done.last().map(|(done, _)| {
        let opened = runs.iter().filter(|(first, _)| plus_days(*first, -lead_days) <= *done);
        opened.max().expect("there were seasons")
    });
    let (first, last) = *runs
        .iter()
        .filter(|run| run.1 >= log.came_on && counts_for.is_none_or(|counted| *run > counted))
        .min()
        .expect("a season comes");
    (first, last, lead_days)
}

pub fn season(
    log: &Log,
    (first, last, lead_days): (NaiveDate, NaiveDate, i64),
    grace: Option<u32>,
    on: NaiveDate,
) -> Told {
    let since = log.done.last().map_or(log.came_on, |(on, _)| *on);
    let grace_days = i64::from(grace.unwrap_or(0));
    let opens = first.min(plus_days(last, -lead_days)).max(since);
    let stage = if on > plus_days(last, grace_days) {
        Stage::Overdue
    } else if on >= last {
        Stage::Due
    } else if on >= opens {
        Stage::Approaching
    } else {
        Stage::Clear
    };
    Told { stage, cycle: format!("season:{}", first.year()) }
}

/// The first instant that no work counts for, its day and its lead.
pub fn open_instant(log: &Log, which: usize, lead: Option<u32>) -> (DateTime<Utc>, NaiveDate, i64) {
    let (_, comes, hour) = CRONS[which];
    let days: Vec<NaiveDate> = log.came_on.iter_days().take(2000).filter(|on| comes(*on)).collect();
    let with_lead = days.windows(2).map(|pair| {
        let half = (pair[1] - pair[0]).num_days() / 2;
        (pair[0], i64::from(lead.unwrap_or(14)).min(half))
    });
    let is_done = |on: NaiveDate, lead: i64| {
        log.done.last().is_some_and(|(done, _)| on <= *done || plus_days(on, -lead) <= *done)
    };
    let (on, lead) = with_lead.into_iter().find(|(on, lead)| !is_done(*on, *lead)).expect("one is open");
    let time = NaiveTime::from_hms_opt(hour, 0, 0).expect("a time");
    let at =
        log.zone.from_local_datetime(&on.and_time(time)).single().expect("no clocks change at that hour");
    (at.with_timezone(&Utc), on, lead)
}

pub fn calendar(
    log: &Log,
    (at, due_on, lead): (DateTime<Utc>, NaiveDate, i64),
    grace: Option<u32>,
    on: NaiveDate,
    now: DateTime<Utc>,
) -> Told {
    let since = log.done.last().map_or(log.came_on, |(done, _)| *done);
    let stage = if on > plus_days(due_on, i64::from(grace.unwrap_or(0))) {
        Stage::Overdue
    } else if now >= at {
        Stage::Due
    } else if on >= plus_days(due_on, -lead).max(since) {
        Stage::Approaching
    } else {
        Stage::Clear
    };
    Told { stage, cycle: format!("calendar:{}", at.to_rfc3339_opts(SecondsFormat::Secs, true)) }
}
