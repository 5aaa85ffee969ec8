//! Pages: whoever lives through a scan is seen exactly once, whatever comes and goes meanwhile.

use crate::records::{bare_service, keep_reading, paper, reading};
use crate::world::{OURS, VAN, WORKSHOP, day, depot, furnished, id, morning, stamp, workshop};
use chrono::NaiveDate;
use model::{DepotId, Paper, Workshop, WorkshopId};
use store::{Conn, depots, papers, readings, services, workshops};
use testkit::on_both_engines;
use uuid::Uuid;

async fn keep_paper(conn: &mut Conn<'_>, number: u128, expires_on: &str) {
    papers::insert(conn, OURS, VAN, &paper(number, expires_on), &stamp(OURS)).await.expect("kept");
}

async fn next_papers(conn: &mut Conn<'_>, after: Option<&Paper>) -> Vec<Paper> {
    let after: Option<(NaiveDate, Uuid)> = after.map(|paper| (paper.expires_on, paper.id.0));
    papers::page(conn, OURS, VAN, after, 2).await.expect("a page")
}

on_both_engines! {
    async fn papers_that_live_through_a_scan_are_seen_once_each(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        // Three of one day, so that the id has to tell them apart.
        let expiries = ["1900-01-01", "2027-05-01", "2027-05-01", "2027-05-01", "2027-06-01", "2200-12-31"];
        for (number, expires_on) in (310..).step_by(10).zip(expiries) {
            keep_paper(conn, number, expires_on).await;
        }
        let mut seen: Vec<Paper> = Vec::new();
        loop {
            let page = next_papers(conn, seen.last()).await;
            if page.is_empty() {
                break;
            }
            seen.extend(page);
            // One already seen goes, one comes before the place reached, one behind it.
            papers::withdraw(conn, OURS, VAN, seen[0].id, morning()).await.expect("withdrawn");
            keep_paper(conn, 1_000 + seen.len() as u128, "1999-01-01").await;
            keep_paper(conn, 2_000 + seen.len() as u128, "2027-05-02").await;
        }
        let lived: Vec<u128> = (310..).step_by(10).take(expiries.len()).collect();
        let mut met: Vec<u128> = seen.iter().map(|paper| paper.id.0.as_u128()).collect();
        assert!(met.iter().zip(&met[1..]).all(|(one, next)| one != next));
        met.retain(|number| *number < 1_000);
        assert_eq!(met, lived, "in order, each once");
        let days: Vec<NaiveDate> = seen.iter().map(|paper| paper.expires_on).collect();
        assert!(days.is_sorted(), "{days:?}");
    }

    async fn a_page_goes_on_behind_the_last_seen(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        for number in 31..37 {
            workshops::insert(conn, OURS, &workshop(WorkshopId(id(number))), morning()).await.expect("kept");
            depots::insert(conn, OURS, &depot(DepotId(id(number))), morning()).await.expect("kept");
        }
        let mut shops: Vec<Workshop> = Vec::new();
        loop {
            let page = workshops::page(conn, OURS, shops.last().map(|shop| shop.id), 3).await.expect("a page");
            if page.is_empty() {
                break;
            }
            shops.extend(page);
        }
        let expected: Vec<WorkshopId> = [WORKSHOP].into_iter().chain((31..37).map(|n| WorkshopId(id(n)))).collect();
        assert_eq!(shops.iter().map(|shop| shop.id).collect::<Vec<_>>(), expected);
        let rest = depots::page(conn, OURS, Some(DepotId(id(34))), 99).await.expect("a page");
        assert_eq!(rest.iter().map(|depot| depot.id.0).collect::<Vec<_>>(), [id(35), id(36)]);
    }

    async fn readings_of_one_instant_are_told_apart_by_id(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let instants = ["2027-01-01T00:00:00Z", "2027-01-01T00:00:00Z", "2027-01-01T00:00:00.000001Z", "2027-01-01T00:00:00.1Z"];
        for (number, read_at) in (101..).zip(instants) {
            keep_reading(conn, VAN, &reading(number, 100.0, read_at)).await;
        }
        let mut seen = Vec::new();
        let mut after = None;
        while let Some(next) = readings::page(conn, OURS, VAN, after, 1).await.expect("a page").pop() {
            after = Some((next.read_at, next.id.0));
            seen.push(next.id.0.as_u128());
        }
        assert_eq!(seen, [101, 102, 103, 104]);
    }

    async fn services_are_listed_by_day_whatever_the_order_they_came_in(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        keep_reading(conn, VAN, &reading(102, 100.0, "2026-12-31T12:00:00Z")).await;
        for (number, done_on) in [(201, "2027-02-28"), (202, "2024-02-29"), (203, "2026-12-31")] {
            services::insert(conn, OURS, VAN, &bare_service(number, 102, done_on), &stamp(OURS)).await.expect("kept");
        }
        let listed = services::page(conn, OURS, VAN, None, 9).await.expect("a page");
        let days: Vec<NaiveDate> = listed.iter().map(|service| service.done_on).collect();
        assert_eq!(days, ["2024-02-29", "2026-12-31", "2027-02-28"].map(day));
    }
}
