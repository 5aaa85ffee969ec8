//! What measurements come to mean, checked against law, published tables and workshop habit.

mod answers;
mod background;
mod brake_fluid;
mod brakes;
mod coolant;
mod filters;
mod heavier;
mod house;
mod laws;
mod limits;
mod newest;
mod pads;
mod points;
mod pressure;
mod rotation;
mod starter_battery;
mod top_up;
mod traction_battery;
mod tread;
mod walk;
mod wear;
mod world;
