//! Running programs on this store: when each turned last, and what of it is silent.

use crate::http::call::{Call, Outcome};
use crate::http::operation::Operation;
use clerk::beats::{Heard, heard};
use contract::Replica;
use model::Scope;
use uuid::Uuid;

pub fn operations() -> Vec<Operation> {
    vec![
        Operation::list::<Replica>(Scope::Admin, "list_replicas", "/replicas")
            .says(
                "List running programs",
                "With when each last told of itself, when its scheduler and its courier last had a turn, and how its \
                 clock stands. Who has stopped in good order is not listed; who has fallen silent is, for seven days.",
            )
            .does(list),
    ]
}

async fn list(call: Call) -> Outcome {
    let paging = call.paging::<Uuid>().await?;
    let mut all = heard(call.clerk()).await?;
    all.retain(|one| paging.after().is_none_or(|after| one.replica.id > after));
    all.truncate(usize::try_from(paging.fetch()).unwrap_or(0));
    paging.answer(all, |one| one.replica.id, told)
}

fn told(one: Heard) -> Replica {
    let store::replicas::Replica {
        id,
        version,
        started_at,
        beat_at,
        read_at,
        scheduler_at,
        courier_at,
        clock,
        ahead_seconds,
    } = one.replica;
    let silent = one.silences.iter().map(|silence| silence.word().to_owned()).collect();
    Replica {
        id,
        version,
        started_at,
        beat_at,
        read_at,
        scheduler_at,
        courier_at,
        clock,
        ahead_seconds,
        silent,
    }
}
