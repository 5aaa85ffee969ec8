//! Addresses no letter goes to.

use crate::world::{OURS, THEIRS, at, furnished, morning};
use store::suppressions::{self, Suppressed};
use testkit::on_both_engines;

fn refused(hash: u8, reason: &str, when: &str) -> Suppressed {
    Suppressed { address_hash: vec![hash; 32], reason: reason.to_owned(), suppressed_at: at(when) }
}

on_both_engines! {
    async fn an_address_is_suppressed_in_its_fleet_until_it_is_released(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let first = refused(1, "550 unknown", "2027-03-01T09:00:00Z");
        suppressions::suppress(conn, OURS, &first).await.expect("kept");

        assert_eq!(suppressions::hold(conn, OURS, &[1; 32]).await.expect("an answer"), Some(first.clone()));
        assert_eq!(suppressions::hold(conn, OURS, &[2; 32]).await.expect("an answer"), None);
        assert_eq!(suppressions::hold(conn, THEIRS, &[1; 32]).await.expect("an answer"), None);
        assert_eq!(suppressions::all(conn, OURS).await.expect("an answer"), vec![first]);
        assert_eq!(suppressions::all(conn, THEIRS).await.expect("an answer"), vec![]);
        assert!(!suppressions::release(conn, THEIRS, &[1; 32], morning()).await.expect("an answer"));
        assert!(suppressions::release(conn, OURS, &[1; 32], morning()).await.expect("an answer"));
        assert!(!suppressions::release(conn, OURS, &[1; 32], morning()).await.expect("an answer"), "once");
        assert_eq!(suppressions::hold(conn, OURS, &[1; 32]).await.expect("an answer"), None);
        assert_eq!(suppressions::all(conn, OURS).await.expect("an answer"), vec![]);
    }

    async fn an_address_refused_again_is_so_since_the_first_time_and_after_a_release_since_then(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        for (reason, when) in [("550 one", "2027-03-01T09:00:00Z"), ("550 two", "2027-03-02T09:00:00Z")] {
            suppressions::suppress(conn, OURS, &refused(1, reason, when)).await.expect("kept");
        }
        let again = refused(1, "550 two", "2027-03-01T09:00:00Z");
        assert_eq!(suppressions::all(conn, OURS).await.expect("an answer"), vec![again]);
        suppressions::release(conn, OURS, &[1; 32], at("2027-03-03T09:00:00Z")).await.expect("released");
        let anew = refused(1, "550 three", "2027-03-04T09:00:00Z");
        suppressions::suppress(conn, OURS, &anew).await.expect("kept");
        assert_eq!(suppressions::all(conn, OURS).await.expect("an answer"), vec![anew]);
    }
}
