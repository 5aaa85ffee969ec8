//! Since when a grade has stood without a break.

use super::is_renewed_between;
use crate::known::Known;
use chrono::{DateTime, Utc};
use model::horizon::Graded;
use model::{Grade, Inspection};
use std::cell::OnceCell;

/// The grades as they stood after each inspection, worked out only as far back as somebody asks.
pub(crate) struct History<'a> {
    known: &'a Known<'a>,
    /// In order of time and id; those that can be graded.
    inspections: Vec<Inspection>,
    /// What stood after the first so many inspections.
    grades: Vec<OnceCell<Vec<Graded>>>,
}

/// An unbroken run of grades that ask for work, of one point at one place.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Run {
    /// The measurement that opened it, as it was graded then.
    pub(crate) opened_by: Graded,
    /// When it was first graded `do_not_drive`, if it has been.
    pub(crate) do_not_drive_from: Option<DateTime<Utc>>,
}

impl<'a> History<'a> {
    pub(crate) fn of(known: &'a Known<'a>) -> Self {
        let believed = crate::questions::believed(known.facts);
        let sure = believed.iter().filter(|inspection| !inspection.clock_in_doubt);
        let mut inspections: Vec<Inspection> = sure.cloned().collect();
        inspections.sort_by_key(|inspection| (inspection.performed_at, inspection.id));
        let grades = vec![OnceCell::new(); inspections.len()];
        Self { known, inspections, grades }
    }

    /// The run that `standing` ends. It reaches back while the grade asked for work; one that got better from
    /// `do_not_drive` to `attend` begins anew, so that a vehicle that may no longer be driven is told of again.
    pub(crate) fn run_of(&self, standing: &Graded) -> Run {
        let mut do_not_drive_from = None;
        let mut note = |graded: &Graded| {
            if graded.grade == Grade::DoNotDrive {
                do_not_drive_from = Some(graded.measured_at);
            }
        };
        note(standing);
        let opened_by = self.first_of_run(standing, |before, after| {
            let continues = before.grade >= Grade::Attend && before.grade <= after.grade;
            if continues {
                note(before);
            }
            continues
        });
        Run { opened_by, do_not_drive_from }
    }

    /// The first of the grades before `standing`, each as it stood then, of which `continues` says of each and the one
    /// after it that the run goes on; of the same point, place and component.
    pub(crate) fn first_of_run(
        &self,
        standing: &Graded,
        mut continues: impl FnMut(&Graded, &Graded) -> bool,
    ) -> Graded {
        let mut first = standing.clone();
        for count in (1..self.inspections.len()).rev() {
            let same = |graded: &&Graded| graded.point == standing.point && graded.place == standing.place;
            let Some(before) = self.after(count).iter().find(same) else { break };
            if self.is_other_component(before, &first) || !continues(before, &first) {
                break;
            }
            first = before.clone();
        }
        first
    }

    /// What stood after the first `count` inspections.
    fn after(&self, count: usize) -> &[Graded] {
        let graded = || super::graded(self.known, &self.inspections[..count]);
        self.grades.get(count).map_or(&[], |cell| cell.get_or_init(graded))
    }

    fn is_other_component(&self, before: &Graded, after: &Graded) -> bool {
        let between = (self.known.day(before.measured_at), self.known.day(after.measured_at));
        is_renewed_between(self.known, &before.point, before.place, between)
    }
}
