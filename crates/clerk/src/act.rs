//! One act: an open transaction that knows who acts, what it touched and what must be renewed.

use crate::error::ActError;
use crate::facts::Told;
use crate::{Clerk, heirs, renewal};
use chrono::{DateTime, TimeDelta, Utc};
use model::horizon::Horizon;
use model::{ActId, Actor, FleetId, VehicleId};
use serde::Serialize;
use std::collections::BTreeSet;
use std::fmt::Display;
use store::acts::{ActRow, AuditRow, Stamp};
use store::{Conn, Reach, Tx};
use uuid::Uuid;

/// Up to so many vehicles are renewed within the act; more are left to the scheduler.
pub const VEHICLES_AT_ONCE: usize = 64;

/// For so long an answer can be replayed whole (house setting, no source).
pub(crate) const ANSWER_KEPT: TimeDelta = TimeDelta::days(30);

/// An open act. Dropping it undoes everything; [`Act::commit`] makes it last.
pub struct Act {
    clerk: Clerk,
    tx: Tx,
    fleet: FleetId,
    id: ActId,
    at: DateTime<Utc>,
    actor: Actor,
    touched: BTreeSet<VehicleId>,
    /// What the vehicles touched told their heirs before.
    told: Told,
    audit: Vec<AuditRow>,
}

/// A request that may be repeated: whose, which, and what it said.
#[derive(Debug, Clone)]
pub struct Asked {
    /// The key holder.
    pub holder: Uuid,
    /// HTTP method.
    pub method: String,
    /// Path template.
    pub path_template: String,
    /// The idempotency key.
    pub key: String,
    /// SHA-256 of the body.
    pub body_hash: [u8; 32],
}

/// What was answered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StoredAnswer {
    /// HTTP status.
    pub status: u16,
    /// `Location`.
    pub location: Option<String>,
    /// `ETag`.
    pub etag: Option<String>,
    /// `Content-Type`.
    pub content_type: String,
    /// The body; none once it is older than 30 days.
    pub body: Option<String>,
}

impl Act {
    pub(crate) async fn begin(
        clerk: &Clerk,
        fleet: FleetId,
        actor: &Actor,
        kind: &'static str,
        request_id: Option<&str>,
    ) -> Result<Self, ActError> {
        let mut tx = clerk.store().writer(Reach::Fleet(fleet)).await?;
        if store::fleets::find(&mut tx.conn(), fleet).await?.is_none() {
            return Err(ActError::NotFound { kind: "fleet" });
        }
        let id = ActId(clerk.new_id());
        let at = clerk.now();
        let row = ActRow {
            id,
            seq: 0,
            kind: kind.to_owned(),
            actor: actor.clone(),
            request_id: request_id.map(str::to_owned),
            recorded_at: at,
        };
        store::acts::insert(&mut tx.conn(), fleet, &row).await?;
        let (clerk, actor) = (clerk.clone(), actor.clone());
        let (touched, told, audit) = (BTreeSet::new(), Told::new(), Vec::new());
        Ok(Self { clerk, tx, fleet, id, at, actor, touched, told, audit })
    }

    /// The fleet acted in.
    pub const fn fleet(&self) -> FleetId {
        self.fleet
    }

    /// The instant of the act: what it stores was recorded then.
    pub const fn at(&self) -> DateTime<Utc> {
        self.at
    }

    /// Who acts.
    pub const fn actor(&self) -> &Actor {
        &self.actor
    }

    /// The clerk that acts.
    pub const fn clerk(&self) -> &Clerk {
        &self.clerk
    }

