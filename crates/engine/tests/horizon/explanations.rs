//! Reasons and lines in words.

use crate::world::{World, at, code, day, every_km_or_months, every_months, km, mi};
use engine::words;
use model::horizon::{Basis, ItemKey, Stage};
use model::{BaselineChoice, Doubt, FindingWeight, KappaFit, PaperKind, Place};
use quantity::{Distance, Unit};

/// Oil done on 1 March at 5,000 km, last read on 30 April at 13,000 km.
fn oil() -> World {
    World::new()
        .reading("2024-01-01 12:00", 0.0)
        .service("2024-03-01", km(5000.0), &["engine-oil"])
        .reading("2024-04-30 12:00", 13_000.0)
        .rule("engine-oil", every_km_or_months(10_000.0, 6))
        .amend(|rule| {
            "Engine oil and filter".clone_into(&mut rule.title);
            rule.authority = Some("maintenance manual".to_owned());
        })
}

#[test]
fn a_rule_by_distance_is_followed_from_last_work_to_the_day() {
    let said = oil().because("rule:engine-oil");
    let start = [
        "Last done on 1 Mar 2024 at 5,000 km, by service record.",
        "Rule engine-oil, rulebook version 3: every 10,000 km or 6 months, whichever comes first.",
        "By the calendar: 1 Mar 2024 plus 6 months; last day 1 Sep 2024.",
        "By distance: 5,000 km + 10,000 km = 15,000 km.",
        "Last counted reading: 13,000 km on 30 Apr 2024; 2,000 km are left.",
    ];
    assert_eq!(said[..5], start);
    assert!(
        said[5].starts_with("Usage from 2 gaps between readings, older ones fading by half in 120"),
        "{said:?}"
    );
    assert!(
        said[5].contains("count as 86.56 operating days and 9748.8 km, on top of the default shipped"),
        "{said:?}"
    );
    assert!(said[6].starts_with("Width kappa 1.5, the shipped width"), "{said:?}");
    assert!(said[7].starts_with("10 %: 2000 km within ") && said[8].starts_with("50 %: 2000 km"), "{said:?}");
    assert!(said[10].starts_with("Whichever comes first of 1 Sep 2024 by the calendar and "), "{said:?}");
    assert_eq!(said.last().unwrap(), "Says who: maintenance manual.");
}

#[test]
fn the_parameters_and_the_quantile_are_those_of_the_published_distribution() {
    // SciPy 1.17.1: the roots in h of betaprime.sf(2000 / Q, h / 1.5, P) = 0.1, 0.5, 0.9 by brentq, where the two gaps
    // (60 days, 5,000 km; 60 days, 8,000 km), faded by half in 120 days and with the shipped width 1.5, make
    // P = 6 + 86.5617 / 1.5 and Q = 1.5 x 400 + 9748.8088 km.
    let explanation =
        engine::explain(&oil().facts, &oil().policy, &ItemKey("rule:engine-oil".to_owned())).unwrap();
    let days: Vec<f64> = explanation
        .steps
        .iter()
        .filter_map(|step| match step {
            engine::Step::Quantile { operating_days, .. } => Some(*operating_days),
            _ => None,
        })
        .collect();
    let expected = [12.115_162_139_7, 18.869_033_422_1, 26.767_203_138_1];
    for (found, expected) in days.iter().zip(expected) {
        // What a tenth of a day allows: the days are sought on a closed approximation.
        assert!((found - expected).abs() < 0.1, "{found} against {expected}");
    }
    assert_eq!(days.len(), 3);
}

#[test]
fn a_measured_width_is_that_of_the_items_likely_day() {
    // Under a width of 1 the likely day is 18.5 operating days away (SciPy as above), so below 30: the first width.
    let measured = |at_30| KappaFit { at_30, at_90: 4.0, at_180: 6.0, cases: [60, 60, 60] };
    let width_of = |kappa: Option<KappaFit>| {
        let mut world = oil();
        world.facts.usage.fit.kappa = kappa;
        let explanation =
            engine::explain(&world.facts, &world.policy, &ItemKey("rule:engine-oil".to_owned()));
        explanation.unwrap().steps.into_iter().find_map(|step| match step {
            engine::Step::Width { kappa, is_measured, .. } => Some((kappa, is_measured)),
            _ => None,
        })
    };
    assert_eq!(width_of(None), Some((1.5, false)));
    assert_eq!(width_of(Some(measured(2.25))), Some((2.25, true)));
    assert_eq!(width_of(Some(measured(3.0))), Some((3.0, true)));
}

