//! Notices: one decision for each person and mark, for ever.

use crate::marks::key;
use crate::world::{
    MANAGER, OURS, THEIR_MANAGER, THEIR_VAN, THEIRS, VAN, at, furnished, id, morning, person,
};
use model::{LetterId, NoticeId, NoticeState, Person, PersonId};
use store::notices::{NewNotice, WaitingNotice};
use store::{Conn, notices, people};
use testkit::on_both_engines;

pub fn notice(number: u128) -> NewNotice {
    NewNotice {
        id: NoticeId(id(number)),
        vehicle: VAN,
        key: key("rule:oil", &format!("mark-{number}")),
        person: MANAGER,
        urgent: false,
        state: NoticeState::Waiting,
        body: "{}".to_owned(),
        created_at: morning(),
        not_before: at("2027-03-01T08:00:02Z"),
    }
}

pub fn waiting(notice: &NewNotice) -> WaitingNotice {
    let NewNotice { id, vehicle, key, urgent, .. } = notice.clone();
    WaitingNotice { id, vehicle, key, urgent }
}

async fn make(conn: &mut Conn<'_>, new: &[NewNotice]) -> usize {
    notices::insert_or_revive(conn, OURS, new).await.expect("made")
}

async fn states(conn: &mut Conn<'_>) -> Vec<(NoticeId, NoticeState)> {
    let rows = notices::page(conn, OURS, None, 99).await.expect("a page");
    rows.into_iter().map(|row| (row.notice.id, row.state)).collect()
}

const SOON: &str = "2027-03-01T08:00:02Z";

