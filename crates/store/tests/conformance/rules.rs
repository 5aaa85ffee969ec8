//! Rulebooks with their versions, exceptions, baseline answers and check sheets.

use crate::world::{OURS, VAN, code, day, furnished, id, km, morning, stamp};
use model::{
    AppliesTo, BaselineAnswer, BaselineChoice, BaselineDefault, BaselineId, CheckSheet, Every, Expiry,
    IntervalRule, OverrideId, PaperKind, Place, Powertrain, Reach, RuleOverride, Rulebook, RulebookId,
    RulebookVersionId, SheetPoint, Trigger,
};
use quantity::Unit;
use store::{baselines, overrides, rulebooks, sheets};
use testkit::on_both_engines;

pub fn plain_rule(name: &str) -> IntervalRule {
    IntervalRule {
        code: code(name),
        title: "Engine oil".to_owned(),
        trigger: Trigger::Every(Every {
            distance: Some(km(0.1 + 0.2)),
            months: None,
            days: None,
            engine_hours: None,
        }),
        first: None,
        anchor: model::Anchoring::LastDone,
        indicator: false,
        severe: None,
        lead: Reach::default(),
        grace: Reach::default(),
        satisfies: Vec::new(),
        renews: Vec::new(),
        applies_to: AppliesTo::default(),
        authority: None,
        caution: None,
        baseline: BaselineDefault::Ask,
    }
}

fn full_rule(name: &str) -> IntervalRule {
    let expiry = Expiry { paper: PaperKind::Insurance, renew_from_days: Some(30), no_paper_no_drive: true };
    IntervalRule {
        trigger: Trigger::Expiry(expiry),
        first: None,
        anchor: model::Anchoring::LastDone,
        indicator: false,
        severe: Some(Every {
            distance: Some(km(9_000.5)),
            months: Some(6),
            days: Some(180),
            engine_hours: None,
        }),
        lead: Reach { days: Some(14), distance: Some(km(500.0)) },
        grace: Reach { days: Some(7), distance: None },
        satisfies: vec![code("engine-oil")],
        renews: Vec::new(),
        applies_to: AppliesTo {
            powertrains: vec![Powertrain::Diesel],
            makes: vec!["Bramble".to_owned()],
            models: vec!["Carrier".to_owned()],
            model_year_from: Some(2020),
            model_year_to: Some(2030),
            tags: vec!["cold".to_owned()],
        },
        authority: Some("Maintenance manual".to_owned()),
        caution: Some("Hot oil.".to_owned()),
        baseline: BaselineDefault::DoNow,
        ..plain_rule(name)
    }
}

pub fn rulebook(version: i64, rules: Vec<IntervalRule>) -> Rulebook {
    Rulebook {
        id: RulebookId(id(900)),
        title: format!("House book {version}"),
        version_id: RulebookVersionId(id(910 + u128::from(version.unsigned_abs()))),
        version,
        rules,
    }
}

pub fn exception(number: u128) -> RuleOverride {
    RuleOverride {
        id: OverrideId(id(number)),
        rule: code("engine-oil"),
        every: None,
        reason: "Not fitted.".to_owned(),
        recorded_at: morning(),
    }
}

pub fn answer(number: u128, choice: BaselineChoice) -> BaselineAnswer {
    BaselineAnswer { id: BaselineId(id(number)), rule: code("engine-oil"), choice, recorded_at: morning() }
}

pub fn sheet(version: i64) -> CheckSheet {
    let everywhere = SheetPoint {
        point: code("tread"),
        places: Vec::new(),
        units: Vec::new(),
        how: "Gauge it.".to_owned(),
        caution: None,
    };
    let named = SheetPoint {
        units: vec![Unit::Millimetre],
        places: vec![Place::FrontLeft, Place::Spare],
        caution: Some("Chock the wheels.".to_owned()),
        ..everywhere.clone()
    };
    CheckSheet {
        code: code("walk-round"),
        version,
        title: format!("Walk-round {version}"),
        points: vec![everywhere, named],
    }
}

