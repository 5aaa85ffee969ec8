//! What one batch may hold.

use end_to_end::Served;
use flate2::Compression;
use flate2::write::GzEncoder;
use serde_json::{Value, json};
use std::io::Write;

fn zipped(plain: &[u8]) -> Vec<u8> {
    let mut encoder = GzEncoder::new(Vec::new(), Compression::best());
    encoder.write_all(plain).expect("memory takes what is written");
    encoder.finish().expect("memory takes what is written")
}

testkit::on_both_engines! {
    async fn two_hundred_entries_are_taken_and_one_more_is_refused(store: Store) {
        let served = Served::in_store(store).await;
        served.world.van("Van 1").await;
        let mut entries: Vec<Value> = (0..200).map(|_| served.entry("Van 1", &[])).collect();
        let results = served.technician.post_batch(&served.batch(&entries)).await;
        assert!(
            results.len() == 200 && results.iter().all(|result| result["outcome"] == "accepted"),
            "{results:?}"
        );
        entries = (0..201).map(|_| served.entry("Van 1", &[])).collect();
        let before = served.record().await;
        let told = served.technician.post("/inspection-batches", &served.batch(&entries)).await;
        told.problem(422, "invalid-content");
        assert_eq!(told.places(), ["/entries"]);
        assert_eq!(served.record().await, before);
    }

    async fn sixty_four_vehicles_are_taken_and_one_more_is_refused(store: Store) {
        let served = Served::in_store(store).await;
        let entries = |vehicles: usize| -> Vec<Value> {
            (0..vehicles).map(|number| served.entry(&format!("Van {number}"), &[])).collect()
        };
        let results = served.technician.post_batch(&served.batch(&entries(64))).await;
        assert!(results.len() == 64 && results.iter().all(|result| result["status"] == 404), "{results:?}");
        let told = served.technician.post("/inspection-batches", &served.batch(&entries(65))).await;
        told.problem(422, "invalid-content");
        assert_eq!(told.places(), ["/entries"]);
        let none = served.technician.post("/inspection-batches", &served.batch(&[])).await;
        assert_eq!((none.status, none.places()), (422, vec!["/entries".to_owned()]));
    }

    async fn a_note_of_64_kib_is_refused_alone_and_kept_raw(store: Store) {
        let served = Served::in_store(store).await;
        served.world.van("Van 1").await;
        let mut wordy = served.entry("Van 1", &[]);
        wordy["note"] = json!("n".repeat(64 * 1024));
        let fine = served.entry("Van 1", &[]);

        let results = served.technician.post_batch(&served.batch(&[wordy.clone(), fine])).await;

        assert_eq!((&results[0]["status"], &results[1]["status"]), (&json!(422), &json!(201)), "{results:?}");
        assert_eq!(results[0]["problem"]["errors"][0]["pointer"], "/note");
        let kept = served.viewer.list("/rejected-entries").await;
        assert_eq!(kept[0]["raw"], wordy);
    }

    async fn a_batch_may_come_compressed_but_not_grow_beyond_the_limit(store: Store) {
        let served = Served::in_store(store).await;
        served.world.van("Van 1").await;
        let batch = served.batch(&[served.entry("Van 1", &[])]).to_string();
        let send = |body: Vec<u8>| {
            let request = end_to_end::Request::new("POST", &served.technician.at("/inspection-batches"));
            let request =
                request.under_new_key().body("application/json", body).with("Content-Encoding", "gzip");
            let technician = served.technician.clone();
            async move { technician.send(request).await }
        };
        send(zipped(batch.as_bytes())).await.has_status(207);
        let bomb = zipped(format!("{batch}{}", " ".repeat(64 * 1024 * 1024)).as_bytes());
        assert!(bomb.len() < 1024 * 1024, "a bomb is small: {}", bomb.len());
        send(bomb).await.problem(413, "too-large");
        send(b"no gzip at all".to_vec()).await.problem(400, "malformed-request");
    }
}
