//! What people answer to reminders, who is told when they do not, and recurring work.

use chrono::TimeDelta;
use end_to_end::{Caller, Served};
use model::Scope;
use serde_json::{Value, json};

/// The first notice under a reminder about an item whose key begins so.
async fn notice(caller: &Caller, reminder: &str, item: &str) -> Value {
    let all = caller.list("/notices").await;
    let found = all.iter().find(|notice| {
        notice["reminder"] == reminder && notice["item"].as_str().is_some_and(|key| key.starts_with(item))
    });
    found.cloned().unwrap_or_else(|| panic!("no {reminder} of {item} among {all:?}"))
}

fn place(notice: &Value, verb: &str) -> String {
    format!("/notices/{}:{verb}", notice["id"].as_str().expect("an id"))
}

testkit::on_both_engines! {
    async fn r24_a_technician_acknowledges_and_nobody_else_is_told(store: Store) {
        let served = Served::in_store(store).await;
        served.world.van("Van 1").await;
        let bald = served.entry("Van 1", &[json!(["tread-depth", "front_left", "lowest", 1.0, "mm"])]);
        served.technician.post_batch(&served.batch(&[bald])).await;
        served.tick().await;
        let told = served.letters().len();
        let first = notice(&served.viewer, "do_not_drive", "condition:").await;

        let answer = served.technician.post(&place(&first, "acknowledge"), &json!({"note": "Key is in the safe."})).await;
        let said = answer.with_status(200).json();

        assert_eq!((&said["item"], &said["cycle"]), (&first["item"], &first["cycle"]));
        assert_eq!(said["note"], "Key is in the safe.");
        let next = notice(&served.viewer, "do_not_drive_next", "condition:").await;
        assert_eq!(next["state"], "withdrawn");
        served.world.clock.pass(TimeDelta::hours(1));
        served.tick().await;
        assert_eq!(served.letters().len(), told);
        assert_eq!(served.viewer.due_items().await[0]["do_not_drive"], true, "it stays so");
    }

    async fn a_manager_puts_a_reminder_off_but_not_one_that_cannot_wait(store: Store) {
        let served = Served::in_store(store).await;
        let manager = served.caller_with(&[Scope::Read, Scope::Manage]).await;
        let van = served.world.van("Van 1").await;
        served.world.reading(van, "2027-02-25T08:00:00Z", 27_000.0).await;
        served.tick_scheduler().await;
        let oil = notice(&manager, "overdue", "rule:engine-oil").await;
        let late = json!({"until": "2027-02-01", "reason": "Parts."});
        let refused = manager.post(&place(&oil, "postpone"), &late).await;
        refused.problem(422, "invalid-content");
        assert_eq!(refused.places(), ["/until"]);

        let later = json!({"until": "2027-03-15", "reason": "Parts come on the 14th."});
        let said = manager.post(&place(&oil, "postpone"), &later).await.with_status(200).json();

        assert_eq!((&said["item"], &said["until"]), (&oil["item"], &json!("2027-03-15")));
        assert_eq!(notice(&manager, "overdue", "rule:engine-oil").await["state"], "withdrawn");
        let bald = served.entry("Van 1", &[json!(["tread-depth", "front_left", "lowest", 1.0, "mm"])]);
        served.technician.post_batch(&served.batch(&[bald])).await;
        served.tick_scheduler().await;
        let stopped = notice(&manager, "do_not_drive", "condition:").await;
        manager.post(&place(&stopped, "postpone"), &later).await.has_status(409);
    }

    async fn r13_recurring_work_shows_its_next_five_runs_in_local_time_and_why(store: Store) {
        let served = Served::in_store(store).await;
        let jobs = served.viewer.list("/jobs").await;
        let codes: Vec<&Value> = jobs.iter().map(|job| &job["code"]).collect();
        assert_eq!(codes, ["clear-out", "day-digest", "refit", "week-digest"]);
        let local: Vec<Value> =
            jobs[2]["next"].as_array().expect("runs").iter().map(|run| run["local"].clone()).collect();
        let expected = ["04", "05", "06", "07", "08"].map(|month| format!("2027-{month}-01T03:00:00+00:00"));
        assert_eq!(json!(local), json!(expected));
        let says = jobs[2]["says"].as_str().expect("words");
        assert!(says.contains("0 3 1 * *") && says.contains("UTC"), "{says}");

        served.world.clock.set(testkit::world::instant("2027-03-07T10:00:00Z"));
        served.tick_scheduler().await;
        let after = served.viewer.list("/jobs").await;
        let run = &after[3]["runs"][0];
        assert_eq!((&run["due_at"], &run["outcome"]), (&jobs[3]["next"][0]["at"], &json!("done")), "as it was foretold");
        assert_eq!(after[3]["next"][0], jobs[3]["next"][1]);
    }

    async fn a_fleet_says_who_is_told_but_not_of_what_can_hurt(store: Store) {
        let served = Served::in_store(store).await;
        let admin = served.caller_with(&[Scope::Read, Scope::Admin]).await;
        let tag = admin.get("/policy").await.with_status(200).header("etag").to_owned();
        let wrong = json!({"told": [
            {"of": "duties", "reminder": "do_not_drive", "to": []},
            {"of": "duties", "reminder": "someday", "to": ["manager"]},
        ]});
        let refused = admin.patch("/policy", &tag, &wrong).await;
        refused.problem(422, "invalid-content");
        assert_eq!(refused.places(), ["/told/0/reminder", "/told/1/reminder"]);
        let wanted = json!({"told": [{"of": "duties", "reminder": "overdue", "to": ["technician"]}]});
        admin.patch("/policy", &tag, &wanted).await.has_status(200);

        let van = served.world.van("Van 1").await;
        served.world.reading(van, "2027-02-25T08:00:00Z", 27_000.0).await;
        served.tick_scheduler().await;

        let oil = notice(&admin, "overdue", "rule:engine-oil").await;
        assert_eq!(oil["person"], json!(served.world.technician.0));
    }
}
