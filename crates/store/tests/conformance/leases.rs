//! Leases: bounded slices of a large fleet, and workers whose lease ran out.

use crate::world::{OURS, VAN, at, furnished, id};
use chrono::{DateTime, Utc};
use model::LetterState;
use std::collections::BTreeSet;
use store::letters::Settled;
use store::{Conn, Lease, Sql, execute, fetch, id_list, jobs, leases, letters, statements, states};
use testkit::on_both_engines;

statements! {
    /// Many vehicles like one that is there.
    COPY_VEHICLE = {
        "INSERT INTO vehicle (fleet_id, id, vin, make, model, model_year, powertrain, gross_mass_kg, tags, in_service_on,"
        "in_service_odometer_mm, history_unknown, acquired_on, odometer_unit, placard, retired_on, version, recorded_at,"
        "act_id) SELECT v.fleet_id, n.id, NULL, v.make, v.model, v.model_year, v.powertrain, v.gross_mass_kg, v.tags,"
        "v.in_service_on, v.in_service_odometer_mm, v.history_unknown, v.acquired_on, v.odometer_unit, v.placard,"
        "v.retired_on, v.version, v.recorded_at, v.act_id FROM vehicle AS v CROSS JOIN"
        sqlite: "(SELECT unhex(value) AS id FROM json_each($2)) AS n"
        postgres: "(SELECT value::uuid AS id FROM json_array_elements_text($2::json)) AS n"
        "WHERE v.id = $1"
    }
    WAKE_ALL = {
        "INSERT INTO vehicle_state (fleet_id, vehicle_id, needed_version, done_version, engine_version, wakes_at)"
        "SELECT v.fleet_id, v.id, 1, 1, '1', $1 FROM vehicle AS v WHERE NOT EXISTS (SELECT 1 FROM vehicle_state AS s"
        "WHERE s.fleet_id = v.fleet_id AND s.vehicle_id = v.id)"
    }
    VEHICLES = {
        "SELECT vehicle_id, claim_token, claimed_until, wakes_at FROM vehicle_state ORDER BY vehicle_id"
    }
    LETTERS = {
        "SELECT id, state, attempts, claim_token, claimed_until, next_attempt_at, last_reply FROM letter ORDER BY id"
    }
}

/// The design's numbers, not the program's.
const SLICE: u32 = 64;

fn minute(number: u32) -> DateTime<Utc> {
    at(&format!("2027-03-01T09:{number:02}:00Z"))
}

fn lease(from: u32) -> Lease {
    Lease { at: minute(from), until: minute(from + 15) }
}

/// Everything that a worker may write to.
async fn record(conn: &mut Conn<'_>) -> String {
    type Vehicle = (uuid::Uuid, Option<uuid::Uuid>, Option<DateTime<Utc>>, Option<DateTime<Utc>>);
    type Letter = (
        uuid::Uuid,
        String,
        i64,
        Option<uuid::Uuid>,
        Option<DateTime<Utc>>,
        Option<DateTime<Utc>>,
        Option<String>,
    );
    let vehicles = fetch!(fetch_all, conn, Vehicle, VEHICLES).expect("vehicles");
    let letters = fetch!(fetch_all, conn, Letter, LETTERS).expect("letters");
    format!("{vehicles:?} {letters:?}")
}

/// The statements that write under a claim, or under a run that was begun, by the end of their names.
fn under_a_claim() -> BTreeSet<&'static str> {
    let writes = |sql: &&Sql| ["UPDATE", "DELETE", "INSERT"].iter().any(|verb| sql.sqlite.starts_with(verb));
    let carries = |sql: &&Sql| {
        let condition = sql.sqlite.rsplit_once(" WHERE ").map_or("", |(_, condition)| condition);
        condition.contains("claim_token = $") || condition.contains("started_at = $")
    };
    let short = |sql: &Sql| sql.name.trim_start_matches("store::");
    store::catalogue().filter(writes).filter(carries).map(short).collect()
}

