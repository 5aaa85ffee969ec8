//! When letters reach a person: slots on chosen days, and the hours in which none may come.

use crate::calendar::{add_days, instant_of, local_day};
use crate::organisation::Person;
use chrono::{DateTime, Datelike, NaiveDate, NaiveTime, TimeDelta, Utc};

/// Slots of a fleet's people are spread over so many seconds, so that a relay is not met by all at once (house setting,
/// no source).
const SPREAD_SECONDS: u128 = 15 * 60;

/// A slot is looked for on so many days: a week, and one for the hour of today that has passed.
const DAYS_AHEAD: i64 = 8;

/// When letters come where nothing else was said (house setting, no source).
pub const LETTER_TIME: NaiveTime = match NaiveTime::from_hms_opt(7, 0, 0) {
    Some(time) => time,
    None => NaiveTime::MIN,
};

impl Person {
    /// The first slot at or after `at`: the person's hour on one of the person's days, later by the same few minutes every
    /// day, and out of the quiet hours. A clock that is put forward over it is met by the first instant after the gap, one
    /// that is put back at its first pass.
    pub fn next_slot(&self, at: DateTime<Utc>) -> DateTime<Utc> {
        let today = local_day(at, self.zone);
        // Yesterday's slot may have been moved past midnight by quiet hours.
        let mut slots = (-1..DAYS_AHEAD).filter_map(|ahead| self.slot_of(add_days(today, ahead)));
        // Only at the end of the program's calendar is there none.
        slots.find(|slot| *slot >= at).unwrap_or(at)
    }

    /// `at` itself where a letter that missed its slot may still come, on the day of the slot after it and out of the quiet
    /// hours; else when it may.
    pub fn may_come_from(&self, at: DateTime<Utc>) -> DateTime<Utc> {
        let awake = self.after_quiet(at);
        let day = local_day(awake, self.zone);
        // Late in the evening, or moved by quiet hours, a letter day's slot comes on the day after.
        let mut slots = [add_days(day, -1), day].into_iter().filter_map(|day| self.slot_of(day));
        let is_open = slots.any(|slot| slot <= awake && local_day(slot, self.zone) == day);
        if is_open { awake } else { self.next_slot(awake) }
    }

    /// The slot of a letter day; `None` on other days.
    fn slot_of(&self, day: NaiveDate) -> Option<DateTime<Utc>> {
        let slot = instant_of(day, self.letter_time, self.zone);
        self.letter_days.contains(day.weekday()).then(|| self.after_quiet(slot + self.spread()))
    }

    /// `at` itself, or the end of the quiet hours in which it lies.
    pub fn after_quiet(&self, at: DateTime<Utc>) -> DateTime<Utc> {
        let Some((from, to)) = self.quiet_hours else { return at };
        let local = at.with_timezone(&self.zone).naive_local();
        let (day, time) = (local.date(), local.time());
        let end_day = match (from < to, time >= from, time < to) {
            (true, true, true) | (false, false, true) => day,
            (false, true, _) => add_days(day, 1),
            _ => return at,
        };
        let end = instant_of(end_day, to, self.zone);
        // On the second pass of an hour that comes twice its end has been shown once already.
        if end > at { end } else { at + (to - time) }
    }

