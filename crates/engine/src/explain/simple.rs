//! Steps of what follows from one or two facts: baseline, papers, readings wanted, grades, findings.

use super::{DutyStep, Step};
use crate::baseline;
use crate::conditions::{History, Run, key_of, key_of_finding, title};
use crate::known::Known;
use crate::papers::PaperDuty;
use crate::reading_wanted::ReadingWanted;
use model::horizon::{Graded, ItemKey};
use model::{Facts, FindingWeight, Grade, RuleVersion, add_days};
use std::iter;

/// Title and steps.
type Explained = (String, Vec<Step>);

pub(crate) fn of_baseline(known: &Known<'_>, unproven: &[&RuleVersion]) -> Option<Explained> {
    let item = baseline::item(known, unproven)?;
    let step = Step::Unproven {
        rules: unproven.iter().map(|version| version.rule.code.clone()).collect(),
        acquired_on: known.facts.vehicle.acquired_on,
        settle_by: baseline::due_on(known),
    };
    Some((item.title, vec![step]))
}

pub(crate) fn of_paper(known: &Known<'_>, duty: &PaperDuty<'_>) -> Vec<Step> {
    let expiry = duty.rule.map(|(_, expiry)| expiry);
    let mut steps = vec![match duty.paper {
        Some(paper) => Step::PaperExpires {
            paper: paper.id,
            reference: paper.reference.clone(),
            expires_on: paper.expires_on,
            lead_days: duty.lead_days(),
            renew_from: expiry
                .and_then(|expiry| expiry.renew_from_days)
                .map(|days| add_days(paper.expires_on, -i64::from(days))),
        },
        None => Step::PaperMissing {
            rule: duty.rule.map(|(version, _)| version.rule.code.clone()),
            acquired_on: known.facts.vehicle.acquired_on,
            record_by: PaperDuty::record_by(known),
        },
    }];
    if let (Some(last_day), Some(expiry)) = (duty.last_day_to_drive(), expiry) {
        steps.push(Step::NoPaperNoDrive { expiry, last_day });
    }
    let authority = duty.rule.and_then(|(version, _)| version.rule.authority.clone());
    steps.extend(authority.map(|authority| Step::Authority { authority }));
    steps
}

pub(crate) fn of_reading_wanted(known: &Known<'_>, wanted: &ReadingWanted) -> Explained {
    let mut steps = vec![Step::TooOld {
        read_on: known.driving.as_ref().map(|driving| known.day(driving.anchor.at)),
        most_days: known.policy.reading_age_days,
        on: wanted.too_old_on,
    }];
    if let (Some((lead, on)), Some(driving)) = (wanted.driven, &known.driving) {
        steps.push(Step::LeadDriven { km_per_day: driving.km_per_day(), lead, on });
    }
    (wanted.item(known).title, steps)
}

pub(crate) fn of_grade(known: &Known<'_>, standing: &[Graded], key: &ItemKey) -> Option<Explained> {
    let graded = standing.iter().find(|one| one.grade >= Grade::Attend && key_of(one) == *key)?;
    let title = title(&graded.point, graded.place);
    let bad_since = bad_since(known, graded);
    let step = Step::Measured {
        measurement: graded.measurement,
        at: graded.measured_at,
        measured: graded.measured,
        limit: graded.limit,
        grade: graded.grade,
        reason: graded.reason.clone(),
        source: graded.source.clone(),
        standing: graded.standing.clone(),
    };
    Some((title, iter::once(step).chain(bad_since).collect()))
}

/// The measurement that opened the round, where it was an earlier one.
fn bad_since(known: &Known<'_>, graded: &Graded) -> Option<Step> {
    let Run { opened_by, do_not_drive_from } = History::of(known).run_of(graded);
    (opened_by.measurement != graded.measurement).then(|| {
        Step::Duty(DutyStep::BadSince {
            opened_by: opened_by.measurement,
            on: known.day(opened_by.measured_at),
            measured: opened_by.measured,
            grade: opened_by.grade,
            do_not_drive_on: do_not_drive_from.map(|from| known.day(from)),
        })
    })
}

pub(crate) fn of_finding(facts: &Facts, key: &ItemKey) -> Option<Explained> {
    let is_asked = |finding: &&model::Finding| {
        key_of_finding(finding) == *key
            && finding.closed_at.is_none()
            && finding.weight != FindingWeight::Note
    };
    let finding = facts.findings.iter().find(is_asked)?;
    let step = Step::Found { finding: finding.id, at: finding.found_at, note: finding.note.clone() };
    Some((title(finding.code.as_str(), finding.place), vec![step]))
}
