//! What the engine promises, told in worlds with one vehicle.

mod acting;
mod any_world;
mod conditions;
mod coverage;
mod coverage_terms;
mod explanations;
mod hours;
mod judging;
mod laws;
mod leases;
mod meters;
mod papers;
mod readings_wanted;
mod rules;
mod usage;
mod world;
