//! Vehicles' states: locked in order, claimed under a lease, never by two.

use crate::world::{
    CAR, DEPOT, OURS, THEIR_VAN, THEIRS, VAN, at, attributes, furnished, id, keep_vehicle, stamp, vehicle,
};
use chrono::{DateTime, Utc};
use model::{Attributes, FleetId, RulebookId, VehicleId};
use store::states::VehicleState;
use store::{
    Conn, Engine, Lease, Reach, Sql, Store, execute, fetch, rulebooks, statements, states, vehicles,
};
use testkit::on_both_engines;

const ENGINE: &str = "1";

statements! {
    NO_WHOLE_TABLES = { sqlite: "SELECT 1" postgres: "SET LOCAL enable_seqscan = off" }
}

fn seconds(number: u32) -> DateTime<Utc> {
    at(&format!("2027-03-01T08:00:{number:02}Z"))
}

fn lease(second: u32, span: u32) -> Lease {
    Lease { at: seconds(second), until: seconds(second + span) }
}

/// Claims for fifteen seconds.
async fn claim(conn: &mut Conn<'_>, second: u32, token: u128) -> Vec<(FleetId, VehicleId)> {
    states::claim(conn, seconds(second), lease(second, 15), id(token), 99).await.expect("an answer")
}

async fn done(conn: &mut Conn<'_>, vehicle: VehicleId, wakes_at: Option<DateTime<Utc>>) {
    states::set_done(conn, OURS, vehicle, ENGINE, wakes_at).await.expect("done");
}

async fn state(conn: &mut Conn<'_>, vehicle: VehicleId) -> VehicleState {
    states::lock(conn, OURS, &[vehicle]).await.expect("an answer").pop().expect("the state")
}

/// Both of our vehicles done and asleep, theirs claimed away.
async fn at_rest(conn: &mut Conn<'_>) {
    done(conn, VAN, None).await;
    done(conn, CAR, None).await;
    states::set_done(conn, THEIRS, THEIR_VAN, ENGINE, None).await.expect("done");
}

