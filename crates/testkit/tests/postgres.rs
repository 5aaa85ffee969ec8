//! The databases that tests get are their own, and their owner is nobody special.

use testkit::postgres::Database;

#[test]
fn two_databases_are_two() {
    let (one, other) = (Database::fresh(), Database::fresh());

    one.as_superuser("INSERT INTO installation (name, secret) VALUES ('mark', '\\x00')");

    assert_eq!(one.as_superuser("SELECT name FROM installation"), "mark");
    assert_eq!(other.as_superuser("SELECT name FROM installation"), "");
}

#[test]
fn the_owner_is_no_superuser_and_may_not_look_past_row_security() {
    let database = Database::fresh();
    let rights = database.as_superuser(
        "SELECT rolsuper, rolbypassrls, (SELECT datdba = r.oid FROM pg_database WHERE datname = CURRENT_DATABASE())
         FROM pg_roles AS r WHERE rolname = 'ostler'",
    );
    assert_eq!(rights, "f|f|t");
}

#[test]
fn a_database_is_gone_with_its_guard() {
    let gone = Database::fresh();
    let name = gone.as_superuser("SELECT CURRENT_DATABASE()");
    drop(gone);

    let found =
        Database::fresh().as_superuser(&format!("SELECT 1 FROM pg_database WHERE datname = '{name}'"));

    assert!(name.starts_with("test_"), "{name}");
    assert_eq!(found, "");
}
