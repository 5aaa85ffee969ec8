//! What the engine promises, told in worlds with one vehicle.

mod any_world;
mod calendars;
mod conditions;
mod coverage;
mod explanations;
mod grids;
mod indicators;
mod judging;
mod laws;
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