on_both_engines! {
    async fn a_new_vehicle_needs_its_first_horizon(store: Store) {
        let mut tx = furnished(&store).await;
        let expected = VehicleState {
            vehicle: VAN,
            needed_version: 1,
            done_version: 0,
            engine_version: String::new(),
            wakes_at: None,
            claim_token: None,
            claimed_until: None,
        };
        assert_eq!(state(&mut tx.conn(), VAN).await, expected);
    }

    async fn vehicles_are_locked_in_order_and_foreign_ones_are_missing(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let locked = states::lock(conn, OURS, &[CAR, THEIR_VAN, VAN, VehicleId(id(404))]).await.expect("an answer");
        assert_eq!(locked.iter().map(|state| state.vehicle).collect::<Vec<_>>(), [VAN, CAR]);
    }

    async fn a_done_horizon_is_needed_again_when_it_is_raised(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        at_rest(conn).await;
        let named = states::raise_needed(conn, OURS, &[VAN, THEIR_VAN]).await.expect("raised");
        assert_eq!((named, claim(conn, 0, 91).await), (1, vec![(OURS, VAN)]));
        let all = states::raise_needed_all(conn, OURS).await.expect("raised");
        let (van, car) = (state(conn, VAN).await, state(conn, CAR).await);
        assert_eq!((all, van.needed_version, car.needed_version), (2, 3, 2));
        done(conn, VAN, Some(seconds(30))).await;
        let van = state(conn, VAN).await;
        assert_eq!((van.done_version, van.wakes_at, van.engine_version.as_str()), (3, Some(seconds(30)), ENGINE));
    }

    async fn a_revised_rulebook_raises_the_vehicles_under_it(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        at_rest(conn).await;
        let book = crate::rules::rulebook(1, vec![]);
        rulebooks::insert(conn, OURS, &book, &stamp(OURS)).await.expect("kept");
        let under = Attributes { rulebook: Some(book.id), ..attributes("2027-01-01", DEPOT, "Car 1") };
        vehicles::insert_attributes(conn, OURS, CAR, &under, &stamp(OURS)).await.expect("kept");
        let raised = states::raise_needed_by_rulebook(conn, OURS, book.id).await.expect("raised");
        let others = states::raise_needed_by_rulebook(conn, OURS, RulebookId(id(404))).await.expect("raised");
        assert_eq!((raised, others, claim(conn, 0, 91).await), (1, 0, vec![(OURS, CAR)]));
    }

    async fn what_has_woken_is_behind_or_of_another_engine_is_claimed(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        at_rest(conn).await;
        done(conn, VAN, Some(seconds(10))).await;
        assert_eq!(claim(conn, 9, 91).await, []);
        assert_eq!(claim(conn, 10, 92).await, [(OURS, VAN)]);
        let same = states::raise_other_engines(conn, ENGINE).await.expect("an answer");
        assert_eq!((same, claim(conn, 10, 93).await), (0, vec![]));
        let newer = states::raise_other_engines(conn, "2").await.expect("an answer");
        assert_eq!((newer, claim(conn, 10, 94).await), (3, vec![(OURS, CAR), (THEIRS, THEIR_VAN)]));
        assert_eq!(states::raise_other_engines(conn, "2").await.expect("an answer"), 0, "once is enough");
    }

    async fn no_more_are_claimed_than_asked_for_and_those_that_woke_first_come_first(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        at_rest(conn).await;
        states::set_done(conn, THEIRS, THEIR_VAN, ENGINE, Some(seconds(1))).await.expect("done");
        done(conn, CAR, Some(seconds(2))).await;
        states::raise_needed(conn, OURS, &[VAN, CAR]).await.expect("raised");
        let mut claimed = Vec::new();
        for token in [91, 92, 93, 94] {
            let one = states::claim(conn, seconds(5), lease(5, 15), id(token), 1).await.expect("an answer");
            claimed.push(one);
        }
        assert_eq!(claimed, [vec![(THEIRS, THEIR_VAN)], vec![(OURS, CAR)], vec![(OURS, VAN)], vec![]]);
    }

    async fn states_are_paged_in_order_of_ids(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let pages = [None, Some(VAN), Some(CAR)];
        let mut seen = Vec::new();
        for after in pages {
            let page = states::page(conn, OURS, after, 1).await.expect("a page");
            seen.push(page.iter().map(|state| state.vehicle).collect::<Vec<_>>());
        }
        assert_eq!(seen, [vec![VAN], vec![CAR], vec![]]);
        assert!(state(conn, VAN).await.is_behind(ENGINE));
    }

    /// Told from the engines' own plans: <https://www.sqlite.org/eqp.html> and
    /// <https://www.postgresql.org/docs/15/using-explain.html>. PostgreSQL reads a table of three rows whole unless told
    /// not to; whether it could do without is what matters for a table of thousands.
    async fn a_claim_goes_through_indexes_and_never_looks_at_every_vehicle(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let claim = store::catalogue().find(|sql| sql.name.ends_with("states::CLAIM")).expect("the statement");
        let explain = |how: &str, text: &str| -> &'static str { format!("{how} {text}").leak() };
        let plan = Sql {
            name: "the plan of a claim",
            sqlite: explain("EXPLAIN QUERY PLAN", claim.sqlite),
            postgres: explain("EXPLAIN", claim.postgres),
        };
        execute!(conn, NO_WHOLE_TABLES).expect("set");
        let (now, until, far) = (seconds(0), seconds(15), seconds(59));
        let lines: Vec<String> = match store.engine() {
            Engine::Sqlite => {
                let rows = fetch!(fetch_all, conn, (i64, i64, i64, String), plan, now, until, id(91), 64_i64, far, now);
                rows.expect("a plan").into_iter().map(|row| row.3).collect()
            }
            Engine::Postgres => {
                let rows = fetch!(fetch_all, conn, (String,), plan, now, until, id(91), 64_i64, far, now);
                rows.expect("a plan").into_iter().map(|row| row.0).collect()
            }
        };
        let plan = lines.join("\n");
        for index in ["queue_vehicle_wakes", "queue_vehicle_behind"] {
            assert!(plan.contains(index), "{index} is not used:\n{plan}");
        }
        for whole in ["SCAN vehicle_state\n", "Seq Scan on vehicle_state"] {
            assert!(!plan.contains(whole), "{plan}");
        }
        // In SQLite's words: all that have woken would be fetched and put in order, for the few that are claimed.
        assert!(!plan.contains("TERMS OF ORDER BY"), "{plan}");
    }

    async fn a_lease_that_ran_out_is_anothers_and_its_writes_change_nothing(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        at_rest(conn).await;
        done(conn, VAN, Some(seconds(0))).await;
        let claims = (claim(conn, 0, 91).await, claim(conn, 15, 92).await, claim(conn, 16, 93).await);
        assert_eq!(claims, (vec![(OURS, VAN)], vec![], vec![(OURS, VAN)]));
        let late = states::release(conn, OURS, VAN, id(91), None).await.expect("an answer");
        let kept = state(conn, VAN).await;
        assert_eq!((late, kept.claim_token, kept.wakes_at), (false, Some(id(93)), Some(seconds(0))));
        let own = states::release(conn, OURS, VAN, id(93), Some(seconds(50))).await.expect("an answer");
        let freed = state(conn, VAN).await;
        assert_eq!((own, freed.claim_token, freed.claimed_until), (true, None, None));
        assert_eq!(freed.wakes_at, Some(seconds(50)));
    }

    async fn the_next_waking_is_the_earliest_of_all_fleets(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let none = states::next_wake(conn).await.expect("an answer");
        done(conn, VAN, Some(seconds(30))).await;
        states::set_done(conn, THEIRS, THEIR_VAN, ENGINE, Some(seconds(20))).await.expect("done");
        assert_eq!((none, states::next_wake(conn).await.expect("an answer")), (None, Some(seconds(20))));
    }

    async fn racing_claims_never_share_a_vehicle(store: Store) {
        let mut tx = furnished(&store).await;
        for number in 0..97 {
            let label = format!("Van {number} of many");
            keep_vehicle(&mut tx.conn(), &vehicle(OURS, VehicleId(id(10_000 + number)), DEPOT, &label)).await;
        }
        tx.commit().await.expect("committed");
        let racers = (91..=94).map(|token| tokio::spawn(claim_forty(store.clone(), token)));
        let mut claimed = Vec::new();
        for racer in racers.collect::<Vec<_>>() {
            let own = racer.await.expect("no panic");
            assert!(own.len() <= 40, "{}", own.len());
            claimed.extend(own);
        }
        let number = claimed.len();
        claimed.sort_unstable();
        claimed.dedup();
        assert_eq!((number, claimed.len()), (100, 100), "every vehicle once");
    }
}

async fn claim_forty(store: Store, token: u128) -> Vec<(FleetId, VehicleId)> {
    let mut tx = store.writer(Reach::All).await.expect("a writer");
    let claimed = states::claim(&mut tx.conn(), seconds(0), lease(0, 15), id(token), 40).await;
    // Others get their turn while this claim is not yet committed.
    tokio::task::yield_now().await;
    tx.commit().await.expect("committed");
    claimed.expect("an answer")
}