#[test]
fn severe_duty_exceptions_and_settled_baselines_are_named() {
    let severe = World::new().severe().rule("wash", every_months(2)).amend(|rule| {
        rule.severe = Some(every_months(1));
    });
    assert_eq!(severe.because("rule:wash")[1], "Rule wash, rulebook version 3, severe duty: every 1 month.");
    let exception = World::new().rule("wash", every_months(2)).exception("wash", Some(every_months(3)));
    let why = "Rule wash, rulebook version 3, exception for this vehicle (runs on the island only): every 3 months.";
    assert_eq!(exception.because("rule:wash")[1], why);
    let settled = World::new()
        .used_since("2024-02-01")
        .rule("timing-belt", every_months(60))
        .answer("timing-belt", BaselineChoice::DoNow { on: day("2024-02-05") });
    let said = settled.because("rule:timing-belt");
    assert_eq!(said[0], "To be done now, as settled in the baseline check on 5 Feb 2024.");
}

#[test]
fn a_window_says_how_likely_distance_ends_it_first() {
    let world = World::new()
        .new_on("2024-05-15")
        .steady("2024-05-15", "2025-05-15", 5, mi(18_000.0 / 365.0))
        .window(Some(36), Some(mi(36_000.0)));
    let said = world.because(&format!("window:{}", world.facts.windows[0].id));
    assert_eq!(said[0], "Starts on 15 May 2024: the vehicle's first day in service.");
    assert!(
        said.iter().any(|line| line.starts_with("The distance is driven before 14 May 2027 is over")),
        "{said:?}"
    );
    let closing = world.because(&format!("closing:{}", world.facts.windows[0].id));
    assert!(closing.last().unwrap().contains("the closing check is due 30 days before"), "{closing:?}");
}

#[test]
fn papers_baselines_readings_grades_and_findings_are_explained() {
    let world = World::new()
        .used_since("2024-02-01")
        .rule("brake-fluid", every_months(24))
        .paper_rule(PaperKind::AnnualTest, true)
        .paper_rule(PaperKind::Registration, false)
        .paper(PaperKind::AnnualTest, "2024-12-31")
        .tread("2024-06-01 09:00", Place::RearLeft, 1.2)
        .finding(None, FindingWeight::Attend, "2024-06-02 09:00");
    let valid = "The newest paper on record is valid through 31 Dec 2024; lead 30 days.";
    let stop = "Without it the vehicle must not be driven; the last day is 31 Dec 2024.";
    assert_eq!(world.because("paper:annual_test"), [valid, stop]);
    let missing = "Rule registration asks for it. None is on record; the vehicle came on 1 Feb 2024, it should be \
                   recorded by 15 Feb 2024.";
    assert_eq!(world.because("paper:registration"), [missing]);
    let baseline = "The vehicle came on 1 Feb 2024 with a past that is not on record; not proven: brake-fluid. To be \
                    settled by 15 Feb 2024.";
    assert_eq!(world.because("baseline"), [baseline]);
    assert_eq!(world.because("reading"), ["No reading counts yet; one is wanted from 1 Feb 2024 on."]);
    let measured = world.because("condition:tread-depth:rear_left");
    assert!(measured[0].starts_with("Measured 1.2 mm against "), "{measured:?}");
    let found = world.because(&format!("finding:{}", world.facts.findings[0].id));
    assert_eq!(found, ["Found: knocks over kerbs"]);
}

#[test]
fn what_is_not_coming_has_no_explanation() {
    // Tread to be watched makes no item, and so needs no reasons.
    let world = oil().tread("2024-06-01 09:00", Place::Spare, 2.9);
    for key in ["rule:wash", "paper:insurance", "window:none", "nonsense", "condition:tread-depth:spare"] {
        assert_eq!(engine::explain(&world.facts, &world.policy, &ItemKey(key.to_owned())), None, "{key}");
    }
}

fn line(world: &World, key: &str, mark: &str) -> String {
    let vehicle = &world.facts.vehicle;
    words::item_line(
        &world.item(key).expect("the item should be coming"),
        mark,
        vehicle.odometer_unit,
        vehicle.zone,
    )
}

#[test]
fn a_rule_is_told_with_its_limits_and_its_likely_day_while_that_is_ahead() {
    let world = oil();
    let likely = words::day(world.due("engine-oil").crossing.unwrap().likely.unwrap());
    let ahead = format!(
        "Engine oil and filter: due 1 Sep 2024 or at 15,000 km, whichever comes first; likely {likely}"
    );
    assert_eq!(line(&world, "rule:engine-oil", "approaching"), ahead);
    assert_eq!(words::item(&world.due("engine-oil"), Unit::Kilometre), ahead);
    let now = "Engine oil and filter: due now (limit 1 Sep 2024 or at 15,000 km, whichever comes first)";
    assert_eq!(line(&world, "rule:engine-oil", "due"), now);
    let late = "Engine oil and filter: overdue (limit 1 Sep 2024 or at 15,000 km, whichever comes first)";
    assert_eq!(line(&world, "rule:engine-oil", "overdue"), late);
}

