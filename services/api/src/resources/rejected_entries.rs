//! Entries of batches that were refused: kept, so that nothing measured is lost.

use crate::http::call::{Call, Outcome};
use crate::http::operation::Operation;
use contract::{Raw, RejectedEntry};
use model::{BatchId, Scope};

pub fn operations() -> Vec<Operation> {
    vec![
        Operation::list::<RejectedEntry>(Scope::Read, "list_rejected_entries", "/rejected-entries")
            .says("List refused entries", "As they came, with why they were refused, in order of arrival.")
            .does(list),
    ]
}

async fn list(call: Call) -> Outcome {
    let paging = call.paging().await?;
    let mut reading = call.reading().await?;
    let rows =
        store::inspections::page_rejected(&mut reading.conn(), call.fleet(), paging.after(), paging.fetch())
            .await?;
    paging.answer(
        rows,
        |(act, _, row)| (*act, row.ordinal),
        |(_, recorded_at, row)| RejectedEntry {
            batch: BatchId(row.batch_id),
            ordinal: row.ordinal,
            entry_id: row.entry_id,
            raw: Raw::kept(row.raw),
            problem: Raw::kept(row.problem),
            recorded_at,
        },
    )
}
