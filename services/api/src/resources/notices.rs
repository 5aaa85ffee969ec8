//! What was told, or is to be told, to whom.

use crate::http::call::{Call, Outcome};
use crate::http::operation::Operation;
use contract::Notice;
use model::Scope;
use store::notices::NoticeRow;

pub fn operations() -> Vec<Operation> {
    vec![
        Operation::list::<Notice>(Scope::Read, "list_notices", "/notices")
            .says(
                "List notices",
                "One thing to tell one person each, with what became of it, in the order they came up.",
            )
            .does(list),
    ]
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
