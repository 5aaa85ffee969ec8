//! Papers that expire, and papers that are missing.

use crate::world::{World, at, day, instant};
use chrono_tz::Tz;
use model::PaperKind;
use model::horizon::Stage;

#[test]
fn a_paper_is_valid_through_its_last_day() {
    let world = World::new().zone(Tz::America__New_York).paper(PaperKind::Insurance, "2025-06-30");
    let item = world.item("paper:insurance").unwrap();
    assert_eq!(instant(item.timeline.approaching), at("2025-05-31 04:00"));
    assert_eq!(instant(item.timeline.due), at("2025-06-30 04:00"));
    assert_eq!(instant(item.timeline.overdue), at("2025-07-01 04:00"));
    assert_eq!((item.do_not_drive_from, item.date_limit), (None, Some(day("2025-06-30"))));
}

#[test]
fn without_the_paper_the_vehicle_is_not_driven_from_the_day_after() {
    let world =
        World::new().paper_rule(PaperKind::AnnualTest, true).paper(PaperKind::AnnualTest, "2025-06-30");
    let item = world.item("paper:annual_test").unwrap();
    assert_eq!(item.do_not_drive_from, Some(at("2025-07-01 00:00")));
    let mark = item.marks.iter().find(|mark| mark.code == "do_not_drive").unwrap();
    assert_eq!((mark.rank, mark.at), (90, at("2025-07-01 00:00")));
}

#[test]
fn lead_and_grace_of_the_rule_hold() {
    let world = World::new()
        .paper_rule(PaperKind::Registration, false)
        .lead(Some(60), None)
        .grace(Some(10), None)
        .paper(PaperKind::Registration, "2025-06-30");
    let timeline = world.item("paper:registration").unwrap().timeline;
    assert_eq!(instant(timeline.approaching), at("2025-05-01 00:00"));
    assert_eq!(timeline.stage_at(at("2025-07-10 23:59")).0, Stage::Due);
    assert_eq!(timeline.stage_at(at("2025-07-11 00:00")).0, Stage::Overdue);
}

#[test]
fn the_newest_expiry_holds_and_opens_its_own_cycle() {
    let world =
        World::new().paper(PaperKind::Insurance, "2026-06-30").paper(PaperKind::Insurance, "2025-06-30");
    let item = world.item("paper:insurance").unwrap();
    assert_eq!(item.date_limit, Some(day("2026-06-30")));
    assert_eq!(item.cycle.0, format!("paper:{}", world.facts.papers[0].id));
}

#[test]
fn a_paper_that_is_asked_for_and_not_on_record_is_due() {
    let world = World::new().used_since("2024-02-01").paper_rule(PaperKind::HireLicence, true);
    let item = world.item("paper:hire_licence").unwrap();
    assert_eq!(item.title, "No hire licence on record");
    assert_eq!(item.date_limit, Some(day("2024-02-15")));
    assert_eq!(item.cycle.0, format!("no-paper:{}", world.facts.vehicle.id));
    assert_eq!(item.do_not_drive_from, None);
}

#[test]
fn grace_is_for_renewing_late_what_there_was() {
    let world = World::new().paper_rule(PaperKind::Permit, false).grace(Some(10), None);
    assert_eq!(instant(world.item("paper:permit").unwrap().timeline.overdue), at("2024-01-16 00:00"));
}

#[test]
fn a_rule_that_does_not_apply_asks_for_no_paper() {
    let world = World::new().paper_rule(PaperKind::HireLicence, true).exception("hire-licence", None);
    assert_eq!(world.item("paper:hire_licence"), None);
}
