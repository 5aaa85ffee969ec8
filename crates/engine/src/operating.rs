//! The days on which a vehicle runs, and time counted in them.
//!
//! A civil day of the depot's zone is one operating day if it is an operating weekday of the vehicle and the vehicle is
//! not parked nor off the road from its beginning to its end; else it is none. A stay that is not over changes nothing:
//! nobody knows for how long. Between two instants, whole civil days count as that, and the pieces at either end count
//! by their share of the civil day's real length (23 or 25 hours when the clocks change). So time adds up: from a to b
//! and from b to c is from a to c.

use chrono::{DateTime, Datelike, NaiveDate, Utc};
use chrono_tz::Tz;
use model::{
    FIRST_DAY, LAST_DAY, Stay, Vehicle, Weekdays, add_days, add_months, day_after, day_start, local_day,
};

/// Forecasts reach this far beyond the day they start from.
const MOST_MONTHS: u32 = 120;
/// Less than a tenth of a second: what rounding may add to a whole number of days.
const ROUNDING_DAYS: f64 = 1e-6;

/// When a vehicle runs.
#[derive(Debug)]
pub(crate) struct OperatingCalendar {
    pub(crate) zone: Tz,
    /// In order of their first day, never empty; the first reaches back for ever, the last forward.
    spells: Vec<Spell>,
}

/// An instant from which operating days are counted.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Origin {
    /// Its civil day.
    first: NaiveDate,
    /// How much of an operating day has passed in it by then.
    before: f64,
    /// The last day that is forecast.
    furthest: NaiveDate,
}

#[derive(Debug)]
struct Spell {
    from: NaiveDate,
    /// Nothing while parked.
    weekdays: Option<Weekdays>,
}

impl OperatingCalendar {
    pub(crate) fn of(vehicle: &Vehicle, stays: &[Stay]) -> Self {
        let mut spells: Vec<Spell> = vehicle
            .attributes
            .iter()
            .map(|version| Spell {
                from: version.from,
                weekdays: (!version.parked).then_some(version.operating_weekdays),
            })
            .collect();
        // A stable sort: of two versions from one day the later in the list holds, as in `Vehicle::attributes_on`.
        spells.sort_by_key(|spell| spell.from);
        match spells.first_mut() {
            Some(first) => first.from = FIRST_DAY,
            None => spells.push(Spell { from: FIRST_DAY, weekdays: Some(Weekdays::ALL) }),
        }
        let mut away: Vec<_> = stays.iter().filter_map(|stay| whole_days(stay, vehicle.zone)).collect();
        if !away.is_empty() {
            away.sort_unstable();
            spells = without(&spells, &away);
        }
        Self { zone: vehicle.zone, spells }
    }

    /// Operating days from one instant to a later one; zero if it is not later.
    pub(crate) fn days_between(&self, earlier: DateTime<Utc>, later: DateTime<Utc>) -> f64 {
        if later <= earlier {
            return 0.0;
        }
        let (first, before) = self.day_and_part(earlier);
        let (last, of_last) = self.day_and_part(later);
        (whole(self.count(first, last)) - before + of_last).max(0.0)
    }

    /// Where counting from `at` begins.
    pub(crate) fn origin(&self, at: DateTime<Utc>) -> Origin {
        let (first, before) = self.day_and_part(at);
        Origin { first, before, furthest: furthest(first) }
    }

