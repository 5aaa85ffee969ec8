//! Cron expressions on the clocks of a zone.

use chrono::{DateTime, Datelike, NaiveDate, NaiveTime, TimeDelta, Timelike, Utc};
use chrono_tz::Tz;
use model::{CronError, CronExpression, instant_of};
use proptest::prelude::*;

fn cron(text: &str) -> CronExpression {
    text.parse().unwrap_or_else(|error| panic!("{text}: {error}"))
}

fn at(text: &str) -> DateTime<Utc> {
    text.parse().expect("an instant")
}

/// The first `count` instants after `from`.
fn instants(text: &str, from: &str, zone: Tz, count: usize) -> Vec<String> {
    let expression = cron(text);
    let next = |after: &DateTime<Utc>| expression.next_after(*after, zone);
    std::iter::successors(next(&at(from)), next).take(count).map(|instant| instant.to_rfc3339()).collect()
}

/// Every row computed with croniter 7.0.0 in UTC, `implement_cron_bug=True` (a day field that begins with `*` restricts nothing).
#[test]
fn expressions_come_when_another_reader_says_so() {
    let cases = [
        ("*/15 8-17 * * mon-fri", "2026-03-06T17:31:00Z", "2026-03-06T17:45:00+00:00"),
        ("*/15 8-17 * * mon-fri", "2026-03-06T17:45:00Z", "2026-03-09T08:00:00+00:00"),
        ("0 6 1 * *", "2026-01-01T06:00:00Z", "2026-02-01T06:00:00+00:00"),
        ("0 0 31 * *", "2026-01-31T00:00:00Z", "2026-03-31T00:00:00+00:00"),
        ("0 0 29 2 *", "2026-01-01T00:00:00Z", "2028-02-29T00:00:00+00:00"),
        ("30 4 1,15 * 5", "2026-01-01T04:30:00Z", "2026-01-02T04:30:00+00:00"),
        ("0 0 13 * fri", "2026-02-13T00:00:00Z", "2026-02-20T00:00:00+00:00"),
        ("0 0 * 4,10 7", "2026-01-01T00:00:00Z", "2026-04-05T00:00:00+00:00"),
        ("0 12 */2 * 1", "2026-01-01T00:00:00Z", "2026-01-05T12:00:00+00:00"),
        ("5 0 1-7 jan-mar *", "2026-03-07T00:05:00Z", "2027-01-01T00:05:00+00:00"),
    ];
    for (text, after, expected) in cases {
        assert_eq!(instants(text, after, Tz::UTC, 1), [expected], "{text} after {after}");
    }
}

/// New York, 2026: clocks skip 02:00 to 03:00 on 8 March and show 01:00 to 02:00 twice on 1 November (IANA tzdata).
#[test]
fn a_minute_that_is_skipped_is_met_after_the_gap_and_one_that_comes_twice_at_its_first_pass() {
    let zone = Tz::America__New_York;
    let spring = instants("30 2 * * *", "2026-03-07T12:00:00Z", zone, 2);
    assert_eq!(spring, ["2026-03-08T07:00:00+00:00", "2026-03-09T06:30:00+00:00"]);
    let autumn = instants("30 1 * * *", "2026-10-31T12:00:00Z", zone, 2);
    assert_eq!(autumn, ["2026-11-01T05:30:00+00:00", "2026-11-02T06:30:00+00:00"]);
    let often = instants("*/20 2,3 * * *", "2026-03-08T06:00:00Z", zone, 3);
    assert_eq!(
        often,
        ["2026-03-08T07:00:00+00:00", "2026-03-08T07:20:00+00:00", "2026-03-08T07:40:00+00:00"]
    );
}

