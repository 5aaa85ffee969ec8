//! A handful of lives on each engine, and the seeds that once broke a law.

use simulation::{Lived, live};
use store::Engine;

fn lived(seed: u64, engine: Engine) -> Lived {
    live(seed, engine).unwrap_or_else(|violation| panic!("{violation}"))
}

#[test]
fn the_laws_hold_in_a_handful_of_lives_on_sqlite() {
    let lives: Vec<Lived> = (1..=6).map(|seed| lived(seed, Engine::Sqlite)).collect();
    assert!(lives.iter().map(|life| life.vehicle_years).sum::<f64>() > 1.0);
}

#[test]
fn the_laws_hold_in_a_few_lives_on_postgres() {
    let lives: Vec<Lived> = (1..=2).map(|seed| lived(seed, Engine::Postgres)).collect();
    assert!(lives.iter().all(|life| life.tally.of("letter: sent") > 0));
}

#[test]
fn a_life_on_sqlite_is_the_same_each_time() {
    assert_eq!(lived(7, Engine::Sqlite), lived(7, Engine::Sqlite));
}

/// A lease taken while the clock ran a day ahead kept its letter for that day.
#[test]
fn seed_6_on_sqlite_once_left_a_letter_leased_by_a_clock_that_was_wrong() {
    assert!(lived(6, Engine::Sqlite).steps > 0);
}

/// A depot moved to another zone, and before the scheduler's turn a courier sent what was so before.
#[test]
fn seed_209_on_sqlite_once_sent_what_was_no_longer_so() {
    assert!(lived(209, Engine::Sqlite).steps > 0);
}

/// A vehicle came while its rulebook was edited, and was judged by the old rules.
#[test]
fn seed_5_on_postgres_once_judged_a_newcomer_by_rules_that_were_gone() {
    assert!(lived(5, Engine::Postgres).steps > 0);
}
