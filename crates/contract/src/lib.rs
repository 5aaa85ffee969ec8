//! What the HTTP interface says: types a client writes, types it reads, and problems; no behaviour.
//!
//! A type a client writes is defined by `request!` and read by a [`Reader`], which finds every fault with its place; a
//! type it reads is defined by `answer!` and written by serde. Both describe themselves to the OpenAPI document
//! ([`Shape`]). What a client may write and what it reads are two types: members that the server owns do not exist in
//! the written one. Bounds live in the types of members: [`Line`], [`Whole`], [`Many`], [`Distance`].

mod baseline;
mod batch;
mod component;
mod coverage;
mod define;
mod fleet;
mod graded;
mod held;
mod horizon;
mod identity;
mod inspection;
mod job;
mod life;
mod list;
mod meter;
mod moment;
mod notice;
mod number;
mod person;
mod policy;
mod problem;
mod quantity;
mod query;
mod question;
mod reader;
mod reading;
mod reason;
mod replica;
mod rule;
mod rulebook;
mod service;
mod shape;
mod stay;
mod text;
mod usage;
mod vehicle;
mod words;

pub use baseline::*;
pub use batch::*;
pub use component::*;
pub use coverage::*;
pub use fleet::*;
pub use graded::*;
pub use held::*;
pub use horizon::*;
pub use identity::parse_id;
pub use inspection::*;
pub use job::*;
pub use life::*;
pub use list::{Change, Many, Page};
pub use meter::*;
pub use moment::{DayOfWeek, TimeOfDay};
pub use notice::*;
pub use number::{Amount, Percent, Whole};
pub use person::*;
pub use policy::*;
pub use problem::{Fault, Problem, ProblemKind, Retry};
pub use quantity::{
    AnyQuantity, Depth, Distance, MeterValue, OdometerUnit, Pressure, Quantity, RunningTime, Temperature,
};
pub use query::*;
pub use question::*;
pub use reader::{Reader, Written};
pub use reading::*;
pub use reason::*;
pub use replica::*;
pub use rule::*;
pub use rulebook::*;
pub use service::*;
pub use shape::{Member, Object, Schemas, Shape};
pub use stay::*;
pub use text::{Currency, EmailAddress, LanguageTag, Line, Text};
pub use usage::*;
pub use vehicle::*;
