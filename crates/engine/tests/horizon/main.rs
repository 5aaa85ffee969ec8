//! What the engine promises, told in worlds with one vehicle.

mod acting;
mod any_world;
mod calendars;
mod conditions;
mod coverage;
mod coverage_terms;
mod explanations;
mod grids;
mod hours;
mod indicators;
mod judging;
mod laws;
mod leases;
mod meters;
mod papers;
mod questions;
mod readings_wanted;
mod rounds;
mod rules;
mod seasons;
mod stays;
mod usage;
mod wear;
mod whens;
mod world;
