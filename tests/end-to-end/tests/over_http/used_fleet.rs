//! A fleet bought used, with nothing on record: one check a vehicle instead of a wall of overdue work.

use end_to_end::{Caller, Served, id_of, van};
use serde_json::{Value, json};

/// Registers a van whose past nobody knows, with the odometer as it was read on the yard.
async fn buy(manager: &Caller, label: &str, depot: &str, rulebook: &str, kilometres: u32, read_at: &str) -> String {
    let mut new = van(label, depot);
    new["rulebook"] = json!(rulebook);
    new["history_unknown"] = json!(true);
    let bought = id_of(&manager.make("/vehicles", &new).await);
    manager.read_odometer(&bought, read_at, kilometres).await;
    bought
}

fn of_kind<'a>(items: &'a [Value], kind: &str) -> Vec<&'a Value> {
    items.iter().filter(|item| item["kind"] == kind).collect()
}

testkit::on_both_engines! {
    /// Common practice, no source: what is not proven is asked about, not called overdue.
    async fn twelve_used_vans_without_papers_make_twelve_baseline_checks_and_nothing_overdue(store: Store) {
        let served = Served::in_store(store).await;
        let (depot, rulebook) = (served.world.depot.to_string(), served.world.rulebook.to_string());
        let now = served.now().to_rfc3339();
        let now = now.replace("+00:00", "Z");
        for number in 1..=12_u32 {
            let label = format!("Used {number}");
            buy(&served.manager, &label, &depot, &rulebook, 60_000 + number * 9_000, &now).await;
        }
        served.tick().await;
        let due = served.viewer.due_items().await;
        assert_eq!(of_kind(&due, "baseline").len(), 12, "{due:?}");
        assert_eq!(of_kind(&due, "rule").len(), 0, "unproven rules stand in the baseline check: {due:?}");
        let overdue: Vec<&Value> = due.iter().filter(|item| item["stage"] == "overdue").collect();
        assert_eq!(overdue, Vec::<&Value>::new());
        assert!(due.iter().all(|item| item["do_not_drive"] == false), "{due:?}");
        let rules = json!(["brake-fluid", "engine-oil"]);
        assert!(of_kind(&due, "baseline").iter().all(|item| item["covers"] == rules), "{due:?}");
    }
}
