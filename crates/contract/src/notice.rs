//! What was told to whom: notices and letters. And what was refused of a technician's batch.

use crate::define::answer;
use crate::shape::{Schemas, Shape};
use chrono::{DateTime, Utc};
use model::{BatchId, LetterId, LetterState, NoticeId, NoticeState, PersonId, VehicleId};
use serde::Serialize;
use serde_json::{Value, json};
use utoipa::openapi::schema::SchemaType;
use utoipa::openapi::{ObjectBuilder, RefOr, Schema};

answer! {
    /// One thing to tell one person.
    Notice {
        /// Its id.
        id: NoticeId,
        /// The vehicle it is about.
        vehicle: VehicleId,
        /// The due item or coverage window it is about.
        item: String = "rule:engine-oil",
        /// Which round of it.
        cycle: String = "service:01936f0a-7c3e-7d52-9b1f-3c5d8e2a4b60",
        /// Why just then: `approaching`, `due`, `overdue`, `days_30`, …
        reminder: String = "approaching",
        /// Whom it is for.
        person: PersonId,
        /// Whether it goes at once.
        urgent: bool,
        /// Where it stands.
        state: NoticeState,
        /// The letter that carries it.
        letter: Option<LetterId>,
        /// When it came up.
        created_at: DateTime<Utc>,
        /// It is not sent before this.
        not_before: DateTime<Utc>,
        /// When it was told or withdrawn.
        settled_at: Option<DateTime<Utc>> = null,
    }
}

answer! {
    /// An e-mail carrying notices.
    Letter {
        /// Its id.
        id: LetterId,
        /// Whom it is for.
        person: PersonId,
        /// What kind of letter.
        kind: String = "digest",
        /// Its subject line.
        subject: String = "3 vehicles need something this week",
        /// Its `Message-ID`.
        message_id: String = "<01936f0a-7c3e-7d52-9b1f-3c5d8e2a4b60@fleet.example>",
        /// Where it stands.
        state: LetterState,
        /// How often it was tried.
        attempts: i64 = 1,
        /// When it is tried next.
        next_attempt_at: Option<DateTime<Utc>> = null,
        /// What the relay said last.
        last_reply: Option<String> = "250 OK",
        /// When it was written.
        created_at: DateTime<Utc>,
        /// When the relay took it.
        sent_at: Option<DateTime<Utc>>,
    }
}

/// Any JSON, shown as it came.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(transparent)]
pub struct Raw(pub Value);

impl Raw {
    /// Kept JSON as it came; what is none is shown as text.
    pub fn kept(text: String) -> Self {
        Self(serde_json::from_str(&text).unwrap_or(Value::String(text)))
    }
}

impl Shape for Raw {
    fn schema(_: &mut Schemas) -> RefOr<Schema> {
        ObjectBuilder::new().schema_type(SchemaType::AnyValue).into()
    }

    fn example() -> Value {
        json!({"entry_id": "01936f0a-7c3e-7d52-9b1f-3c5d8e2a4b60", "vehicle": "N-99"})
    }
}

answer! {
    /// An entry of a batch that was refused. It is kept, so that nothing measured is lost.
    RejectedEntry {
        /// The batch it came in.
        batch: BatchId,
        /// Its place in the batch, from 0.
        ordinal: i64 = 4,
        /// The id it gave itself.
        entry_id: Option<String> = "01936f0a-7c3e-7d52-9b1f-3c5d8e2a4b60",
        /// The entry as it came.
        raw: Raw,
        /// Why it was refused.
        problem: Raw = {"status": 404, "code": "vehicle-unknown", "errors": []},
        /// When.
        recorded_at: DateTime<Utc>,
    }
}
