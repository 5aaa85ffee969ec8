//! Replies to reminders: seen, and later.

use crate::error::{ActError, Fault, none_of};
use crate::{Act, audience};
use chrono::{DateTime, NaiveDate, Utc};
use model::horizon::{Cycle, ItemKey};
use model::{Acknowledgement, FleetId, NoticeId, Postponement, VehicleId, add_days, local_day};
use store::Conn;
use store::derived::SubjectKind;

/// A reminder can be put off for so many days at most (house setting, no source).
pub const LONGEST_DAYS: i64 = 366;

/// What a reply is about: one cycle of an item or window of a vehicle.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Topic {
    /// The vehicle.
    pub vehicle: VehicleId,
    /// The item or window.
    pub item: ItemKey,
    /// Its cycle.
    pub cycle: Cycle,
}

/// Records that the person who acts has seen what a notice tells. Whoever would be told next because nobody had is not
/// told: what waits for them is withdrawn in this very act.
///
/// # Errors
/// [`ActError::NotFound`]; a conflict, `over`, if its item has gone into another cycle; storage errors.
pub async fn acknowledge(
    act: &mut Act,
    id: NoticeId,
    note: Option<String>,
) -> Result<Acknowledgement, ActError> {
    let topic = topic_of(act, id).await?;
    standing(act, &topic).await?;
    let said = say_seen(act, topic, note).await?;
    act.note("notice", id, "acknowledge", None, Some(&said));
    Ok(said)
}

/// Keeps that the person who acts has seen what still stands, and takes back what waits for others for want of this.
pub(crate) async fn say_seen(
    act: &mut Act,
    topic: Topic,
    note: Option<String>,
) -> Result<Acknowledgement, ActError> {
    let Topic { vehicle, item, cycle } = topic;
    let said = Acknowledgement { item, cycle, by: act.actor().person, note, recorded_at: act.at() };
    let (fleet, stamp, fact) = (act.fleet(), act.stamp(), act.new_id());
    store::replies::acknowledge(&mut act.conn(), fleet, vehicle, fact, &said, &stamp).await?;
    let waiting = store::notices::uncarried(&mut act.conn(), fleet, vehicle).await?;
    let is_next = |key: &store::notices::NoticeKey| {
        audience::is_for_want_of_an_answer(&key.mark)
            && key.item_key == said.item.0
            && key.cycle == said.cycle.0
    };
    let next: Vec<NoticeId> = waiting.iter().filter(|one| is_next(&one.key)).map(|one| one.id).collect();
    store::notices::withdraw(&mut act.conn(), fleet, &next, said.recorded_at).await?;
    Ok(said)
}

/// Records that the person who acts wants to be reminded later: from the beginning of `until`, where the vehicle stands.
///
/// # Errors
/// [`ActError::NotFound`]; faults for a day that is not ahead or too far; a conflict, `over`, if its item has gone into
/// another cycle, and `do-not-drive` if the vehicle must not be driven for it; storage errors.
pub async fn postpone(
    act: &mut Act,
    id: NoticeId,
    until: NaiveDate,
    reason: String,
) -> Result<Postponement, ActError> {
    let topic = topic_of(act, id).await?;
    let subject = standing(act, &topic).await?;
    let said = say_later(act, topic, &subject, until, reason).await?;
    act.note("notice", id, "postpone", None, Some(&said));
    Ok(said)
}

/// Keeps that the person who acts wants to be reminded later of what still stands.
pub(crate) async fn say_later(
    act: &mut Act,
    topic: Topic,
    subject: &SubjectKind,
    until: NaiveDate,
    reason: String,
) -> Result<Postponement, ActError> {
    let (fleet, at) = (act.fleet(), act.at());
    if forbids_driving(subject, at) {
        return Err(ActError::Conflict {
            code: "do-not-drive",
            detail: "the vehicle must not be driven for this reason: that cannot wait".to_owned(),
        });
    }
    let Topic { vehicle, item, cycle } = topic;
    let found = store::vehicles::find(&mut act.conn(), fleet, vehicle).await?;
    let zone = found.ok_or(ActError::NotFound { kind: "vehicle" })?.zone;
    none_of(faults_of(until, local_day(at, zone)))?;
    let said = Postponement { item, cycle, until, reason, by: act.actor().person, recorded_at: at };
    let (stamp, fact) = (act.stamp(), act.new_id());
    store::replies::postpone(&mut act.conn(), fleet, vehicle, fact, &said, &stamp).await?;
    Ok(said)
}

/// Whether the vehicle must not be driven because of it at `at`.
pub(crate) fn forbids_driving(subject: &SubjectKind, at: DateTime<Utc>) -> bool {
    match subject {
        SubjectKind::Item(item) => item.do_not_drive_from.is_some_and(|from| from <= at),
        SubjectKind::Window(_) => false,
    }
}

fn faults_of(until: NaiveDate, today: NaiveDate) -> Vec<Fault> {
    let last = add_days(today, LONGEST_DAYS);
    if today < until && until <= last {
        return Vec::new();
    }
    let detail = format!("{until} cannot be waited for: a day after {today} and not after {last} is allowed");
    vec![Fault::new("/until", "range", detail)]
}

/// What a notice is about.
async fn topic_of(act: &mut Act, id: NoticeId) -> Result<Topic, ActError> {
    let fleet = act.fleet();
    let found = store::notices::find(&mut act.conn(), fleet, id).await?;
    let notice = found.ok_or(ActError::NotFound { kind: "notice" })?.notice;
    Ok(Topic { vehicle: notice.vehicle, item: ItemKey(notice.key.item_key), cycle: Cycle(notice.key.cycle) })
}

/// What a topic is about as that stands now, its vehicle locked.
pub(crate) async fn standing(act: &mut Act, topic: &Topic) -> Result<SubjectKind, ActError> {
    let fleet = act.fleet();
    act.lock(&[topic.vehicle]).await?;
    let over = || ActError::Conflict {
        code: "over",
        detail: "what this reminder was about is done or gone; nothing is left to answer".to_owned(),
    };
    subject_of(&mut act.conn(), fleet, topic).await?.ok_or_else(over)
}

/// What a topic is about as that stands now; none once its cycle is over.
pub(crate) async fn subject_of(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    topic: &Topic,
) -> Result<Option<SubjectKind>, ActError> {
    let subject = store::derived::subject(conn, fleet, topic.vehicle, &topic.item.0).await?;
    let cycle_of = |kind: &SubjectKind| match kind {
        SubjectKind::Item(item) => item.cycle.clone(),
        SubjectKind::Window(window) => window.cycle.clone(),
    };
    Ok(subject.map(|subject| subject.kind).filter(|kind| cycle_of(kind) == topic.cycle))
}
