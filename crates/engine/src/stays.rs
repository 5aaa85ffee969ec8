//! Time off the road: nothing nags, and one list says what to see to before the vehicle goes out again.

use crate::known::Known;
use crate::timeline::marks_of;
use chrono::{DateTime, Utc};
use model::horizon::{Basis, Cycle, DueItem, ItemKey, ItemKind, Mark, Moment, Stage, Timeline};
use model::{Facts, Stay};

/// The mark that is told whatever the vehicle does.
const DO_NOT_DRIVE: &str = "do_not_drive";

/// Whether the vehicle is off the road at `at`: marks that fall there, other than `do_not_drive`, are folded into the list
/// "before it goes out again".
pub fn folded(facts: &Facts, at: DateTime<Utc>) -> bool {
    facts.stays.iter().any(|stay| stay.is_on(at))
}

/// From when `mark` of `item` is to be told: when it falls; of a vehicle off the road then, from when it is out again;
/// `None` while nobody knows when that is.
pub fn told_from(facts: &Facts, item: &DueItem, mark: &Mark) -> Option<DateTime<Utc>> {
    if mark.code == DO_NOT_DRIVE || item.kind == ItemKind::BeforeOut {
        return Some(mark.at);
    }
    on_the_road_from(&facts.stays, mark.at)
}

/// What is to be seen to before the vehicle goes out, as it stands at `at`: the items that are not clear then, and those
/// for which it must not be driven, in their own order.
pub fn before_out(items: &[DueItem], at: DateTime<Utc>) -> impl Iterator<Item = &DueItem> {
    let is_asked = move |item: &&DueItem| {
        item.timeline.stage_at(at).0 != Stage::Clear || item.do_not_drive_from.is_some_and(|from| from <= at)
    };
    items.iter().filter(|item| item.kind != ItemKind::BeforeOut).filter(is_asked)
}

/// The first instant at or after `at` at which the vehicle is on the road; `None` during a stay that is not over.
pub(crate) fn on_the_road_from(stays: &[Stay], at: DateTime<Utc>) -> Option<DateTime<Utc>> {
    let mut from = at;
    while let Some(stay) = stays.iter().find(|stay| stay.is_on(from)) {
        from = stay.out_at?;
    }
    Some(from)
}

/// The key of a stay's due item.
pub(crate) fn key_of(stay: &Stay) -> ItemKey {
    ItemKey(format!("stay:{}", stay.id))
}

/// The list of each stay that is not over, of what stood among `items` when the vehicle went in. It is gone once the
/// vehicle is out.
pub(crate) fn items(known: &Known<'_>, items: &[DueItem]) -> Vec<DueItem> {
    let open = known.facts.stays.iter().filter(|stay| stay.out_at.is_none());
    open.map(|stay| item(stay, items)).collect()
}

fn item(stay: &Stay, items: &[DueItem]) -> DueItem {
    let key = key_of(stay);
    let due = Moment { at: stay.in_at, basis: Basis::Date };
    let timeline = Timeline { approaching: None, due: Some(due), overdue: None };
    let mut covers: Vec<String> = before_out(items, stay.in_at).map(|item| item.key.0.clone()).collect();
    covers.sort_unstable();
    DueItem {
        cycle: Cycle(key.0.clone()),
        key,
        kind: ItemKind::BeforeOut,
        title: "Before it goes out again".to_owned(),
        timeline,
        do_not_drive_from: None,
        date_limit: None,
        odometer_limit: None,
        hours_limit_seconds: None,
        crossing: None,
        grade: None,
        covers,
        authority: None,
        caution: None,
        marks: marks_of(&timeline, None),
    }
}
