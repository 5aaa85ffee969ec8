//! Letters: exact bytes, one claim at a time, at most one repetition of what is uncertain.

use crate::world::{MANAGER, OURS, THEIR_MANAGER, THEIRS, at, furnished, id, morning};
use chrono::{DateTime, Utc};
use model::{LetterId, LetterState};
use store::letters::{LetterCard, LetterRow, NewLetter, Settled};
use store::{Conn, Lease, letters};
use testkit::on_both_engines;
use uuid::Uuid;

pub fn letter(number: u128) -> NewLetter {
    NewLetter {
        id: LetterId(id(number)),
        person: MANAGER,
        kind: "reminder".to_owned(),
        subject: "Van 1: engine oil".to_owned(),
        message_id: format!("{number}@ostler.example"),
        address: "ada@quill.example".to_owned(),
        bytes: vec![0, 13, 10, 255, b'.', 13, 10],
        created_at: morning(),
        attempts: 0,
        first_attempt_at: morning(),
    }
}

fn minutes(number: u32) -> DateTime<Utc> {
    at(&format!("2027-03-01T09:{number:02}:00Z"))
}

fn lease(from: u32, until: u32) -> Lease {
    Lease { at: minutes(from), until: minutes(until) }
}

/// Claims for fifteen minutes.
async fn claim(conn: &mut Conn<'_>, minute: u32, token: u128) -> Vec<LetterRow> {
    letters::claim(conn, minutes(minute), lease(minute, minute + 15), id(token), 9).await.expect("an answer")
}

async fn card(conn: &mut Conn<'_>, number: u128) -> LetterCard {
    letters::find(conn, OURS, LetterId(id(number))).await.expect("an answer").expect("the letter")
}

async fn settle(conn: &mut Conn<'_>, token: Uuid, state: LetterState, next: Option<DateTime<Utc>>) -> bool {
    let sent_at = (state == LetterState::Sent).then(morning);
    let settled = Settled { state, reply: Some("250 taken".to_owned()), next_attempt_at: next, sent_at };
    letters::settle(conn, OURS, letter(70).id, token, &settled).await.expect("an answer")
}

