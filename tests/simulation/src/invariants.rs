//! The laws, and when each is looked at.

mod answered;
mod calendars;
mod days;
mod decisions;
mod derived;
mod hours;
mod letters;
mod marks;
mod queues;
mod sound;
pub mod told;
mod truth;
mod walls;

use crate::life::Broken;
use crate::world::World;

/// After every step.
///
/// # Errors
/// The law that is broken.
pub async fn after_a_step(world: &mut World) -> Result<(), Broken> {
    decisions::none_is_made_twice(world).await?;
    letters::no_copy_too_many(world).await?;
    letters::each_stays_in_its_fleet(world)?;
    letters::none_goes_to_who_is_gone(world).await?;
    decisions::none_is_carried_twice(world).await?;
    truth::what_was_sent_was_true(world).await?;
    days::are_told_once_and_in_time(world).await?;
    hours::are_kept(world).await?;
    marks::each_has_its_reason(world).await?;
    queues::no_lease_is_too_long(world).await?;
    answered::everything_answered_is_on_record(world).await?;
    if world.step.is_multiple_of(4) {
        derived::is_what_the_facts_give(world, false).await?;
        derived::nothing_is_due_before_it_was_done(world).await?;
        walls::no_fleet_sees_another(world).await?;
    }
    crate::people::choosing::look_around(world).await?;
    crate::people::choosing::look_for_unreachable(world).await?;
    world.looked_at = world.relay.taken_count();
    Ok(())
}

/// After an hour without faults, besides.
///
/// # Errors
/// The law that is broken.
pub async fn after_calm(world: &mut World) -> Result<(), Broken> {
    after_a_step(world).await?;
    queues::all_are_empty(world).await?;
    marks::each_is_accounted_for(world).await?;
    letters::what_is_sent_was_taken(world).await?;
    calendars::no_revision_is_told_twice(world)?;
    derived::is_what_the_facts_give(world, true).await
}

/// Within an hour without faults, after each look from the third on: what came due half a minute ago is decided.
///
/// # Errors
/// The law that is broken.
pub async fn in_calm(world: &World) -> Result<(), Broken> {
    queues::nothing_is_late(world).await
}

/// At the end of a life, besides.
///
/// # Errors
/// The law that is broken.
pub async fn at_the_end(world: &mut World) -> Result<(), Broken> {
    after_calm(world).await?;
    letters::none_is_under_way(world).await?;
    derived::nothing_is_due_before_it_was_done(world).await?;
    walls::no_fleet_sees_another(world).await?;
    sound::is_the_file(world).await?;
    sound::tally(world).await
}
