//! Papers: documents with an expiry.

use crate::coded::worded;
use crate::ids::PaperId;
use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};

worded! {
    /// What a paper is.
    PaperKind {
        /// The annual test or inspection certificate.
        AnnualTest = "annual_test",
        /// Registration.
        Registration = "registration",
        /// Insurance.
        Insurance = "insurance",
        /// Licence to carry passengers for hire.
        HireLicence = "hire_licence",
        /// Fire extinguisher service.
        Extinguisher = "extinguisher",
        /// Any other licence or permit.
        Permit = "permit",
    }
}

impl PaperKind {
    /// As a person reads it.
    pub const fn title(self) -> &'static str {
        match self {
            Self::AnnualTest => "Annual test",
            Self::Registration => "Registration",
            Self::Insurance => "Insurance",
            Self::HireLicence => "Hire licence",
            Self::Extinguisher => "Fire extinguisher",
            Self::Permit => "Permit",
        }
    }
}

/// A paper of a vehicle. The newest expiry of a kind is the one that holds.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Paper {
    /// Its id.
    pub id: PaperId,
    /// What it is.
    pub kind: PaperKind,
    /// Its number or reference.
    pub reference: Option<String>,
    /// Day of issue.
    pub issued_on: Option<NaiveDate>,
    /// Last day it is valid.
    pub expires_on: NaiveDate,
    /// When it was recorded.
    pub recorded_at: DateTime<Utc>,
}
