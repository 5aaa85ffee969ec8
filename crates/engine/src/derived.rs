//! Everything derived for one vehicle, once: its horizon and the reasons both read from here.

use crate::ages::{self, Ageing};
use crate::coverage::Outlook;
use crate::known::Known;
use crate::papers::PaperDuty;
use crate::reading_wanted::ReadingWanted;
use crate::rules::RuleDuty;
use crate::{baseline, conditions, coverage, papers, questions, reading_wanted, rules, stays, telling, wear};
use model::RuleVersion;
use model::horizon::{DueItem, Graded, Horizon, Question, WearOutlook};

/// What follows from what is known, before it is put in order.
pub(crate) struct Derived<'k> {
    pub(crate) known: &'k Known<'k>,
    pub(crate) duties: Vec<RuleDuty<'k>>,
    pub(crate) unproven: Vec<&'k RuleVersion>,
    pub(crate) papers: Vec<PaperDuty<'k>>,
    pub(crate) outlooks: Vec<Outlook<'k>>,
    pub(crate) wanted: Option<ReadingWanted>,
    pub(crate) items: Vec<DueItem>,
    pub(crate) grades: Vec<Graded>,
    pub(crate) wear: Vec<WearOutlook>,
    pub(crate) ageing: Vec<Ageing>,
    questions: Vec<Question>,
}

impl<'k> Derived<'k> {
    pub(crate) fn of(known: &'k Known<'k>) -> Self {
        let grades = conditions::standing_grades(known);
        let wear = wear::outlooks(known);
        let (duties, unproven) = rules::duties(known, rules::Measured { grades: &grades, wear: &wear });
        let ageing = ages::ageing(known, &grades);
        let mut derived = Self {
            known,
            duties,
            unproven,
            papers: papers::duties(known),
            outlooks: coverage::outlooks(known),
            wanted: reading_wanted::wanted(known),
            items: Vec::new(),
            grades,
            wear,
            ageing,
            questions: questions::asked(known),
        };
        derived.items = derived.due_items();
        derived
    }

    /// Due items in the order of their keys.
    fn due_items(&self) -> Vec<DueItem> {
        let known = self.known;
        let mut items: Vec<DueItem> = self.duties.iter().map(|duty| duty.item(known)).collect();
        items.extend(baseline::item(known, &self.unproven));
        items.extend(self.papers.iter().map(|duty| duty.item(known)));
        items.extend(coverage::items(known, &self.outlooks));
        items.extend(self.wanted.iter().map(|wanted| wanted.item(known)));
        items.extend(conditions::items(known, &self.grades));
        items.extend(self.ageing.iter().map(|ageing| ageing.item(known)));
        items.extend(stays::items(known, &items));
        for item in &mut items {
            telling::heed_postponement(known, &item.key, &item.cycle, &mut item.marks);
        }
        items.sort_by(|one, other| (&one.key, &one.cycle).cmp(&(&other.key, &other.cycle)));
        items
    }

    pub(crate) fn into_horizon(self) -> Horizon {
        let known = self.known;
        let mut windows: Vec<_> = self.outlooks.iter().map(|outlook| outlook.shown(known)).collect();
        windows.sort_by(|one, other| one.key.cmp(&other.key));
        for window in &mut windows {
            telling::heed_postponement(known, &window.key, &window.cycle, &mut window.marks);
        }
        Horizon {
            usage: known
                .driving
                .as_ref()
                .map(|driving| driving.outlook(&known.facts.usage, known.earlier_meters())),
            running: known.running.as_ref().map(|running| running.outlook(known)),
            wear: self.wear,
            questions: self.questions,
            grades: self.grades,
            items: self.items,
            windows,
            ..bare(known)
        }
    }
}

/// Nothing is coming; the log is judged all the same.
pub(crate) fn bare(known: &Known<'_>) -> Horizon {
    Horizon {
        vehicle: known.facts.vehicle.id,
        judgements: known.judgements.clone(),
        hour_judgements: known.hour_judgements.clone(),
        usage: None,
        running: None,
        wear: Vec::new(),
        questions: Vec::new(),
        grades: Vec::new(),
        items: Vec::new(),
        windows: Vec::new(),
    }
}
