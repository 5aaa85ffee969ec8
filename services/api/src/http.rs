//! What every operation shares: from the bytes of a request to the bytes of its answer.

pub mod answer;
pub mod auth;
pub mod body;
pub mod call;
pub mod conditional;
pub mod deed;
pub mod dispatch;
pub mod json;
pub mod operation;
pub mod outer;
pub mod paging;
pub mod refusal;
