//! The rules of a world: one of each trigger, short enough that something is always due.

use crate::dice::Dice;
use model::{Calendar, Every, IntervalRule, MonthDay, Reach, Season, Trigger, When};
use testkit::world::{code, km, rules};

/// Rules that somebody records work for.
const DONE: [&str; 6] = ["engine-oil", "wash", "wash", "brake-fluid", "tyre-work", "winter-tyres"];

/// Rules with an interval.
const INTERVALS: [&str; 3] = ["engine-oil", "wash", "brake-fluid"];

/// The code of a rule that somebody does work for.
pub fn any_done(dice: &Dice) -> String {
    (*dice.pick(&DONE)).to_owned()
}

/// The code of a rule with an interval.
pub fn any_interval(dice: &Dice) -> String {
    (*dice.pick(&INTERVALS)).to_owned()
}

fn named(name: &str, trigger: Trigger) -> IntervalRule {
    let like = rules().remove(0);
    let lead = Reach { days: Some(5), distance: None };
    let grace = Reach { days: Some(3), distance: None };
    IntervalRule { code: code(name), title: name.to_owned(), trigger, indicator: false, lead, grace, ..like }
}

/// The rules a world begins with.
pub fn all() -> Vec<IntervalRule> {
    with(21, 9_000.0, 15)
}

/// The same, edited: shorter or longer, or one of them gone.
pub fn edited(dice: &Dice) -> Vec<IntervalRule> {
    let distance = *dice.pick(&[4_000.0, 9_000.0, 20_000.0]);
    let mut rules = with(*dice.pick(&[10, 21, 45]), distance, *dice.pick(&[1, 10, 20]));
    if dice.percent(25) {
        let gone = any_interval(dice);
        rules.retain(|rule| rule.code.as_str() != gone);
    }
    rules
}

/// `days` between washes, `distance` in km between changes of oil, `day` of October on which winter begins.
fn with(days: u32, distance: f64, day: u32) -> Vec<IntervalRule> {
    let mut all = rules();
    let oil = Every { distance: Some(km(distance)), months: Some(6), ..Every::default() };
    all[0].trigger = Trigger::Every(oil);
    all.push(named("wash", Trigger::Every(Every { days: Some(days), ..Every::default() })));
    // In the hour that some zones skip and have twice.
    all.push(named("depot-walk", Trigger::Calendar(Calendar { cron: "30 2 1 * *".to_owned() })));
    if let (Some(from), Some(to)) = (MonthDay::new(10, day), MonthDay::new(12, 15)) {
        all.push(named("winter-tyres", Trigger::Season(Season { from, to })));
    }
    all.push(named("tyre-work", Trigger::Every(Every { months: Some(8), ..Every::default() })));
    let within = Reach { days: Some(2), distance: Some(km(80.0)) };
    let follows = When::Work { of: vec![code("tyre-work")], within };
    all.push(IntervalRule {
        grace: Reach::default(),
        lead: Reach::default(),
        ..named("wheel-torque", Trigger::When(follows))
    });
    all
}