    /// The civil day on which `days` operating days have passed since `origin`; `None` beyond ten years.
    pub(crate) fn day_reached(&self, origin: &Origin, days: f64) -> Option<NaiveDate> {
        let first = origin.first;
        let needed = (days + origin.before - ROUNDING_DAYS).ceil();
        if needed < 1.0 {
            return Some(first);
        }
        #[expect(
            clippy::cast_possible_truncation,
            reason = "whole; beyond the calendar it saturates and is not found"
        )]
        let needed = needed as i64;
        self.nth_running_day(first, needed).filter(|day| *day <= origin.furthest)
    }

    /// The operating days in the ten years after `start`: no forecast looks further.
    pub(crate) fn most_days(&self, start: DateTime<Utc>) -> f64 {
        self.days_between(start, day_after(furthest(local_day(start, self.zone)), self.zone))
    }

    /// The civil day of an instant, and how much of an operating day has passed in it by then.
    fn day_and_part(&self, at: DateTime<Utc>) -> (NaiveDate, f64) {
        let day = local_day(at, self.zone);
        if !self.runs_on(day) {
            return (day, 0.0);
        }
        let (start, end) = (day_start(day, self.zone), day_after(day, self.zone));
        let part = (at - start).as_seconds_f64() / (end - start).as_seconds_f64();
        (day, part.clamp(0.0, 1.0))
    }

    fn runs_on(&self, day: NaiveDate) -> bool {
        self.stretches(day)
            .next()
            .is_some_and(|(_, _, weekdays)| weekdays.is_some_and(|w| w.contains(day.weekday())))
    }

    /// Operating days in `from..to`, the last excluded.
    fn count(&self, from: NaiveDate, to: NaiveDate) -> i64 {
        self.stretches(from)
            .take_while(|(start, _, _)| *start < to)
            .filter_map(|(start, end, weekdays)| weekdays.map(|w| w.count_between(start, end.min(to))))
            .sum()
    }

    /// The `n`-th operating day (counted from 1) at or after `from`.
    fn nth_running_day(&self, from: NaiveDate, n: i64) -> Option<NaiveDate> {
        let mut left = n;
        for (start, end, weekdays) in self.stretches(from) {
            let Some(weekdays) = weekdays else { continue };
            let here = weekdays.count_between(start, end);
            if left <= here {
                return Some(nth_of(weekdays, start, left));
            }
            left -= here;
        }
        None
    }

    /// Spells from the one that holds on `from`, cut to begin there: first day, day after the last, weekdays.
    fn stretches(
        &self,
        from: NaiveDate,
    ) -> impl Iterator<Item = (NaiveDate, NaiveDate, Option<Weekdays>)> + use<'_> {
        let ends = self.spells.iter().skip(1).map(|spell| spell.from).chain([LAST_DAY]);
        self.spells
            .iter()
            .zip(ends)
            .map(move |(spell, end)| (spell.from.max(from), end, spell.weekdays))
            .filter(|(start, end, _)| start < end)
    }
}

/// The civil days that lie wholly in a stay that is over: the first, and the day after the last.
fn whole_days(stay: &Stay, zone: Tz) -> Option<(NaiveDate, NaiveDate)> {
    let out = local_day(stay.out_at?, zone);
    let came = local_day(stay.in_at, zone);
    let first = if day_start(came, zone) < stay.in_at { add_days(came, 1) } else { came };
    (first < out).then_some((first, out))
}

/// The spells with those days of rest cut out of them.
fn without(spells: &[Spell], away: &[(NaiveDate, NaiveDate)]) -> Vec<Spell> {
    let edges = away.iter().flat_map(|(first, after)| [*first, *after]);
    let mut days: Vec<NaiveDate> = spells.iter().map(|spell| spell.from).chain(edges).collect();
    days.sort_unstable();
    days.dedup();
    let weekdays_on = |day: NaiveDate| {
        let is_away = away.iter().any(|(first, after)| *first <= day && day < *after);
        let spell = spells.iter().rev().find(|spell| spell.from <= day);
        spell.filter(|_| !is_away).and_then(|spell| spell.weekdays)
    };
    days.into_iter().map(|from| Spell { from, weekdays: weekdays_on(from) }).collect()
}

/// The `n`-th day (counted from 1) of `weekdays` at or after `start`.
fn nth_of(weekdays: Weekdays, start: NaiveDate, n: i64) -> NaiveDate {
    let per_week = i64::from(weekdays.per_week());
    let weeks = (n - 1) / per_week;
    let within = n - weeks * per_week;
    let base = add_days(start, weeks * 7);
    (0..7)
        .map(|offset| add_days(base, offset))
        .filter(|day| weekdays.contains(day.weekday()))
        .nth(usize::try_from(within - 1).unwrap_or(0))
        .unwrap_or(base)
}

fn furthest(from: NaiveDate) -> NaiveDate {
    add_months(from, MOST_MONTHS)
}

