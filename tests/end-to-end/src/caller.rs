//! Somebody who holds a key, and what such a person does.

use crate::{Answer, Request};
use model::FleetId;
use serde_json::{Value, json};
use std::fmt::Display;

/// Somebody who holds a key of a fleet.
#[derive(Debug, Clone)]
pub struct Caller {
    pub(crate) client: reqwest::Client,
    /// Where the server listens, such as `http://127.0.0.1:4711`.
    pub base: String,
    /// The fleet.
    pub fleet: FleetId,
    /// The key's text; empty: none is sent.
    pub key: String,
}

impl Caller {
    /// The same person with another key.
    #[must_use]
    pub fn with_key(&self, key: &str) -> Self {
        Self { key: key.to_owned(), ..self.clone() }
    }

    /// The address of something of the fleet, such as `/vehicles`.
    pub fn at(&self, rest: &str) -> String {
        format!("/v1/fleets/{}{rest}", self.fleet)
    }

    /// Sends a request and reads the answer.
    ///
    /// # Panics
    /// When no answer comes.
    pub async fn send(&self, request: Request) -> Answer {
        self.try_send(request).await.expect("the server answers")
    }

    /// Sends a request; fails when the connection does.
    ///
    /// # Panics
    /// When the request cannot be one.
    pub async fn try_send(&self, request: Request) -> reqwest::Result<Answer> {
        let method = request.method.parse().expect("a method");
        let mut asked = self.client.request(method, format!("{}{}", self.base, request.address));
        if !self.key.is_empty() {
            asked = asked.bearer_auth(&self.key);
        }
        for (name, value) in &request.headers {
            asked = asked.header(name, value);
        }
        if let Some(body) = request.body {
            asked = asked.body(body);
        }
        let answer = asked.send().await?;
        let (status, headers) = (answer.status().as_u16(), answer.headers().clone());
        Ok(Answer { status, headers, bytes: answer.bytes().await?.to_vec() })
    }

    /// Reads something of the fleet.
    pub async fn get(&self, rest: &str) -> Answer {
        self.send(Request::get(&self.at(rest))).await
    }

    /// Posts to something of the fleet under a new key.
    pub async fn post(&self, rest: &str, body: &Value) -> Answer {
        self.send(Request::post(&self.at(rest), body)).await
    }

    /// Changes something of the fleet that has this `ETag`.
    pub async fn patch(&self, rest: &str, etag: &str, body: &Value) -> Answer {
        self.send(Request::patch(&self.at(rest), etag, body)).await
    }

    /// Makes something of the fleet and tells what came of it.
    ///
    /// # Panics
    /// When it is refused.
    pub async fn make(&self, rest: &str, body: &Value) -> Value {
        self.post(rest, body).await.with_status(201).json()
    }

    /// The items of a list's first page.
    ///
    /// # Panics
    /// When it is refused.
    pub async fn list(&self, rest: &str) -> Vec<Value> {
        items(&self.get(rest).await.with_status(200))
    }

    /// Registers a van that is in service since 2026-01-01, and tells its id.
    pub async fn register_van(&self, label: &str, depot: &str, rulebook: &str) -> String {
        let mut new = van(label, depot);
        new["rulebook"] = json!(rulebook);
        new["in_service_on"] = json!("2026-01-01");
        id_of(&self.make("/vehicles", &new).await)
    }

    /// Writes an odometer reading down, and tells how it is judged.
    pub async fn read_odometer(&self, vehicle: &str, at: &str, kilometres: u32) -> Value {
        let reading = json!({
            "value": {"value": kilometres, "unit": "km"}, "read_at": at, "source": "driver",
        });
        self.make(&format!("/vehicles/{vehicle}/odometer-readings"), &reading).await
    }

    /// Records a service that satisfies one rule.
    pub async fn record_service(&self, vehicle: &str, on: &str, kilometres: u32, rule: &str) -> Value {
        let service = json!({
            "done_on": on, "odometer": {"value": kilometres, "unit": "km"}, "rules": [rule],
        });
        self.make(&format!("/vehicles/{vehicle}/service-records"), &service).await
    }

    /// Sends a batch and tells the result of each entry.
    ///
    /// # Panics
    /// When it is refused as a whole.
    pub async fn post_batch(&self, batch: &Value) -> Vec<Value> {
        let answer = self.post("/inspection-batches", batch).await.with_status(207).json();
        answer["results"].as_array().expect("a result for each entry").clone()
    }

    /// What is coming for a vehicle, as it stands at an instant.
    ///
    /// # Panics
    /// When it is refused.
    pub async fn horizon_at(&self, vehicle: &str, as_of: &str) -> Value {
        self.get(&format!("/vehicles/{vehicle}/horizon?as_of={as_of}")).await.with_status(200).json()
    }

    /// What is due across the fleet.
    pub async fn due_items(&self) -> Vec<Value> {
        self.list("/due-items?limit=200").await
    }
}

/// A van to be registered, with no more than is needed.
pub fn van(label: &str, depot: impl Display) -> Value {
    json!({
        "make": "Harrow", "model": "Carter", "powertrain": "diesel", "odometer_unit": "km", "duty": "pool",
        "label": label, "depot": depot.to_string(),
    })
}

/// The id of what was made.
///
/// # Panics
/// When it has none.
pub fn id_of(made: &Value) -> String {
    made["id"].as_str().expect("what was made has an id").to_owned()
}

pub(crate) fn items(page: &Answer) -> Vec<Value> {
    page.json()["items"].as_array().expect("a page has items").clone()
}
