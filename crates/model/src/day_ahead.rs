//! Which working day a letter at some hour looks ahead to, and until when it is worth sending.
//!
//! Nobody says on which days a person works, so the days on which letters come to a person stand for them (house setting,
//! no source): what comes on a Friday evening looks ahead to Monday.

use crate::calendar::{add_days, instant_of, local_day};
use crate::organisation::Person;
use chrono::{DateTime, Datelike, NaiveDate, NaiveTime, TimeDelta, Utc};

/// When work has begun, whoever's it is (house setting, no source).
pub const WORK_BEGINS: NaiveTime = match NaiveTime::from_hms_opt(9, 0, 0) {
    Some(time) => time,
    None => NaiveTime::MIN,
};

/// Slots are looked for so far ahead by work that is done every day: two hours more than a day, so that none is passed over
/// where a clock is put forward or the work comes a little late (house setting, no source).
const AHEAD: TimeDelta = TimeDelta::hours(26);

/// A week.
const DAYS_AHEAD: i64 = 7;

/// A letter about a person's working day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DayLetter {
    /// The day it is for.
    pub day: NaiveDate,
    /// When it comes.
    pub at: DateTime<Utc>,
}

impl Person {
    /// When the day's work has begun, where the person lives: from then on a letter that looks ahead to it is of no use.
    pub fn work_begins(&self, day: NaiveDate) -> DateTime<Utc> {
        instant_of(day, WORK_BEGINS, self.zone)
    }

    /// The working day that a letter at `at` looks ahead to: the same day before work begins, else the person's next. None
    /// only at the end of the program's calendar.
    pub fn day_ahead_of(&self, at: DateTime<Utc>) -> Option<NaiveDate> {
        let today = local_day(at, self.zone);
        let mut days = (0..=DAYS_AHEAD).map(|ahead| add_days(today, ahead));
        days.find(|day| self.letter_days.contains(day.weekday()) && at < self.work_begins(*day))
    }

