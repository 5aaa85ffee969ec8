//! The scheduler's side: vehicles that wake, horizons that fell behind, marks whose moment has come.

use crate::audience::{self, Audience, ESCALATED, NEXT_PEOPLE};
use crate::error::ActError;
use crate::{Clerk, off_road, renewal};
use chrono::{DateTime, TimeDelta, Utc};
use model::horizon::{DueItem, ItemKind, Stage};
use model::{FleetId, MarkOutcome, NoticeId, NoticeState, Person, Policy, VehicleId, derived_id};
use std::collections::BTreeMap;
use store::derived::SubjectKind;
use store::marks::MarkRow;
use store::notices::{NewNotice, NoticeKey};
use store::{Conn, Lease, Reach};
use uuid::Uuid;

/// A claim on a vehicle holds for so long.
const LEASE: TimeDelta = TimeDelta::seconds(15);

/// A notice waits so long for others that fall to the same person at the same time.
const GATHER_FOR: TimeDelta = TimeDelta::seconds(2);

/// Why nobody is told of the end of a window that was over when it was recorded.
const ENDED_BEFORE_RECORD: &str = "it had ended before it was recorded here";

/// A vehicle claimed by this replica.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ClaimedVehicle {
    /// Its fleet.
    pub fleet: FleetId,
    /// The vehicle.
    pub vehicle: VehicleId,
    /// Proof of the claim: every write carries it.
    pub token: Uuid,
}

/// What working off a claim did.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct WorkedOff {
    /// Horizons renewed.
    pub renewed: usize,
    /// Derived rows and waiting marks that had to change for it.
    pub written: u64,
    /// Marks settled.
    pub fired: usize,
    /// Notices made.
    pub notices: usize,
    /// Vehicles whose claim had passed to another replica meanwhile.
    pub lost: usize,
}

/// Asks for new horizons of all vehicles whose horizon another engine made. Says how many there are.
///
/// # Errors
/// Storage errors.
pub async fn raise_other_engines(clerk: &Clerk) -> Result<u64, ActError> {
    let mut tx = clerk.store().writer(Reach::All).await?;
    let raised = store::states::raise_other_engines(&mut tx.conn(), engine::ENGINE_VERSION).await?;
    tx.commit().await?;
    Ok(raised)
}

/// Claims up to `most` vehicles that have woken or whose horizon is behind, under a lease; the latter alone while nothing
/// may be told by the clock.
///
/// # Errors
/// Storage errors.
pub async fn claim_vehicles(clerk: &Clerk, most: u32) -> Result<Vec<ClaimedVehicle>, ActError> {
    let token = clerk.new_id();
    let mut tx = clerk.store().writer(Reach::All).await?;
    let look = clerk.look_at_clock();
    let lease = Lease::taken(&mut tx, look.now, LEASE).await?;
    // Nobody has woken by a clock that nothing may be told by; horizons hold at any time and are renewed.
    let woken_by = if look.holds() { DateTime::UNIX_EPOCH } else { look.now };
    let found = store::states::claim(&mut tx.conn(), woken_by, lease, token, most).await?;
    tx.commit().await?;
    Ok(found.into_iter().map(|(fleet, vehicle)| ClaimedVehicle { fleet, vehicle, token }).collect())
}

/// Works off claimed vehicles: renews what is behind, fires what has come, and releases the claims. One transaction a
/// fleet; a vehicle whose claim was lost is left alone.
///
/// # Errors
/// Storage errors; the claims then run out by themselves.
pub async fn work_off(clerk: &Clerk, claimed: &[ClaimedVehicle]) -> Result<WorkedOff, ActError> {
    let mut by_claim: BTreeMap<(FleetId, Uuid), Vec<VehicleId>> = BTreeMap::new();
    for claim in claimed {
        by_claim.entry((claim.fleet, claim.token)).or_default().push(claim.vehicle);
    }
    let mut done = WorkedOff::default();
    for ((fleet, token), vehicles) in by_claim {
        work_off_fleet(clerk, fleet, token, &vehicles, &mut done).await?;
    }
    if done.notices > 0 {
        clerk.wake();
    }
    Ok(done)
}

