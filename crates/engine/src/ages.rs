//! What grows old: tyres by their date codes, and fluids and filters that no rule of the fleet gives a date to.
//!
//! All of it is told from facts on record: a code read off a tyre, a change by service record, a fitting. What a standing
//! grade asks for already is not asked for twice.

mod lives;
mod tyres;

pub(crate) use lives::LifeAge;
pub(crate) use tyres::TyreAge;

use crate::known::Known;
use model::Grade;
use model::horizon::{DueItem, Graded, ItemKey, ItemKind, Timeline};

/// One thing that grows old.
pub(crate) enum Ageing {
    /// A tyre, by the week of its making.
    Tyre(TyreAge),
    /// A fluid or a filter, by the usual life of its kind.
    Life(Box<LifeAge>),
}

/// Everything that grows old and asks for nothing yet by its grade.
pub(crate) fn ageing(known: &Known<'_>, grades: &[Graded]) -> Vec<Ageing> {
    let tyres = tyres::ageing(known, grades).into_iter().map(Ageing::Tyre);
    let lives = lives::ageing(known, grades).into_iter().map(|life| Ageing::Life(Box::new(life)));
    tyres.chain(lives).collect()
}

impl Ageing {
    pub(crate) fn key(&self) -> ItemKey {
        match self {
            Self::Tyre(tyre) => ItemKey(format!("age:tyre:{}", tyre.place)),
            Self::Life(life) => ItemKey(format!("age:{}", life.what.code())),
        }
    }

    pub(crate) fn item(&self, known: &Known<'_>) -> DueItem {
        match self {
            Self::Tyre(tyre) => tyre.item(known, self.key()),
            Self::Life(life) => life.item(known, self.key()),
        }
    }
}

/// Whether a standing grade of one of these points at this place asks for work.
fn is_asked(grades: &[Graded], is_of_it: impl Fn(&Graded) -> bool) -> bool {
    grades.iter().any(|graded| graded.grade >= Grade::Attend && is_of_it(graded))
}

/// An item with nothing but its name, its round and its moments.
fn bare(key: ItemKey, cycle: model::horizon::Cycle, title: String, timeline: Timeline) -> DueItem {
    DueItem {
        key,
        cycle,
        kind: ItemKind::Age,
        title,
        timeline,
        do_not_drive_from: None,
        date_limit: None,
        odometer_limit: None,
        hours_limit_seconds: None,
        crossing: None,
        grade: None,
        covers: Vec::new(),
        authority: None,
        caution: None,
        marks: crate::timeline::marks_of(&timeline, None),
    }
}