fn whole(days: i64) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "days of the calendar are far below 2^53")]
    let days = days as f64;
    days
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::TimeDelta;
    use proptest::prelude::*;

    fn calendar(zone: Tz, spells: Vec<(NaiveDate, Option<u8>)>) -> OperatingCalendar {
        let spells = spells.into_iter().enumerate().map(|(place, (from, bits))| Spell {
            from: if place == 0 { FIRST_DAY } else { from },
            weekdays: bits.and_then(Weekdays::from_bits),
        });
        OperatingCalendar { zone, spells: spells.collect() }
    }

    /// The slow way: hour by hour through the real time line, each hour a share of its own civil day.
    fn days_hour_by_hour(calendar: &OperatingCalendar, from: DateTime<Utc>, hours: i64) -> f64 {
        (0..hours)
            .map(|hour| {
                let day = local_day(from + TimeDelta::hours(hour), calendar.zone);
                let spell = calendar.spells.iter().rev().find(|spell| spell.from <= day).unwrap();
                let runs = spell.weekdays.is_some_and(|weekdays| weekdays.contains(day.weekday()));
                let length = day_after(day, calendar.zone) - day_start(day, calendar.zone);
                if runs { 3600.0 / length.as_seconds_f64() } else { 0.0 }
            })
            .sum()
    }

    fn calendars() -> impl Strategy<Value = OperatingCalendar> {
        let zone = prop::sample::select(vec![Tz::UTC, Tz::America__New_York, Tz::Asia__Beirut]);
        let spell = (1_u64..60, prop::option::weighted(0.8, 1_u8..0x80));
        (zone, prop::collection::vec(spell, 1..5)).prop_map(|(zone, spells)| {
            let mut from = NaiveDate::from_ymd_opt(2024, 2, 20).unwrap();
            let dated = spells.into_iter().map(|(length, bits)| {
                let begun = from;
                from = from + chrono::Days::new(length);
                (begun, bits)
            });
            calendar(zone, dated.collect())
        })
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(2000))]

        #[test]
        fn operating_days_are_those_counted_hour_by_hour(
            calendar in calendars(), start in 0_i64..4000, hours in 0_i64..3000
        ) {
            // 15 February 2024 on, through the changes of clocks of New York (10 March) and Beirut (31 March).
            let from = DateTime::from_timestamp(1_707_955_200 + start * 3600, 0).unwrap();
            let counted = calendar.days_between(from, from + TimeDelta::hours(hours));
            prop_assert!((counted - days_hour_by_hour(&calendar, from, hours)).abs() < 1e-9);
        }

        #[test]
        fn the_day_reached_is_the_first_by_whose_end_the_days_have_passed(
            calendar in calendars(), start in 0_i64..4000, days in 0.0..80.0_f64
        ) {
            let from = DateTime::from_timestamp(1_707_955_200 + start * 3600, 0).unwrap();
            let first = local_day(from, calendar.zone);
            let expected = (0..3700).map(|offset| add_days(first, offset)).find(|day| {
                calendar.days_between(from, day_after(*day, calendar.zone)) >= days - ROUNDING_DAYS
            });
            let bounded = expected.filter(|day| *day <= furthest(first));
            prop_assert_eq!(calendar.day_reached(&calendar.origin(from), days), bounded);
        }

        #[test]
        fn operating_time_adds_up(calendar in calendars(), a in 0_i64..3000, b in 0_i64..3000, c in 0_i64..3000) {
            let mut hours = [a, b, c];
            hours.sort_unstable();
            let [a, b, c] = hours.map(|hour| DateTime::from_timestamp(1_707_955_200 + hour * 3600, 0).unwrap());
            let whole = calendar.days_between(a, c);
            let parts = calendar.days_between(a, b) + calendar.days_between(b, c);
            prop_assert!((whole - parts).abs() < 1e-9, "{} against {}", whole, parts);
        }
    }

    #[test]
    fn a_vehicle_parked_until_further_notice_reaches_no_day() {
        let parked = calendar(Tz::UTC, vec![(FIRST_DAY, None)]);
        assert_eq!(parked.day_reached(&parked.origin(DateTime::UNIX_EPOCH), 0.5), None);
    }

    #[test]
    fn ten_years_are_reached_and_a_day_more_is_not() {
        let daily = calendar(Tz::UTC, vec![(FIRST_DAY, Some(0x7f))]);
        // 1970-01-01 to 1980-01-01 are 3652 days (1972 and 1976 are leap years); the last day is reached at its end.
        let last = NaiveDate::from_ymd_opt(1980, 1, 1);
        let origin = daily.origin(DateTime::UNIX_EPOCH);
        assert_eq!(daily.day_reached(&origin, 3653.0), last);
        assert_eq!(daily.day_reached(&origin, 3653.01), None);
    }
}