on_both_engines! {
    async fn a_notice_is_listed_as_it_was_made(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let urgent = NewNotice { urgent: true, state: NoticeState::ListOnly, ..notice(2) };
        assert_eq!(make(conn, &[notice(1), urgent.clone()]).await, 2);
        let rows = notices::page(conn, OURS, None, 9).await.expect("a page");
        for (row, made) in rows.iter().zip([notice(1), urgent]) {
            assert_eq!((&row.notice, row.person, row.state), (&waiting(&made), made.person, made.state));
            assert_eq!((&row.body, row.created_at, row.not_before), (&made.body, made.created_at, made.not_before));
            assert_eq!((row.letter, row.settled_at), (None, None));
        }
        assert_eq!(rows.len(), 2);
    }

    async fn one_decision_is_made_once_under_its_key(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let again = NewNotice { id: NoticeId(id(9)), body: "other".to_owned(), ..notice(1) };
        assert_eq!((make(conn, &[notice(1)]).await, make(conn, &[again, notice(2)]).await), (1, 1));
        let bodies: Vec<String> =
            notices::page(conn, OURS, None, 9).await.expect("a page").into_iter().map(|row| row.body).collect();
        assert_eq!(bodies, ["{}", "{}"]);
    }

    async fn another_person_is_another_decision(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let other = PersonId(id(21));
        people::insert(conn, OURS, &Person { id: other, ..person(MANAGER) }, morning()).await.expect("kept");
        let both = [notice(1), NewNotice { id: NoticeId(id(2)), person: other, ..notice(1) }];
        assert_eq!(make(conn, &both).await, 2);
    }

    async fn a_withdrawn_notice_returns_under_its_key(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        make(conn, &[notice(1)]).await;
        let gone = notices::withdraw(conn, OURS, &[notice(1).id], morning()).await.expect("withdrawn");
        let withdrawn = states(conn).await;
        let back = NewNotice { id: NoticeId(id(9)), body: "as it is now".to_owned(), ..notice(1) };
        let revived = make(conn, &[back]).await;
        let row = notices::page(conn, OURS, None, 9).await.expect("a page").pop().expect("the notice");
        assert_eq!((gone, withdrawn, revived), (1, vec![(notice(1).id, NoticeState::Withdrawn)], 1));
        assert_eq!((row.notice.id, row.state, row.settled_at), (notice(1).id, NoticeState::Waiting, None));
        assert_eq!(row.body, "as it is now");
    }

    async fn a_notice_told_or_in_a_letter_does_not_return(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let letter = LetterId(id(70));
        make(conn, &[notice(1)]).await;
        let put = notices::put_into(conn, OURS, &[notice(1).id], letter).await.expect("put");
        let twice = notices::put_into(conn, OURS, &[notice(1).id], LetterId(id(71))).await.expect("an answer");
        let withdrawn = notices::withdraw(conn, OURS, &[notice(1).id], morning()).await.expect("an answer");
        assert_eq!((put, twice, withdrawn, make(conn, &[notice(1)]).await), (1, 0, 0, 0));
        let carried = notices::carried_by(conn, OURS, letter).await.expect("an answer");
        assert_eq!(carried, [waiting(&notice(1))]);
        let told = notices::settle_by_letter(conn, OURS, letter, NoticeState::Told, morning()).await.expect("told");
        assert_eq!((told, make(conn, &[notice(1)]).await), (1, 0));
        assert_eq!(states(conn).await, [(notice(1).id, NoticeState::Told)]);
    }

    async fn notices_wait_for_their_time_and_their_person(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let other = PersonId(id(21));
        people::insert(conn, OURS, &Person { id: other, ..person(MANAGER) }, morning()).await.expect("kept");
        let later = NewNotice { not_before: at("2027-03-02T08:00:00Z"), ..notice(2) };
        let listed = NewNotice { state: NoticeState::ListOnly, ..notice(3) };
        let others = NewNotice { person: other, not_before: at("2027-02-01T00:00:00Z"), ..notice(4) };
        make(conn, &[notice(1), later, listed, others.clone()]).await;
        for (person, now, expected) in [
            (MANAGER, "2027-03-01T08:00:01.999999Z", vec![]),
            (MANAGER, SOON, vec![waiting(&notice(1))]),
            (other, SOON, vec![waiting(&others)]),
        ] {
            let found = notices::waiting_for(conn, OURS, person, at(now)).await.expect("an answer");
            assert_eq!(found, expected, "{person} at {now}");
        }
        let uncarried = notices::uncarried(conn, OURS, VAN).await.expect("an answer");
        assert_eq!(uncarried.len(), 4);
    }

    async fn addressees_come_the_longest_waiting_first_whatever_their_fleet(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let theirs = NewNotice {
            vehicle: THEIR_VAN,
            person: THEIR_MANAGER,
            not_before: at("2027-02-01T00:00:00Z"),
            ..notice(2)
        };
        make(conn, &[notice(1), NewNotice { not_before: at("2027-03-03T00:00:00Z"), ..notice(3) }]).await;
        notices::insert_or_revive(conn, THEIRS, &[theirs]).await.expect("made");
        let both = notices::waiting_addressees(conn, at(SOON), 9).await.expect("an answer");
        assert_eq!(both, [(THEIRS, THEIR_MANAGER), (OURS, MANAGER)]);
        assert_eq!(notices::waiting_addressees(conn, at(SOON), 1).await.expect("an answer"), both[..1]);
        assert_eq!(notices::next_time(conn).await.expect("an answer"), Some(at("2027-02-01T00:00:00Z")));
    }

    async fn what_no_letter_could_carry_waits_again_but_not_before_its_time(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let listed = |number| NewNotice { state: NoticeState::ListOnly, ..notice(number) };
        let early = listed(1);
        let late = NewNotice { not_before: at("2027-03-09T08:00:00Z"), ..listed(2) };
        make(conn, &[early.clone(), late.clone(), notice(3)]).await;
        let found = notices::listed_for(conn, OURS, MANAGER).await.expect("an answer");
        assert_eq!(found, [waiting(&early), waiting(&late)]);
        let ids = [1, 2, 3].map(|number| notice(number).id);
        let then = at("2027-03-02T08:00:00Z");
        let foreign = notices::tell_after_all(conn, THEIRS, &ids, then).await.expect("an answer");
        let own = notices::tell_after_all(conn, OURS, &ids, then).await.expect("an answer");
        assert_eq!((foreign, own), (0, 2), "one waited as it was");
        let rows = notices::page(conn, OURS, None, 9).await.expect("a page");
        let times: Vec<_> = rows.iter().map(|row| (row.state, row.not_before, row.settled_at)).collect();
        let waits = |at| (NoticeState::Waiting, at, None);
        assert_eq!(times, [waits(then), waits(late.not_before), waits(notice(3).not_before)]);
        assert_eq!(notices::listed_for(conn, OURS, MANAGER).await.expect("an answer"), []);
    }

    async fn a_state_is_set_for_the_named_notices_of_the_fleet_only(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        make(conn, &[notice(1), notice(2)]).await;
        let ids = [notice(1).id];
        let foreign = notices::set_state(conn, THEIRS, &ids, NoticeState::ListOnly, morning()).await.expect("an answer");
        let own = notices::set_state(conn, OURS, &ids, NoticeState::ListOnly, morning()).await.expect("an answer");
        assert_eq!((foreign, own), (0, 1));
        let expected = [(notice(1).id, NoticeState::ListOnly), (notice(2).id, NoticeState::Waiting)];
        assert_eq!(states(conn).await, expected);
    }
}
