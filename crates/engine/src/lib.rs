//! From facts to a horizon: what counts, what falls due, when, and why.
//!
//! Pure: no clock, no chance, no IO. [`horizon`] takes no "now"; it gives the absolute moments at which stages change
//! and somebody must be told. What must stay true of it stands in `README.md`.

mod baseline;
mod conditions;
mod coverage;
mod explain;
mod hours;
mod judging;
mod known;
mod marks;
mod operating;
mod papers;
mod questions;
mod reading_wanted;
mod rules;
mod stays;
mod timeline;
mod usage;
mod version;
mod wear;
pub mod words;

// What can be measured, for those who may not ask the gauge themselves.
pub use gauge::{CheckPoint, points as check_points};

pub use explain::{
    Asking, DutyStep, Explanation, IntervalSource, NoForecast, Opening, PaceStep, Step, WearStep,
    WindowStart, explain,
};
pub use judging::judge;
pub use marks::{first_mark, first_mark_after, marks};
pub use stays::{before_out, folded, told_from};
pub use usage::gaps;
pub use version::ENGINE_VERSION;
pub use wear::{WornComponent, worn_components};

use known::Known;
use model::horizon::Horizon;
use model::{Facts, Policy};

/// Everything coming for the vehicle that `facts` speak of.
///
/// A pure function: the order of the lists in `facts` carries no meaning, and the same facts give the same bytes. A
/// vehicle that has left the fleet has nothing coming; its log is still judged.
pub fn horizon(facts: &Facts, policy: &Policy) -> Horizon {
    let known = Known::of(facts, policy);
    if facts.vehicle.retired_on.is_some() {
        return Horizon {
            vehicle: facts.vehicle.id,
            judgements: known.judgements,
            usage: None,
            running: None,
            wear: Vec::new(),
            questions: Vec::new(),
            grades: Vec::new(),
            items: Vec::new(),
            windows: Vec::new(),
        };
    }
    let grades = conditions::standing_grades(&known);
    let (wear, questions) = (wear::outlooks(&known), questions::asked(&known));
    let outlooks = coverage::outlooks(&known);
    let (duties, unproven) = rules::duties(&known, rules::Measured { grades: &grades, wear: &wear });
    let mut items: Vec<_> = duties.iter().map(|duty| duty.item(&known)).collect();
    items.extend(baseline::item(&known, &unproven));
    items.extend(papers::duties(&known).iter().map(|duty| duty.item(&known)));
    items.extend(outlooks.iter().filter_map(|outlook| coverage::closing_check(&known, outlook)));
    items.extend(reading_wanted::wanted(&known).map(|wanted| wanted.item(&known)));
    items.extend(conditions::items(&known, &grades));
    items.extend(stays::items(&known, &items));
    items.sort_by(|one, other| (&one.key, &one.cycle).cmp(&(&other.key, &other.cycle)));
    let mut windows: Vec<_> = outlooks.iter().map(|outlook| outlook.shown(&known)).collect();
    windows.sort_by(|one, other| one.key.cmp(&other.key));
    Horizon {
        vehicle: facts.vehicle.id,
        usage: known.driving.as_ref().map(|driving| driving.outlook(&facts.usage)),
        judgements: known.judgements,
        running: None,
        wear,
        questions,
        grades,
        items,
        windows,
    }
}
