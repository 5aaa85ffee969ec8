//! Marks: waiting ones follow the horizon, settled ones stay.

use crate::world::{CAR, OURS, VAN, at, furnished, morning};
use chrono::{DateTime, Utc};
use model::horizon::{Cycle, ItemKey, Mark};
use model::{MarkOutcome, VehicleId};
use store::marks::MarkRow;
use store::notices::NoticeKey;
use store::{Conn, marks};
use testkit::on_both_engines;

pub fn key(item: &str, mark: &str) -> NoticeKey {
    NoticeKey { item_key: item.to_owned(), cycle: "in-service".to_owned(), mark: mark.to_owned() }
}

fn wanted(item: &str, mark: &str, rank: i16, fires_at: &str) -> (ItemKey, Cycle, Mark) {
    let mark = Mark { code: mark.to_owned(), rank, at: at(fires_at) };
    (ItemKey(item.to_owned()), Cycle("in-service".to_owned()), mark)
}

fn three() -> Vec<(ItemKey, Cycle, Mark)> {
    vec![
        wanted("rule:oil", "approaching", 1, "2027-02-01T00:00:00Z"),
        wanted("rule:oil", "due", 2, "2027-03-01T08:00:00.123456Z"),
        wanted("rule:tread", "due", 2, "2027-05-01T00:00:00Z"),
    ]
}

async fn sync(conn: &mut Conn<'_>, wanted: &[(ItemKey, Cycle, Mark)]) -> u64 {
    marks::sync(conn, OURS, VAN, wanted).await.expect("synced")
}

async fn due(conn: &mut Conn<'_>, now: DateTime<Utc>) -> Vec<MarkRow> {
    marks::due(conn, OURS, &[VAN, CAR], now).await.expect("an answer")
}

/// Item, mark, moment and outcome of every mark, by time.
async fn all(conn: &mut Conn<'_>, vehicle: VehicleId) -> Vec<(String, String, DateTime<Utc>, MarkOutcome)> {
    let rows = marks::of_vehicle(conn, OURS, vehicle).await.expect("an answer");
    rows.into_iter().map(|row| (row.key.item_key, row.key.mark, row.fires_at, row.outcome)).collect()
}

/// Settles every mark that has come by `now`.
async fn tell(conn: &mut Conn<'_>, now: DateTime<Utc>) -> u64 {
    let told: Vec<_> = due(conn, now).await.into_iter().map(|mark| (mark, MarkOutcome::Told, None)).collect();
    marks::settle(conn, OURS, &told, now).await.expect("settled")
}

on_both_engines! {
    async fn waiting_marks_are_those_of_the_horizon(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        assert_eq!((sync(conn, &three()).await, sync(conn, &three()).await), (3, 0));
        let moved = [three()[0].clone(), wanted("rule:oil", "due", 3, "2027-04-01T00:00:00Z")];
        assert_eq!(sync(conn, &moved).await, 2, "one moved, one dropped");
        let waiting = MarkOutcome::Waiting;
        let oil = |mark: &str, on: &str| ("rule:oil".to_owned(), mark.to_owned(), at(on), waiting);
        let kept = [oil("approaching", "2027-02-01T00:00:00Z"), oil("due", "2027-04-01T00:00:00Z")];
        assert_eq!(all(conn, VAN).await, kept);
        assert_eq!((sync(conn, &[]).await, all(conn, VAN).await.len()), (2, 0));
    }

    async fn a_settled_mark_stays_whatever_the_horizon_says(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        sync(conn, &three()).await;
        assert_eq!(tell(conn, at("2027-02-15T00:00:00Z")).await, 1);
        let moved = wanted("rule:oil", "approaching", 9, "2027-06-01T00:00:00Z");
        assert_eq!(sync(conn, &[moved]).await, 2, "the two that waited are dropped");
        let told = ("rule:oil".to_owned(), "approaching".to_owned(), at("2027-02-01T00:00:00Z"), MarkOutcome::Told);
        assert_eq!(all(conn, VAN).await, [told]);
    }

    async fn marks_are_due_from_their_moment_on_until_settled(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        sync(conn, &three()).await;
        let just_before = at("2027-03-01T08:00:00.123455Z");
        assert_eq!(due(conn, just_before).await.len(), 1);
        let at_once = due(conn, morning()).await;
        let keys: Vec<NoticeKey> = at_once.iter().map(|mark| mark.key.clone()).collect();
        assert_eq!(keys, [key("rule:oil", "approaching"), key("rule:oil", "due")]);
        assert_eq!(marks::next_waiting(conn, OURS, VAN).await.expect("an answer"), Some(at("2027-02-01T00:00:00Z")));
        assert_eq!((tell(conn, morning()).await, due(conn, morning()).await), (2, vec![]));
        assert_eq!(marks::next_waiting(conn, OURS, VAN).await.expect("an answer"), Some(at("2027-05-01T00:00:00Z")));
        assert_eq!(marks::next_waiting(conn, OURS, CAR).await.expect("an answer"), None);
    }

    async fn a_mark_is_settled_once_with_its_reason(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        sync(conn, &three()).await;
        let found = due(conn, at("2027-02-15T00:00:00Z")).await;
        let overtaken = [(found[0].clone(), MarkOutcome::Overtaken, Some("due came first".to_owned()))];
        let told = [(found[0].clone(), MarkOutcome::Told, None)];
        let first = marks::settle(conn, OURS, &overtaken, morning()).await.expect("settled");
        let second = marks::settle(conn, OURS, &told, at("2027-04-01T00:00:00Z")).await.expect("settled");
        let kept = marks::of_vehicle(conn, OURS, VAN).await.expect("an answer");
        let expected = MarkRow {
            outcome: MarkOutcome::Overtaken,
            reason: Some("due came first".to_owned()),
            settled_at: Some(morning()),
            ..found[0].clone()
        };
        assert_eq!((first, second, &kept[0]), (1, 0, &expected));
    }

    async fn a_fired_mark_that_nobody_was_told_of_waits_again(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        sync(conn, &three()).await;
        tell(conn, morning()).await;
        let later = at("2027-08-01T00:00:00Z");
        marks::reopen(conn, OURS, VAN, &key("rule:oil", "due"), Some(later)).await.expect("reopened");
        let waiting: Vec<_> =
            all(conn, VAN).await.into_iter().filter(|row| row.3 == MarkOutcome::Waiting).map(|row| row.2).collect();
        assert_eq!(waiting, [at("2027-05-01T00:00:00Z"), later]);
    }

    async fn a_mark_laid_aside_waits_again_when_its_item_comes_back(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        sync(conn, &three()).await;
        tell(conn, morning()).await;
        marks::reopen(conn, OURS, VAN, &key("rule:oil", "due"), None).await.expect("laid aside");
        let aside = all(conn, VAN).await;
        assert_eq!(aside.iter().filter(|row| row.3 == MarkOutcome::Skipped).count(), 1);
        let back = wanted("rule:oil", "due", 2, "2027-09-01T00:00:00Z");
        assert_eq!(sync(conn, &[three()[2].clone(), back.clone()]).await, 1);
        assert_eq!(sync(conn, &[three()[2].clone(), back]).await, 0);
        assert_eq!(due(conn, at("2027-09-01T00:00:00Z")).await.len(), 2);
    }

    async fn marks_of_one_name_on_two_vehicles_are_two(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        sync(conn, &three()).await;
        marks::sync(conn, OURS, CAR, &three()[..1]).await.expect("synced");
        sync(conn, &[]).await;
        assert_eq!((all(conn, VAN).await.len(), all(conn, CAR).await.len()), (0, 1));
    }
}