#[test]
fn each_kind_of_item_has_its_own_line() {
    let world = World::new()
        .used_since("2024-02-01")
        .rule("brake-fluid", every_months(24))
        .paper_rule(PaperKind::AnnualTest, true)
        .paper_rule(PaperKind::HireLicence, true)
        .paper(PaperKind::AnnualTest, "2024-12-31")
        .tread("2024-06-01 09:00", Place::RearLeft, 1.2);
    assert_eq!(line(&world, "paper:annual_test", "approaching"), "Annual test expires on 31 Dec 2024");
    let stop = "Do not drive: annual test expired on 31 Dec 2024";
    assert_eq!(line(&world, "paper:annual_test", "do_not_drive"), stop);
    let missing = "No hire licence on record: record it by 15 Feb 2024";
    assert_eq!(line(&world, "paper:hire_licence", "due"), missing);
    let baseline = "Baseline check: settle by 15 Feb 2024 when these were last done: brake fluid";
    assert_eq!(line(&world, "baseline", "due"), baseline);
    assert_eq!(line(&world, "reading", "reading_wanted"), "Odometer reading wanted");
    let tread = "Do not drive: tread depth, rear left";
    assert_eq!(line(&world, "condition:tread-depth:rear_left", "do_not_drive"), tread);
}

#[test]
fn a_window_is_told_with_the_odometer_beside_the_date() {
    let world = World::new()
        .new_on("2024-03-01")
        .window(Some(12), Some(km(60_000.0)))
        .terms(|terms| terms.scope = vec![code("suspension")])
        .finding(Some("suspension"), FindingWeight::Note, "2024-06-02 09:00");
    let window = world.first_window();
    let told = |mark: &str| words::window_line(&window, mark, Unit::Kilometre, world.facts.vehicle.zone);
    let ahead = "Powertrain warranty ends after 28 Feb 2025 or at 60,000 km, whichever comes first; 1 open finding may \
                 be claimed";
    assert_eq!(told("days_30"), ahead);
    assert_eq!(words::window(&window, Unit::Kilometre), ahead);
    let closing = line(&world, &format!("closing:{}", window.window), "overdue");
    assert_eq!(closing, "Closing check: Powertrain warranty (overdue) by 29 Jan 2025, before 60,000 km");
    assert_eq!(told("ended"), "Powertrain warranty has ended: its last day was 28 Feb 2025");
}

#[test]
fn a_window_ended_by_distance_names_the_reading() {
    let world = World::new().window(None, Some(mi(1000.0))).reading_from(
        "2024-02-10 12:00",
        mi(1010.0),
        model::ReadingSource::Driver,
    );
    let told = words::window_line(&world.first_window(), "ended", Unit::Mile, world.facts.vehicle.zone);
    assert_eq!(told, "Powertrain warranty has ended: 1,000 mi was read on 10 Feb 2024");
}

#[test]
fn doubts_and_suggestions_are_put_in_words() {
    let before = Distance::parse(mi(48_210.0)).unwrap();
    let doubt = Doubt::RunsBackwards { before, before_at: at("2024-08-03 02:00") };
    let zone = chrono_tz::America::New_York;
    assert_eq!(words::doubt(&doubt, Unit::Mile, zone), "less than the 48,210 mi read on 2 Aug 2024");
    let verdict = model::Verdict::Held { doubt, suggested: Some(mi(84_210.0)) };
    let sentence = "Held: less than the 48,210 mi read on 2 Aug 2024. Was 84,210 mi meant?";
    assert_eq!(words::verdict(&verdict, Unit::Mile, zone), sentence);
}

#[test]
fn stages_and_bands_are_put_in_words() {
    assert_eq!(words::stage(Stage::Overdue, Some(Basis::Reading)), "overdue, by reading");
    assert_eq!(words::stage(Stage::Clear, None), "nothing to do yet");
    let band =
        model::horizon::Band { early: Some(day("2026-07-20")), likely: Some(day("2026-08-03")), late: None };
    assert_eq!(words::band(&band), "likely 3 Aug 2026 (early 20 Jul 2026, late beyond ten years)");
    assert_eq!(words::distance(Distance::from_km(1_234_567), Unit::Kilometre), "1,234,567 km");
    assert_eq!(words::distance(Distance::from_km(-1200), Unit::Kilometre), "-1,200 km");
    assert_eq!(words::distance(Distance::from_km(99), Unit::Kilometre), "99 km");
}