async fn work_off_fleet(
    clerk: &Clerk,
    fleet: FleetId,
    token: Uuid,
    vehicles: &[VehicleId],
    done: &mut WorkedOff,
) -> Result<(), ActError> {
    let mut tx = clerk.store().writer(Reach::Fleet(fleet)).await?;
    let look = clerk.look_at_clock();
    let now = look.now;
    let mut conn = tx.conn();
    let mut ordered = vehicles.to_vec();
    ordered.sort_unstable();
    let states = store::states::lock(&mut conn, fleet, &ordered).await?;
    let is_ours = |claim: Option<Uuid>| claim == Some(token) || cfg!(feature = "without-claim-token");
    let ours: Vec<_> = states.into_iter().filter(|state| is_ours(state.claim_token)).collect();
    done.lost += ordered.len() - ours.len();
    let made_before = done.notices;
    let behind: Vec<VehicleId> = ours
        .iter()
        .filter(|state| state.is_behind(engine::ENGINE_VERSION))
        .map(|state| state.vehicle)
        .collect();
    let renewed = renewal::renew(&mut conn, fleet, &behind, now).await?;
    done.renewed += renewed.horizons.len();
    done.written += renewed.written;
    let held: Vec<VehicleId> = ours.iter().map(|state| state.vehicle).collect();
    if !look.holds() {
        let due = store::marks::due(&mut conn, fleet, &held, now).await?;
        let above = store::marks::settled_above(&mut conn, fleet, &held, now).await?;
        let policy = store::fleets::policy(&mut conn, fleet).await?;
        let (fired, notices) = fire(&mut conn, fleet, &policy, due, &above, now).await?;
        done.fired += fired;
        done.notices += notices;
    }
    if done.notices > made_before {
        store::bell::ring(&mut conn).await?;
    }
    for vehicle in held {
        let wakes_at = store::marks::next_waiting(&mut conn, fleet, vehicle).await?;
        store::states::release(&mut conn, fleet, vehicle, token, wakes_at).await?;
    }
    tx.commit().await?;
    Ok(())
}

/// Settles marks whose moment has come: of several of one item and cycle the highest is told, the rest are overtaken;
/// all are where one that ranks `above` them was told before they came.
async fn fire(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    policy: &Policy,
    due: Vec<MarkRow>,
    above: &[MarkRow],
    now: DateTime<Utc>,
) -> Result<(usize, usize), ActError> {
    let mut by_item: BTreeMap<(VehicleId, String, String), Vec<MarkRow>> = BTreeMap::new();
    for mark in due {
        let key = (mark.vehicle, mark.key.item_key.clone(), mark.key.cycle.clone());
        by_item.entry(key).or_default().push(mark);
    }
    let mut notices = Vec::new();
    let mut settled = Vec::new();
    for mut marks in by_item.into_values() {
        marks.sort_by_key(|mark| (mark.rank, mark.fires_at));
        let Some(highest) = marks.last() else { continue };
        if let Some(before) = above.iter().find(|before| overtakes(before, highest)) {
            let reason = format!("{} had come before it", before.key.mark);
            settled
                .extend(marks.into_iter().map(|mark| (mark, MarkOutcome::Overtaken, Some(reason.clone()))));
            continue;
        }
        let Some(told) = marks.pop() else { continue };
        for overtaken in marks {
            let reason = format!("{} came before it could be told", told.key.mark);
            settled.push((overtaken, MarkOutcome::Overtaken, Some(reason)));
        }
        let (outcome, reason) = tell(conn, fleet, policy, &told, now, &mut notices).await?;
        settled.push((told, outcome, reason));
    }
    let made = store::notices::insert_or_revive(conn, fleet, &notices).await?;
    let fired = settled.len();
    store::marks::settle(conn, fleet, &settled, now).await?;
    Ok((fired, made))
}

/// Whether `settled` was told, or folded, and ranks above `mark` in the same item and cycle. An end that came before a
/// window was recorded counts, too: nothing is left to be told of it.
fn overtakes(settled: &MarkRow, mark: &MarkRow) -> bool {
    let has_come = match settled.outcome {
        MarkOutcome::Told | MarkOutcome::Folded => true,
        MarkOutcome::Skipped => settled.reason.as_deref() == Some(ENDED_BEFORE_RECORD),
        MarkOutcome::Waiting | MarkOutcome::Overtaken => false,
    };
    has_come
        && settled.rank > mark.rank
        && settled.vehicle == mark.vehicle
        && (&settled.key.item_key, &settled.key.cycle) == (&mark.key.item_key, &mark.key.cycle)
}

