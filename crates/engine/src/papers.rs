//! Papers that expire, and papers that are missing.

use crate::known::Known;
use crate::timeline::{from_start_of, marks_of, once_over};
use chrono::NaiveDate;
use model::horizon::{Cycle, DueItem, ItemKey, ItemKind, Timeline};
use model::{Expiry, Paper, PaperKind, RuleVersion, Trigger, add_days};

/// Lead of a paper where no rule says another, days (house setting, no source).
const LEAD_DAYS: u32 = 30;
/// A paper that a rule asks for should be on record so many days after the vehicle came (house setting, no source).
const RECORD_WITHIN_DAYS: i64 = 14;

/// A paper of one kind: the one that holds, or the want of it.
pub(crate) struct PaperDuty<'a> {
    pub(crate) kind: PaperKind,
    pub(crate) paper: Option<&'a Paper>,
    /// The rule that asks for it; the first by code where there are several.
    pub(crate) rule: Option<(&'a RuleVersion, Expiry)>,
    no_paper_no_drive: bool,
}

/// One duty for each kind of paper that is on record or asked for.
pub(crate) fn duties<'a>(known: &'a Known<'a>) -> Vec<PaperDuty<'a>> {
    PaperKind::ALL
        .iter()
        .map(|kind| {
            let expiries = || {
                known.rules.iter().filter_map(|rule| match &rule.version.rule.trigger {
                    Trigger::Expiry(expiry) if expiry.paper == *kind => Some((rule.version, *expiry)),
                    _ => None,
                })
            };
            PaperDuty {
                kind: *kind,
                paper: newest(&known.facts.papers, *kind),
                rule: expiries().next(),
                no_paper_no_drive: expiries().any(|(_, expiry)| expiry.no_paper_no_drive),
            }
        })
        .filter(|duty| duty.paper.is_some() || duty.rule.is_some())
        .collect()
}

/// The paper of this kind that expires last; of two the one recorded later.
fn newest(papers: &[Paper], kind: PaperKind) -> Option<&Paper> {
    papers
        .iter()
        .filter(|paper| paper.kind == kind)
        .max_by_key(|paper| (paper.expires_on, paper.recorded_at, paper.id))
}

impl PaperDuty<'_> {
    /// The key of the due item.
    pub(crate) fn key(&self) -> ItemKey {
        ItemKey(format!("paper:{}", self.kind))
    }

    /// Days before expiry from which it is approaching: the rule's lead, else from when it can be renewed without losing
    /// the anniversary.
    pub(crate) fn lead_days(&self) -> u32 {
        let said = self.rule.and_then(|(version, expiry)| version.rule.lead.days.or(expiry.renew_from_days));
        said.unwrap_or(LEAD_DAYS)
    }

    /// Days after expiry before it is overdue.
    pub(crate) fn grace_days(&self) -> i64 {
        self.rule.map_or(0, |(version, _)| version.rule.grace.days_or_none())
    }

    /// The day by which a missing paper should be on record.
    pub(crate) fn record_by(known: &Known<'_>) -> NaiveDate {
        add_days(known.facts.vehicle.acquired_on, RECORD_WITHIN_DAYS)
    }

    /// The last day on which the vehicle may be driven by this paper, where the rule forbids it without.
    pub(crate) fn last_day_to_drive(&self) -> Option<NaiveDate> {
        self.paper.filter(|_| self.no_paper_no_drive).map(|paper| paper.expires_on)
    }

    pub(crate) fn item(&self, known: &Known<'_>) -> DueItem {
        let zone = known.zone;
        let (limit, approaching, cycle, title) = match self.paper {
            Some(paper) => (
                paper.expires_on,
                add_days(paper.expires_on, -i64::from(self.lead_days())),
                format!("paper:{}", paper.id),
                self.title(),
            ),
            None => (
                Self::record_by(known),
                known.facts.vehicle.acquired_on,
                format!("no-paper:{}", known.facts.vehicle.id),
                format!("No {} on record", self.title().to_lowercase()),
            ),
        };
        // Grace is for renewing late what there was; a paper that never was has none.
        let grace_days = if self.paper.is_some() { self.grace_days() } else { 0 };
        let timeline = Timeline {
            approaching: Some(from_start_of(approaching, zone)),
            due: Some(from_start_of(limit, zone)),
            overdue: Some(once_over(add_days(limit, grace_days), zone)),
        };
        let do_not_drive_from = self.last_day_to_drive().map(|day| once_over(day, zone).at);
        DueItem {
            key: self.key(),
            cycle: Cycle(cycle),
            kind: ItemKind::Paper,
            title,
            timeline,
            do_not_drive_from,
            date_limit: Some(limit),
            odometer_limit: None,
            hours_limit_seconds: None,
            crossing: None,
            grade: None,
            covers: Vec::new(),
            authority: self.rule.and_then(|(version, _)| version.rule.authority.clone()),
            caution: self.rule.and_then(|(version, _)| version.rule.caution.clone()),
            marks: marks_of(&timeline, do_not_drive_from),
        }
    }

    /// As a person reads it: the kind of paper.
    fn title(&self) -> String {
        self.kind.title().to_owned()
    }
}
