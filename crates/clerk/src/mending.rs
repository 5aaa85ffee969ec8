//! Mending what was decided, or put off, under a clock that ran ahead, once it is right.
//!
//! What was told stays told. The rest is found by moments that have not come: a mark that fired waits again, and the renewal
//! of its vehicle takes back what is not true yet; what was put off is put off by the right clock.

use crate::Clerk;
use crate::error::ActError;
use crate::post::UNCERTAIN_AGAIN;
use crate::{jobs, retraction, watch};
use chrono::{DateTime, TimeDelta, Utc};
use model::{CLOCKS_APART, FleetId, Person, PersonId, Policy};
use std::collections::BTreeMap;
use std::collections::btree_map::Entry;
use store::ahead::PutOff;
use store::{Conn, Reach};

/// No letter, and no digest whose day has come, waits for longer than the week until its slot comes again.
const LONGEST_WAIT: TimeDelta = TimeDelta::days(8);

/// What had to be mended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Mended {
    /// Marks that wait again.
    pub marks: u64,
    /// Notices planned anew.
    pub notices: u64,
    /// Letters and digests planned anew.
    pub letters: u64,
    /// Runs of recurring work that were made before they were due, and jobs planned anew.
    pub jobs: u64,
}

/// Mends what lies ahead of the clock though it cannot: at the start of a program, now and then, and when its clock was
/// put back. Finds nothing where no clock was wrong.
///
/// # Errors
/// Storage errors; what was not mended is found the next time.
pub async fn mend(clerk: &Clerk) -> Result<Mended, ActError> {
    let now = clerk.now();
    let (marks, notices) = mend_decisions(clerk, now).await?;
    let (letters, jobs) = mend_plans(clerk, now).await?;
    let mended = Mended { marks, notices, letters, jobs };
    if mended != Mended::default() {
        clerk.wake();
    }
    Ok(mended)
}

/// Vehicles before their marks and notices, in order of ids, as acts do.
async fn mend_decisions(clerk: &Clerk, now: DateTime<Utc>) -> Result<(u64, u64), ActError> {
    // Another replica's clock may differ by a little.
    let beyond = now + CLOCKS_APART;
    let mut tx = clerk.store().writer(Reach::All).await?;
    let conn = &mut tx.conn();
    let vehicles = store::ahead::vehicles(conn, beyond).await?;
    retraction::raise_needed(conn, vehicles.iter().copied().collect()).await?;
    let mut marks = 0;
    for of_fleet in vehicles.chunk_by(|one, other| one.0 == other.0) {
        let ids: Vec<_> = of_fleet.iter().map(|(_, vehicle)| *vehicle).collect();
        marks += store::ahead::reopen_marks(conn, of_fleet[0].0, &ids, beyond).await?;
    }
    let mut known = Known::default();
    let mut notices = 0;
    for notice in store::ahead::put_off_notices(conn, beyond).await? {
        if let Some((created_at, not_before)) = known.planned(conn, &notice, now).await? {
            notices +=
                store::ahead::plan_notice(conn, notice.fleet, notice.notice, created_at, not_before).await?;
        }
    }
    tx.commit().await?;
    Ok((marks, notices))
}

/// Policies and people that were looked up.
#[derive(Default)]
struct Known {
    policies: BTreeMap<FleetId, Policy>,
    people: BTreeMap<(FleetId, PersonId), Option<Person>>,
}

impl Known {
    /// When a notice was made and may be told, if that is to be changed.
    async fn planned(
        &mut self,
        conn: &mut Conn<'_>,
        notice: &PutOff,
        now: DateTime<Utc>,
    ) -> Result<Option<(DateTime<Utc>, DateTime<Utc>)>, ActError> {
        let whom = (notice.fleet, notice.person);
        if let Entry::Vacant(place) = self.policies.entry(notice.fleet) {
            place.insert(store::fleets::policy(conn, notice.fleet).await?);
        }
        if let Entry::Vacant(place) = self.people.entry(whom) {
            place.insert(store::people::find(conn, notice.fleet, notice.person).await?);
        }
        let (Some(policy), Some(Some(person))) = (self.policies.get(&notice.fleet), self.people.get(&whom))
        else {
            return Ok(None);
        };
        let latest = watch::told_by(policy, &notice.mark, notice.urgent, person, now);
        let planned = (notice.created_at.min(now), notice.not_before.min(latest));
        Ok((planned != (notice.created_at, notice.not_before)).then_some(planned))
    }
}

async fn mend_plans(clerk: &Clerk, now: DateTime<Utc>) -> Result<(u64, u64), ActError> {
    let (beyond, farthest) = (now + CLOCKS_APART, now + LONGEST_WAIT);
    let mut tx = clerk.store().writer(Reach::All).await?;
    let conn = &mut tx.conn();
    let mut letters = 0;
    let put_off = store::ahead::put_off_letters(conn, beyond, now + UNCERTAIN_AGAIN, farthest).await?;
    for of_fleet in put_off.chunk_by(|one, other| one.0 == other.0) {
        let ids: Vec<_> = of_fleet.iter().map(|(_, letter)| *letter).collect();
        letters += store::ahead::plan_letters(conn, of_fleet[0].0, &ids, now, now + UNCERTAIN_AGAIN).await?;
    }
    letters += store::ahead::plan_digests(conn, now, farthest, now.date_naive()).await?;
    let mut planned = store::ahead::drop_runs(conn, beyond).await?;
    for job in store::jobs::due_after(conn, beyond).await? {
        // What an older or newer program cannot read is its own.
        let Ok((expression, zone, _)) = jobs::schedule(&job) else { continue };
        if let Some(next) = expression.next_after(now, zone).filter(|next| *next < job.next_due_at) {
            store::jobs::set_next(conn, job.fleet, &job.code, next).await?;
            planned += 1;
        }
    }
    tx.commit().await?;
    Ok((letters, planned))
}