    /// The open connection, for reads inside the act.
    pub fn conn(&mut self) -> Conn<'_> {
        self.tx.conn()
    }

    /// A new id for something stored by this act.
    pub fn new_id(&self) -> Uuid {
        self.clerk.chance().id_at(self.at)
    }

    /// What every fact stored by this act bears.
    pub(crate) fn stamp(&self) -> Stamp {
        let by = self.actor.person.map(|p| p.0).or(self.actor.key.map(|k| k.0));
        Stamp { act: self.id, recorded_at: self.at, recorded_by: by, source: self.actor.source.clone() }
    }

    /// Notes what changed, for the record of changes.
    pub(crate) fn note<T: Serialize>(
        &mut self,
        subject: &str,
        id: impl Display,
        verb: &str,
        before: Option<&T>,
        after: Option<&T>,
    ) {
        let text = |value: &T| serde_json::to_string(value).unwrap_or_default();
        self.audit.push(AuditRow {
            ordinal: i64::try_from(self.audit.len()).unwrap_or(i64::MAX),
            subject: subject.to_owned(),
            subject_id: id.to_string(),
            verb: verb.to_owned(),
            before: before.map(text),
            after: after.map(text),
        });
    }

    /// Locks the vehicles' rows in id order, so that two acts on one vehicle never compute without each other's facts;
    /// along with them those of vehicles that have a component from one of them, which may have to be renewed, too.
    /// The vehicles' horizons are renewed before the act commits.
    ///
    /// # Errors
    /// [`ActError::NotFound`] if one of them is not of this fleet.
    pub async fn lock(&mut self, vehicles: &[VehicleId]) -> Result<(), ActError> {
        let wanted: BTreeSet<VehicleId> = vehicles.iter().copied().collect();
        let fresh: Vec<VehicleId> = wanted.difference(&self.touched).copied().collect();
        if fresh.is_empty() {
            return Ok(());
        }
        let conn = &mut self.tx.conn();
        let shared = store::elsewhere::heirs(conn, self.fleet, &fresh).await?;
        let ordered: BTreeSet<VehicleId> =
            fresh.iter().copied().chain(shared.iter().map(|one| one.vehicle)).collect();
        let ordered: Vec<VehicleId> = ordered.into_iter().collect();
        let states = store::states::lock(conn, self.fleet, &ordered).await?;
        if states.len() < ordered.len() {
            return Err(ActError::NotFound { kind: "vehicle" });
        }
        self.told.extend(heirs::told(conn, self.fleet, &shared).await?);
        self.touched.extend(wanted);
        Ok(())
    }

    /// Waits until no other act is under way that changes what many vehicles rest on - rules, depots, workshops, policy -
    /// or that brings a vehicle under them, and keeps such acts waiting until this one ends. Otherwise a vehicle that
    /// comes while a rulebook is edited is judged by the old rules, and whoever edits does not see it yet. Taken before
    /// any vehicle is locked.
    pub(crate) async fn take_turn_at_grounds(&mut self) -> Result<(), ActError> {
        let turn = format!("grounds of {}", self.fleet);
        Ok(store::turns::take(&mut self.tx.conn(), &turn).await?)
    }

    /// Marks a vehicle made by this act as to be renewed.
    pub(crate) fn touch(&mut self, vehicle: VehicleId) {
        self.touched.insert(vehicle);
    }

    /// Renews the horizons of the vehicles touched so far. Of more than 64 none is renewed here: the scheduler does it,
    /// and so it does for vehicles that have a component of which these tell something else now.
    ///
    /// # Errors
    /// Storage errors.
    pub async fn renew(&mut self) -> Result<Vec<Horizon>, ActError> {
        let vehicles: Vec<VehicleId> = std::mem::take(&mut self.touched).into_iter().collect();
        let told = std::mem::take(&mut self.told);
        let conn = &mut self.tx.conn();
        if vehicles.len() > VEHICLES_AT_ONCE {
            heirs::raise_needed_with(conn, self.fleet, &vehicles).await?;
            return Ok(Vec::new());
        }
        let behind = heirs::behind(conn, self.fleet, &vehicles, &told).await?;
        if !behind.is_empty() {
            store::states::raise_needed(conn, self.fleet, &behind).await?;
        }
        Ok(renewal::renew(conn, self.fleet, &vehicles, self.at).await?.horizons)
    }

    /// Renews what is still to be renewed, takes the fleet's next number, and makes it all last.
    ///
    /// # Errors
    /// Storage errors; nothing is stored then.
    pub async fn commit(mut self) -> Result<i64, ActError> {
        if !self.touched.is_empty() {
            self.renew().await?;
        }
        let audit = std::mem::take(&mut self.audit);
        store::acts::audit_insert(&mut self.tx.conn(), self.fleet, self.id, &audit).await?;
        let number = store::acts::number(&mut self.tx.conn(), self.fleet, self.id).await?;
        store::bell::ring(&mut self.tx.conn()).await?;
        self.tx.commit().await?;
        self.clerk.wake();
        Ok(number)
    }

    /// The answer given to this very request before, if it was. While another replica is answering it, waits for that:
    /// otherwise this one could clash with what the other has just made, and call its own effect a conflict.
    ///
    /// # Errors
    /// [`ActError::KeyReused`] if the key was used with another body.
    pub async fn stored_answer(&mut self, asked: &Asked) -> Result<Option<StoredAnswer>, ActError> {
        let key = key_of(asked);
        let turn = format!("request {} {} {} {}", key.holder, key.method, key.path_template, key.key);
        store::turns::take(&mut self.tx.conn(), &turn).await?;
        let Some(kept) = store::idempotency::find(&mut self.tx.conn(), self.fleet, &key).await? else {
            return Ok(None);
        };
        if kept.body_hash != asked.body_hash {
            return Err(ActError::KeyReused);
        }
        let fresh = self.at - kept.recorded_at <= ANSWER_KEPT;
        Ok(Some(StoredAnswer {
            status: kept.status,
            location: kept.location,
            etag: kept.etag,
            content_type: kept.content_type,
            body: kept.body.filter(|_| fresh),
        }))
    }

    /// Keeps the answer beside the effect, in the same transaction.
    ///
    /// # Errors
    /// Storage errors.
    pub async fn keep_answer(&mut self, asked: &Asked, answer: &StoredAnswer) -> Result<(), ActError> {
        let kept = store::idempotency::Kept {
            body_hash: asked.body_hash.to_vec(),
            status: answer.status,
            location: answer.location.clone(),
            etag: answer.etag.clone(),
            content_type: answer.content_type.clone(),
            body: answer.body.clone(),
            recorded_at: self.at,
        };
        store::idempotency::insert(&mut self.tx.conn(), self.fleet, &key_of(asked), &kept).await?;
        Ok(())
    }
}

fn key_of(asked: &Asked) -> store::idempotency::Key {
    store::idempotency::Key {
        holder: asked.holder,
        method: asked.method.clone(),
        path_template: asked.path_template.clone(),
        key: asked.key.clone(),
    }
}
