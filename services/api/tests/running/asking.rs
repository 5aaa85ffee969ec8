//! A server under test, and a client that asks it.

use api::Settings;
use clerk::keys::{NewKey, create_key};
use model::{FleetId, KeyKind, Scope, VehicleId};
use reqwest::header::HeaderMap;
use reqwest::{Method, StatusCode};
use serde_json::Value;
use std::net::TcpListener;
use testkit::World;
use tokio::task::JoinHandle;

/// A server with a small fleet.
pub struct Server {
    /// The fleet and its clerk.
    pub world: World,
    /// Where it listens.
    pub base: String,
    /// A key with every scope but `report`.
    pub key: String,
    client: reqwest::Client,
    stopper: api::Stopper,
    running: JoinHandle<std::io::Result<()>>,
}

/// An answer, read whole.
#[derive(Debug)]
pub struct Told {
    pub status: StatusCode,
    pub headers: HeaderMap,
    pub text: String,
}

impl Told {
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.text).unwrap_or_else(|error| panic!("{error}: {self:?}"))
    }

    pub fn header(&self, name: &str) -> &str {
        self.headers.get(name).and_then(|value| value.to_str().ok()).unwrap_or("")
    }

    /// The kind of problem told, after making sure that it is told as one.
    pub fn problem(&self) -> String {
        let json = self.json();
        assert_eq!(self.header("content-type"), "application/problem+json", "{self:?}");
        assert_eq!(json["status"], self.status.as_u16(), "{self:?}");
        assert_eq!(json["instance"], self.header("x-request-id"), "{self:?}");
        let kind = json["type"].as_str().and_then(|kind| kind.strip_prefix("/problems/"));
        kind.unwrap_or_else(|| panic!("no type: {self:?}")).to_owned()
    }

    /// Pointers (or parameters) and codes of all faults told.
    pub fn faults(&self) -> Vec<(String, String)> {
        let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
        let faults = self.json()["errors"].as_array().cloned().unwrap_or_default();
        let place = |fault: &Value| {
            if fault["parameter"].is_string() { text(&fault["parameter"]) } else { text(&fault["pointer"]) }
        };
        faults.iter().map(|fault| (place(fault), text(&fault["code"]))).collect()
    }
}

impl Server {
    /// A server over SQLite.
    pub async fn start() -> Self {
        Self::of(World::in_store(testkit::sqlite::in_memory().await).await).await
    }

    /// A server of this fleet.
    pub async fn of(world: World) -> Self {
        let scopes = vec![Scope::Read, Scope::Measure, Scope::Manage, Scope::Admin];
        let key = key(&world, scopes, None).await;
        let listener = TcpListener::bind("127.0.0.1:0").expect("a free port");
        let served = api::serve(listener, world.clerk.clone(), Settings::default()).expect("a server");
        let (base, stopper) = (format!("http://{}", served.address()), served.stopper());
        let running = tokio::spawn(served.run());
        let client = reqwest::Client::builder()
            .redirect(reqwest::redirect::Policy::none())
            .no_proxy()
            .build()
            .expect("a client");
        Self { world, base, key, client, stopper, running }
    }

    pub async fn stop(self) {
        // Idle connections of the client would keep the server waiting.
        drop(self.client);
        self.stopper.stop().await;
        self.running.await.expect("it ends by itself").expect("it ends well");
    }

    /// Another key of the fleet.
    pub async fn key_with(&self, scopes: &[Scope], vehicle: Option<VehicleId>) -> String {
        key(&self.world, scopes.to_vec(), vehicle).await
    }

    pub const fn fleet(&self) -> FleetId {
        self.world.fleet
    }

    /// A path of the fleet.
    pub fn place(&self, rest: &str) -> String {
        format!("/v1/fleets/{}{rest}", self.fleet())
    }

    /// A request to any path, without a key.
    pub fn bare(&self, method: Method, path: &str) -> reqwest::RequestBuilder {
        self.client.request(method, format!("{}{path}", self.base))
    }

    /// A request to a path of the fleet, with the key of all scopes.
    pub fn ask(&self, method: Method, rest: &str) -> reqwest::RequestBuilder {
        self.bare(method, &self.place(rest)).bearer_auth(&self.key)
    }

    pub async fn get(&self, rest: &str) -> Told {
        told(self.ask(Method::GET, rest)).await
    }

    /// A POST with a key made of what it sends, so that the same sent twice is the same request.
    pub async fn post(&self, rest: &str, body: &Value) -> Told {
        let key = format!("{:032x}", crc(&format!("{rest}{body}")));
        told(self.ask(Method::POST, rest).header("Idempotency-Key", key).json(body)).await
    }

    /// A PATCH of what has this version.
    pub async fn patch(&self, rest: &str, version: i64, body: &Value) -> Told {
        let request = self.ask(Method::PATCH, rest).header("If-Match", format!("\"{version}\""));
        let request = request.header("Content-Type", "application/merge-patch+json");
        told(request.body(body.to_string())).await
    }

    /// What was made by a POST that must succeed.
    pub async fn made(&self, rest: &str, body: &Value) -> Value {
        let told = self.post(rest, body).await;
        assert_eq!(told.status, 201, "{told:?}");
        told.json()
    }
}

pub async fn told(request: reqwest::RequestBuilder) -> Told {
    let response = request.send().await.expect("an answer");
    let (status, headers) = (response.status(), response.headers().clone());
    Told { status, headers, text: response.text().await.expect("text") }
}

async fn key(world: &World, scopes: Vec<Scope>, vehicle: Option<VehicleId>) -> String {
    let mut act = world.act().await;
    let new = NewKey {
        kind: KeyKind::Script,
        person: None,
        vehicle,
        label: "Story".to_owned(),
        scopes,
        expires_at: None,
    };
    let (_, text) = create_key(&mut act, new).await.expect("a key");
    act.commit().await.expect("committed");
    text
}

/// A number that stands for a text.
pub fn crc(text: &str) -> u64 {
    text.bytes()
        .fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3))
}
