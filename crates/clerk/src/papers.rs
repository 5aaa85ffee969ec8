//! Papers: documents with an expiry.

use crate::Act;
use crate::error::ActError;
use chrono::NaiveDate;
use model::{Paper, PaperId, PaperKind, VehicleId};

/// A paper to be recorded.
#[derive(Debug, Clone)]
pub struct NewPaper {
    /// What it is.
    pub kind: PaperKind,
    /// Its number or reference.
    pub reference: Option<String>,
    /// Day of issue.
    pub issued_on: Option<NaiveDate>,
    /// Last day it is valid.
    pub expires_on: NaiveDate,
}

/// Records a paper.
///
/// # Errors
/// [`ActError::NotFound`]; a fault if it expires before it was issued; storage errors.
pub async fn record(act: &mut Act, vehicle: VehicleId, new: NewPaper) -> Result<Paper, ActError> {
    act.lock(&[vehicle]).await?;
    if let Some(issued) = new.issued_on.filter(|issued| *issued > new.expires_on) {
        let detail = format!("it expires on {}, before it was issued on {issued}", new.expires_on);
        return Err(ActError::fault("/expires_on", "order", detail));
    }
    let paper = Paper {
        id: PaperId(act.new_id()),
        kind: new.kind,
        reference: new.reference,
        issued_on: new.issued_on,
        expires_on: new.expires_on,
        recorded_at: act.at(),
    };
    let (fleet, stamp) = (act.fleet(), act.stamp());
    store::papers::insert(&mut act.conn(), fleet, vehicle, &paper, &stamp).await?;
    act.note("paper", paper.id, "record", None, Some(&paper));
    Ok(paper)
}

/// Withdraws a paper.
///
/// # Errors
/// [`ActError::NotFound`]; storage errors.
pub async fn withdraw(act: &mut Act, vehicle: VehicleId, id: PaperId) -> Result<(), ActError> {
    act.lock(&[vehicle]).await?;
    let (fleet, at) = (act.fleet(), act.at());
    let Some(paper) = store::papers::find(&mut act.conn(), fleet, vehicle, id).await? else {
        return Err(ActError::NotFound { kind: "paper" });
    };
    store::papers::withdraw(&mut act.conn(), fleet, vehicle, id, at).await?;
    act.note("paper", id, "withdraw", Some(&paper), None);
    Ok(())
}
