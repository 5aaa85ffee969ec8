//! Doing something once: the key, the effect and the answer become lasting together, or not at all.

use super::answer::Answer;
use super::call::{Call, Outcome};
use super::conditional::Tag;
use super::refusal::{Refusal, Stop};
use clerk::{Act, Asked};
use contract::ProblemKind;
use model::FleetId;
use serde::Serialize;
use sha2::{Digest, Sha256};
use std::collections::HashSet;
use std::sync::{Arc, Mutex, PoisonError};
use uuid::Uuid;

/// An act under way for a request.
pub struct Deed {
    /// The open act.
    pub act: Act,
    asked: Option<Asked>,
    _running: Option<Running>,
}

/// Requests with an `Idempotency-Key` that are being worked on in this process. On PostgreSQL another replica may work
/// on the same one: there the unique row decides, and the loser is told to ask again.
#[derive(Debug, Default, Clone)]
pub struct UnderWay(Arc<Mutex<HashSet<RunningKey>>>);

type RunningKey = (FleetId, Uuid, String, String, String);

/// Holds a place among those under way until it is dropped.
struct Running {
    all: UnderWay,
    key: RunningKey,
}

impl UnderWay {
    /// A place for this request; none if the same is under way.
    fn enter(&self, fleet: FleetId, asked: &Asked) -> Option<Running> {
        let key = (fleet, asked.holder, asked.method.clone(), asked.path_template.clone(), asked.key.clone());
        let mut keys = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        keys.insert(key.clone()).then(|| Running { all: self.clone(), key })
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        self.all.0.lock().unwrap_or_else(PoisonError::into_inner).remove(&self.key);
    }
}

impl Call {
    /// Begins to do what is asked. A request with an `Idempotency-Key` that was done before stops here with the answer
    /// it got then.
    ///
    /// # Errors
    /// 400 without a key where one is needed, 409 if the same is under way, 422 if the key was used for something else.
    pub async fn begin(&self) -> Result<Deed, Stop> {
        let asked = if self.operation.keyed { Some(self.as_asked()?) } else { None };
        let running = match &asked {
            Some(asked) => {
                Some(self.app.under_way.enter(self.fleet(), asked).ok_or_else(Refusal::still_running)?)
            }
            None => None,
        };
        let actor = self.holder.actor();
        let mut act =
            self.clerk().begin(self.fleet(), &actor, self.operation.id, Some(&self.request_id)).await?;
        if let Some(asked) = &asked
            && let Some(kept) = act.stored_answer(asked).await?
        {
            return Err(Answer::again(kept)?.into());
        }
        Ok(Deed { act, asked, _running: running })
    }

    fn as_asked(&self) -> Result<Asked, Stop> {
        let key = key_of(self.idempotency_key.as_deref())?;
        // The path belongs to what was asked: the same key sent for another vehicle is another request.
        let mut hash = Sha256::new();
        hash.update((self.path.len() as u64).to_be_bytes());
        hash.update(self.path.as_bytes());
        hash.update(&self.body);
        Ok(Asked {
            holder: self.holder.key.0,
            method: self.operation.method.to_string(),
            path_template: self.operation.path.clone(),
            key,
            body_hash: hash.finalize().into(),
        })
    }
}

/// The key: 16 to 64 visible ASCII characters, which a UUID is too.
///
/// # Errors
/// 400 without one, or for one of another form.
pub fn key_of(header: Option<&str>) -> Result<String, Refusal> {
    let Some(key) = header else {
        return Err(Refusal::new(ProblemKind::KeyMissing, "The header Idempotency-Key is missing."));
    };
    if (16..=64).contains(&key.len()) && key.bytes().all(|byte| byte.is_ascii_graphic()) {
        return Ok(key.to_owned());
    }
    let form = "16 to 64 visible ASCII characters are needed, such as a UUID";
    Err(Refusal::new(ProblemKind::MalformedRequest, "The header Idempotency-Key cannot be read.").because_of(
        "Idempotency-Key",
        "wrong-form",
        form,
    ))
}

impl Deed {
    /// Something was made: 201.
    pub async fn made<T: Serialize>(self, location: String, tag: Tag, told: &T) -> Outcome {
        let answer = Answer::of(201, told)?.at(location).tagged(tag);
        self.end(answer).await
    }

    /// A fact was recorded: 201. A fact never changes, so that its first version is its only one.
    pub async fn recorded<T: Serialize>(self, location: String, told: &T) -> Outcome {
        self.made(location, Tag::version(FACT), told).await
    }

    /// Something has a new version: 200.
    pub async fn changed<T: Serialize>(self, version: i64, told: &T) -> Outcome {
        let answer = Answer::versioned(version, told)?;
        self.end(answer).await
    }

    /// Something was done: 200.
    pub async fn done<T: Serialize>(self, told: &T) -> Outcome {
        let answer = Answer::of(200, told)?;
        self.end(answer).await
    }

    /// Something was done, and there is nothing to say: 204.
    pub async fn ended(self) -> Outcome {
        self.end(Answer::nothing()).await
    }

    /// Makes effect and answer lasting.
    pub async fn end(self, answer: Answer) -> Outcome {
        let kept = answer.clone();
        self.end_keeping(answer, &kept).await
    }

    /// Makes the effect lasting with another answer kept than the one given: for what is shown once.
    pub async fn end_keeping(mut self, answer: Answer, kept: &Answer) -> Outcome {
        if let Some(asked) = &self.asked {
            self.act.keep_answer(asked, &kept.to_keep()).await?;
        }
        self.act.commit().await?;
        Ok(answer)
    }
}

/// The version of a fact.
pub const FACT: i64 = 1;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_key_is_a_uuid_or_sixteen_to_sixty_four_visible_characters() {
        fn kind(key: Option<&str>) -> Result<String, ProblemKind> {
            key_of(key).map_err(|refusal| refusal.kind())
        }
        assert_eq!(kind(None), Err(ProblemKind::KeyMissing));
        assert!(kind(Some("01936f0a-7c3e-7d52-9b1f-3c5d8e2a4b60")).is_ok());
        assert!(kind(Some(&"k".repeat(16))).is_ok() && kind(Some(&"k".repeat(64))).is_ok());
        for bad in
            ["", "k", &"k".repeat(15), &"k".repeat(65), "sixteen letters with blanks", "sechzehnbuchstabenö"]
        {
            assert_eq!(kind(Some(bad)), Err(ProblemKind::MalformedRequest), "{bad}");
        }
    }

    #[test]
    fn the_same_request_enters_once_until_it_is_done() {
        let all = UnderWay::default();
        let asked = Asked {
            holder: Uuid::nil(),
            method: "POST".to_owned(),
            path_template: "/x".to_owned(),
            key: "k".repeat(16),
            body_hash: [0; 32],
        };
        let (here, there) = (FleetId(Uuid::nil()), FleetId(Uuid::max()));
        let first = all.enter(here, &asked);
        assert!(first.is_some() && all.enter(here, &asked).is_none() && all.enter(there, &asked).is_some());
        drop(first);
        assert!(all.enter(here, &asked).is_some());
    }
}
