//! What measurements come to mean, checked against law, published tables and workshop habit.

mod answers;
mod brakes;
mod house;
mod laws;
mod limits;
mod newest;
mod pads;
mod points;
mod pressure;
mod rotation;
mod tread;
mod walk;
mod wear;
mod world;
