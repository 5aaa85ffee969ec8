//! The second wall on PostgreSQL: a statement that forgets its fleet still sees no other's rows.

use model::{Fleet, FleetId, Policy};
use store::{Reach, Store, StoreError, execute, fetch, fleets, statements};
use testkit::postgres::Database;
use uuid::Uuid;

statements! {
    /// No fleet named, on purpose.
    EVERY_DEPOT = { "SELECT name FROM depot ORDER BY name" }
    ADD_DEPOT = {
        "INSERT INTO depot (fleet_id, id, name, zone, jurisdiction, version, recorded_at)"
        "VALUES ($1, $2, $3, 'Europe/Paris', 'eu', 1, $4)"
    }
    /// No fleet named, on purpose.
    RENAME_EVERY_DEPOT = { "UPDATE depot SET name = 'Taken'" }
    /// No fleet named, on purpose.
    DELETE_EVERY_DEPOT = { "DELETE FROM depot" }
}

const OURS: FleetId = FleetId(Uuid::from_u128(1));
const THEIRS: FleetId = FleetId(Uuid::from_u128(2));

fn at() -> chrono::DateTime<chrono::Utc> {
    "2027-03-01T08:00:00Z".parse().expect("an instant")
}

async fn add_depot(store: &Store, reach: Reach, fleet: FleetId, name: &str) -> Result<u64, StoreError> {
    let mut tx = store.writer(reach).await?;
    let id = Uuid::from_u128(fleet.0.as_u128() * 100 + name.len() as u128);
    let added = execute!(&mut tx.conn(), ADD_DEPOT, fleet.0, id, name, at())?;
    tx.commit().await?;
    Ok(added)
}

async fn depots(store: &Store, reach: Reach) -> Vec<String> {
    let mut tx = store.reader(reach).await.expect("a reader");
    let rows = fetch!(fetch_all, &mut tx.conn(), (String,), EVERY_DEPOT).expect("names");
    rows.into_iter().map(|(name,)| name).collect()
}

/// Two fleets with a depot each.
async fn two_fleets(store: &Store) {
    for (id, depot) in [(OURS, "Our yard"), (THEIRS, "Their yard")] {
        let mut tx = store.writer(Reach::All).await.expect("a writer");
        let fleet = Fleet { id, name: id.to_string(), sequence: 0 };
        fleets::insert(&mut tx.conn(), &fleet, &Policy::default(), at()).await.expect("a fleet");
        tx.commit().await.expect("committed");
        add_depot(store, Reach::All, id, depot).await.expect("a depot");
    }
}

fn behind_the_wall(act: impl AsyncFnOnce(Store)) {
    let database = Database::fresh();
    testkit::tell(async {
        let store = database.open().await;
        two_fleets(&store).await;
        act(store).await;
    });
}

#[test]
fn a_statement_that_forgets_the_fleet_sees_its_own_rows_only() {
    behind_the_wall(async |store| {
        assert_eq!(depots(&store, Reach::Fleet(OURS)).await, ["Our yard"]);
        assert_eq!(depots(&store, Reach::Fleet(THEIRS)).await, ["Their yard"]);
        assert_eq!(depots(&store, Reach::Fleet(FleetId(Uuid::nil()))).await, Vec::<String>::new());
        assert_eq!(depots(&store, Reach::All).await, ["Our yard", "Their yard"]);
    });
}

#[test]
fn a_fleet_sees_itself_among_fleets_and_no_other() {
    behind_the_wall(async |store| {
        let mut tx = store.reader(Reach::Fleet(OURS)).await.expect("a reader");
        let seen = fleets::all(&mut tx.conn()).await.expect("fleets");
        assert_eq!(seen.into_iter().map(|fleet| fleet.id).collect::<Vec<_>>(), [OURS]);
    });
}

#[test]
fn nothing_can_be_written_into_another_fleet() {
    behind_the_wall(async |store| {
        let refusal = add_depot(&store, Reach::Fleet(OURS), THEIRS, "Smuggled").await;
        assert!(matches!(refusal, Err(StoreError::Other { .. })), "{refusal:?}");
        assert_eq!(depots(&store, Reach::All).await, ["Our yard", "Their yard"]);
    });
}

#[test]
fn a_change_that_forgets_the_fleet_touches_its_own_rows_only() {
    behind_the_wall(async |store| {
        let mut tx = store.writer(Reach::Fleet(OURS)).await.expect("a writer");
        let renamed = execute!(&mut tx.conn(), RENAME_EVERY_DEPOT).expect("renamed");
        tx.commit().await.expect("committed");
        let mut tx = store.writer(Reach::Fleet(THEIRS)).await.expect("a writer");
        let deleted = execute!(&mut tx.conn(), DELETE_EVERY_DEPOT).expect("deleted");
        tx.commit().await.expect("committed");
        assert_eq!((renamed, deleted), (1, 1));
        assert_eq!(depots(&store, Reach::All).await, ["Taken"]);
    });
}

#[test]
fn the_reach_goes_with_its_transaction_and_not_with_the_connection() {
    behind_the_wall(async |store| {
        // One after the other these share a connection of the pool.
        let mut seen = Vec::new();
        for reach in [Reach::All, Reach::Fleet(OURS), Reach::All, Reach::Fleet(THEIRS)] {
            seen.push(depots(&store, reach).await.len());
        }
        assert_eq!(seen, [2, 1, 2, 1]);
    });
}