    /// The few minutes by which this person's slot is later than the hour says: the same for ever.
    fn spread(&self) -> TimeDelta {
        let seconds = self.id.0.as_u128() % SPREAD_SECONDS;
        TimeDelta::seconds(i64::try_from(seconds).unwrap_or_default())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{PersonId, Role, Weekdays};
    use uuid::Uuid;

    fn person(zone: chrono_tz::Tz, quiet: Option<(&str, &str)>) -> Person {
        let time = |text: &str| text.parse().expect("a time");
        Person {
            id: PersonId(Uuid::from_u128(0)),
            role: Role::Manager,
            depots: Vec::new(),
            name: String::new(),
            email: None,
            language: "en".to_owned(),
            zone,
            quiet_hours: quiet.map(|(from, to)| (time(from), time(to))),
            letter_days: Weekdays::MONDAY_TO_FRIDAY,
            letter_time: LETTER_TIME,
            declined_letters: Vec::new(),
            version: 1,
        }
    }

    fn at(text: &str) -> DateTime<Utc> {
        text.parse().expect("an instant")
    }

    #[test]
    fn letters_come_on_weekday_mornings() {
        // 2027-03-05 is a Friday; clocks of Dublin go forward on 28 March 2027.
        let dubliner = person(chrono_tz::Europe::Dublin, None);
        for (now, slot) in [
            ("2027-03-05T06:59:59Z", "2027-03-05T07:00:00Z"),
            ("2027-03-05T07:00:00Z", "2027-03-05T07:00:00Z"),
            ("2027-03-05T07:00:01Z", "2027-03-08T07:00:00Z"),
            ("2027-03-27T12:00:00Z", "2027-03-29T06:00:00Z"),
        ] {
            assert_eq!(dubliner.next_slot(at(now)), at(slot), "{now}");
        }
        let denver = person(chrono_tz::America::Denver, None);
        assert_eq!(denver.next_slot(at("2027-01-04T20:00:00Z")), at("2027-01-05T14:00:00Z"));
    }

    #[test]
    fn r10_slots_of_many_people_are_spread_over_a_quarter_of_an_hour_the_same_every_day() {
        // Multiples of the golden ratio of 64 bits, as ids made by chance would lie.
        let ids = (1..=500_u128)
            .map(|n| Uuid::from_u128(n.wrapping_mul(0x9e37_79b9_7f4a_7c15_f39c_c060_5ced_c835)));
        let people: Vec<Person> =
            ids.map(|id| Person { id: PersonId(id), ..person(chrono_tz::UTC, None) }).collect();
        let after_the_hour = |day: &str| -> Vec<i64> {
            let hour = at(&format!("{day}T07:00:00Z"));
            people.iter().map(|one| (one.next_slot(hour) - hour).num_seconds()).collect()
        };
        let friday = after_the_hour("2027-03-05");
        assert_eq!(friday, after_the_hour("2027-03-08"), "the same on Monday");
        assert!(friday.iter().all(|seconds| (0..900).contains(seconds)), "{friday:?}");
        for minute in 0..15 {
            let within = friday.iter().filter(|seconds| **seconds / 60 == minute).count();
            assert!((10..80).contains(&within), "{within} of 500 in minute {minute}");
        }
    }

    #[test]
    fn a_slot_in_quiet_hours_comes_when_they_end() {
        let late = person(chrono_tz::UTC, Some(("21:00:00", "08:30:00")));
        assert_eq!(late.next_slot(at("2027-03-05T00:00:00Z")), at("2027-03-05T08:30:00Z"));
        for (now, end) in [
            ("2027-03-05T20:59:59Z", "2027-03-05T20:59:59Z"),
            ("2027-03-05T21:00:00Z", "2027-03-06T08:30:00Z"),
            ("2027-03-06T03:00:00Z", "2027-03-06T08:30:00Z"),
            ("2027-03-06T08:30:00Z", "2027-03-06T08:30:00Z"),
        ] {
            assert_eq!(late.after_quiet(at(now)), at(end), "{now}");
        }
        let midday = person(chrono_tz::UTC, Some(("06:00:00", "22:00:00")));
        assert_eq!(midday.next_slot(at("2027-03-05T00:00:00Z")), at("2027-03-05T22:00:00Z"));
        assert_eq!(midday.next_slot(at("2027-03-05T22:00:01Z")), at("2027-03-08T22:00:00Z"));
    }

    #[test]
    fn a_letter_that_missed_its_slot_comes_later_that_day_but_at_no_other_time() {
        // 2027-03-05 is a Friday.
        let manager = person(chrono_tz::UTC, Some(("20:00:00", "08:00:00")));
        for (now, from) in [
            ("2027-03-05T03:00:00Z", "2027-03-05T08:00:00Z"),
            ("2027-03-05T15:00:00Z", "2027-03-05T15:00:00Z"),
            ("2027-03-05T20:00:00Z", "2027-03-08T08:00:00Z"),
            ("2027-03-06T12:00:00Z", "2027-03-08T08:00:00Z"),
        ] {
            assert_eq!(manager.may_come_from(at(now)), at(from), "{now}");
        }
        let early = person(chrono_tz::UTC, None);
        assert_eq!(early.may_come_from(at("2027-03-05T03:00:00Z")), at("2027-03-05T07:00:00Z"));
    }

    /// Or a courier that looks a moment after the slot would put the letter off to the next one for ever.
    #[test]
    fn a_slot_that_comes_on_the_day_after_is_open_for_the_rest_of_that_day() {
        let nine_minutes = Uuid::from_u128(540);
        let in_the_night = Person {
            letter_time: "23:00:00".parse().expect("a time"),
            ..person(chrono_tz::UTC, Some(("22:00:00", "06:00:00")))
        };
        let by_midnight = Person {
            id: PersonId(nine_minutes),
            letter_time: "23:55:00".parse().expect("a time"),
            ..person(chrono_tz::UTC, None)
        };
        // Friday's slot is on Saturday, 2027-03-06; Sunday has none, and Monday's is on Tuesday.
        for (whose, slot, next) in [
            (&in_the_night, "2027-03-06T06:00:00Z", "2027-03-09T06:00:00Z"),
            (&by_midnight, "2027-03-06T00:04:00Z", "2027-03-09T00:04:00Z"),
        ] {
            assert_eq!(whose.next_slot(at("2027-03-05T12:00:00Z")), at(slot));
            for late in [0, 1, 40_000] {
                let now = at(slot) + TimeDelta::seconds(late);
                assert_eq!(whose.may_come_from(now), now, "{late} s after {slot}");
            }
            assert_eq!(whose.may_come_from(at("2027-03-07T12:00:00Z")), at(next));
        }
    }

    #[test]
    fn quiet_hours_hold_through_an_hour_that_comes_twice() {
        // Denver goes back from 02:00 to 01:00 on 7 November 2027: 01:30 is shown at 07:30Z and at 08:30Z.
        let sleeper = person(chrono_tz::America::Denver, Some(("01:00:00", "01:45:00")));
        assert_eq!(sleeper.after_quiet(at("2027-11-07T07:30:00Z")), at("2027-11-07T07:45:00Z"));
        assert_eq!(sleeper.after_quiet(at("2027-11-07T08:30:00Z")), at("2027-11-07T08:45:00Z"));
    }

    #[test]
    fn a_persons_slot_is_later_by_the_same_minutes_every_day_and_never_by_more_than_fifteen() {
        for id in [1, 899, 900, 0x0193_6f0a_7c3e_7d52_9b1f_3c5d_8e2a_4b60_u128] {
            let one = Person { id: PersonId(Uuid::from_u128(id)), ..person(chrono_tz::UTC, None) };
            let slot = one.next_slot(at("2027-03-04T00:00:00Z"));
            let late = slot - at("2027-03-04T07:00:00Z");
            assert!((0..900).contains(&late.num_seconds()), "{id}: {slot}");
            assert_eq!(one.next_slot(slot + TimeDelta::seconds(1)), slot + TimeDelta::days(1), "{id}");
            assert_eq!(one.next_slot(slot), slot, "{id}");
        }
    }
}
