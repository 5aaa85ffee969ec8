//! Acts, their numbers and what they changed.

use crate::world::{MANAGER, OURS, THEIRS, furnished, id, morning, stamp};
use model::{ActId, Actor, ActorKind, KeyId};
use store::acts::{ActRow, AuditRow};
use store::{acts, fleets};
use testkit::on_both_engines;

fn act(number: u128) -> ActRow {
    ActRow {
        id: ActId(id(number)),
        seq: 0,
        kind: "record_service".to_owned(),
        actor: Actor {
            kind: ActorKind::Key,
            key: Some(KeyId(id(50))),
            person: Some(MANAGER),
            source: "api".to_owned(),
        },
        request_id: Some("a-request".to_owned()),
        recorded_at: morning(),
    }
}

on_both_engines! {
    async fn acts_come_back_in_the_order_of_their_numbers(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        for later_first in [62, 61] {
            acts::insert(conn, OURS, &act(later_first)).await.expect("kept");
        }
        let numbers = [
            acts::number(conn, OURS, act(61).id).await.expect("a number"),
            acts::number(conn, OURS, act(62).id).await.expect("a number"),
            acts::number(conn, THEIRS, stamp(THEIRS).act).await.expect("a number"),
        ];
        let page = acts::page(conn, OURS, 0, 9).await.expect("a page");
        assert_eq!(numbers, [1, 2, 1]);
        assert_eq!(page, [ActRow { seq: 1, ..act(61) }, ActRow { seq: 2, ..act(62) }]);
        assert_eq!(acts::page(conn, OURS, 1, 9).await.expect("a page"), [ActRow { seq: 2, ..act(62) }]);
        assert_eq!(fleets::find(conn, OURS).await.expect("an answer").map(|fleet| fleet.sequence), Some(2));
    }

    async fn what_an_act_changed_comes_back_as_it_was(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let row = |ordinal, before: Option<&str>, after: Option<&str>| AuditRow {
            ordinal,
            subject: "depot".to_owned(),
            subject_id: id(10).to_string(),
            verb: "change".to_owned(),
            before: before.map(str::to_owned),
            after: after.map(str::to_owned),
        };
        let rows = [row(0, None, Some("{}")), row(1, Some("{\"name\":\"ü\"}"), None)];
        acts::audit_insert(conn, OURS, stamp(OURS).act, &rows).await.expect("kept");
        assert_eq!(acts::audit_of(conn, OURS, stamp(OURS).act).await.expect("an answer"), rows);
    }

    async fn an_act_that_changed_nothing_keeps_no_changes(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        acts::audit_insert(conn, OURS, stamp(OURS).act, &[]).await.expect("nothing to keep");
        assert_eq!(acts::audit_of(conn, OURS, stamp(OURS).act).await.expect("an answer"), []);
    }
}
