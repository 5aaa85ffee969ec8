//! Letters: e-mails that carry notices.

use super::there;
use crate::http::answer::Answer;
use crate::http::call::{Call, Outcome};
use crate::http::operation::Operation;
use contract::Letter;
use model::Scope;
use store::letters::LetterCard;

pub fn operations() -> Vec<Operation> {
    vec![
        Operation::list::<Letter>(Scope::Read, "list_letters", "/letters")
            .says(
                "List letters",
                "With what became of each, in the order they were written. Bodies are not shown.",
            )
            .does(list),
        Operation::get::<Letter>(Scope::Read, "read_letter", "/letters/{letter}")
            .says("Read a letter", "Where it stands, how often it was tried, and what the relay said last.")
            .does(read),
    ]
}

async fn list(call: Call) -> Outcome {
    let paging = call.paging().await?;
    let mut reading = call.reading().await?;
    let rows =
        store::letters::page(&mut reading.conn(), call.fleet(), paging.after(), paging.fetch()).await?;
    paging.answer(rows, |row| (row.created_at, row.id), told)
}

async fn read(call: Call) -> Outcome {
    let mut reading = call.reading().await?;
    let letter = there(store::letters::find(&mut reading.conn(), call.fleet(), call.id("letter")?).await?)?;
    Ok(Answer::hashed(&told(letter))?)
}

fn told(card: LetterCard) -> Letter {
    Letter {
        id: card.id,
        person: card.person,
        kind: card.kind,
        subject: card.subject,
        message_id: card.message_id,
        state: card.state,
        attempts: card.attempts,
        next_attempt_at: card.next_attempt_at,
        last_reply: card.last_reply,
        without_attachment: card.without_attachment,
        created_at: card.created_at,
        sent_at: card.sent_at,
    }
}
