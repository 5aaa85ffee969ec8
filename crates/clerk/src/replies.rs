//! Replies to reminders: seen, and later.

use crate::error::{ActError, Fault, none_of};
use crate::{Act, audience};
use chrono::NaiveDate;
use model::horizon::{Cycle, ItemKey};
use model::{Acknowledgement, NoticeId, Postponement, add_days, local_day};
use store::derived::SubjectKind;
use store::notices::NoticeRow;

/// A reminder can be put off for so many days at most (house setting, no source).
const LONGEST_DAYS: i64 = 366;

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
    let (notice, _) = standing(act, id).await?;
    let said = Acknowledgement {
        item: ItemKey(notice.notice.key.item_key),
        cycle: Cycle(notice.notice.key.cycle),
        by: act.actor().person,
        note,
        recorded_at: act.at(),
    };
    let (fleet, vehicle, stamp, fact) = (act.fleet(), notice.notice.vehicle, act.stamp(), act.new_id());
    store::replies::acknowledge(&mut act.conn(), fleet, vehicle, fact, &said, &stamp).await?;
    act.note("notice", id, "acknowledge", None, Some(&said));
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
    let (notice, subject) = standing(act, id).await?;
    let (fleet, at, key) = (act.fleet(), act.at(), notice.notice.key);
    let forbids = match &subject {
        SubjectKind::Item(item) => item.do_not_drive_from.is_some_and(|from| from <= at),
        SubjectKind::Window(_) => false,
    };
    if forbids {
        return Err(ActError::Conflict {
            code: "do-not-drive",
            detail: "the vehicle must not be driven for this reason: that cannot wait".to_owned(),
        });
    }
    let vehicle = store::vehicles::find(&mut act.conn(), fleet, notice.notice.vehicle).await?;
    let vehicle = vehicle.ok_or(ActError::NotFound { kind: "vehicle" })?;
    none_of(faults_of(until, local_day(at, vehicle.zone)))?;
    let (item, cycle) = (ItemKey(key.item_key), Cycle(key.cycle));
    let said = Postponement { item, cycle, until, reason, by: act.actor().person, recorded_at: at };
    let (stamp, fact) = (act.stamp(), act.new_id());
    store::replies::postpone(&mut act.conn(), fleet, vehicle.id, fact, &said, &stamp).await?;
    act.note("notice", id, "postpone", None, Some(&said));
    Ok(said)
}

fn faults_of(until: NaiveDate, today: NaiveDate) -> Vec<Fault> {
    let last = add_days(today, LONGEST_DAYS);
    if today < until && until <= last {
        return Vec::new();
    }
    let detail = format!("{until} cannot be waited for: a day after {today} and not after {last} is allowed");
    vec![Fault::new("/until", "range", detail)]
}

/// The notice and what it is about as that stands now, its vehicle locked.
async fn standing(act: &mut Act, id: NoticeId) -> Result<(NoticeRow, SubjectKind), ActError> {
    let fleet = act.fleet();
    let found = store::notices::find(&mut act.conn(), fleet, id).await?;
    let notice = found.ok_or(ActError::NotFound { kind: "notice" })?;
    let (vehicle, key) = (notice.notice.vehicle, notice.notice.key.clone());
    act.lock(&[vehicle]).await?;
    let subject = store::derived::subject(&mut act.conn(), fleet, vehicle, &key.item_key).await?;
    let cycle_of = |kind: &SubjectKind| match kind {
        SubjectKind::Item(item) => item.cycle.0.clone(),
        SubjectKind::Window(window) => window.cycle.0.clone(),
    };
    let same = subject.map(|subject| subject.kind).filter(|kind| cycle_of(kind) == key.cycle);
    let over = || ActError::Conflict {
        code: "over",
        detail: "what this reminder was about is done or gone; nothing is left to answer".to_owned(),
    };
    same.map(|kind| (notice, kind)).ok_or_else(over)
}