on_both_engines! {
    async fn a_letter_is_kept_to_the_byte(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        letters::insert(conn, OURS, &letter(70)).await.expect("kept");
        let expected = LetterCard {
            id: letter(70).id,
            person: MANAGER,
            kind: letter(70).kind,
            subject: letter(70).subject,
            message_id: letter(70).message_id,
            state: LetterState::Waiting,
            attempts: 0,
            next_attempt_at: Some(morning()),
            last_reply: None,
            without_attachment: false,
            created_at: morning(),
            sent_at: None,
        };
        assert_eq!(letters::page(conn, OURS, None, 9).await.expect("a page"), std::slice::from_ref(&expected));
        assert_eq!(card(conn, 70).await, expected);
        assert_eq!(letters::body(conn, OURS, letter(70).id).await.expect("an answer"), Some(letter(70).bytes));
    }

    async fn a_message_id_is_used_once(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        letters::insert(conn, OURS, &letter(70)).await.expect("kept");
        let twin = NewLetter { id: LetterId(id(71)), ..letter(70) };
        let refusal = letters::insert(conn, OURS, &twin).await.expect_err("taken");
        assert!(refusal.is_unique(), "{refusal:?}");
    }

    async fn a_claimed_letter_is_nobody_elses_until_the_claim_runs_out(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        letters::insert(conn, OURS, &letter(70)).await.expect("kept");
        let early = letters::claim(conn, at("2027-03-01T08:00:00Z"), lease(0, 0), id(90), 9).await.expect("an answer");
        let (first, second, third) = (claim(conn, 0, 91).await, claim(conn, 15, 92).await, claim(conn, 16, 93).await);
        let expected = LetterRow {
            fleet: OURS,
            id: letter(70).id,
            person: MANAGER,
            kind: letter(70).kind,
            attempts: 0,
            held: 0,
            was_uncertain: false,
            without_attachment: false,
            message_id: letter(70).message_id,
            created_at: morning(),
            address: letter(70).address,
            bytes: letter(70).bytes,
        };
        assert_eq!((early, first, second, third), (vec![], vec![expected.clone()], vec![], vec![expected]));
        assert!(!letters::start_attempt(conn, OURS, letter(70).id, id(91), 1, minutes(17), minutes(17)).await.expect("an answer"));
        assert!(!settle(conn, id(91), LetterState::Sent, None).await, "the claim has passed on");
        assert_eq!(card(conn, 70).await.state, LetterState::Claimed);
        assert!(letters::start_attempt(conn, OURS, letter(70).id, id(93), 1, minutes(17), minutes(17)).await.expect("an answer"));
        assert!(settle(conn, id(93), LetterState::Sent, None).await);
        assert!(!settle(conn, id(93), LetterState::Retry, Some(minutes(59))).await, "a claim is settled once");
        let sent = card(conn, 70).await;
        assert_eq!((sent.state, sent.attempts, sent.sent_at), (LetterState::Sent, 1, Some(morning())));
        assert_eq!((sent.last_reply.as_deref(), sent.next_attempt_at), (Some("250 taken"), None));
    }

    async fn an_attempt_that_is_not_to_count_is_kept_apart(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        letters::insert(conn, OURS, &letter(70)).await.expect("kept");
        for attempt in 1..=2_i64 {
            let token = 90 + u128::try_from(attempt).expect("a number");
            let minute = u32::try_from(attempt).expect("a number");
            let claimed = claim(conn, minute, token).await;
            assert_eq!((claimed[0].attempts, claimed[0].held), (attempt - 1, attempt - 1));
            let begun = letters::start_attempt(conn, OURS, letter(70).id, id(token), attempt, minutes(minute), minutes(minute)).await;
            assert!(begun.expect("an answer"));
            let lost = letters::hold(conn, OURS, letter(70).id, id(1), "530 sign in", minutes(minute + 1)).await;
            assert!(!lost.expect("an answer"), "another's claim");
            let ended = letters::end_attempt(conn, OURS, letter(70).id, attempt, LetterState::Retry, None, minutes(minute));
            ended.await.expect("ended");
            let held = letters::hold(conn, OURS, letter(70).id, id(token), "530 sign in", minutes(minute + 1)).await;
            assert!(held.expect("an answer"));
        }
        let kept = card(conn, 70).await;
        assert_eq!((kept.state, kept.attempts, kept.next_attempt_at), (LetterState::Retry, 0, Some(minutes(3))));
        assert_eq!(kept.last_reply.as_deref(), Some("530 sign in"));
        assert_eq!(letters::unsent(conn, OURS, MANAGER).await.expect("an answer")[0].attempts, 0);
    }

    async fn a_letter_held_that_may_have_arrived_stays_uncertain(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        letters::insert(conn, OURS, &letter(70)).await.expect("kept");
        claim(conn, 0, 90).await;
        assert!(letters::start_attempt(conn, OURS, letter(70).id, id(90), 1, minutes(1), minutes(1)).await.expect("an answer"));
        let cut = letters::end_attempt(conn, OURS, letter(70).id, 1, LetterState::Uncertain, None, minutes(2));
        cut.await.expect("ended");

        assert!(letters::hold(conn, OURS, letter(70).id, id(90), "530", minutes(9)).await.expect("an answer"));

        assert_eq!(card(conn, 70).await.state, LetterState::Uncertain);
    }

    async fn a_letter_is_made_lighter_by_who_has_claimed_it(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        letters::insert(conn, OURS, &letter(70)).await.expect("kept");
        claim(conn, 0, 90).await;
        assert!(!letters::lighten(conn, OURS, letter(70).id, id(91), b"less").await.expect("an answer"));
        assert!(!letters::lighten(conn, THEIRS, letter(70).id, id(90), b"less").await.expect("an answer"));
        assert_eq!(letters::body(conn, OURS, letter(70).id).await.expect("an answer"), Some(letter(70).bytes));
        assert!(letters::lighten(conn, OURS, letter(70).id, id(90), b"less").await.expect("an answer"));
        assert_eq!(letters::body(conn, OURS, letter(70).id).await.expect("an answer"), Some(b"less".to_vec()));
        assert!(card(conn, 70).await.without_attachment);
        assert!(claim(conn, 20, 92).await[0].without_attachment);
    }

    async fn what_has_not_gone_and_cannot_have_arrived_can_be_replaced(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        for number in 70..74 {
            letters::insert(conn, OURS, &letter(number)).await.expect("kept");
        }
        let cut = Settled {
            state: LetterState::Uncertain,
            reply: None,
            next_attempt_at: Some(minutes(30)),
            sent_at: None,
        };
        let tried = letters::claim(conn, minutes(0), lease(0, 15), id(90), 2).await.expect("an answer");
        for one in &tried {
            assert!(letters::start_attempt(conn, OURS, one.id, id(90), 1, minutes(1), minutes(1)).await.expect("an answer"));
        }
        letters::end_attempt(conn, OURS, tried[0].id, 1, cut.state, None, minutes(2)).await.expect("ended");
        assert!(letters::settle(conn, OURS, tried[0].id, id(90), &cut).await.expect("an answer"));
        let busy = Settled { state: LetterState::Retry, ..cut };
        letters::end_attempt(conn, OURS, tried[1].id, 1, busy.state, None, minutes(2)).await.expect("ended");
        assert!(letters::settle(conn, OURS, tried[1].id, id(90), &busy).await.expect("an answer"));
        let held = letters::claim(conn, minutes(3), lease(3, 18), id(91), 1).await.expect("an answer");

        let unsent = letters::unsent(conn, OURS, MANAGER).await.expect("an answer");
        let ids: Vec<LetterId> = unsent.iter().map(|letter| letter.id).collect();
        let gone: Vec<LetterId> = vec![tried[0].id, held[0].id];
        assert_eq!(ids.len(), 2, "neither the uncertain one nor the one in hand: {unsent:?}");
        assert!(!ids.iter().any(|id| gone.contains(id)), "{ids:?}");
        let known = unsent.iter().find(|letter| letter.id == tried[1].id).expect("the one to be tried again");
        assert_eq!((known.attempts, known.next_attempt_at), (1, Some(minutes(30))));
        assert_eq!(letters::replace(conn, OURS, &ids).await.expect("an answer"), 2);
        assert!(letters::unsent(conn, OURS, MANAGER).await.expect("an answer").is_empty());
    }

    async fn a_claim_given_back_leaves_the_letter_as_it_waited(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        letters::insert(conn, OURS, &letter(70)).await.expect("kept");
        claim(conn, 0, 91).await;
        assert!(!letters::put_back(conn, OURS, letter(70).id, id(90), minutes(40)).await.expect("an answer"));
        assert!(letters::put_back(conn, OURS, letter(70).id, id(91), minutes(40)).await.expect("an answer"));
        let waiting = card(conn, 70).await;
        assert_eq!((waiting.state, waiting.next_attempt_at), (LetterState::Waiting, Some(minutes(40))));
        assert!(claim(conn, 39, 92).await.is_empty());
        assert_eq!(claim(conn, 40, 93).await.len(), 1);
    }

    async fn letters_of_every_fleet_are_claimed_up_to_the_number_asked(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        letters::insert(conn, THEIRS, &NewLetter { person: THEIR_MANAGER, ..letter(80) }).await.expect("kept");
        for number in 70..75 {
            letters::insert(conn, OURS, &letter(number)).await.expect("kept");
        }
        let mut seen = Vec::new();
        for token in 91..=93 {
            let claimed = letters::claim(conn, minutes(0), lease(0, 15), id(token), 2).await.expect("an answer");
            assert_eq!(claimed.len(), 2);
            seen.extend(claimed.into_iter().map(|row| row.id.0.as_u128()));
        }
        seen.sort_unstable();
        assert_eq!(seen, [70, 71, 72, 73, 74, 80]);
    }

    async fn a_letter_to_be_tried_again_waits_for_its_time(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        letters::insert(conn, OURS, &letter(70)).await.expect("kept");
        claim(conn, 0, 91).await;
        assert!(letters::start_attempt(conn, OURS, letter(70).id, id(91), 1, minutes(0), minutes(0)).await.expect("an answer"));
        assert!(settle(conn, id(91), LetterState::Retry, Some(minutes(5))).await);
        letters::end_attempt(conn, OURS, letter(70).id, 1, LetterState::Retry, Some("421"), minutes(1)).await.expect("ended");
        let (before, then) = (claim(conn, 4, 92).await, claim(conn, 5, 93).await);
        assert_eq!((before.len(), then.len()), (0, 1));
        assert_eq!((then[0].attempts, then[0].was_uncertain), (1, false));
    }

    /// Otherwise it could be given up between the two, and go again without anybody knowing that it may have gone.
    async fn a_claim_that_has_run_out_begins_nothing(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        letters::insert(conn, OURS, &letter(70)).await.expect("kept");
        claim(conn, 0, 91).await;
        assert!(!letters::start_attempt(conn, OURS, letter(70).id, id(91), 1, minutes(16), minutes(16)).await.expect("an answer"));
        assert_eq!(card(conn, 70).await.state, LetterState::Claimed);
        assert!(letters::start_attempt(conn, OURS, letter(70).id, id(91), 1, minutes(15), minutes(15)).await.expect("an answer"));
    }

    async fn a_letter_whose_courier_stopped_is_repeated_once_and_then_set_aside(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        letters::insert(conn, OURS, &letter(70)).await.expect("kept");
        claim(conn, 0, 91).await;
        letters::start_attempt(conn, OURS, letter(70).id, id(91), 1, minutes(0), minutes(0)).await.expect("an answer");
        let too_soon = letters::give_up_sending(conn, minutes(15), lease(15, 30), minutes(30)).await.expect("an answer");
        let given_up = letters::give_up_sending(conn, minutes(16), lease(16, 31), minutes(30)).await.expect("an answer");
        let first = card(conn, 70).await;
        assert_eq!((too_soon, given_up, first.state), (0, 1, LetterState::Uncertain));
        assert!(!settle(conn, id(91), LetterState::Sent, None).await, "the claim is gone");
        assert_eq!(claim(conn, 29, 92).await, []);
        let again = claim(conn, 30, 92).await;
        assert_eq!(again.iter().map(|row| (row.attempts, row.was_uncertain)).collect::<Vec<_>>(), [(1, true)]);
        letters::start_attempt(conn, OURS, letter(70).id, id(92), 2, minutes(30), minutes(30)).await.expect("an answer");
        let set_aside = letters::give_up_sending(conn, minutes(46), lease(46, 59), minutes(59)).await.expect("an answer");
        let last = card(conn, 70).await;
        assert_eq!((set_aside, last.state, last.attempts, last.next_attempt_at), (1, LetterState::Parked, 2, None));
    }

    async fn the_next_time_is_the_earliest_of_what_is_to_be_seen_to(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        assert_eq!(letters::next_time(conn, minutes(5), lease(5, 20)).await.expect("an answer"), None);
        letters::insert(conn, OURS, &letter(70)).await.expect("kept");
        assert_eq!(letters::next_time(conn, minutes(5), lease(5, 20)).await.expect("an answer"), Some(morning()));
        claim(conn, 0, 91).await;
        assert_eq!(letters::next_time(conn, minutes(5), lease(5, 20)).await.expect("an answer"), Some(minutes(15)));
        let after = letters::next_time(conn, minutes(16), lease(16, 31)).await.expect("an answer");
        assert_eq!(after, Some(minutes(16)), "at once where a lease has run out");
        settle(conn, id(91), LetterState::Retry, Some(minutes(40))).await;
        assert_eq!(letters::next_time(conn, minutes(5), lease(5, 20)).await.expect("an answer"), Some(minutes(40)));
        claim(conn, 40, 92).await;
        settle(conn, id(92), LetterState::Undeliverable, None).await;
        assert_eq!(letters::next_time(conn, minutes(5), lease(5, 20)).await.expect("an answer"), None);
    }
}
