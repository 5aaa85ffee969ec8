//! Which room may know which: read from `cargo metadata`, every other arrow fails.

use cargo_metadata::{DependencyKind, MetadataCommand, Package};
use std::collections::BTreeSet;

/// Each room with the rooms it may depend on. `testkit` and the members of `tests/` may know anything.
const ARROWS: [(&str, &[&str]); 15] = [
    ("quantity", &[]),
    ("model", &["quantity"]),
    ("forecast", &["model", "quantity"]),
    ("gauge", &["model", "quantity"]),
    ("engine", &["forecast", "gauge", "model", "quantity"]),
    ("letters", &["engine", "model", "quantity"]),
    ("contract", &["model", "quantity"]),
    ("store", &["model", "quantity"]),
    ("clerk", &["store", "engine", "forecast", "gauge", "model", "quantity"]),
    ("scheduler", &["clerk", "store", "model"]),
    ("courier", &["clerk", "store", "letters", "model"]),
    ("api", &["contract", "clerk", "store", "engine", "letters", "model", "quantity"]),
    ("pages", &["contract", "clerk", "store", "engine", "letters", "model", "quantity"]),
    (
        "ostler",
        &[
            "api",
            "pages",
            "scheduler",
            "courier",
            "clerk",
            "store",
            "contract",
            "engine",
            "model",
            "quantity",
        ],
    ),
    ("testkit", &["*"]),
];

/// Rooms without clock, chance, IO or async.
const PURE: [&str; 7] = ["quantity", "model", "forecast", "gauge", "engine", "letters", "contract"];

/// What no pure room may depend on.
const IMPURE: [&str; 10] = [
    "tokio",
    "sqlx",
    "actix-web",
    "reqwest",
    "getrandom",
    "rand",
    "futures-util",
    "tracing",
    "rustls",
    "cron",
];

fn members() -> Vec<Package> {
    let manifest = concat!(env!("CARGO_MANIFEST_DIR"), "/../../Cargo.toml");
    let metadata = MetadataCommand::new().manifest_path(manifest).no_deps().exec().expect("cargo metadata");
    metadata.packages
}

fn depends_on(package: &Package, kind: DependencyKind) -> BTreeSet<String> {
    package.dependencies.iter().filter(|d| d.kind == kind).map(|d| d.name.clone()).collect()
}

#[test]
fn rooms_know_only_the_rooms_they_may_know() {
    let members = members();
    let rooms: BTreeSet<String> = members.iter().map(|package| package.name.to_string()).collect();
    let mut wrong = Vec::new();
    for package in &members {
        let name = package.name.to_string();
        let Some((_, allowed)) = ARROWS.iter().find(|(room, _)| *room == name) else { continue };
        for other in depends_on(package, DependencyKind::Normal).intersection(&rooms) {
            if !allowed.contains(&"*") && !allowed.contains(&other.as_str()) {
                wrong.push(format!("{name} -> {other}"));
            }
        }
    }
    assert_eq!(wrong, Vec::<String>::new());
}

#[test]
fn every_room_outside_tests_has_its_arrows_written_down() {
    let unlisted: Vec<String> = members()
        .iter()
        .filter(|package| !package.manifest_path.as_str().contains("/tests/"))
        .map(|package| package.name.to_string())
        .filter(|name| !ARROWS.iter().any(|(room, _)| room == name))
        .collect();
    assert_eq!(unlisted, Vec::<String>::new());
}

#[test]
fn testkit_is_a_development_dependency_everywhere_outside_tests() {
    let wrong: Vec<String> = members()
        .iter()
        .filter(|package| !package.manifest_path.as_str().contains("/tests/"))
        .filter(|package| depends_on(package, DependencyKind::Normal).contains("testkit"))
        .map(|package| package.name.to_string())
        .collect();
    assert_eq!(wrong, Vec::<String>::new());
}

#[test]
fn pure_rooms_depend_on_nothing_that_acts() {
    let mut wrong = Vec::new();
    for package in members().iter().filter(|package| PURE.contains(&package.name.as_str())) {
        for other in depends_on(package, DependencyKind::Normal) {
            if IMPURE.contains(&other.as_str()) {
                wrong.push(format!("{} -> {other}", package.name));
            }
        }
    }
    assert_eq!(wrong, Vec::<String>::new());
}

/// The features that take a guard out are for the simulation's own tests: nobody else may ask for one.
#[test]
fn no_room_asks_for_a_store_without_its_guards() {
    let mut wrong = Vec::new();
    for package in members() {
        let is_concerned = ["store", "clerk", "simulation"].contains(&package.name.as_str());
        let taken_out = |feature: &String| feature.starts_with("without-");
        if !is_concerned && package.features.keys().any(taken_out) {
            wrong.push(format!("{} has a feature without a guard", package.name));
        }
        if package.features.get("default").is_some_and(|default| default.iter().any(taken_out)) {
            wrong.push(format!("{} leaves a guard out by default", package.name));
        }
        for dependency in package.dependencies.iter().filter(|other| other.features.iter().any(taken_out)) {
            wrong.push(format!("{} asks for {} without a guard", package.name, dependency.name));
        }
    }
    assert_eq!(wrong, Vec::<String>::new());
}