/// Whom a mark is told, or why nobody.
async fn tell(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    policy: &Policy,
    mark: &MarkRow,
    now: DateTime<Utc>,
    notices: &mut Vec<NewNotice>,
) -> Result<(MarkOutcome, Option<String>), ActError> {
    let Some(subject) = store::derived::subject(conn, fleet, mark.vehicle, &mark.key.item_key).await? else {
        return Ok((MarkOutcome::Skipped, Some("the item is gone".to_owned())));
    };
    if let Some(reason) = off_road::reason_to_fold(conn, fleet, mark, &subject.kind, now).await? {
        return Ok((MarkOutcome::Folded, Some(reason)));
    }
    if subject.ended_before_record() && mark.key.mark == "ended" {
        return Ok((MarkOutcome::Skipped, Some(ENDED_BEFORE_RECORD.to_owned())));
    }
    let mark_code = mark.key.mark.as_str();
    let people = match audience::of(conn, fleet, policy, mark_code, &subject.kind, subject.depot).await? {
        Audience::People(people) => people,
        Audience::Unwanted => {
            return Ok((MarkOutcome::Skipped, Some("the fleet wants nobody to be told of it".to_owned())));
        }
    };
    if people.is_empty() {
        return Ok((MarkOutcome::Told, Some("there was nobody to tell".to_owned())));
    }
    let body = &subject.body;
    notices.extend(people.iter().map(|person| notice(mark, mark_code, person, body, now, now)));
    if let Some((code, from)) = told_later(policy, mark_code, &subject.kind, now) {
        let next = audience::next_people(conn, fleet, policy, code, &subject.kind, &people).await?;
        notices.extend(next.iter().map(|person| notice(mark, code, person, body, now, from)));
    }
    Ok((MarkOutcome::Told, None))
}

/// What is told to the next people, and from when, should nobody acknowledge what is told now.
fn told_later(
    policy: &Policy,
    mark: &str,
    subject: &SubjectKind,
    now: DateTime<Utc>,
) -> Option<(&'static str, DateTime<Utc>)> {
    let is_overdue = |item: &DueItem| {
        item.kind != ItemKind::ReadingWanted && item.timeline.stage_at(now).0 == Stage::Overdue
    };
    match subject {
        SubjectKind::Item(_) if mark == "do_not_drive" => {
            let minutes = Some(policy.next_people_minutes).filter(|minutes| *minutes > 0)?;
            Some((NEXT_PEOPLE, now + TimeDelta::minutes(i64::from(minutes))))
        }
        SubjectKind::Item(item) if is_overdue(item) => {
            let days = Some(policy.escalate_after_days).filter(|days| *days > 0)?;
            Some((ESCALATED, now + TimeDelta::days(i64::from(days))))
        }
        SubjectKind::Item(_) | SubjectKind::Window(_) => None,
    }
}

/// The decision to tell a person: at `from` where it cannot wait, else in the person's next slot.
fn notice(
    mark: &MarkRow,
    code: &str,
    person: &Person,
    body: &str,
    now: DateTime<Utc>,
    from: DateTime<Utc>,
) -> NewNotice {
    let urgent = audience::is_urgent(code);
    let key = NoticeKey { mark: code.to_owned(), ..mark.key.clone() };
    NewNotice {
        id: notice_id(&key, mark.vehicle, person.id.0, now),
        vehicle: mark.vehicle,
        key,
        person: person.id,
        urgent,
        state: if person.email.is_some() { NoticeState::Waiting } else { NoticeState::ListOnly },
        body: body.to_owned(),
        created_at: now,
        not_before: told_from(person, urgent, from),
    }
}

/// From when on a person is told what came up at `from`.
fn told_from(person: &Person, urgent: bool, from: DateTime<Utc>) -> DateTime<Utc> {
    if urgent { from } else { person.next_slot(from + GATHER_FOR) }
}

/// When a person is told of a mark at the latest that came by `now`: nothing that waits for longer was planned under a
/// clock that was right.
pub(crate) fn told_by(
    policy: &Policy,
    mark: &str,
    urgent: bool,
    person: &Person,
    now: DateTime<Utc>,
) -> DateTime<Utc> {
    let from = match mark {
        NEXT_PEOPLE => now + TimeDelta::minutes(i64::from(policy.next_people_minutes)),
        ESCALATED => now + TimeDelta::days(i64::from(policy.escalate_after_days)),
        _ => now,
    };
    told_from(person, urgent, from)
}

/// One decision, one id: made of the notice's natural key.
fn notice_id(key: &NoticeKey, vehicle: VehicleId, person: Uuid, now: DateTime<Utc>) -> NoticeId {
    let (vehicle, mut person) = (vehicle.to_string(), person.to_string());
    if cfg!(feature = "without-unique-key") {
        person.push_str(&now.to_string());
    }
    NoticeId(derived_id(&["notice", &vehicle, &key.item_key, &key.cycle, &key.mark, &person]))
}

/// When the next vehicle wakes.
///
/// # Errors
/// Storage errors.
pub async fn next_wake(clerk: &Clerk) -> Result<Option<DateTime<Utc>>, ActError> {
    let mut tx = clerk.store().reader(Reach::All).await?;
    Ok(store::states::next_wake(&mut tx.conn()).await?)
}