#[test]
fn a_mistake_is_told_with_its_field_its_value_and_what_is_allowed() {
    let cases = [
        ("61 * * * *", "minute \"61\" is not understood; allowed are 0 to 59, *,"),
        ("0 24 * * *", "hour \"24\" is not understood; allowed are 0 to 23, *,"),
        ("0 0 0 * *", "day of the month \"0\" is not understood; allowed are 1 to 31, *,"),
        ("0 0 * jam *", "month \"jam\" is not understood; allowed are 1 to 12, jan to dec, *,"),
        ("0 0 * * mon,8", "day of the week \"8\" is not understood; allowed are 0 to 7 (Sunday is 0 and 7),"),
        ("0 0 * * fri-mon", "day of the week \"fri-mon\" is not understood;"),
        ("5/15 * * * *", "minute \"5/15\" is not understood;"),
        ("*/0 * * * *", "minute \"*/0\" is not understood;"),
        ("0,,30 * * * *", "minute \"\" is not understood;"),
        ("-1 * * * *", "minute \"-1\" is not understood;"),
        ("0 6 * *", "4 fields: five are wanted"),
        ("0 0 6 * * mon", "6 fields: five are wanted"),
        ("0 0 30,31 2 *", "day of the month 30,31 never comes in month 2"),
    ];
    for (text, expected) in cases {
        let told = text.parse::<CronExpression>().map_err(|error| error.to_string());
        assert!(told.as_ref().is_err_and(|told| told.starts_with(expected)), "{text}: {told:?}");
    }
    let either: Result<CronExpression, CronError> = "0 0 31 2 mon".parse();
    assert!(either.is_ok(), "a Monday comes even where the day does not");
}

#[test]
fn what_has_no_minute_left_in_the_calendar_comes_no_more() {
    assert_eq!(cron("0 0 29 2 *").next_after(at("2196-03-01T00:00:00Z"), Tz::UTC), None);
}

/// A field as text and the numbers it marks.
fn field(least: u32, most: u32) -> impl Strategy<Value = (String, Vec<u32>)> {
    let all = (least..=most).collect::<Vec<u32>>();
    let some = prop::collection::btree_set(least..=most, 1..4).prop_map(|set| {
        let text: Vec<String> = set.iter().map(u32::to_string).collect();
        (text.join(","), set.into_iter().collect())
    });
    let stepped = (least..=most, 1_u32..9).prop_map(move |(first, step)| {
        let marked = (first..=most).filter(|number| (number - first).is_multiple_of(step)).collect();
        (format!("{first}-{most}/{step}"), marked)
    });
    prop_oneof![Just(("*".to_owned(), all)), some, stepped]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    /// The slow way: every civil minute of every day, its instant taken, the first later one kept.
    #[test]
    fn the_next_instant_is_the_first_of_a_walk_through_all_minutes(
        minute in field(0, 59), hour in field(0, 23), day in field(1, 31), month in field(1, 12),
        weekday in field(0, 6), zone in prop::sample::select(vec![
            Tz::UTC, Tz::America__New_York, Tz::Australia__Lord_Howe, Tz::Asia__Beirut, Tz::America__Santiago,
        ]),
        start in 0_i64..1_100_000,
    ) {
        let text = format!("{} {} {} {} {}", minute.0, hour.0, day.0, month.0, weekday.0);
        let Ok(expression) = text.parse::<CronExpression>() else { return Ok(()) };
        let after = at("2026-01-01T00:00:00Z") + TimeDelta::minutes(start) + TimeDelta::seconds(start % 60);
        let first = after.with_timezone(&zone).date_naive() - TimeDelta::days(1);
        let fits = |on: NaiveDate| {
            let (number, week) = (
                day.1.contains(&on.day()), weekday.1.contains(&on.weekday().num_days_from_sunday()));
            let either = day.0 != "*" && weekday.0 != "*";
            month.1.contains(&on.month()) && if either { number || week } else { number && week }
        };
        let walked = first.iter_days().take(12 * 366).filter(|on| fits(*on)).find_map(|on| {
            let times = hour.1.iter().flat_map(|hour| minute.1.iter().map(move |minute| (*hour, *minute)));
            times
                .map(|(hour, minute)| {
                    instant_of(on, NaiveTime::from_hms_opt(hour, minute, 0).expect("a time"), zone)
                })
                .find(|instant| *instant > after)
        });
        if let Some(walked) = walked {
            prop_assert_eq!(expression.next_after(after, zone), Some(walked), "{}", text);
            prop_assert_eq!(walked.second(), 0);
        }
    }
}
