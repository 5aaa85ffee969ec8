//! Recurring work of the scheduler: so far the monthly refit of usage and wear.

use crate::error::ActError;
use crate::{Clerk, fits};
use chrono::{DateTime, Datelike, NaiveDate, NaiveTime, TimeDelta, Utc};
use model::FleetId;
use store::Reach;
use store::jobs::Job;

/// Fits the fleet's usage and its rates of wear anew on the first of each month at 03:00 UTC. Of missed runs the last is made, the others are
/// recorded as missed.
pub const REFIT: Job = Job { code: "refit", expression: "0 3 1 * *", zone: "UTC", missed: "once" };

/// The hour of the refit, UTC.
const HOUR: u32 = 3;

/// A run that has not ended by then was left by a program that died.
const LONGEST_RUN: TimeDelta = TimeDelta::hours(1);

/// So many fleets are looked at in one turn.
const FLEETS_AT_ONCE: u32 = 16;

/// The missed runs that are recorded, the newest ones: ten years of months.
const MOST_MISSED: usize = 120;

/// Plans the refit of fleets that have none, as those of an older program: it is due since the first of this month.
///
/// # Errors
/// Storage errors.
pub async fn plan(clerk: &Clerk) -> Result<(), ActError> {
    let mut tx = clerk.store().writer(Reach::All).await?;
    let due_at = last_by(clerk.now());
    for fleet in store::jobs::fleets_without(&mut tx.conn(), REFIT.code).await? {
        store::jobs::plan(&mut tx.conn(), fleet, &REFIT, due_at).await?;
    }
    tx.commit().await?;
    Ok(())
}

/// Makes the refits that have fallen due. Says how many it made; those that another replica is at are left to it.
///
/// # Errors
/// Storage errors. The run is taken over after an hour.
pub async fn run_due(clerk: &Clerk) -> Result<usize, ActError> {
    let mut tx = clerk.store().reader(Reach::All).await?;
    let due = store::jobs::due(&mut tx.conn(), REFIT.code, clerk.now(), FLEETS_AT_ONCE).await?;
    drop(tx);
    let mut made = 0;
    for (fleet, first_due) in due {
        if run(clerk, fleet, first_due).await? {
            made += 1;
        }
    }
    Ok(made)
}

async fn run(clerk: &Clerk, fleet: FleetId, first_due: DateTime<Utc>) -> Result<bool, ActError> {
    let now = clerk.now();
    let due_at = last_by(now);
    let mut tx = clerk.store().writer(Reach::Fleet(fleet)).await?;
    let begun = store::jobs::begin(&mut tx.conn(), fleet, REFIT.code, due_at, now, now - LONGEST_RUN).await?;
    tx.commit().await?;
    if !begun {
        return Ok(false);
    }
    let refit = fits::refit(clerk, fleet).await?;
    let detail = format!(
        "{} fits adopted, {} kept, {} vehicles pinned anew; {} rates of wear adopted, {} kept",
        refit.adopted, refit.kept, refit.pinned, refit.rates_adopted, refit.rates_kept
    );
    let mut tx = clerk.store().writer(Reach::Fleet(fleet)).await?;
    let conn = &mut tx.conn();
    let ended = store::jobs::end(conn, fleet, REFIT.code, due_at, now, clerk.now(), &detail).await?;
    if ended {
        let missed = between(first_due, due_at);
        store::jobs::miss(conn, fleet, REFIT.code, &missed, "a later run stands for it").await?;
        store::jobs::set_next(conn, fleet, REFIT.code, first_after(due_at)).await?;
    }
    tx.commit().await?;
    Ok(ended)
}

/// The runs that were due from `first` on and before `last`, the newest where there are too many.
fn between(first: DateTime<Utc>, last: DateTime<Utc>) -> Vec<DateTime<Utc>> {
    let before = |at: &DateTime<Utc>| Some(last_by(*at - TimeDelta::microseconds(1)));
    let missed = std::iter::successors(before(&last), before).take(MOST_MISSED);
    missed.take_while(|at| *at >= first).collect()
}

/// The first of the month of that day at the hour of the refit.
fn in_month_of(day: NaiveDate) -> DateTime<Utc> {
    let first = day.with_day(1).unwrap_or(day);
    first.and_time(NaiveTime::from_hms_opt(HOUR, 0, 0).unwrap_or(NaiveTime::MIN)).and_utc()
}

/// The last time at or before `at` that the refit was due.
fn last_by(at: DateTime<Utc>) -> DateTime<Utc> {
    let this_month = in_month_of(at.date_naive());
    if this_month <= at {
        this_month
    } else {
        in_month_of(this_month.date_naive().pred_opt().unwrap_or_default())
    }
}

/// The first time after `at` that the refit will be due.
pub(crate) fn first_after(at: DateTime<Utc>) -> DateTime<Utc> {
    in_month_of(model::add_months(last_by(at).date_naive(), 1))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> DateTime<Utc> {
        text.parse().expect("an instant")
    }

    #[test]
    fn the_refit_is_due_on_the_first_of_the_month_at_three() {
        for (now, last, next) in [
            ("2027-03-01T02:59:59.999999Z", "2027-02-01T03:00:00Z", "2027-03-01T03:00:00Z"),
            ("2027-03-01T03:00:00Z", "2027-03-01T03:00:00Z", "2027-04-01T03:00:00Z"),
            ("2028-02-29T12:00:00Z", "2028-02-01T03:00:00Z", "2028-03-01T03:00:00Z"),
            ("2027-12-31T23:59:59Z", "2027-12-01T03:00:00Z", "2028-01-01T03:00:00Z"),
            ("2028-01-01T00:00:00Z", "2027-12-01T03:00:00Z", "2028-01-01T03:00:00Z"),
        ] {
            assert_eq!((last_by(at(now)), first_after(at(now))), (at(last), at(next)), "{now}");
        }
    }

    #[test]
    fn runs_between_are_those_of_each_month_the_newest_first_and_not_the_last() {
        let missed = between(at("2027-01-01T03:00:00Z"), at("2027-04-01T03:00:00Z"));
        assert_eq!(missed, ["2027-03", "2027-02", "2027-01"].map(|m| at(&format!("{m}-01T03:00:00Z"))));
        assert!(between(at("2027-04-01T03:00:00Z"), at("2027-04-01T03:00:00Z")).is_empty());
        assert_eq!(between(at("1990-04-01T03:00:00Z"), at("2027-04-01T03:00:00Z")).len(), MOST_MISSED);
    }
}