on_both_engines! {
    async fn a_rulebook_comes_back_as_it_was_in_its_own_order(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let book = rulebook(1, vec![plain_rule("zinc-anode"), full_rule("annual-service"), plain_rule("engine-oil")]);
        rulebooks::insert(conn, OURS, &book, &stamp(OURS)).await.expect("kept");
        assert_eq!(rulebooks::find(conn, OURS, book.id).await.expect("an answer"), Some(book.clone()));
        assert_eq!(rulebooks::page(conn, OURS, None, 9).await.expect("a page"), [book]);
    }

    async fn a_revision_is_added_and_the_past_stays_readable(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let (first, second) = (rulebook(1, vec![plain_rule("engine-oil")]), rulebook(2, vec![full_rule("new-rule")]));
        rulebooks::insert(conn, OURS, &first, &stamp(OURS)).await.expect("kept");
        let revised = rulebooks::revise(conn, OURS, &second, 1, &stamp(OURS)).await.expect("an answer");
        let stale = rulebooks::revise(conn, OURS, &rulebook(2, vec![]), 1, &stamp(OURS)).await.expect("an answer");
        assert_eq!((revised, stale), (true, false));
        assert_eq!(rulebooks::find(conn, OURS, first.id).await.expect("an answer"), Some(second.clone()));
        for (version, written) in [(1, Some(first.clone())), (2, Some(second)), (3, None)] {
            let found = rulebooks::find_version(conn, OURS, first.id, version).await.expect("an answer");
            assert_eq!(found, written, "version {version}");
        }
    }

    async fn a_rulebook_may_have_no_rules(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        rulebooks::insert(conn, OURS, &rulebook(1, vec![]), &stamp(OURS)).await.expect("kept");
        let found = rulebooks::find(conn, OURS, RulebookId(id(900))).await.expect("an answer");
        assert_eq!(found, Some(rulebook(1, vec![])));
    }

    async fn exceptions_come_back_as_they_were_until_withdrawn(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let every = Every { distance: Some(km(7_500.25)), months: Some(6), days: None, engine_hours: None };
        let longer = RuleOverride { every: Some(every), ..exception(921) };
        for kept in [&exception(920), &longer] {
            overrides::insert(conn, OURS, VAN, kept, &stamp(OURS)).await.expect("kept");
        }
        let listed = overrides::page(conn, OURS, VAN, None, 9).await.expect("a page");
        assert_eq!(listed, [exception(920), longer.clone()]);
        let first = overrides::withdraw(conn, OURS, VAN, exception(920).id, morning()).await.expect("an answer");
        let second = overrides::withdraw(conn, OURS, VAN, exception(920).id, morning()).await.expect("an answer");
        assert_eq!((first, second), (true, false));
        assert_eq!(overrides::page(conn, OURS, VAN, None, 9).await.expect("a page"), [longer]);
    }

    async fn baseline_answers_come_back_as_they_were(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let kept = [
            answer(930, BaselineChoice::Proven { done_on: day("2024-02-29"), odometer: km(12_000.5) }),
            answer(931, BaselineChoice::DoNow { on: day("2027-03-01") }),
            answer(932, BaselineChoice::StartFrom { on: day("2027-03-01"), odometer: km(48_210.0) }),
        ];
        baselines::insert(conn, OURS, VAN, &kept, &stamp(OURS)).await.expect("kept");
        assert_eq!(baselines::page(conn, OURS, VAN, None, 9).await.expect("a page"), kept);
    }

    async fn every_version_of_a_sheet_stays_readable(store: Store) {
        let mut tx = furnished(&store).await;
        let conn = &mut tx.conn();
        let arrival = CheckSheet { code: code("arrival"), points: Vec::new(), ..sheet(1) };
        for kept in [&sheet(1), &sheet(2), &arrival] {
            sheets::insert(conn, OURS, kept, &stamp(OURS)).await.expect("kept");
        }
        for (version, kept) in [(1, Some(sheet(1))), (2, Some(sheet(2))), (3, None)] {
            let found = sheets::find(conn, OURS, &code("walk-round"), version).await.expect("an answer");
            assert_eq!(found, kept, "version {version}");
        }
        assert_eq!(sheets::newest(conn, OURS, &code("walk-round")).await.expect("an answer"), Some(sheet(2)));
        assert_eq!(sheets::newest(conn, OURS, &code("nothing")).await.expect("an answer"), None);
        assert_eq!(sheets::page(conn, OURS, None, 9).await.expect("a page"), [arrival, sheet(2)]);
        let again = sheets::insert(conn, OURS, &sheet(2), &stamp(OURS)).await.expect_err("taken");
        assert!(again.is_unique(), "{again:?}");
    }
}
