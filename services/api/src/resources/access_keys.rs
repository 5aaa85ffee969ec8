//! Access keys: shown once, kept as a hash, bound to the fleet.

use super::there;
use crate::http::answer::Answer;
use crate::http::call::{Call, Outcome};
use crate::http::conditional::Tag;
use crate::http::deed::FACT;
use crate::http::operation::Operation;
use clerk::keys::{self, NewKey};
use contract::{AccessKey, IssuedAccessKey, NewAccessKey};
use model::Scope;

pub fn operations() -> Vec<Operation> {
    vec![
        Operation::list::<AccessKey>(Scope::Admin, "list_access_keys", "/access-keys")
            .says("List access keys", "Also those that have ended, in the order in which they were made.")
            .does(list),
        Operation::create::<NewAccessKey, IssuedAccessKey>(Scope::Admin, "create_access_key", "/access-keys")
            .says(
                "Make an access key",
                "The text of the key is shown in this one answer and kept nowhere. An answer given again has none: make \
                 another key then, and revoke this one.",
            )
            .does(create),
        Operation::get::<AccessKey>(Scope::Admin, "read_access_key", "/access-keys/{access_key}")
            .says("Read an access key", "What it may do and until when; never its text.")
            .does(read),
        Operation::delete(Scope::Admin, "revoke_access_key", "/access-keys/{access_key}")
            .says("Revoke an access key", "It is refused from the next request on. It stays in the list.")
            .does(revoke),
    ]
}

fn told(key: keys::AccessKey) -> AccessKey {
    let keys::AccessKey { id, kind, person, vehicle, label, scopes, recorded_at, expires_at, revoked_at } =
        key;
    AccessKey { id, kind, person, vehicle, label, scopes, recorded_at, expires_at, revoked_at }
}

async fn list(call: Call) -> Outcome {
    let paging = call.paging().await?;
    let mut reading = call.reading().await?;
    let rows = store::keys::page(&mut reading.conn(), call.fleet(), paging.after(), paging.fetch()).await?;
    paging.answer(rows, |key| key.id, told)
}

async fn create(call: Call) -> Outcome {
    let new: NewAccessKey = call.written()?;
    let new = NewKey {
        kind: new.kind,
        person: new.person,
        vehicle: new.vehicle,
        label: new.label.0,
        scopes: new.scopes.0,
        expires_at: new.expires_at,
    };
    let mut deed = call.begin().await?;
    let (key, text) = keys::create_key(&mut deed.act, new).await?;
    let place = call.place(format!("access-keys/{}", key.id));
    let issued = IssuedAccessKey { key: told(key), text: Some(text) };
    let answer = Answer::of(201, &issued)?.at(place.clone()).tagged(Tag::version(FACT));
    // The text must not lie in the store, not even in an answer kept for a repetition.
    let kept =
        Answer::of(201, &IssuedAccessKey { text: None, ..issued })?.at(place).tagged(Tag::version(FACT));
    deed.end_keeping(answer, &kept).await
}

async fn read(call: Call) -> Outcome {
    let mut reading = call.reading().await?;
    let key = there(store::keys::find(&mut reading.conn(), call.fleet(), call.id("access_key")?).await?)?;
    Ok(Answer::hashed(&told(key))?)
}

async fn revoke(call: Call) -> Outcome {
    let id = call.id("access_key")?;
    let mut deed = call.begin().await?;
    keys::revoke_key(&mut deed.act, id).await?;
    deed.ended().await
}
