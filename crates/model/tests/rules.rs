//! Rulebooks that cannot stand are refused with every fault named.

use model::{
    AppliesTo, BaselineDefault, Code, Every, IntervalRule, Reach, Rulebook, RulebookError, Trigger,
    derived_id,
};

fn code(text: &str) -> Code {
    Code::new(text).expect("a code")
}

fn rule(name: &str, satisfies: &[&str]) -> IntervalRule {
    IntervalRule {
        code: code(name),
        title: name.to_owned(),
        trigger: Trigger::Every(Every { months: Some(12), ..Every::default() }),
        first: None,
        anchor: model::Anchoring::LastDone,
        indicator: false,
        severe: None,
        lead: Reach::default(),
        grace: Reach::default(),
        satisfies: satisfies.iter().map(|s| code(s)).collect(),
        renews: Vec::new(),
        applies_to: AppliesTo::default(),
        authority: None,
        caution: None,
        baseline: BaselineDefault::Ask,
    }
}

#[test]
fn rules_that_satisfy_each_other_in_a_circle_are_refused_with_the_circle() {
    let rules = [rule("a", &["b"]), rule("b", &["c"]), rule("c", &["a"])];
    let faults = Rulebook::check(&rules).expect_err("a circle");
    assert_eq!(faults, [RulebookError::Circle(["a", "b", "c", "a"].map(code).to_vec())]);
}

#[test]
fn all_faults_of_a_rulebook_are_named_at_once() {
    let mut silent = rule("b", &["nowhere"]);
    silent.trigger = Trigger::Every(Every::default());
    let faults = Rulebook::check(&[rule("a", &[]), rule("a", &[]), silent]).expect_err("three faults");
    assert_eq!(
        faults,
        [
            RulebookError::TwoOfOneCode(code("a")),
            RulebookError::NoInterval(code("b")),
            RulebookError::Unknown { from: code("b"), to: code("nowhere") },
        ]
    );
}

#[test]
fn a_calendar_that_cannot_be_read_is_refused_with_the_reason() {
    let mut weekly = rule("wash", &[]);
    weekly.trigger = Trigger::Calendar(model::Calendar { cron: "0 25 * * mon".to_owned() });
    let faults = Rulebook::check(&[weekly]).expect_err("a fault");
    let told: Vec<String> = faults.iter().map(ToString::to_string).collect();
    assert!(told[0].starts_with("wash comes by no calendar: hour \"25\" is not understood"), "{told:?}");
    assert_eq!(told.len(), 1);
}

#[test]
fn what_means_something_only_beside_an_interval_is_refused_elsewhere() {
    let mut winter = rule("winter-tyres", &[]);
    let season = model::Season { from: "10-01".parse().unwrap(), to: "11-15".parse().unwrap() };
    winter.trigger = Trigger::Season(season);
    (winter.anchor, winter.indicator) = (model::Anchoring::Grid, true);
    let faults = Rulebook::check(&[winter]).expect_err("two faults");
    let fault = |field| RulebookError::NoMeaning { rule: code("winter-tyres"), field };
    assert_eq!(faults, [fault("anchor"), fault("indicator")]);
}

#[test]
fn work_satisfies_what_its_rules_satisfy_in_turn() {
    let rules = [rule("major", &["minor"]), rule("minor", &["oil"]), rule("oil", &[]), rule("brakes", &[])];
    let reached: Vec<String> =
        Rulebook::satisfied_by(&rules, &code("major")).iter().map(ToString::to_string).collect();
    assert_eq!(reached, ["major", "minor", "oil"]);
}

#[test]
fn codes_are_short_plain_words() {
    for good in ["a", "engine-oil", "pad2-x"] {
        assert!(Code::new(good).is_ok(), "{good}");
    }
    for bad in ["", "-a", "a-", "a--b", "A", "a_b", "ü", &"a".repeat(65)] {
        assert!(Code::new(bad).is_err(), "{bad}");
    }
}

#[test]
fn a_derived_id_depends_on_where_its_parts_divide() {
    assert_ne!(derived_id(&["ab", "c"]), derived_id(&["a", "bc"]));
    assert_eq!(derived_id(&["ab", "c"]), derived_id(&["ab", "c"]));
    assert_eq!(derived_id(&["x"]).get_version_num(), 8);
}
