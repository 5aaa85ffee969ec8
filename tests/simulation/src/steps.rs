//! One step of a life: time passes, something happens, everybody has a turn.

use crate::faults;
use crate::fleet::{Kind, Standing};
use crate::life::Broken;
use crate::parts::{self, Cast};
use crate::people::{Deed, Errand, choosing, learning};
use crate::phones;
use crate::world::World;
use chrono::TimeDelta;

/// Takes the step.
///
/// # Errors
/// What breaks on the way.
pub async fn take(world: &mut World) -> Result<(), Broken> {
    pass_time(world);
    if world.dice.percent(85) || world.programs.iter().all(Option::is_none) {
        world.start_programs().await?;
    }
    let cast = match world.dice.below(10) {
        0 | 1 => Cast { couriers: true, turns: 3, ..Cast::default() },
        2 => Cast { schedulers: true, turns: 2, ..Cast::default() },
        _ => Cast { schedulers: true, couriers: true, turns: 2, errands: wishes(world) },
    };
    world.record_stood_still = !cast.schedulers && cast.errands.is_empty();
    let (is_disbelieved, taken) = (world.is_disbelieved(), world.relay.taken_count());
    parts::play(world, cast, true).await?;
    if is_disbelieved && world.is_disbelieved() {
        world.tally.count("time: scene under a clock not believed");
        if world.relay.taken_count() > taken {
            return Err(Broken::new("nothing is told by a clock that is not believed", "a letter went"));
        }
    }
    Ok(())
}

/// What a clock may be ahead and still be believed.
const A_DAY: TimeDelta = TimeDelta::days(1);

/// For so long one that is further ahead is surely not.
const DOUBTED_FOR: TimeDelta = TimeDelta::hours(20);

fn pass_time(world: &mut World) {
    // Somebody sees to it within hours.
    if world.clock_error > A_DAY {
        world.clock.pass(world.dice.span(60, 6 * 3600));
        if world.dice.percent(50) {
            put_clock_right(world);
        }
        return;
    }
    if world.relay_away_until.is_some_and(|until| until <= world.true_now()) {
        world.relay_away_until = None;
        world.relay.set_away(false);
        world.say("the relay is back");
    }
    world.relay.set_faulty(world.hardship.faulty);
    let what = world.dice.below(100);
    if what < 6 {
        let span = faults::outage(&world.dice);
        world.programs.iter_mut().for_each(|program| *program = None);
        world.clock.pass(span);
        world.tally.count("time: outage of the program");
        world.say(format!("the program was away for {} s", span.num_seconds()));
    } else if what < 11 {
        let span = faults::outage(&world.dice);
        world.relay_away_until = Some(world.true_now() + span);
        world.relay.set_away(true);
        world.tally.count("time: outage of the relay");
        world.say(format!("the relay goes away for {} s", span.num_seconds()));
    } else if what < 11 + world.hardship.jumps {
        jump(world);
    } else {
        let most = if world.dice.percent(40) { 1800 } else { world.hardship.longest_step };
        world.clock.pass(world.dice.span(1, most));
    }
    if world.clock_error != TimeDelta::zero() && world.dice.percent(30) {
        put_clock_right(world);
    }
}

fn jump(world: &mut World) {
    if world.clock_error != TimeDelta::zero() {
        return;
    }
    let jump = faults::jump(&world.dice);
    world.clock.jump(jump);
    world.clock_error = jump;
    // A program on SQLite that came to believe a wrong clock takes a day to believe the right one again.
    let may_be_misled =
        world.put_right_at.is_some_and(|at| world.true_now() < at + TimeDelta::hours(25)) && world.is_alone();
    let runs = !world.is_alone() || world.programs.iter().all(Option::is_some);
    let is_seen = runs && !may_be_misled;
    let until = world.true_now() + DOUBTED_FOR;
    world.disbelieved_until = Some(until).filter(|_| is_seen && jump > A_DAY);
    world.tally.count(if jump > A_DAY { "time: clock years ahead" } else { "time: clock jump" });
    world.say(format!("the clock jumps by {} s", jump.num_seconds()));
}

/// Puts the clock right.
pub fn put_clock_right(world: &mut World) {
    if world.clock_error != TimeDelta::zero() {
        world.clock.jump(-world.clock_error);
        world.clock_error = TimeDelta::zero();
        world.disbelieved_until = None;
        world.put_right_at = Some(world.true_now());
        world.tally.count("time: clock put right");
        world.say("the clock is put right");
    }
}

/// What people and phones want now; what was not answered is asked for again.
fn wishes(world: &mut World) -> Vec<Errand> {
    let mut wishes = Vec::new();
    if world.dice.percent(60) {
        wishes.append(&mut world.errands);
    }
    let now = world.true_now();
    for _ in 0..world.dice.below(5) {
        let fleet = faults::any_fleet(&world.dice, &world.fleets);
        if let Some(deed) = choosing::deed(&world.dice, &mut world.fleets[fleet], now) {
            withdraw_from_lists(world, fleet, &deed);
            wishes.push(world.errand(fleet, deed));
        }
    }
    if world.dice.percent(35) {
        let fleet = faults::any_fleet(&world.dice, &world.fleets);
        for deed in phones::batches(&world.dice, &mut world.fleets[fleet], now) {
            wishes.push(world.errand(fleet, deed));
        }
    }
    if world.dice.percent(5) {
        let vehicle = world.fleets[1].vans[0].id;
        wishes.push(world.errand(0, Deed::Trespass { vehicle, at: now }));
    }
    wishes
}

/// Nobody withdraws twice what was withdrawn once.
fn withdraw_from_lists(world: &mut World, fleet: usize, deed: &Deed) {
    let fleet = &mut world.fleets[fleet];
    let Some((kind, id)) = learning::withdraws(deed) else { return };
    fleet.note(kind, id, Standing::Doubtful);
    let Some(van) = learning::vehicle_of(deed).and_then(|vehicle| fleet.van(vehicle)) else { return };
    match kind {
        Kind::Service => van.services.retain(|(one, _, _)| one.0 != id),
        Kind::Paper => van.papers.retain(|one| one.0 != id),
        Kind::Window => van.windows.retain(|one| one.0 != id),
        Kind::Stay => van.past_stays.retain(|one| one.0 != id),
        Kind::Override => van.overrides.retain(|one| one.0 != id),
        Kind::Reading | Kind::Entry => {}
    }
}
