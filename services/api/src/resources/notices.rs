//! What was told, or is to be told, to whom.

use super::there;
use crate::http::answer::Answer;
use crate::http::call::{Call, Outcome};
use crate::http::operation::Operation;
use clerk::replies;
use contract::{Acknowledgement, Later, Notice, Postponement, Seen};
use model::{NoticeId, Scope};
use store::notices::NoticeRow;

const ONE: &str = "/notices/{notice}";

pub fn operations() -> Vec<Operation> {
    vec![
        Operation::list::<Notice>(Scope::Read, "list_notices", "/notices")
            .says(
                "List notices",
                "One thing to tell one person each, with what became of it, in the order they came up.",
            )
            .does(list),
        Operation::get::<Notice>(Scope::Read, "read_notice", ONE)
            .says("Read a notice", "One thing to tell one person, and what became of it.")
            .does(read),
        Operation::act::<Seen, Acknowledgement>(
            Scope::Measure,
            "acknowledge_notice",
            &format!("{ONE}:acknowledge"),
        )
        .says(
            "Acknowledge a notice",
            "Somebody has seen it and sees to it: nobody else is told because nobody had. It stays due.",
        )
        .does(acknowledge),
        Operation::act::<Later, Postponement>(Scope::Manage, "postpone_notice", &format!("{ONE}:postpone"))
            .says(
                "Postpone a notice",
                "It is told again on that day, to everybody it concerns. It stays as due as it is; what must not be \
                 driven cannot be postponed.",
            )
            .does(postpone),
    ]
}

async fn read(call: Call) -> Outcome {
    let mut reading = call.reading().await?;
    let found = store::notices::find(&mut reading.conn(), call.fleet(), call.id("notice")?).await?;
    Ok(Answer::hashed(&told(there(found)?))?)
}

async fn acknowledge(call: Call) -> Outcome {
    let id: NoticeId = call.id("notice")?;
    let Seen { note } = call.written()?;
    let mut deed = call.begin().await?;
    let said = replies::acknowledge(&mut deed.act, id, note.map(|note| note.0)).await?;
    deed.done(&Acknowledgement::from(said)).await
}

async fn postpone(call: Call) -> Outcome {
    let id: NoticeId = call.id("notice")?;
    let Later { until, reason } = call.written()?;
    let mut deed = call.begin().await?;
    let said = replies::postpone(&mut deed.act, id, until, reason.0).await?;
    deed.done(&Postponement::from(said)).await
}

async fn list(call: Call) -> Outcome {
    let paging = call.paging().await?;
    let mut reading = call.reading().await?;
    let rows =
        store::notices::page(&mut reading.conn(), call.fleet(), paging.after(), paging.fetch()).await?;
    paging.answer(rows, |row| (row.created_at, row.notice.id), told)
}

fn told(row: NoticeRow) -> Notice {
    Notice {
        id: row.notice.id,
        vehicle: row.notice.vehicle,
        item: row.notice.key.item_key,
        cycle: row.notice.key.cycle,
        reminder: row.notice.key.mark,
        person: row.person,
        urgent: row.notice.urgent,
        state: row.state,
        letter: row.letter,
        created_at: row.created_at,
        not_before: row.not_before,
        settled_at: row.settled_at,
    }
}
