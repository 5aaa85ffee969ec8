//! What the engine promises, told in worlds with one vehicle.

mod any_world;
mod conditions;
mod coverage;
mod explanations;
mod judging;
mod laws;
mod papers;
mod questions;
mod readings_wanted;
mod rules;
mod usage;
mod wear;
mod world;
