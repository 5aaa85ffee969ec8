//! R44: the text of a key is shown once and lies nowhere.

use end_to_end::{Request, Served, id_of};
use serde_json::json;
use std::path::Path;

/// Whether a text stands in any file of a folder.
fn lies_in(folder: &Path, text: &str) -> bool {
    let files = std::fs::read_dir(folder)
        .expect("the folder of the database")
        .map(|file| file.expect("a file").path());
    let mut contents = files.filter(|path| path.is_file()).map(|path| std::fs::read(path).expect("a file"));
    contents.any(|bytes| bytes.windows(text.len()).any(|window| window == text.as_bytes()))
}

#[test]
fn r44_the_text_of_a_key_does_not_lie_in_the_database_file() {
    testkit::tell(async {
        let file = testkit::sqlite::sqlite_file();
        let store = file.open().await;
        let served = Served::in_store(store.clone()).await;
        let new = json!({"kind": "device", "label": "Phone of the early shift", "scopes": ["read"]});
        let request = Request::post(&served.chief.at("/access-keys"), &new);
        let text = served.chief.send(request.clone()).await.with_status(201).json()["text"].clone();
        let text = text.as_str().expect("the text of a new key");
        served.chief.with_key(text).get("/vehicles").await.has_status(200);

        let again = served.chief.send(request).await.with_status(201);

        assert_eq!((again.header("idempotency-replayed"), &again.json()["text"]), ("true", &json!(null)));
        let folder = file.directory().to_owned();
        assert!(lies_in(&folder, "Phone of the early shift"), "this looks into the wrong files");
        assert!(!lies_in(&folder, text) && !lies_in(&folder, &text[14..40]), "the key lies in the file");
        store.close().await;
        assert!(
            !lies_in(&folder, text) && !lies_in(&folder, &text[14..40]),
            "the key lies in the closed file"
        );
    });
}

testkit::on_both_engines! {
    async fn r44_a_revoked_key_is_refused_from_the_next_request_on_at_every_replica(store: Store) {
        let served = Served::in_store(store).await;
        let new = json!({"kind": "device", "label": "Lost phone", "scopes": ["read"]});
        let made = served.chief.make("/access-keys", &new).await;
        let phone = served.chief.with_key(made["text"].as_str().expect("the text of a new key"));
        let elsewhere = served.at_another_replica(&phone);
        phone.get("/vehicles").await.has_status(200);
        elsewhere.get("/vehicles").await.has_status(200);

        let place = served.chief.at(&format!("/access-keys/{}", id_of(&made["key"])));
        served.chief.send(Request::new("DELETE", &place)).await.has_status(204);

        phone.get("/vehicles").await.problem(401, "not-signed-in");
        elsewhere.get("/vehicles").await.problem(401, "not-signed-in");
        let listed = served.chief.list("/access-keys").await;
        assert!(
            listed.iter().any(|key| key["label"] == "Lost phone" && key["revoked_at"] == json!(served.now()))
        );
    }

    async fn r44_a_key_is_listed_without_its_text(store: Store) {
        let served = Served::in_store(store).await;
        let new = json!({"kind": "device", "label": "Phone", "scopes": ["read"]});
        let made = served.chief.make("/access-keys", &new).await;
        let text = made["text"].as_str().expect("the text of a new key");
        let read = served.chief.get(&format!("/access-keys/{}", id_of(&made["key"]))).await;
        assert_eq!(read.json(), made["key"]);
        let listed = served.chief.get("/access-keys").await.text();
        assert!(
            !listed.contains(text) && !read.text().contains(text) && !listed.contains("secret"),
            "{listed}"
        );
    }
}
