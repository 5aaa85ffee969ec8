//! A migration finds the rows of the version before it, whosever they are.

use model::{Fleet, FleetId, Policy, Weekdays, WorkshopId};
use store::{Reach, Store, execute, fleets, statements, workshops};
use testkit::on_both_engines;
use uuid::Uuid;

statements! {
    NO_ENDS = { "DROP TABLE stay_end" }
    NO_METERS = { "DROP TABLE meter_replacement" }
    NO_INDICATORS = { "DROP TABLE indicator_reading" }
    NO_ANSWERS = { "DROP TABLE measurement_answer" }
    NO_HOUR_JUDGEMENTS = { "DROP TABLE hour_judgement" }
    NO_WARRANTY_WORK = { "ALTER TABLE workshop DROP COLUMN warranty_work" }
    NO_WEEKDAYS = { "ALTER TABLE workshop DROP COLUMN working_weekdays" }
    NOT_RUN = { "DELETE FROM _sqlx_migrations WHERE version = 2" }
    NOT_THERE = { "DELETE FROM schema_version WHERE version = 2" }
    ADD_WORKSHOP = {
        "INSERT INTO workshop (fleet_id, id, name, kind, lead_days, version, recorded_at)"
        "VALUES ($1, $2, 'Quayside', $3, 5, 1, $4)"
    }
}

const FLEET: FleetId = FleetId(Uuid::from_u128(1));
const DEALER: WorkshopId = WorkshopId(Uuid::from_u128(30));
const OWN_BAY: WorkshopId = WorkshopId(Uuid::from_u128(31));

/// The store as the first schema left it, with a dealer and a bay.
async fn as_the_first_schema_left_it(store: &Store) {
    let at: chrono::DateTime<chrono::Utc> = "2027-03-01T08:00:00Z".parse().expect("an instant");
    let mut tx = store.writer(Reach::All).await.expect("a writer");
    let conn = &mut tx.conn();
    let tables = [NO_ENDS, NO_METERS, NO_INDICATORS, NO_ANSWERS, NO_HOUR_JUDGEMENTS];
    for step in tables.into_iter().chain([NO_WARRANTY_WORK, NO_WEEKDAYS, NOT_RUN, NOT_THERE]) {
        execute!(conn, step).expect("undone");
    }
    let fleet = Fleet { id: FLEET, name: "Ours".to_owned(), sequence: 0 };
    fleets::insert(conn, &fleet, &Policy::default(), at).await.expect("a fleet");
    for (id, kind) in [(DEALER, "dealer"), (OWN_BAY, "own_bay")] {
        execute!(conn, ADD_WORKSHOP, FLEET.0, id.0, kind, at).expect("a workshop");
    }
    tx.commit().await.expect("committed");
}

on_both_engines! {
    async fn dealers_on_record_before_make_warranty_good_and_others_do_not(store: Store) {
        as_the_first_schema_left_it(&store).await;
        store.migrate().await.expect("migrated");
        let mut tx = store.reader(Reach::Fleet(FLEET)).await.expect("a reader");
        let all = workshops::all(&mut tx.conn(), FLEET).await.expect("workshops");
        let seen: Vec<_> = all.iter().map(|one| (one.id, one.warranty_work, one.working_weekdays)).collect();
        let weekdays = Weekdays::MONDAY_TO_FRIDAY;
        assert_eq!(seen, [(DEALER, true, weekdays), (OWN_BAY, false, weekdays)]);
    }
}