    /// The letters that look ahead to a working day and come within a day of `now`, the soonest first. One that missed its
    /// slot is among them as long as the work of its day has not begun.
    pub fn day_letters(&self, now: DateTime<Utc>) -> Vec<DayLetter> {
        let until = now + AHEAD;
        let is_open = self.may_come_from(now) == now;
        let today = local_day(now, self.zone);
        let late = (is_open && self.day_ahead_of(now) == Some(today)).then_some(now);
        let after = |slot: &DateTime<Utc>| Some(self.next_slot(*slot + TimeDelta::seconds(1)));
        let slots = std::iter::successors(Some(self.next_slot(now)), after);
        let in_time = late.into_iter().chain(slots.take_while(|slot| *slot < until));
        let mut letters: Vec<DayLetter> =
            in_time.filter_map(|at| Some(DayLetter { day: self.day_ahead_of(at)?, at })).collect();
        letters.dedup_by_key(|letter| letter.day);
        letters
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{PersonId, Role, Weekdays};
    use uuid::Uuid;

    fn person(zone: chrono_tz::Tz, hour: &str) -> Person {
        Person {
            id: PersonId(Uuid::from_u128(0)),
            role: Role::Technician,
            depots: Vec::new(),
            name: String::new(),
            email: None,
            language: "en".to_owned(),
            zone,
            quiet_hours: None,
            letter_days: Weekdays::MONDAY_TO_FRIDAY,
            letter_time: hour.parse().expect("a time"),
            declined_letters: Vec::new(),
            version: 1,
        }
    }

    fn at(text: &str) -> DateTime<Utc> {
        text.parse().expect("an instant")
    }

    /// As day and instant, in text.
    fn letters(person: &Person, now: &str) -> Vec<(String, String)> {
        let found = person.day_letters(at(now)).into_iter();
        found.map(|one| (one.day.to_string(), one.at.format("%FT%RZ").to_string())).collect()
    }

    fn expected(letters: &[(&str, &str)]) -> Vec<(String, String)> {
        letters.iter().map(|(day, at)| ((*day).to_owned(), (*at).to_owned())).collect()
    }

    /// The days of the week are those of the calendar of 2027: 2027-03-05 is a Friday.
    #[test]
    fn a_morning_letter_is_about_that_day_and_an_evening_letter_about_the_next_working_day() {
        let (early, late) = (person(chrono_tz::UTC, "07:00:00"), person(chrono_tz::UTC, "17:30:00"));
        assert_eq!(letters(&early, "2027-03-04T16:00:00Z"), expected(&[("2027-03-05", "2027-03-05T07:00Z")]));
        assert_eq!(
            letters(&late, "2027-03-04T16:00:00Z"),
            expected(&[("2027-03-05", "2027-03-04T17:30Z"), ("2027-03-08", "2027-03-05T17:30Z")])
        );
        // On Friday afternoon Monday's slot is far off yet; on Sunday it is not.
        assert_eq!(letters(&early, "2027-03-05T16:00:00Z"), expected(&[]));
        assert_eq!(letters(&early, "2027-03-07T16:00:00Z"), expected(&[("2027-03-08", "2027-03-08T07:00Z")]));
    }

    #[test]
    fn a_slot_after_work_has_begun_looks_ahead_to_the_next_day() {
        for (hour, day) in
            [("08:59:00", "2027-03-04"), ("09:00:00", "2027-03-05"), ("15:00:00", "2027-03-05")]
        {
            let one = person(chrono_tz::UTC, hour);
            let slot = one.next_slot(at("2027-03-04T00:00:00Z"));
            assert_eq!(one.day_ahead_of(slot).map(|day| day.to_string()).as_deref(), Some(day), "{hour}");
        }
    }

    #[test]
    fn what_missed_its_slot_is_in_time_until_work_begins() {
        let early = person(chrono_tz::UTC, "07:00:00");
        let next = ("2027-03-05", "2027-03-05T07:00Z");
        assert_eq!(
            letters(&early, "2027-03-04T08:59:00Z"),
            expected(&[("2027-03-04", "2027-03-04T08:59Z"), next])
        );
        assert_eq!(letters(&early, "2027-03-04T09:00:00Z"), expected(&[next]));
        let quiet = Person { quiet_hours: Some((early.letter_time, WORK_BEGINS)), ..early };
        assert_eq!(
            letters(&quiet, "2027-03-04T08:00:00Z")[0].0,
            "2027-03-05",
            "the quiet hours end too late"
        );
    }

    /// Clocks of Denver go forward on 14 March 2027 and back on 7 November 2027, both Sundays (tz database).
    #[test]
    fn work_begins_at_nine_on_the_clocks_of_the_person_whatever_they_do() {
        let everyday =
            Person { letter_days: Weekdays::ALL, ..person(chrono_tz::America::Denver, "07:00:00") };
        for (day, begins, slot) in [
            ("2027-03-13", "2027-03-13T16:00:00Z", "2027-03-13T14:00Z"),
            ("2027-03-14", "2027-03-14T15:00:00Z", "2027-03-14T13:00Z"),
            ("2027-11-06", "2027-11-06T15:00:00Z", "2027-11-06T13:00Z"),
            ("2027-11-07", "2027-11-07T16:00:00Z", "2027-11-07T14:00Z"),
        ] {
            let date: NaiveDate = day.parse().expect("a date");
            assert_eq!(everyday.work_begins(date), at(begins), "{day}");
            let afternoon_before = format!("{}T16:00:00Z", date - TimeDelta::days(1));
            assert!(
                letters(&everyday, &afternoon_before).contains(&(day.to_owned(), slot.to_owned())),
                "{day}"
            );
        }
    }

    /// Work that comes at 16:00 UTC every day plans every day's letter, wherever its person lives and through a whole year
    /// of clocks put forward and back.
    #[test]
    fn no_day_is_passed_over_and_none_planned_after_it_began() {
        for zone in [
            chrono_tz::America::Denver,
            chrono_tz::Australia::Lord_Howe,
            chrono_tz::Pacific::Kiritimati,
            chrono_tz::Antarctica::Troll,
        ] {
            for hour in [
                "00:00:00", "03:00:00", "07:00:00", "08:59:59", "09:00:00", "10:00:00", "16:00:00",
                "23:59:00",
            ] {
                let one = Person { letter_days: Weekdays::ALL, ..person(zone, hour) };
                let runs = (0..370).map(|day| at("2027-01-01T16:00:09Z") + TimeDelta::days(day));
                let planned: Vec<DayLetter> = runs.flat_map(|run| one.day_letters(run)).collect();
                assert!(
                    planned.iter().all(|letter| letter.at < one.work_begins(letter.day)),
                    "{zone} {hour}"
                );
                let mut days: Vec<NaiveDate> = planned.iter().map(|letter| letter.day).collect();
                days.sort_unstable();
                days.dedup();
                let whole = days.windows(2).all(|pair| pair[1] - pair[0] == TimeDelta::days(1));
                assert!(whole && days.len() >= 369, "{zone} {hour}: {} days", days.len());
            }
        }
    }
}
