//! One request to an operation, as its handler sees it.

use super::conditional;
use super::operation::Operation;
use super::paging::{List, Paging};
use super::refusal::{Refusal, Stop};
use super::{answer::Answer, json};
use crate::app::App;
use actix_web::web::Bytes;
use chrono::{DateTime, Utc};
use clerk::Clerk;
use clerk::keys::KeyHolder;
use contract::{Fault, ProblemKind, Reader, Written};
use model::FleetId;
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::{Map, Value};
use std::sync::Arc;
use store::{Reach, Tx};
use uuid::Uuid;

/// What comes of an operation.
pub type Outcome = Result<Answer, Stop>;

/// One request to an operation.
pub struct Call {
    /// The program it runs in.
    pub app: Arc<App>,
    /// What is asked for.
    pub operation: Arc<Operation>,
    /// Who asks.
    pub holder: KeyHolder,
    /// The request's id.
    pub request_id: String,
    /// The path as it came.
    pub path: String,
    /// The parameters of the path.
    pub parameters: Vec<(String, String)>,
    /// The parameters of the query.
    pub query: Vec<(String, String)>,
    /// `Idempotency-Key`.
    pub idempotency_key: Option<String>,
    /// `If-Match`.
    pub if_match: Option<String>,
    /// The body.
    pub body: Bytes,
}

impl Call {
    /// The clerk who does it.
    pub fn clerk(&self) -> &Clerk {
        &self.app.clerk
    }

    /// The fleet asked about: the one the key opens.
    pub const fn fleet(&self) -> FleetId {
        self.holder.fleet
    }

    /// The instant now.
    pub fn now(&self) -> DateTime<Utc> {
        self.app.clerk.now()
    }

    /// Where something of the fleet is.
    pub fn place(&self, rest: impl std::fmt::Display) -> String {
        format!("/v1/fleets/{}/{rest}", self.fleet())
    }

    /// A parameter of the path.
    pub fn parameter(&self, name: &str) -> &str {
        self.parameters.iter().find(|(n, _)| n == name).map_or("", |(_, value)| value)
    }

    /// An id in the path.
    ///
    /// # Errors
    /// 404 for what is no id.
    pub fn id<T: From<Uuid>>(&self, name: &str) -> Result<T, Stop> {
        contract::parse_id(self.parameter(name)).map(T::from).ok_or_else(|| Refusal::not_found().into())
    }

    /// The body read as JSON.
    ///
    /// # Errors
    /// 400 if it is none.
    pub fn json(&self) -> Result<Value, Stop> {
        json::parse(&self.body).map_err(|wrong| {
            Refusal::new(ProblemKind::MalformedRequest, "The body cannot be read as JSON.")
                .because(vec![Fault::at("", "no-json", wrong)])
                .into()
        })
    }

    /// The body read as a `T`.
    ///
    /// # Errors
    /// 400 if it is no JSON; 422 with every fault.
    pub fn written<T: Written>(&self) -> Result<T, Stop> {
        Reader::strictly(&self.json()?).map_err(|faults| Refusal::invalid(faults).into())
    }

    /// The query read as a `Q`, those parameters left out that paging takes.
    ///
    /// # Errors
    /// 422 with every fault.
    pub fn asked<Q: Written>(&self) -> Result<Q, Stop> {
        let paging = |name: &str| self.operation.paged && (name == "limit" || name == "cursor");
        let (given, mut faults) = once_each(self.query.iter().filter(|(name, _)| !paging(name)));
        match Reader::parameters(given) {
            Ok(asked) if faults.is_empty() => Ok(asked),
            Ok(_) => Err(Refusal::invalid(faults).into()),
            Err(more) => {
                faults.extend(more);
                Err(Refusal::invalid(faults).into())
            }
        }
    }

    /// Which page is wanted of a list ordered by `K`.
    ///
    /// # Errors
    /// 422 with every fault.
    pub async fn paging<K: Serialize + DeserializeOwned>(&self) -> Result<Paging<K>, Stop> {
        let (paging, mut filter): (Vec<_>, Vec<_>) =
            self.query.iter().cloned().partition(|(name, _)| name == "limit" || name == "cursor");
        filter.sort();
        let (given, faults) = once_each(paging.iter());
        if !faults.is_empty() {
            return Err(Refusal::invalid(faults).into());
        }
        let asked: contract::PageAsked = Reader::parameters(given).map_err(Refusal::invalid)?;
        let secret = self.clerk().installation_secret().await?;
        let list = List { path: self.path.clone(), filter, secret };
        let cursor = asked.cursor.as_ref().map(|line| line.0.as_str());
        Ok(Paging::new(list, asked.limit.map(|limit| limit.0), cursor)?)
    }

    /// A transaction to read in, bound to the fleet.
    ///
    /// # Errors
    /// 503 if the store cannot answer.
    pub async fn reading(&self) -> Result<Tx, Stop> {
        Ok(self.clerk().store().reader(Reach::Fleet(self.fleet())).await?)
    }

    /// The version that `If-Match` names.
    ///
    /// # Errors
    /// 428 without one, 400 for one that cannot be read.
    pub fn version(&self) -> Result<i64, Stop> {
        Ok(conditional::version_wanted(self.if_match.as_deref())?)
    }
}

impl Call {
    /// Whether `If-Match` names a fact as it was loaded: a fact has one version for ever.
    ///
    /// # Errors
    /// As [`Call::version`]; 412 for another version.
    pub fn version_of_fact(&self) -> Result<(), Stop> {
        if self.version()? == super::deed::FACT {
            return Ok(());
        }
        Err(Refusal::new(ProblemKind::StaleVersion, "If-Match names no version of this.").into())
    }
}

/// The parameters as members of an object; one that comes twice is a fault.
fn once_each<'a>(query: impl Iterator<Item = &'a (String, String)>) -> (Map<String, Value>, Vec<Fault>) {
    let (mut given, mut faults) = (Map::new(), Vec::new());
    for (name, value) in query {
        if given.insert(name.clone(), Value::String(value.clone())).is_some() {
            faults.push(Fault::of_parameter(name, "given-twice", "this parameter may stand once"));
        }
    }
    (given, faults)
}
