//! Access keys, stored answers and the installation's secrets.

use crate::world::{MANAGER, OURS, THEIRS, VAN, at, furnished, id, morning};
use model::{KeyId, KeyKind, Scope};
use store::idempotency::{Kept, Key};
use store::keys::{AccessKey, FoundKey};
use store::{idempotency, installation, keys};
use testkit::on_both_engines;

fn bare_key() -> AccessKey {
    AccessKey {
        id: KeyId(id(50)),
        kind: KeyKind::Script,
        person: None,
        vehicle: None,
        label: String::new(),
        scopes: Vec::new(),
        recorded_at: morning(),
        expires_at: None,
        revoked_at: None,
    }
}

fn full_key() -> AccessKey {
    AccessKey {
        id: KeyId(id(51)),
        kind: KeyKind::Device,
        person: Some(MANAGER),
        vehicle: Some(VAN),
        label: "Phone of the north round".to_owned(),
        scopes: vec![Scope::Read, Scope::Measure],
        recorded_at: morning(),
        expires_at: Some(at("2028-03-01T00:00:00Z")),
        revoked_at: Some(at("2027-06-01T12:00:00.5Z")),
    }
}

fn asked(key: &str) -> Key {
    let (method, path_template) = ("POST".to_owned(), "/v1/fleets/{fleet}/vehicles".to_owned());
    Key { holder: id(50), method, path_template, key: key.to_owned() }
}

fn answered() -> Kept {
    Kept {
        body_hash: vec![0, 255, 7],
        status: 201,
        location: Some("/v1/x".to_owned()),
        etag: Some("\"1\"".to_owned()),
        content_type: "application/json".to_owned(),
        body: Some("{}".to_owned()),
        recorded_at: morning(),
    }
}

on_both_engines! {
    async fn a_key_comes_back_as_it_was(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        for (key, hash) in [(bare_key(), [1; 32]), (full_key(), [2; 32])] {
            keys::insert(conn, OURS, &key, &hash).await.expect("kept");
            assert_eq!(keys::find(conn, OURS, key.id).await.expect("an answer"), Some(key));
        }
    }

    async fn a_key_is_found_by_its_hash_with_its_fleet(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        keys::insert(conn, THEIRS, &bare_key(), &[1; 32]).await.expect("kept");
        let found = keys::by_hash(conn, &[1; 32]).await.expect("an answer");
        let expected = FoundKey { fleet: THEIRS, secret_hash: vec![1; 32], key: bare_key() };
        assert_eq!((found, keys::by_hash(conn, &[9; 32]).await.expect("an answer")), (Some(expected), None));
    }

    async fn two_keys_of_one_hash_are_refused(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        keys::insert(conn, OURS, &bare_key(), &[1; 32]).await.expect("kept");
        let twin = AccessKey { id: KeyId(id(52)), ..bare_key() };
        let refusal = keys::insert(conn, OURS, &twin, &[1; 32]).await.expect_err("taken");
        assert!(refusal.is_unique(), "{refusal:?}");
    }

    async fn a_key_is_revoked_once(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        keys::insert(conn, OURS, &bare_key(), &[1; 32]).await.expect("kept");
        let first = keys::revoke(conn, OURS, bare_key().id, morning()).await.expect("an answer");
        let second = keys::revoke(conn, OURS, bare_key().id, at("2027-04-01T00:00:00Z")).await.expect("an answer");
        let kept = keys::find(conn, OURS, bare_key().id).await.expect("an answer").expect("the key");
        assert_eq!((first, second, kept.revoked_at), (true, false, Some(morning())));
    }

    async fn an_answer_that_names_somebody_can_be_forgotten(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let naming = r#"{"ring": "Ada \"Quill\" Örn"}"#.to_owned();
        idempotency::insert(conn, OURS, &asked("a"), &Kept { body: Some(naming), ..answered() }).await.expect("kept");
        idempotency::insert(conn, OURS, &asked("b"), &answered()).await.expect("kept");
        for (named, forgotten) in [("", 0), ("Ada % Quill", 0), ("Ada \"Quill\" Örn", 1), ("Ada \"Quill\" Örn", 0)] {
            assert_eq!(idempotency::forget_naming(conn, OURS, named).await.expect("an answer"), forgotten, "{named}");
        }
        let left = idempotency::find(conn, OURS, &asked("b")).await.expect("an answer");
        assert_eq!(left, Some(answered()));
        let bare = idempotency::find(conn, OURS, &asked("a")).await.expect("an answer").expect("its key stays");
        assert_eq!(bare.body, None);
    }

    async fn a_stored_answer_comes_back_as_it_was(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let bare = Kept { location: None, etag: None, body: None, ..answered() };
        for (key, answer) in [(asked("full"), answered()), (asked("bare"), bare)] {
            idempotency::insert(conn, OURS, &key, &answer).await.expect("kept");
            assert_eq!(idempotency::find(conn, OURS, &key).await.expect("an answer"), Some(answer));
        }
    }

    async fn a_request_has_one_answer(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        idempotency::insert(conn, OURS, &asked("a"), &answered()).await.expect("kept");
        let refusal = idempotency::insert(conn, OURS, &asked("a"), &answered()).await.expect_err("taken");
        assert!(refusal.is_unique(), "{refusal:?}");
    }

    async fn another_holder_method_path_or_key_is_another_request(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        idempotency::insert(conn, OURS, &asked("a"), &answered()).await.expect("kept");
        let others = [
            Key { holder: id(51), ..asked("a") },
            Key { method: "PUT".to_owned(), ..asked("a") },
            Key { path_template: "/".to_owned(), ..asked("a") },
            asked("b"),
        ];
        for other in others {
            assert_eq!(idempotency::find(conn, OURS, &other).await.expect("an answer"), None, "{other:?}");
        }
    }

    async fn old_answers_lose_their_body_and_keep_their_hash(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let later = at("2027-03-01T08:00:00.123457Z");
        idempotency::insert(conn, OURS, &asked("old"), &answered()).await.expect("kept");
        idempotency::insert(conn, OURS, &asked("new"), &Kept { recorded_at: later, ..answered() }).await.expect("kept");
        let forgotten = idempotency::forget_answers(conn, OURS, later).await.expect("an answer");
        let old = idempotency::find(conn, OURS, &asked("old")).await.expect("an answer").expect("kept");
        let new = idempotency::find(conn, OURS, &asked("new")).await.expect("an answer").expect("kept");
        assert_eq!((forgotten, old.body, old.body_hash), (1, None, vec![0, 255, 7]));
        assert_eq!(new.body.as_deref(), Some("{}"));
    }

    async fn of_two_first_secrets_the_first_stays(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let none = installation::secret(conn, "seal").await.expect("an answer");
        installation::insert_secret(conn, "seal", &[0; 32]).await.expect("kept");
        installation::insert_secret(conn, "seal", &[1; 32]).await.expect("passed over");
        let kept = installation::secret(conn, "seal").await.expect("an answer");
        assert_eq!((none, kept), (None, Some(vec![0; 32])));
    }
}
