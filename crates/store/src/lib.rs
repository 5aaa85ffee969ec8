//! Facts and horizons in SQLite or PostgreSQL: SQL lives here, and no rule of the trade does.
//!
//! [`Store`] opens a place to keep things; [`Store::reader`] and [`Store::writer`] begin a transaction ([`Tx`]); its
//! [`Conn`] is what every query function takes first, so that the caller decides what commits together. A query is one
//! constant in [`statements!`] and one line with [`fetch!`], [`execute!`] or [`batch!`].

#[macro_use]
mod sql;
#[macro_use]
mod drivers;

mod address;
mod as_known;
mod error;
mod pages;
mod parse;
mod past;
mod rows;

pub mod acts;
pub mod ahead;
pub mod answers;
pub mod baselines;
pub mod bell;
pub mod calendar_days;
pub mod component_costs;
pub mod component_ends;
pub mod components;
pub mod coverage;
pub mod depots;
pub mod derived;
pub mod digests;
pub mod elsewhere;
pub mod facts;
pub mod findings;
pub mod fits;
pub mod fittings;
pub mod fleets;
pub mod idempotency;
pub mod indicators;
pub mod inspections;
pub mod installation;
pub mod jobs;
pub mod keys;
pub mod leases;
pub mod letters;
pub mod marks;
pub mod meters;
pub mod moment;
pub mod notices;
pub mod overrides;
pub mod papers;
pub mod people;
pub mod readings;
pub mod replicas;
pub mod replies;
pub mod rulebooks;
pub mod schema;
pub mod services;
pub mod set_asides;
pub mod sheets;
pub mod states;
pub mod stays;
pub mod stops;
pub mod suppressions;
pub mod turns;
pub mod unguarded;
pub mod vehicles;
pub mod wear_rates;
pub mod workshops;

pub use address::{Address, AddressError};
pub use as_known::AsKnown;
pub use drivers::{Changes, Conn, Engine, MigrationOutline, Outline, Reach, Store, Tx, migrations};
pub use error::StoreError;
pub use leases::Lease;
pub use rows::id_list;
pub use sql::{Rows, Sql};
pub use stops::{Stop, Stops};

#[doc(hidden)]
pub use drivers::drivers_of_macros;

/// The statements of every module; a test prepares each on both engines.
const CATALOGUES: &[&[&[Sql]]] = &[
    &[
        acts::CATALOGUE,
        ahead::CATALOGUE,
        answers::CATALOGUE,
        baselines::CATALOGUE,
        bell::CATALOGUE,
        calendar_days::CATALOGUE,
        component_costs::CATALOGUE,
        component_ends::CATALOGUE,
        components::CATALOGUE,
        coverage::CATALOGUE,
        depots::CATALOGUE,
        digests::CATALOGUE,
        elsewhere::CATALOGUE,
        findings::CATALOGUE,
        fits::CATALOGUE,
        fittings::CATALOGUE,
        fleets::CATALOGUE,
        idempotency::CATALOGUE,
        indicators::CATALOGUE,
        installation::CATALOGUE,
        jobs::CATALOGUE,
        keys::CATALOGUE,
        leases::CATALOGUE,
        letters::CATALOGUE,
        letters::claims::CATALOGUE,
        marks::CATALOGUE,
        meters::CATALOGUE,
        moment::CATALOGUE,
        notices::CATALOGUE,
        overrides::CATALOGUE,
        papers::CATALOGUE,
        past::CATALOGUE,
        people::CATALOGUE,
        replicas::CATALOGUE,
        replies::CATALOGUE,
        rulebooks::CATALOGUE,
        schema::CATALOGUE,
        services::CATALOGUE,
        set_asides::CATALOGUE,
        sheets::CATALOGUE,
        states::CATALOGUE,
        stays::CATALOGUE,
        suppressions::CATALOGUE,
        turns::CATALOGUE,
        wear_rates::CATALOGUE,
        workshops::CATALOGUE,
    ],
    derived::CATALOGUES,
    inspections::CATALOGUES,
    readings::CATALOGUES,
    vehicles::CATALOGUES,
];

/// Every statement of the store.
pub fn catalogue() -> impl Iterator<Item = &'static Sql> {
    CATALOGUES.iter().copied().flatten().copied().flatten()
}
