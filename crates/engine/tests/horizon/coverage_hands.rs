//! What becomes of cover when the vehicle changes hands.

use crate::world::{World, at, day, instant, km};
use engine::words;
use model::Transfer;
use model::horizon::{Basis, ItemKind, Moment};
use quantity::Unit;

/// Five years or 100,000 km from 1 March 2024.
fn five_years() -> World {
    World::new().new_on("2024-03-01").window(Some(60), Some(km(100_000.0)))
}

/// Five years from 1 March 2024, bought on 1 September 2025 with this clause.
fn bought_used(transfer: Transfer) -> World {
    five_years().acquired("2025-09-01").terms(|terms| terms.transfer = transfer)
}

#[test]
fn cover_that_ends_with_its_first_owner_ended_the_day_before_the_vehicle_came() {
    let world = bought_used(Transfer::Ends);
    let window = world.first_window();
    assert_eq!(window.last_day, Some(day("2025-08-31")));
    assert_eq!(window.ended, Some(Moment { at: at("2025-09-01 00:00"), basis: Basis::Date }));
    assert!(window.marks.is_empty() && window.act_by.is_none());
    let why =
        "It ends when the vehicle changes hands: that came on 1 Sep 2025, so the last day was 31 Aug 2025.";
    assert!(world.because_window().contains(&why.to_owned()));
}

#[test]
fn cover_of_a_part_fitted_by_this_owner_has_not_changed_hands() {
    let world = bought_used(Transfer::Ends).service("2025-10-01", km(50_000.0), &[]);
    let service = world.facts.services[0].id;
    let window = world.terms(|terms| terms.opened_by = Some(service)).first_window();
    assert_eq!(window.last_day, Some(day("2030-09-30")));
}

#[test]
fn the_first_owner_keeps_cover_that_ends_when_it_changes_hands() {
    let world = five_years().terms(|terms| terms.transfer = Transfer::Ends);
    assert_eq!(world.first_window().last_day, Some(day("2029-02-28")));
}

#[test]
fn the_giver_must_be_told_in_the_days_that_the_terms_allow() {
    let world = bought_used(Transfer::OnNotice).terms(|terms| terms.transfer_within_days = Some(30));
    let key = format!("transfer:{}", world.facts.windows[0].id);
    let item = world.item(&key).unwrap();
    assert_eq!((item.kind, item.date_limit), (ItemKind::Transfer, Some(day("2025-10-01"))));
    assert_eq!(instant(item.timeline.approaching), at("2025-09-01 00:00"));
    assert_eq!(instant(item.timeline.due), at("2025-10-01 00:00"));
    assert_eq!(instant(item.timeline.overdue), at("2025-10-02 00:00"));
    let told = world.clone().terms(|terms| terms.transferred_on = Some(day("2025-09-20")));
    assert_eq!(told.item(&key), None);
    let kept = "That it was told is not on record; after that day cover may have lapsed.";
    assert!(world.because(&key).last().unwrap().ends_with(kept), "{:?}", world.because(&key));
}

#[test]
fn it_is_said_that_cover_may_have_lapsed_and_never_that_it_has() {
    let world = bought_used(Transfer::OnNotice).terms(|terms| terms.transfer_within_days = Some(30));
    let item = world.item(&format!("transfer:{}", world.facts.windows[0].id)).unwrap();
    let line = |mark| words::item_line(&item, mark, Unit::Kilometre, chrono_tz::UTC);
    assert_eq!(line("due"), "Tell of the change of hands: Powertrain warranty by 1 Oct 2025");
    let late =
        "Tell of the change of hands: Powertrain warranty (overdue) by 1 Oct 2025; cover may have lapsed";
    assert_eq!(line("overdue"), late);
    assert_eq!(world.first_window().last_day, Some(day("2029-02-28")));
}

#[test]
fn told_too_late_is_explained() {
    let world = bought_used(Transfer::OnNotice).terms(|terms| {
        terms.transfer_within_days = Some(30);
        terms.transferred_on = Some(day("2025-10-02"));
    });
    let said = world.because_window();
    let late = "The vehicle changed hands: it came on 1 Sep 2025. Cover goes along if its giver is told within 30 days, \
                by 1 Oct 2025. It was told on 2 Oct 2025, after that: cover may have lapsed. Ask.";
    assert!(said.contains(&late.to_owned()), "{said:?}");
}

#[test]
fn without_a_deadline_in_the_terms_nothing_is_said_to_lapse() {
    let world = bought_used(Transfer::OnNotice);
    let item = world.item(&format!("transfer:{}", world.facts.windows[0].id)).unwrap();
    assert_eq!((item.date_limit, instant(item.timeline.due)), (None, at("2025-09-15 00:00")));
    assert!(!words::item_line(&item, "overdue", Unit::Mile, chrono_tz::UTC).contains("lapsed"));
}

#[test]
fn nothing_is_told_of_cover_that_is_gone_or_never_changed_hands() {
    let key = |world: &World| format!("transfer:{}", world.facts.windows[0].id);
    let run_out = bought_used(Transfer::OnNotice).reading("2025-09-02 12:00", 100_000.0);
    assert_eq!(run_out.item(&key(&run_out)), None);
    let new = five_years().terms(|terms| terms.transfer = Transfer::OnNotice);
    assert_eq!(new.item(&key(&new)), None);
    let over = bought_used(Transfer::OnNotice).terms(|terms| terms.months = Some(12));
    assert_eq!(over.item(&key(&over)), None);
}
