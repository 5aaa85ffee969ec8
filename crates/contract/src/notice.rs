//! What was told to whom: notices and letters. And what was refused of a technician's batch.

use crate::define::{answer, request};
use crate::shape::{Schemas, Shape};
use crate::text::{Line, Text};
use chrono::{DateTime, NaiveDate, Utc};
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

request! {
    /// That a reminder has been seen.
    Seen {
        /// What else is to be said.
        note: Option<Text<1000>> = "Booked in for Thursday.",
    }
}

answer! {
    /// That somebody has seen a reminder, and that nobody else needs to be told because nobody had.
    Acknowledgement {
        /// The due item or coverage window.
        item: String = "rule:engine-oil",
        /// Which round of it.
        cycle: String = "service:01936f0a-7c3e-7d52-9b1f-3c5d8e2a4b60",
        /// Who.
        by: Option<PersonId>,
        /// What else was said.
        note: Option<String> = "Booked in for Thursday.",
        /// When.
        recorded_at: DateTime<Utc>,
    }
}

impl From<model::Acknowledgement> for Acknowledgement {
    fn from(said: model::Acknowledgement) -> Self {
        let model::Acknowledgement { item, cycle, by, note, recorded_at } = said;
        Self { item: item.0, cycle: cycle.0, by, note, recorded_at }
    }
}

request! {
    /// That a reminder is wanted later.
    Later {
        /// From the beginning of this day, where the vehicle stands, it is told again.
        until: NaiveDate = "2027-03-15",
        /// Why. It is kept.
        reason: Line<200> = "Parts come on the 14th.",
    }
}

answer! {
    /// That somebody wants to be reminded later. The duty stays as due as it is.
    Postponement {
        /// The due item or coverage window.
        item: String = "rule:engine-oil",
        /// Which round of it.
        cycle: String = "service:01936f0a-7c3e-7d52-9b1f-3c5d8e2a4b60",
        /// From the beginning of this day it is told again.
        until: NaiveDate = "2027-03-15",
        /// Why.
        reason: String = "Parts come on the 14th.",
        /// Who.
        by: Option<PersonId>,
        /// When it was said.
        recorded_at: DateTime<Utc>,
    }
}

impl From<model::Postponement> for Postponement {
    fn from(said: model::Postponement) -> Self {
        let model::Postponement { item, cycle, until, reason, by, recorded_at } = said;
        Self { item: item.0, cycle: cycle.0, until, reason, by, recorded_at }
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
        /// How often it was tried; what found the way barred for every letter is not counted.
        attempts: i64 = 1,
        /// When it is tried next.
        next_attempt_at: Option<DateTime<Utc>> = null,
        /// What the relay said last.
        last_reply: Option<String> = "250 OK",
        /// Whether what was attached was taken out, because the relay found it too large.
        without_attachment: bool = false,
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
