//! The last day on which a workshop can take the vehicle in before cover may end.

use chrono::{Datelike, NaiveDate};
use model::horizon::ActBy;
use model::{Weekdays, Workshop, add_days};

/// Of the workshops that make warranty work, the one that leaves most time to book; of several the first by id.
///
/// The vehicle goes in on the workshop's last working day no later than `early_end`, and is booked in as many of its
/// working days before as it wants notice.
pub(crate) fn act_by(workshops: &[Workshop], early_end: NaiveDate) -> Option<ActBy> {
    let suitable = workshops.iter().filter(|workshop| workshop.warranty_work);
    let days = suitable.filter_map(|workshop| {
        let in_by = last_working_day(workshop.working_weekdays, early_end)?;
        let book_by = working_days_before(workshop.working_weekdays, in_by, workshop.lead_days);
        Some(ActBy { book_by, in_by, workshop: workshop.id })
    });
    days.max_by(|one, other| one.book_by.cmp(&other.book_by).then(other.workshop.cmp(&one.workshop)))
}

/// The last working day at or before `day`; `None` for a workshop that never works.
fn last_working_day(weekdays: Weekdays, day: NaiveDate) -> Option<NaiveDate> {
    (0..7).map(|back| add_days(day, -back)).find(|day| weekdays.contains(day.weekday()))
}

/// The working day that is `count` working days before the working day `day`.
fn working_days_before(weekdays: Weekdays, day: NaiveDate, count: u32) -> NaiveDate {
    let a_week = weekdays.per_week().max(1);
    let mut reached = add_days(day, -7 * i64::from(count / a_week));
    for _ in 0..count % a_week {
        let before = last_working_day(weekdays, add_days(reached, -1));
        reached = before.unwrap_or(reached);
    }
    reached
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn days_before_are_found_as_by_going_back_one_day_at_a_time(
            bits in 1_u8..0x80, from in 0_i64..4000, count in 0_u32..60,
        ) {
            let weekdays = Weekdays::from_bits(bits).unwrap();
            let day = last_working_day(weekdays, add_days(NaiveDate::from_ymd_opt(2024, 1, 1).unwrap(), from));
            let mut slowly = day.unwrap();
            let mut left = count;
            while left > 0 {
                slowly = slowly.pred_opt().unwrap();
                left -= u32::from(weekdays.contains(slowly.weekday()));
            }
            prop_assert_eq!(working_days_before(weekdays, day.unwrap(), count), slowly);
        }
    }
}
