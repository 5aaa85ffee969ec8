//! What ships with the program: rulebooks and check sheets, read from `seed/` when it was built.

use anyhow::Context;
use clerk::Act;
use model::{Code, IntervalRule, RulebookId, SheetPoint};
use serde::Deserialize;
use std::collections::BTreeMap;

/// The shipped rulebooks, by name.
const RULEBOOKS: [(&str, &str); 3] = [
    ("diesel-van", include_str!("../../../seed/rulebooks/diesel-van.toml")),
    ("hybrid-car", include_str!("../../../seed/rulebooks/hybrid-car.toml")),
    ("battery-electric-car", include_str!("../../../seed/rulebooks/battery-electric-car.toml")),
];

/// The shipped check sheets.
const SHEETS: [&str; 4] = [
    include_str!("../../../seed/check-sheets/yard-walk.toml"),
    include_str!("../../../seed/check-sheets/wheels-and-brakes.toml"),
    include_str!("../../../seed/check-sheets/closing-check.toml"),
    include_str!("../../../seed/check-sheets/return-check.toml"),
];

#[derive(Deserialize)]
struct RulebookFile {
    title: String,
    rules: Vec<IntervalRule>,
}

#[derive(Deserialize)]
struct SheetFile {
    code: Code,
    title: String,
    points: Vec<SheetPoint>,
}

/// Enters the shipped rulebooks and check sheets into the fleet acted in; comes back with the books' ids by name.
pub async fn plant(act: &mut Act) -> anyhow::Result<BTreeMap<&'static str, RulebookId>> {
    let mut books = BTreeMap::new();
    for (name, text) in RULEBOOKS {
        let file: RulebookFile = toml::from_str(text).with_context(|| format!("reading rulebook {name}"))?;
        let book = clerk::rulebooks::create(act, file.title, file.rules).await;
        books.insert(name, book.with_context(|| format!("entering rulebook {name}"))?.id);
    }
    for text in SHEETS {
        let file: SheetFile = toml::from_str(text).context("reading a check sheet")?;
        let name = file.code.clone();
        let sheet = clerk::sheets::publish(act, file.code, file.title, file.points).await;
        sheet.with_context(|| format!("entering check sheet {name}"))?;
    }
    Ok(books)
}
