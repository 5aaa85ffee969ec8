//! What a technician reads on the spot: each entry's result with grades and what the vehicle needs.

use super::plan::{Fate, Plan, Stored};
use super::{EntryOutcome, EntryResult, HeldPart, HeldReason, Taken};
use chrono::{DateTime, Utc};
use model::horizon::{DueItem, Horizon, Stage};
use model::{SetAside, Verdict};

/// The results of a stored plan, in the order of its entries.
pub(super) fn of(now: DateTime<Utc>, plan: Plan, horizons: &[Horizon]) -> Vec<EntryResult> {
    let result = |(entry_id, fate)| EntryResult { entry_id, outcome: outcome(now, fate, horizons) };
    plan.fates.into_iter().map(result).collect()
}

fn outcome(now: DateTime<Utc>, fate: Fate, horizons: &[Horizon]) -> EntryOutcome {
    match fate {
        Fate::Duplicate(inspection) => EntryOutcome::Duplicate { inspection },
        Fate::Rejected { status, code, faults, .. } => EntryOutcome::Rejected { status, code, faults },
        Fate::Stored(stored) => {
            let horizon = horizons.iter().find(|horizon| horizon.vehicle == stored.vehicle);
            let parts = held_parts(&stored, horizon);
            let taken = taken(now, &stored, horizon);
            if parts.is_empty() { EntryOutcome::Accepted(taken) } else { EntryOutcome::Held { taken, parts } }
        }
    }
}

fn held_parts(stored: &Stored, horizon: Option<&Horizon>) -> Vec<HeldPart> {
    let mut parts = Vec::new();
    if stored.timed.in_doubt {
        parts.push(HeldPart::unsuggested("/performed_at", HeldReason::Clock));
    }
    if let Some(reason) = stored.correction.as_ref().and_then(super::plan::Correction::held) {
        parts.push(HeldPart::unsuggested("/corrects", reason));
    }
    if let Some(unknown) = &stored.sheet_unknown {
        parts.push(HeldPart::unsuggested("/check_sheet/version", HeldReason::SheetVersion(unknown.clone())));
    }
    let judged = stored
        .reading
        .as_ref()
        .and_then(|reading| horizon?.judgements.iter().find(|judgement| judgement.reading == reading.id));
    if let Some(Verdict::Held { doubt, suggested }) = judged.map(|judgement| judgement.verdict) {
        let reason = HeldReason::Doubt(doubt);
        parts.push(HeldPart { suggested, ..HeldPart::unsuggested("/odometer", reason) });
    }
    let measured = |one: &SetAside| HeldPart::unsuggested(&one.pointer, HeldReason::SetAside(one.clone()));
    parts.extend(stored.set_aside.iter().map(measured));
    parts
}

fn taken(now: DateTime<Utc>, stored: &Stored, horizon: Option<&Horizon>) -> Taken {
    let own = |graded: &&model::horizon::Graded| graded.inspection == stored.inspection.id;
    let grades = horizon.map(|h| h.grades.iter().filter(own).cloned().collect()).unwrap_or_default();
    let pressing = |item: &&DueItem| item.timeline.stage_at(now).0 != Stage::Clear || forbids(item, now);
    let items: Vec<DueItem> =
        horizon.map(|h| h.items.iter().filter(pressing).cloned().collect()).unwrap_or_default();
    Taken {
        vehicle: stored.vehicle,
        inspection: stored.inspection.id,
        do_not_drive: items.iter().any(|item| forbids(item, now)),
        grades,
        items,
        clock_corrected: stored.timed.corrected,
        unknown_members: stored.unknown_members.clone(),
    }
}

fn forbids(item: &DueItem, now: DateTime<Utc>) -> bool {
    item.do_not_drive_from.is_some_and(|from| from <= now)
}
