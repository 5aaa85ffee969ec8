//! How hard a life is: drawn once from its seed.

use crate::dice::Dice;
use crate::fleet::Fleet;
use chrono::TimeDelta;
use store::Engine;

/// Zones whose clocks change on different days, by an hour, by half an hour, or not at all.
pub const ZONES: [chrono_tz::Tz; 6] = [
    chrono_tz::Europe::Dublin,
    chrono_tz::America::New_York,
    chrono_tz::Australia::Lord_Howe,
    chrono_tz::Africa::Casablanca,
    chrono_tz::Asia::Kathmandu,
    chrono_tz::America::Santiago,
];

/// How hard a life is.
#[derive(Debug, Clone)]
pub struct Hardship {
    /// How many vehicles the larger fleet begins with.
    pub vehicles: u64,
    /// How many steps it has.
    pub steps: u64,
    /// The longest step, in seconds.
    pub longest_step: u64,
    /// Programs side by side: one where the store is a file.
    pub programs: usize,
    /// Schedulers, and couriers, of each.
    pub workers: u64,
    /// In a thousand moments, so often a program dies.
    pub deaths: u64,
    /// In a thousand moments, so often somebody falls behind.
    pub delays: u64,
    /// In a thousand moments, so often much time passes.
    pub lulls: u64,
    /// In a hundred conversations with the relay, so many go wrong.
    pub faulty: u64,
    /// In a hundred steps, so often the clock jumps.
    pub jumps: u64,
}

impl Hardship {
    /// A life of two vehicles in which nothing goes wrong by itself.
    pub const fn none() -> Self {
        Self {
            vehicles: 2,
            steps: 0,
            longest_step: 3600,
            programs: 1,
            workers: 1,
            deaths: 0,
            delays: 0,
            lulls: 0,
            faulty: 0,
            jumps: 0,
        }
    }

    /// Draws one for a life on that engine.
    pub fn draw(dice: &Dice, engine: Engine) -> Self {
        let months = dice.between(3, 24);
        let steps = dice.between(24, 56);
        Self {
            vehicles: if dice.percent(8) { dice.between(20, 60) } else { dice.between(2, 9) },
            steps,
            // Spans are drawn by their logarithm: the longest make up most of the time.
            longest_step: (months * 30 * 86_400 * 22 / steps).max(3600),
            programs: match engine {
                Engine::Sqlite => 1,
                Engine::Postgres => 1 + dice.place(3),
            },
            workers: dice.between(1, if engine == Engine::Sqlite { 3 } else { 2 }),
            deaths: *dice.pick(&[0, 1, 2, 5, 10]),
            delays: *dice.pick(&[20, 80, 150]),
            lulls: *dice.pick(&[0, 3, 10, 30]),
            faulty: *dice.pick(&[0, 10, 30, 60]),
            jumps: *dice.pick(&[0, 0, 3, 8]),
        }
    }
}

/// How long the program, or the relay, is away: a second to 400 days.
pub fn outage(dice: &Dice) -> TimeDelta {
    if dice.percent(10) { dice.span(86_400 * 40, 86_400 * 400) } else { dice.span(1, 86_400 * 12) }
}

/// How far the clock jumps: two years only ahead.
pub fn jump(dice: &Dice) -> TimeDelta {
    if dice.percent(25) {
        return TimeDelta::days(730);
    }
    let far = *dice.pick(&[TimeDelta::hours(1), TimeDelta::hours(1), TimeDelta::days(1)]);
    if dice.percent(50) { far } else { -far }
}

/// One of the two fleets; the first is the larger one and has most of the work.
pub fn any_fleet(dice: &Dice, fleets: &[Fleet]) -> usize {
    usize::from(fleets.len() > 1 && dice.percent(20))
}