on_both_engines! {
    async fn r10_five_thousand_vehicles_that_wake_at_once_are_claimed_in_slices_and_each_once(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let ids = id_list((100_000..104_998).map(id));
        execute!(conn, COPY_VEHICLE, VAN.0, ids).expect("copied");
        execute!(conn, WAKE_ALL, minute(0)).expect("awake");
        let (mut claimed, mut slices) = (BTreeSet::new(), Vec::new());
        for token in 0..200 {
            let slice = states::claim(conn, minute(1), lease(1), id(500_000 + token), SLICE).await.expect("claims");
            if slice.is_empty() {
                break;
            }
            slices.push(slice.len());
            claimed.extend(slice);
        }
        assert!(claimed.len() >= 5_000, "{}", claimed.len());
        assert!(slices.iter().all(|slice| *slice <= 64), "{slices:?}");
        assert_eq!(slices.iter().sum::<usize>(), claimed.len(), "each once");
    }

    /// Every statement that carries a claim token is found in the catalogue: a new one fails this test until it is run here.
    async fn r09_a_worker_whose_lease_ran_out_changes_no_row(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let letter = crate::letters::letter(70);
        letters::insert(conn, OURS, &letter).await.expect("kept");
        states::raise_needed(conn, OURS, &[VAN]).await.expect("raised");
        let due_at = minute(0);
        let refit = jobs::Job { code: "refit", expression: "0 3 1 * *", zone: "UTC", missed: "once" };
        jobs::plan(conn, OURS, &refit, due_at).await.expect("planned");
        let (late, next) = (id(91), id(92));
        for (token, at) in [(late, 0), (next, 40)] {
            states::claim(conn, minute(at), lease(at), token, 9).await.expect("claims");
            assert_eq!(letters::claim(conn, minute(at), lease(at), token, 9).await.expect("claims").len(), 1);
            let abandoned = minute(at) - chrono::TimeDelta::minutes(30);
            assert!(jobs::begin(conn, OURS, "refit", due_at, minute(at), abandoned).await.expect("begun"));
        }
        let before = record(conn).await;
        let settled =
            Settled { state: LetterState::Sent, reply: None, next_attempt_at: None, sent_at: Some(minute(41)) };
        let mut tried = BTreeSet::new();
        for name in under_a_claim() {
            let now = minute(41);
            let changed = match name {
                "states::RELEASE" => states::release(conn, OURS, VAN, late, None).await,
                "letters::claims::PUT_BACK" => letters::put_back(conn, OURS, letter.id, late, now).await,
                "letters::claims::START" => letters::start_attempt(conn, OURS, letter.id, late, 1, now, now).await,
                "letters::claims::HOLD" => letters::hold(conn, OURS, letter.id, late, "421", now).await,
                "letters::claims::LIGHTEN" => letters::lighten(conn, OURS, letter.id, late, b"lighter").await,
                "letters::claims::SETTLE" => letters::settle(conn, OURS, letter.id, late, &settled).await,
                "jobs::END" => jobs::end(conn, OURS, "refit", due_at, minute(0), now, "late").await,
                other => panic!("{other} carries a claim: say here how it is run"),
            };
            assert!(!changed.expect("an answer"), "{name} changed something");
            tried.insert(name);
        }
        assert_eq!(tried.len(), 7, "{tried:?}");
        assert_eq!(record(conn).await, before);
        let run = jobs::runs(conn, OURS, "refit").await.expect("runs");
        assert_eq!((run[0].outcome.as_str(), run[0].started_at), ("running", Some(minute(40))));
        assert!(states::release(conn, OURS, VAN, next, None).await.expect("an answer"), "the other goes on");
    }

    /// A letter that was being handed over may have gone: it is given up as any other is, only without the wait.
    async fn what_a_dead_process_had_in_hand_is_taken_up_at_once(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        for number in [70, 71] {
            letters::insert(conn, OURS, &crate::letters::letter(number)).await.expect("kept");
        }
        let in_hand = letters::claim(conn, minute(0), lease(0), id(91), 9).await.expect("claims");
        let vehicles = states::claim(conn, minute(0), lease(0), id(91), 9).await.expect("claims");
        assert_eq!((in_hand.len(), vehicles.len()), (2, 3));
        let sending = in_hand[0].id;
        assert!(letters::start_attempt(conn, OURS, sending, id(91), 1, minute(0), minute(0)).await.expect("an answer"));
        assert_eq!(letters::claim(conn, minute(1), lease(1), id(92), 9).await.expect("claims"), []);
        let refit = jobs::Job { code: "refit", expression: "0 3 1 * *", zone: "UTC", missed: "once" };
        jobs::plan(conn, OURS, &refit, minute(0)).await.expect("planned");
        let [long_before, begun] = [minute(0) - chrono::TimeDelta::minutes(30), minute(0)];
        assert!(jobs::begin(conn, OURS, "refit", minute(0), begun, long_before).await.expect("begun"));
        assert!(!jobs::begin(conn, OURS, "refit", minute(0), minute(1), long_before).await.expect("an answer"));

        let ended = [leases::end_all(conn).await.expect("ended"), leases::end_all(conn).await.expect("ended")];
        assert_eq!(ended, [6, 0], "each lease ends, and once");
        assert!(jobs::begin(conn, OURS, "refit", minute(0), minute(1), long_before).await.expect("begun again"));
        assert_eq!(letters::give_up_sending(conn, minute(1), lease(1), minute(9)).await.expect("given up"), 1);
        let again = letters::claim(conn, minute(1), lease(1), id(92), 9).await.expect("claims");
        assert_eq!(again.iter().map(|letter| letter.id).collect::<Vec<_>>(), [in_hand[1].id]);
        assert_eq!(states::claim(conn, minute(1), lease(1), id(92), 9).await.expect("claims"), vehicles);
        let given_up = letters::find(conn, OURS, sending).await.expect("an answer").expect("it is there");
        assert_eq!((given_up.state, given_up.next_attempt_at), (LetterState::Uncertain, Some(minute(9))));
    }
}
