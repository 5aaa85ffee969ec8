//! What each job does.

use super::{CLEAR_OUT, DAY_DIGEST, REFIT, WEEK_DIGEST};
use crate::act::ANSWER_KEPT;
use crate::error::ActError;
use crate::{Clerk, fits};
use chrono::{DateTime, Datelike, NaiveDate, TimeDelta, Utc};
use model::{DigestKind, FleetId, Person, Role, add_days, day_start, derived_id};
use store::digests::DigestRow;
use store::{Conn, Reach};

/// Makes one run; says in words what it did.
pub(super) async fn perform(
    clerk: &Clerk,
    fleet: FleetId,
    code: &str,
    due_at: DateTime<Utc>,
) -> Result<String, ActError> {
    match code {
        _ if code == REFIT.code => refit(clerk, fleet).await,
        _ if code == WEEK_DIGEST.code => plan_week_digests(clerk, fleet, due_at).await,
        _ if code == DAY_DIGEST.code => plan_day_digests(clerk, fleet).await,
        _ if code == CLEAR_OUT.code => clear_out(clerk, fleet).await,
        other => Err(ActError::Conflict {
            code: "job-unknown",
            detail: format!("this program knows no job {other:?}; an older or newer one may"),
        }),
    }
}

async fn refit(clerk: &Clerk, fleet: FleetId) -> Result<String, ActError> {
    let refit = fits::refit(clerk, fleet).await?;
    Ok(format!(
        "{} fits adopted, {} kept, {} vehicles pinned anew; {} rates of wear adopted, {} kept",
        refit.adopted, refit.kept, refit.pinned, refit.rates_adopted, refit.rates_kept
    ))
}

/// For so long a letter's address and bytes are kept after it was made (house setting, no source).
const BODIES_KEPT: TimeDelta = TimeDelta::days(180);

/// What is forgotten decides nothing: notices stay, so that nothing is told twice, and so do keys and hashes of requests.
async fn clear_out(clerk: &Clerk, fleet: FleetId) -> Result<String, ActError> {
    let now = clerk.now();
    let mut tx = clerk.store().writer(Reach::Fleet(fleet)).await?;
    let letters = store::letters::forget_bodies(&mut tx.conn(), fleet, now - BODIES_KEPT).await?;
    let answers = store::idempotency::forget_answers(&mut tx.conn(), fleet, now - ANSWER_KEPT).await?;
    tx.commit().await?;
    Ok(format!("bytes of {letters} letters and {answers} answers forgotten"))
}

/// Plans the digests of the week that begins after `due_at`, each for the first slot of that week in its person's zone.
async fn plan_week_digests(clerk: &Clerk, fleet: FleetId, due_at: DateTime<Utc>) -> Result<String, ActError> {
    let now = clerk.now();
    let monday = next_monday(due_at.date_naive());
    let mut tx = clerk.store().writer(Reach::Fleet(fleet)).await?;
    let mut planned = 0;
    for person in whoever_wants(&mut tx.conn(), fleet, Role::Manager, DigestKind::Week).await? {
        let digest = digest(&person, DigestKind::Week, monday);
        let from = person.next_slot(day_start(monday, person.zone).max(now));
        planned += usize::from(store::digests::plan(&mut tx.conn(), fleet, &digest, from, now).await?);
    }
    tx.commit().await?;
    clerk.wake();
    Ok(format!("{planned} digests planned for the week of {monday}"))
}

/// Plans the digests of working days whose slot comes before the next run, each for its slot in its person's zone. When the
/// run was due does not matter: a day whose work has begun meanwhile gets none, and one that was planned is left as it is.
async fn plan_day_digests(clerk: &Clerk, fleet: FleetId) -> Result<String, ActError> {
    let now = clerk.now();
    let mut tx = clerk.store().writer(Reach::Fleet(fleet)).await?;
    let mut planned = 0;
    for person in whoever_wants(&mut tx.conn(), fleet, Role::Technician, DigestKind::Round).await? {
        for letter in person.day_letters(now) {
            let digest = digest(&person, DigestKind::Round, letter.day);
            planned +=
                usize::from(store::digests::plan(&mut tx.conn(), fleet, &digest, letter.at, now).await?);
        }
    }
    tx.commit().await?;
    clerk.wake();
    Ok(format!("{planned} digests planned for working days"))
}

/// People of that duty who have an address and have not declined the letter.
async fn whoever_wants(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    role: Role,
    kind: DigestKind,
) -> Result<Vec<Person>, ActError> {
    let mut people = store::people::concerned(conn, fleet, None, &[role]).await?;
    people.retain(|person| person.email.is_some() && !person.declines(kind.letter()));
    Ok(people)
}

/// The digest of that kind, person and day, for ever under the same id.
fn digest(person: &Person, kind: DigestKind, day: NaiveDate) -> DigestRow {
    let id = derived_id(&["digest", kind.word(), &person.id.to_string(), &day.to_string()]);
    DigestRow { id, person_id: person.id.0, kind: kind.word().to_owned(), day, told: None }
}

/// The Monday after a Sunday, wherever the job was moved to in its week.
fn next_monday(day: NaiveDate) -> NaiveDate {
    add_days(day, TimeDelta::days(7).num_days() - i64::from(day.weekday().num_days_from_monday()))
}
