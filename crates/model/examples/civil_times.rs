//! Tables of civil times for comparison with other implementations (`tests/oracles`).
//!
//! `civil_times zones`: for every zone and each day of 2020 to 2040, how far the instant of a time of day lies from the
//! same time in UTC, in seconds; one line where it differs from the day before. `civil_times months`: each day of two years
//! plus 0 to 400 months. `civil_times cron`: reads `expression|instant` lines and writes the next five instants in UTC.

use chrono::{DateTime, NaiveDate, NaiveTime, SecondsFormat, TimeDelta, Utc};
use chrono_tz::{IANA_TZDB_VERSION, TZ_VARIANTS, Tz};
use model::{CronExpression, add_months, day_start, instant_of};
use std::io::{BufRead, BufWriter, Write, stdin, stdout};
use std::process::ExitCode;

const TIMES: [(u32, u32); 6] = [(0, 30), (1, 30), (2, 15), (2, 30), (12, 0), (23, 30)];
const MOST_MONTHS: u32 = 400;

fn main() -> ExitCode {
    let mut out = BufWriter::new(stdout().lock());
    let wrote = match std::env::args().nth(1).as_deref() {
        Some("zones") => zones(&mut out),
        Some("months") => months(&mut out),
        Some("cron") => cron(&mut out),
        _ => {
            eprintln!("civil_times zones | months | cron");
            return ExitCode::from(2);
        }
    };
    match wrote.and_then(|()| out.flush()) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("civil_times: {error}");
            ExitCode::FAILURE
        }
    }
}

fn days(first: i32, last: i32) -> impl Iterator<Item = NaiveDate> {
    let first = NaiveDate::from_ymd_opt(first, 1, 1).unwrap_or_default();
    let end = NaiveDate::from_ymd_opt(last + 1, 1, 1).unwrap_or_default();
    first.iter_days().take_while(move |day| *day < end)
}

fn zones(out: &mut impl Write) -> std::io::Result<()> {
    writeln!(out, "release {IANA_TZDB_VERSION}")?;
    for zone in TZ_VARIANTS {
        writeln!(out, "zone {zone}")?;
        told(out, "day_start", NaiveTime::MIN, |day| day_start(day, zone))?;
        for (hour, minute) in TIMES {
            let time = NaiveTime::from_hms_opt(hour, minute, 0).unwrap_or_default();
            told(out, &format!("{hour:02}:{minute:02}"), time, |day| instant_of(day, time, zone))?;
        }
        daily_job(out, zone)?;
    }
    Ok(())
}

/// A job at 02:30 every day: its n-th run against the n-th day.
fn daily_job(out: &mut impl Write, zone: Tz) -> std::io::Result<()> {
    let expression: CronExpression = "30 2 * * *".parse().map_err(std::io::Error::other)?;
    let first = NaiveDate::from_ymd_opt(2020, 1, 1).unwrap_or_default();
    let mut last = day_start(first, zone) - TimeDelta::seconds(1);
    let time = NaiveTime::from_hms_opt(2, 30, 0).unwrap_or_default();
    told(out, "job", time, |_| {
        last = expression.next_after(last, zone).unwrap_or(last);
        last
    })
}

/// One line for each day on which the distance from UTC is not that of the day before.
fn told(
    out: &mut impl Write,
    what: &str,
    time: NaiveTime,
    mut instant: impl FnMut(NaiveDate) -> DateTime<Utc>,
) -> std::io::Result<()> {
    let mut before = None;
    for day in days(2020, 2040) {
        let seconds = (instant(day) - day.and_time(time).and_utc()).num_seconds();
        if before != Some(seconds) {
            writeln!(out, "{what} {day} {seconds}")?;
            before = Some(seconds);
        }
    }
    Ok(())
}

fn months(out: &mut impl Write) -> std::io::Result<()> {
    for day in days(2023, 2024) {
        for months in 0..=MOST_MONTHS {
            writeln!(out, "{day} {months} {}", add_months(day, months))?;
        }
    }
    Ok(())
}

fn cron(out: &mut impl Write) -> std::io::Result<()> {
    for line in stdin().lock().lines() {
        let line = line?;
        let read = line.split_once('|').and_then(|(expression, from)| {
            let expression: CronExpression = expression.parse().ok()?;
            Some((expression, from.parse::<DateTime<Utc>>().ok()?))
        });
        let Some((expression, from)) = read else {
            writeln!(out, "refused")?;
            continue;
        };
        let next = |after: &DateTime<Utc>| expression.next_after(*after, Tz::UTC);
        let instants: Vec<String> = std::iter::successors(next(&from), next)
            .take(5)
            .map(|at| at.to_rfc3339_opts(SecondsFormat::Secs, true))
            .collect();
        writeln!(out, "{}", instants.join(" "))?;
    }
    Ok(())
}
