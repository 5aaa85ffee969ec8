//! A courier that writes nothing of its own: gathers, seals and sends letters of plain bytes.

use crate::World;
use clerk::post::{self, Delivery, Gathering, SealedLetter};
use model::LetterKind;
use store::Reach;
use store::notices::NoticeRow;

/// Every notice of the world's fleet.
///
/// # Panics
/// When the store fails.
pub async fn notices(world: &World) -> Vec<NoticeRow> {
    let mut tx = world.clerk.store().reader(Reach::Fleet(world.fleet)).await.expect("a reader");
    store::notices::page(&mut tx.conn(), world.fleet, None, 200).await.expect("a page")
}

/// What waits for everybody by now, opened one after the other: seal each before the next.
///
/// # Panics
/// When the store fails.
pub async fn gather_each<Told>(
    world: &World,
    mut told: impl FnMut(&Gathering) -> (LetterKind, Told),
) -> Vec<Told> {
    let mut made = Vec::new();
    for (fleet, person) in post::waiting_addressees(&world.clerk, 100).await.expect("addressees") {
        let gathering = post::open_gathering(&world.clerk, fleet, person).await.expect("a gathering");
        let Some(gathering) = gathering else { continue };
        let (kind, one) = told(&gathering);
        made.push(one);
        let letter = plain(&gathering.letter_id().to_string(), kind);
        gathering.seal(letter).await.expect("sealed");
    }
    made
}

/// Sends every letter that may go; how many went.
///
/// # Panics
/// When the store fails.
pub async fn send(world: &World) -> usize {
    let mut sent = 0;
    loop {
        let claimed = post::claim_letters(&world.clerk, 10).await.expect("letters");
        if claimed.is_empty() {
            return sent;
        }
        for letter in claimed {
            assert!(post::start_sending(&world.clerk, &letter).await.expect("started"));
            let taken = Delivery::Sent { reply: "250 taken".to_owned() };
            assert!(post::settle(&world.clerk, &letter, taken).await.expect("settled"));
            sent += 1;
        }
    }
}

fn plain(id: &str, kind: LetterKind) -> SealedLetter {
    SealedLetter {
        kind,
        subject: "Story".to_owned(),
        message_id: format!("{id}@story"),
        address: "someone@example.com".to_owned(),
        bytes: b"Subject: Story\r\n\r\nStory\r\n".to_vec(),
        days: Vec::new(),
    }
}
