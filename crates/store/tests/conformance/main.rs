//! What the store keeps comes back as it was, and each promise of its functions holds, on both engines.

mod acts;
mod calendar_days;
mod claims;
mod corrupt;
mod derived;
mod elsewhere;
mod facts;
mod fleet_walls;
mod inspections;
mod keys;
mod leases;
mod letters;
mod lives;
mod marks;
mod notices;
mod off_road;
mod organisation;
mod pages;
mod records;
mod rules;
mod set_asides;
mod suppressions;
mod telling;
mod vehicles;
mod world;
